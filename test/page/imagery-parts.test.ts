import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { measure } from '../../src/finds/measure.js';
import { alongStroke, thinStroke } from '../../src/page/waterfall/bottom-stroke.js';
import { COLOUR_SCALES, scaleColours } from '../../src/page/waterfall/colour-scales.js';
import { echoOfPlace, groundOfSlant, placeOfEcho } from '../../src/page/waterfall/echo-place.js';
import { levelColours, mosaicLook } from '../../src/page/waterfall/level-colours.js';
import { pingRunAt, pingRuns } from '../../src/page/waterfall/ping-runs.js';
import { readOffByHand, type HandGround } from '../../src/finds/by-hand.js';
import { acrossAt, fitWindow, rowAt, tilesOf, xAt, yAt, zoomed, type PlotBox } from '../../src/page/waterfall/waterfall-window.js';
import type { LoadedPings } from '../../src/page/work/imagery-messages.js';
import { colourValues } from '../../src/page/work/raster-tiles.js';
import { colourLevels } from '../../src/page/work/waterfall-tiles.js';

/** Lightness L* of an sRGB colour. Source: IEC 61966-2-1 and CIE 15, written apart from the code under test. */
function lightness(r: number, g: number, b: number): number {
  const linear = (channel: number): number => (channel / 255 <= 0.04045 ? channel / 255 / 12.92 : ((channel / 255 + 0.055) / 1.055) ** 2.4);
  const y = 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
  return y > 216 / 24_389 ? 116 * Math.cbrt(y) - 16 : (24_389 / 27) * y;
}

/** Pings straight along a heading, a metre apart, on two lines side by side. */
function pingsOf(n: number, headingDeg: number, height = 8): LoadedPings {
  const rad = (headingDeg * Math.PI) / 180;
  const half = n >> 1;
  const at = (k: number): readonly [number, number] => {
    const along = k % half;
    const aside = k < half ? 0 : 40;
    return [500_000 + along * Math.sin(rad) + aside * Math.cos(rad), 5_000_000 + along * Math.cos(rad) - aside * Math.sin(rad)];
  };
  const of = (value: number): Float32Array => new Float32Array(n).fill(value);
  return {
    n, timeS: Float64Array.from({ length: n }, (_, k) => 1e9 + k), log: new Uint16Array(n), record: Uint32Array.from({ length: n }, (_, k) => k), portSamples: new Uint32Array(n).fill(500), starboardSamples: new Uint32Array(n).fill(500),
    intervalS: new Float64Array(n).fill(1e-4), delayS: new Float64Array(n), xM: Float64Array.from({ length: n }, (_, k) => at(k)[0]), yM: Float64Array.from({ length: n }, (_, k) => at(k)[1]), gridHeadingDeg: of(headingDeg), speedMps: of(1), sigmaM: of(0.2), headingSigmaDeg: of(0.5),
    line: Int32Array.from({ length: n }, (_, k) => (k < half ? 1 : 2)), fault: new Uint8Array(n), portSlope: of(0), starboardSlope: of(0), firstEchoM: of(height), heightSigmaM: of(0.05), confidence: of(1), source: new Uint8Array(n).fill(1),
  };
}

describe('colour scales', () => {
  test.each(COLOUR_SCALES)('%s: lightness rises evenly from weak to strong', (scale) => {
    const colours = scaleColours(scale);
    const L = Array.from({ length: 256 }, (_, k) => lightness(colours[3 * k] as number, colours[3 * k + 1] as number, colours[3 * k + 2] as number));
    const step = ((L[255] as number) - (L[0] as number)) / 255;
    expect((L[255] as number) - (L[0] as number)).toBeGreaterThan(75);
    // Channels are whole numbers: a step is known to about half of one.
    for (let k = 0; k < 256; k++) expect(Math.abs((L[k] as number) - ((L[0] as number) + k * step))).toBeLessThan(1);
  });

  test('levelColours: brighter moves the colours down, contrast is their width; the mosaic follows', () => {
    const look = { levels: 'evened', scale: 'grey', strongDark: false, gainDb: 0, contrastDb: 30, middleDb: NaN } as const;
    const plain = levelColours(look);
    const brighter = levelColours({ ...look, gainDb: 6 });
    expect(brighter.lowDb).toBeCloseTo(plain.lowDb - 6, 9);
    expect(brighter.highDb - brighter.lowDb).toBeCloseTo(30, 9);
    const mosaic = mosaicLook({ scale: 'grey', strongDark: false, gainDb: 6, contrastDb: 30 });
    expect(mosaic.high - mosaic.low).toBeCloseTo(30, 9);
    expect(mosaic.zero).toBe(128);
    const dark = levelColours({ ...look, strongDark: true });
    expect([...dark.colours.subarray(0, 3)]).toEqual([...plain.colours.subarray(765, 768)]);
  });
});

