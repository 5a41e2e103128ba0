import fc from 'fast-check';
import { SaxesParser } from 'saxes';
import { describe, expect, it } from 'vitest';
import { createFrame, frameSettingFor } from '../../src/geo/frame.js';
import { pointInPolygons } from '../../src/geo/ring.js';
import { drawBorder } from '../../src/report/chart-border.js';
import { chartGround, layOutChart } from '../../src/report/chart-frame.js';
import { thin } from '../../src/report/chart-paths.js';
import { drawChart, drawLinesSheet, renderChartSvg } from '../../src/report/chart-sheet.js';
import { chartFigure, chartedSoundings, drawSoundings, SOUNDINGS_APART_MM } from '../../src/report/chart-soundings.js';
import { trueNorthDeg } from '../../src/report/chart-strip.js';
import { tintBreaks } from '../../src/report/chart-tints.js';
import { LabelIndex } from '../../src/report/label-index.js';
import { niceAbove, niceBelow, niceScale } from '../../src/report/nice-steps.js';
import { emptyInput, sampleInput, seeded } from './sample.js';

const sample = sampleInput();
const soundings = sample.soundings!;
const map = { x0: 10, y0: 10, x1: 250, y1: 150 };

describe('chart figures', () => {
  it('chartFigure: whole metres and decimetres, to the shoal side', () => {
    /* Common practice of charts: a sounding is never shown deeper than it was measured. */
    expect(chartFigure(12.39)).toEqual({ metres: '12', decimetres: '3', dries: false });
    expect(chartFigure(12.3)).toEqual({ metres: '12', decimetres: '3', dries: false });
    expect(chartFigure(Math.fround(12.3))).toEqual({ metres: '12', decimetres: '3', dries: false });
    expect(chartFigure(0.04)).toEqual({ metres: '0', decimetres: '0', dries: false });
    expect(chartFigure(31.9)).toEqual({ metres: '31', decimetres: '', dries: false });
    /* Drying heights go up, which is the shoal side. */
    expect(chartFigure(-0.31)).toEqual({ metres: '0', decimetres: '4', dries: true });
  });

  it('chartFigure: never deeper than the depth by more than a tenth of a millimetre, never shoaler by a decimetre or more', () => {
    fc.assert(
      fc.property(fc.double({ min: -5, max: 30.9, noNaN: true }), (depthM) => {
        const { metres, decimetres, dries } = chartFigure(depthM);
        const shown = (Number(metres) + Number(decimetres) / 10) * (dries ? -1 : 1);
        expect(shown).toBeLessThanOrEqual(depthM + 1.01e-4);
        expect(shown).toBeGreaterThan(depthM - 0.1002);
      }),
      { seed: 3, numRuns: 1000 },
    );
  });

  it('drawSoundings: every good sounding has one shown no deeper within the spacing, by brute force', () => {
    const frame = layOutChart(chartGround(sample)!, map);
    const spacingMm = SOUNDINGS_APART_MM;
    const { shown } = drawSoundings(frame, soundings, chartedSoundings(soundings, frame.scale), new LabelIndex());
    expect(shown.length).toBeGreaterThan(100);
    const places = shown.map((i) => [frame.xMm(soundings.xM[i]!), frame.yMm(soundings.yM[i]!), soundings.depthM[i]!] as const);
    for (let i = 0; i < soundings.n; i += 7) {
      if (soundings.reason[i] !== 0) continue;
      const [x, y] = [frame.xMm(soundings.xM[i]!), frame.yMm(soundings.yM[i]!)];
      if (x < map.x0 + 4 || x > map.x1 - 4 || y < map.y0 + 4 || y > map.y1 - 4) continue;
      const shoaler = places.some(([px, py, depth]) => Math.hypot(px - x, py - y) <= spacingMm + 1e-6 && depth <= soundings.depthM[i]! + 1e-6);
      expect(shoaler, `sounding ${i} of ${soundings.depthM[i]} m`).toBe(true);
    }
    for (let a = 0; a < places.length; a++) {
      for (let b = a + 1; b < places.length; b++) expect(Math.hypot(places[a]![0] - places[b]![0], places[a]![1] - places[b]![1])).toBeGreaterThanOrEqual(spacingMm - 1e-6);
    }
  });

  it('drawSoundings: the shoalest good sounding of the map is always shown, set-aside ones never', () => {
    const frame = layOutChart(chartGround(sample)!, map);
    const { shown } = drawSoundings(frame, soundings, chartedSoundings(soundings, frame.scale), new LabelIndex());
    const good = Array.from({ length: soundings.n }, (_, i) => i).filter((i) => soundings.reason[i] === 0);
    const shoalest = good.reduce((a, b) => (soundings.depthM[b]! < soundings.depthM[a]! ? b : a));
    expect(shown[0]).toBe(shoalest);
    expect(shown.every((i) => soundings.reason[i] === 0)).toBe(true);
  });
});

