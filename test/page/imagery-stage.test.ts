import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { createFrame } from '../../src/geo/frame.js';
import { browserWanted, openPage } from './browser.js';
import { addImagery, SONAR_SHA, type ImageryFixture } from './imagery-fixture.js';
import { standInStage } from './stand-in-stage.js';

const AXE = createRequire(import.meta.url).resolve('axe-core/axe.min.js');

interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** The plot inside the waterfall: MARGIN in waterfall-view.ts. */
async function plotOf(page: Page): Promise<Box> {
  const box = (await page.locator('.waterfall-view').boundingBox()) as Box;
  return { x: box.x + 54, y: box.y + 26, width: box.width - 66, height: box.height - 34 };
}

async function drag(page: Page, box: Box, from: readonly [number, number], to: readonly [number, number]): Promise<void> {
  await page.mouse.move(box.x + box.width * from[0], box.y + box.height * from[1]);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width * to[0], box.y + box.height * to[1], { steps: 14 });
  await page.mouse.up();
}

/** Sum of the colours of a canvas, to tell one picture from another. */
function inkOf(page: Page, selector: string): Promise<number> {
  return page.evaluate((where) => {
    const canvas = document.querySelector<HTMLCanvasElement>(where) as HTMLCanvasElement;
    const { data } = (canvas.getContext('2d') as CanvasRenderingContext2D).getImageData(0, 0, canvas.width, canvas.height);
    let sum = 0;
    for (let i = 0; i < data.length; i += 4) sum += (data[i] as number) + (data[i + 1] as number) + (data[i + 2] as number);
    return sum / (canvas.width * canvas.height);
  }, selector);
}

const said = async (page: Page): Promise<string> => (await page.locator('.waterfall-said').innerText()).replaceAll('\u00a0', ' ');

