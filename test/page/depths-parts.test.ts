import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { reasonCode, type Soundings } from '../../src/depths/soundings.js';
import { cameraFor, orbit, pan, project, zoomAt, type Camera } from '../../src/page/points/camera.js';
import { changeSelected, pointCloud, pointStates, slotStep } from '../../src/page/points/point-cloud.js';
import { SELECTED } from '../../src/page/points/point-painter.js';
import { depthWindow, distanceAlong, neighboursOf } from '../../src/page/profile/profile-data.js';
import { flaggedStretches, stretchFrom } from '../../src/page/select/flagged-stretches.js';
import { joinRows, NO_ROWS, rowsBeyond, selectRows, withoutRows } from '../../src/page/select/rows.js';
import { rowsOfLine, runAt, runsOf } from '../../src/page/select/runs.js';
import { ScreenIndex } from '../../src/page/select/screen-index.js';
import { ShownDecisions } from '../../src/page/state/shown-decisions.js';
import { correctionCurve, correctionNotes } from '../../src/page/work/read-corrections.js';
import { layerOf, tintLayerWindow } from '../../src/page/work/floor-layers.js';
import { answerFloor } from '../../src/page/work/ask-floor.js';
import { seededRandom } from './seeded-random.js';

const BY_HAND = reasonCode('by-hand');
const NO_POSITION = reasonCode('no-position');
const DOUBLE = reasonCode('double-echo');

/** Soundings a second apart, east along a line, 1 m apart. */
function soundingsOf(n: number, change: Partial<Record<keyof Soundings, ArrayLike<number>>> = {}): Soundings {
  const column = <T>(make: (from: ArrayLike<number>) => T, name: keyof Soundings, value: (i: number) => number): T => make(change[name] ?? Array.from({ length: n }, (_, i) => value(i)));
  const f64 = (from: ArrayLike<number>) => Float64Array.from(from);
  const f32 = (from: ArrayLike<number>) => Float32Array.from(from);
  return {
    n,
    timeS: column(f64, 'timeS', (i) => 1000 + i),
    xM: column(f64, 'xM', (i) => 500_000 + i),
    yM: column(f64, 'yM', () => 5_000_000),
    measuredM: column(f32, 'measuredM', () => 5),
    depthM: column(f32, 'depthM', () => 5),
    waterLevelM: column(f32, 'waterLevelM', () => 0),
    tvuM: column(f32, 'tvuM', () => 0.1),
    thuM: column(f32, 'thuM', () => 1),
    reason: column((from) => Uint8Array.from(from), 'reason', () => 0),
    ruleReason: column((from) => Uint8Array.from(from), 'ruleReason', () => 0),
    line: column((from) => Int32Array.from(from), 'line', () => 1),
    log: column((from) => Uint16Array.from(from), 'log', () => 0),
    record: column((from) => Uint32Array.from(from), 'record', (i) => i),
  };
}

describe('rows of a selection', () => {
  const rows = fc.array(fc.nat(199), { maxLength: 80 });
  test('joinRows, withoutRows: as sets, ascending, whatever the order given', () => {
    fc.assert(
      fc.property(rows, rows, (a, b) => {
        expect([...joinRows(200, a, b)]).toEqual([...new Set([...a, ...b])].sort((p, q) => p - q));
        expect([...withoutRows(200, a, b)]).toEqual([...new Set(a)].filter((one) => !b.includes(one)).sort((p, q) => p - q));
      }),
      { seed: 11 },
    );
  });
  test('selectRows, rowsBeyond: few rows merged in order give what a mask of the survey gives, for any order and repeats', () => {
    fc.assert(
      fc.property(rows, rows, (a, b) => {
        const selection = joinRows(200, NO_ROWS, a);
        expect([...selectRows(200, selection, b, 'add')]).toEqual([...joinRows(200, selection, b)]);
        expect([...selectRows(200, selection, b, 'remove')]).toEqual([...withoutRows(200, selection, b)]);
        const other = joinRows(200, NO_ROWS, b);
        expect([...rowsBeyond(selection, other)]).toEqual([...withoutRows(200, selection, other)]);
        // What was taken in and out is all that states change by.
        const states = new Uint8Array(200);
        changeSelected(200, selection, NO_ROWS, states);
        changeSelected(200, rowsBeyond(other, selection), rowsBeyond(selection, other), states);
        expect([...states]).toEqual([...pointStates({ n: 200, reason: new Uint8Array(200) }, other, new Uint8Array(200))]);
      }),
      { seed: 12 },
    );
  });
  test('selectRows: the same object where nothing changed', () => {
    const now = Int32Array.of(2, 5);
    expect(selectRows(10, now, [5], 'add')).toBe(now);
    expect(selectRows(10, now, [], 'remove')).toBe(now);
    expect([...selectRows(10, now, [], 'replace')]).toEqual([]);
  });
});