describe('pictures', () => {
  const grey = scaleColours('grey');

  test('colourLevels: port is mirrored to the left, starboard to the right, the last ping on top, silence clear', () => {
    // Two pings of two columns: port from the track outward, then starboard.
    const levels = Int16Array.of(0, 1000, 2000, -32_768, 0, 0, 1000, 2000);
    const out = colourLevels(levels, 2, 2, { lowDb: 0, highDb: 20, colours: grey });
    const shade = (x: number, y: number): number => (out[(y * 4 + x) * 4 + 3] === 0 ? -1 : (out[(y * 4 + x) * 4] as number));
    const [dark, middle, light] = [grey[0] as number, grey[128 * 3] as number, grey[255 * 3] as number];
    // Ping 1 on top: port [2000, none], starboard [1000, 2000].
    expect([0, 1, 2, 3].map((x) => shade(x, 0))).toEqual([-1, light, middle, light]);
    expect([0, 1, 2, 3].map((x) => shade(x, 1))).toEqual([middle, dark, dark, dark]);
  });

  test('colourValues: a byte of the mosaic is a quarter decibel about 128; 0 and NaN are clear; nothing to be seen is null', () => {
    const look = { zero: 128, perStep: 0.25, low: -10, high: 10, colours: grey, clear: 0 };
    const out = colourValues(Uint8Array.of(0, 128, 168, 88), look) as Uint8ClampedArray;
    expect([...out].filter((_, k) => k % 4 === 3)).toEqual([0, 255, 255, 255]);
    expect([out[4], out[8], out[12]]).toEqual([grey[128 * 3], grey[255 * 3], grey[0]]);
    expect(colourValues(Uint8Array.of(0, 0), look)).toBeNull();
    expect(colourValues(Float32Array.of(NaN), { ...look, clear: null })).toBeNull();
  });
});

describe('bottom drawn by hand', () => {
  test('thinStroke: what is left says the whole stroke within its tolerance, by rising rows', () => {
    fc.assert(
      fc.property(fc.array(fc.record({ row: fc.integer({ min: 0, max: 400 }), slantM: fc.double({ min: 1, max: 30, noNaN: true }) }), { minLength: 1, maxLength: 120 }), (points) => {
        const thin = thinStroke(points, 0.05);
        const drawn = new Map<number, number>();
        alongStroke(thin, (row, slantM) => drawn.set(row, slantM));
        const last = new Map(points.map(({ row, slantM }) => [row, slantM]));
        for (const [row, slantM] of last) expect(Math.abs((drawn.get(row) as number) - slantM)).toBeLessThanOrEqual(0.05 + 1e-9);
        for (let k = 1; k < thin.length; k++) expect((thin[k] as { row: number }).row).toBeGreaterThan((thin[k - 1] as { row: number }).row);
      }),
      { seed: 20260513, numRuns: 200 },
    );
  });

  test('thinStroke: a straight stroke is its two ends; one point is itself', () => {
    const straight = Array.from({ length: 90 }, (_, k) => ({ row: k, slantM: 5 + 0.02 * k }));
    expect(thinStroke(straight)).toHaveLength(2);
    expect(thinStroke([{ row: 7, slantM: 4 }])).toEqual([{ row: 7, slantM: 4 }]);
    const rows: number[] = [];
    alongStroke([{ row: 7, slantM: 4 }], (row) => rows.push(row));
    expect(rows).toEqual([7]);
  });
});

