import { cp, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach, expect } from 'vitest';
import type { SurveySummary } from '../../src/survey/summary.js';
import { shippedPage } from '../once-a-run.js';
import { launchBrowser, openPage, type WatchedPage } from './browser.js';
import { makeFixture, type Fixture } from './fixture.js';
import { startStandIn, type StandIn } from './stand-in-server.js';

type StandInOptions = Omit<Parameters<typeof startStandIn>[3], 'pageDir' | 'port'>;

/** What every test of a stage has to hand: a folder and a server of its own, and the tabs it opened. */
export interface Stage {
  readonly browser: Browser;
  readonly pageDir: string;
  readonly fixture: Fixture;
  readonly folder: string;
  /** A test may close it and put another in its place. */
  server: StandIn;
  readonly opened: WatchedPage[];
  /** Opens the page in a tab that is watched for faults. */
  open(size?: { width: number; height: number }): Promise<Page>;
}

/**
 * Sets up the tests of a stage over the stand-in server, inside their `describe`: one browser, page and fixture for all of them, a copy
 * of the fixture's folder and a server for each. After each, nothing may have gone wrong in any tab.
 *
 * @param prepare adds to the fixture's folder, once
 * @param serve what the server has beside the fixture
 */
export function standInStage(
  rateHz: number,
  prepare: (template: string, fixture: Fixture) => Promise<void> = async () => undefined,
  serve: (fixture: Fixture) => StandInOptions & { readonly summary?: SurveySummary } = () => ({}),
): Stage {
  let template: string | undefined;
  const stage = {
    opened: [] as WatchedPage[],
    async open(size?: { width: number; height: number }) {
      const watched = await openPage(this.browser, this.server.url, size);
      this.opened.push(watched);
      return watched.page;
    },
  } as { -readonly [K in keyof Stage]: Stage[K] };

  beforeAll(async () => {
    template = await mkdtemp(path.join(tmpdir(), 'tallow-template-'));
    [stage.browser, stage.pageDir, stage.fixture] = await Promise.all([launchBrowser(), shippedPage(), makeFixture(template, { rateHz })]);
    await prepare(template, stage.fixture);
  });

  afterAll(async () => {
    await (stage.browser as Browser | undefined)?.close();
    if (template !== undefined) await rm(template, { recursive: true, force: true });
  });

  beforeEach(async () => {
    stage.folder = await mkdtemp(path.join(tmpdir(), 'tallow-stage-'));
    await cp(template as string, stage.folder, { recursive: true });
    const { summary = stage.fixture.summary, ...options } = serve(stage.fixture);
    stage.server = await startStandIn(stage.folder, summary, structuredClone(stage.fixture.soundings), { pageDir: stage.pageDir, ...options });
  });

  afterEach(async () => {
    const tabs = stage.opened.splice(0);
    const faults = tabs.flatMap((one) => one.faults);
    for (const { page } of tabs) await page.close();
    await stage.server.close();
    await rm(stage.folder, { recursive: true, force: true });
    expect(faults).toEqual([]);
  });
  return stage;
}
