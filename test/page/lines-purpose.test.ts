import { cp, readFile } from 'node:fs/promises';
import path from 'node:path';
import type { Page } from 'playwright-core';
import { describe, expect, test } from 'vitest';
import { makeProof } from '../../src/survey/make-demo.js';
import type { Settings } from '../../src/survey/settings.js';
import { tallow } from '../cli/run-tallow.js';
import { browserWanted, openPage, surveyShown } from './browser.js';
import { realStage } from './real-stage.js';

/** What the lines are for, on the page over a real folder: the same values and the same bytes as on the command line. */
describe.skipIf(!browserWanted())('purpose of the lines on the page', () => {
  const stage = realStage(async (folder) => {
    const { desk } = await makeProof(folder, 4, 'short', {});
    await desk.build();
    return desk;
  });


  const settingsOf = async (place: string): Promise<Settings['lines']> => (JSON.parse(await readFile(path.join(place, 'survey.json'), 'utf8')) as Settings).lines;
  const reasons = (page: Page) => page.getByRole('table', { name: 'Values with their reasons' });

  test('finding objects: values follow, one is held, the plan is saved as the command line would make it', async () => {
    const { page, faults } = await openPage(stage.browser, stage.server.url);
    await surveyShown(page);
    await page.getByRole('navigation').getByRole('button', { name: /^Lines/ }).click();
    await page.getByLabel('The survey is for', { exact: true }).selectOption('objects');
    await page.getByRole('alert').getByText(/How deep is it/).waitFor();
    await page.getByLabel('Depth', { exact: true }).fill('6');
    await reasons(page).getByText(/Koopman/).waitFor();
    const spacing = page.getByLabel('Spacing', { exact: true });
    const first = Number(await spacing.inputValue());
    await page.getByLabel('Chance to find', { exact: true }).fill('99');
    await expect.poll(async () => Number(await spacing.inputValue())).toBeLessThan(first);

    // A speed typed by hand is held; what hangs on it follows, and it can be let go again.
    await page.getByLabel('Speed', { exact: true }).fill('1.1');
    const hold = page.getByRole('button', { name: /^(Hold|Held): Speed$/ });
    await expect.poll(() => hold.getAttribute('aria-pressed')).toBe('true');
    await page.getByRole('button', { name: 'Save the plan' }).click();
    await expect.poll(async () => (await settingsOf(stage.folder)).purpose.kind).toBe('objects');
    await expect.poll(async () => (await settingsOf(stage.folder)).speedMps).toBe(1.1);
    await page.locator('.work-state progress').waitFor({ state: 'detached', timeout: 40_000 });
    await expect.poll(async () => (await stage.desk.summary()).lines?.spacingM).toBe((await settingsOf(stage.folder)).spacingM);
    const saved = await settingsOf(stage.folder);
    expect(saved).toMatchObject({ depthM: 6, locked: ['speedMps'], purpose: { kind: 'objects', chance: 0.99 } });

    const copy = path.join(path.dirname(stage.folder), 'copy');
    await cp(stage.folder, copy, { recursive: true });
    const run = await tallow(['lines', copy]);
    expect(run.code, run.err).toBe(0);
    expect(await settingsOf(copy)).toEqual(saved);
    expect(await readFile(path.join(copy, 'plan/lines.geojson'), 'utf8')).toBe(await readFile(path.join(stage.folder, 'plan/lines.geojson'), 'utf8'));

    await hold.click();
    await expect.poll(() => hold.getAttribute('aria-pressed')).toBe('false');
    await expect.poll(async () => Number(await page.getByLabel('Speed', { exact: true }).inputValue())).not.toBe(1.1);
    expect(faults).toEqual([]);
    await page.close();
  });

  test('a purpose that would take hundreds of lines lays none and says so; lines of one\'s own have no reasons', async () => {
    const { page, faults } = await openPage(stage.browser, stage.server.url);
    await surveyShown(page);
    await page.getByRole('navigation').getByRole('button', { name: /^Lines/ }).click();
    await page.getByLabel('The survey is for', { exact: true }).selectOption('depths-order');
    await page.getByLabel('Order aimed at', { exact: true }).selectOption('exclusive');
    await page.getByLabel('Seen by', { exact: true }).selectOption('single-beam');
    await page.getByLabel('Beam', { exact: true }).fill('1');
    await page.getByLabel('Depth', { exact: true }).fill('2');
    await page.getByRole('alert').getByText(/would be about [\d ]+ of them: nothing is laid/).waitFor();
    const main = Number(/Main lines\s+([\d\u2009]+)/.exec(await page.getByRole('table', { name: 'Figures of the plan' }).innerText())?.[1]?.replace(/\u2009/g, ''));
    expect(main).toBeLessThan(400);
    await page.getByLabel('The survey is for', { exact: true }).selectOption('own');
    await expect.poll(() => reasons(page).count()).toBe(0);
    expect(faults).toEqual([]);
    await page.close();
  });
});
