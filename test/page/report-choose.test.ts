import { mkdir, readFile, readdir, writeFile } from 'node:fs/promises';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { defaultSettings, settingsText } from '../../src/survey/load-settings.js';
import { openDesk } from '../../src/survey/open-desk.js';
import { PRODUCT_KINDS } from '../../src/survey/product-kinds.js';
import { PRODUCT_LIST, chartLine, typedScale } from '../../src/page/words/products.js';
import { morning } from '../survey/morning-log.js';
import { browserWanted, openPage } from './browser.js';
import { realStage } from './real-stage.js';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

describe('products in words', () => {
  test('every product there is can be chosen', () => {
    expect([...PRODUCT_LIST].sort()).toEqual([...PRODUCT_KINDS].sort());
  });

  test('typedScale: with and without 1 : and thin spaces; nothing else', () => {
    for (const text of ['1000', ' 1:1000 ', '1 : 1 000', '1/1\u2009000']) expect(typedScale(text), text).toBe(1000);
    for (const text of ['', '9', '2:1000', '1000 m', '-1000', '1e4', '2000000']) expect(typedScale(text), text).toBeNull();
  });

  test('chartLine: how it lies, why it is not there, nothing where none is wanted', () => {
    const { settings } = { settings: defaultSettings({ name: 'x' }) };
    expect(chartLine({ settings, chart: { paper: 'A3', scale: 1500, sheets: 1, refused: '' } })).toBe('Chart at 1:1\u2009500 on one sheet of A3.');
    expect(chartLine({ settings, chart: { paper: 'A4', scale: 500, sheets: 6, refused: '' } })).toBe('Chart at 1:500 on 6 sheets of A4.');
    expect(chartLine({ settings, chart: { paper: 'A4', scale: 20, sheets: 0, refused: 'at 1:20 it is too large' } })).toBe('No chart: at 1:20 it is too large.');
    expect(chartLine({ settings: { ...settings, products: { ...settings.products, write: ['csv'] } }, chart: { paper: 'A4', scale: 500, sheets: 6, refused: '' } })).toBe('');
  });
});

describe.skipIf(!browserWanted())('what is handed over, chosen on the page', () => {
  const stage = realStage(async (folder) => {
    await mkdir(folder);
    await writeFile(path.join(folder, 'survey.json'), settingsText(defaultSettings({ name: 'Morning' })));
    // Two mornings, 60 m apart: at 1:10 more than the sheets of a chart.
    const logs = ['morning.nmea', 'later.nmea'].map((name) => path.join(path.dirname(folder), name));
    await writeFile(logs[0]!, morning());
    await writeFile(logs[1]!, morning(60, 3600));
    const desk = await openDesk(folder);
    await desk.takeIn(logs);
    await desk.build();
    return desk;
  });


  test('products ticked off and a scale are one decision, made, and undone; a scale of too many sheets changes nothing', { timeout: 240_000 }, async () => {
    const { page, faults } = await openPage(stage.browser, stage.server.url);
    await page.getByRole('navigation').getByRole('button', { name: /^Report/ }).click();
    await page.getByText('What is handed over…').click();
    const use = page.getByRole('button', { name: 'Use these' });
    expect(await use.isEnabled()).toBe(false);
    const products = async () => (await readdir(path.join(stage.folder, 'products'))).sort();
    expect(await products()).toContain('surface-s102.h5');

    // Too many sheets: said with what fits, nothing in the folder is touched.
    const before = await readFile(path.join(stage.folder, 'survey.json'), 'utf8');
    await page.getByLabel('Chart on').selectOption('A4');
    await page.getByLabel('Chart scale, 1 :').fill('10 m');
    await page.getByText('expected 10 to 1000000').waitFor();
    expect(await use.isEnabled()).toBe(false);
    await page.getByLabel('Chart scale, 1 :').fill('10');
    await use.click();
    expect(await page.getByRole('alert').innerText()).toMatch(/at 1:10 on A4 the chart would take more than 40 sheets; scales that fit: 1:\d+ and smaller on A4/);
    expect(await readFile(path.join(stage.folder, 'survey.json'), 'utf8')).toBe(before);
    expect(await stage.desk.journal()).toEqual([]);
    await page.getByRole('button', { name: 'Understood' }).click();

    await page.getByLabel('Chart scale, 1 :').fill('1:250');
    await page.getByRole('checkbox', { name: /^Surface, IHO S-102/ }).uncheck();
    await page.getByRole('checkbox', { name: /^Plain XYZ/ }).uncheck();
    await use.click();
    await expect.poll(async () => (await stage.desk.summary()).chart, { timeout: 90_000 }).toMatchObject({ paper: 'A4', scale: 250, refused: '' });
    expect(await stage.desk.journal()).toMatchObject([{ kind: 'settings-together', what: 'products chosen', changes: [{ path: 'products.write' }, { path: 'products.chart.paper', to: 'A4' }, { path: 'products.chart.scale', from: null, to: 250 }] }]);
    await expect.poll(products, { timeout: 90_000 }).not.toContain('surface-s102.h5');
    expect(await products()).not.toContain('soundings.xyz');
    await page.getByText(/Chart at 1:250 on (one sheet|\d+ sheets) of A4\./).waitFor({ timeout: 90_000 });
    await page.getByText('Last: products chosen').waitFor();

    await page.evaluate(AXE);
    const violations = await page.evaluate(async () => {
      const axe = (globalThis as unknown as { axe: { run(): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> } }).axe;
      return (await axe.run()).violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 120)).join(' | ')}`);
    });
    expect(violations).toEqual([]);

    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(async () => readFile(path.join(stage.folder, 'survey.json'), 'utf8')).toBe(before);
    await expect.poll(products, { timeout: 90_000 }).toContain('surface-s102.h5');
    // The browser notes the refusal itself.
    expect(faults.filter((fault) => !fault.includes('status of 400'))).toEqual([]);
    await page.close();
  });
});