describe('runs', () => {
  test('runsOf: broken by silence and by another line; a line taken up again at once is one run', () => {
    const line = [1, 1, -1, 1, 1, -1, -1, 2, 2, 2];
    const timeS = [0, 1, 2, 3, 4, 5, 6, 7, 8, 60];
    expect(runsOf({ n: 10, timeS: Float64Array.from(timeS), line: Int32Array.from(line) })).toEqual([
      { line: 1, rowStart: 0, rowEnd: 5 },
      { line: -1, rowStart: 5, rowEnd: 7 },
      { line: 2, rowStart: 7, rowEnd: 9 },
      { line: 2, rowStart: 9, rowEnd: 10 },
    ]);
    expect(runsOf({ n: 0, timeS: new Float64Array(0), line: new Int32Array(0) })).toEqual([]);
  });
  test('runs: each row lies in exactly one, whatever the lines and silences', () => {
    fc.assert(
      fc.property(fc.array(fc.record({ line: fc.integer({ min: -1, max: 2 }), gap: fc.constantFrom(1, 1, 5, 30) }), { minLength: 1, maxLength: 60 }), (steps) => {
        let t = 0;
        const columns = { n: steps.length, timeS: Float64Array.from(steps, ({ gap }) => (t += gap)), line: Int32Array.from(steps, ({ line }) => line) };
        const runs = runsOf(columns);
        expect(runs[0]?.rowStart).toBe(0);
        expect(runs.at(-1)?.rowEnd).toBe(steps.length);
        for (let k = 1; k < runs.length; k++) expect(runs[k]?.rowStart).toBe(runs[k - 1]?.rowEnd);
        for (let i = 0; i < steps.length; i++) {
          const run = runs[runAt(runs, i)];
          expect(i >= (run?.rowStart as number) && i < (run?.rowEnd as number)).toBe(true);
        }
        for (let i = 0; i < steps.length; i++) if ((columns.line[i] as number) >= 0) expect([...rowsOfLine(columns, runs, i)]).toEqual([...columns.line.keys()].filter((k) => columns.line[k] === columns.line[i]));
      }),
      { seed: 5 },
    );
  });
});

describe('flagged stretches', () => {
  test('flaggedStretches: near ones together, far ones apart, by one reason alone where asked', () => {
    const s = soundingsOf(30, { reason: Array.from({ length: 30 }, (_, i) => ([3, 5, 6].includes(i) ? DOUBLE : i === 20 ? NO_POSITION : 0)) });
    expect(flaggedStretches(s, null)).toEqual([
      { rowStart: 3, rowEnd: 7, count: 3, reason: DOUBLE },
      { rowStart: 20, rowEnd: 21, count: 1, reason: NO_POSITION },
    ]);
    expect(flaggedStretches(s, NO_POSITION)).toEqual([{ rowStart: 20, rowEnd: 21, count: 1, reason: NO_POSITION }]);
    expect(flaggedStretches(soundingsOf(4), null)).toEqual([]);
  });
  test('stretchFrom: goes round at both ends', () => {
    const all = [3, 20].map((rowStart) => ({ rowStart, rowEnd: rowStart + 1, count: 1, reason: 1 }));
    expect([-1, 3, 20].map((row) => stretchFrom(all, row, 1))).toEqual([0, 1, 0]);
    expect([3, 20, Infinity].map((row) => stretchFrom(all, row, -1))).toEqual([1, 0, 1]);
    expect(stretchFrom([], 0, 1)).toBe(-1);
  });
});

