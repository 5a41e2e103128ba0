import { readFile, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import path from 'node:path';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { browserWanted, holdBack, openPage, surveyShown } from './browser.js';
import { writeFixtureCorrections } from './corrections-fixture.js';
import { standInStage } from './stand-in-stage.js';

const AXE = createRequire(import.meta.url).resolve('axe-core/axe.min.js');

interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

async function boxOf(page: Page, selector: string): Promise<Box> {
  return (await page.locator(selector).boundingBox()) as Box;
}

async function drag(page: Page, box: Box, from: readonly [number, number], to: readonly [number, number]): Promise<void> {
  await page.mouse.move(box.x + box.width * from[0], box.y + box.height * from[1]);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width * to[0], box.y + box.height * to[1], { steps: 12 });
  await page.mouse.up();
}

/** How many soundings the bar says are selected; 0 where it is not there. */
async function selected(page: Page): Promise<number> {
  const bar = page.getByRole('group', { name: 'Selected soundings' });
  if ((await bar.count()) === 0) return 0;
  const text = (await bar.innerText()).replaceAll('\u2009', '');
  return Number(/(\d+) sounding/.exec(text)?.[1] ?? 0);
}

/** Pixels of a canvas near a colour. */
function countNear(page: Page, selector: string, colour: readonly [number, number, number]): Promise<number> {
  return page.evaluate(
    ([where, [r, g, b]]) => {
      const canvas = document.querySelector<HTMLCanvasElement>(where) as HTMLCanvasElement;
      const { data } = (canvas.getContext('2d') as CanvasRenderingContext2D).getImageData(0, 0, canvas.width, canvas.height);
      let n = 0;
      for (let i = 0; i < data.length; i += 4) if ((data[i + 3] as number) > 140 && Math.abs((data[i] as number) - r) < 12 && Math.abs((data[i + 1] as number) - g) < 12 && Math.abs((data[i + 2] as number) - b) < 12) n++;
      return n;
    },
    [selector, colour] as const,
  );
}

const MAGENTA = [0x9a, 0x1b, 0x6b] as const;

