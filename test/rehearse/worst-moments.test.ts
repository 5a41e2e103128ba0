import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { pointInPolygons } from '../../src/geo/ring.js';
import { segmentPolygonDistanceM } from '../../src/geo/segment.js';
import type { Polygon } from '../../src/geo/shapes.js';
import { createTransitNetwork } from '../../src/lines/transit-network.js';
import { createHazards } from '../../src/rehearse/hazards.js';
import { oneThruster } from '../../src/rehearse/one-thruster.js';
import { OUTCOMES, type Mishap, type MomentOutcomes, type RehearsalRequest } from '../../src/rehearse/rehearsal.js';
import { rehearseSortie } from '../../src/rehearse/rehearse-sortie.js';
import { createSafeWays } from '../../src/rehearse/safe-way.js';
import { createSeaCache } from '../../src/rehearse/sea-cache.js';
import { waterMotion } from '../../src/rehearse/water-motion.js';
import { worstMoments } from '../../src/rehearse/worst-moments.js';
import { constantCurrent, type CurrentField } from '../../src/water/current-field.js';
import { seriesLevel } from '../../src/water/level.js';
import { leg, linesSortie, plainBoat, sortieOf } from './plain-sortie.js';

const START_S = 1_781_686_800;
const STILL = constantCurrent(0, 0, 0);
const square = (xM: number, yM: number, halfX: number, halfY = halfX): Polygon => ({ outer: Float64Array.of(xM - halfX, yM - halfY, xM + halfX, yM - halfY, xM + halfX, yM + halfY, xM - halfX, yM + halfY), holes: [] });
/** Out to the north, across, and home. */
const loop = sortieOf([leg('launch', 1, 1.5, 0, 0, 0, 600), leg('line', 1, 1.5, 0, 600, 300, 600), leg('home', null, 1.5, 300, 600, 0, 0)]);
const request = (changes: Partial<RehearsalRequest> = {}): RehearsalRequest => ({ sortie: loop, boat: plainBoat(), startS: START_S, current: STILL, ...changes });
const outcome = (moments: MomentOutcomes, mishap: Mishap, i: number): string => OUTCOMES[moments.outcomes[mishap].outcome[i]!]!;
const POWER_W = 9 + 16 * 1.5 ** 3;