describe('chart geometry', () => {
  it('layOutChart: a kilometre is as long on the sheet as the scale says', () => {
    const frame = layOutChart({ westM: 270_000, southM: 5_100_000, eastM: 271_000, northM: 5_100_700 }, map, 5000);
    expect(frame.xMm(271_000) - frame.xMm(270_000)).toBeCloseTo(200, 9);
    expect(frame.yMm(5_100_000) - frame.yMm(5_100_700)).toBeCloseTo(140, 9);
    expect(() => layOutChart(frame.ground, map, 0)).toThrow(/scale 0: expected a number above 0/);
  });

  it('layOutChart: the chosen scale shows all the ground, and the next larger would not', () => {
    const ground = chartGround(sample)!;
    const frame = layOutChart(ground, map);
    expect(frame.xMm(ground.westM)).toBeGreaterThan(map.x0);
    expect(frame.xMm(ground.eastM)).toBeLessThan(map.x1);
    expect(frame.yMm(ground.northM)).toBeGreaterThan(map.y0);
    expect(frame.yMm(ground.southM)).toBeLessThan(map.y1);
    const larger = niceScale(frame.scale * 0.74);
    expect(larger).toBeLessThan(frame.scale);
    const tight = layOutChart(ground, map, larger);
    expect((tight.xMm(ground.eastM) - tight.xMm(ground.westM)) * 1.08 > map.x1 - map.x0 || (tight.yMm(ground.southM) - tight.yMm(ground.northM)) * 1.08 > map.y1 - map.y0).toBe(true);
  });

  it('drawBorder: meridians and parallels meet the neat line where the frame says they do', () => {
    /* Near the edge of a zone, where north of the frame is 2 degrees off true north. */
    const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
    const [xM, yM] = frame.toFrame(46.03, -29.96);
    const chart = layOutChart({ westM: xM, southM: yM, eastM: xM + 900, northM: yM + 500 }, map);
    const { graticule, border } = drawBorder(chart, frame);
    const lines = [...graticule.matchAll(/x1="([\d.]+)" y1="([\d.]+)" x2="([\d.]+)" y2="([\d.]+)"/g)].map((m) => m.slice(1).map(Number) as [number, number, number, number]);
    expect(lines.length).toBeGreaterThan(4);
    const at = (x: number, y: number): [number, number] =>
      frame.toGeographic(chart.ground.westM + ((x - map.x0) * chart.scale) / 1000, chart.ground.northM - ((y - map.y0) * chart.scale) / 1000);
    /* Coordinates are written to 0.01 mm. */
    const toleranceDeg = (0.006 * chart.scale) / 1000 / 70_000;
    for (const [x1, y1, x2, y2] of lines) {
      const isMeridian = Math.abs(y2 - y1) > Math.abs(x2 - x1);
      const [a, b] = [at(x1, y1)[isMeridian ? 1 : 0], at(x2, y2)[isMeridian ? 1 : 0]];
      expect(Math.abs(a - b)).toBeLessThan(2 * toleranceDeg);
      const minutes = a * 60;
      expect(Math.abs(minutes - Math.round(minutes * 100) / 100)).toBeLessThan(60 * toleranceDeg);
    }
    const figures = [...border.matchAll(/>(\d+°[\d.]+′ [NSEW])</g)].map((m) => m[1]);
    expect(figures.some((text) => text!.endsWith('W'))).toBe(true);
    expect(figures.some((text) => text!.endsWith('N'))).toBe(true);
  });

  it('drawBorder: figures on both axes, none twice, from a pond to a gulf, across the equator and a meridian', () => {
    for (const [latDeg, lonDeg] of [[0.001, -27], [-0.01, 3.2], [-33.999, 18.4], [60, -30], [78, 15]] as const) {
      const frame = createFrame(frameSettingFor(latDeg, lonDeg));
      const [xM, yM] = frame.toFrame(latDeg, lonDeg);
      for (const sizeM of [30, 100, 400, 2000, 20_000, 150_000]) {
        const chart = layOutChart({ westM: xM - sizeM / 2, eastM: xM + sizeM / 2, southM: yM - sizeM / 3, northM: yM + sizeM / 3 }, map);
        const { border, graticule } = drawBorder(chart, frame);
        const labels = [...border.matchAll(/>(\d+°[^<]+)</g)].map((m) => m[1]!);
        expect(labels.filter((text) => /[EW]$/.test(text)).length, `${latDeg} ${lonDeg} ${sizeM}`).toBeGreaterThanOrEqual(2);
        expect(labels.filter((text) => /[NS]$/.test(text)).length, `${latDeg} ${lonDeg} ${sizeM}`).toBeGreaterThanOrEqual(1);
        expect(new Set(labels).size).toBe(labels.length);
        expect(border + graticule).not.toContain('NaN');
      }
    }
  });

  it('trueNorthDeg: agrees with the convergence of the transverse Mercator projection', () => {
    /* Convergence = atan(tan(dlon) sin(lat)) on the sphere (Snyder 1987, p. 61 ff.); the ellipsoid changes it by under 0.01 degree here. */
    const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
    const [latDeg, lonDeg] = [46.03, -29.96];
    const [xM, yM] = frame.toFrame(latDeg, lonDeg);
    const chart = layOutChart({ westM: xM - 100, eastM: xM + 100, southM: yM - 100, northM: yM + 100 }, map);
    const rad = Math.PI / 180;
    const convergence = Math.atan(Math.tan((lonDeg + 27) * rad) * Math.sin(latDeg * rad)) / rad;
    expect(trueNorthDeg(chart, frame)).toBeCloseTo(-convergence, 1);
    expect(trueNorthDeg(chart, frame)).toBeGreaterThan(2);
  });

  it('thin: no vertex of the line is further than the fineness from what is left, by brute force', () => {
    const random = seeded(5);
    const points: number[] = [];
    let [x, y] = [0, 0];
    for (let i = 0; i < 3000; i++) points.push((x += random() * 0.05), (y += (random() - 0.5) * 0.05));
    const thinned = thin(points, 0.05);
    expect(thinned.length).toBeLessThan(points.length / 4);
    for (let i = 0; i < points.length; i += 2) {
      let nearest = Infinity;
      for (let k = 2; k < thinned.length; k += 2) {
        const [ax, ay, bx, by] = [thinned[k - 2]!, thinned[k - 1]!, thinned[k]!, thinned[k + 1]!];
        const length2 = (bx - ax) ** 2 + (by - ay) ** 2;
        const t = length2 > 0 ? Math.max(0, Math.min(1, ((points[i]! - ax) * (bx - ax) + (points[i + 1]! - ay) * (by - ay)) / length2)) : 0;
        nearest = Math.min(nearest, Math.hypot(points[i]! - ax - t * (bx - ax), points[i + 1]! - ay - t * (by - ay)));
      }
      /* Radial thinning and Douglas-Peucker each leave at most the fineness. */
      expect(nearest).toBeLessThanOrEqual(0.1 + 1e-9);
    }
  });

  it('tintBreaks: three depths, rising, with water on either side of the deepest break', () => {
    expect(tintBreaks(0.8, 13.1, 1)).toEqual([2, 5, 10]);
    expect(tintBreaks(0.1, 0.9, 0.1)).toEqual([0.5, 1, 2]);
    expect(tintBreaks(20, 44, 1)).toEqual([26, 32, 38]);
    fc.assert(
      fc.property(fc.double({ min: -2, max: 300, noNaN: true }), fc.double({ min: 0.01, max: 300, noNaN: true }), (min, span) => {
        const [a, b, c] = tintBreaks(min, min + span, 1);
        expect(a < b && b < c).toBe(true);
      }),
      { seed: 11 },
    );
  });

  it('nice steps: bracket the value', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-5, max: 1e7, noNaN: true }), (value) => {
        expect(niceBelow(value)).toBeLessThanOrEqual(value * (1 + 1e-8));
        expect(niceAbove(value)).toBeGreaterThanOrEqual(value * (1 - 1e-8));
        expect(niceAbove(value) / niceBelow(value)).toBeLessThan(2.51);
        expect(niceScale(value)).toBeGreaterThanOrEqual(Math.min(value, 100) * (1 - 1e-8));
      }),
      { seed: 2, numRuns: 500 },
    );
  });

  it('LabelIndex: says what comparing every pair says', () => {
    const random = seeded(9);
    const index = new LabelIndex(5);
    const taken: { x0: number; y0: number; x1: number; y1: number }[] = [];
    for (let i = 0; i < 800; i++) {
      const [x, y] = [random() * 200 - 50, random() * 100 - 20];
      const box = { x0: x, y0: y, x1: x + random() * 9, y1: y + random() * 4 };
      const free = taken.every((other) => !(box.x0 < other.x1 && box.x1 > other.x0 && box.y0 < other.y1 && box.y1 > other.y0));
      expect(index.tryTake(box)).toBe(free);
      if (free) taken.push(box);
    }
    expect(taken.length).toBeGreaterThan(100);
  });
});

