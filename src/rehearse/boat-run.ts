import type { BoatModel } from '../boat/boat-model.js';
import { boatDynamics, speedAfter, stoppingInto } from './boat-dynamics.js';
import { wrapRad, type LegTrack } from './leg-track.js';
import type { RehearsalOptions, RehearsalStop } from './rehearsal.js';
import { RunRecorder, type RunRecord } from './run-record.js';
import { SUM, SUMS, sortieWorth } from './sortie-worth.js';
import type { WaterMotion } from './water-motion.js';

/** Longest step of the motion, and between looks at the current [s]. */
const STEP_S = 0.2;
const LOOK_S = 1;
/** A boat that could make no more than this along its leg [m/s] is beaten. */
export const BEATEN_MPS = 0.03;
/** It is given up when it has not come this much further [m] in so long [s]: at the edge of a race it is set back and tries again. */
const FURTHER_M = 1;
const BEATEN_S = 120;
/** Slower than this it has stopped [m/s]; nearer the bearing than this it has turned [rad]. */
const STOPPED_MPS = 0.02;
const TURNED_RAD = (10 * Math.PI) / 180;
/** Settled on the leg: this near it [m]. */
const SETTLED_M = 1;

/**
 * Runs the boat along a track in fast time.
 *
 * The autopilot heads for the leg a look-ahead ahead of it, bow turned into the current by the current triangle. Surge is
 * stepped in closed form, yaw exactly for an order held over the step, positions by the middle of the step.
 */