describe('worstMoments: what it must be by hand', () => {
  it('every ten seconds; straight home in still water takes distance over speed, at the power of that speed', () => {
    const asked = request();
    const rehearsal = rehearseSortie(asked);
    const moments = worstMoments(rehearsal, asked);
    expect(moments.n).toBe(Math.floor(rehearsal.totals.timeS / 10) + 1);
    const { timeS, energyLeftWh } = moments.outcomes['straight-home'];
    for (let i = 0; i < moments.n; i += 7) {
      const wayS = Math.hypot(moments.xM[i]!, moments.yM[i]!) / 1.5;
      const usedWh = rehearsal.columns.energyWh[10 * i]!;
      expect(outcome(moments, 'straight-home', i)).toBe('home');
      expect(timeS[i]! - moments.timeS[i]!).toBeCloseTo(wayS, 5);
      expect(energyLeftWh[i]!).toBeCloseTo(1100 - usedWh - (POWER_W * wayS) / 3600, 6);
    }
  });

  it('in a current, straight home takes length over ground speed by the current triangle', () => {
    const asked = request({ current: constantCurrent(0.3, 0.4, 0.02) });
    const moments = worstMoments(rehearseSortie(asked), asked);
    const { timeS } = moments.outcomes['straight-home'];
    for (let i = 1; i < moments.n; i += 5) {
      const length = Math.hypot(moments.xM[i]!, moments.yM[i]!);
      const [ux, uy] = [-moments.xM[i]! / length, -moments.yM[i]! / length];
      const along = 0.3 * ux + 0.4 * uy;
      const ground = Math.sqrt(1.5 ** 2 - (0.25 - along * along)) + along;
      expect(timeS[i]! - moments.timeS[i]!).toBeCloseTo(length / ground, 3);
    }
  });

  it('carrying on ends as rehearsed', () => {
    const asked = request();
    const rehearsal = rehearseSortie(asked);
    const { outcomes } = worstMoments(rehearsal, asked);
    expect(outcomes['carry-on'].timeS.every((time) => time === rehearsal.totals.endS)).toBe(true);
    expect(outcomes['carry-on'].energyLeftWh[3]).toBeCloseTo(rehearsal.totals.energyLeftWh, 9);
  });

  it('back along the track: as a rehearsal of the same way turned round, within 2 %', () => {
    const current = constantCurrent(0.25, -0.3, 0.02);
    const asked = request({ current });
    const rehearsal = rehearseSortie(asked);
    const moments = worstMoments(rehearsal, asked);
    for (const i of [20, 38, 55]) {
      const [x, y] = [moments.xM[i]!, moments.yM[i]!];
      const onLine = y > 590;
      const back = rehearseSortie({ ...asked, startS: moments.timeS[i]!, sortie: sortieOf([leg('home', null, 1.5, x, y, ...(onLine ? [0, 600] : []), 0, 0)]) });
      expect(outcome(moments, 'back-along-track', i)).toBe('home');
      expect(Math.abs((moments.outcomes['back-along-track'].timeS[i]! - moments.timeS[i]!) / back.totals.timeS - 1)).toBeLessThan(0.02);
    }
  });

  it('holding in a current costs the power of its speed, and lasts as long as is followed', () => {
    const asked = request({ current: constantCurrent(0.6, 0.8, 0.02) });
    const rehearsal = rehearseSortie(asked);
    const moments = worstMoments(rehearsal, asked, { followS: 3600 });
    expect(outcome(moments, 'hold', 10)).toBe('holds');
    expect(moments.outcomes.hold.energyLeftWh[10]).toBeCloseTo(1100 - rehearsal.columns.energyWh[100]! - (9 + 16), 6);
    expect(moments.outcomes.hold.timeS[10]).toBe(moments.timeS[10]! + 3600);
  });

  it('a keep-out on the straight way home is entered where that way meets it; the safe lane goes round', () => {
    const keepouts = [square(150, 200, 400, 20)].map((one) => ({ ...one, outer: one.outer.map((value, k) => (k % 2 === 0 && value < 0 ? 12 : value)) }));
    const sortie = sortieOf([leg('launch', 1, 1.5, 0, 0, 0, 600), leg('line', 1, 1.5, 0, 600, 300, 600), leg('line', 2, 1.5, 300, 600, 0, 596), leg('home', null, 1.5, 0, 596, 0, 0)]);
    const asked = request({ sortie, keepouts });
    const rehearsal = rehearseSortie(asked);
    expect(rehearsal.verdict.go).toBe(true);
    const moments = worstMoments(rehearsal, asked);
    const at = Array.from({ length: moments.n }, (_, i) => i).filter((i) => moments.xM[i]! > 250);
    expect(at.length).toBeGreaterThan(3);
    for (const i of at) {
      expect(outcome(moments, 'straight-home', i)).toBe('keep-out');
      // The upper edge of the keep-out is at 220 m.
      expect(moments.outcomes['straight-home'].yM[i]).toBeCloseTo(220, 6);
      expect(moments.outcomes['straight-home'].xM[i]).toBeCloseTo((moments.xM[i]! * 220) / moments.yM[i]!, 6);
      expect(outcome(moments, 'safe-lane', i)).toBe('home');
    }
    expect(moments.worstOf['straight-home'].outcome).toBe('keep-out');
    expect(moments.worst!.reason).toMatch(/it is in a keep-out [\d.]+ (s|min) later, \d+ m from home$/);
    expect(moments.ranking.find((one) => one.behaviour === 'straight-home')!.bad).toBeGreaterThanOrEqual(at.length);
    expect(moments.ranking.find((one) => one.behaviour === 'safe-lane')!.bad).toBe(0);
    expect(moments.ranking[moments.ranking.length - 1]!.behaviour).toBe('straight-home');
  });

  it('land in the way is aground; a lane given is kept to', () => {
    const land = [square(140, 300, 10, 60)];
    const asked = request({ land });
    const moments = worstMoments(rehearseSortie(request()), asked, { safeLane: Float64Array.of(300, 600, 290, 30, 0, 0) });
    const i = moments.xM.findIndex((x) => x > 282);
    expect(outcome(moments, 'straight-home', i)).toBe('aground');
    expect(outcome(moments, 'safe-lane', i)).toBe('home');
    const lane = moments.outcomes['safe-lane'].timeS[i]! - moments.timeS[i]!;
    expect(lane).toBeGreaterThan((570 + 290) / 1.5);
    expect(lane).toBeLessThan((575 + 320) / 1.5);
  });

  it('a current stronger than the boat on the way home: it drifts, and onto the shore that lies down the stream', () => {
    const flood = constantCurrent(0, 2, 0.02);
    const rehearsal = rehearseSortie(request());
    const open = worstMoments(rehearsal, request({ current: flood }));
    const i = 68;
    expect(outcome(open, 'straight-home', i)).toBe('drifts');
    expect(open.outcomes['straight-home'].timeS[i]).toBe(open.timeS[i]);
    const shore = worstMoments(rehearsal, request({ current: flood, land: [square(0, 1510, 3000, 10)] }));
    expect(outcome(shore, 'straight-home', i)).toBe('aground');
    expect(shore.outcomes['straight-home'].yM[i]).toBeCloseTo(1500, 6);
    expect(shore.outcomes['straight-home'].timeS[i]! - shore.timeS[i]!).toBeCloseTo((1500 - shore.yM[i]!) / 2, 3);
  });

  it('a falling tide grounds a boat that holds, when the level is down to its draft', () => {
    // 0.2 m of draft on 1 m below datum: aground at a level of -0.8 m. It falls from 0 by 1 m in an hour: 2880 s after the start.
    const level = seriesLevel([START_S, START_S + 36_000], [0, -10], 1e5);
    const asked = request({ level, bottomDepthM: () => 1, options: { leastWaterM: 0 } });
    const moments = worstMoments(rehearseSortie(asked), asked);
    expect(outcome(moments, 'hold', 12)).toBe('aground');
    const wait = moments.outcomes.hold.timeS[12]! - START_S;
    expect(wait).toBeGreaterThanOrEqual(2880);
    // It is looked at every five minutes.
    expect(wait).toBeLessThanOrEqual(2880 + 300);
  });

  it('a battery with a fifth less: the last moment to turn back, and where it ends after that', () => {
    const needed = rehearseSortie(request()).totals.energyWh;
    const asked = request({ boat: plainBoat({ batteryWh: needed * 1.05, battery95Wh: 0.01 }) });
    const rehearsal = rehearseSortie(asked);
    const moments = worstMoments(rehearsal, asked);
    const holds = 0.8 * 1.05 * needed;
    const last = Array.from({ length: moments.n }, (_, i) => i).filter((i) => rehearsal.columns.energyWh[10 * i]! + (POWER_W * Math.hypot(moments.xM[i]!, moments.yM[i]!)) / 1.5 / 3600 <= holds).pop()!;
    expect(moments.turnBackByS).toBe(moments.timeS[last]);
    expect(outcome(moments, 'battery-less', last + 1)).toBe('drifts');
    expect(moments.outcomes['battery-less'].energyLeftWh[last + 1]).toBe(0);
    // On the straight line home, so far from it as the energy does not reach.
    const i = last + 1;
    const short = ((rehearsal.columns.energyWh[10 * i]! + (POWER_W * Math.hypot(moments.xM[i]!, moments.yM[i]!)) / 1.5 / 3600 - holds) * 3600 * 1.5) / POWER_W;
    expect(Math.hypot(moments.outcomes['battery-less'].xM[i]!, moments.outcomes['battery-less'].yM[i]!)).toBeCloseTo(short, 3);
    expect(moments.notes.some((note) => note.startsWith('with 20 % less the battery is empty at 2026-06-17T'))).toBe(true);
  });

  it('a sortie that was not run has no moments, and says so', () => {
    const asked = request({ sortie: sortieOf([]) });
    expect(worstMoments(rehearseSortie(asked), asked)).toMatchObject({ n: 0, worst: null, notes: ['the sortie has no moments: it was not run'] });
  });

  it('options out of their range are the caller\'s mistake', () => {
    const rehearsal = rehearseSortie(request());
    expect(() => worstMoments(rehearsal, request(), { everyS: 0 })).toThrow('everyS 0: expected more than 0');
    expect(() => worstMoments(rehearsal, request(), { batteryLess: 1 })).toThrow('batteryLess 1: expected 0 up to, not including, 1');
  });
});

