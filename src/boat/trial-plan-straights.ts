import { doubleRunShare95, LEAST_RUN_S, repeatsFor, repeatsShare95, rmsScatter, runsFor, USUAL_SCATTER, withPositions } from './trial-plan-accuracy.js';
import { scatterOf } from './trial-plan-boat.js';
import { aboutS, alongCurrent, energyWh, pathFromHome, planned, sayIfShort, SLACK_MPS, straightFor, trueHeadingDeg, type TrialWork } from './trial-plan-lay.js';
import type { Straight } from './trial-plan-water.js';

const LOG_MOTION = 'time, position, heading, thruster commands';
const LOG_POWER = `${LOG_MOTION}, battery voltage and current`;
const MORE_WATER = 'find water with a longer free straight, or accept it';

/** How much straight water a run of so long takes over the ground, the faster way round [m]. */
function runWater(work: TrialWork, speedMps: number, durationS: number): { readonly runUpM: number; readonly runOutM: number; readonly fastMps: number; readonly wholeM: number } {
  const { boat } = work;
  const runUp = boat.runUp(speedMps);
  const driftMps = work.current?.speedMps ?? work.driftMps;
  const runUpM = runUp.wayM + driftMps * runUp.timeS;
  const runOutM = boat.stopM;
  const fastMps = speedMps + driftMps;
  return { runUpM, runOutM, fastMps, wholeM: runUpM + fastMps * durationS + runOutM };
}

/** The straights that reciprocal runs are made on: along the current where it is known, else two at right angles where they fit. */
export function chooseStraights(work: TrialWork): Straight[] {
  const { water, boat, clearanceM, current } = work;
  const best = runsFor(work.wanted('topSpeed'), boat.topMps, work.positionSigmaM, Infinity)!;
  const neededM = runWater(work, boat.topMps, best.durationS).wholeM;
  const leastM = runWater(work, boat.topMps, LEAST_RUN_S).wholeM;
  if (current !== null && current.speedMps >= SLACK_MPS) {
    const along = water.straight(alongCurrent(current.gridDeg), neededM, clearanceM);
    if (along !== null && along.lengthM >= leastM) return [along];
    work.shortfalls.push({
      what: 'runs along and against the current',
      why: `the longest free straight along the current is ${(along?.lengthM ?? 0).toFixed(0)} m, ${leastM.toFixed(0)} m are needed`,
      remedy: 'the runs are laid where there is room: heading by compass, so that what sets the boat across the line is seen; or wait for slack water',
    });
  }
  const first = water.longest(neededM, clearanceM);
  if (first === null) return [];
  if (current !== null && current.speedMps < SLACK_MPS) return [first];
  // Two headings: the pair whose shorter straight is longest.
  let pair: [Straight, Straight] | null = null;
  const right = water.straight([(first.gridDeg + 90) % 180], neededM, clearanceM);
  if (right !== null && right.lengthM >= neededM - 1) pair = [first, right];
  else {
    const at = Array.from({ length: 36 }, (_, i) => water.straight([i * 5], neededM, clearanceM));
    for (let i = 0; i < 18; i++) {
      const a = at[i] ?? null;
      const b = at[i + 18] ?? null;
      if (a === null || b === null) continue;
      if (pair === null || Math.min(a.lengthM, b.lengthM) > Math.min(pair[0].lengthM, pair[1].lengthM) + 1) pair = a.lengthM >= b.lengthM ? [a, b] : [b, a];
    }
  }
  if (pair !== null && pair[1].lengthM >= leastM) return pair;
  work.shortfalls.push({
    what: 'runs on two headings',
    why: `no two free straights at right angles are both ${leastM.toFixed(0)} m long`,
    remedy: 'the runs are laid on one heading, which takes the current along it out; the drift of the turning circles gives the whole of it',
  });
  return [first];
}

