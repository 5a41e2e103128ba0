import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { defaultSettings, settingsText } from '../../src/survey/load-settings.js';
import { openDesk } from '../../src/survey/open-desk.js';
import { readInstrumentChecks } from '../../src/survey/step-instruments.js';
import { instrumentPlot } from '../../src/page/plots/instrument-plots.js';
import { typedPlace, typedUtc } from '../../src/page/state/instruments-typed.js';
import { checkSet, checkValue } from '../../src/page/words/instruments.js';
import { BAR_CSV, FRAME, X0, Y0, morning } from '../survey/morning-log.js';
import { browserWanted, openPage } from './browser.js';
import { realStage } from './real-stage.js';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

describe('instrument checks in words and plots', () => {
  test('typed place and time: read as written, refused otherwise', () => {
    expect(typedPlace(' 46.01, -30.02 ')).toEqual({ latDeg: 46.01, lonDeg: -30.02 });
    for (const text of ['', '46.01', '91, 0', '46.01, W30', '46.01,-30.02,5']) expect(typedPlace(text), text).toBeNull();
    expect(typedUtc('2026-06-17 8:05')).toBe('2026-06-17T08:05:00Z');
    expect(typedUtc('2026-06-17T08:05:09Z')).toBe('2026-06-17T08:05:09Z');
    for (const text of ['', '08:05', '2026-02-30 08:05', '2026-06-17 25:00']) expect(typedUtc(text), text).toBeNull();
  });

  test('values: unit and 95 % beside them, none where it is not known (null in JSON)', () => {
    expect(checkValue({ name: 'draft', value: 0.25, half95: 0.0123, unit: 'm', set: 0 })).toBe('0.250 ± 0.012\u00a0m');
    expect(checkValue({ name: 'noise, one sigma', value: 0.1, half95: null as unknown as number, unit: 'm', set: 1.5 })).toBe('0.100\u00a0m');
    expect(checkSet({ check: 'heading' }, { name: 'offset', value: 5, half95: 1, unit: 'deg', set: 0 })).toBe('set: 0.0°');
    expect(checkSet({ check: 'static' }, { name: 'offset from the mark', value: 5, half95: 1, unit: 'm', set: 0 })).toBe('');
  });

  test('bar plot: what is to be added is the draft where sound speed is as set; the fit and the setting are lines', () => {
    const plot = instrumentPlot({
      state: 'differs',
      values: [],
      evidence: {
        kind: 'bar',
        checks: [{ whenUtc: null, rows: [2, 5, 9].map((barM) => ({ barM, readM: barM - 0.25, count: 2, half95M: 0.04 })), fit: { scale: 1, draftM: 0.25 } }],
        set: { scale: 1.01, draftM: 0.1 },
      },
    });
    const of = (name: string) => plot!.series.find((one) => one.name === name)!;
    expect([...of('readings').y]).toEqual([0.25, 0.25, 0.25]);
    expect([...of('found').y]).toEqual([0.25, 0.25]);
    expect([...of('set').x]).toEqual([0, 8.75]);
    expect(of('set').y[1]).toBeCloseTo(0.1 + 0.0875, 9);
    expect(instrumentPlot({ state: 'not-done', values: [], evidence: null })).toBeNull();
  });
});

