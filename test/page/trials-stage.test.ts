import { readFile, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import path from 'node:path';
import type { Locator, Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import type { BoatCard } from '../../src/boat/boat-card.js';
import type { Trial } from '../../src/boat/trial-log.js';
import { clockTenths } from '../../src/page/words/trials.js';
import type { BoatSummary } from '../../src/survey/summary.js';
import { browserWanted, openPage } from './browser.js';
import { standInStage } from './stand-in-stage.js';
import { startStandIn } from './stand-in-server.js';
import { makeTrialsFixture, type TrialsFixture } from './trials-fixture.js';

const AXE = createRequire(import.meta.url).resolve('axe-core/axe.min.js');

describe.skipIf(!browserWanted())('boat stage with sea trials', () => {
  let trials: TrialsFixture;
  let boat: BoatSummary;
  const stage = standInStage(
    1,
    async (template, fixture) => {
      trials = makeTrialsFixture(5, { script: 'short' });
      boat = await trials.write(template, fixture.summary.settings, []);
    },
    (fixture) => ({ summary: { ...fixture.summary, boat }, trials }),
  );

  const openTrials = async (size?: { width: number; height: number }): Promise<Page> => {
    const page = await stage.open(size);
    await page.getByRole('navigation').getByRole('button', { name: /^Boat/ }).click();
    await strip(page).waitFor();
    await page.locator('.chart-note').waitFor({ state: 'detached' });
    await page.waitForTimeout(300);
    return page;
  };
  const strip = (page: Page) => page.locator('.trial-over');
  const sheet = (page: Page) => page.getByRole('complementary', { name: 'Boat' });
  const tab = (page: Page, name: string) => page.getByRole('group', { name: 'Parts of the Boat sheet' }).getByRole('button', { name: new RegExp(`^${name}`) }).click();
  /** Brings a trial up from the list. */
  const choose = async (page: Page, label: string) => {
    await tab(page, 'Trials');
    await page.getByRole('region', { name: 'Trials', exact: true }).getByRole('button', { name: new RegExp(`^${label}\\b`) }).click();
    await page.waitForTimeout(250);
  };
  const plain = (text: string) => text.replaceAll('\u00a0', ' ').replaceAll('\u2009', '');
  const topSpeed = async (page: Page) => plain(await page.getByRole('table', { name: 'The card' }).getByRole('row').filter({ has: page.getByRole('button', { name: 'top speed', exact: true }) }).first().innerText());
  const posted = () => stage.server.requests.filter(({ url }) => url === '/api/decisions').map(({ body }) => JSON.parse(body) as Record<string, unknown>);
  const builds = () => stage.server.requests.filter(({ url }) => url === '/api/jobs').map(({ body }) => JSON.parse(body) as unknown);
  const inFile = async () => JSON.parse(await readFile(path.join(stage.folder, 'derived/trials.json'), 'utf8')) as { trials: Trial[]; dropped: Trial[] };
  const cardFile = async () => JSON.parse(await readFile(path.join(stage.folder, 'boat/card.json'), 'utf8')) as BoatCard;
  const first = (kind: Trial['kind']) => trials.found.find((trial) => trial.kind === kind) as Trial;
  /** Takes hold of a handle of the trial at hand. */
  const grab = async (page: Page, handle: Locator) => {
    const box = (await handle.boundingBox()) as { x: number; y: number; width: number; height: number };
    const at = { x: box.x + box.width / 2, y: box.y + box.height * 0.6 };
    await page.mouse.move(at.x, at.y);
    await page.mouse.down();
    return at;
  };

  test('trials: every one is in the list, and what is chosen is at hand on strip, chart and sheet alike', async () => {
    const page = await openTrials();
    await tab(page, 'Trials');
    const list = page.getByRole('region', { name: 'Trials', exact: true });
    expect(await list.locator('li').count()).toBe(trials.found.length);
    await choose(page, 'circle 1');
    expect(await sheet(page).getByRole('heading', { name: 'Turning circle 1' }).isVisible()).toBe(true);
    const walk = page.getByRole('slider', { name: /^Trials in order of time/ });
    expect(await walk.getAttribute('aria-valuetext')).toContain(`Turning circle 1, ${clockTenths(first('turning-circle').startS)}`);
    expect(await page.getByRole('slider', { name: /^Start of Turning circle 1/ }).getAttribute('aria-valuetext')).toBe(clockTenths(first('turning-circle').startS));
    // The trial at hand is in the accent on the chart: there is magenta ink where there was none.
    const magenta = () =>
      page.evaluate(() => {
        const canvas = document.querySelectorAll<HTMLCanvasElement>('.chart-map canvas')[1] as HTMLCanvasElement;
        const { data } = (canvas.getContext('2d') as CanvasRenderingContext2D).getImageData(0, 0, canvas.width, canvas.height);
        let n = 0;
        for (let i = 0; i < data.length; i += 4) if ((data[i + 3] as number) > 140 && Math.abs((data[i] as number) - 0x9a) < 26 && Math.abs((data[i + 1] as number) - 0x1b) < 26 && Math.abs((data[i + 2] as number) - 0x6b) < 26) n++;
        return n;
      });
    await page.getByRole('button', { name: 'Look closer' }).click();
    await page.waitForTimeout(500);
    const chosen = await magenta();
    await page.keyboard.press('Escape');
    await page.waitForTimeout(300);
    expect(chosen - (await magenta())).toBeGreaterThan(200);
    // By keyboard, in order of time.
    await walk.focus();
    await page.keyboard.press('Home');
    await expect.poll(() => walk.getAttribute('aria-valuenow')).toBe('0');
    await page.keyboard.press('ArrowRight');
    await expect.poll(() => walk.getAttribute('aria-valuenow')).toBe('1');
  });

  test('hover: a moment pointed at on the strip shows the boat on the chart, and a trial on the chart its moment on the strip', async () => {
    const page = await openTrials();
    const box = (await strip(page).boundingBox()) as { x: number; y: number; width: number; height: number };
    await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    await page.locator('.chart-label').waitFor();
    const onStrip = await page.locator('.trial-over .strip-label').innerText();
    expect(onStrip).toMatch(/^\d\d:\d\d:\d\d\.\d · [\d.]+ m\/s · \d{3}° · [−\d]+ \/ [−\d]+ % · \d+ W$/);
    expect(await page.locator('.chart-label').innerText()).toContain(onStrip);
    await choose(page, 'circle 1');
    await page.getByRole('button', { name: 'Look closer' }).click();
    await page.waitForTimeout(600);
    await page.mouse.move(2, 2);
    const chart = (await page.locator('.chart-map').boundingBox()) as { x: number; y: number; width: number; height: number };
    // The circle stands in the middle of the chart: from there outwards its track is met.
    for (let out = 0; out < 200 && !/Turning circle 1/.test(await page.locator('.chart-label').innerText().catch(() => '')); out += 6) await page.mouse.move(chart.x + chart.width / 2 + out, chart.y + chart.height / 2);
    expect(await page.locator('.chart-label').innerText()).toMatch(/Turning circle 1/);
    expect(await page.locator('.trial-over .strip-label').innerText()).toMatch(/^\d\d:\d\d:\d\d/);
  });

  test('drag: every figure follows while an edge is dragged, nothing is sent; on release the decision is, and undo takes it back', async () => {
    const page = await openTrials();
    const run = first('steady-run');
    const before = await topSpeed(page);
    await choose(page, 'run 1');
    const handle = page.getByRole('slider', { name: /^End of Steady run 1/ });
    const startValue = Number(await handle.getAttribute('aria-valuenow'));
    const at = await grab(page, handle);
    await page.mouse.move(at.x - 90, at.y, { steps: 6 });
    const changes = page.getByRole('region', { name: 'What changes' });
    await expect.poll(async () => plain(await changes.innerText())).toMatch(/^Steady run 1 moved: \d+ figures? follow[\s\S]*top speed/);
    const held = Number(await handle.getAttribute('aria-valuenow'));
    expect(held).toBeLessThan(startValue - 3);
    expect(posted()).toEqual([]);
    expect(builds()).toEqual([]);
    // Drawn back to where it was, the card is what it was.
    await page.mouse.move(at.x, at.y, { steps: 6 });
    await expect.poll(async () => plain(await changes.innerText())).toMatch(/no figure changes/);
    await page.mouse.move(at.x - 90, at.y, { steps: 3 });
    await expect.poll(async () => plain(await changes.innerText())).toMatch(/top speed/);
    await page.mouse.up();
    await expect.poll(posted).toHaveLength(1);
    const decision = posted()[0] as { startS: number; endS: number };
    expect(decision).toEqual({ kind: 'trial', change: 'move', trial: run.id, trialKind: 'steady-run', startS: run.startS, endS: decision.endS });
    expect(decision.endS - run.endS).toBeCloseTo(held - startValue, 0);
    await tab(page, 'Card');
    const shown = await topSpeed(page);
    expect(shown).not.toBe(before);
    expect(shown).toContain(`was ${before.replace(/^top speed\s+/, '').replace(/\s+trials$/, '')}`);
    // What followed under the hand is what the folder's own step then makes.
    await expect.poll(builds).toEqual([{ verb: 'build', upTo: 'boat' }]);
    await expect.poll(async () => (await inFile()).trials.find(({ id }) => id === run.id)?.endS).toBeLessThan(run.endS - 3);
    await page.waitForTimeout(600);
    expect(await topSpeed(page)).toBe(shown);
    expect(shown).toContain(String(Number((await cardFile()).figures.topSpeed?.value.toFixed(2))));
    await page.getByRole('group', { name: 'Last decision' }).getByRole('button', { name: 'Undo' }).click();
    await expect.poll(async () => topSpeed(page)).toBe(before);
    expect((await inFile()).trials.find(({ id }) => id === run.id)?.endS).toBe(run.endS);
  });

  test('drag: Escape lets a window go as it was, and the whole band moves as one', async () => {
    const page = await openTrials();
    const spin = first('spin');
    await choose(page, 'spin 1');
    const start = page.getByRole('slider', { name: /^Start of Spin on the spot 1/ });
    const value = await start.getAttribute('aria-valuenow');
    const at = await grab(page, start);
    await page.mouse.move(at.x + 60, at.y, { steps: 4 });
    await expect.poll(() => start.getAttribute('aria-valuenow')).not.toBe(value);
    await page.keyboard.press('Escape');
    await expect.poll(() => start.getAttribute('aria-valuenow')).toBe(value);
    await page.mouse.up();
    await page.waitForTimeout(200);
    expect(posted()).toEqual([]);
    const whole = page.getByRole('slider', { name: /^Window of Spin on the spot 1/ });
    const middle = await grab(page, whole);
    await page.mouse.move(middle.x + 40, middle.y, { steps: 4 });
    await page.mouse.up();
    await expect.poll(posted).toHaveLength(1);
    const moved = posted()[0] as { startS: number; endS: number };
    expect(moved.startS).toBeGreaterThan(spin.startS + 0.3);
    expect(moved.endS - moved.startS).toBeCloseTo(spin.endS - spin.startS, 6);
  });

  test('keys: an edge moves by half a second, with Shift by five, and is posted once', async () => {
    const page = await openTrials();
    const run = first('steady-run');
    await choose(page, 'run 1');
    await page.getByRole('slider', { name: /^Start of Steady run 1/ }).focus();
    for (const key of ['ArrowRight', 'ArrowRight', 'Shift+ArrowRight', 'ArrowLeft']) await page.keyboard.press(key);
    await expect.poll(posted).toHaveLength(1);
    expect((posted()[0] as { startS: number }).startS).toBeCloseTo(run.startS + 5.5, 6);
    await page.waitForTimeout(900);
    expect(posted()).toHaveLength(1);
  });

  test('typing: start and end by their time of day; a wrong one says what is expected', async () => {
    const page = await openTrials();
    const leg = first('standing-start');
    await choose(page, 'start 1');
    const field = sheet(page).getByLabel('Start', { exact: true });
    await field.fill('soon');
    await field.press('Enter');
    expect(await sheet(page).innerText()).toContain('expected hh:mm:ss');
    await field.fill(clockTenths(leg.startS - 1));
    await field.press('Enter');
    await expect.poll(posted).toHaveLength(1);
    expect((posted()[0] as { startS: number }).startS).toBeCloseTo(leg.startS - 1, 0);
  });

  test('add, change the kind, drop, restore: each a decision of its own that the folder then holds', async () => {
    const page = await openTrials();
    const box = (await strip(page).boundingBox()) as { x: number; y: number; width: number; height: number };
    await page.mouse.move(box.x + box.width * 0.4, box.y + box.height * 0.6);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width * 0.48, box.y + box.height * 0.6, { steps: 5 });
    await page.mouse.up();
    await page.getByRole('group', { name: 'Kind of trial' }).getByRole('button', { name: 'zig-zag', exact: true }).click();
    await expect.poll(posted).toHaveLength(1);
    const added = posted()[0] as { trial: string; startS: number; endS: number };
    expect(added).toMatchObject({ kind: 'trial', change: 'add', trialKind: 'zig-zag', trial: `zig-zag@${Math.floor(added.startS)}` });
    await expect.poll(async () => (await inFile()).trials.some(({ id, by }) => id === added.trial && by === 'hand')).toBe(true);
    await sheet(page).getByLabel('Kind', { exact: true }).selectOption('straight-leg');
    await expect.poll(posted).toHaveLength(2);
    // The window of a trial lies on rows of the log, ten a second.
    const changed = posted()[1] as typeof added;
    expect(changed).toMatchObject({ kind: 'trial', change: 'move', trial: added.trial, trialKind: 'straight-leg' });
    expect(Math.abs(changed.startS - added.startS)).toBeLessThan(0.11);
    expect(Math.abs(changed.endS - added.endS)).toBeLessThan(0.11);
    await page.getByRole('button', { name: 'Drop this trial' }).click();
    await expect.poll(posted).toHaveLength(3);
    expect(posted()[2]).toMatchObject({ change: 'drop', trial: added.trial });
    const spin = first('spin');
    await choose(page, 'spin 1');
    await page.getByRole('button', { name: 'Drop this trial' }).click();
    await expect.poll(async () => (await inFile()).dropped.some(({ id }) => id === spin.id)).toBe(true);
    await sheet(page).locator('li.dropped').filter({ hasText: 'spin on the spot' }).getByRole('button', { name: 'Restore' }).click();
    await expect.poll(async () => (await inFile()).trials.some(({ id }) => id === spin.id)).toBe(true);
    expect(posted().at(-1)).toEqual({ kind: 'trial', change: 'add', trial: spin.id, trialKind: 'spin', startS: spin.startS, endS: spin.endS });
  });

  test('refused decision: said in plain words, and the window goes back', async () => {
    const page = await openTrials();
    await choose(page, 'run 1');
    stage.server.refuseNext = { status: 400, error: { message: 'the survey folder cannot be written', fix: 'make room on the disk' } };
    const start = page.getByRole('slider', { name: /^Start of Steady run 1/ });
    const value = await start.getAttribute('aria-valuenow');
    await start.focus();
    await page.keyboard.press('Shift+ArrowRight');
    await page.keyboard.press('Enter');
    await expect.poll(() => sheet(page).innerText()).toContain('the survey folder cannot be written; make room on the disk');
    expect(await start.getAttribute('aria-valuenow')).toBe(value);
    // The browser tells of the refusal itself; nothing else went wrong.
    const faults = stage.opened.flatMap((one) => one.faults.splice(0));
    expect(faults.filter((fault) => !/status of 400/.test(fault))).toEqual([]);
  });

  test('card: what is measured is told from defaults, a figure lights its trials and tells its method, plots are saved', async () => {
    const page = await openTrials();
    const card = page.getByRole('table', { name: 'The card' });
    const figures = Object.values((await cardFile()).figures);
    for (const source of ['trials', 'default'] as const) expect(await card.locator(`.source-${source}`).count()).toBe(figures.filter((figure) => figure?.source === source).length);
    await card.getByRole('button', { name: 'top speed', exact: true }).click();
    const from = (await cardFile()).figures.topSpeed?.trials.length;
    expect(await card.getByRole('group', { name: 'Trials it comes from' }).getByRole('button').count()).toBe(from);
    expect(plain(await card.innerText())).toContain('mean of means, ITTC 7.5-04-01-01.1');
    await tab(page, 'Trials');
    expect(await page.locator('.trial-list .lit').count()).toBe(from);
    await tab(page, 'Card');
    for (const name of ['Velocity circle', 'Command to speed', 'Speed to power']) await page.getByRole('button', { name, exact: true }).click();
    await expect.poll(() => page.locator('figure.plot').count()).toBe(3);
    const plot = page.getByRole('group', { name: 'Save the plot: Speed through the water to power' });
    const saved = async (kind: string) => {
      const [file] = await Promise.all([page.waitForEvent('download'), plot.getByRole('button', { name: kind }).click()]);
      return readFile((await file.path()) as string);
    };
    expect((await saved('SVG')).toString('utf8')).toMatch(/^<svg [\s\S]*power, W[\s\S]*<\/svg>$/);
    expect((await saved('PNG')).subarray(1, 4).toString()).toBe('PNG');
    const rows = (await saved('CSV')).toString('utf8').split('\n').filter((row) => row.startsWith('measured,')).map((row) => row.split(',').map(Number));
    const points = (await cardFile()).speedToPower;
    expect(rows.length).toBe(points.length);
    rows.forEach((row, i) => expect(row[2]).toBeCloseTo(points[i]?.value as number, 3));
    // Back to the curves of the card and to the log again.
    await page.getByRole('button', { name: 'Curves of the boat' }).click();
    await page.getByRole('region', { name: 'Curves of the boat' }).locator('svg').waitFor();
    await page.getByRole('button', { name: 'Log of trials' }).click();
    await strip(page).waitFor();
  });

  test('strip: the wheel zooms, all is shown again, and it is saved as SVG, PNG and CSV', async () => {
    const page = await openTrials();
    const box = (await strip(page).boundingBox()) as { x: number; y: number; width: number; height: number };
    await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    for (let k = 0; k < 4; k++) await page.mouse.wheel(0, -120);
    const region = page.getByRole('region', { name: 'Time strip of the trials' });
    const all = region.getByRole('button', { name: 'Show all' });
    await all.waitFor();
    const saved = async (name: string) => {
      const [file] = await Promise.all([page.waitForEvent('download'), region.getByRole('button', { name, exact: true }).click()]);
      return readFile((await file.path()) as string);
    };
    const part = (await saved('CSV')).toString('utf8').trim().split('\n').length;
    await all.click();
    await all.waitFor({ state: 'detached' });
    const whole = (await saved('CSV')).toString('utf8').trim().split('\n');
    expect(whole.length).toBe(trials.log.n + 1);
    expect(part).toBeLessThan(0.6 * whole.length);
    expect(whole[0]).toMatch(/^time_utc_s,x_m,y_m,speed_over_ground_mps,heading_deg/);
    expect((await saved('SVG')).toString('utf8')).toMatch(/^<svg [\s\S]*thrusters, %[\s\S]*<\/svg>$/);
    expect((await saved('PNG')).subarray(1, 4).toString()).toBe('PNG');
  });

  test('faults, refusals, plan: the log\'s faults stand at the top, what is refused says why, the plan is drawn and can be printed', async () => {
    const file = path.join(stage.folder, 'derived/trials.json');
    const held = JSON.parse(await readFile(file, 'utf8')) as object;
    await writeFile(file, JSON.stringify({ ...held, faults: [{ code: 'heading-reversed', text: 'heading is 179 degrees from the course of the positions' }], notes: ['the compass is magnetic'] }));
    const card = await cardFile();
    const run = first('steady-run');
    await writeFile(path.join(stage.folder, 'boat/card.json'), JSON.stringify({ ...card, refused: [{ what: run.id, why: 'a gap of 6 s in it' }] }));
    await writeFile(path.join(stage.folder, 'boat/trial-plan.geojson'), JSON.stringify({ type: 'FeatureCollection', features: [{ type: 'Feature', properties: { number: 1, kind: 'steady-run', label: 'out and home' }, geometry: { type: 'LineString', coordinates: [[-29.968, 46.036], [-29.964, 46.037]] } }, { type: 'Feature', properties: { number: 2, kind: 'spin', label: 'spin' }, geometry: { type: 'Point', coordinates: [-29.966, 46.0365] } }] }));
    stage.server.summary = { ...stage.server.summary, products: [...stage.server.summary.products, { path: 'products/trial-plan.pdf', bytes: 3, sha256: 'a'.repeat(64) }] };
    const page = await openTrials();
    const text = plain(await sheet(page).innerText());
    expect(text.indexOf('heading is 179 degrees')).toBeGreaterThan(0);
    expect(text.indexOf('heading is 179 degrees')).toBeLessThan(text.indexOf('The card'));
    expect(text).toContain('the compass is magnetic');
    expect(text).toMatch(/steady run 1\s+a gap of 6 s in it/i);
    await page.getByText(/trials? would measure the rest/).click();
    expect(await page.getByRole('link', { name: 'Print the trial plan' }).getAttribute('href')).toBe('/files/products/trial-plan.pdf');
    // #33688b: the plan is drawn in the ink of water levels, and magenta is left to what is at hand.
    const drawn = await page.evaluate(() => {
      const canvas = document.querySelectorAll<HTMLCanvasElement>('.chart-map canvas')[1] as HTMLCanvasElement;
      const { data } = (canvas.getContext('2d') as CanvasRenderingContext2D).getImageData(0, 0, canvas.width, canvas.height);
      let n = 0;
      for (let i = 0; i < data.length; i += 4) if ((data[i + 3] as number) > 140 && Math.abs((data[i] as number) - 0x33) < 24 && Math.abs((data[i + 1] as number) - 0x68) < 24 && Math.abs((data[i + 2] as number) - 0x8b) < 24) n++;
      return n;
    });
    expect(drawn).toBeGreaterThan(60);
  });

  test('without trials: the stage is as it was, and no file of trials is asked for', async () => {
    await stage.server.close();
    stage.server = await startStandIn(stage.folder, { ...stage.fixture.summary, boat: { ...boat, trials: null } }, structuredClone(stage.fixture.soundings), { pageDir: stage.pageDir });
    const watched = await openPage(stage.browser, stage.server.url);
    stage.opened.push(watched);
    const asked: string[] = [];
    watched.page.on('request', (request) => asked.push(request.url()));
    await watched.page.getByRole('navigation').getByRole('button', { name: /^Boat/ }).click();
    await watched.page.getByRole('table', { name: 'The card' }).waitFor();
    await watched.page.waitForTimeout(500);
    expect(await watched.page.getByRole('region', { name: 'Curves of the boat' }).isVisible()).toBe(true);
    expect(asked.filter((url) => /trial/.test(url) && /files/.test(url))).toEqual([]);
  });

  for (const [palette, size] of [['day', { width: 1440, height: 900 }], ['dusk', { width: 1024, height: 768 }]] as const) {
    test(`accessibility: axe finds no violation with trials, ${palette} palette, ${size.width} px`, async () => {
      const page = await openTrials(size);
      if (palette === 'dusk') await page.getByRole('button', { name: 'Dusk palette' }).click();
      const check = async (what: string) => {
        await page.evaluate(await readFile(AXE, 'utf8'));
        const violations = await page.evaluate(async () => {
          const { axe } = window as unknown as { axe: { run: () => Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> } };
          return (await axe.run()).violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 120)).join(' | ')}`);
        });
        expect(violations, what).toEqual([]);
      };
      await page.getByRole('button', { name: 'Velocity circle', exact: true }).click();
      await page.getByRole('table', { name: 'The card' }).getByRole('button', { name: 'top speed', exact: true }).click();
      await page.waitForTimeout(400);
      await check('card');
      await choose(page, 'circle 1');
      await page.getByRole('slider', { name: /^End of/ }).focus();
      await page.keyboard.press('ArrowLeft');
      await page.waitForTimeout(300);
      await check('a trial under the hand');
      await tab(page, 'Ask');
      await check('ask');
    });
  }
});
