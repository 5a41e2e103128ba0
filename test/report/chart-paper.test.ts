import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { planPaper, PAPERS } from '../../src/report/chart-paper.js';
import { drawPaperChart, paperChartPdf, type PaperChart } from '../../src/report/chart-pdf.js';
import { fittingScales, nextScale } from '../../src/report/chart-plan.js';
import { chartGround } from '../../src/report/chart-frame.js';
import { sampleInput } from './sample.js';

const POPPLER = existsSync('/usr/bin/pdftoppm') && existsSync('/usr/bin/pdftotext');
const everywhere = (): boolean => true;
const box = (widthM: number, heightM: number) => ({ westM: 270_000, eastM: 270_000 + widthM, southM: 5_102_000, northM: 5_102_000 + heightM });

describe('planPaper', () => {
  it('automatic: small areas on A4, larger ones on larger paper, the area whole on one sheet', () => {
    for (const [widthM, heightM, paper] of [[100, 80, 'A4'], [450, 300, 'A3'], [3000, 2500, 'A2']] as const) {
      const plan = planPaper(box(widthM, heightM), { paper: 'auto', scale: null }, everywhere)!;
      expect(plan.paper).toBe(paper);
      expect(plan.sheets).toHaveLength(1);
      const [sheet] = plan.sheets;
      expect(sheet!.ground.westM).toBeLessThan(270_000);
      expect(sheet!.ground.northM).toBeGreaterThan(5_102_000 + heightM);
    }
  });

  it('turns the paper as the area lies', () => {
    const tall = planPaper(box(60, 200), { paper: 'A4', scale: null }, everywhere)!;
    expect([tall.widthMm, tall.heightMm]).toEqual([210, 297]);
    expect(planPaper(box(200, 60), { paper: 'A4', scale: null }, everywhere)!.widthMm).toBe(297);
  });

  it('a scale asked for is kept to the letter; sheets cover the area with a strip in common, empty ones left out', () => {
    const ground = box(900, 700);
    const plan = planPaper(ground, { paper: 'A4', scale: 1000 }, everywhere)!;
    expect(plan.scale).toBe(1000);
    expect(plan.sheets.length).toBe(plan.rows * plan.cols);
    expect(plan.sheets.length).toBeGreaterThan(4);
    for (const { ground: own } of plan.sheets) {
      expect(own.eastM - own.westM).toBeCloseTo(plan.map.x1 - plan.map.x0, 6);
      expect(own.northM - own.southM).toBeCloseTo(plan.map.y1 - plan.map.y0, 6);
    }
    /* Every place of the area lies on a sheet. */
    for (let xM = ground.westM; xM <= ground.eastM; xM += 25) {
      for (let yM = ground.southM; yM <= ground.northM; yM += 25) {
        expect(plan.sheets.some(({ ground: own }) => xM >= own.westM && xM <= own.eastM && yM >= own.southM && yM <= own.northM)).toBe(true);
      }
    }
    const [a, b] = plan.sheets;
    expect(a!.ground.eastM - b!.ground.westM).toBeCloseTo(12, 6);
    const some = planPaper(ground, { paper: 'A4', scale: 1000 }, (own) => own.westM < 270_100)!;
    expect(some.sheets.length).toBeLessThan(plan.sheets.length);
    expect(some.sheets.map(({ number }) => number)).toEqual(some.sheets.map((_, i) => i + 1));
  });

  it('too many sheets: none, rather than a heap of paper', () => {
    expect(planPaper(box(5000, 5000), { paper: 'A4', scale: 100 }, everywhere)).toBeNull();
  });
});