describe.skipIf(!browserWanted())('depths stage', () => {
  const stage = standInStage(2, (template, fixture) => writeFixtureCorrections(template, fixture.soundings), () => ({ stepMs: 400 }));

  const open = async (size?: { width: number; height: number }, part = 'Clean'): Promise<Page> => {
    const watched = await openPage(stage.browser, stage.server.url, size);
    stage.opened.push(watched);
    await surveyShown(watched.page);
    if (part !== 'Overview') await watched.page.getByRole('tab', { name: part }).click();
    return watched.page;
  };
  const openPoints = async (page: Page): Promise<Box> => {
    await page.getByRole('button', { name: 'Points in space' }).first().click();
    await expect.poll(() => page.locator('.points-view').getAttribute('data-share')).toBe('1.00');
    return boxOf(page, '.points-view');
  };
  const decisions = () => stage.server.requests.filter(({ url }) => url === '/api/decisions').map(({ body }) => JSON.parse(body) as { kind: string; soundings: { log: string; recordStart: number; recordEnd: number }[]; note?: string });

  test('brush: soundings painted among the points show in every view, are set aside with a reason in one line, at once, and undone at once', async () => {
    const page = await open();
    const view = await openPoints(page);
    await page.getByRole('button', { name: 'Brush', exact: true }).click();
    await drag(page, view, [0.35, 0.5], [0.6, 0.52]);
    await expect.poll(() => selected(page)).toBeGreaterThan(20);
    const many = await selected(page);
    // All of them are drawn when the hand rests.
    await expect.poll(() => countNear(page, '.points-canvas', MAGENTA)).toBeGreaterThan(60);
    await page.getByRole('textbox', { name: 'Why' }).fill('fish');
    const goodBefore = (await page.getByRole('region', { name: 'Set aside, and why' }).innerText()).includes('set aside by hand');
    expect(goodBefore).toBe(false);
    // At once: before the server has heard of it.
    const heard = await holdBack(page, '**/api/decisions');
    await page.getByRole('button', { name: 'Set aside', exact: true }).click();
    const reasons = page.getByRole('region', { name: 'Set aside, and why' });
    await expect.poll(() => reasons.innerText()).toContain('set aside by hand');
    expect(await selected(page)).toBe(0);
    expect(decisions()).toEqual([]);
    heard();
    await expect.poll(() => decisions().length).toBe(1);
    const [decision] = decisions();
    expect(decision?.kind).toBe('set-aside');
    expect(decision?.note).toBe('fish');
    expect(decision?.soundings.length).toBeGreaterThan(1);
    // Records of the fixture are three apart; no range reaches over one that was not selected.
    const covered = (decision?.soundings ?? []).reduce((sum, { recordStart, recordEnd }) => sum + stage.fixture.soundings.record.filter((record) => record >= recordStart && record < recordEnd).length, 0);
    expect(covered).toBeLessThanOrEqual(many);
    expect(covered).toBeGreaterThan(20);
    await expect.poll(() => page.locator('.undo').innerText()).toContain('fish');
    const undone = await holdBack(page, '**/api/undo');
    await page.getByRole('button', { name: 'Undo', exact: true }).click();
    await expect.poll(() => reasons.innerText()).not.toContain('set aside by hand');
    expect(stage.server.requests.filter(({ url }) => url === '/api/undo')).toEqual([]);
    undone();
    await page.getByRole('button', { name: 'Redo', exact: true }).click();
    await expect.poll(() => reasons.innerText()).toContain('set aside by hand');
  });

  test('box and brush: in the profile they take the soundings of the line; Shift adds, Alt takes out', async () => {
    const page = await open();
    const plot = await boxOf(page, '.profile-plot');
    await expect.poll(async () => (await page.getByRole('region', { name: 'Profile' }).innerText()).includes('Line 1,')).toBe(true);
    await page.getByRole('button', { name: 'Box', exact: true }).click();
    await drag(page, plot, [0.2, 0.05], [0.4, 0.9]);
    const first = await selected(page);
    expect(first).toBeGreaterThan(20);
    await page.keyboard.down('Shift');
    await drag(page, plot, [0.6, 0.05], [0.7, 0.9]);
    await page.keyboard.up('Shift');
    const both = await selected(page);
    expect(both).toBeGreaterThan(first);
    await page.keyboard.down('Alt');
    await drag(page, plot, [0.1, 0.05], [0.5, 0.9]);
    await page.keyboard.up('Alt');
    expect(await selected(page)).toBe(both - first);
    await page.keyboard.press('Escape');
    expect(await selected(page)).toBe(0);
  });

  test('brush on the chart: a stroke selects what lies under it, and the strip over all stays where it was', async () => {
    const page = await open();
    await page.getByRole('button', { name: 'Brush', exact: true }).click();
    const map = await boxOf(page, '.chart-map');
    await drag(page, map, [0.4, 0.5], [0.6, 0.55]);
    const many = await selected(page);
    expect(many).toBeGreaterThan(30);
    // The map did not move under the stroke: painted again it selects hardly anything new; the hand's steps fall a little differently.
    await drag(page, map, [0.4, 0.5], [0.6, 0.55]);
    expect(await selected(page)).toBeLessThan(many * 1.1);
  });

  test('line: one click selects a whole line, from any view', async () => {
    const page = await open();
    await page.getByRole('button', { name: 'Line', exact: true }).click();
    const plot = await boxOf(page, '.profile-plot');
    const n = stage.fixture.soundings.line.filter((line) => line === 1).length;
    // The profile of line 1: somewhere down the middle there is a sounding.
    for (let fy = 0.15; fy < 0.85 && (await selected(page)) === 0; fy += 0.02) await page.mouse.click(plot.x + plot.width / 2, plot.y + plot.height * fy);
    expect(await selected(page)).toBe(n);
  });

  test('flagged stretches: keys and buttons go from one to the next, by reason too, and the profile follows', async () => {
    const page = await open();
    const reasons = page.getByRole('region', { name: 'Set aside, and why' });
    await page.keyboard.press('F8');
    await expect.poll(() => reasons.innerText()).toMatch(/1 of \d+ stretches/);
    await page.keyboard.press('F8');
    await expect.poll(() => reasons.innerText()).toMatch(/2 of \d+ stretches/);
    await page.keyboard.press('Shift+F8');
    await expect.poll(() => reasons.innerText()).toMatch(/1 of \d+ stretches/);
    await reasons.getByRole('button', { name: 'double echo' }).click();
    await expect.poll(() => reasons.innerText()).toMatch(/1 of \d+ stretch(es)?: double echo/);
    const said = await page.locator('.profile-said').innerText();
    expect(said).toContain('set aside: double echo');
    await page.locator('.profile-plot').focus();
    await page.keyboard.press('n');
    await expect.poll(() => reasons.innerText()).toMatch(/2 of \d+ stretch(es)?: double echo/);
    await reasons.getByRole('button', { name: 'Select them' }).click();
    expect(await selected(page)).toBeGreaterThan(0);
    await page.getByRole('button', { name: 'Restore', exact: true }).click();
    await expect.poll(() => decisions().map(({ kind }) => kind)).toEqual(['restore']);
  });

  test('a refused decision is taken back from the screen, and what was selected and written is kept', async () => {
    const page = await open();
    const plot = await boxOf(page, '.profile-plot');
    await page.getByRole('button', { name: 'Box', exact: true }).click();
    await drag(page, plot, [0.2, 0.05], [0.4, 0.9]);
    await page.getByRole('textbox', { name: 'Why' }).fill('weed');
    stage.server.refuseNext = { status: 500, error: { message: 'journal.jsonl cannot be written: the disk is full', fix: 'make room on the disk' } };
    await page.getByRole('button', { name: 'Set aside', exact: true }).click();
    await expect.poll(() => page.getByRole('alert').innerText()).toContain('the disk is full');
    expect(await selected(page)).toBeGreaterThan(10);
    expect(await page.getByRole('textbox', { name: 'Why' }).inputValue()).toBe('weed');
    expect(await page.getByRole('region', { name: 'Set aside, and why' }).innerText()).not.toContain('set aside by hand');
    for (const one of stage.opened) one.faults.splice(0, one.faults.length, ...one.faults.filter((fault) => !/500/.test(fault)));
  });

  test('points: the view is turned by hand and by keys, and what is set aside can be put out of it', async () => {
    const page = await open();
    const view = await openPoints(page);
    const picture = () => page.evaluate(() => (document.querySelector('.points-canvas') as HTMLCanvasElement).toDataURL().length);
    const still = async () => {
      await expect.poll(() => page.locator('.points-view').getAttribute('data-share')).toBe('1.00');
      await page.waitForTimeout(250);
      return picture();
    };
    const first = await still();
    await drag(page, view, [0.4, 0.5], [0.6, 0.4]);
    const turned = await still();
    expect(turned).not.toBe(first);
    await page.locator('.points-view').focus();
    await page.keyboard.press('ArrowRight');
    await page.keyboard.press('PageUp');
    expect(await still()).not.toBe(turned);
    await page.keyboard.press('Home');
    expect(await still()).toBe(first);
    await page.getByRole('combobox', { name: 'Set aside' }).selectOption('hidden');
    expect(await still()).not.toBe(first);
  });

  test('points: the graphics processor draws what is drawn by hand', async () => {
    const seen: Buffer[] = [];
    for (const painter of ['canvas', 'gl']) {
      const page = await stage.browser.newPage({ viewport: { width: 1440, height: 900 } });
      stage.opened.push({ page, faults: [] });
      // The machine of the tests has no graphics processor: it is passed off as one.
      if (painter === 'gl') {
        await page.addInitScript(() => {
          const own = WebGL2RenderingContext.prototype.getParameter;
          WebGL2RenderingContext.prototype.getParameter = function (name: number): unknown {
            return name === 0x9246 ? 'a graphics processor' : (own.call(this, name) as unknown);
          };
        });
      }
      await page.goto(stage.server.url);
      await surveyShown(page);
      await page.getByRole('tab', { name: 'Clean' }).click();
      await openPoints(page);
      expect(await page.locator('.points-view').getAttribute('data-painter')).toBe(painter);
      await page.mouse.move(5, 5);
      await page.waitForTimeout(600);
      seen.push(await page.locator('.points-view').screenshot());
    }
    const page = stage.opened[0]?.page as Page;
    // Shares of the picture by colour: paper, and each fifth of the ramp; the two need not agree to the pixel.
    const shares = await page.evaluate(async (pictures) => {
      const out: number[][] = [];
      for (const picture of pictures) {
        const image = await createImageBitmap(new Blob([Uint8Array.from(atob(picture), (one) => one.charCodeAt(0))], { type: 'image/png' }));
        const canvas = new OffscreenCanvas(image.width, image.height);
        const ctx = canvas.getContext('2d') as OffscreenCanvasRenderingContext2D;
        ctx.drawImage(image, 0, 0);
        const { data } = ctx.getImageData(0, 0, image.width, image.height);
        const near = [0, 0, 0];
        for (let i = 0; i < data.length; i += 4) {
          const [r, g, b] = [data[i] as number, data[i + 1] as number, data[i + 2] as number];
          if (r > 240 && g > 240) near[0] = (near[0] as number) + 1;
          else if (r > 150 && b < 110) near[1] = (near[1] as number) + 1;
          else if (b > r + 20) near[2] = (near[2] as number) + 1;
        }
        out.push(near.map((n) => n / (data.length / 4)));
      }
      return out;
    }, seen.map((one) => one.toString('base64')));
    const [canvas, gl] = shares as [number[], number[]];
    for (let k = 0; k < 3; k++) {
      expect(canvas[k]).toBeGreaterThan(0.002);
      expect((gl[k] as number) / (canvas[k] as number)).toBeGreaterThan(0.6);
      expect((gl[k] as number) / (canvas[k] as number)).toBeLessThan(1.6);
    }
  });

  test('check: standing, causes and tables; a click on a crossing goes to it on the chart and in the profile', async () => {
    const file = path.join(stage.folder, 'derived/crossings.json');
    const crossings = JSON.parse(await readFile(file, 'utf8')) as { points: Record<string, number>[] };
    const s = stage.fixture.soundings;
    const near = (point: Record<string, number>, line: number) => {
      let best = 0;
      for (let i = 0; i < s.n; i++) if (s.line[i] === line && s.reason[i] === 0 && Math.hypot((s.xM[i] as number) - (point['xM'] as number), (s.yM[i] as number) - (point['yM'] as number)) < Math.hypot((s.xM[best] as number) - (point['xM'] as number), (s.yM[best] as number) - (point['yM'] as number))) best = i;
      return best;
    };
    for (const point of crossings.points) {
      const b = near(point, point['lineB'] as number);
      Object.assign(point, { depthAM: 10, depthBM: 10 + (point['differenceM'] as number), timeAS: s.timeS[near(point, point['lineA'] as number)], timeBS: s.timeS[b] });
    }
    const worst = crossings.points[4] as Record<string, number>;
    await writeFile(file, JSON.stringify({ ...crossings, pairs: [{ lineA: worst['lineA'], lineB: worst['lineB'], count: 1, meanM: 0.62, p95M: 0.62 }], lines: [{ line: worst['lineA'], count: 2, meanM: -0.3, deviationM: null, p95M: 0.62, offsetM: -0.31, offsetHalf95M: 0.1 }], standing: null, causes: [{ kind: 'level-step', words: 'Depths after 10:12 read 0.31 m too deep: the water level may have a step there.', timeS: worst['timeBS'], line: -1, share: 0.8 }] }));
    const page = await open(undefined, 'Check');
    const sheet = page.getByRole('complementary', { name: 'Depths' });
    await expect.poll(async () => (await sheet.innerText()).replaceAll('\u00a0', ' ')).toContain('Depths after 10:12 read 0.31 m too deep');
    // 41 of 42 within sqrt(2) x 0.517 m of order 1a at 10 m (S-44 ed. 6.1.0, table 1): 0.62 m is inside too.
    expect((await sheet.innerText()).replaceAll('\u00a0', ' ')).toMatch(/met by the crossings[\s\S]*100 % within/);
    await sheet.getByRole('table', { name: 'Largest differences' }).getByRole('button').first().click();
    const profile = page.getByRole('region', { name: 'Profile' });
    await expect.poll(() => profile.innerText()).toContain(`Line ${worst['lineB']},`);
    await expect.poll(() => page.locator('.chart-label').innerText()).toContain(`line ${worst['lineB']}`);
    await sheet.getByText('Line by line').click();
    expect(await sheet.innerText()).toContain('stands out');
    await sheet.getByRole('button', { name: /^go to/ }).click();
    await expect.poll(() => page.locator('.chart-label').isVisible()).toBe(true);
  });

  test('corrections: every column of the file is a curve; shown or put away, applied or left out', async () => {
    const page = await open(undefined, 'Correct');
    const sheet = page.getByRole('complementary', { name: 'Depths' });
    await sheet.getByRole('table', { name: 'What is added to the depth' }).waitFor();
    expect(await sheet.getByRole('checkbox', { name: 'Show squat' }).isDisabled()).toBe(true);
    expect(await sheet.getByRole('switch', { name: 'Apply to the transducer' }).count()).toBe(0);
    const INK = [0x1b, 0x27, 0x33] as const;
    const strip = page.getByRole('region', { name: 'Corrections', exact: true });
    await expect.poll(() => countNear(page, '.corrections-plot canvas', INK)).toBeGreaterThan(1000);
    const all = await countNear(page, '.corrections-plot canvas', INK);
    await strip.getByRole('slider').focus();
    await page.keyboard.press('ArrowRight');
    const said = (await strip.getByRole('slider').getAttribute('aria-valuetext'))?.replaceAll('\u2009', '') ?? '';
    expect(said).toContain('draft at rest +0.20 m');
    await sheet.getByRole('checkbox', { name: 'Show draft at rest' }).click();
    await expect.poll(() => countNear(page, '.corrections-plot canvas', INK)).not.toBe(all);
    expect(await strip.getByRole('slider').getAttribute('aria-valuetext')).not.toContain('draft');
    await sheet.getByRole('switch', { name: 'Apply slope under the beam' }).click();
    await expect.poll(() => stage.server.requests.filter(({ url }) => url === '/api/settings').map(({ body }) => JSON.parse(body) as unknown)).toEqual([{ path: 'sounder.slopeCorrection', value: false }]);
  });

  test('surface: a layer comes with its legend; a line and a shape drawn on the chart are answered', async () => {
    const page = await open(undefined, 'Surface');
    const sheet = page.getByRole('complementary', { name: 'Depths' });
    await sheet.getByLabel('Colours of the chart').selectOption('count');
    await expect.poll(() => sheet.locator('.layer-legend').innerText()).toMatch(/^0/);
    const map = await boxOf(page, '.chart-map');
    const at = async (x: number, y: number, twice = false) => {
      await page.mouse[twice ? 'dblclick' : 'click'](map.x + map.width * x, map.y + map.height * y);
      // Two clicks at one place within a quarter of a second would be a double click.
      await page.waitForTimeout(320);
    };
    await sheet.getByRole('button', { name: 'Profile along a line' }).click();
    await at(0.35, 0.45);
    await at(0.65, 0.6, true);
    await expect.poll(() => sheet.innerText()).toContain('Depth along the line');
    const profile = (await sheet.getByRole('table', { name: 'Profile along the line' }).innerText()).replaceAll('\u2009', '');
    expect(profile).toMatch(/Length\s+\d+ m/);
    await sheet.getByRole('button', { name: 'Inside a shape' }).click();
    await at(0.4, 0.45);
    await at(0.55, 0.45);
    await at(0.55, 0.6);
    await at(0.4, 0.6, true);
    const inside = sheet.getByRole('table', { name: 'Inside the shape' });
    await expect.poll(() => inside.innerText()).toContain('Slope');
    const before = await inside.innerText();
    expect(before.replaceAll('\u2009', '')).toMatch(/Least depth\s+\d+\.\d\d\sm/);
    await sheet.getByLabel('Level').fill('9');
    await page.keyboard.press('Enter');
    await expect.poll(() => inside.innerText()).toContain('Below 9.00 m');
    await sheet.getByLabel('Depth of a cell').selectOption('shoalest');
    await expect.poll(() => stage.server.requests.some(({ url, body }) => url === '/api/settings' && body.includes('surface.statistic'))).toBe(true);
  });

  for (const dusk of [false, true]) {
    test(`accessibility: axe finds no violation in any part of the stage, ${dusk ? 'dusk' : 'day'} palette`, async () => {
      const page = await open(undefined, 'Overview');
      if (dusk) await page.getByRole('button', { name: 'Dusk palette' }).click();
      await page.evaluate(await readFile(AXE, 'utf8'));
      for (const part of ['Overview', 'Clean', 'Correct', 'Check', 'Surface']) {
        await page.getByRole('tab', { name: part }).click();
        if (part === 'Clean') {
          await openPoints(page);
          await page.keyboard.press('F8');
          await page.getByRole('button', { name: 'Select them' }).click();
        }
        await page.waitForTimeout(300);
        const violations = await page.evaluate(async () => {
          const axe = (globalThis as unknown as { axe: { run(): Promise<{ violations: { id: string; nodes: { html: string; failureSummary: string }[] }[] }> } }).axe;
          return (await axe.run()).violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html, failureSummary }) => `${html} ${failureSummary}`).join(' | ')}`);
        });
        expect(violations, part).toEqual([]);
      }
    });
  }

  for (const size of [{ width: 1440, height: 900 }, { width: 1024, height: 768 }]) {
    test(`layout: nothing is cut or lies over another with all views open at ${size.width} x ${size.height}`, async () => {
      const page = await open(size);
      await openPoints(page);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      expect(wide).toBe(0);
      const boxes = [await boxOf(page, '.chart-map'), await boxOf(page, '.points-view'), await boxOf(page, '.sheet'), await boxOf(page, '.profile-plot')];
      for (const [i, a] of boxes.entries()) {
        expect(Math.min(a.width, a.height)).toBeGreaterThan(120);
        for (const b of boxes.slice(i + 1)) expect(a.x + a.width <= b.x + 1 || b.x + b.width <= a.x + 1 || a.y + a.height <= b.y + 1 || b.y + b.height <= a.y + 1).toBe(true);
      }
      const cut = await page.evaluate(() => [...document.querySelectorAll<HTMLElement>('.points-head button, .profile-ways button, .strip-save button, .depths-tabs button, .tool-row button')].filter((one) => one.scrollWidth > one.clientWidth + 1).map((one) => one.textContent));
      expect(cut).toEqual([]);
      // A finger needs 40 px: the same rule as at the other stages.
      for (const part of ['Clean', 'Correct', 'Check', 'Surface']) {
        await page.getByRole('tab', { name: part }).click();
        await page.waitForTimeout(250);
        const small = await page.evaluate(() => {
          for (const element of document.querySelectorAll('details')) element.open = true;
          return [...document.querySelectorAll<HTMLElement>('button, select, .hit, input[type=range]')].filter((one) => one.offsetParent !== null && (one.offsetHeight < 40 || one.offsetWidth < 40)).map((one) => `${one.getAttribute('aria-label') ?? one.textContent} ${one.offsetWidth} x ${one.offsetHeight}`);
        });
        expect(small, part).toEqual([]);
      }
    });
  }
});