describe.skipIf(!browserWanted())('imagery stage', () => {
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
    await page.getByRole('navigation').getByRole('button', { name: /^Imagery/ }).click();
    await settled(page);
    return page;
  };
  const settled = async (page: Page): Promise<void> => {
    await page.locator('.waterfall-view[data-ready="true"]').waitFor({ timeout: 20_000 });
    await page.locator('html[data-mosaic="settled"]').waitFor({ timeout: 20_000 });
    await page.waitForTimeout(150);
  };
  const decisions = () => stage.server.requests.filter(({ url }) => url === '/api/decisions').map(({ body }) => JSON.parse(body) as { kind: string; log: string; points: { record: number; slantM: number }[] });

  test('the stage says how it stands, with figures, one next thing, and nothing that axe-core minds, by day and by dusk, on both screens', async () => {
    for (const size of [{ width: 1440, height: 900 }, { width: 1024, height: 768 }]) {
      const page = await open(size);
      expect(await page.getByRole('navigation').getByRole('button', { name: /^Imagery/ }).innerText()).toContain('78 % seen');
      const figures = (await page.getByRole('table', { name: 'Figures of the imagery' }).innerText()).replaceAll('\u00a0', ' ');
      for (const text of ['13.8 ha', 'cells of 25 cm', '98.6 % heard', '6.3 – 8.7 m', '1500 m/s', '+0.40 s']) expect(figures).toContain(text);
      expect(await page.locator('.next').innerText()).toContain('Go through the finds');
      await page.locator('.waterfall-look summary').click();
      await page.evaluate(await readFile(AXE, 'utf8'));
      for (const dusk of [false, true]) {
        if (dusk) await page.getByRole('button', { name: 'Dusk palette' }).click();
        await page.waitForTimeout(200);
        const found = await page.evaluate(async () => ((await (globalThis as unknown as { axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> } }).axe.run()).violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' | ')}`)));
        expect(found).toEqual([]);
      }
      if (await page.getByRole('button', { name: 'Dusk palette' }).getAttribute('aria-pressed') === 'true') await page.getByRole('button', { name: 'Dusk palette' }).click();
      const small = await page.locator('.waterfall button, .waterfall select').evaluateAll((all) => all.filter((one) => one.getBoundingClientRect().height < 39.5 || one.getBoundingClientRect().width < 39.5).map((one) => one.outerHTML));
      expect(small).toEqual([]);
    }
  });

  test('mosaic: read by byte ranges, never whole; one line\u2019s own picture covers less, and none leaves the depths', async () => {
    const ranges: string[] = [];
    const watched = await openPage(stage.browser, stage.server.url);
    stage.opened.push(watched);
    const { page } = watched;
    page.on('request', (request) => {
      if (request.url().includes('.tif') && request.url().includes('imagery') && request.method() === 'GET') ranges.push(request.headers()['range'] ?? 'whole');
    });
    await page.getByRole('navigation').getByRole('button', { name: /^Imagery/ }).click();
    await settled(page);
    expect(ranges.length).toBeGreaterThan(0);
    expect(ranges.filter((range) => !range.startsWith('bytes='))).toEqual([]);
    const all = await inkOf(page, '.chart-map canvas');
    await page.getByRole('combobox', { name: 'Under the chart' }).selectOption('4');
    await settled(page);
    const one = await inkOf(page, '.chart-map canvas');
    await page.getByRole('combobox', { name: 'Under the chart' }).selectOption('none');
    await page.locator('html[data-mosaic="none"]').waitFor();
    await page.waitForTimeout(400);
    const none = await inkOf(page, '.chart-map canvas');
    // The mosaic is darker than paper and tints: the more of it, the darker.
    expect(all).toBeLessThan(one - 5);
    expect(one).toBeLessThan(none - 5);
  });

  test('cursor: the echo under the pointer has time, slant and ground range and a place, and the chart shows it there; and the other way round', async () => {
    const page = await open();
    const plot = await plotOf(page);
    // Three quarters of the way to the starboard edge: 20 m of 40.
    await page.mouse.move(plot.x + plot.width * 0.75, plot.y + plot.height * 0.5);
    await expect.poll(() => said(page)).toMatch(/starboard · slant 20\.\d m · ground 18\.\d m/);
    const text = await said(page);
    expect(text).toMatch(/^09:1\d:\d\d · /);
    const [, latDeg, latMin, lonDeg, lonMin] = /(\d+)°([\d.]+)′ N\s+(\d+)°([\d.]+)′ W ± 0\.\d m/.exec(text) as unknown as [string, string, string, string, string];
    const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
    const [xM, yM] = frame.toFrame(Number(latDeg) + Number(latMin) / 60, -(Number(lonDeg) + Number(lonMin) / 60));
    // Line 3 runs east at y0 + 60: starboard is south of it, some 18.5 m off.
    const [, y0] = frame.toFrame(46.0355, -29.9688);
    expect(yM - y0).toBeGreaterThan(60 - 20.5);
    expect(yM - y0).toBeLessThan(60 - 17);
    // The same place pointed at on the chart gives the same echo back.
    const at = await page.evaluate(() => {
      const view = (document.querySelector('.chart-map') as HTMLElement).getBoundingClientRect();
      return { x: view.x, y: view.y, width: view.width, height: view.height };
    });
    await page.mouse.move(at.x + at.width * 0.5, at.y + at.height * 0.47);
    await page.mouse.move(at.x + at.width * 0.5, at.y + at.height * 0.49, { steps: 3 });
    await expect.poll(() => said(page)).toMatch(/(port|starboard) · slant/);
    const pointed = await said(page);
    await page.mouse.click(at.x + at.width * 0.5, at.y + at.height * 0.49);
    await settled(page);
    // The waterfall has gone to that ping: the cursor stands in its middle.
    const line = await page.getByRole('combobox', { name: 'Line in the waterfall' }).evaluate((one: HTMLSelectElement) => one.selectedOptions[0]?.textContent ?? '');
    expect(line).toMatch(/^Line \d/);
    await page.mouse.move(plot.x + plot.width * 0.75, plot.y + plot.height * 0.5);
    await page.mouse.move(plot.x + plot.width * 0.75 + 1, plot.y + plot.height * 0.5);
    const seconds = (clock: string): number => clock.slice(0, 8).split(':').reduce((sum, part) => sum * 60 + Number(part), 0);
    await expect.poll(async () => Math.abs(seconds(await said(page)) - seconds(pointed))).toBeLessThanOrEqual(1);
    expect(pointed).not.toBe(text);
    expect(xM).toBeGreaterThan(0);
  });

  test('bottom: dragged along by hand it is drawn at once, posted once with the records and ranges as drawn, and undone at once', async () => {
    const page = await open();
    await page.getByRole('button', { name: 'Draw the bottom' }).click();
    await page.locator('.waterfall-hint').waitFor();
    await settled(page);
    const plot = await plotOf(page);
    const before = await inkOf(page, '.waterfall-over');
    // 12 m on the port side, down a fifth of the plot.
    await drag(page, plot, [0.5 - 12 / 80, 0.5], [0.5 - 12 / 80, 0.7]);
    await expect.poll(decisions).toHaveLength(1);
    const [decision] = decisions();
    expect(decision?.kind).toBe('bottom');
    expect(decision?.log).toBe(SONAR_SHA.slice(0, 16));
    const points = decision?.points ?? [];
    // A straight stroke needs no more than a few points.
    expect(points.length).toBeGreaterThanOrEqual(2);
    expect(points.length).toBeLessThan(8);
    for (const { slantM } of points) expect(Math.abs(slantM - 12)).toBeLessThan(0.3);
    const records = points.map(({ record }) => record);
    expect([...records].sort((a, b) => a - b)).toEqual(records);
    expect(await inkOf(page, '.waterfall-over')).not.toBeCloseTo(before, 1);
    await page.mouse.move(plot.x + plot.width * 0.9, plot.y + plot.height * 0.6);
    // 36 m over 12 m: the ground range follows the bottom as drawn, before anything is built.
    await expect.poll(() => said(page)).toMatch(/slant 3[12]\.\d m · ground (29|30)\.\d m/);
    await expect.poll(() => page.getByRole('group', { name: 'Last decision' }).innerText()).toContain('drawn by hand');
    await page.getByRole('button', { name: 'Undo' }).click();
    await page.mouse.move(plot.x + plot.width * 0.9, plot.y + plot.height * 0.61);
    await expect.poll(() => said(page)).toMatch(/slant 3[12]\.\d m · ground 31\.\d m/);
  });

  test('bottom: points put by keys are kept with one key, and left with another', async () => {
    const page = await open();
    const view = page.getByRole('application', { name: /^Waterfall/ });
    await view.focus();
    await page.keyboard.press('b');
    for (let k = 0; k < 2; k++) await page.keyboard.press('ArrowUp');
    await page.keyboard.press('Enter');
    await page.keyboard.press('Shift+ArrowUp');
    await page.keyboard.press('Shift+ArrowLeft');
    await page.keyboard.press('Enter');
    await expect.poll(() => page.locator('.waterfall-hint').innerText()).toContain('2 points');
    await page.getByRole('button', { name: 'Leave it' }).click();
    expect(decisions()).toHaveLength(0);
    await view.focus();
    await page.keyboard.press('Enter');
    await page.keyboard.press('Shift+ArrowDown');
    await page.keyboard.press('Enter');
    await page.keyboard.press('k');
    await expect.poll(decisions).toHaveLength(1);
    expect(decisions()[0]?.points).toHaveLength(2);
  });

  test('brightness, contrast and colours: the picture changes, nothing is asked of the server or posted', async () => {
    const page = await open();
    let asked = 0;
    page.on('request', (request) => {
      if (request.url().includes('/api/')) asked++;
    });
    await page.locator('.waterfall-look summary').click();
    await settled(page);
    await page.waitForTimeout(500);
    asked = 0;
    const before = await inkOf(page, '.waterfall-canvas');
    await page.getByRole('slider', { name: 'Brighter' }).fill('12');
    await settled(page);
    await expect.poll(() => inkOf(page, '.waterfall-canvas')).toBeGreaterThan(before + 40);
    await page.getByRole('combobox', { name: 'Colours' }).selectOption('grey');
    await page.getByRole('checkbox', { name: 'Strong echoes dark' }).check();
    await settled(page);
    await expect.poll(() => inkOf(page, '.waterfall-canvas')).toBeLessThan(before + 40);
    expect(asked).toBe(0);
    expect(stage.server.requests).toEqual([]);
  });

  test('along the line: wheel, drag, keys and slider go along, line by line by button and key, closer by pinch of the wheel', async () => {
    const page = await open();
    const plot = await plotOf(page);
    const timeAt = async (): Promise<string> => {
      await page.mouse.move(plot.x + plot.width * 0.75, plot.y + plot.height * 0.5);
      await page.mouse.move(plot.x + plot.width * 0.75 + 1, plot.y + plot.height * 0.5);
      return (await said(page)).slice(0, 8);
    };
    const first = await timeAt();
    await page.mouse.wheel(0, -300);
    await expect.poll(timeAt).not.toBe(first);
    const later = await timeAt();
    expect(later > first).toBe(true);
    await drag(page, plot, [0.3, 0.3], [0.3, 0.6]);
    await expect.poll(async () => (await timeAt()) > later).toBe(true);
    await page.getByRole('application', { name: /^Waterfall/ }).focus();
    await page.keyboard.press('Home');
    await expect.poll(timeAt).toBe(first);
    await page.keyboard.press('.');
    await expect.poll(() => page.getByRole('combobox', { name: 'Line in the waterfall' }).inputValue()).toBe('2');
    await page.getByRole('button', { name: 'Line before' }).click();
    await expect.poll(() => page.getByRole('combobox', { name: 'Line in the waterfall' }).inputValue()).toBe('0');
    await page.mouse.move(plot.x + plot.width * 0.75, plot.y + plot.height * 0.5);
    const slant = Number(/slant ([\d.]+)/.exec(await said(page))?.[1]);
    await page.keyboard.down('Control');
    for (let k = 0; k < 4; k++) await page.mouse.wheel(0, -200);
    await page.keyboard.up('Control');
    await settled(page);
    // What is under the pointer stays there.
    await page.mouse.move(plot.x + plot.width * 0.75 + 1, plot.y + plot.height * 0.5);
    expect(Math.abs(Number(/slant ([\d.]+)/.exec(await said(page))?.[1]) - slant)).toBeLessThan(0.25);
    await page.mouse.move(plot.x + plot.width * 0.5, plot.y + plot.height * 0.5);
    // Some five times closer: the track has left the middle.
    await expect.poll(async () => Number(/slant ([\d.]+)/.exec(await said(page))?.[1])).toBeGreaterThan(10);
  });

  test('settings: a blend and a cell are posted as settings with what they mean, and can be undone', async () => {
    const page = await open();
    await page.getByRole('combobox', { name: 'Where lines overlap' }).selectOption('mean');
    await expect.poll(() => stage.server.requests.filter(({ url }) => url === '/api/settings').map(({ body }) => JSON.parse(body) as unknown)).toEqual([{ path: 'imagery.blend', value: 'mean' }]);
    await expect.poll(() => page.getByRole('region', { name: 'How the mosaic is made' }).innerText()).toContain('blurs what lies between lines');
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(() => page.getByRole('combobox', { name: 'Where lines overlap' }).inputValue()).toBe('best');
  });
});