describe('the chart as PDF', () => {
  const input = sampleInput();
  let folder = '';
  let chart: PaperChart;
  let pdf: Uint8Array;
  let file = '';
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'chart-'));
    chart = drawPaperChart(input, { paper: 'auto', scale: null }, 'Crew of the demo')!;
    pdf = await paperChartPdf(input, chart);
    file = join(folder, 'chart.pdf');
    writeFileSync(file, pdf);
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  /** Where dark ink stands along a row or a column of the first sheet [mm]; a mark's middle. */
  function marks(pdfFile: string, along: 'row' | 'column', atMm: number, fromMm: number, toMm: number): number[] {
    const dpi = 600;
    const dots = (value: number): number => Math.round((value * dpi) / 25.4);
    const [start, length] = [dots(fromMm), dots(toMm) - dots(fromMm)];
    const area = along === 'row' ? ['-x', start, '-y', dots(atMm), '-W', length, '-H', 1] : ['-x', dots(atMm), '-y', start, '-W', 1, '-H', length];
    const out = join(folder, 'strip');
    spawnSync('/usr/bin/pdftoppm', ['-r', String(dpi), '-gray', '-singlefile', ...area.map(String), pdfFile, out]);
    const image = readFileSync(`${out}.pgm`);
    const pixels = image.subarray(image.length - length);
    const found: number[] = [];
    for (let i = 0; i < length; i++) {
      if (pixels[i]! > 110) continue;
      let end = i;
      while (end + 1 < length && pixels[end + 1]! <= 110) end++;
      if (end - i < 8) found.push(fromMm + (((i + end + 1) / 2) * 25.4) / dpi);
      i = end;
    }
    return found;
  }

  it.skipIf(!POPPLER)('measured on paper: grid lines are apart what the scale says, within 0.1 mm', async () => {
    for (const scale of [null, 1000, 750] as const) {
      const own = drawPaperChart(input, { paper: 'A3', scale }, '')!;
      const ownFile = join(folder, 'scale.pdf');
      writeFileSync(ownFile, await paperChartPdf(input, own));
      const { map, sheets, scale: chosen } = own.plan;
      const { ground } = sheets[0]!;
      for (const [edge, low, high] of [['row', ground.westM, ground.eastM], ['column', ground.southM, ground.northM]] as const) {
        const found = edge === 'row' ? marks(ownFile, 'row', map.y0 + 1.2, map.x0 + 1, map.x1 - 1) : marks(ownFile, 'column', map.x0 + 1.2, map.y0 + 1, map.y1 - 1);
        /* The grid's step is a round number of metres, at least 45 mm of paper. */
        const stepM = [10, 20, 50, 100, 200, 500, 1000].find((step) => (step * 1000) / chosen >= 45)!;
        const lines: number[] = [];
        for (let value = Math.ceil(low / stepM) * stepM; value <= high; value += stepM) lines.push(value);
        expect(lines.length).toBeGreaterThan(1);
        const [first, last] = [lines[0]!, lines[lines.length - 1]!];
        const wantedMm = ((last - first) * 1000) / chosen;
        const spans = found.flatMap((a) => found.map((b) => b - a));
        expect(Math.min(...spans.map((span) => Math.abs(span - wantedMm))), `${edge}, 1:${chosen}`).toBeLessThan(0.1);
        /* And each stands where the ground it names lies. */
        for (const value of lines) {
          const expectedMm = edge === 'row' ? map.x0 + ((value - low) * 1000) / chosen : map.y1 - ((value - low) * 1000) / chosen;
          expect(Math.min(...found.map((at) => Math.abs(at - expectedMm))), `${edge} ${value}`).toBeLessThan(0.1);
        }
      }
    }
  }, 120_000);

  it.skipIf(!POPPLER)('paper size to the point, a page a sheet', () => {
    const info = execFileSync('/usr/bin/pdfinfo', [file], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] });
    const [, widthPt, heightPt] = /Page size:\s+([\d.]+) x ([\d.]+)/.exec(info)!;
    expect(Number(widthPt)).toBeCloseTo((chart.plan.widthMm / 25.4) * 72, 1);
    expect(Number(heightPt)).toBeCloseTo((chart.plan.heightMm / 25.4) * 72, 1);
    expect(PAPERS[chart.plan.paper]).toContain(chart.plan.widthMm);
    expect(info).toMatch(/Pages:\s+1\n/);
  });

  it.skipIf(!POPPLER)('says what a chart has to say', () => {
    const text = execFileSync('/usr/bin/pdftotext', ['-layout', file, '-'], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] }).replace(/\s+/g, ' ');
    const { settings } = input.summary;
    for (const words of ['NOT FOR NAVIGATION', settings.name, settings.datum, 'printed at 100 %', 'S-44', 'Uncertainty 95 %', 'EPSG:32626', 'Surveyed', 'Crew of the demo', 'var ', 'not surveyed', 'Grid north is']) expect(text).toContain(words);
  });

  it('equal input gives equal bytes', async () => {
    const again = await paperChartPdf(input, drawPaperChart(input, { paper: 'auto', scale: null }, 'Crew of the demo')!);
    expect(Buffer.from(again).equals(Buffer.from(pdf))).toBe(true);
  });

  it('several sheets: each says which it is', () => {
    const scale = Math.round(chart.plan.scale / 4);
    const many = drawPaperChart(input, { paper: 'A4', scale }, '')!;
    expect(many.svgs.length).toBeGreaterThan(1);
    many.svgs.forEach((svg, i) => expect(svg).toContain(`sheet ${i + 1} of ${many.svgs.length}`));
  });

  it('too large a scale: none, and the next that would do', () => {
    expect(drawPaperChart(input, { paper: 'A4', scale: 10 }, '')).toBeNull();
    const next = nextScale(input, { paper: 'A4', scale: 10 });
    expect(planPaper(chartGround(input)!, { paper: 'A4', scale: next }, everywhere)).not.toBeNull();
    const fits = fittingScales(input, { paper: 'A4', scale: 10 });
    expect(fits[0]).toEqual({ paper: 'A4', scale: next });
    fits.forEach(({ scale }, k) => k > 0 && expect(scale).toBeLessThan(fits[k - 1]!.scale));
    expect(fittingScales(input, { paper: 'auto', scale: 10 }).map(({ paper }) => paper)).toEqual(['A2']);
  });

  it('nothing surveyed and no area: no chart', () => {
    expect(drawPaperChart({ ...input, frame: null }, { paper: 'auto', scale: null }, '')).toBeNull();
  });
});
