import { readFile, rm, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import path from 'node:path';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { browserWanted, easternHandle, openPage, surveyShown } from './browser.js';
import { leastOverLimit, limitNow } from '../busy-machine.js';
import { emptySummary } from './fixture.js';
import { standInStage } from './stand-in-stage.js';
import { startStandIn } from './stand-in-server.js';

const AXE = createRequire(import.meta.url).resolve('axe-core/axe.min.js');

/** Counts pixels of the ink canvas near a colour, inside a box of the chart's own pixels. */
function countInk(page: Page, colour: readonly [number, number, number], box?: { x: number; y: number; width: number; height: number }): Promise<number> {
  return page.evaluate(
    ([[r, g, b], where]) => {
      const canvas = document.querySelectorAll<HTMLCanvasElement>('.chart-map canvas')[1] as HTMLCanvasElement;
      const at = where ?? { x: 0, y: 0, width: canvas.width, height: canvas.height };
      const { data } = (canvas.getContext('2d') as CanvasRenderingContext2D).getImageData(at.x, at.y, at.width, at.height);
      let n = 0;
      for (let i = 0; i < data.length; i += 4) if ((data[i + 3] as number) > 140 && Math.abs((data[i] as number) - r) < 26 && Math.abs((data[i + 1] as number) - g) < 26 && Math.abs((data[i + 2] as number) - b) < 26) n++;
      return n;
    },
    [colour, box ?? null] as const,
  );
}

/** Middles of the squares of six pixels of the ink canvas that have a colour in them, those with most of it first. */
function inkedSquares(page: Page, colour: readonly [number, number, number]): Promise<{ x: number; y: number }[]> {
  return page.evaluate(([r, g, b]) => {
    const canvas = document.querySelectorAll<HTMLCanvasElement>('.chart-map canvas')[1] as HTMLCanvasElement;
    const { data } = (canvas.getContext('2d') as CanvasRenderingContext2D).getImageData(0, 0, canvas.width, canvas.height);
    const wide = Math.ceil(canvas.width / 6);
    const counts = new Map<number, number>();
    for (let i = 0; i < data.length; i += 4) {
      if (!((data[i + 3] as number) > 140 && Math.abs((data[i] as number) - r) < 26 && Math.abs((data[i + 1] as number) - g) < 26 && Math.abs((data[i + 2] as number) - b) < 26)) continue;
      const square = Math.floor(i / 4 / canvas.width / 6) * wide + Math.floor(((i / 4) % canvas.width) / 6);
      counts.set(square, (counts.get(square) ?? 0) + 1);
    }
    return [...counts].sort((one, other) => other[1] - one[1]).map(([square]) => ({ x: 6 * (square % wide) + 3, y: 6 * Math.floor(square / wide) + 3 }));
  }, colour);
}

const MAGENTA = [0x9a, 0x1b, 0x6b] as const;
const INK = [0x1b, 0x27, 0x33] as const;
const CONTOUR = [0x5a, 0x7f, 0x97] as const;

describe.skipIf(!browserWanted())('chart table', () => {
  const stage = standInStage(2);

  const open = async (url = stage.server.url, size?: { width: number; height: number }): Promise<Page> => {
    const watched = await openPage(stage.browser, url, size);
    stage.opened.push(watched);
    return watched.page;
  };

  test('chart table: first paint under 1 s from a warm server', async () => {
    await surveyShown(await open());
    const paintMs = async () => {
      for (const { page } of stage.opened) await page.goto('about:blank');
      const page = await open();
      return page.evaluate(
        () =>
          new Promise<number>((resolve) => {
            new PerformanceObserver((list) => {
              const first = list.getEntriesByName('first-contentful-paint')[0];
              if (first !== undefined) resolve(first.startTime);
            }).observe({ type: 'paint', buffered: true });
          }),
      );
    };
    // docs/design.md section 7: first paint under 1 s.
    expect(await leastOverLimit(1000, paintMs)).toBeLessThan(1);
  });

  test('chart table: soundings, contours, gap and title are on the chart when the survey is built', async () => {
    const page = await open();
    await surveyShown(page);
    expect(await countInk(page, INK)).toBeGreaterThan(2000);
    expect(await countInk(page, CONTOUR)).toBeGreaterThan(500);
    expect(await countInk(page, MAGENTA)).toBeGreaterThan(1500);
    const title = await page.locator('.title-block').innerText();
    expect(title).toContain('Hollin Sound, ferry approach');
    expect(title).toContain('chart datum');
    expect(title).toContain('UTM 26 N');
    expect(title).toContain('13 May 2026');
    expect(title).toContain('order 1a');
    expect(title).toContain('not for navigation');
    const tint = await page.evaluate(() => {
      const canvas = document.querySelectorAll<HTMLCanvasElement>('.chart-map canvas')[0] as HTMLCanvasElement;
      const { data } = (canvas.getContext('2d') as CanvasRenderingContext2D).getImageData(0, 0, canvas.width, canvas.height);
      const seen = new Map<string, number>();
      for (let i = 0; i < data.length; i += 4) {
        const key = `${data[i]},${data[i + 1]},${data[i + 2]}`;
        seen.set(key, (seen.get(key) ?? 0) + 1);
      }
      return Object.fromEntries(seen);
    });
    // #e3f1f8 from 5 to 10 m, #fbfdfe deeper, #e7d6a6 land: PAGE.md.
    expect(tint['227,241,248']).toBeGreaterThan(5000);
    expect(tint['251,253,254']).toBeGreaterThan(20_000);
    expect(tint['231,214,166']).toBeGreaterThan(500);
  });

  test('chart table: stages say how they stand, and unbuilt ones say so', async () => {
    const page = await open();
    await surveyShown(page);
    const nav = page.getByRole('navigation', { name: 'Stages of the day' });
    await expect.poll(() => nav.getByRole('button', { name: /Depths/ }).innerText()).toContain('1 gap left');
    expect(await nav.getByRole('button', { name: /Lines/ }).innerText()).toContain('+ 2 cross');
    expect(await nav.getByRole('button', { name: /^Boat/ }).innerText()).toContain('defaults');
    await nav.getByRole('button', { name: /^Watch/ }).click();
    expect(await page.getByRole('complementary', { name: 'Watch' }).innerText()).toMatch(/Not built yet[\s\S]*Meanwhile/);
    await nav.getByRole('button', { name: /^Imagery/ }).click();
    expect(await page.getByRole('complementary', { name: 'Imagery' }).innerText()).toMatch(/No side-scan records yet[\s\S]*Take in side-scan records/);
    await nav.getByRole('button', { name: /^Rehearse/ }).click();
    expect(await page.getByRole('complementary', { name: 'Rehearse' }).innerText()).toMatch(/There is no launch point[\s\S]*Go to Lines/);
  });

  test('chart table: the figures of the sheet carry their worth', async () => {
    const page = await open();
    await surveyShown(page);
    const figures = (await page.getByRole('table', { name: 'Figures of the soundings' }).innerText()).replaceAll('\u00a0', ' ');
    for (const text of ['set aside', '3.1 – 14.1 m', '0.14 m', '0.17 m worst tenth', '42 crossings', 'mean +0.02 m, 95 % 0.11 m', '98.7 %', '1 gap, 2\u2009336 m²']) expect(figures).toContain(text);
    expect(await page.locator('.next').innerText()).toContain('Plan the fill-in lines');
  });

  test('crossings: shown on demand, and one beyond what is claimed says so under the pointer and in the list', async () => {
    const page = await open();
    await surveyShown(page);
    const toggle = page.getByRole('button', { name: 'Crossings' });
    expect(await toggle.getAttribute('aria-pressed')).toBe('false');
    const withRings = await countInk(page, MAGENTA);
    await page.getByRole('button', { name: 'Set-aside soundings' }).click();
    // The chart is painted a frame after the click: what is counted next must be the chart without the rings.
    await expect.poll(() => countInk(page, MAGENTA)).toBeLessThan(withRings - 30);
    const before = await countInk(page, MAGENTA);
    const without = new Set((await inkedSquares(page, MAGENTA)).map(({ x, y }) => `${x},${y}`));
    await toggle.click();
    await expect.poll(() => countInk(page, MAGENTA)).toBeGreaterThan(before + 30);
    // The fixture has one crossing of 0.62 m; its TVUs of 0.14 m claim 0.2 m together.
    await page.getByRole('tab', { name: 'Check' }).click();
    const list = page.getByRole('table', { name: 'Largest differences' });
    const first = await list.getByRole('row').nth(1).innerText();
    expect(first).toMatch(/\+0\.62 m\s+0\.(1[89]|2[0-2])\sm\s+beyond/);
    // Its diamond is among what came with the crossings, and thicker than most.
    const map = (await page.locator('.chart-map').boundingBox()) as { x: number; y: number; width: number; height: number };
    const label = page.locator('.chart-label');
    let found = '';
    for (const { x, y } of (await inkedSquares(page, MAGENTA)).filter(({ x, y }) => !without.has(`${x},${y}`))) {
      await page.mouse.move(map.x + x, map.y + y);
      const text = (await label.isVisible()) ? await label.innerText() : '';
      if (text.includes('beyond')) found = text;
      if (found !== '') break;
    }
    expect(found).toMatch(/^lines \d+ and \d+: \+0\.62 m, beyond the ±0\.(1[89]|2[0-2]) m claimed$/);
  });

  test('title: folds to one line by key and by click, and stays so', async () => {
    const page = await open();
    await surveyShown(page);
    const title = page.locator('.title-block');
    const tall = (await title.boundingBox())?.height as number;
    await title.focus();
    await page.keyboard.press('Enter');
    await expect.poll(async () => (await title.boundingBox())?.height).toBeLessThan(tall * 0.6);
    expect(await title.innerText()).toContain('not for navigation');
    await page.reload();
    await surveyShown(page);
    expect(await title.getAttribute('aria-expanded')).toBe('false');
    await title.click();
    expect(await title.innerText()).toContain('UTM 26 N');
  });

  test('track: drawn without soundings as well, where the boat ran without a sounder', async () => {
    await stage.server.close();
    await rm(path.join(stage.folder, 'derived/soundings.parquet'));
    await rm(path.join(stage.folder, 'derived/crossings.json'));
    stage.server = await startStandIn(stage.folder, { ...stage.fixture.summary, soundings: null, gaps: null, contours: null, surface: null, lines: null, area: null }, null, { pageDir: stage.pageDir });
    for (const name of ['area', 'lines']) await rm(path.join(stage.folder, `plan/${name}.geojson`));
    const page = await open();
    await page.locator('.title-block').waitFor();
    await expect.poll(() => countInk(page, INK)).toBeGreaterThan(2000);
  });

  test('hover: a sounding on the chart is marked on the strip, and the other way round', async () => {
    const page = await open();
    await surveyShown(page);
    const map = (await page.locator('.chart-map').boundingBox()) as { x: number; y: number; width: number; height: number };
    await page.mouse.move(map.x + map.width * 0.5, map.y + map.height * 0.45);
    await expect.poll(() => page.locator('.chart-label').innerText()).toMatch(/^\d\d:\d\d:\d\d · \d+\.\d\d m ± 0\.\d\d · line \d+/);
    expect(await page.locator('.strip-label').innerText()).toBe((await page.locator('.chart-label').innerText()).replace('\n', ' · '));
    const strip = (await page.locator('.strip .u-over').boundingBox()) as { x: number; y: number; width: number; height: number };
    await page.mouse.move(strip.x + strip.width * 0.3, strip.y + strip.height * 0.55);
    await page.mouse.move(strip.x + strip.width * 0.31, strip.y + strip.height * 0.55);
    await expect.poll(() => page.locator('.strip-label').innerText()).toMatch(/^09:5\d/);
    expect(await page.locator('.chart-label').innerText()).toMatch(/^09:5\d/);
    expect(await page.locator('.chart-marker').isVisible()).toBe(true);
  });

  test('set aside: a box on the chart, undo and redo make the round trip through the journal', async () => {
    const page = await open();
    await surveyShown(page);
    const map = (await page.locator('.chart-map').boundingBox()) as { x: number; y: number; width: number; height: number };
    await page.getByRole('button', { name: 'Select by box' }).click();
    await page.mouse.move(map.x + map.width * 0.6, map.y + map.height * 0.3);
    await page.mouse.down();
    await page.mouse.move(map.x + map.width * 0.64, map.y + map.height * 0.36, { steps: 4 });
    await page.mouse.move(map.x + map.width * 0.7, map.y + map.height * 0.42, { steps: 4 });
    await page.mouse.up();
    const bar = page.getByRole('group', { name: 'Selected soundings' });
    await expect.poll(() => bar.innerText()).toMatch(/\d+ soundings/);
    await bar.getByRole('button', { name: 'Set aside' }).click();
    await expect.poll(() => stage.server.requests.filter((one) => one.url === '/api/decisions').length).toBe(1);
    const decision = JSON.parse(stage.server.requests.find((one) => one.url === '/api/decisions')?.body ?? '{}') as { kind: string; soundings: { log: string; recordStart: number; recordEnd: number }[] };
    expect(decision.kind).toBe('set-aside');
    expect(decision.soundings[0]?.log).toBe('5d1f0c2b7a9e4f33');
    expect(decision.soundings.every((ref) => ref.recordEnd > ref.recordStart)).toBe(true);
    const figures = page.getByRole('table', { name: 'Figures of the soundings' });
    const before = await figures.innerText();
    await expect.poll(() => stage.server.requests.filter((one) => one.url === '/api/jobs').length).toBe(1);
    await expect.poll(() => page.locator('.strip-foot').innerText()).toContain('set aside by hand');
    expect(await figures.innerText()).not.toBe(before);
    expect(await page.getByRole('group', { name: 'Last decision' }).innerText()).toContain('set aside');
    await page.keyboard.press('Control+z');
    await expect.poll(() => page.locator('.strip-foot').innerText()).not.toContain('set aside by hand');
    await page.keyboard.press('Control+Shift+z');
    await expect.poll(() => page.locator('.strip-foot').innerText()).toContain('set aside by hand');
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(() => page.locator('.strip-foot').innerText()).not.toContain('set aside by hand');
  });

  test('restore: a ring on the strip says why it is set aside and is restored', async () => {
    const page = await open();
    await surveyShown(page);
    const strip = (await page.locator('.strip .u-over').boundingBox()) as { x: number; y: number; width: number; height: number };
    await page.getByRole('button', { name: 'Select by box' }).click();
    // Spikes stand above the profile: a box from the top of the strip down to well above the bottom.
    await page.mouse.move(strip.x + strip.width * 0.3, strip.y + 22);
    await page.mouse.down();
    await page.mouse.move(strip.x + strip.width * 0.5, strip.y + strip.height * 0.3, { steps: 6 });
    await page.mouse.up();
    const bar = page.getByRole('group', { name: 'Selected soundings' });
    await expect.poll(() => bar.getByRole('button', { name: 'Restore' }).isVisible()).toBe(true);
    await bar.getByRole('button', { name: 'Restore' }).click();
    await expect.poll(() => stage.server.requests.filter((one) => one.body.includes('"restore"')).length).toBe(1);
  });

  test('keyboard: the strip is walked, soundings are chosen and set aside without a pointer', async () => {
    const page = await open();
    await surveyShown(page);
    const slider = page.getByRole('slider', { name: /Soundings in order of time/ });
    await slider.focus();
    await page.keyboard.press('PageDown');
    await page.keyboard.press('PageDown');
    const first = await slider.getAttribute('aria-valuetext');
    expect(first).toMatch(/m ± /);
    await page.keyboard.press('ArrowRight');
    expect(await slider.getAttribute('aria-valuetext')).not.toBe(first);
    expect(await page.locator('.chart-marker').isVisible()).toBe(true);
    await page.keyboard.press('Shift+ArrowRight');
    await page.keyboard.press('Shift+ArrowRight');
    await expect.poll(() => page.getByRole('group', { name: 'Selected soundings' }).innerText()).toContain('3 soundings');
    await page.keyboard.press('Delete');
    await expect.poll(() => stage.server.requests.filter((one) => one.url === '/api/decisions').length).toBe(1);
    // The chart itself pans by keys.
    await page.locator('.chart-map').focus();
    const before = await page.locator('.chart-furniture').screenshot();
    await page.keyboard.press('ArrowRight');
    await page.waitForTimeout(400);
    expect(Buffer.compare(before, await page.locator('.chart-furniture').screenshot())).not.toBe(0);
  });

  test('strip: a drag zooms, a double click shows all, and it is saved as SVG, PNG and CSV', async () => {
    const page = await open();
    await surveyShown(page);
    const strip = (await page.locator('.strip .u-over').boundingBox()) as { x: number; y: number; width: number; height: number };
    await page.mouse.move(strip.x + strip.width * 0.2, strip.y + 40);
    await page.mouse.down();
    await page.mouse.move(strip.x + strip.width * 0.3, strip.y + 44, { steps: 5 });
    await page.mouse.up();
    await expect.poll(() => page.locator('.strip-save').innerText()).toContain('show all');
    const saved = async (name: string) => {
      const [file] = await Promise.all([page.waitForEvent('download'), page.getByRole('group', { name: 'Save the strip' }).getByRole('button', { name }).click()]);
      return readFile((await file.path()) as string);
    };
    const csv = (await saved('CSV')).toString('utf8').trim().split('\n');
    expect(csv[0]).toBe('time_utc,east_m,north_m,depth_m,tvu95_m,thu95_m,water_level_m,measured_m,reason,line,log,record');
    expect(csv.length).toBeGreaterThan(500);
    expect(csv.length).toBeLessThan(3000);
    expect((await saved('SVG')).toString('utf8')).toMatch(/^<svg [\s\S]*<path[\s\S]*<\/svg>$/);
    expect((await saved('PNG')).subarray(1, 4).toString()).toBe('PNG');
    await page.mouse.dblclick(strip.x + strip.width * 0.5, strip.y + 40);
    await expect.poll(() => page.locator('.strip-save').innerText()).not.toContain('show all');
  });

  test('take-in: a dropped log is sent, shows what was refused in it, and the survey is built', async () => {
    const page = await open();
    await surveyShown(page);
    const drop = async (name: string, text: string) => {
      const data = await page.evaluateHandle(([n, t]) => {
        const transfer = new DataTransfer();
        transfer.items.add(new File([t as string], n as string));
        return transfer;
      }, [name, text]);
      await page.dispatchEvent('.table', 'dragenter', { dataTransfer: data });
      expect(await page.locator('.drop-zone').isVisible()).toBe(true);
      await page.dispatchEvent('.table', 'drop', { dataTransfer: data });
    };
    await drop('second.nmea', '$GPGGA,1,2\n$SDDPT,3\n');
    const taken = page.getByRole('region', { name: 'Taken in' });
    await expect.poll(() => taken.innerText()).toContain('second.nmea: taken in');
    expect(await taken.innerText()).toContain('the checksum does not match');
    await expect.poll(() => stage.server.requests.some((one) => one.url === '/api/jobs')).toBe(true);
    await drop('holiday.jpg', 'JFIF nonsense');
    await expect.poll(() => taken.innerText()).toContain('holiday.jpg line 1: expected an NMEA sentence');
  });

  test('long work: progress is shown and can be stopped', async () => {
    await stage.server.close();
    stage.server = await startStandIn(stage.folder, stage.server.summary, null, { pageDir: stage.pageDir, stepMs: 700 });
    const page = await open();
    await surveyShown(page);
    await page.getByRole('button', { name: 'Build', exact: true }).click();
    const progress = page.getByRole('progressbar');
    await progress.waitFor();
    await page.getByRole('button', { name: 'Stop' }).click();
    await progress.waitFor({ state: 'detached' });
    expect(stage.server.requests.some((one) => one.method === 'DELETE')).toBe(true);
  });

  test('errors: a refused decision and an unreadable file are said in place, and the page goes on', async () => {
    const page = await open();
    await surveyShown(page);
    await page.getByRole('slider', { name: /Soundings in order of time/ }).focus();
    await page.keyboard.press('PageDown');
    await page.keyboard.press('Enter');
    stage.server.refuseNext = { status: 409, error: { message: 'survey.json changed on disk', expected: 'version 3', found: 'version 4', fix: 'reload the page' } };
    await page.keyboard.press('Delete');
    const alert = page.locator('.work-state .note.bad');
    await expect.poll(() => alert.innerText()).toContain('survey.json changed on disk; expected version 3; found version 4; reload the page');
    await alert.getByRole('button', { name: 'Understood' }).click();
    await alert.waitFor({ state: 'detached' });
    await writeFile(path.join(stage.folder, 'derived/soundings.parquet'), 'not a table');
    await page.reload();
    await expect.poll(() => page.locator('.chart-note.bad').innerText()).toMatch(/^derived\/soundings\.parquet cannot be read: .*; build the survey again$/);
    expect(await page.locator('.title-block').innerText()).toContain('Hollin Sound');
    // The refusal is the browser's to note as well.
    for (const one of stage.opened) one.faults.splice(0, one.faults.length, ...one.faults.filter((fault) => !/409/.test(fault)));
  });

  test('touch: a finger reads the strip', async () => {
    const page = await open();
    await surveyShown(page);
    const strip = (await page.locator('.strip .u-over').boundingBox()) as { x: number; y: number; width: number; height: number };
    const at = (type: string, share: number) =>
      page.locator('.strip .u-over').dispatchEvent(type, { pointerType: 'touch', pointerId: 1, isPrimary: true, clientX: strip.x + strip.width * share, clientY: strip.y + strip.height / 2, bubbles: true });
    await page.evaluate(() => {
      // A made-up pointer cannot be captured.
      Element.prototype.setPointerCapture = () => undefined;
    });
    await at('pointerdown', 0.4);
    await at('pointermove', 0.5);
    await expect.poll(() => page.locator('.strip-label').innerText()).toMatch(/^10:2\d/);
    await at('pointerup', 0.5);
  });

  test('lines: the plan follows the spacing and the dragged area in under 100 ms, and is saved', async () => {
    const page = await open();
    await surveyShown(page);
    await page.getByRole('button', { name: /^Lines/ }).click();
    const figures = page.getByRole('table', { name: 'Figures of the plan' });
    await expect.poll(() => figures.innerText()).toMatch(/Main lines\s+\d+/);
    const main = async () => Number(/Main lines\s+(\d+)/.exec(await figures.innerText())?.[1]);
    const dense = await main();
    await page.getByLabel('Spacing').fill('40');
    await expect.poll(main).toBeLessThan(dense / 2);
    const map = (await page.locator('.chart-map').boundingBox()) as { x: number; y: number; width: number; height: number };
    const corner = await easternHandle(page);
    const areaBefore = /Area\s+([\d.]+) ha/.exec(await figures.innerText())?.[1];
    const times: number[] = [];
    await page.mouse.move(map.x + corner.x, map.y + corner.y);
    await page.mouse.down();
    for (let k = 1; k <= 12; k++) {
      await page.mouse.move(map.x + corner.x - k * 14, map.y + corner.y + k * 2);
      await page.waitForTimeout(60);
      const took = /Planned in\s+(\d+) ms/.exec(await figures.innerText())?.[1];
      if (took !== undefined) times.push(Number(took));
    }
    await page.mouse.up();
    await expect.poll(async () => /Area\s+([\d.]+) ha/.exec(await figures.innerText())?.[1]).not.toBe(areaBefore);
    times.sort((a, b) => a - b);
    // docs/design.md section 6: under 100 ms while dragging.
    expect(times[Math.floor(times.length / 2)]).toBeLessThan(limitNow(100));
    await page.getByRole('button', { name: /Save the plan/ }).click();
    await expect.poll(() => stage.server.requests.map((one) => `${one.method} ${one.url}`)).toEqual(expect.arrayContaining(['PUT /api/plan/area', 'PUT /api/settings', 'POST /api/jobs']));
    const area = JSON.parse(stage.server.requests.find((one) => one.url === '/api/plan/area')?.body ?? '{}') as { features: { geometry: { coordinates: [number, number][][] } }[] };
    const ring = area.features[0]?.geometry.coordinates[0] as [number, number][];
    expect(ring[0]).toEqual(ring[ring.length - 1]);
    for (const [lon, lat] of ring) {
      expect(lon).toBeCloseTo(-29.965, 1);
      expect(lat).toBeCloseTo(46.037, 1);
    }
    const [file] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: /^\d+ lines as GPX/ }).click()]);
    expect((await readFile((await file.path()) as string)).toString('utf8')).toMatch(/<gpx version="1.1"[\s\S]*<rte>[\s\S]*<rtept lat="46\.03/);
  });

  test('lines: an area is taken from a dropped GeoJSON, KML or GPX file, and a file without one says so', async () => {
    const page = await open();
    await surveyShown(page);
    await page.getByRole('button', { name: /^Lines/ }).click();
    const drop = async (name: string, text: string) => {
      const data = await page.evaluateHandle(([n, t]) => {
        const transfer = new DataTransfer();
        transfer.items.add(new File([t as string], n as string));
        return transfer;
      }, [name, text]);
      await page.dispatchEvent('.table', 'drop', { dataTransfer: data });
    };
    const ring = (eastDeg: number) => [[-29.968, 46.036], [-29.968 + eastDeg, 46.036], [-29.968 + eastDeg, 46.038], [-29.968, 46.038], [-29.968, 46.036]];
    const figures = page.getByRole('table', { name: 'Figures of the plan' });
    const areaHa = async () => Number(/Area\s+([\d.]+) ha/.exec(await figures.innerText())?.[1]);
    // 0.001 deg of longitude at 46.037 N is 77.43 m, 0.002 deg of latitude 222.3 m (WGS 84 series, Snyder 1987, table 3 of PP 1395).
    await drop('area.geojson', JSON.stringify({ type: 'Feature', properties: {}, geometry: { type: 'Polygon', coordinates: [ring(0.001)] } }));
    await expect.poll(areaHa).toBeCloseTo(1.7, 1);
    await drop('area.kml', `<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>${ring(0.002).map((p) => p.join(',')).join(' ')}</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>`);
    await expect.poll(areaHa).toBeCloseTo(3.4, 1);
    await drop('area.gpx', `<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>${ring(0.003).map(([lon, lat]) => `<trkpt lat="${lat}" lon="${lon}"/>`).join('')}</trkseg></trk></gpx>`);
    await expect.poll(areaHa).toBeCloseTo(5.2, 1);
    await drop('points.geojson', JSON.stringify({ type: 'Feature', properties: {}, geometry: { type: 'LineString', coordinates: ring(0.001).slice(0, 3) } }));
    await expect.poll(() => page.locator('.work-state .note.bad').innerText()).toContain('points.geojson: expected at least one polygon or closed line, found 1 open line');
  });

  test('empty survey: says what to do first, opens a chart at a place, and takes a drawn area', async () => {
    await stage.server.close();
    stage.server = await startStandIn(stage.folder, emptySummary(stage.folder), null, { pageDir: stage.pageDir });
    const page = await open();
    expect(await page.locator('.empty').innerText()).toContain('Take in a log');
    await page.getByRole('button', { name: 'Begin with an area' }).click();
    await page.getByLabel('Latitude').fill('46.03');
    await page.getByLabel('Longitude').fill('-29.97');
    await page.getByRole('button', { name: 'Open the chart there' }).click();
    await page.locator('.title-block').waitFor();
    await page.getByRole('button', { name: 'Draw the area' }).first().click();
    const map = (await page.locator('.chart-map').boundingBox()) as { x: number; y: number; width: number; height: number };
    for (const [fx, fy] of [[0.3, 0.3], [0.7, 0.3], [0.7, 0.6], [0.3, 0.6]] as const) {
      await page.mouse.click(map.x + map.width * fx, map.y + map.height * fy);
      await page.waitForTimeout(350);
    }
    await page.mouse.click(map.x + map.width * 0.3, map.y + map.height * 0.3);
    await expect.poll(() => page.getByRole('table', { name: 'Figures of the plan' }).innerText()).toMatch(/Main lines\s+\d+/);
    await expect.poll(() => page.getByRole('button', { name: 'Stop editing' }).isVisible()).toBe(true);
  });

  test('dusk: paper and ink change places and the choice is kept', async () => {
    const page = await open();
    await surveyShown(page);
    await page.getByRole('button', { name: 'Dusk palette' }).click();
    await expect.poll(() => page.evaluate(() => getComputedStyle(document.body).color)).toBe('rgb(230, 224, 207)');
    await expect.poll(() => countInk(page, [0xe6, 0xe0, 0xcf])).toBeGreaterThan(2000);
    await page.reload();
    await surveyShown(page);
    expect(await page.evaluate(() => document.documentElement.dataset['palette'])).toBe('dusk');
  });

  for (const size of [{ width: 1440, height: 900 }, { width: 1024, height: 768 }, { width: 800, height: 900 }]) {
    test(`layout: no label is cut and nothing lies over another at ${size.width} x ${size.height}`, async () => {
      const page = await open(stage.server.url, size);
      await surveyShown(page);
      for (const stage of ['Depths', 'Lines', 'Report', 'Boat']) {
        await page.getByRole('navigation').getByRole('button', { name: new RegExp(`^${stage}`) }).click();
        await page.waitForTimeout(300);
        const cut = await page.evaluate(() =>
          [...document.querySelectorAll<HTMLElement>('.stage strong, .stage span, .day-name strong, .sheet h2, .sheet button, .sheet .next, .figures th, .figures td, .field label, .field i, .title-block, .strip-foot p, .strip-save button')]
            .filter((element) => element.offsetParent !== null && (element.scrollWidth > element.clientWidth + 1 && getComputedStyle(element).display !== 'inline'))
            .map((element) => `${element.className || element.tagName}: ${element.innerText}`),
        );
        expect(cut).toEqual([]);
        const wider = await page.evaluate(() => document.documentElement.scrollWidth > document.documentElement.clientWidth);
        expect(wider).toBe(false);
        const small = await page.evaluate(() =>
          [...document.querySelectorAll<HTMLElement>('button, summary, a.next')]
            .filter((element) => element.offsetParent !== null && (element.offsetHeight < 40 || element.offsetWidth < 40))
            .map((element) => `${element.innerText || element.ariaLabel} ${element.offsetWidth} x ${element.offsetHeight}`),
        );
        expect(small).toEqual([]);
      }
      const boxes = await page.evaluate(() => ['.day', '.chart', '.sheet', '.strip'].map((name) => (document.querySelector(name) as HTMLElement).getBoundingClientRect().toJSON() as DOMRect));
      for (const [i, a] of boxes.entries()) {
        for (const b of boxes.slice(i + 1)) {
          const over = Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 1;
          expect(over).toBe(false);
        }
      }
    });
  }

  for (const palette of ['day', 'dusk'] as const) {
    test(`accessibility: axe finds no violation at any stage, ${palette} palette`, async () => {
      const page = await open();
      await surveyShown(page);
      if (palette === 'dusk') await page.getByRole('button', { name: 'Dusk palette' }).click();
      // Evaluated by the browser's own debugger: the page's policy rightly refuses a script tag.
      await page.evaluate(await readFile(AXE, 'utf8'));
      for (const stage of ['Depths', 'Lines', 'Rehearse', 'Report', 'Boat']) {
        await page.getByRole('navigation').getByRole('button', { name: new RegExp(`^${stage}`) }).click();
        await page.evaluate(() => {
          for (const element of document.querySelectorAll('details')) element.open = true;
        });
        await page.waitForTimeout(200);
        const violations = await page.evaluate(async () => {
          const axe = (window as unknown as { axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> } }).axe;
          return (await axe.run()).violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.html.slice(0, 120)).join(' | ')}`);
        });
        expect(violations).toEqual([]);
      }
    });
  }
});