describe('ScreenIndex', () => {
  test('inBox, within, nearest: as a look at every point, points off the screen left out', () => {
    const random = seededRandom(3);
    const n = 400;
    const x = Float32Array.from({ length: n }, (_, i) => (i % 17 === 0 ? NaN : random() * 240 - 20));
    const y = Float32Array.from({ length: n }, () => random() * 170 - 10);
    const index = new ScreenIndex(null, x, y, 200, 150);
    const on = (i: number) => (x[i] as number) >= 0 && (y[i] as number) >= 0 && (x[i] as number) < 200 && (y[i] as number) < 150;
    const rows = [...Array(n).keys()].filter(on);
    for (let k = 0; k < 60; k++) {
      const [cx, cy, r] = [random() * 200, random() * 150, random() * 40];
      const far = (i: number) => Math.hypot((x[i] as number) - cx, (y[i] as number) - cy);
      expect([...index.within(cx, cy, r)].sort((a, b) => a - b)).toEqual(rows.filter((i) => far(i) <= r));
      expect([...index.inBox(cx - r, cy - r / 2, cx + r, cy + r)].sort((a, b) => a - b)).toEqual(rows.filter((i) => Math.abs((x[i] as number) - cx) <= r && (y[i] as number) >= cy - r / 2 && (y[i] as number) <= cy + r));
      const nearest = rows.filter((i) => far(i) <= r).sort((a, b) => far(a) - far(b))[0] ?? -1;
      expect(index.nearest(cx, cy, r)).toBe(nearest);
    }
  });
});

describe('camera', () => {
  const camera: Camera = { xM: 500_000, yM: 5_000_000, depthM: 10, bearingDeg: 30, tiltDeg: 40, pxPerM: 3, exaggeration: 4 };
  test('project: straight down it is a chart, level it is a section, north up', () => {
    const down = project({ ...camera, bearingDeg: 0, tiltDeg: 90 }, 200, 100, 500_010, 5_000_020, 99);
    expect([down.x, down.y].map((v) => Number(v.toFixed(6)))).toEqual([130, -10]);
    // Looking north and level: east to the right, 1 m of depth 3 x 4 px down.
    const level = project({ ...camera, bearingDeg: 0, tiltDeg: 0 }, 200, 100, 500_010, 5_000_020, 11);
    expect([level.x, level.y].map((v) => Number(v.toFixed(6)))).toEqual([130, 62]);
    // Looking east: north is to the left.
    expect(project({ ...camera, bearingDeg: 90, tiltDeg: 0 }, 200, 100, 500_000, 5_000_010, 10).x).toBeCloseTo(70, 6);
  });
  test('pan: what is dragged stays under the hand; zoomAt: what is under the pointer stays there', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 359, noNaN: true }), fc.double({ min: 0, max: 90, noNaN: true }), fc.integer({ min: -80, max: 80 }), fc.integer({ min: -80, max: 80 }), fc.double({ min: 0.5, max: 2, noNaN: true }), (bearingDeg, tiltDeg, dx, dy, by) => {
        const from = { ...camera, bearingDeg, tiltDeg };
        const at = [500_007, 5_000_003, 12] as const;
        const before = project(from, 300, 300, ...at);
        const after = project(pan(from, dx, dy), 300, 300, ...at);
        expect(after.x - before.x).toBeCloseTo(dx, 4);
        expect(after.y - before.y).toBeCloseTo(dy, 4);
        const zoomed = project(zoomAt(from, by, before.x - 150, before.y - 150), 300, 300, ...at);
        expect(zoomed.x).toBeCloseTo(before.x, 4);
        expect(zoomed.y).toBeCloseTo(before.y, 4);
      }),
      { seed: 2 },
    );
  });
  test('orbit: never under the bottom, all the way round; cameraFor: the whole box is in view', () => {
    expect(orbit(camera, 350, -80)).toMatchObject({ bearingDeg: 20, tiltDeg: 0 });
    expect(orbit(camera, -40, 80)).toMatchObject({ bearingDeg: 350, tiltDeg: 90 });
    const fitted = cameraFor({ westM: 0, eastM: 900, southM: 0, northM: 300, shoalM: 2, deepM: 14 }, 600, 400);
    for (const x of [0, 900]) for (const y of [0, 300]) for (const d of [2, 14]) {
      const at = project(fitted, 600, 400, x, y, d);
      expect(at.x).toBeGreaterThanOrEqual(0);
      expect(at.x).toBeLessThanOrEqual(600);
      expect(at.y).toBeGreaterThanOrEqual(0);
      expect(at.y).toBeLessThanOrEqual(400);
    }
  });
});

