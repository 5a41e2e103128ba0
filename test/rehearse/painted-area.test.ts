import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { pointInPolygons } from '../../src/geo/ring.js';
import type { Polygon } from '../../src/geo/shapes.js';
import type { Sensor } from '../../src/lines/objective.js';
import { paintedArea, seenChance, type PaintedAreaRequest } from '../../src/rehearse/painted-area.js';
import { rehearseSortie } from '../../src/rehearse/rehearse-sortie.js';
import { sensorReach } from '../../src/rehearse/sensor-reach.js';
import { constantCurrent } from '../../src/water/current-field.js';
import { linesSortie, plainBoat } from './plain-sortie.js';

const START_S = 1_781_686_800;
const rectangle = (westM: number, southM: number, eastM: number, northM: number): Polygon => ({ outer: Float64Array.of(westM, southM, eastM, southM, eastM, northM, westM, northM), holes: [] });
/** Lines at x = 20, 40, 60, 80, from 50 m to 450 m north. */
const sortie = linesSortie(4, 400, 20, 1.5);
const rehearsed = (eastMps = 0, trackRmsM = 0.5) => rehearseSortie({ sortie, boat: plainBoat({ trackRmsM }), startS: START_S, current: constantCurrent(eastMps, 0, 0.02) });
const asked = (changes: Partial<PaintedAreaRequest> = {}): PaintedAreaRequest => ({ runs: [{ sortie, columns: rehearsed().columns }], area: [rectangle(20, 120, 80, 380)], without: [], reachAt: () => ({ nearM: 0, farM: 9 }), trackRmsM: 0.5, convergenceDeg: 0, chance: 0.95, minAreaM2: 20, cellM: 0.25, ...changes });

describe('sensorReach: what a sensor sees to either side', () => {
  const fan: Sensor = { kind: 'swath', swathDeg: 90, beamDeg: 1, pingHz: 10, draftM: 0.4 };
  const scan: Sensor = { kind: 'side-scan', beamDeg: 1, mostRangeM: 50, heightM: null, draftM: 0.5, soundMps: 1500 };
  it('a fan of 90 degrees sees as far as it is high; a side-scan by the ground range of IHO C-13 ch. 4', () => {
    expect(sensorReach(fan, 10.4, null, 5)).toMatchObject({ nearM: 0 });
    expect(sensorReach(fan, 10.4, null, 5).farM).toBeCloseTo(10, 9);
    // Range 30 m, 3 m over the bottom: sqrt(900 - 9); half its height of gap.
    expect(sensorReach(scan, 3.5, 30, 5)).toEqual({ nearM: 1.5, farM: Math.sqrt(891) });
    expect(sensorReach(scan, 3.5, null, 5).farM).toBeCloseTo(Math.sqrt(891), 9);
    expect(sensorReach({ kind: 'single-beam', beamDeg: 8, pingHz: 10, draftM: 0.3 }, NaN, null, 6)).toEqual({ nearM: 0, farM: 6 });
  });
});

