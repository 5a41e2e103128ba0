import { inflateSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { crossingBlocks } from '../../src/report/crossing-tables.js';
import { foldTime } from '../../src/report/folded-time.js';
import { lineRuns } from '../../src/report/line-coverage.js';
import { histogramSvg } from '../../src/report/plot-histogram.js';
import { depthProfileSvg, waterLevelSvg } from '../../src/report/plot-time.js';
import { palettePng } from '../../src/report/png.js';
import { sampleInput, seeded } from './sample.js';

const sample = sampleInput();
const soundings = sample.soundings!;

describe('palettePng', () => {
  it('palettePng: node:zlib and the PNG layout give the pixels back, odd widths too', () => {
    const random = seeded(4);
    for (const [width, height] of [[1, 1], [7, 5], [64, 3]] as const) {
      const pixels = Uint8Array.from({ length: width * height }, () => Math.floor(random() * 6));
      const png = palettePng(pixels, width, height, ['#000000', '#112233', '#ff0000', '#00ff00', '#0000ff', '#ffffff']);
      const view = new DataView(png.buffer);
      expect([...png.subarray(0, 8)]).toEqual([0x89, 0x50, 0x4e, 0x47, 13, 10, 26, 10]);
      expect(view.getUint32(16)).toBe(width);
      expect(view.getUint32(20)).toBe(height);
      const chunks = new Map<string, Uint8Array>();
      for (let at = 8; at < png.length; ) {
        const length = view.getUint32(at);
        chunks.set(String.fromCharCode(...png.subarray(at + 4, at + 8)), png.subarray(at + 8, at + 8 + length));
        /* CRC-32 bit by bit, as PNG annex D defines it. */
        let crc = 0xffffffff;
        for (const byte of png.subarray(at + 4, at + 8 + length)) {
          crc ^= byte;
          for (let k = 0; k < 8; k++) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
        }
        expect(view.getUint32(at + 8 + length)).toBe(~crc >>> 0);
        at += 12 + length;
      }
      expect([...chunks.keys()]).toEqual(['IHDR', 'PLTE', 'IDAT', 'IEND']);
      expect([...chunks.get('PLTE')!.subarray(3, 6)]).toEqual([0x11, 0x22, 0x33]);
      const rows = inflateSync(chunks.get('IDAT')!);
      const stride = 1 + Math.ceil(width / 2);
      for (let y = 0; y < height; y++) {
        expect(rows[y * stride]).toBe(0);
        for (let x = 0; x < width; x++) expect((rows[y * stride + 1 + (x >> 1)]! >> (x % 2 === 0 ? 4 : 0)) & 15).toBe(pixels[y * width + x]);
      }
    }
    expect(() => palettePng(new Uint8Array(3), 2, 2, ['#000000'])).toThrow('pixels 3: expected 2 x 2');
  });
});

describe('foldTime', () => {
  it('foldTime: keeps order and proportion, folds the long pause, and nothing else', () => {
    const times = Float64Array.from([...Array.from({ length: 100 }, (_, i) => i * 10), ...Array.from({ length: 100 }, (_, i) => 50_000 + i * 10)]);
    const folded = foldTime(times, 10, 110)!;
    expect(folded.stretches).toHaveLength(2);
    expect(folded.xMm(0)).toBe(10);
    expect(folded.xMm(50_990)).toBeCloseTo(110, 9);
    expect(folded.xMm(20_000)).toBeNaN();
    expect(folded.xMm(500) - folded.xMm(400)).toBeCloseTo(folded.xMm(50_500) - folded.xMm(50_400), 9);
    expect(foldTime(Float64Array.from({ length: 50 }, (_, i) => i * 60), 0, 100)!.stretches).toHaveLength(1);
    const ticks = folded.ticks(15);
    for (let i = 1; i < ticks.length; i++) expect(ticks[i]!.x - ticks[i - 1]!.x).toBeGreaterThanOrEqual(15 * 0.7);
  });

  it('foldTime: one time, equal times, no time, time that is not a number', () => {
    expect(foldTime(new Float64Array(0), 0, 100)).toBeNull();
    expect(foldTime(Float64Array.from([NaN]), 0, 100)).toBeNull();
    const one = foldTime(Float64Array.from([5]), 0, 100)!;
    expect(Number.isFinite(one.xMm(5))).toBe(true);
    expect(one.ticks(15)).toHaveLength(1);
  });
});

describe('plots', () => {
  it('depthProfileSvg: the shoalest and the deepest good sounding are in the line, to 0.01 mm', () => {
    const svg = depthProfileSvg(soundings);
    const path = /<path d="(M[^"]+)" fill="none" stroke="#1b2733"/.exec(svg)![1]!;
    const ys = [...path.matchAll(/[ML][\d.]+ ([\d.]+)/g)].map((m) => Number(m[1]));
    const good = Array.from(soundings.depthM).filter((_, i) => soundings.reason[i] === 0);
    /* Axis figures give the scale: label baseline is 0.85 mm under its line. */
    const labels = [...svg.matchAll(/<text x="9.8" y="([\d.]+)"[^>]*>([\d.]+)<\/text>/g)].map((m) => [Number(m[1]) - 0.85, Number(m[2])] as const);
    const [a, b] = [labels[0]!, labels[labels.length - 1]!];
    const yOf = (depth: number): number => a[0] + ((depth - a[1]) / (b[1] - a[1])) * (b[0] - a[0]);
    expect(Math.abs(Math.min(...ys) - yOf(Math.min(...good)))).toBeLessThan(0.02);
    expect(Math.abs(Math.max(...ys) - yOf(Math.max(...good)))).toBeLessThan(0.02);
    expect(svg.length).toBeLessThan(200_000);
  });

  it('depthProfileSvg and waterLevelSvg: nothing where there is nothing', () => {
    const none = { ...soundings, n: 0, timeS: new Float64Array(0), waterLevelM: new Float32Array(0) };
    expect(depthProfileSvg(none)).toBe('');
    expect(waterLevelSvg(null, null)).toBe('');
    expect(waterLevelSvg(null, { ...soundings, waterLevelM: new Float32Array(soundings.n).fill(NaN) })).toBe('');
    expect(waterLevelSvg(sample.waterLevel, soundings)).toContain('<circle');
  });

  it('histogramSvg: bars add up to all values, and one wild value does not flatten them', () => {
    const random = seeded(8);
    const values = Array.from({ length: 5000 }, () => 0.1 + 0.1 * random());
    values[17] = 1e6;
    const svg = histogramSvg([...values, NaN], 'x [m]', []);
    expect(svg).toContain('5 000 values');
    const bars = [...svg.matchAll(/<rect x="[\d.]+" y="([\d.]+)" width="[\d.]+" height="([\d.]+)"/g)].map((m) => Number(m[2]));
    expect(bars.length).toBeGreaterThan(8);
    const shares = [...svg.matchAll(/<text x="11.8" y="([\d.]+)"[^>]*>([\d.]+)<\/text>/g)].map((m) => [Number(m[1]), Number(m[2])] as const);
    const perMm = (shares[1]![1] - shares[0]![1]) / (shares[0]![0] - shares[1]![0]);
    /* Heights are written to 0.01 mm. */
    expect(bars.reduce((sum, height) => sum + height * perMm, 0)).toBeCloseTo(100, 0);
    expect(histogramSvg([NaN], 'x [m]', [])).toBe('');
    expect(histogramSvg([2, 2, 2], 'x [m]', [{ value: 2, text: 'two' }])).toContain('two');
  });
});