describe('point cloud', () => {
  test('slotStep: every slot once, for any number of points', () => {
    for (let n = 1; n < 300; n++) {
      const step = slotStep(n);
      expect(new Set(Array.from({ length: n }, (_, i) => (i * step) % n)).size).toBe(n);
    }
  });
  test('pointCloud, pointStates: each sounding in its slot with its reason and whether it is selected; without a place far away', () => {
    const n = 101;
    const s = soundingsOf(n, { xM: Array.from({ length: n }, (_, i) => (i === 7 ? NaN : 500_000 + i)), reason: Array.from({ length: n }, (_, i) => (i === 7 ? NO_POSITION : 0)), depthM: Array.from({ length: n }, (_, i) => 3 + i / 10) });
    const cloud = pointCloud(s);
    const states = pointStates(s, Int32Array.of(0, 100), new Uint8Array(n));
    const step = slotStep(n);
    for (let i = 0; i < n; i++) {
      const slot = (i * step) % n;
      if (i === 7) expect(cloud.place[3 * slot]).toBeGreaterThan(1e8);
      else expect((cloud.place[3 * slot] as number) + cloud.middle.xM).toBeCloseTo(500_000 + i, 3);
      expect(states[slot]).toBe(i === 7 ? NO_POSITION : i === 0 || i === 100 ? SELECTED : 0);
    }
    expect([cloud.shoalM, cloud.deepM].map((v) => Number(v.toFixed(4)))).toEqual([3, 13]);
    // A tenth of the slots shows all parts of the line.
    const east = [...Array(10).keys()].map((slot) => (cloud.place[3 * slot] as number) + cloud.middle.xM - 500_000).filter((x) => x < 1e6).sort((a, b) => a - b);
    expect(Math.max(...east.slice(1).map((x, k) => x - (east[k] as number)))).toBeLessThan(25);
  });
});

describe('profile', () => {
  test('distanceAlong: jumps add nothing, and one without a place stands between its neighbours by time', () => {
    const s = soundingsOf(5, { xM: [0, 10, NaN, 20, 400], reason: [0, 0, NO_POSITION, 0, reasonCode('position-jump')], timeS: [0, 1, 1.5, 2, 3] });
    expect([...distanceAlong(s, { line: 1, rowStart: 0, rowEnd: 5 })]).toEqual([0, 10, 15, 20, 20]);
  });
  test('neighboursOf: those of other runs in reach, where the run passes them, none of its own', () => {
    // A line of 100 m, and one that crosses it at 40 m with a sounding every metre.
    const n = 101 + 41;
    const s = soundingsOf(n, { xM: Array.from({ length: n }, (_, i) => (i <= 100 ? i : 40)), yM: Array.from({ length: n }, (_, i) => (i <= 100 ? 0 : i - 121)), line: Array.from({ length: n }, (_, i) => (i <= 100 ? 1 : 2)) });
    const run = { line: 1, rowStart: 0, rowEnd: 101 };
    const within = (x: number, y: number, reach: number) => [...Array(n).keys()].filter((i) => Math.hypot((s.xM[i] as number) - x, (s.yM[i] as number) - y) <= reach);
    const found = neighboursOf(s, run, distanceAlong(s, run), 5, within, 1000);
    expect([...found.rows].sort((a, b) => a - b)).toEqual([...Array(n).keys()].filter((i) => i > 100 && Math.abs(s.yM[i] as number) <= 5));
    for (let k = 0; k < found.rows.length; k++) {
      expect(Math.abs((found.along[k] as number) - 40)).toBeLessThanOrEqual(1);
      expect(found.offM[k]).toBeCloseTo(Math.abs(s.yM[found.rows[k] as number] as number), 1);
    }
  });
  test('depthWindow: holds every good sounding of the window, not the spikes', () => {
    const s = soundingsOf(10, { depthM: [5, 5.2, 5.1, 40, 5, 5, 5, 9, 9, 9], reason: [0, 0, 0, DOUBLE, 0, 0, 0, 0, 0, 0] });
    const run = { line: 1, rowStart: 0, rowEnd: 10 };
    const [low, high] = depthWindow(s, run, distanceAlong(s, run), 0, 6);
    expect(low).toBeLessThan(5);
    expect(high).toBeGreaterThan(5.2);
    expect(high).toBeLessThan(9);
  });
});