describe('paintedArea: gaps seen before they exist', () => {
  it('between lines further apart than the swath: the strip that is not seen with the chance wanted, by the normal law', () => {
    const painted = paintedArea(asked({ cellM: 0.1 }))!;
    // Seen with 95 % as far as 9 - 1.645 * 0.5 m from a line; lines 20 m apart.
    const strip = 20 - 2 * (9 - 1.6449 * 0.5);
    expect(painted.uncoveredShare).toBeCloseTo(strip / 20, 2);
    expect(painted.holes).toHaveLength(3);
    for (const hole of painted.holes) {
      expect(Math.abs(hole.areaM2 - strip * 260)).toBeLessThan(0.05 * strip * 260);
      expect(Math.min(...[30, 50, 70].map((x) => Math.abs(hole.xM - x)))).toBeLessThan(0.5);
    }
    // Expected: mean of the chances across 20 m is 18 m of swath over 20 m, whatever sigma is.
    expect(painted.expectedShare).toBeCloseTo(0.9, 2);
  });

  it('a swath that overlaps leaves none; a boat that wanders more leaves the more', () => {
    expect(paintedArea(asked({ reachAt: () => ({ nearM: 0, farM: 12 }) }))!.uncoveredShare).toBeLessThan(1e-3);
    const wild = paintedArea(asked({ reachAt: () => ({ nearM: 0, farM: 10.5 }), trackRmsM: 2, area: [rectangle(21, 120, 79, 380)] }))!;
    expect(wild.uncoveredShare).toBeGreaterThan(0.05);
    expect(paintedArea(asked({ reachAt: () => ({ nearM: 0, farM: 10.5 }), trackRmsM: 0.05 }))!.uncoveredShare).toBeLessThan(1e-3);
  });

  it('a side-scan: the gap under it is seen from the next line, but not beside the outermost', () => {
    const painted = paintedArea(asked({ reachAt: () => ({ nearM: 3, farM: 30 }), area: [rectangle(10, 120, 90, 380)] }))!;
    // Every strip under a line is in reach of a neighbour 20 m off.
    expect(painted.uncoveredShare).toBeLessThan(1e-3);
    const alone = paintedArea(asked({ reachAt: () => ({ nearM: 3, farM: 16 }), area: [rectangle(10, 120, 90, 380)] }))!;
    // A reach short of the next line's gap leaves strips beside it: the section across the lines, reckoned by hand.
    const byHand = shareByHand([20, 40, 60, 80], 3, 16, 0.5, 10, 90);
    expect(alone.uncoveredShare).toBeCloseTo(byHand, 2);
  });

  it('against points dropped by chance: each pass off by a deviate of its own, seen or not', () => {
    const { columns } = rehearsed(0.4);
    const painted = paintedArea(asked({ runs: [{ sortie, columns }], cellM: 0.25 }))!;
    const random = createRandom(7);
    const [trials, sigma] = [40_000, 0.5];
    let seen = 0;
    for (let t = 0; t < trials; t++) {
      const [x, y] = [20 + 60 * random.uniform(), 120 + 260 * random.uniform()];
      let hit = false;
      for (const [leg, { kind }] of sortie.legs.entries()) {
        if (kind !== 'line') continue;
        const off = sigma * random.normal();
        for (let i = 1; i < columns.n && !hit; i++) {
          if (columns.legIndex[i] !== leg || Math.abs(columns.yM[i]! - y) > 12) continue;
          // In the boat's own axes: abeam of it while it passes.
          const rad = (columns.headingDeg[i]! * Math.PI) / 180;
          const [dx, dy] = [x - columns.xM[i]!, y - columns.yM[i]!];
          const ahead = dx * Math.sin(rad) + dy * Math.cos(rad);
          const across = dx * Math.cos(rad) - dy * Math.sin(rad);
          if (Math.abs(ahead) <= 0.8 && Math.abs(across - off) <= 9) hit = true;
        }
      }
      if (hit) seen++;
    }
    // Two sigma of the count, and a cell.
    expect(Math.abs(seen / trials - painted.expectedShare)).toBeLessThan(2 * Math.sqrt((0.9 * 0.1) / trials) + 0.006);
  });

  it('keep-outs are not part of it; ground that no line comes near is told apart; nothing run covers nothing', () => {
    const rock = rectangle(25, 200, 35, 300);
    const without = paintedArea(asked({ without: [rock] }))!;
    expect(without.areaM2).toBeCloseTo(60 * 260 - 1000, -1);
    for (const { outline } of without.holes) expect(pointInPolygons([outline], 30, 250)).toBe(false);
    const wide = paintedArea(asked({ area: [rectangle(20, 120, 180, 380)] }))!;
    expect(wide.unseenShare).toBeGreaterThan(0.5);
    expect(paintedArea(asked({ runs: [] }))).toMatchObject({ uncoveredShare: 1, expectedShare: 0 });
    expect(paintedArea(asked({ area: [] }))).toBeNull();
  });

  it('seenChance: one half at an edge, one in the middle, and nothing of chance where sigma is nought', () => {
    expect(seenChance(9, { nearM: 0, farM: 9 }, 0.5)).toBeCloseTo(0.5, 6);
    expect(seenChance(0, { nearM: 0, farM: 9 }, 0.5)).toBeCloseTo(1, 6);
    expect(seenChance(3, { nearM: 3, farM: 16 }, 0.5)).toBeCloseTo(0.5, 6);
    expect(seenChance(0, { nearM: 3, farM: 16 }, 0)).toBe(0);
    expect(seenChance(-5, { nearM: 3, farM: 16 }, 0)).toBe(1);
  });
});

/** Share of a section across straight lines not seen with 95 %, by the error function of its own. */
function shareByHand(lines: readonly number[], nearM: number, farM: number, sigma: number, fromM: number, toM: number): number {
  const phi = (z: number): number => {
    let [sum, term] = [z, z];
    for (let n = 1; n < 200; n++) {
      term *= (z * z) / (2 * n + 1);
      sum += term;
    }
    return Math.abs(z) > 8 ? (z > 0 ? 1 : 0) : 0.5 + (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) * sum;
  };
  let bad = 0;
  const n = 8000;
  for (let i = 0; i < n; i++) {
    const x = fromM + ((i + 0.5) / n) * (toM - fromM);
    let miss = 1;
    for (const line of lines) {
      const d = x - line;
      miss *= 1 - (phi((d - nearM) / sigma) - phi((d - farM) / sigma)) - (phi((d + farM) / sigma) - phi((d + nearM) / sigma));
    }
    if (1 - miss < 0.95) bad++;
  }
  return bad / n;
}
