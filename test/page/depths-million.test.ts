import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { shippedPage } from '../once-a-run.js';
import { browserWanted, launchBrowser, openPage, surveyShown, type WatchedPage } from './browser.js';
import { leastOverLimit, limitNow } from '../busy-machine.js';
import { makeFixture, type Fixture } from './fixture.js';
import { startStandIn, type StandIn } from './stand-in-server.js';

/** Times between frames while something is done [ms], ascending. */
async function framesDuring(page: Page, act: () => Promise<void>): Promise<{ readonly n: number; readonly medianMs: number; readonly p95Ms: number; readonly worstMs: number }> {
  await page.evaluate(() => {
    const kept = globalThis as unknown as { frames: number[]; counting: boolean };
    kept.frames = [];
    kept.counting = true;
    let last = performance.now();
    const count = (now: number) => {
      kept.frames.push(now - last);
      last = now;
      if (kept.counting) requestAnimationFrame(count);
    };
    requestAnimationFrame(count);
  });
  await act();
  const frames = await page.evaluate(() => {
    const kept = globalThis as unknown as { frames: number[]; counting: boolean };
    kept.counting = false;
    return kept.frames.slice(2);
  });
  frames.sort((a, b) => a - b);
  const at = (share: number) => frames[Math.min(frames.length - 1, Math.floor(frames.length * share))] as number;
  return { n: frames.length, medianMs: at(0.5), p95Ms: at(0.95), worstMs: at(1) };
}

/** A drag in many small steps, as a hand makes it. */
async function drag(page: Page, box: { x: number; y: number; width: number; height: number }, from: readonly [number, number], to: readonly [number, number], steps: number): Promise<void> {
  await page.mouse.move(box.x + box.width * from[0], box.y + box.height * from[1]);
  await page.mouse.down();
  for (let k = 1; k <= steps; k++) {
    const f = k / steps;
    await page.mouse.move(box.x + box.width * (from[0] + (to[0] - from[0]) * f), box.y + box.height * (from[1] + (to[1] - from[1]) * f));
    await page.waitForTimeout(12);
  }
  await page.mouse.up();
}

// On a machine without a graphics processor the points are drawn by software: frames are as slow as there.
// Limits are for that: a frame of 100 ms is where a hand begins to wait (common practice).
describe.skipIf(!browserWanted())('depths stage with a million soundings', () => {
  let browser: Browser;
  let pageDir: string;
  let folder: string;
  let fixture: Fixture;
  let server: StandIn;
  let watched: WatchedPage;

  beforeAll(async () => {
    folder = await mkdtemp(path.join(tmpdir(), 'tallow-million-'));
    [browser, pageDir, fixture] = await Promise.all([launchBrowser(), shippedPage(), makeFixture(folder, { rateHz: 123 })]);
    server = await startStandIn(folder, fixture.summary, fixture.soundings, { pageDir });
    watched = await openPage(browser, server.url);
    await surveyShown(watched.page);
  });

  afterAll(async () => {
    await browser?.close();
    await server?.close();
    if (folder !== undefined) await rm(folder, { recursive: true, force: true });
  });

  test('pan, zoom, orbit and brush go on without a stutter', { timeout: 240_000 }, async () => {
    const { page, faults } = watched;
    expect(fixture.soundings.n).toBeGreaterThan(950_000);
    const said: string[] = [`${fixture.soundings.n} soundings`];
    const measure = async (what: string, act: () => Promise<void>, p95Ms = 100) => {
      let words = '';
      const least = await leastOverLimit(1, async () => {
        const frames = await framesDuring(page, act);
        words = `${what}: median ${frames.medianMs.toFixed(0)} ms, 95 % ${frames.p95Ms.toFixed(0)} ms, worst ${frames.worstMs.toFixed(0)} ms of ${frames.n} frames`;
        return Math.max(frames.medianMs / 50, frames.p95Ms / p95Ms);
      });
      said.push(words);
      expect.soft(least, words).toBeLessThan(1);
    };
    await page.getByRole('tab', { name: 'Clean' }).click();
    const map = (await page.locator('.chart-map').boundingBox()) as { x: number; y: number; width: number; height: number };
    await measure('pan the chart', () => drag(page, map, [0.6, 0.6], [0.3, 0.4], 50));
    await measure('zoom the chart', async () => {
      await page.mouse.move(map.x + map.width / 2, map.y + map.height / 2);
      for (let k = 0; k < 24; k++) {
        await page.mouse.wheel(0, k < 12 ? -120 : 120);
        await page.waitForTimeout(25);
      }
    });
    await page.getByRole('button', { name: 'Points in space' }).first().click();
    await page.locator('.points-view canvas').first().waitFor();
    await page.waitForTimeout(1500);
    const view = (await page.locator('.points-view').boundingBox()) as { x: number; y: number; width: number; height: number };
    said.push(`points drawn by ${await page.locator('.points-view').getAttribute('data-painter')}`);
    await measure('turn the points', () => drag(page, view, [0.3, 0.5], [0.7, 0.4], 60));
    await measure('zoom the points', async () => {
      await page.mouse.move(view.x + view.width / 2, view.y + view.height / 2);
      for (let k = 0; k < 24; k++) {
        await page.mouse.wheel(0, k < 12 ? -120 : 120);
        await page.waitForTimeout(25);
      }
    });
    await page.waitForTimeout(600);
    await page.getByRole('button', { name: 'Brush', exact: true }).click();
    await measure('brush among the points', () => drag(page, view, [0.35, 0.5], [0.65, 0.55], 50), 150);
    const bar = page.getByRole('group', { name: 'Selected soundings' });
    expect(Number((await bar.innerText()).replace(/[^0-9]+sounding[\s\S]*/, '').replace(/\D/g, ''))).toBeGreaterThan(1000);
    await page.keyboard.press('Escape');
    await page.getByRole('button', { name: 'Close the points' }).click();
    await page.waitForTimeout(600);
    await page.getByRole('button', { name: 'Brush', exact: true }).click();
    const wide = (await page.locator('.chart-map').boundingBox()) as typeof map;
    await measure('brush on the chart', () => drag(page, wide, [0.4, 0.5], [0.6, 0.6], 50), 150);
    const chosen = (await bar.innerText()).split('\n')[0];
    const took = await page.evaluate(async () => {
      const button = [...document.querySelectorAll<HTMLButtonElement>('.selection-bar button')].find((one) => one.textContent === 'Set aside') as HTMLButtonElement;
      const start = performance.now();
      button.click();
      await new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve)));
      return performance.now() - start;
    });
    said.push(`set aside ${chosen}: on the screen after ${took.toFixed(0)} ms`);
    expect.soft(took).toBeLessThan(limitNow(500));
    const plot = (await page.locator('.profile-plot').boundingBox()) as typeof map;
    await page.getByRole('button', { name: 'Look', exact: true }).click();
    await measure('pan the profile', () => drag(page, plot, [0.7, 0.5], [0.3, 0.5], 50));
    console.info(said.join('\n'));
    expect(faults).toEqual([]);
  });
});
