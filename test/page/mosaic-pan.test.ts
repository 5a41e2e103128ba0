import { mkdtemp, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createFrame } from '../../src/geo/frame.js';
import { writeGeoTiff } from '../../src/formats/geotiff-write.js';
import { makeAtomic } from '../../src/survey/atomic-file.js';
import { shippedPage } from '../once-a-run.js';
import { browserWanted, launchBrowser, openPage } from './browser.js';
import { leastOverLimit } from '../busy-machine.js';
import { makeFixture } from './fixture.js';
import { addImagery } from './imagery-fixture.js';
import { startStandIn, type StandIn } from './stand-in-server.js';

/** 8000 by 6400 cells: 51 megapixels, noise on a pattern, as hard to pack as a real mosaic. */
const COLS = 8000;
const ROWS = 6400;

/** Times between frames while something goes on [ms]. */
async function framesDuring(page: Page, act: () => Promise<void>): Promise<{ medianMs: number; p95Ms: number; worstMs: number; n: number }> {
  await page.evaluate(() => {
    const state = window as unknown as { frames: number[]; watching: boolean };
    state.frames = [];
    state.watching = true;
    let last = performance.now();
    const tick = (now: number) => {
      state.frames.push(now - last);
      last = now;
      if (state.watching) requestAnimationFrame(tick);
    };
    requestAnimationFrame(tick);
  });
  await act();
  const frames = await page.evaluate(() => {
    const state = window as unknown as { frames: number[]; watching: boolean };
    state.watching = false;
    return state.frames.slice(2).sort((a, b) => a - b);
  });
  const at = (share: number) => frames[Math.min(frames.length - 1, Math.floor(frames.length * share))] as number;
  return { medianMs: at(0.5), p95Ms: at(0.95), worstMs: at(1), n: frames.length };
}

describe.skipIf(!browserWanted())('a mosaic of 50 megapixels', () => {
  let browser: Browser;
  let server: StandIn;
  let folder: string;
  let pageDir: string;

  beforeAll(async () => {
    folder = await mkdtemp(path.join(tmpdir(), 'tallow-pan-'));
    const [started, built, fixture] = await Promise.all([launchBrowser(), shippedPage(), makeFixture(folder, { rateHz: 1 })]);
    [browser, pageDir] = [started, built];
    const imagery = await addImagery(folder, fixture.summary);
    const [x0, y0] = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' }).toFrame(46.0355, -29.9688);
    const grid = { westM: Math.round(x0), northM: Math.round(y0) + 320, cellM: 0.05, cols: COLS, rows: ROWS };
    let seed = 1;
    const values = new Uint8Array(COLS * ROWS);
    for (let k = 0; k < values.length; k++) {
      seed = (Math.imul(seed, 1_103_515_245) + 12_345) & 0x7fffffff;
      values[k] = 100 + ((seed >> 16) & 31) + ((((k % COLS) >> 8) + (Math.floor(k / COLS) >> 8)) & 1) * 40;
    }
    await makeAtomic(path.join(folder, 'derived/imagery/mosaic.tif'), async (sink) => void (await writeGeoTiff(sink, { grid, epsg: 32_626, noData: 0, bands: [{ name: 'level', values }] })));
    server = await startStandIn(folder, imagery.summary, fixture.soundings, { pageDir, imagery });
  });

  afterAll(async () => {
    await browser?.close();
    await server?.close();
    if (folder !== undefined) await rm(folder, { recursive: true, force: true });
  });

  test('pans and zooms without a stutter, reading no more than a part of the file', { timeout: 240_000 }, async () => {
    const { page, faults } = await openPage(browser, server.url);
    let bytes = 0;
    page.on('response', (response) => {
      if (response.url().includes('mosaic.tif')) bytes += Number(response.headers()['content-length'] ?? 0) * (response.status() === 206 ? 1 : 0);
    });
    await page.getByRole('navigation').getByRole('button', { name: /^Imagery/ }).click();
    await page.locator('html[data-mosaic="settled"]').waitFor({ timeout: 60_000 });
    const file = (await stat(path.join(folder, 'derived/imagery/mosaic.tif'))).size;
    const map = (await page.locator('.chart-map').boundingBox()) as { x: number; y: number; width: number; height: number };
    await page.mouse.move(map.x + map.width / 2, map.y + map.height / 2);
    for (let k = 0; k < 14; k++) {
      await page.mouse.wheel(0, -120);
      await page.waitForTimeout(30);
    }
    await page.locator('html[data-mosaic="settled"]').waitFor({ timeout: 60_000 });
    await page.waitForTimeout(400);
    const said = [`${((COLS * ROWS) / 1e6).toFixed(0)} megapixels, ${(file / 1e6).toFixed(1)} MB`];
    const measure = async (what: string, act: () => Promise<void>) => {
      let words = '';
      const least = await leastOverLimit(1, async () => {
        const frames = await framesDuring(page, act);
        words = `${what}: median ${frames.medianMs.toFixed(1)} ms, 95 % ${frames.p95Ms.toFixed(1)} ms, worst ${frames.worstMs.toFixed(0)} ms of ${frames.n} frames`;
        return Math.max(frames.medianMs / 50, frames.p95Ms / 120);
      });
      said.push(words);
      expect.soft(least, words).toBeLessThan(1);
    };
    const drag = async (from: readonly [number, number], to: readonly [number, number]) => {
      await page.mouse.move(map.x + map.width * from[0], map.y + map.height * from[1]);
      await page.mouse.down();
      await page.mouse.move(map.x + map.width * to[0], map.y + map.height * to[1], { steps: 60 });
      await page.mouse.up();
    };
    await measure('pan at full resolution', async () => {
      await drag([0.8, 0.7], [0.2, 0.3]);
      await drag([0.2, 0.3], [0.8, 0.7]);
    });
    await measure('zoom out and in', async () => {
      await page.mouse.move(map.x + map.width / 2, map.y + map.height / 2);
      for (let k = 0; k < 24; k++) {
        await page.mouse.wheel(0, k < 12 ? 120 : -120);
        await page.waitForTimeout(25);
      }
    });
    said.push(`read ${(bytes / 1e6).toFixed(1)} MB of the file`);
    console.info(said.join('\n'));
    expect(bytes).toBeGreaterThan(0);
    expect(bytes).toBeLessThan(file);
    expect(faults).toEqual([]);
    await page.close();
  });
});
