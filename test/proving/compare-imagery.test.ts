import { describe, expect, it } from 'vitest';
import { compareImagery, type FoundThing, type ImageryColumns, type ImageryTruth } from '../../src/proving/compare-imagery.js';
import { compareMosaic } from '../../src/proving/compare-mosaic.js';
import { CURVE_PER_HA, foundCurve, pooledCurve } from '../../src/proving/found-curve.js';
import { imageryVerdict } from '../../src/proving/imagery-verdict.js';
import { createSideScanGround } from '../../src/proving/index.js';

const ground = createSideScanGround(4, { lines: 2, lengthM: 60, ground: 'plain' });
const pings = ground.truth.pings[0]!;
const truth: ImageryTruth = { pings: ground.truth.pings, objects: ground.objects, looks: ground.truth.looks };

/** What a chain without error would have made, with errors put in. */
function rows(off: { heightM?: number; eastM?: number; headingDeg?: number; leaveOut?: number } = {}): ImageryColumns {
  const n = pings.n - (off.leaveOut ?? 0);
  return {
    n,
    log: new Uint8Array(n).fill(1),
    record: Uint32Array.from({ length: n }, (_, i) => i),
    heightM: pings.heightM.slice(0, n).map((height) => height + (off.heightM ?? 0)),
    xM: pings.xM.slice(0, n).map((x) => x + (off.eastM ?? 0)),
    yM: pings.yM.slice(0, n),
    headingDeg: pings.headingDeg.slice(0, n).map((heading) => (heading + (off.headingDeg ?? 0)) % 360),
    fault: new Uint8Array(n),
    line: pings.line,
  };
}
const FILES = ['logs/scan-1.nmea', 'logs/scan-1.segy'];
const SHOWN = { n: 4, biasM: 0.2, rmsM: 0.3, p95M: 0.5, maxM: 0.5 };
const perfect: FoundThing[] = ground.objects.map(({ xM, yM, heightM }) => ({ xM, yM, xx: 0.01, xy: 0, yy: 0.01, heightM, heightSigmaM: 0.05 }));

describe('side-scan results against the truth', () => {
  it('a chain without error has no error', () => {
    const figures = compareImagery(truth, FILES, rows(), perfect, 40);
    expect(figures.pings.share).toBe(1);
    expect(figures.bottom.all.share).toBe(1);
    expect(figures.position.maxM).toBe(0);
    expect(figures.headingDeg.maxM).toBe(0);
    expect(figures.found!.large.share).toBe(1);
    expect(figures.found!.offM.maxM).toBe(0);
    expect(figures.height!.ratio.maxM).toBe(0);
    expect(figures.found!.held.share).toBe(1);
    expect(figures.false!.count).toBe(0);
    // Two lines of 60 m and their run-in, 40 m range from some 8 m up: each looked over once; strips 39 m wide to a side, 30 m apart.
    expect(figures.false!.lookedHa).toBeCloseTo((2 * 70 * 2 * 39.2) / 1e4, 1);
    expect(figures.false!.floorHa).toBeCloseTo((70 * (2 * 39.2 + 30)) / 1e4, 1);
    expect(imageryVerdict(figures, SHOWN, 'plain').every(({ met }) => met)).toBe(true);
  });

  it('errors put in come out, and break what is promised', () => {
    const figures = compareImagery(truth, FILES, rows({ heightM: 0.3, eastM: 1.2, headingDeg: 350 }), perfect.map((find) => ({ ...find, xM: find.xM + 1.5, heightM: find.heightM * 1.3 })), 40);
    expect(figures.bottom.all.count).toBe(0);
    expect(figures.bottom.errors.biasM).toBeCloseTo(0.3, 6);
    expect(figures.position.rmsM).toBeCloseTo(1.2, 6);
    expect(figures.headingDeg.biasM).toBeCloseTo(-10, 6);
    expect(figures.found!.offM.rmsM).toBeCloseTo(1.5, 6);
    expect(figures.found!.held.count).toBe(0);
    expect(figures.height!.ratio.biasM).toBeCloseTo(0.3, 6);
    expect(figures.height!.within.count).toBe(0);
    expect(imageryVerdict(figures, { ...SHOWN, rmsM: 1.1 }, 'plain').filter(({ met }) => met).map(({ what }) => what)).toEqual(['pings that came through']);
  });

  it('finds beside nothing are false; pings that are missing are told; a log that is missing is the caller\'s mistake', () => {
    const far = perfect.map((find) => ({ ...find, xM: find.xM + 500 }));
    const figures = compareImagery(truth, FILES, rows({ leaveOut: pings.n - 100 }), far, 40);
    expect(figures.false!.count).toBe(perfect.length);
    expect(figures.false!.perFloorHa).toBeCloseTo(perfect.length / figures.false!.floorHa, 9);
    expect(figures.found!.large.count).toBe(0);
    expect(figures.pings.count).toBeLessThan(100);
    expect(() => compareImagery(truth, ['logs/other.segy'], rows(), null, 40)).toThrow(/expected scan-1.segy among them/);
  });

  it('curve: looks, clear looks and objects by the threshold; a candidate beside an object or in another pass finds nothing', () => {
    const looked = { lookedHa: 2, floorHa: 1 };
    const seen = truth.looks.filter(({ line }) => line >= 0).map(({ object, log, record, side }, i) => ({ log, record: record + 5, side, xM: ground.objects[object]!.xM + 1, yM: ground.objects[object]!.yM, falsePerHa: i % 2 === 0 ? 0.05 : 3 }));
    const [first, last] = [foundCurve(truth, seen, looked, 40)[0]!, foundCurve(truth, seen, looked, 40)[CURVE_PER_HA.length - 1]!];
    expect(last.looks.share).toBe(1);
    expect(last.clearLooks.share).toBe(1);
    expect(first.looks.count).toBeLessThan(last.looks.count);
    expect(last.falseSeen).toBe(0);
    const beside = foundCurve(truth, seen.map((one) => ({ ...one, xM: one.xM + 500 })), looked, 40)[CURVE_PER_HA.length - 1]!;
    expect([beside.looks.count, beside.falseSeen, beside.perLookedHa]).toEqual([0, seen.length, seen.length / 2]);
    const elsewhere = foundCurve(truth, seen.map((one) => ({ ...one, record: one.record + 200 })), looked, 40)[CURVE_PER_HA.length - 1]!;
    expect([elsewhere.looks.count, elsewhere.falseSeen]).toEqual([0, 0]);
    const pooled = pooledCurve([{ curve: foundCurve(truth, seen, looked, 40), looked }, { curve: foundCurve(truth, [], looked, 40), looked }])[CURVE_PER_HA.length - 1]!;
    expect(pooled.looks.share).toBeCloseTo(0.5, 9);
  });

  it('mosaic: a bright patch is as far off as it was put, speckle and objects that do not show have no error', () => {
    const grid = { westM: ground.objects[9]!.xM - 10, northM: ground.objects[9]!.yM + 10, cellM: 0.25, cols: 80, rows: 80 };
    const values = new Float32Array(80 * 80).fill(128);
    // Bright cells about a place 1 m east and 0.5 m south of the object, which is the window's middle.
    for (let row = 40; row < 44; row++) for (let col = 42; col < 46; col++) values[row * 80 + col] = 128 + 4 * 12;
    const object = { ...ground.objects[9]!, natural: false };
    expect(compareMosaic({ grid, values }, [object]).maxM).toBeCloseTo(Math.hypot(1, 0.5), 6);
    expect(compareMosaic({ grid, values: new Float32Array(80 * 80).fill(128) }, [object]).n).toBe(0);
  });
});
