import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll } from 'vitest';
import { startServer, type RunningServer } from '../../src/server/server.js';
import type { Desk } from '../../src/survey/desk.js';
import { shippedPage } from '../once-a-run.js';
import { launchBrowser } from './browser.js';

/** What all tests over one survey on the server it ships with have to hand. */
export interface RealStage<D extends Desk> {
  readonly browser: Browser;
  readonly server: RunningServer;
  readonly desk: D;
  /** The survey folder; the folder it is in is the tests' own. */
  readonly folder: string;
  readonly pageDir: string;
}

/**
 * Sets up tests of the page on the server it ships with, inside their `describe`: one survey, server and browser for all of them.
 * @param make makes the survey in a folder that is not there yet, and builds what is to be shown
 */
export function realStage<D extends Desk>(make: (folder: string) => Promise<D>): RealStage<D> {
  const stage = {} as { -readonly [K in keyof RealStage<D>]: RealStage<D>[K] };
  let top: string | undefined;

  beforeAll(async () => {
    top = await mkdtemp(path.join(tmpdir(), 'tallow-real-'));
    stage.folder = path.join(top, 'survey');
    [stage.browser, stage.pageDir, stage.desk] = await Promise.all([launchBrowser(), shippedPage(), make(stage.folder)]);
    stage.server = await startServer({ desk: stage.desk, port: 0, pageDir: stage.pageDir });
  });

  afterAll(async () => {
    await (stage.browser as Browser | undefined)?.close();
    await (stage.server as RunningServer | undefined)?.close();
    if (top !== undefined) await rm(top, { recursive: true, force: true });
  });
  return stage;
}
