import { existsSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Browser } from 'playwright-core';
import { chromium } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { drawChart } from '../../src/report/chart-sheet.js';
import { fontFaceCss, textWidth } from '../../src/report/fonts.js';
import { renderReportHtml } from '../../src/report/html.js';
import { sampleInput } from './sample.js';

const executablePath = [process.env['TALLOW_CHROMIUM'] ?? '', '/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'].find((file) => file !== '' && existsSync(file));
if (executablePath === undefined && process.env['TALLOW_REQUIRE_BROWSER'] === '1') throw new Error('TALLOW_REQUIRE_BROWSER=1: found no Chromium; install it, or name it in TALLOW_CHROMIUM');

interface Box {
  readonly text: string;
  readonly x0: number;
  readonly y0: number;
  readonly x1: number;
  readonly y1: number;
}

/** Without a browser these are skipped, and vitest says so. */
describe.skipIf(executablePath === undefined)('report in Chromium', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await chromium.launch({ executablePath: executablePath as string, args: ['--no-sandbox', '--disable-gpu', '--no-first-run', '--disable-background-networking'] });
  });
  afterAll(async () => {
    await browser.close();
  });

  it('renderReportHtml: fetches nothing, complains of nothing, fits a desk and a telephone', async () => {
    const page = await browser.newPage({ viewport: { width: 1280, height: 900 } });
    const faults: string[] = [];
    page.on('console', (message) => faults.push(message.text()));
    page.on('pageerror', (error) => faults.push(String(error)));
    page.on('request', (request) => {
      if (!/^data:|^about:/.test(request.url())) faults.push(request.url());
    });
    await page.setContent(renderReportHtml(sampleInput()));
    await page.evaluate(() => document.fonts.ready);
    expect(faults).toEqual([]);
    expect(await page.evaluate(() => document.fonts.check('600 16px "Tallow Sheet"'))).toBe(true);
    for (const width of [1280, 800, 400]) {
      await page.setViewportSize({ width, height: 900 });
      expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
    }
    await page.close();
  });

  it('renderReportHtml: axe-core finds nothing to object to, wide and narrow', async () => {
    /* The report's own policy allows no script: axe is let past it. */
    const page = await browser.newPage({ bypassCSP: true });
    await page.setContent(renderReportHtml(sampleInput()));
    await page.addScriptTag({ content: readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8') });
    for (const width of [1280, 420]) {
      await page.setViewportSize({ width, height: 900 });
      const violations = await page.evaluate(async () => (await (globalThis as unknown as { axe: { run(): Promise<{ violations: { id: string }[] }> } }).axe.run()).violations.map(({ id }) => id));
      expect(violations).toEqual([]);
    }
    await page.close();
  });

  it('renderReportHtml: hostile names make no element and run nothing', async () => {
    const page = await browser.newPage();
    const sample = sampleInput({ name: '<script>document.title="ran"</script><img src=x onerror="document.title=1">', place: '"><svg onload=alert(1)>' });
    await page.setContent(renderReportHtml(sample));
    expect(await page.title()).toContain('<script>');
    expect(await page.evaluate(() => [document.scripts.length, document.images.length])).toEqual([0, 0]);
    expect(await page.evaluate(() => document.querySelector('h1')?.textContent)).toBe(sample.summary.settings.name);
    await page.close();
  });

  it('drawChart: no two labels of the map overlap, and none is cut by the neat line or the sheet, as the browser measures them', async () => {
    const page = await browser.newPage();
    for (const [options, widthMm, heightMm] of [[{}, 267, 172], [{ portrait: true, sizeM: 300 }, 180, 252]] as const) {
      const { svg } = drawChart(sampleInput(options), { widthMm, heightMm, embedFonts: true });
      await page.setContent(`<body style="margin:0">${svg}`);
      await page.evaluate(() => document.fonts.ready);
      const boxes = await page.evaluate(() => {
        const measure = (text: Element): { text: string; x0: number; y0: number; x1: number; y1: number; map: boolean } => {
          const box = (text as SVGTextElement).getBBox();
          return { text: text.textContent ?? '', x0: box.x, y0: box.y, x1: box.x + box.width, y1: box.y + box.height, map: text.closest('[clip-path]') !== null };
        };
        return [...document.querySelectorAll('text:not([aria-hidden])')].filter((text) => !text.hasAttribute('transform')).map(measure);
      });
      const labels = boxes.filter(({ map }) => map);
      expect(labels.length).toBeGreaterThan(100);
      /* A line box is taller than its figures: a quarter is taken off above and below. */
      const inked = (box: Box): Box => ({ ...box, y0: box.y0 + (box.y1 - box.y0) * 0.25, y1: box.y1 - (box.y1 - box.y0) * 0.25 });
      const clashes: string[] = [];
      labels.map(inked).forEach((a, i, all) => {
        for (const b of all.slice(i + 1)) if (a.x0 < b.x1 && a.x1 > b.x0 && a.y0 < b.y1 && a.y1 > b.y0) clashes.push(`${a.text} / ${b.text}`);
      });
      expect(clashes).toEqual([]);
      const outside = boxes.map(inked).filter(({ x0, y0, x1, y1 }) => x0 < 0 || y0 < 0 || x1 > widthMm || y1 > heightMm);
      expect(outside).toEqual([]);
      const rest = boxes.filter(({ map }) => !map).map(inked);
      const crossed = rest.flatMap((a, i) => rest.slice(i + 1).filter((b) => a.x0 < b.x1 && a.x1 > b.x0 && a.y0 < b.y1 && a.y1 > b.y0).map((b) => `${a.text} / ${b.text}`));
      expect(crossed).toEqual([]);
    }
    await page.close();
  });

  it('textWidth: what the browser measures, within the kerning', async () => {
    const page = await browser.newPage();
    await page.setContent(`<style>${fontFaceCss()}</style><p style='font-family:"Tallow Sheet"'>x<b style="font-weight:600">x</b><i>x</i></p>`);
    await page.evaluate(() => document.fonts.ready);
    for (const [text, weight, italic] of [['12.3 m below datum', 400, false], ['Hollin Sound, ferry approach', 600, false], ['1205', 400, true], ['46°02.20′ N', 400, false]] as const) {
      const measured = await page.evaluate(
        ([content, style]) => {
          const context = document.createElement('canvas').getContext('2d') as CanvasRenderingContext2D;
          context.font = style as string;
          return context.measureText(content as string).width;
        },
        [text, `${italic ? 'italic ' : ''}${weight} 100px "Tallow Sheet"`],
      );
      /* Kerning moves a line by under 2 % of its length. */
      expect(Math.abs(textWidth(text, 100, weight, italic) / measured - 1)).toBeLessThan(0.02);
    }
    await page.close();
  });
});
