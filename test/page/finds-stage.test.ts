import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import path from 'node:path';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { browserWanted } from './browser.js';
import { addImagery, SONAR_SHA, type ImageryFixture } from './imagery-fixture.js';
import { standInStage } from './stand-in-stage.js';

const AXE = createRequire(import.meta.url).resolve('axe-core/axe.min.js');

interface FindPosted {
  readonly kind: string;
  readonly action: string;
  readonly find?: string;
  readonly finds?: readonly string[];
  readonly sightings?: readonly string[];
  readonly name?: string;
  readonly description?: string;
  readonly mark?: { readonly log: string; readonly side: string; readonly recordStart: number; readonly recordEnd: number; readonly slantStartM: number; readonly slantEndM: number; readonly shadowEndM: number | null };
}

describe.skipIf(!browserWanted())('finds stage', () => {
  let imagery: ImageryFixture;
  const stage = standInStage(
    1,
    async (template, fixture) => {
      imagery = await addImagery(template, fixture.summary);
    },
    () => ({ summary: imagery.summary, imagery }),
  );

  const open = async (size?: { width: number; height: number }): Promise<Page> => {
    const page = await stage.open(size);
    await page.getByRole('navigation').getByRole('button', { name: /^Finds/ }).click();
    await page.locator('.find-list li').first().waitFor();
    await ready(page);
    return page;
  };
  const ready = async (page: Page): Promise<void> => {
    await page.waitForTimeout(200);
    await page.locator('.waterfall-view[data-ready="true"]').waitFor({ timeout: 20_000 });
  };
  const posted = () => stage.server.requests.filter(({ url }) => url === '/api/decisions').map(({ body }) => JSON.parse(body) as FindPosted);
  const list = (page: Page) => page.getByRole('region', { name: 'Finds, the surest first' });

  test('list: ranked with chip, size, looks and state; a click goes to the chart and to the waterfall, where the object is marked', async () => {
    const page = await open();
    const items = list(page).getByRole('listitem');
    expect(await items.count()).toBe(2);
    expect((await items.nth(0).innerText()).replaceAll('\u00a0', ' ')).toMatch(/^Find 1\s+1\.4 × 0\.9 m, 0\.9 m high\s+1 look, from line 4 · 97 % sure/);
    expect(await items.nth(0).locator('img.chip').evaluate((img: HTMLImageElement) => img.naturalWidth)).toBe(96);
    await items.nth(0).getByRole('button').click();
    await ready(page);
    const line = await page.getByRole('combobox', { name: 'Line in the waterfall' }).evaluate((one: HTMLSelectElement) => one.selectedOptions[0]?.textContent ?? '');
    expect(line).toMatch(/^Line 4/);
    const card = page.getByRole('region', { name: 'Find 1' });
    const text = (await card.innerText()).replaceAll('\u00a0', ' ');
    for (const part of ['1.4 ± 0.4 m × 0.9 ± 0.2 m', '0.90 ± 0.16 m', '± 1.0 m', 'from line 4', 'a shadow 26 dB below it']) expect(text).toContain(part);
    // Its place in degrees and minutes is that of the object planted.
    expect(text).toMatch(/46°02\.1\d+′ N\s+29°57\.\d+′ W/);
    // The middle of the waterfall holds the mark.
    const marked = await page.evaluate(() => {
      const canvas = document.querySelector<HTMLCanvasElement>('.waterfall-over') as HTMLCanvasElement;
      const [w, h] = [canvas.width, canvas.height];
      const { data } = (canvas.getContext('2d') as CanvasRenderingContext2D).getImageData(w / 2 - 60, h / 2 - 60, 120, 120);
      let n = 0;
      for (let i = 0; i < data.length; i += 4) if ((data[i + 3] as number) > 160 && Math.abs((data[i] as number) - 0x9a) < 16 && Math.abs((data[i + 1] as number) - 0x1b) < 16) n++;
      return n;
    });
    expect(marked).toBeGreaterThan(80);
  });

  test('decide: confirm and reject show at once, are posted with the find, and are undone at once', async () => {
    const page = await open();
    await list(page).getByRole('listitem').nth(0).getByRole('button').click();
    await page.getByRole('button', { name: 'Confirm', exact: true }).click();
    await expect.poll(posted).toEqual([{ kind: 'find', action: 'confirm', find: 's0-4' }]);
    await expect.poll(() => page.getByRole('region', { name: 'Find 1' }).innerText()).toContain('confirmed');
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(() => page.locator('.find-card .state').innerText()).toBe('proposed');
    await page.locator('.find-list ol').getByRole('button').nth(1).click();
    await page.keyboard.press('r');
    await expect.poll(() => posted().at(-1)).toMatchObject({ action: 'reject' });
    await expect.poll(() => list(page).getByRole('listitem').count()).toBe(1);
    await page.getByRole('checkbox', { name: /Show the 2 rejected/ }).check();
    expect(await list(page).getByRole('listitem').count()).toBe(3);
  });

  test('describe, join and part: each is one decision that names what it is about', async () => {
    const page = await open();
    await list(page).getByRole('listitem').nth(1).getByRole('button').click();
    const card = page.locator('.find-card');
    await card.getByRole('textbox', { name: 'Name', exact: true }).fill('Frame by the ripples');
    await card.getByRole('textbox', { name: 'What it is' }).fill('four legs, one bent');
    await card.getByRole('textbox', { name: 'Name', exact: true }).focus();
    await expect.poll(() => posted().filter(({ action }) => action === 'describe').map(({ name, description }) => name ?? description)).toEqual(['Frame by the ripples', 'four legs, one bent']);
    await expect.poll(() => list(page).innerText()).toContain('Frame by the ripples');
    // Seen from two lines: one of them is of another thing.
    await card.getByText(/^\d looks$/).click();
    await card.getByRole('checkbox').first().check();
    await card.getByRole('button', { name: /Part the ticked/ }).click();
    await expect.poll(() => posted().at(-1)).toMatchObject({ kind: 'find', action: 'part' });
    expect(posted().at(-1)?.sightings).toHaveLength(1);
    await page.getByRole('checkbox', { name: 'Tick Find 1' }).check();
    await card.getByRole('button', { name: 'Join with the one ticked' }).click();
    await expect.poll(() => posted().at(-1)).toMatchObject({ kind: 'find', action: 'join' });
    expect(posted().at(-1)?.finds).toHaveLength(2);
  });

  test('measure by hand: length, width and height follow the hand, agree with the object planted, and it is marked as a find', async () => {
    const page = await open();
    const object = imagery.objects[0] as { sizeM: number; heightM: number };
    await list(page).getByRole('listitem').nth(0).getByRole('button').click();
    await ready(page);
    await page.locator('.waterfall-tools').getByRole('button', { name: 'Measure' }).click();
    // Where the sighting of the fixture is drawn, read from what the page says under the pointer.
    const view = (await page.locator('.waterfall-view').boundingBox()) as { x: number; y: number; width: number; height: number };
    const plot = { x: view.x + 54, y: view.y + 26, width: view.width - 66, height: view.height - 34 };
    const slantAt = async (x: number): Promise<number> => {
      await page.mouse.move(x, plot.y + plot.height / 2);
      // The readout follows within a few pictures of the screen, however long those take.
      await page.evaluate(() => new Promise<void>((done) => {
        let left = 6;
        const next = (): unknown => (--left === 0 ? done() : requestAnimationFrame(next));
        requestAnimationFrame(next);
      }));
      return Number(/slant ([\d.]+)/.exec((await page.locator('.waterfall-said').innerText()).replaceAll('\u00a0', ' '))?.[1]);
    };
    const [xa, xb] = [plot.x + plot.width * 0.3, plot.x + plot.width * 0.7];
    const [sa, sb] = [await slantAt(xa), await slantAt(xb)];
    const xOf = (slant: number): number => xa + ((slant - sa) / (sb - sa)) * (xb - xa);
    const sightings = (JSON.parse(await readFile(path.join(stage.folder, 'derived/finds/finds.json'), 'utf8')) as { sightings: { id: string; slantStartM: number; slantEndM: number; shadowEndM: number; recordStart: number; recordEnd: number }[] }).sightings;
    const truth = sightings.find(({ id }) => id === 's0-4') as (typeof sightings)[number];
    const metresPerPx = Math.abs((sb - sa) / (xb - xa));
    const middle = plot.y + plot.height / 2;
    // The object is 1.4 m along the line; the picture is true to scale.
    const half = object.sizeM / 2 / metresPerPx;
    await page.mouse.move(xOf(truth.slantStartM), middle - half);
    await page.mouse.down();
    await page.mouse.move(xOf(truth.slantEndM), middle + half, { steps: 8 });
    // Before the hand is lifted there are figures.
    const panel = page.getByRole('region', { name: 'Measured' });
    const halfway = (await panel.innerText()).replaceAll('\u00a0', ' ');
    expect(halfway).toMatch(/Length\s+\d\.\d\d ± \d\.\d\d m/);
    expect(halfway).toContain('drag along its shadow');
    await page.mouse.up();
    await page.mouse.move(xOf(truth.slantEndM + 0.1), middle);
    await page.mouse.down();
    await page.mouse.move(xOf(truth.shadowEndM), middle, { steps: 8 });
    await page.mouse.up();
    const text = (await panel.innerText()).replaceAll('\u00a0', ' ');
    const figure = (label: string): [number, number] => {
      const found = new RegExp(`${label}\\s+([\\d.]+) ± ([\\d.]+) m`).exec(text);
      return [Number(found?.[1]), Number(found?.[2])];
    };
    const [height, height95] = figure('Height');
    expect(Math.abs(height - object.heightM)).toBeLessThan(Math.max(0.15 * object.heightM, height95));
    const [length, length95] = figure('Length');
    expect(Math.abs(length - object.sizeM)).toBeLessThan(Math.max(0.25, length95));
    await panel.getByRole('textbox', { name: 'Name, if it has one' }).fill('drum');
    await panel.getByRole('button', { name: 'Mark as a find' }).click();
    await expect.poll(posted).toHaveLength(1);
    const mark = posted()[0];
    expect(mark).toMatchObject({ kind: 'find', action: 'mark', name: 'drum', mark: { log: SONAR_SHA.slice(0, 16), side: 'port' } });
    const drawn = mark?.mark as NonNullable<FindPosted['mark']>;
    expect(Math.abs(drawn.slantStartM - truth.slantStartM)).toBeLessThan(0.25);
    expect(Math.abs((drawn.shadowEndM ?? 0) - truth.shadowEndM)).toBeLessThan(0.25);
    expect(drawn.recordStart).toBeLessThanOrEqual(truth.recordStart + 3);
    expect(drawn.recordEnd).toBeGreaterThan(drawn.recordStart);
    await expect.poll(() => page.getByRole('region', { name: 'Measured' }).count()).toBe(0);
  });

  test('what was searched: chance over the mosaic, figures, and the next lines saved as fill-in lines', async () => {
    const page = await open();
    await page.getByRole('tab', { name: 'What was searched' }).click();
    const figures = (await page.getByRole('table', { name: 'Figures of the search' }).innerText()).replaceAll('\u00a0', ' ');
    for (const part of ['0.6 m', '14.8 ha', '83.6 % of the area', '71.0 %', '0.42']) expect(figures).toContain(part);
    const before = await page.evaluate(() => (document.querySelector('.chart-map canvas') as HTMLCanvasElement).toDataURL().length);
    await page.getByRole('combobox', { name: 'Over the mosaic' }).selectOption('chance');
    await expect.poll(() => page.evaluate(() => (document.querySelector('.chart-map canvas') as HTMLCanvasElement).toDataURL().length)).not.toBe(before);
    expect(await page.locator('.layer-legend').innerText()).toContain('100 %');
    const [download] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: /Save the next lines/ }).click()]);
    expect(download.suggestedFilename()).toBe('search-lines.gpx');
    const gpx = await readFile((await download.path()) as string, 'utf8');
    expect(gpx.match(/<rte>/g)).toHaveLength(2);
    expect(gpx).toContain('fill-in 201');
  });

  test('axe-core minds nothing, by day and by dusk, on both screens; the caution is there', async () => {
    for (const size of [{ width: 1440, height: 900 }, { width: 1024, height: 768 }]) {
      const page = await open(size);
      await list(page).getByRole('listitem').nth(0).getByRole('button').click();
      await ready(page);
      expect(await page.locator('.caution').innerText()).toContain('Lifting or disturbing');
      await page.evaluate(await readFile(AXE, 'utf8'));
      for (const dusk of [false, true]) {
        if (dusk) await page.getByRole('button', { name: 'Dusk palette' }).click();
        for (const tab of ['Finds', 'What was searched']) {
          await page.getByRole('tab', { name: tab }).click();
          await page.waitForTimeout(150);
          const found = await page.evaluate(async () => (await (globalThis as unknown as { axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> } }).axe.run()).violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' | ')}`));
          expect(found).toEqual([]);
        }
      }
      await page.getByRole('button', { name: 'Dusk palette' }).click();
    }
  });
});