export function runBoat(track: LegTrack, legCount: number, boat: BoatModel, options: RehearsalOptions, water: WaterMotion, startS: number): RunRecord {
  const dynamics = boatDynamics(boat);
  const { topMps, lagM, yawTS, yawGain } = dynamics;
  const worth = sortieWorth(boat, options.turnSigmaShare);
  const stepsARow = Math.max(1, Math.ceil(options.rowS / STEP_S));
  const stepS = options.rowS / stepsARow;
  const lookSteps = Math.max(1, Math.round(LOOK_S / stepS));
  const yawLeft = yawTS > 0 ? Math.exp(-stepS / yawTS) : 0;
  const yawGone = yawTS > 0 ? (yawTS * (1 - yawLeft)) / stepS : 0;
  const gain = Math.min(yawGain, 1 / stepS);
  const slowTurn = (options.slowTurnDeg * Math.PI) / 180;
  const stopTurn = (options.stopTurnDeg * Math.PI) / 180;
  const stops = options.turning === 'stop-and-turn';

  const sums = new Float64Array(SUMS);
  const seen = new Float64Array(5);
  const power = new Float64Array(4);
  const straight = new Float64Array(4);
  const stopping = new Float64Array(2);
  const record = new RunRecorder(track, legCount, startS, options.rowS, worth);
  let stopped: RehearsalStop | null = null;

  let plannedS = 0;
  for (let i = 0; i < track.n; i++) plannedS += track.lengthM[i]! / Math.max(0.05, Math.min(topMps, track.speedMps[i]!));
  const mostSteps = Math.ceil((4 * plannedS + 3600) / stepS);

  let at = 0;
  let x = track.fromXM[0]!;
  let y = track.fromYM[0]!;
  let heading = track.bearingRad[0]!;
  let rate = 0;
  let speed = 0;
  let mode: 'run' | 'brake' | 'spin' = 'run';
  let furthestM = -Infinity;
  let furthestStep = 0;
  let straightFor = NaN;
  let bySpeed = 0;
  let byX = 0;
  let byY = 0;
  let cross = 0;
  let legX = 0;
  let legY = 0;
  let step = 0;

  const nextStretch = (): void => {
    const leg = track.legIndex[at]!;
    at++;
    furthestM = -Infinity;
    if (at < track.n && track.legIndex[at] !== leg) {
      record.legEnds(leg, track.legIndex[at]!, startS + step * stepS, sums, legX, legY);
      sums[SUM.byLegsS2]! += legX * legX + legY * legY;
      legX = 0;
      legY = 0;
    }
  };

  for (; ; step++) {
    const timeS = startS + step * stepS;
    const lookNow = step % lookSteps === 0;
    if (lookNow) {
      water(x, y, timeS, seen);
      if (Number.isNaN(seen[3]!) || Number.isNaN(seen[4]!)) {
        stopped = { why: 'no-current-known', legIndex: track.legIndex[at]!, timeS, xM: x, yM: y };
        break;
      }
    }
    const driftX = seen[3]!;
    const driftY = seen[4]!;

    // Which stretch: reached within the acceptance radius, or passed.
    let along = 0;
    let left = 0;
    // Steps are coarse against a corner: half a step sooner and half a step later even out.
    const lead = 0.5 * speed * stepS;
    for (;;) {
      const dx = x - track.fromXM[at]!;
      const dy = y - track.fromYM[at]!;
      along = dx * track.alongX[at]! + dy * track.alongY[at]!;
      cross = dx * track.alongY[at]! - dy * track.alongX[at]!;
      left = track.lengthM[at]! - along;
      if (mode === 'brake') break;
      const sharp = stops && at + 1 < track.n && Math.abs(track.cornerRad[at]!) > stopTurn;
      if (sharp) {
        if (mode === 'spin') break;
        stoppingInto(speed, dynamics, stopping);
        const ahead = stopping[0]! + (driftX * track.alongX[at]! + driftY * track.alongY[at]!) * stopping[1]!;
        if (left - lead > Math.max(0, ahead)) break;
        mode = 'brake';
        break;
      }
      if (left > lead && (left - lead) * (left - lead) + cross * cross > options.acceptanceM * options.acceptanceM) break;
      nextStretch();
      if (at >= track.n) break;
    }
    if (at >= track.n) break;
    if (mode === 'brake' && speed <= STOPPED_MPS + (0.5 * stepS * dynamics.asternMps * dynamics.asternMps) / lagM) {
      speed = 0;
      nextStretch();
      mode = 'spin';
      const dx = x - track.fromXM[at]!;
      const dy = y - track.fromYM[at]!;
      along = dx * track.alongX[at]! + dy * track.alongY[at]!;
      cross = dx * track.alongY[at]! - dy * track.alongX[at]!;
    }

    const ordered = Math.min(topMps, track.speedMps[at]!);
    const bearing = track.bearingRad[at]!;
    // Steering for a stretch just begun does not look further off it than to head square for it.
    const course = mode === 'run' ? bearing - Math.atan(cross / options.lookAheadM) : bearing;
    const acrossMps = driftX * Math.cos(course) - driftY * Math.sin(course);
    const crab = -Math.asin(Math.max(-0.999, Math.min(0.999, acrossMps / ordered)));
    const off = wrapRad(course + crab - heading);

    if (lookNow) {
      const alongMps = driftX * track.alongX[at]! + driftY * track.alongY[at]!;
      const sideMps = driftX * track.alongY[at]! - driftY * track.alongX[at]!;
      const ahead = Math.sqrt(Math.max(0, ordered * ordered - sideMps * sideMps));
      const ground = ahead + alongMps;
      if (mode !== 'run' || along > furthestM + FURTHER_M) [furthestM, furthestStep] = [along, step];
      if ((step - furthestStep) * stepS > BEATEN_S) {
        stopped = { why: 'current', legIndex: track.legIndex[at]!, timeS, xM: x, yM: y };
        break;
      }
      const slow = Math.max(0.1, ground);
      const away = -sideMps / Math.max(0.1, ahead);
      bySpeed = (ordered * ordered) / Math.max(0.1, ahead) / slow;
      byX = (seen[2]! * (track.alongX[at]! + away * track.alongY[at]!)) / slow;
      byY = (seen[2]! * (track.alongY[at]! - away * track.alongX[at]!)) / slow;
    }
    if (step > mostSteps) {
      stopped = { why: 'too-long', legIndex: track.legIndex[at]!, timeS, xM: x, yM: y };
      break;
    }

    let order = ordered;
    if (mode === 'brake') order = -dynamics.asternMps;
    else if (mode === 'spin') {
      order = 0;
      if (Math.abs(off) < TURNED_RAD) {
        mode = 'run';
        order = ordered;
      }
    } else if (options.turnSpeedMps !== null && Math.abs(off) > slowTurn) order = Math.min(ordered, options.turnSpeedMps);

    const most = dynamics.mostRateRadps(mode === 'brake' ? speed : order);
    const wanted = Math.max(-most, Math.min(most, gain * off));
    const rateAfter = wanted + (rate - wanted) * yawLeft;
    const meanRate = wanted + (rate - wanted) * yawGone;

    if (step % stepsARow === 0) {
      const groundX = speed * Math.sin(heading) + driftX;
      const groundY = speed * Math.cos(heading) + driftY;
      record.row(timeS, x, y, heading, Math.hypot(groundX, groundY), speed, at, along, cross, seen, sums, legX, legY);
    }

    const driven = mode === 'brake' ? topMps : order;
    const helm = dynamics.helmFor(driven, wanted);
    if (helm < 0.01) {
      if (straightFor !== driven) {
        dynamics.powerInto(driven, 0, straight);
        straightFor = driven;
      }
      power.set(straight);
    } else dynamics.powerInto(driven, helm, power);
    let drivenS = stepS;
    if (mode === 'brake') {
      // Astern only until it is at rest.
      stoppingInto(speed, dynamics, stopping);
      drivenS = Math.min(stepS, stopping[1]!);
    }
    sums[SUM.timeS]! += stepS;
    sums[SUM.energyJ]! += power[0]! * drivenS + boat.hotelW * (stepS - drivenS);
    sums[SUM.byA]! += power[2]! * drivenS;
    sums[SUM.byN]! += power[3]! * drivenS;
    if (mode !== 'run' || Math.abs(off) > TURNED_RAD) sums[SUM.turnS]! += stepS;
    else {
      sums[SUM.bySpeedS]! += bySpeed * stepS;
      sums[SUM.byCurrentXS]! += byX * stepS;
      sums[SUM.byCurrentYS]! += byY * stepS;
      legX += byX * stepS;
      legY += byY * stepS;
      if (Math.abs(cross) < SETTLED_M) record.settled(track.legIndex[at]!, wrapRad(heading - bearing), stepS);
    }

    const drag = dynamics.turnDrag(speed, meanRate);
    const speedNext = speedAfter(speed, drag === 1 ? order : order / Math.sqrt(drag), lagM / drag, stepS);
    const middle = heading + 0.5 * meanRate * stepS;
    const way = 0.5 * (speed + speedNext) * stepS;
    x += way * Math.sin(middle) + driftX * stepS;
    y += way * Math.cos(middle) + driftY * stepS;
    heading = wrapRad(heading + meanRate * stepS);
    speed = speedNext;
    rate = rateAfter;
  }

  const endS = startS + step * stepS;
  const last = Math.min(at, track.n - 1);
  const groundX = speed * Math.sin(heading) + seen[3]!;
  const groundY = speed * Math.cos(heading) + seen[4]!;
  const dx = x - track.fromXM[last]!;
  const dy = y - track.fromYM[last]!;
  record.row(endS, x, y, heading, Math.hypot(groundX, groundY), speed, last, dx * track.alongX[last]! + dy * track.alongY[last]!, cross, seen, sums, legX, legY);
  return record.finish(track.legIndex[last]!, endS, sums, legX, legY, stopped);
}
