import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import KDBush from 'kdbush';
import { createFrame } from '../../src/geo/frame.js';
import type { Soundings } from '../../src/depths/soundings.js';
import { crossingMarks, crossingText, isBeyond } from '../../src/page/chart/crossing-marks.js';
import { fitView, placesOf } from '../../src/page/chart/fit-view.js';
import { dangerDepths } from '../../src/page/chart/danger-depths.js';
import { soundingFigure } from '../../src/page/chart/figure.js';
import { edgeGraduations, graduationFigure, graduationStep, scaleBar, trueNorthDeg } from '../../src/page/chart/graduate.js';
import { declutterPicks, shoalestPerCell } from '../../src/page/chart/shoal-pick.js';
import { labelPlaces, simplifyLine, trackLines } from '../../src/page/chart/simplify.js';
import { tintWindow, type TintColours } from '../../src/page/chart/tint.js';
import { variationOn, variationText } from '../../src/page/chart/variation.js';
import { seededRandom } from './seeded-random.js';

const SEED = 20261125;

describe('soundingFigure', () => {
  const text = (depthM: number) => {
    const figure = soundingFigure(depthM);
    return figure === null ? null : `${figure.drying ? '_' : ''}${figure.metres}.${figure.decimetres}`;
  };

  test('soundingFigure: rounded towards the shoal side', () => {
    expect([4.19, 4.1, 10.99, 0, 0.05].map(text)).toEqual(['4.1', '4.1', '10.9', '0.0', '0.0']);
  });

  test('soundingFigure: a float32 depth keeps the decimetre it was given', () => {
    for (let tenths = 0; tenths < 310; tenths++) expect(text(Math.fround(tenths / 10))).toBe(`${Math.floor(tenths / 10)}.${tenths % 10}`);
  });

  test('soundingFigure: whole metres from 31 m, drying heights marked, nothing for NaN', () => {
    expect(text(31)).toBe('31.');
    expect(text(31.96)).toBe('31.');
    expect(text(-1.32)).toBe('_1.4');
    expect(text(NaN)).toBeNull();
  });

  test('soundingFigure: never deeper than the depth', () => {
    fc.assert(
      fc.property(fc.double({ min: -20, max: 400, noNaN: true }), (depthM) => {
        const figure = soundingFigure(depthM);
        if (figure === null) throw new Error('a number has a figure');
        const shown = Number(`${figure.metres}.${figure.decimetres || 0}`) * (figure.drying ? -1 : 1);
        expect(shown).toBeLessThanOrEqual(depthM + 1.1e-4);
      }),
      { seed: SEED },
    );
  });
});

test('dangerDepths: the deepest standard depth inside the survey and the two before it', () => {
  expect(dangerDepths(13.1)).toEqual([2, 5, 10]);
  expect(dangerDepths(4)).toEqual([0.5, 1, 2]);
  expect(dangerDepths(45)).toEqual([10, 20, 30]);
  expect(dangerDepths(1)).toEqual([0.5, 1, 2]);
});

describe('labels', () => {
  const survey = (n: number) => {
    const random = seededRandom(SEED);
    return {
      n,
      xM: Float64Array.from({ length: n }, () => 400_000 + random() * 500),
      yM: Float64Array.from({ length: n }, () => 5_100_000 + random() * 300),
      depthM: Float32Array.from({ length: n }, () => 2 + random() * 12),
      reason: Uint8Array.from({ length: n }, () => (random() < 0.1 ? 8 : 0)),
    };
  };
  const box = { westM: 400_000, southM: 5_100_000, eastM: 400_500, northM: 5_100_300 };

  test('shoalestPerCell: equals the minimum of every cell by brute force, good soundings alone', () => {
    const input = survey(5000);
    const picks = shoalestPerCell(input, null, box, 31, 20);
    const least = new Map<string, number>();
    for (let i = 0; i < input.n; i++) {
      if (input.reason[i] !== 0) continue;
      const key = `${Math.floor((input.xM[i] as number) / 31)} ${Math.floor((input.yM[i] as number) / 20)}`;
      least.set(key, Math.min(least.get(key) ?? Infinity, input.depthM[i] as number));
    }
    let held = 0;
    picks.pick.forEach((i, cell) => {
      const key = `${picks.colStart + (cell % picks.cols)} ${picks.rowStart + Math.floor(cell / picks.cols)}`;
      if (i < 0) expect(least.has(key)).toBe(false);
      else {
        held++;
        expect(input.reason[i]).toBe(0);
        expect(input.depthM[i]).toBe(least.get(key));
      }
    });
    expect(held).toBe(least.size);
  });

  test('declutterPicks: no two labels overlap, and the shoalest of all is printed', () => {
    const input = survey(20_000);
    const picks = shoalestPerCell(input, null, box, 20, 14);
    const chosen = declutterPicks(input, picks, 16, 10);
    expect(chosen.length).toBeGreaterThan(100);
    for (let a = 0; a < chosen.length; a++) {
      for (let b = a + 1; b < chosen.length; b++) {
        const [i, j] = [chosen[a] as number, chosen[b] as number];
        const clear = Math.abs((input.xM[i] as number) - (input.xM[j] as number)) >= 16 || Math.abs((input.yM[i] as number) - (input.yM[j] as number)) >= 10;
        expect(clear).toBe(true);
      }
    }
    let shoalest = -1;
    for (let i = 0; i < input.n; i++) if (input.reason[i] === 0 && (shoalest < 0 || (input.depthM[i] as number) < (input.depthM[shoalest] as number))) shoalest = i;
    expect([...chosen]).toContain(shoalest);
  });

  test('declutterPicks: the same choice whatever the box, away from its edges', () => {
    const input = survey(8000);
    const choose = (b: typeof box) => new Set(declutterPicks(input, shoalestPerCell(input, null, b, 20, 14), 16, 10));
    const whole = choose(box);
    const part = choose({ ...box, westM: 400_100, southM: 5_100_050 });
    for (const i of whole) {
      const inner = (input.xM[i] as number) > 400_100 + 120 && (input.yM[i] as number) > 5_100_050 + 90;
      if (inner) expect(part.has(i)).toBe(true);
    }
  });

  test('shoalestPerCell: refuses a grid beyond memory', () => {
    expect(() => shoalestPerCell(survey(1), null, { westM: 0, southM: 0, eastM: 1e6, northM: 1e6 }, 1, 1)).toThrow(/more than 2\^24/);
  });
});