describe('places of echoes', () => {
  test('placeOfEcho: 10 m of slant over 6 m of height are 8 m to port, left of the heading; to starboard right of it', () => {
    const pings = pingsOf(40, 90, 6);
    const port = placeOfEcho(pings, { row: 5, side: 'port', slantM: 10 });
    expect(port?.groundM).toBeCloseTo(8, 5);
    // Heading east: port is north.
    expect((port?.yM as number) - (pings.yM[5] as number)).toBeCloseTo(8, 5);
    expect((port?.xM as number) - (pings.xM[5] as number)).toBeCloseTo(0, 5);
    expect((placeOfEcho(pings, { row: 5, side: 'starboard', slantM: 10 })?.yM as number) - (pings.yM[5] as number)).toBeCloseTo(-8, 5);
    expect(placeOfEcho(pings, { row: 5, side: 'port', slantM: 5 })).toBeNull();
    expect(Number.isNaN(groundOfSlant(pings, 5, 'port', 5))).toBe(true);
  });

  test('echoOfPlace: the echo a place came from, on the run at hand first, else the nearest; none where nothing was run', () => {
    const pings = pingsOf(200, 37);
    const runs = pingRuns(pings, 1500);
    expect(runs.map(({ line, rowStart, rowEnd }) => [line, rowStart, rowEnd])).toEqual([[1, 0, 100], [2, 100, 200]]);
    expect(pingRunAt(runs, 150)).toBe(1);
    fc.assert(
      fc.property(fc.integer({ min: 3, max: 96 }), fc.constantFrom('port', 'starboard'), fc.double({ min: 9, max: 36, noNaN: true }), fc.constantFrom(0, 1), (along, side, slantM, run) => {
        const row = along + 100 * run;
        const place = placeOfEcho(pings, { row, side: side as 'port', slantM });
        const back = echoOfPlace(pings, runs, (place as { xM: number }).xM, (place as { yM: number }).yM, run);
        expect(back).toMatchObject({ row, side });
        expect(back?.slantM).toBeCloseTo(slantM, 3);
      }),
      { seed: 6, numRuns: 150 },
    );
    // Between the lines, nearer to the second: with neither at hand it is the second's.
    const between = placeOfEcho(pings, { row: 150, side: 'port', slantM: Math.hypot(8, 12) }) as { xM: number; yM: number };
    expect(echoOfPlace(pings, runs, between.xM, between.yM, -1)?.row).toBe(150);
    expect(echoOfPlace(pings, runs, 510_000, 5_000_000, 0)).toBeNull();
  });
});