describe('worstMoments: grids against the field itself', () => {
  it('straight home through a stream that turns and shears is as a rehearsal of that way, within 2 %', () => {
    const stream: CurrentField = {
      at(x, y, timeS, out) {
        const strength = 0.5 * Math.sin((2 * Math.PI * (timeS - START_S)) / 9000 + 1) * (1 + 0.001 * x);
        out.set([0.4 * strength, strength + 0.0002 * y, 0.02]);
      },
      startS: -Infinity, endS: Infinity, maxMps: 1, source: 'test',
    };
    const asked = request({ sortie: linesSortie(6, 500, 25, 1.5), current: stream });
    const moments = worstMoments(rehearseSortie(asked), asked);
    for (let i = 30; i < moments.n - 10; i += 37) {
      const home = rehearseSortie({ ...asked, startS: moments.timeS[i]!, sortie: sortieOf([leg('home', null, 1.5, moments.xM[i]!, moments.yM[i]!, 0, 0)]) });
      // The rehearsal starts from rest and ends an acceptance radius short.
      const restS = (3.08 * Math.LN2 - 2) / 1.5;
      const ours = moments.outcomes['straight-home'].timeS[i]! - moments.timeS[i]!;
      expect(Math.abs(ours / (home.totals.timeS - restS) - 1), `moment ${i}`).toBeLessThan(0.02);
    }
  });
});