describe('lines on the chart', () => {
  test('simplifyLine: every vertex left out lies within the tolerance', () => {
    const line = fc.array(fc.tuple(fc.double({ min: 0, max: 100, noNaN: true }), fc.double({ min: 0, max: 100, noNaN: true })), { minLength: 2, maxLength: 60 });
    fc.assert(
      fc.property(line, fc.double({ min: 0.1, max: 20, noNaN: true }), (vertices, tolerance) => {
        const full = Float64Array.from(vertices.flat());
        const thin = simplifyLine(full, tolerance);
        for (let i = 0; i < full.length; i += 2) {
          let nearest = Infinity;
          for (let k = 0; k + 3 < thin.length; k += 2) {
            const [ax, ay, bx, by] = thin.slice(k, k + 4) as unknown as [number, number, number, number];
            const l2 = (bx - ax) ** 2 + (by - ay) ** 2;
            const t = l2 === 0 ? 0 : Math.min(1, Math.max(0, (((full[i] as number) - ax) * (bx - ax) + ((full[i + 1] as number) - ay) * (by - ay)) / l2));
            nearest = Math.min(nearest, Math.hypot((full[i] as number) - ax - t * (bx - ax), (full[i + 1] as number) - ay - t * (by - ay)));
          }
          expect(nearest).toBeLessThanOrEqual(tolerance + 1e-9);
        }
      }),
      { seed: SEED },
    );
  });

  test('labelPlaces: in the middle of a short line, evenly along a long one, none on one too short', () => {
    expect([...labelPlaces(Float64Array.of(0, 0, 10, 0), 100, 2)]).toEqual([5, 0]);
    expect([...labelPlaces(Float64Array.of(0, 0, 100, 0, 200, 0), 100, 2)]).toEqual([50, 0, 150, 0]);
    expect(labelPlaces(Float64Array.of(0, 0, 5, 0), 100, 2).length).toBe(0);
  });

  test('trackLines: broken by silence and by jumps, not by a position that is missing', () => {
    const lines = trackLines([0, 1, 2, 3, 4, 30, 31, 32], [0, 1, 99, 3, 4, 6, NaN, 8], [0, 0, 0, 0, 0, 0, 0, 0], [0, 0, 1, 0, 0, 0, 0, 0], 10);
    expect(lines.map((line) => [...line])).toEqual([[0, 0, 1, 0], [3, 0, 4, 0], [6, 0, 8, 0]]);
  });
});