describe('waterfall window', () => {
  const box: PlotBox = { left: 54, top: 26, width: 400, height: 600 };
  const run = { rowStart: 1000, rowEnd: 9000, log: 0, line: 3, rangeM: 40, alongM: 0.25, box: { westM: 0, southM: 0, eastM: 0, northM: 0 } };

  test('fitWindow: the full range across, true to scale along, later pings higher', () => {
    const window = fitWindow(run, box);
    expect(acrossAt(window, box, box.left)).toBeCloseTo(-40, 6);
    expect(acrossAt(window, box, box.left + box.width)).toBeCloseTo(40, 6);
    expect(window.pingsPerPx * run.alongM).toBeCloseTo(window.metresPerPx, 9);
    expect(rowAt(window, box, box.top + box.height)).toBeCloseTo(1000, 6);
    expect(rowAt(window, box, box.top)).toBeGreaterThan(1000);
  });

  test('zoomed: what is under the pointer stays under it while there is room, and places go there and back', () => {
    fc.assert(
      fc.property(fc.double({ min: 1, max: 6, noNaN: true }), fc.double({ min: 0.2, max: 0.8, noNaN: true }), fc.double({ min: 0.2, max: 0.8, noNaN: true }), (by, fx, fy) => {
        const window = { ...fitWindow(run, box), centreRow: 5000 };
        const [x, y] = [box.left + fx * box.width, box.top + fy * box.height];
        const closer = zoomed(window, by, x, y, run, box);
        expect(rowAt(closer, box, y)).toBeCloseTo(rowAt(window, box, y), 5);
        expect(acrossAt(closer, box, x)).toBeCloseTo(acrossAt(window, box, x), 5);
        expect(yAt(closer, box, rowAt(closer, box, y))).toBeCloseTo(y, 6);
        expect(xAt(closer, box, acrossAt(closer, box, x))).toBeCloseTo(x, 6);
      }),
      { seed: 4, numRuns: 100 },
    );
  });

  test('tilesOf: every row in view lies in one tile, none beyond the run, those in the middle first', () => {
    for (const centreRow of [1100, 5000, 8990]) {
      const window = { ...fitWindow(run, box), centreRow };
      const tiles = tilesOf(window, run, box, 1);
      const [low, high] = [Math.max(1000, Math.ceil(rowAt(window, box, box.top + box.height))), Math.min(8999, Math.floor(rowAt(window, box, box.top)))];
      for (let row = low; row <= high; row += 7) expect(tiles.filter(({ from, to }) => row >= from && row < to)).toHaveLength(1);
      for (const { from, to, width, step } of tiles) {
        expect(from >= 1000 && to <= 9000 && to > from).toBe(true);
        expect(width >= 256 && width <= 2048 && step >= 1).toBe(true);
      }
      const off = tiles.map(({ from, to }) => Math.abs((from + to) / 2 - centreRow));
      expect([...off].sort((a, b) => a - b)).toEqual(off);
    }
  });
});

describe('measuring by hand', () => {
  const groundOf = (pings: LoadedPings): HandGround => ({ track: pings, firstEchoM: pings.firstEchoM, heightSigmaM: pings.heightSigmaM, intervalS: pings.intervalS, soundSpeedMps: 1500, beamDeg: 1 });
  const drawn = { side: 'starboard', rowStart: 10, rowEnd: 14, slantStartM: 19.4, slantEndM: 20, shadowEndM: 22 } as const;

  test('readOffByHand: the published height of C-13 from a shadow drawn by hand, and a coarser picture knows less', () => {
    // IHO C-13 (2005) ch. 4: h 5 m, R 20 m, S 2 m: H = S h / (R + S) = 0.4545 m.
    const ground = groundOf(pingsOf(40, 90, 5));
    const fine = measure(readOffByHand({ ...drawn, handM: 0.03 }, ground)!);
    expect(fine.height.value).toBeCloseTo(0.4545, 3);
    const coarse = measure(readOffByHand({ ...drawn, handM: 0.3 }, ground)!);
    expect(coarse.height.value).toBeCloseTo(fine.height.value, 9);
    expect(coarse.height.sigma).toBeGreaterThan(3 * fine.height.sigma);
    // From the first of four pings to the last, 1 m apart, less the beam of a degree at 20 m: sqrt(3^2 - 0.349^2).
    expect(fine.length.value).toBeCloseTo(2.98, 2);
  });

  test('readOffByHand: on a floor that rises to the side the sonar stands less high over the object; none nearer than the floor', () => {
    const pings = pingsOf(40, 90, 5);
    const rise = 0.1;
    // 5 m above the floor straight below, so 3.1 m above it 19 m to starboard.
    const sloping = { ...pings, firstEchoM: pings.firstEchoM.map(() => 5 / Math.sqrt(1 + rise * rise)), starboardSlope: pings.starboardSlope.map(() => rise), portSlope: pings.portSlope.map(() => -rise) };
    const foot = Math.hypot(19, 3.1);
    expect(readOffByHand({ ...drawn, slantStartM: foot - 0.5, slantEndM: foot, shadowEndM: foot + 2, handM: null }, groundOf(sloping))!.sonarHeightM).toBeCloseTo(3.1, 3);
    expect(readOffByHand({ ...drawn, slantStartM: 3, slantEndM: 4, shadowEndM: 4.5, handM: null }, groundOf(pings))).toBeNull();
  });
});