describe('oneThruster', () => {
  it('makes way, slower than one thruster could drive it straight, in loops', () => {
    for (const boat of [plainBoat(), plainBoat({ yawK: 1, yawTS: 1.2 }), plainBoat({ coastLengthM: 10, yawTS: 0.2 }), plainBoat({ yawK: 4, spinRateDegps: 70 })]) {
      const { wayMps, powerW, loopM } = oneThruster(boat);
      expect(wayMps).toBeGreaterThan(0.02 * boat.topSpeedMps);
      expect(wayMps).toBeLessThan(boat.topSpeedMps / Math.SQRT2);
      expect(powerW).toBeGreaterThan(boat.hotelW);
      expect(powerW).toBeLessThanOrEqual(boat.hotelW + 0.5 * boat.powerCoefficient * boat.topSpeedMps ** boat.powerExponent + 1e-9);
      expect(loopM).toBeGreaterThan(0);
    }
  });

  it('a boat that hardly turns gets on better with one thruster than one that spins', () => {
    expect(oneThruster(plainBoat({ yawK: 0.3 })).wayMps).toBeGreaterThan(oneThruster(plainBoat({ yawK: 4 })).wayMps);
  });
});

describe('createSafeWays', () => {
  const home = { xM: 0, yM: 0 };
  const box = { westM: -400, southM: -400, eastM: 400, northM: 400 };
  const blocks = fc.array(fc.record({ x: fc.integer({ min: -300, max: 300 }), y: fc.integer({ min: -300, max: 300 }), half: fc.integer({ min: 10, max: 70 }) }), { minLength: 1, maxLength: 8 });

  it('ways meet no keep-out, and are at most 6 % longer than the shortest at the same clearance', () => {
    let told = 0;
    fc.assert(
      fc.property(blocks, fc.array(fc.tuple(fc.integer({ min: -390, max: 390 }), fc.integer({ min: -390, max: 390 })), { minLength: 5, maxLength: 5 }), (all, points) => {
        const keepouts = all.filter(({ x, y, half }) => Math.max(Math.abs(x), Math.abs(y)) > half + 20).map(({ x, y, half }) => square(x, y, half));
        const asked = request({ keepouts });
        const sea = createSeaCache(asked, waterMotion(asked, { leewayShare: 0 }), box, START_S, START_S + 3600, 0.2);
        const ways = createSafeWays(createHazards(keepouts, []), sea, box, home, 8, 0);
        const network = createTransitNetwork(keepouts, 8);
        for (const [x, y] of points) {
          // Nearer to one than the clearance and a cell there is no way that keeps it.
          if (pointInPolygons(keepouts, x, y) || keepouts.some((one) => segmentPolygonDistanceM(one, x, y, x, y) < 16)) continue;
          const way = ways.from(x, y);
          const shortest = network.lengthM(x, y, 0, 0);
          if (way === null) continue;
          told++;
          let length = 0;
          let [px, py] = [x, y];
          for (let k = 0; k < way.length; k += 2) {
            for (const keepout of keepouts) expect(segmentPolygonDistanceM(keepout, px, py, way[k]!, way[k + 1]!)).toBeGreaterThan(0);
            length += Math.hypot(way[k]! - px, way[k + 1]! - py);
            [px, py] = [way[k]!, way[k + 1]!];
          }
          expect([px, py]).toEqual([0, 0]);
          // Passages between a clearance and a clearance and a cell are closed on the grid: told apart by the longer way round.
          const roomier = createTransitNetwork(keepouts, 16).lengthM(x, y, 0, 0);
          expect(length).toBeLessThan(1.06 * Math.max(shortest, roomier) + 10);
        }
      }),
      { seed: 20261125, numRuns: 60 },
    );
    expect(told).toBeGreaterThan(200);
  });

  it('goes round a shoal that has too little water at the lowest level', () => {
    const asked = request({ level: seriesLevel([START_S, START_S + 7200], [0, -1], 1e5), bottomDepthM: (x, y) => (Math.abs(y - 100) < 20 && Math.abs(x) < 150 ? 1 : 9) });
    const sea = createSeaCache(asked, waterMotion(asked, { leewayShare: 0 }), box, START_S, START_S + 3600, 0.2);
    const way = createSafeWays(createHazards([], []), sea, box, home, 5, 0.5).from(0, 300)!;
    let length = Math.hypot(way[0]!, way[1]! - 300);
    for (let k = 2; k < way.length; k += 2) length += Math.hypot(way[k]! - way[k - 2]!, way[k + 1]! - way[k - 1]!);
    // Round its corner at 150 m, the nearest: over (150, 120) and (150, 80).
    const around = Math.hypot(150, 180) + 40 + Math.hypot(150, 80);
    expect(length).toBeGreaterThan(around - 10);
    expect(length).toBeLessThan(around + 30);
  });
});
