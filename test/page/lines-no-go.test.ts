import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { describe, expect, test } from 'vitest';
import { makeProof } from '../../src/survey/make-demo.js';
import { browserWanted, openPage, surveyShown } from './browser.js';
import { realStage } from './real-stage.js';

interface NoGoText {
  readonly features: readonly { readonly properties: Readonly<Record<string, unknown>>; readonly geometry: { readonly coordinates: readonly (readonly [number, number])[][] } }[];
}

/** Keep-outs and land on the page, over a real folder: drawn, read, said of, taken away and taken back. */
describe.skipIf(!browserWanted())('keep-outs on the page', () => {
  const stage = realStage(async (folder) => {
    const { desk } = await makeProof(folder, 4, 'short', {});
    await desk.build();
    return desk;
  });


  const keepouts = async (): Promise<NoGoText> => JSON.parse(await readFile(path.join(stage.folder, 'plan/keepouts.geojson'), 'utf8')) as NoGoText;

  test('a keep-out is drawn, said to dry, kept with what it says, and Undo takes each back', async () => {
    const { page, faults } = await openPage(stage.browser, stage.server.url);
    await surveyShown(page);
    const before = (await keepouts()).features;
    await page.getByRole('navigation').getByRole('button', { name: /^Lines/ }).click();
    await page.locator('summary', { hasText: 'Keep-outs' }).click();
    const main = async () => (await page.getByRole('table', { name: 'Figures of the plan' }).innerText()).replace(/\s+/g, ' ');
    const linesBefore = await main();
    await page.getByRole('button', { name: 'Draw a keep-out' }).click();
    const map = (await page.locator('.chart-map').boundingBox())!;
    const [x, y] = [map.x + map.width / 2, map.y + map.height / 2];
    for (const [dx, dy] of [[-30, -30], [30, -30], [30, 30], [-30, 30], [-30, -30]] as const) {
      await page.mouse.click(x + dx, y + dy);
      await page.waitForTimeout(350);
    }
    await expect.poll(async () => (await keepouts()).features.length).toBe(before.length + 1);
    // Drawn as asked: four corners and the first again.
    expect((await keepouts()).features.at(-1)!.geometry.coordinates[0]).toHaveLength(5);
    await expect.poll(main).not.toBe(linesBefore);
    await page.getByRole('button', { name: 'Save the plan' }).waitFor();

    const drawn = page.getByRole('region', { name: `Keep-out ${before.length + 1}` });
    await drawn.getByLabel('Dries by').fill('0.4');
    await drawn.getByLabel('Dries by').press('Enter');
    await expect.poll(async () => (await keepouts()).features.at(-1)!.properties['dryingHeightM']).toBe(0.4);
    await drawn.getByLabel('Keep off by').fill('12');
    await drawn.getByLabel('Keep off by').press('Enter');
    await expect.poll(async () => (await keepouts()).features.at(-1)!.properties).toMatchObject({ clearanceM: 12, dryingHeightM: 0.4 });
    // The others say what they said.
    expect((await keepouts()).features.slice(0, -1).map(({ properties }) => properties['name'])).toEqual(before.map(({ properties }) => properties['name']));
    await page.getByRole('button', { name: 'Undo' }).click();
    await expect.poll(async () => (await keepouts()).features.at(-1)!.properties['clearanceM']).toBeUndefined();
    await page.getByRole('button', { name: `Take away Keep-out ${before.length + 1}` }).click();
    await expect.poll(async () => (await keepouts()).features.length).toBe(before.length);
    expect(faults).toEqual([]);
    await page.close();
  });
});