/** Reciprocal runs at one command on one straight; false where the straight is too short. */
export function layDoubleRun(work: TrialWork, straight: Straight, commandPct: number, wanted95: number, why: string): boolean {
  const { boat, positionSigmaM } = work;
  const speedMps = commandPct >= 100 ? boat.topMps : boat.speedAt(commandPct);
  const { runUpM, runOutM, fastMps } = runWater(work, speedMps, 0);
  const title = commandPct >= 100 ? 'Double run, full ahead' : `Double run at ${commandPct} %`;
  const availableM = straight.lengthM - runUpM - runOutM;
  const runs = runsFor(wanted95, speedMps, positionSigmaM, (availableM + 1) / fastMps);
  if (runs === null) {
    work.shortfalls.push({ what: title, why: `a free straight of ${(runUpM + runOutM + LEAST_RUN_S * fastMps).toFixed(0)} m is needed, ${straight.lengthM.toFixed(0)} m is the longest there is`, remedy: 'find longer water, move the base so that its range covers more, or run it at a lower command' });
    return false;
  }
  const lengthM = Math.min(availableM, runs.durationS * fastMps);
  const cut = straightFor({ ...work, main: straight }, runUpM + lengthM + runOutM, work.clearanceM) ?? straight;
  const path = pathFromHome(work, cut);
  const runUp = boat.runUp(speedMps);
  const durationS = runs.runs * (runUp.timeS + lengthM / speedMps + aboutS(work));
  work.trials.push(planned({
    kind: 'double-run',
    title,
    command: commandPct >= 100 ? 'both 100 %' : `both ${commandPct} %`,
    commandPct,
    speedMps,
    headingDeg: trueHeadingDeg(work, path),
    reciprocal: true,
    passes: runs.runs,
    runUpM,
    lengthM,
    runOutM,
    path,
    roomM: work.clearanceM,
    wanted95,
    expected95: doubleRunShare95(runs.runs, lengthM / fastMps, speedMps, positionSigmaM),
    durationS,
    energyWh: energyWh(work, speedMps, durationS),
    how: 'Come to speed over the run-up, then hold heading and command over the length. Spin at the end and run back on the opposite heading at the same command, without delay; keep the times between runs alike.',
    log: LOG_POWER,
    why,
  }));
  sayIfShort(work, title, doubleRunShare95(runs.runs, lengthM / fastMps, speedMps, positionSigmaM), wanted95, positionSigmaM > 0.6 ? 'a receiver with corrections, or longer water' : MORE_WATER);
  return true;
}

/** At full ahead this long: four time constants and more, as the fit of a start needs [s]. */
const START_S = 15;

/** Standing starts to full ahead, then thrusters off: both from one pass. */
export function layStarts(work: TrialWork, start: boolean, coast: boolean, why: string): void {
  const { boat, positionSigmaM } = work;
  const { figures } = work.request.card;
  const coastM = boat.coastLengthM * Math.LN10;
  const coastS = (9 * boat.coastLengthM) / boat.topMps;
  const aheadM = START_S * boat.topMps;
  const neededM = aheadM + coastM + work.driftMps * (START_S + coastS);
  const roomM = work.clearanceM + work.driftMps * (START_S + coastS);
  const straight = straightFor(work, neededM, roomM);
  const title = 'Standing starts and coasting';
  if (straight === null || straight.lengthM < neededM - 1) {
    work.shortfalls.push({ what: title, why: `a free straight of ${neededM.toFixed(0)} m with ${roomM.toFixed(0)} m on every side is needed, ${(straight?.lengthM ?? 0).toFixed(0)} m is the longest there is`, remedy: 'find more open water, or wait for slack water, when the boat drifts less' });
    return;
  }
  const startNeed = repeatsFor(work.wanted('timeTo90'), withPositions(scatterOf(figures.timeTo90, USUAL_SCATTER.start), positionSigmaM, aheadM, START_S));
  const coastNeed = repeatsFor(work.wanted('coastLength'), withPositions(scatterOf(figures.coastLength, USUAL_SCATTER.coast), positionSigmaM, coastM, coastS));
  const need = !coast ? startNeed : !start ? coastNeed : startNeed.repeats >= coastNeed.repeats ? startNeed : coastNeed;
  const path = pathFromHome(work, straight);
  const durationS = need.repeats * (20 + START_S + coastS + aboutS(work));
  const wanted95 = need === startNeed && start ? work.wanted('timeTo90') : work.wanted('coastLength');
  work.trials.push(planned({
    kind: 'start-coast',
    title,
    command: 'both 100 %, then 0',
    commandPct: 100,
    speedMps: boat.topMps,
    headingDeg: trueHeadingDeg(work, path),
    reciprocal: true,
    passes: need.repeats,
    lengthM: straight.lengthM,
    path,
    roomM,
    wanted95,
    expected95: need.share95,
    durationS,
    energyWh: energyWh(work, boat.topMps, need.repeats * START_S) + energyWh(work, 0, durationS),
    how: `Lie at rest for 20 s. Full ahead on one heading for ${START_S} s; thrusters off, and let the boat run until it lies almost still (some ${coastS.toFixed(0)} s).`,
    log: LOG_MOTION,
    why,
  }));
  if (start) sayIfShort(work, 'times and ways from rest', repeatsShareOf(need.repeats, startNeed), work.wanted('timeTo90'), 'a receiver with corrections');
  if (coast) sayIfShort(work, 'coasting', repeatsShareOf(need.repeats, coastNeed), work.wanted('coastLength'), 'a receiver with corrections');
}