describe('fitView', () => {
  const ring = Float64Array.of(0, 0, 600, -20, 640, 120, 600, 310, 40, 290, 0, 0);
  const places = placesOf([ring], [], [], () => true);

  test('fitView: the survey is inside the chart and clear of what stands on it, at any size of chart', () => {
    fc.assert(
      fc.property(fc.integer({ min: 420, max: 1400 }), fc.integer({ min: 320, max: 900 }), fc.integer({ min: 60, max: 360 }), fc.integer({ min: 30, max: 110 }), (width, height, blockWidth, blockHeight) => {
        const taken = [{ x: 0, y: height - blockHeight, width: blockWidth, height: blockHeight }, { x: width - 130, y: 0, width: 130, height: 150 }];
        const view = fitView(places, width, height, taken);
        if (view === null) throw new Error('there are places');
        for (let i = 0; i < places.length; i += 2) {
          const x = ((places[i] as number) - view.centreXM) / view.metresPerPixel + width / 2;
          const y = (view.centreYM - (places[i + 1] as number)) / view.metresPerPixel + height / 2;
          expect(x > 0 && x < width && y > 0 && y < height).toBe(true);
          if (view.clear) for (const box of taken) expect(x > box.x && x < box.x + box.width && y > box.y && y < box.y + box.height).toBe(false);
        }
      }),
      { seed: SEED, numRuns: 40 },
    );
  });

  test('fitView: as large as a bare chart allows where nothing is in the way, or where everything is', () => {
    const bare = fitView(places, 900, 600, []);
    expect(bare?.clear).toBe(true);
    // 640 m across 900 px less two margins of 26 px is the tighter of the two.
    expect(bare?.metresPerPixel).toBeCloseTo(640 / 848, 6);
    const hidden = fitView(places, 900, 600, [{ x: 0, y: 0, width: 900, height: 600 }]);
    expect(hidden).toEqual({ ...bare, clear: false });
    expect(fitView(new Float64Array(0), 900, 600, [])).toBeNull();
  });

  test('placesOf: no step along a line is longer than a fiftieth of the survey', () => {
    const line = placesOf([Float64Array.of(0, 0, 1000, 0)], [500], [300], () => true);
    const xs = [...line].filter((_, i) => i % 2 === 0 && line[i + 1] === 0).sort((a, b) => a - b);
    for (let i = 1; i < xs.length; i++) expect((xs[i] as number) - (xs[i - 1] as number)).toBeLessThanOrEqual(20 + 17);
    expect([...line]).toContain(300);
  });
});

describe('crossingMarks', () => {
  test('crossingMarks: beyond the root sum of squares of both soundings, and only then', () => {
    const column = (...values: number[]) => Float64Array.from(values);
    const soundings = { n: 4, xM: column(0, 1, 100, 101), yM: column(0, 0, 0, 0), tvuM: Float32Array.of(0.3, 0.4, 0.3, 0.4), reason: new Uint8Array(4), line: Int32Array.of(1, 9, 1, 9) } as unknown as Soundings;
    const index = new KDBush(4);
    for (let i = 0; i < 4; i++) index.add(soundings.xM[i] as number, soundings.yM[i] as number);
    index.finish();
    const marks = crossingMarks({ n: 3, xM: column(0.5, 100.5, 5000), yM: column(0, 0, 0), differenceM: column(0.49, -0.51, 9), lineA: Int32Array.of(1, 1, 1), lineB: Int32Array.of(9, 9, 9), depthAM: column(), depthBM: column(), timeAS: column(), timeBS: column(), pairs: [], lines: [], standing: null, causes: [] }, soundings, index);
    expect([marks.claimedM[0], marks.claimedM[1]].map((claimed) => Number(claimed?.toFixed(6)))).toEqual([0.5, 0.5]);
    expect([0, 1, 2].map((i) => isBeyond(marks, i))).toEqual([false, true, false]);
    expect(crossingText(marks, 1)).toBe('lines 1 and 9: \u22120.51 m, beyond the ±0.50 m claimed');
    expect(crossingText(marks, 2)).toBe('lines 1 and 9: +9.00 m');
  });
});

