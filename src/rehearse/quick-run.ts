import type { BoatModel } from '../boat/boat-model.js';
import { boatDynamics, stoppingInto } from './boat-dynamics.js';
import { BEATEN_MPS } from './boat-run.js';
import type { LegTrack } from './leg-track.js';
import type { RehearsalOptions, RehearsalStop } from './rehearsal.js';
import { RunRecorder, type RunRecord } from './run-record.js';
import { SUM, SUMS, sortieWorth } from './sortie-worth.js';
import type { WaterMotion } from './water-motion.js';

/** The current is looked at as often as this [s]. */
const PIECE_S = 60;
/** Corners under this cost no time [rad]. */
const SLIGHT_RAD = 0.2;

/**
 * The sortie without the boat's motion: each stretch at its ground speed by the current triangle, in pieces of a minute, and
 * at each corner the time that turning takes. For looking through many start times; within some per cent of `runBoat`.
 */
export function quickRun(track: LegTrack, legCount: number, boat: BoatModel, options: RehearsalOptions, water: WaterMotion, startS: number): RunRecord {
  const dynamics = boatDynamics(boat);
  const worth = sortieWorth(boat, options.turnSigmaShare);
  const record = new RunRecorder(track, legCount, startS, PIECE_S, worth);
  const sums = new Float64Array(SUMS);
  const seen = new Float64Array(5);
  const power = new Float64Array(4);
  const stopping = new Float64Array(2);
  let stopped: RehearsalStop | null = null;
  let timeS = startS;
  let legX = 0;
  let legY = 0;
  let at = 0;
  let x = track.fromXM[0]!;
  let y = track.fromYM[0]!;
  let heading = track.bearingRad[0]!;
  let ground = 0;
  let speed = 0;
  let along = 0;
  /** With a speed: straight running at it, time given back where it is below 0. */
  const spend = (seconds: number, straightMps?: number): void => {
    if (straightMps !== undefined) dynamics.powerInto(straightMps, 0, power);
    sums[SUM.timeS]! += seconds;
    sums[SUM.energyJ]! += power[0]! * seconds;
    sums[SUM.byA]! += power[2]! * seconds;
    sums[SUM.byN]! += power[3]! * seconds;
    timeS += seconds;
  };
  stretches: for (; at < track.n; at++) {
    const ux = track.alongX[at]!;
    const uy = track.alongY[at]!;
    const lengthM = track.lengthM[at]!;
    const ordered = Math.min(dynamics.topMps, track.speedMps[at]!);
    dynamics.powerInto(ordered, 0, power);
    along = 0;
    // From rest the boat lags by L ln 2 of way in the end.
    let lostS = at === 0 ? (dynamics.lagM * Math.LN2) / ordered : 0;
    while (along < lengthM - 1e-9) {
      x = track.fromXM[at]! + ux * along;
      y = track.fromYM[at]! + uy * along;
      water(x, y, timeS, seen);
      if (Number.isNaN(seen[3]!)) {
        stopped = { why: 'no-current-known', legIndex: track.legIndex[at]!, timeS, xM: x, yM: y };
        break stretches;
      }
      const alongMps = seen[3]! * ux + seen[4]! * uy;
      const sideMps = seen[3]! * uy - seen[4]! * ux;
      const ahead = Math.sqrt(Math.max(0, ordered * ordered - sideMps * sideMps));
      ground = ahead + alongMps;
      if (Math.abs(sideMps) >= ordered || ground < BEATEN_MPS) {
        stopped = { why: 'current', legIndex: track.legIndex[at]!, timeS, xM: x, yM: y };
        break stretches;
      }
      const crab = -Math.asin(sideMps / ordered);
      heading = track.bearingRad[at]! + crab;
      speed = ordered;
      record.row(timeS, x, y, heading, ground, speed, at, along, 0, seen, sums, legX, legY);
      const piece = Math.min(lengthM - along, ground * PIECE_S);
      const seconds = piece / ground;
      const slow = Math.max(0.1, ground);
      const away = -sideMps / Math.max(0.1, ahead);
      sums[SUM.bySpeedS]! += ((ordered * ordered) / Math.max(0.1, ahead) / slow) * seconds;
      const byX = ((seen[2]! * (ux + away * uy)) / slow) * seconds;
      const byY = ((seen[2]! * (uy - away * ux)) / slow) * seconds;
      sums[SUM.byCurrentXS]! += byX;
      sums[SUM.byCurrentYS]! += byY;
      legX += byX;
      legY += byY;
      record.settled(track.legIndex[at]!, crab, seconds);
      spend(seconds + lostS);
      sums[SUM.turnS]! += lostS;
      lostS = 0;
      along += piece;
    }
    if (at + 1 >= track.n) break;
    const corner = Math.abs(track.cornerRad[at]!);
    if (corner > SLIGHT_RAD) {
      const turn = (order: number, helm: number, seconds: number): void => {
        dynamics.powerInto(order, helm, power);
        spend(Math.max(0, seconds));
        sums[SUM.turnS]! += Math.max(0, seconds);
      };
      if (options.turning === 'stop-and-turn' && corner > (options.stopTurnDeg * Math.PI) / 180) {
        stoppingInto(ordered, dynamics, stopping);
        const rate = dynamics.mostRateRadps(0);
        const next = Math.min(dynamics.topMps, track.speedMps[at + 1]!);
        // The way it takes to stop was counted at the speed of the stretch: what is over is time lost.
        turn(dynamics.topMps, 0, stopping[1]!);
        spend(-stopping[0]! / ordered, ordered);
        turn(0, dynamics.helmFor(0, rate), corner / rate + dynamics.yawTS);
        turn(next, 0, (dynamics.lagM * Math.LN2) / next);
      } else {
        const slow = options.turnSpeedMps !== null && corner > (options.slowTurnDeg * Math.PI) / 180 ? Math.min(options.turnSpeedMps, ordered) : ordered;
        const rate = dynamics.mostRateRadps(slow);
        turn(slow, dynamics.helmFor(slow, rate), corner / rate + dynamics.yawTS);
        // The corner is cut by the acceptance radius.
        spend(-Math.min(options.acceptanceM, lengthM / 2) / ordered, ordered);
      }
    }
    const leg = track.legIndex[at]!;
    if (track.legIndex[at + 1] !== leg) {
      record.legEnds(leg, track.legIndex[at + 1]!, timeS, sums, legX, legY);
      sums[SUM.byLegsS2]! += legX * legX + legY * legY;
      legX = 0;
      legY = 0;
    }
  }
  const last = Math.min(at, track.n - 1);
  if (stopped === null) {
    x = track.fromXM[last]! + track.alongX[last]! * track.lengthM[last]!;
    y = track.fromYM[last]! + track.alongY[last]! * track.lengthM[last]!;
  }
  record.row(timeS, x, y, heading, ground, speed, last, along, 0, seen, sums, legX, legY);
  return record.finish(track.legIndex[last]!, timeS, sums, legX, legY, stopped);
}