/** Accuracy of so many repeats, from that of others. */
function repeatsShareOf(repeats: number, known: { readonly repeats: number; readonly share95: number }): number {
  return known.share95 * (repeatsShare95(repeats, 1) / repeatsShare95(known.repeats, 1));
}

/** Full ahead until steady, then full astern. */
export function layStops(work: TrialWork, why: string): void {
  const { boat, positionSigmaM } = work;
  const runUp = boat.runUp(boat.topMps);
  const aheadS = runUp.timeS + 4;
  const sternS = (2 * boat.stopM) / boat.topMps + 3;
  const neededM = runUp.wayM + 4 * boat.topMps + 2 * boat.stopM + work.driftMps * (aheadS + sternS);
  const roomM = work.clearanceM + work.driftMps * (aheadS + sternS);
  const straight = straightFor(work, neededM, roomM);
  const title = 'Full astern stops';
  if (straight === null || straight.lengthM < neededM - 1) {
    work.shortfalls.push({ what: title, why: `a free straight of ${neededM.toFixed(0)} m with ${roomM.toFixed(0)} m on every side is needed, ${(straight?.lengthM ?? 0).toFixed(0)} m is the longest there is`, remedy: 'find more open water, or wait for slack water, when the boat drifts less' });
    return;
  }
  const wanted95 = work.wanted('stopAstern');
  const need = repeatsFor(wanted95, withPositions(scatterOf(work.request.card.figures.stopAstern, USUAL_SCATTER.stop), positionSigmaM, boat.stopM, sternS));
  const path = pathFromHome(work, straight);
  const durationS = need.repeats * (aheadS + sternS + aboutS(work));
  work.trials.push(planned({
    kind: 'stop-astern',
    title,
    command: 'both 100 %, then -100 %',
    commandPct: -100,
    speedMps: boat.topMps,
    headingDeg: trueHeadingDeg(work, path),
    reciprocal: true,
    passes: need.repeats,
    runUpM: runUp.wayM,
    lengthM: straight.lengthM - runUp.wayM,
    path,
    roomM,
    wanted95,
    expected95: need.share95,
    durationS,
    energyWh: energyWh(work, boat.topMps, durationS),
    how: 'Full ahead on one heading until the speed is steady for 4 s; then full astern, until the boat gathers way astern.',
    log: LOG_MOTION,
    why,
  }));
  sayIfShort(work, 'stopping full astern', need.share95, wanted95, 'a receiver with corrections: the way is only a few times the error of the positions');
}