describe('border', () => {
  const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
  const [x, y] = frame.toFrame(46.03, -29.96);
  const extent = { westM: x - 400, southM: y - 250, eastM: x + 400, northM: y + 250 };

  test('edgeGraduations: each mark lies on its meridian or parallel to a millimetre', () => {
    const step = 0.05 / 60;
    const edges = edgeGraduations(frame, extent, step, step);
    expect(edges.top.length).toBeGreaterThan(8);
    // PROJ's own forward transform, through proj4, is the check: back to the plane from the round figure.
    for (const mark of edges.top) {
      const [lat] = frame.toGeographic(extent.westM + mark.alongM, extent.northM);
      expect(frame.toFrame(lat, mark.valueDeg)[0] - extent.westM).toBeCloseTo(mark.alongM, 3);
      expect(Math.abs(mark.valueDeg / step - Math.round(mark.valueDeg / step))).toBeLessThan(1e-6);
    }
    for (const mark of edges.left) {
      const [, lon] = frame.toGeographic(extent.westM, extent.southM + mark.alongM);
      expect(frame.toFrame(mark.valueDeg, lon)[1] - extent.southM).toBeCloseTo(mark.alongM, 3);
    }
  });

  test('graduationStep: figures never closer than asked, and whole steps of the bar make a figure', () => {
    for (const minimum of [1e-6, 1e-4, 0.003, 0.2, 7]) {
      const step = graduationStep(minimum);
      expect(step.figureDeg).toBeGreaterThanOrEqual(minimum);
      expect(step.figureDeg / step.barDeg).toBeCloseTo(Math.round(step.figureDeg / step.barDeg), 9);
    }
  });

  test('graduationFigure: degrees and minutes, sides, carry at the full degree', () => {
    expect(graduationFigure(46 + 2.2 / 60, 'lat', 2)).toBe('46°02.20′ N');
    expect(graduationFigure(-(29 + 58 / 60), 'lon', 1)).toBe('29°58.0′ W');
    expect(graduationFigure(-29.9999999, 'lon', 1)).toBe('30°00.0′ W');
    expect(graduationFigure(-12.5, 'lat', 0)).toBe('12°30′ S');
  });

  test('trueNorthDeg: the convergence of the grid, by its series', () => {
    // gamma = (lon - lon0) sin(lat), first term (Snyder 1987, USGS PP 1395, eq. 8-18 on the sphere); the next term is 1e-4 of it here.
    const convergence = (-29.96 + 27) * Math.sin((46.03 * Math.PI) / 180);
    // Grid north lies east of true north by the convergence, so true north lies west of grid north by it: the sign turns.
    expect(trueNorthDeg(frame, x, y)).toBeCloseTo(-convergence, 2);
  });

  test('scaleBar: a round length that fits', () => {
    expect(scaleBar(1, 190)).toEqual({ lengthM: 100, bars: 2 });
    expect(scaleBar(1, 260)).toEqual({ lengthM: 200, bars: 4 });
    expect(scaleBar(0.1, 60)).toEqual({ lengthM: 5, bars: 5 });
  });
});

test('variationOn: the World Magnetic Model at its published test point', () => {
  // WMM2025 technical report, table of test values, 2025.0, 0 km, 80 N 0 E: declination 1.28 deg (from memory).
  expect(variationOn(Date.UTC(2025, 0, 1) / 1000, 80, 0)).toBeCloseTo(1.28, 1);
  expect(variationText(-9.08, Date.UTC(2026, 4, 13) / 1000)).toBe('var 9.1° W (2026)');
  expect(variationText(variationOn(Date.UTC(2099, 0, 1) / 1000, 46, -30), Date.UTC(2099, 0, 1) / 1000)).toBe('var not known (2099)');
});

describe('tintWindow', () => {
  const colours: TintColours = { drying: [1, 1, 1], bands: [[10, 0, 0], [20, 0, 0], [30, 0, 0], [40, 0, 0]] };
  const surface = { westM: 0, northM: 4, cellM: 1, cols: 4, rows: 4, depthM: Float32Array.from({ length: 16 }, (_, i) => [-1, 1, 3, 7, 12, 12, 12, 12, 12, 12, 12, 12, 12, 12, NaN, 12][i] as number) };

  test('tintWindow: one pixel a cell gives each cell the colour of its band, and nothing where there is no data', () => {
    // Cell centres: interpolation changes nothing there; edges are softened only within a pixel of a limit.
    const whole = tintWindow(surface, { westM: 0, northM: 4, metresPerPixel: 1, widthPx: 4, heightPx: 4 }, [2, 5, 10], colours);
    expect(whole[(3 * 4 + 2) * 4 + 3]).toBe(0);
    expect(whole[3]).toBe(255);
    expect(whole[(2 * 4 + 0) * 4]).toBe(40);
  });

  test('tintWindow: a window beyond the surface is clear', () => {
    const pixels = tintWindow(surface, { westM: 100, northM: 104, metresPerPixel: 1, widthPx: 3, heightPx: 3 }, [2, 5, 10], colours);
    expect(pixels.every((value) => value === 0)).toBe(true);
  });

  test('tintWindow: on a plane the limit of a tint falls where the depth says, to half a pixel', () => {
    const cols = 200;
    const plane = { westM: 0, northM: 1, cellM: 1, cols, rows: 1, depthM: Float32Array.from({ length: cols }, (_, c) => (c + 0.5) / 10) };
    const pixels = tintWindow(plane, { westM: 0, northM: 1, metresPerPixel: 0.25, widthPx: 800, heightPx: 1 }, [2, 5, 10], colours);
    const red = (x: number) => pixels[x * 4] as number;
    // Depth x/10 passes 5 m at 50 m: pixel 200.
    expect(red(197)).toBe(20);
    expect(red(202)).toBe(30);
    expect(red(397)).toBe(30);
    expect(red(402)).toBe(40);
  });
});