describe('decisions ahead of the build', () => {
  test('ShownDecisions: any order of deciding, undoing and redoing gives what replaying the standing ones gives', () => {
    const act = fc.oneof(
      fc.record({ do: fc.constantFrom('set-aside' as const, 'restore' as const), rows: fc.uniqueArray(fc.nat(19), { minLength: 1, maxLength: 8 }) }),
      fc.record({ do: fc.constantFrom('undo' as const, 'redo' as const) }),
    );
    fc.assert(
      fc.property(fc.array(act, { maxLength: 25 }), (acts) => {
        const first = Array.from({ length: 20 }, (_, i) => (i % 5 === 0 ? NO_POSITION : i % 3 === 0 ? DOUBLE : 0));
        const s = soundingsOf(20, { reason: first, ruleReason: first });
        const shown = new ShownDecisions();
        const stood: { kind: 'set-aside' | 'restore'; rows: number[]; entry: number }[] = [];
        let undone: typeof stood = [];
        let entry = 0;
        for (const one of acts) {
          if ('rows' in one) {
            shown.show(s, one.do, Int32Array.from(one.rows)).entry = ++entry;
            stood.push({ kind: one.do, rows: one.rows, entry });
            undone = [];
          } else if (one.do === 'undo') {
            const last = stood.pop();
            if (last === undefined) continue;
            const found = shown.last(last.entry);
            expect(found).not.toBeNull();
            shown.undo(s, found as NonNullable<typeof found>);
            undone.push(last);
          } else {
            const next = undone.pop();
            if (next === undefined) continue;
            const found = shown.firstUndone(next.entry);
            expect(found).not.toBeNull();
            shown.redo(s, found as NonNullable<typeof found>);
            stood.push(next);
          }
          const expected = [...first];
          for (const { kind, rows } of stood) for (const row of rows) expected[row] = kind === 'set-aside' ? BY_HAND : first[row] === NO_POSITION ? NO_POSITION : 0;
          expect([...s.reason]).toEqual(expected);
        }
      }),
      { seed: 8, numRuns: 300 },
    );
  });
  test('ShownDecisions: a refused one is taken back from under a later one; older soundings get what they lack, newer ones nothing', () => {
    const s = soundingsOf(6);
    const shown = new ShownDecisions();
    const first = shown.show(s, 'set-aside', Int32Array.of(0, 1, 2));
    const second = shown.show(s, 'set-aside', Int32Array.of(2, 3));
    shown.refuse(s, first);
    expect([...s.reason]).toEqual([0, 0, BY_HAND, BY_HAND, 0, 0]);
    second.entry = 1;
    const older = soundingsOf(6);
    shown.loaded(older, false);
    expect([...older.reason]).toEqual([0, 0, BY_HAND, BY_HAND, 0, 0]);
    const newer = soundingsOf(6, { reason: [0, 0, BY_HAND, BY_HAND, 0, 0] });
    shown.loaded(newer, true);
    expect([...newer.reason]).toEqual([0, 0, BY_HAND, BY_HAND, 0, 0]);
    shown.undo(newer, second);
    expect([...newer.reason]).toEqual([0, 0, 0, 0, 0, 0]);
    // Soundings of another number of rows: nothing that was decided can be shown on them.
    const other = soundingsOf(7);
    shown.loaded(other, false);
    expect([...other.reason]).toEqual([0, 0, 0, 0, 0, 0, 0]);
  });
});

