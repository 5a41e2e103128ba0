import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { isRefused, type Estimate, type Refusal } from '../../src/boat/estimate.js';
import type { TrialLog } from '../../src/boat/trial-log.js';
import { turningCircle, type TurningCircle } from '../../src/boat/turning-circle.js';
import { BOAT, START_S, TrialWriter } from './synthetic-trials.js';
import { trialLog } from './trial-log-of.js';

interface Turn {
  commandDeg: number;
  orderS: number;
  advanceM: number;
  transferM: number;
  tacticalDiameterM: number;
  steadyDiameterM: number;
  timeTo90S: number;
  timeTo180S: number;
  timeTo360S: number;
  speedKept: number;
  timeS: number[];
  northM: number[];
  eastM: number[];
  yawDeg: number[];
}
// Mariner class ship: coefficients of Chislett & Stroem-Tejsen (1965), Report Hy-5. test/reference/boat/mariner.py reads the
// indices off the model's own states; its steady turning radius at 15 degrees is the 711 m that the model is known by [from memory].
const { turns } = JSON.parse(readFileSync(new URL('../reference/boat/mariner.json', import.meta.url), 'utf8')) as { turns: Turn[] };
const INDICES = ['advanceM', 'transferM', 'tacticalDiameterM', 'steadyDiameterM', 'timeTo90S', 'timeTo180S', 'timeTo360S', 'speedKept'] as const;

function shipLog(turn: Turn, drift: readonly [number, number], options: { convergenceDeg?: number; noiseM?: number; compass?: boolean; seed?: number } = {}): TrialLog {
  const random = createRandom(options.seed ?? 1);
  const noise = options.noiseM ?? 0;
  const angle = ((options.convergenceDeg ?? 0) * Math.PI) / 180;
  const n = turn.timeS.length;
  const east = turn.eastM.map((value, i) => value + drift[0] * turn.timeS[i]!);
  const north = turn.northM.map((value, i) => value + drift[1] * turn.timeS[i]!);
  return trialLog({
    timeS: turn.timeS,
    xM: east.map((value, i) => value * Math.cos(angle) - north[i]! * Math.sin(angle) + noise * random.normal()),
    yM: north.map((value, i) => value * Math.cos(angle) + east[i]! * Math.sin(angle) + noise * random.normal()),
    ...(options.compass === false ? {} : { headingDeg: turn.yawDeg.map((value) => ((value % 360) + 360) % 360) }),
    convergenceDeg: options.convergenceDeg ?? 0,
    n,
  });
}

function good(result: TurningCircle | Refusal): TurningCircle {
  if (isRefused(result)) throw new Error(result.refused);
  return result;
}
const estimate = (value: Estimate | Refusal): Estimate => {
  if (isRefused(value)) throw new Error(value.refused);
  return value;
};