describe('chart sheets', () => {
  it('drawChart and drawLinesSheet: well-formed XML, alike at every run', () => {
    for (const draw of [drawChart, drawLinesSheet]) {
      const first = draw(sample, { widthMm: 267, heightMm: 172 });
      const parser = new SaxesParser();
      parser.on('error', (error) => {
        throw error;
      });
      parser.write(first.svg).close();
      expect(draw(sampleInput(), { widthMm: 267, heightMm: 172 }).svg).toBe(first.svg);
    }
  });

  it('drawChart: names its scale, datum, frame, order and that it is not for navigation', () => {
    // Soundings come before names: a gap is named where there are none in it.
    const polygons = sample.gaps.map(({ polygon }) => polygon);
    const reason = soundings.reason.map((code, i) => (pointInPolygons(polygons, soundings.xM[i]!, soundings.yM[i]!) ? 1 : code));
    const { svg, scale, soundingsShown } = drawChart({ ...sample, soundings: { ...soundings, reason } }, { widthMm: 267, heightMm: 172 });
    expect(scale).toBe(2000);
    expect(soundingsShown).toBeGreaterThan(100);
    for (const text of ['Hollin Sound, ferry approach', 'Depths in metres below chart datum', 'UTM 26 N (EPSG:32626)', '13 May 2026', 'Order 1a aimed at', 'Scale 1:2 000 printed 267 mm wide', 'Not for navigation', 'var 9.1° W (2026)', 'gap 1:']) {
      expect(svg).toContain(text);
    }
  });

  it('drawChart: a sheet that says so where there is nothing to draw', () => {
    const { svg, scale } = drawChart(emptyInput(), { widthMm: 200, heightMm: 150 });
    expect(svg).toContain('There is nothing to draw');
    expect(scale).toBeNaN();
  });

  it('renderChartSvg: stands alone, and refuses a sheet too small to read', () => {
    const svg = renderChartSvg(sample, { widthMm: 200, heightMm: 150, scale: 4000 });
    expect(svg).toContain('@font-face');
    expect(svg).toContain('Scale 1:4 000');
    expect(() => renderChartSvg(sample, { widthMm: 50, heightMm: 150 })).toThrow('chart of 50 x 150 mm: expected at least 120 x 100');
  });
});