describe('corrections', () => {
  test('correctionCurve: label and switch from the file and the settings; told by its name where the file says nothing', () => {
    const notes = correctionNotes([{ key: 'caution', value: 'x' }, { key: 'corrections', value: '[{"column":"slopeM","label":"slope under the beam","on":false,"horizontal":false}]' }]);
    expect(correctionCurve('slopeM', Float32Array.of(NaN, -1, 2), notes[0])).toMatchObject({ label: 'slope under the beam', on: false, horizontal: false, setting: 'sounder.slopeCorrection', leastM: -1, mostM: 2 });
    expect(correctionCurve('latencyAlongM', Float32Array.of(0.5), undefined)).toMatchObject({ label: 'latency along', on: true, horizontal: true, setting: 'corrections.latency' });
    expect(correctionCurve('referenceM', Float32Array.of(NaN), undefined)).toMatchObject({ setting: null, leastM: NaN, mostM: NaN });
    expect(correctionNotes([])).toEqual([]);
  });
});

describe('floor', () => {
  const grid = { westM: 0, northM: 40, cellM: 1, cols: 60, rows: 40 };
  // A plane that gets 0.1 m deeper for each metre east.
  const depth = { grid, values: Float32Array.from({ length: 2400 }, (_, cell) => 5 + 0.1 * ((cell % 60) + 0.5)) };
  const flat = (value: number) => ({ grid, values: new Float32Array(2400).fill(value) });
  const floor = { depth, uncertainty: flat(0.2), count: flat(3) };
  test('answerFloor: the plane along a line, and inside a ring its volumes, mean and slope in closed form', () => {
    const along = answerFloor(floor, { kind: 'profile', line: Float64Array.of(10, 20, 30, 20) });
    if (along.kind !== 'profile') throw new Error('a profile was asked for');
    expect(along.profile.lengthM).toBe(20);
    expect([along.shoalM, along.deepM].map((v) => Number(v.toFixed(4)))).toEqual([6, 8]);
    expect(along.knownShare).toBe(1);
    const inside = answerFloor(floor, { kind: 'inside', ring: Float64Array.of(10, 10, 30, 10, 30, 30, 10, 30), levelM: 7 });
    if (inside.kind !== 'inside') throw new Error('an area was asked for');
    expect(inside.areaM2).toBe(400);
    expect(inside.meanM).toBeCloseTo(7, 4);
    expect(inside.slopeMeanDeg).toBeCloseTo((Math.atan(0.1) * 180) / Math.PI, 3);
    // Above 7 m: a wedge 10 m wide, 20 m long, 1 m high at its edge: 100 m3; as much below.
    expect(inside.volumes.aboveM3).toBeCloseTo(100, 0);
    expect(inside.volumes.belowM3).toBeCloseTo(100, 0);
    expect(inside.shoalBoundM).toBeCloseTo(inside.shoalM - 0.2, 5);
  });
  test('layers: the colour of a pixel is that of its cell, clear off the surface', () => {
    const layer = layerOf({ ...floor, uncertainty: { grid, values: Float32Array.from({ length: 2400 }, (_, cell) => (cell % 60 === 5 ? NaN : (cell % 60) / 60)) } }, 'uncertainty');
    const pixels = tintLayerWindow(layer, { westM: 0, northM: 40, metresPerPixel: 1, widthPx: 60, heightPx: 1, ramp: [[0, 0, 0], [255, 255, 255]] });
    expect(pixels[5 * 4 + 3]).toBe(0);
    expect(pixels[0]).toBe(0);
    expect(pixels[59 * 4]).toBe(255);
    expect(pixels[59 * 4 + 3]).toBe(255);
    for (let x = 7; x < 60; x++) expect(pixels[4 * x]).toBeGreaterThanOrEqual(pixels[4 * (x - 1)] as number);
    expect(layerOf(floor, 'slope').info.unit).toBe('°');
  });
});
