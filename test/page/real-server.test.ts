import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { openDesk } from '../../src/survey/open-desk.js';
import type { BoatCard } from '../../src/boat/boat-card.js';
import type { Trial } from '../../src/boat/trial-log.js';
import type { TrialsFile } from '../../src/survey/step-boat.js';
import { builtDemo, copySurvey } from '../once-a-run.js';
import { browserWanted, openPage, surveyShown } from './browser.js';
import { realStage } from './real-stage.js';

/** The page on the server it ships with, over the demo survey: the whole way from raw logs to a decision in the journal. */
describe.skipIf(!browserWanted())('chart table on the real server', () => {
  const stage = realStage(async (folder) => {
    await copySurvey((await builtDemo()).folder, folder);
    const desk = await openDesk(folder);
    // Three products and large cells: all of them are made anew after every decision.
    await desk.set('products.write', ['csv', 'geotiff', 'png']);
    await desk.set('surface.cellM', 2);
    await desk.build();
    return desk;
  });


  test('demo survey: shown without a fault, its figures those of the summary', { timeout: 200_000 }, async () => {
    const { page, faults } = await openPage(stage.browser, stage.server.url);
    await surveyShown(page);
    const summary = await stage.desk.summary();
    const figures = await page.getByRole('table', { name: 'Figures of the soundings' }).innerText();
    expect(figures.replace(/\u2009/g, '')).toContain(String(summary.soundings?.good));
    const title = await page.locator('.title-block').innerText();
    expect(title).toContain(summary.frame?.label);
    expect(title).toContain('not for navigation');
    await page.getByRole('button', { name: /^Report/ }).click();
    const links = await page.locator('.products a').evaluateAll((all) => all.map((one) => one.getAttribute('href') as string));
    expect(links.length).toBe(summary.products.length);
    for (const link of links) expect((await page.request.head(new URL(link, stage.server.url).href)).status()).toBe(200);
    expect(faults).toEqual([]);
    await page.close();
  });

  test('demo survey: set aside and undo go to the journal, and the rebuilt chart follows', { timeout: 200_000 }, async () => {
    const { page, faults } = await openPage(stage.browser, stage.server.url);
    await surveyShown(page);
    const before = (await stage.desk.summary()).soundings?.good as number;
    const slider = page.getByRole('slider', { name: /Soundings in order of time/ });
    await slider.focus();
    // A row well inside the first log, then the ten after it.
    for (let k = 0; k < 5; k++) await page.keyboard.press('PageDown');
    for (let k = 0; k < 10; k++) await page.keyboard.press('Shift+ArrowRight');
    await page.getByRole('group', { name: 'Selected soundings' }).getByRole('button', { name: 'Set aside' }).click();
    await expect.poll(async () => (await stage.desk.journal()).at(-1)?.kind).toBe('set-aside');
    const shown = async () => Number(/Soundings\s+([\d\u2009]+)/.exec(await page.getByRole('table', { name: 'Figures of the soundings' }).innerText())?.[1]?.replace(/\u2009/g, ''));
    await expect.poll(shown, { timeout: 90_000 }).toBeLessThan(before);
    expect(await page.locator('.strip-foot').innerText()).toContain('set aside by hand');
    expect(await shown()).toBe((await stage.desk.summary()).soundings?.good);
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(shown, { timeout: 90_000 }).toBe(before);
    const lines = (await readFile(path.join(stage.folder, 'journal.jsonl'), 'utf8')).trim().split('\n').map((line) => (JSON.parse(line) as { kind: string }).kind);
    expect(lines.slice(-2)).toEqual(['set-aside', 'undo']);
    expect(faults).toEqual([]);
    await page.close();
  });

  test('demo survey: the boat card of the folder is shown, and a figure by hand goes through journal and step to the file', { timeout: 200_000 }, async () => {
    const { page, faults } = await openPage(stage.browser, stage.server.url);
    await page.getByRole('navigation').getByRole('button', { name: /^Boat/ }).click();
    const card = page.getByRole('table', { name: 'The card' });
    await card.waitFor();
    const cardFile = async () => JSON.parse(await readFile(path.join(stage.folder, 'boat/card.json'), 'utf8')) as BoatCard;
    expect(await card.getByText('default', { exact: true }).count()).toBe(Object.values((await cardFile()).figures).filter((figure) => figure?.source === 'default').length);
    await card.getByRole('button', { name: 'usable battery' }).click();
    // A build that ends meanwhile shows the card anew, with an empty field.
    await expect
      .poll(async () => {
        await page.getByLabel('By hand').fill('900');
        await page.waitForTimeout(300);
        return page.getByRole('button', { name: 'Enter', exact: true }).isEnabled();
      })
      .toBe(true);
    await page.getByRole('button', { name: 'Enter', exact: true }).click();
    await expect.poll(async () => (await card.innerText()).replaceAll('\u00a0', ' '), { timeout: 90_000 }).toMatch(/usable battery\s+900 Wh\s+by hand/);
    expect((await cardFile()).figures.batteryEnergy).toMatchObject({ value: 900, uncertainty95: null, source: 'hand' });
    expect((await stage.desk.journal()).at(-1)).toMatchObject({ kind: 'settings', path: 'boat.hand' });
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(async () => (await cardFile()).figures.batteryEnergy?.source, { timeout: 90_000 }).toBe('default');
    await expect.poll(async () => (await card.innerText()).replaceAll('\u00a0', ' '), { timeout: 90_000 }).not.toContain('by hand');
    expect(faults).toEqual([]);
    await page.close();
  });

  test('demo survey: a window of its trials dragged on the strip goes to the journal, and the step gives the card that was shown', { timeout: 200_000 }, async () => {
    const { page, faults } = await openPage(stage.browser, stage.server.url);
    await page.getByRole('navigation').getByRole('button', { name: /^Boat/ }).click();
    await page.locator('.trial-over').waitFor({ timeout: 90_000 });
    const trialsFile = async () => JSON.parse(await readFile(path.join(stage.folder, 'derived/trials.json'), 'utf8')) as TrialsFile;
    const before = await trialsFile();
    const run = before.trials.find(({ kind }) => kind === 'steady-run') as Trial;
    await page.getByRole('group', { name: 'Parts of the Boat sheet' }).getByRole('button', { name: /^Trials/ }).click();
    expect(await page.locator('.trial-list li').count()).toBe(before.trials.length + before.dropped.length);
    await page.getByRole('region', { name: 'Trials', exact: true }).getByRole('button', { name: /^run 1\b/ }).click();
    const handle = page.getByRole('slider', { name: /^End of Steady run 1/ });
    await page.waitForTimeout(500);
    const box = (await handle.boundingBox()) as { x: number; y: number; width: number; height: number };
    await page.mouse.move(box.x + box.width / 2, box.y + box.height * 0.6);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width / 2 - 80, box.y + box.height * 0.6, { steps: 6 });
    await page.getByRole('region', { name: 'What changes' }).getByText(/follows?$/).waitFor({ timeout: 90_000 });
    expect((await stage.desk.journal()).at(-1)?.kind).not.toBe('trial');
    await page.mouse.up();
    await expect.poll(async () => (await stage.desk.journal()).at(-1), { timeout: 90_000 }).toMatchObject({ kind: 'trial', change: 'move', trial: run.id, trialKind: 'steady-run', startS: run.startS });
    await page.waitForTimeout(400);
    await page.getByRole('group', { name: 'Parts of the Boat sheet' }).getByRole('button', { name: 'Card' }).click();
    const figures = async () => (await page.getByRole('table', { name: 'The card' }).locator('tbody tr td:nth-child(2)').evaluateAll((cells) => cells.map((cell) => cell.firstChild?.textContent ?? ''))).join('|');
    const shown = await figures();
    await expect.poll(async () => (await trialsFile()).trials.find(({ id }) => id === run.id)?.by, { timeout: 90_000 }).toBe('hand');
    await page.waitForTimeout(1500);
    // The page's worker and the folder's step are the same code on the same log.
    expect(await figures()).toBe(shown);
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(async () => (await trialsFile()).trials.find(({ id }) => id === run.id), { timeout: 90_000 }).toEqual(run);
    expect(faults).toEqual([]);
    await page.close();
  });
});