const LEG_M = 200;
const LEAST_LEG_M = 60;
/** The way after a turn, while the boat settles, is not looked at. */
const SETTLED_SHARE = 0.6;
/** Cross-track error swings once in about this way: look-ahead of a simple autopilot for the class (from memory) [m]. */
const SWING_M = 10;

/** Straight legs at survey speed, out and home. */
export function layLegs(work: TrialWork, why: string): void {
  const { boat } = work;
  const straight = straightFor(work, LEG_M, work.clearanceM);
  const title = 'Legs at survey speed';
  if (straight === null || straight.lengthM < LEAST_LEG_M) {
    work.shortfalls.push({ what: title, why: `a free straight of ${LEAST_LEG_M} m is needed, ${(straight?.lengthM ?? 0).toFixed(0)} m is the longest there is`, remedy: 'the first lines of the survey give it as well' });
    return;
  }
  const wanted95 = work.wanted('trackRms');
  const need = repeatsFor(wanted95, scatterOf(work.request.card.figures.trackRms, rmsScatter(SETTLED_SHARE * straight.lengthM, SWING_M)));
  const passes = 2 * Math.ceil(need.repeats / 2);
  const path = pathFromHome(work, straight);
  const commandPct = boat.commandFor(boat.surveyMps);
  const durationS = passes * (straight.lengthM / boat.surveyMps + aboutS(work));
  work.trials.push(planned({
    kind: 'straight-leg',
    title,
    command: `autopilot at ${boat.surveyMps.toFixed(1)} m/s (about ${commandPct} %)`,
    commandPct,
    speedMps: boat.surveyMps,
    headingDeg: trueHeadingDeg(work, path),
    reciprocal: true,
    passes,
    lengthM: straight.lengthM,
    path,
    roomM: work.clearanceM,
    wanted95,
    expected95: need.share95,
    durationS,
    energyWh: energyWh(work, boat.surveyMps, durationS),
    how: 'Give the autopilot the line and let it steer from end to end; turn as on a survey, and run it back.',
    log: LOG_POWER,
    why,
  }));
  sayIfShort(work, 'track keeping', need.share95, wanted95, 'the first lines of the survey add to it');
}

const LANE_M = 400;

/** A battery's discharge at survey speed, up and down one lane. */
export function layDischarge(work: TrialWork, why: string): void {
  const { boat } = work;
  const straight = straightFor(work, LANE_M, work.clearanceM);
  if (straight === null || straight.lengthM < LEAST_LEG_M) {
    work.shortfalls.push({ what: 'Discharge at survey speed', why: `no lane of ${LEAST_LEG_M} m is free`, remedy: 'log a survey from a full battery to the reserve instead' });
    return;
  }
  const path = pathFromHome(work, straight);
  const durationS = (boat.batteryWh / boat.powerW(boat.surveyMps)) * 3600;
  const hours = (seconds: number): string => `${Math.round(seconds / 3600)} h`;
  const fullS = (boat.batteryWh / boat.powerW(boat.topMps)) * 3600;
  work.trials.push(planned({
    kind: 'discharge',
    title: 'Discharge at survey speed',
    command: `autopilot at ${boat.surveyMps.toFixed(1)} m/s`,
    commandPct: boat.commandFor(boat.surveyMps),
    speedMps: boat.surveyMps,
    headingDeg: trueHeadingDeg(work, path),
    reciprocal: true,
    passes: 1,
    lengthM: straight.lengthM,
    path,
    roomM: work.clearanceM,
    durationS,
    energyWh: boat.batteryWh,
    how: `From a full battery down to the reserve, about ${hours(durationS)} at this speed${fullS < 0.7 * durationS ? ` (${hours(fullS)} at full ahead, where a battery gives a little less)` : ''}, over as many days as it takes and not charged between: days of survey at the same speed do as well as the lane. Attended. Add up voltage times current times time, and enter the watt-hours: boat.hand, batteryEnergy.`,
    log: LOG_POWER,
    why,
  }));
}