describe('lineRuns', () => {
  it('lineRuns: a line run to the end is covered, one run half way is half covered, the rest of the day does not count', () => {
    const n = 300;
    const at = (i: number): number => i;
    const columns = {
      ...soundings,
      n,
      timeS: Float64Array.from({ length: n }, (_, i) => i),
      xM: Float64Array.from({ length: n }, (_, i) => (i < 201 ? at(i) : at(i - 201))),
      yM: Float64Array.from({ length: n }, (_, i) => (i < 201 ? 1.5 : -20)),
      reason: new Uint8Array(n),
      line: Int32Array.from({ length: n }, (_, i) => (i < 201 ? 1 : 2)),
    };
    const lines = [
      { number: 2, kind: 'main' as const, headingDeg: 90, lengthM: 200, line: Float64Array.from([0, -20, 200, -20]) },
      { number: 1, kind: 'main' as const, headingDeg: 90, lengthM: 200, line: Float64Array.from([0, 0, 200, 0]) },
      { number: 3, kind: 'cross' as const, headingDeg: 0, lengthM: 50, line: Float64Array.from([0, 0, 0, 50]) },
    ];
    const [one, two, three] = lineRuns(lines, columns, 5);
    /* Bins are 1/500 of a line. */
    expect(one!.coveredM).toBeCloseTo(200, 9);
    expect(one!.offsetP95M).toBeCloseTo(1.5, 9);
    expect(Math.abs(two!.coveredM - 98)).toBeLessThanOrEqual(0.8);
    expect(three).toMatchObject({ coveredM: 0, soundings: 0, plannedM: 50 });
    expect(three!.offsetP95M).toBeNaN();
    expect(lineRuns(lines, null, 5)).toHaveLength(3);
  });

  it('lineRuns: a pause longer than allowed is not covered, set-aside soundings neither', () => {
    const [run] = [lineRuns(sample.planLines.filter(({ number }) => number === 6), soundings, 5)].flat();
    /* The sample leaves out 0.45 to 0.6 of line 6. */
    expect(Math.abs(run!.coveredM / run!.plannedM - 0.85)).toBeLessThan(0.01);
    const aside = lineRuns(sample.planLines, { ...soundings, reason: new Uint8Array(soundings.n).fill(8) }, 5);
    expect(aside.every(({ coveredM, good, soundings: all }) => coveredM === 0 && good === 0 && all > 0)).toBe(true);
  });
});

describe('crossingBlocks', () => {
  it('crossingBlocks: a cross line that runs 0.10 m deep shows so, whether it was run first or second', () => {
    for (const [lineA, lineB, differenceM] of [[12, 3, -0.1], [3, 12, 0.1]] as const) {
      const points = [{ xM: 270_700, yM: 5_101_600, differenceM, lineA, lineB }];
      const blocks = crossingBlocks({ ...sample, crossings: { pairs: [], points } });
      const [byLine, largest] = blocks.filter((block) => block.kind === 'table');
      expect(byLine!.rows).toEqual([['12', '1', '+0.10 m', '0.10 m', '0.10 m', '']]);
      expect(largest!.rows[0]!.slice(0, 3)).toEqual([String(lineA), String(lineB), differenceM > 0 ? '+0.10 m' : '−0.10 m']);
    }
    expect(crossingBlocks({ ...sample, crossings: null }).some((block) => block.kind === 'paragraph' && block.text.startsWith('No lines cross'))).toBe(true);
  });
});