/** A morning of checks on the server it ships with: what the page does is in the journal and in survey.json. */
describe.skipIf(!browserWanted())('instrument checks on the page', () => {
  const stage = realStage(async (folder) => {
    await mkdir(folder);
    await writeFile(path.join(folder, 'survey.json'), settingsText(defaultSettings({ name: 'Morning checks' })));
    return openDesk(folder);
  });


  test('from a sheet to print, through readings and log, to checks applied, refused and undone', { timeout: 300_000 }, async () => {
    const shots = process.env['TALLOW_SHOTS'];
    const { page, faults } = await openPage(stage.browser, stage.server.url);
    const shot = async (name: string) => {
      if (shots !== undefined) await page.screenshot({ path: path.join(shots, `${name}.png`) });
    };
    await page.getByRole('tab', { name: 'Instruments' }).click();
    const part = page.getByRole('tabpanel');
    await part.getByText('No readings of a plate yet').waitFor();

    // The sheet to fill in, before there is anything else.
    await part.getByRole('button', { name: 'Sheet to fill in on the day' }).click();
    const link = part.getByRole('link', { name: 'Open the sheet' });
    await link.waitFor({ timeout: 60_000 });
    const sheet = await page.request.get(new URL((await link.getAttribute('href')) as string, stage.server.url).href);
    expect((await sheet.body()).subarray(0, 5).toString()).toBe('%PDF-');

    // A bar check whose file is wrong is named by line and changes nothing; a good one is one entry of the journal.
    await part.getByText('Readings of a bar check…').click();
    const give = async (name: string, text: string) => {
      const chooser = page.waitForEvent('filechooser');
      await part.getByRole('button', { name: 'Take in the readings…' }).click();
      await (await chooser).setFiles({ name, mimeType: 'text/csv', buffer: Buffer.from(text) });
    };
    await give('wrong.csv', 'barM,readM\n2,1.75\n5,deep\n');
    expect(await page.getByRole('alert').innerText()).toMatch(/wrong\.csv line 3: expected a depth above 0 in readM, found deep/);
    expect(await stage.desk.journal()).toEqual([]);
    await page.getByRole('button', { name: 'Understood' }).click();
    await give('bar.csv', BAR_CSV);
    await expect.poll(async () => (await stage.desk.summary()).settings.instruments.bar.length).toBe(1);
    await shot('instruments-before');

    const log = path.join(path.dirname(stage.folder), 'morning.nmea');
    await writeFile(log, morning());
    await page.getByRole('tab', { name: 'Overview' }).click();
    const chooser = page.waitForEvent('filechooser');
    await page.getByRole('button', { name: 'Take in a log…' }).or(page.getByRole('button', { name: /^Take in a log/ })).first().click();
    await (await chooser).setFiles(log);
    await expect.poll(async () => (await stage.desk.summary()).instruments?.find(({ check }) => check === 'bar')?.state ?? 'none', { timeout: 120_000 }).toBe('differs');

    // The mark and when the antenna stood on it.
    await page.getByRole('tab', { name: 'Instruments' }).click();
    const [latDeg, lonDeg] = FRAME.toGeographic(X0, Y0);
    await part.getByText('Time on a known mark…').click();
    await part.getByLabel('Mark, latitude and longitude').fill('46.04 north');
    await part.getByText('the mark: expected latitude and longitude').waitFor();
    await part.getByLabel('Mark, latitude and longitude').fill(`${latDeg.toFixed(8)}, ${lonDeg.toFixed(8)}`);
    await part.getByLabel('From, UTC').fill('2026-06-17 08:00');
    await part.getByLabel('To, UTC').fill('2026-06-17 08:04:59');
    await part.getByRole('button', { name: 'Note it' }).click();
    const mark = part.getByRole('region', { name: 'Static check on a known mark' });
    await expect.poll(async () => (await mark.locator('.check-verdict').innerText()), { timeout: 120_000 }).toBe('differs');
    expect((await mark.getByRole('table').innerText()).replaceAll('\u00a0', ' ')).toMatch(/offset from the mark\s+0\.4\d\d ± /);

    // Each check shows its value, its worth and a plot.
    const bar = part.getByRole('region', { name: 'Bar check', exact: true });
    expect((await bar.getByRole('table').innerText()).replaceAll('\u00a0', ' ')).toMatch(/draft\s+0\.2\d\d ± 0\.0\d\d m\s+set: 0\.000 m/);
    const wide = await stage.desk.summary();
    for (const { title } of wide.instruments!) await part.getByRole('region', { name: title, exact: true }).locator('.plot-host svg').waitFor();
    await shot('instruments-bar');
    for (const name of ['Static check on a known mark', 'Heading check', 'Latency run']) {
      await part.getByRole('region', { name }).scrollIntoViewIfNeeded();
      await part.getByRole('region', { name }).locator('h3').evaluate((one) => one.scrollIntoView());
      await shot(`instruments-${name.split(' ')[0]!.toLowerCase()}`);
    }

    // Latency sets two figures: one entry, and one undo takes both back.
    const before = await readFile(path.join(stage.folder, 'survey.json'), 'utf8');
    const entries = (await stage.desk.journal()).length;
    const latency = part.getByRole('region', { name: 'Latency run' });
    await latency.getByRole('button', { name: 'Apply' }).click();
    await expect.poll(async () => (await latency.locator('.check-verdict').innerText()), { timeout: 120_000 }).toBe('agrees');
    expect((await stage.desk.journal()).slice(entries)).toMatchObject([{ kind: 'settings-together', what: 'Latency run applied', changes: [{ path: 'gnss.latencyS', from: 0 }, { path: 'uncertainty.timeS', from: 0.05 }] }]);
    expect(Math.abs((await stage.desk.summary()).settings.gnss.latencyS - 0.3)).toBeLessThan(0.05);
    await part.getByText('Last: Latency run applied').waitFor();
    await shot('instruments-applied');
    await part.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(async () => readFile(path.join(stage.folder, 'survey.json'), 'utf8')).toBe(before);
    await expect.poll(async () => (await latency.locator('.check-verdict').innerText()), { timeout: 120_000 }).toBe('differs');

    // A refusal needs a reason, which stays with the check; it can be looked at again.
    await bar.getByText('Do not use it…').click();
    expect(await bar.getByRole('button', { name: 'Refuse' }).isEnabled()).toBe(false);
    await bar.getByLabel('Why not').fill('the plate swung');
    await bar.getByRole('button', { name: 'Refuse' }).click();
    await expect.poll(async () => (await bar.locator('.check-verdict').innerText()), { timeout: 120_000 }).toBe('not used');
    await bar.getByText(/Not used: the plate swung/).waitFor();
    expect((await readInstrumentChecks(stage.folder))!.find(({ check }) => check === 'bar')!.state).toBe('refused');
    await bar.getByRole('button', { name: 'Look at it again' }).click();
    await expect.poll(async () => (await bar.locator('.check-verdict').innerText()), { timeout: 120_000 }).toBe('differs');

    // What depths rest on: a file of the water is kept and used, a wrong one changes nothing; a name and a number are decisions of their own.
    await page.getByRole('tab', { name: 'Correct' }).click();
    const settings = async () => (await stage.desk.summary()).settings;
    const giveLevel = async (name: string, text: string) => {
      const asked = page.waitForEvent('filechooser');
      await part.getByRole('button', { name: 'Water level from a file…' }).click();
      await (await asked).setFiles({ name, mimeType: 'text/csv', buffer: Buffer.from(text) });
    };
    const decided = (await stage.desk.journal()).length;
    await giveLevel('cast.csv', 'depthM,soundSpeedMps\n0,1490\n10,1490\n');
    await page.getByText(/cast\.csv: no column for time and waterLevel/).waitFor();
    expect((await stage.desk.journal()).length).toBe(decided);
    await page.getByRole('button', { name: 'Understood' }).click();
    faults.splice(0);
    await giveLevel('gauge.csv', 'timeUtc,levelM\n2026-06-17T06:00:00Z,1\n2026-06-17T08:00:00Z,1\n2026-06-17T10:00:00Z,1\n2026-06-17T12:00:00Z,1\n');
    await expect.poll(async () => (await settings()).water.level).toEqual({ kind: 'series', file: 'water/gauge.csv' });
    await part.getByLabel('Datum').fill('a datum of our own');
    await part.getByLabel('Datum').press('Enter');
    await expect.poll(async () => (await settings()).datum).toBe('a datum of our own');
    await part.getByLabel('Order aimed at').selectOption('2');
    await expect.poll(async () => (await settings()).order).toBe('2');
    for (let k = 0; k < 3; k++) {
      const before = (await stage.desk.journal()).length;
      await part.getByRole('button', { name: 'Undo' }).click();
      await expect.poll(async () => (await stage.desk.journal()).length).toBe(before + 1);
    }
    expect(await settings()).toMatchObject({ order: '1a', datum: 'water surface', water: { level: { kind: 'none' } } });

    await page.evaluate(AXE);
    for (const [dusk, tab] of [[false, 'Correct'], [true, 'Correct'], [false, 'Instruments'], [true, 'Instruments']] as const) {
      await page.getByRole('tab', { name: tab }).click();
      const closed = part.locator('details:not([open]) > summary');
      while (tab === 'Correct' && (await closed.count()) > 0) await closed.first().click();
      await page.evaluate((on) => document.documentElement.setAttribute('data-palette', on ? 'dusk' : 'day'), dusk);
      const violations = await page.evaluate(async () => {
        const axe = (globalThis as unknown as { axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> } }).axe;
        return (await axe.run()).violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 120)).join(' | ')}`);
      });
      expect(violations).toEqual([]);
      await shot(`${tab.toLowerCase()}-${dusk ? 'dusk' : 'day'}`);
    }
    await page.setViewportSize({ width: 1024, height: 768 });
    await page.waitForTimeout(600);
    await shot('instruments-1024');
    expect(faults).toEqual([]);
    await page.close();
  });
});
