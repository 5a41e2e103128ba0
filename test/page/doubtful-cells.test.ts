import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import path from 'node:path';
import { decode } from 'fast-png';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { hypothesisCellsOf } from '../../src/survey/doubtful-cells.js';
import { makeProof } from '../../src/survey/make-demo.js';
import { browserWanted, openPage, surveyShown } from './browser.js';
import { realStage } from './real-stage.js';

const AXE = createRequire(import.meta.url).resolve('axe-core/axe.min.js');

/** Cells with several depths on the page, over the server it ships with. */
describe.skipIf(!browserWanted())('cells with several depths', () => {
  const stage = realStage(async (folder) => {
    const { desk } = await makeProof(folder, 1, 'short', {});
    // Cells of 3 m, so that some straddle steps of the floor.
    await desk.set('surface.cellM', 3);
    await desk.build();
    return desk;
  });


  const shot = async (page: Page, name: string) => {
    const where = process.env['TALLOW_SHOTS'];
    if (where !== undefined) await page.screenshot({ path: path.join(where, `${name}.png`) });
  };
  const axeFaults = async (page: Page): Promise<string[]> => {
    await page.evaluate(await readFile(AXE, 'utf8'));
    return page.evaluate(async () => {
      const { axe } = globalThis as unknown as { axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> } };
      return (await axe.run()).violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' | ')}`);
    });
  };
  const depthsShown = async (page: Page) => (await page.getByRole('table', { name: 'Depths of the cell' }).locator('tbody tr').allInnerTexts()).map((text) => text.replaceAll('\u2009', ''));

  test('hypotheses chosen as the statistic, a cell in doubt looked at, another depth chosen, undone', { timeout: 240_000 }, async () => {
    const { page, faults } = await openPage(stage.browser, stage.server.url);
    await surveyShown(page);
    await page.getByRole('tab', { name: 'Surface' }).click();
    await page.getByLabel('Depth of a cell').selectOption({ label: 'several kept apart' });
    const section = page.getByRole('region', { name: 'Several depths in a cell' });
    await section.waitFor({ timeout: 90_000 });
    const figures = (await stage.desk.summary()).surface!.hypotheses!;
    expect((await section.innerText()).replaceAll('\u2009', '')).toContain(`${figures.several} cells have several; ${figures.doubtful} in doubt`);
    const cells = (await hypothesisCellsOf(stage.folder)).filter((cell) => cell.doubtful);
    expect(cells.length).toBe(figures.doubtful);
    expect(cells.length).toBeGreaterThan(1);

    await section.getByRole('button', { name: 'Next cell in doubt' }).click();
    const table = page.getByRole('table', { name: 'Depths of the cell' });
    await table.waitFor();
    const [cell] = cells;
    const rows = await depthsShown(page);
    expect(rows).toHaveLength(cell!.depths.length);
    for (const [i, one] of cell!.depths.entries()) {
      expect(rows[i]).toContain(`${one.depthM.toFixed(2)} m`);
      expect(rows[i]).toContain(String(one.soundings));
      expect(rows[i]).toContain(one.stands ? 'drawn' : 'choose');
    }
    await page.waitForTimeout(600);
    await shot(page, 'cells-1440');
    expect(await axeFaults(page)).toEqual([]);

    const other = cell!.depths.find(({ stands }) => !stands)!;
    await table.getByRole('button', { name: `Choose ${other.depthM.toFixed(2)} m` }).click();
    await expect.poll(async () => (await stage.desk.journal()).at(-1)?.kind).toBe('hypothesis');
    const drawnRow = async () => (await depthsShown(page)).find((text) => text.includes(`${other.depthM.toFixed(2)} m`)) ?? '';
    await expect.poll(drawnRow, { timeout: 90_000 }).toMatch(/drawn$/);
    await expect.poll(async () => section.innerText()).toContain('1 chosen by hand');
    await shot(page, 'cells-chosen-1440');
    await section.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(drawnRow, { timeout: 90_000 }).toMatch(/choose$/);
    expect((await stage.desk.journal()).at(-1)?.kind).toBe('undo');
    expect(faults).toEqual([]);
    await page.close();
  });

  test('a click on the square of a cell in doubt shows its depths; dusk and a small screen hold them too', { timeout: 240_000 }, async () => {
    await stage.desk.set('surface.statistic', 'hypotheses');
    await stage.desk.build();
    const { page, faults } = await openPage(stage.browser, stage.server.url, { width: 1024, height: 768 });
    await surveyShown(page);
    await page.getByRole('tab', { name: 'Surface' }).click();
    const section = page.getByRole('region', { name: 'Several depths in a cell' });
    const caption = page.getByRole('table', { name: 'Depths of the cell' }).locator('caption');
    const box = (await page.locator('.chart-map').boundingBox())!;
    const picture = async () => decode(await page.screenshot({ clip: box }));
    const next = async (): Promise<string> => {
      await section.getByRole('button', { name: 'Next cell in doubt' }).click();
      await caption.waitFor();
      await page.waitForTimeout(700);
      return caption.innerText();
    };
    await next();
    const before = await picture();
    const looked = await next();
    const after = await picture();
    // What turned magenta is the heavy square about the second cell.
    let [sumX, sumY, many] = [0, 0, 0];
    const { width, height, channels } = after;
    const magenta = ({ data }: typeof after, at: number) => Math.abs(data[at]! - 0x9a) < 30 && Math.abs(data[at + 1]! - 0x1b) < 30 && Math.abs(data[at + 2]! - 0x6b) < 30;
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        const at = (y * width + x) * channels;
        if (magenta(after, at) && !magenta(before, at)) [sumX, sumY, many] = [sumX + x, sumY + y, many + 1];
      }
    }
    expect(many).toBeGreaterThan(40);
    expect(await next()).not.toBe(looked);
    await page.mouse.click(box.x + sumX / many, box.y + sumY / many);
    await expect.poll(() => caption.innerText()).toBe(looked);
    // A click where no cell has several depths leaves it as it is.
    await page.mouse.click(box.x + box.width - 80, box.y + box.height - 90);
    await page.waitForTimeout(600);
    expect(await caption.innerText()).toBe(looked);
    await shot(page, 'cells-1024');
    await page.getByRole('button', { name: 'Dusk palette' }).click();
    await page.waitForTimeout(500);
    await shot(page, 'cells-dusk-1024');
    expect(await axeFaults(page)).toEqual([]);
    expect(faults).toEqual([]);
    await page.close();
  });
});
