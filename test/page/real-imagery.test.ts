import { readFile } from 'node:fs/promises';
import path from 'node:path';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { BOTTOM_SOURCE } from '../../src/imagery/bottom-track.js';
import { createSideScanGround } from '../../src/proving/index.js';
import { readFinds } from '../../src/survey/finds-file.js';
import { readBottom } from '../../src/survey/imagery-files.js';
import { makeSideScanFolder } from '../../src/survey/prove-imagery.js';
import { browserWanted, openPage } from './browser.js';
import { realStage } from './real-stage.js';

/** Imagery and Finds on the server they ship with, over two short lines of the proving ground: from the raw log to decisions in the journal. */
describe.skipIf(!browserWanted())('imagery and finds on the real server', () => {
  const stage = realStage(async (folder) => {
    const desk = await makeSideScanFolder(folder, createSideScanGround(5, { lines: 2, lengthM: 40, spacingM: 25, depthM: 5, objects: 5, turns: false, sonar: { rays: 1 } }), {});
    await desk.build({}, 'finds');
    await desk.build({}, 'search');
    return desk;
  });
  const open = async (name: RegExp): Promise<{ page: Page; faults: readonly string[] }> => {
    const opened = await openPage(stage.browser, stage.server.url);
    await opened.page.getByRole('navigation').getByRole('button', { name }).click();
    await opened.page.locator('.waterfall-view[data-ready="true"]').waitFor({ timeout: 30_000 });
    return opened;
  };
  const plain = (text: string): string => text.replaceAll(/\s+/g, ' ').trim();

  test('imagery: figures are those of the survey, the mosaic is drawn, and a bottom drawn by hand goes to the file and back', { timeout: 300_000 }, async () => {
    const { page, faults } = await open(/^Imagery/);
    await page.locator('html[data-mosaic="settled"]').waitFor({ timeout: 30_000 });
    const { imagery } = await stage.desk.summary();
    const figures = plain(await page.getByRole('table', { name: 'Figures of the imagery' }).innerText());
    expect(figures).toContain(`${imagery!.bottom!.soundSpeedMps.toFixed(0)} m/s`);
    expect(figures).toContain(`cells of ${Math.round(imagery!.mosaic!.cellM * 100)} cm`);
    const made = async () => (await readBottom(stage.folder))!.source.filter((source) => source === BOTTOM_SOURCE.byHand).length;
    expect(await made()).toBe(0);
    await page.getByRole('button', { name: 'Draw the bottom' }).click();
    await page.locator('.waterfall-hint').waitFor();
    await page.waitForTimeout(300);
    const box = (await page.locator('.waterfall-view').boundingBox())!;
    const x = box.x + box.width * 0.6;
    await page.mouse.move(x, box.y + box.height * 0.45);
    await page.mouse.down();
    await page.mouse.move(x, box.y + box.height * 0.6, { steps: 8 });
    await page.mouse.up();
    await expect.poll(async () => (await stage.desk.journal()).at(-1)?.kind, { timeout: 20_000 }).toBe('bottom');
    await expect.poll(made, { timeout: 90_000 }).toBeGreaterThan(3);
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(made, { timeout: 90_000 }).toBe(0);
    expect(faults).toEqual([]);
    await page.close();
  });

  test('finds: the list is that of the file by number; a confirmation and a mark by hand reach it and are undone', { timeout: 300_000 }, async () => {
    await stage.desk.build({}, 'finds');
    const { page, faults } = await open(/^Finds/);
    const file = async () => (await readFinds(stage.folder))!.finds;
    const before = await file();
    expect(before.length).toBeGreaterThan(0);
    const names = async () => (await page.locator('.find-list li strong').allInnerTexts()).map(plain);
    await expect.poll(names, { timeout: 30_000 }).toEqual(before.filter(({ state }) => state !== 'rejected').map(({ number }) => `Find ${number}`));
    const last = before.at(-1)!;
    await page.locator('.find-list li').last().getByRole('button').click();
    await page.getByRole('region', { name: `Find ${last.number}` }).getByRole('button', { name: 'Confirm', exact: true }).click();
    await expect.poll(async () => (await file()).find(({ id }) => id === last.id), { timeout: 90_000 }).toMatchObject({ state: 'confirmed', number: last.number });
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(async () => (await file()).map(({ state }) => state), { timeout: 90_000 }).toEqual(before.map(({ state }) => state));

    await page.locator('.waterfall-tools').getByRole('button', { name: 'Measure' }).click();
    await page.locator('.waterfall-hint').waitFor();
    await page.waitForTimeout(300);
    const box = (await page.locator('.waterfall-view').boundingBox())!;
    const y = box.y + box.height / 2;
    for (const [from, to, up] of [[0.8, 0.82, 10], [0.825, 0.86, 0]] as const) {
      await page.mouse.move(box.x + box.width * from, y - up);
      await page.mouse.down();
      await page.mouse.move(box.x + box.width * to, y + up, { steps: 6 });
      await page.mouse.up();
    }
    const panel = page.getByRole('region', { name: 'Measured' });
    const shown = plain(await panel.innerText()).replaceAll(/\s+/g, ' ');
    await panel.getByRole('textbox').fill('box');
    await panel.getByRole('button', { name: 'Mark as a find' }).click();
    await expect.poll(async () => (await file()).find(({ name }) => name === 'box')?.byHand, { timeout: 90_000 }).toBe(true);
    const marked = (await file()).find(({ name }) => name === 'box')!;
    // What the page measured is what the step makes of it.
    expect(marked.sightings).toHaveLength(1);
    const height = /Height ([\d.]+) ± ([\d.]+) m/.exec(shown)!;
    expect(Math.abs(Number(height[1]) - marked.height.value)).toBeLessThan(0.006);
    expect(Math.abs(Number(height[2]) - 1.96 * marked.height.sigma)).toBeLessThan(0.006);
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(async () => (await file()).length, { timeout: 90_000 }).toBe(before.length);
    expect(faults).toEqual([]);
    expect(await readFile(path.join(stage.folder, 'journal.jsonl'), 'utf8')).toContain('"mark"');
    await page.close();
  });
});