describe('turningCircle', () => {
  it('the reference ship: the model gives the steady radius it is known by, 711 m (from memory)', () => {
    const port = turns.find((turn) => turn.commandDeg === -15)!;
    expect(port.steadyDiameterM / 2).toBeCloseTo(711, 0);
  });

  it('gives the indices of the reference ship, whatever the drift and the frame', () => {
    for (const turn of turns) {
      for (const [drift, convergenceDeg] of [[[0, 0], 0], [[0.8, -0.5], 0], [[-1.2, 0.3], 2.4]] as const) {
        const found = good(turningCircle(shipLog(turn, drift, { convergenceDeg }), 0, turn.timeS.length, turn.orderS));
        expect(found.side).toBe(turn.commandDeg > 0 ? 'starboard' : 'port');
        for (const name of INDICES) {
          // Rows every 2 s, 15 m of way: half a percent; the steady turn is still settling at 120 degrees.
          expect(estimate(found[name]).value / turn[name], `${name} at ${turn.commandDeg}, drift ${drift.join(' ')}`).toBeGreaterThan(0.985);
          expect(estimate(found[name]).value / turn[name], `${name} at ${turn.commandDeg}, drift ${drift.join(' ')}`).toBeLessThan(1.015);
        }
        expect(found.driftEastMps).toBeCloseTo(drift[0], 1);
        expect(found.driftNorthMps).toBeCloseTo(drift[1], 1);
      }
    }
  });

  it('holds the reference in its intervals with noisy positions', () => {
    for (const turn of turns) {
      const found = good(turningCircle(shipLog(turn, [0.6, 0.4], { noiseM: 2 }), 0, turn.timeS.length, turn.orderS));
      for (const name of INDICES) {
        const one = estimate(found[name]);
        expect(Math.abs(one.value - turn[name]), `${name} at ${turn.commandDeg}`).toBeLessThan(3 * one.sigma + 0.015 * turn[name]);
        expect(one.sigma / one.value, name).toBeLessThan(0.15);
      }
    }
  });

  it('without a compass says so, and differs by what the hull\'s drift angle does', () => {
    const turn = turns[0]!;
    const found = good(turningCircle(shipLog(turn, [0.5, 0.2], { compass: false }), 0, turn.timeS.length, turn.orderS));
    expect(found.note).toMatch(/compass not logged: heading is the direction of motion through the water/);
    expect(estimate(found.steadyDiameterM).value / turn.steadyDiameterM).toBeCloseTo(1, 1);
    // The course lags the heading in the turn: it turns by 90 degrees later.
    expect(found.timeTo90S.value).toBeGreaterThan(turn.timeTo90S);
    expect(found.advanceM.value / turn.advanceM).toBeCloseTo(1, 0);
  });

  it('finds where the turn begins when no thruster is logged, to what it says', () => {
    for (let seed = 0; seed < 20; seed++) {
      const writer = new TrialWriter(createRandom(seed));
      writer.place(40, 0.7 * BOAT.topMps);
      writer.run({ port: 70, starboard: 70, seconds: 9, hold: 40 });
      const orderS = writer.state.timeS + START_S;
      writer.run({ port: 95, starboard: 45, seconds: 40, hold: null });
      const { thrusterPortPct, ...log } = writer.log();
      const found = good(turningCircle({ ...log, thrusterPortPct: thrusterPortPct.map(() => NaN) }, 0, log.n));
      expect(found.note).toMatch(/the order is where the boat begins to turn, good to half a second/);
      expect(Math.abs(found.orderS - orderS), `seed ${seed}`).toBeLessThan(1);
    }
  });

  it('refuses a gap, a turn cut short, and a missing approach, with the reason', () => {
    const turn = turns[0]!;
    const log = shipLog(turn, [0.3, 0]);
    const order = turn.timeS.findIndex((t) => t >= turn.orderS);
    expect(turningCircle(log, order - 5, order + 60, turn.orderS)).toEqual({ refused: expect.stringMatching(/heading changes by \d+ degrees only|turn ends after \d+ degrees: 320 are needed/) });
    const gap = shipLog(turn, [0.3, 0]);
    gap.xM.fill(NaN, order + 20, order + 40);
    expect(turningCircle(gap, 0, gap.n, turn.orderS)).toEqual({ refused: expect.stringMatching(/a gap of 4\d\.\d s without positions/) });
    expect(turningCircle(log, order, log.n, log.timeS[0]!)).toEqual({ refused: expect.stringMatching(/steady approach before the order|no approach|positions in the approach|under way/) });
  });

  it('gives mirrored figures for a mirrored track', () => {
    const turn = turns[0]!;
    const mirrored: Turn = { ...turn, eastM: turn.eastM.map((value) => -value), yawDeg: turn.yawDeg.map((value) => -value) };
    const a = good(turningCircle(shipLog(turn, [0.4, 0.1]), 0, turn.timeS.length, turn.orderS));
    const b = good(turningCircle(shipLog(mirrored, [-0.4, 0.1]), 0, turn.timeS.length, turn.orderS));
    expect(b.side).toBe('port');
    for (const name of INDICES) expect(estimate(b[name]).value / estimate(a[name]).value, name).toBeCloseTo(1, 6);
  });
});
