import { UseError } from '../base/errors.js';
import { convergenceDeg, foldBearingDeg, wrap360Deg } from '../geo/bearing.js';
import { LEAST_RUN_S, UNSTEADY_SHARE } from './trial-plan-accuracy.js';
import { lacksOf, planBoat, wantedOf } from './trial-plan-boat.js';
import { energyWh, planned, SLACK_MPS, type TrialWork } from './trial-plan-lay.js';
import type { PlannedTrial, TrialPlan, TrialPlanRequest } from './trial-plan-shape.js';
import { chooseStraights, layDischarge, layDoubleRun, layLegs, layStarts, layStops } from './trial-plan-straights.js';
import { circlesWanted, layCircles, laySpins, layZigZags } from './trial-plan-turns.js';
import { createTrialWater } from './trial-plan-water.js';

export type { PlannedKind, PlannedTrial, TrialAim, TrialPlan, TrialPlanRequest } from './trial-plan-shape.js';

const USUAL = { positionSigmaM: 0.5, surveySpeedMps: 1.5, clearanceM: 10 } as const;
/** Room is kept for this drift where the current is not known [m/s]; common practice for sheltered water, no source. */
const UNKNOWN_CURRENT_MPS = 0.3;
/** Below full ahead, commands of the power curve [%], as many as its three figures need and one to spare. */
const PART_COMMANDS = [80, 60, 45, 30] as const;
/** Power goes about with the cube of the speed: to know it to a share the speed must be known to a third of that. */
const POWER_OF_SPEED = 3;
const REST_S = 600;
/** Orders, checks and a word with the crew before each trial [s]. */
const SET_UP_S = 45;
/** Against a current the boat must make at least this share of it more than it. */
const HEADWAY = 1.3;

/**
 * Trials that give what the card lacks to the accuracy wanted, laid out on the water at hand in the order to run them.
 *
 * Reciprocal runs lie along the current where it is known, else on two headings at right angles, so that the current can be
 * solved for. Run lengths come from the noise of the positions and the unsteadiness of the boat (`runsFor`), repeats from the
 * scatter of one trial (`repeatsFor`). Everything lies in the water, clear of shore and keep-outs by the clearance and what
 * the boat may drift meanwhile, and within the link's range. Equal requests give equal plans.
 *
 * @throws UseError where nothing of what is wanted fits in the water; RangeError for a request that makes no sense
 * Source: ITTC 7.5-04-01-01.1 (double runs); IMO MSC.137(76), ITTC 7.5-04-02-01 (circles, stops, zig-zags).
 */
export function planTrials(request: TrialPlanRequest): TrialPlan {
  const { card, water, keepouts, frame, everything = false } = request;
  if (water.length === 0) throw new UseError('trial plan: there is no water to lay trials in; draw the area, or the water the boat may use', { fix: 'draw the area, or the water the boat may use' });
  const positionSigmaM = positive('positionSigmaM', request.positionSigmaM ?? USUAL.positionSigmaM);
  const clearanceM = positive('clearanceM', request.clearanceM ?? USUAL.clearanceM);
  const surveyMps = positive('surveySpeedMps', request.surveySpeedMps ?? USUAL.surveySpeedMps);
  const wanted = wantedOf(request);
  const boat = planBoat(card, surveyMps);
  const trialWater = createTrialWater(water, keepouts, request.launch ?? null, request.base ?? null, clearanceM);
  const convergence = convergenceDeg(frame, trialWater.homeXM, trialWater.homeYM);
  const known = request.current ?? null;
  if (known !== null && !(known.speedMps >= 0 && Number.isFinite(known.setDeg))) throw new RangeError(`current ${known.speedMps} m/s towards ${known.setDeg}: expected a speed of 0 or more and a direction`);
  if (known !== null && known.speedMps * HEADWAY > boat.topMps) {
    throw new UseError(`trial plan: the current of ${known.speedMps.toFixed(2)} m/s is as fast as the boat, which makes ${boat.topMps.toFixed(2)} m/s: it could not come home against it; wait for it to ease`, { fix: 'wait for the current to ease' });
  }
  const work: TrialWork = {
    request,
    boat,
    water: trialWater,
    positionSigmaM,
    clearanceM,
    current: known === null ? null : { gridDeg: known.setDeg - convergence, speedMps: known.speedMps },
    driftMps: known?.speedMps ?? UNKNOWN_CURRENT_MPS,
    convergenceDeg: convergence,
    wanted,
    main: null,
    trials: [],
    shortfalls: [],
    notes: [],
  };
  layAll(work, everything);
  if (work.trials.every(({ kind }) => kind === 'rest') && work.shortfalls.length > 0) {
    const first = work.shortfalls[0]!;
    throw new UseError(`trial plan: nothing fits in the water with ${clearanceM.toFixed(0)} m clear on every side: ${first.what}: ${first.why}; ${first.remedy}, or ask for less clearance`, { expected: first.what, found: first.why, fix: first.remedy });
  }
  return finished(work, surveyMps);
}

function positive(name: string, value: number): number {
  if (!(value > 0) || !Number.isFinite(value)) throw new RangeError(`${name} ${value}: expected more than 0`);
  return value;
}

const STARTS = ['timeTo63', 'timeTo90', 'timeTo95', 'distanceTo90'] as const;
const COASTS = ['coastLength', 'coastTo10'] as const;

/** Every kind that lacks something, in the order to run them: first what tells the current, last what empties the battery. */
function layAll(work: TrialWork, everything: boolean): void {
  const { card } = work.request;
  const lacking = (...names: (keyof typeof card.figures)[]): string => lacksOf(card, names, work.wanted, everything);
  const hotel = lacking('hotelPower');
  const top = lacking('topSpeed');
  const curve = lacking('powerCoefficient', 'powerExponent');
  const starts = lacking(...STARTS);
  const coasts = lacking(...COASTS);
  const stops = lacking('stopAstern', 'stopAsternTime');
  const circles = circlesWanted(work).filter(({ sides }) => sides.length > 0);
  const spins = lacking('spinRate', 'spinWander');
  const zigZags = lacking('nomotoK', 'nomotoT', 'overshootFirst');
  const legs = lacking('trackMean', 'trackRms', 'track95', 'settleDistance');
  const battery = lacking('batteryEnergy');
  const few = card.commandToSpeed.filter(({ source }) => source === 'trials').length < PART_COMMANDS.length && top !== '';
  const power = join(curve, few ? 'speed at each command: too few points' : '');

  if (hotel !== '') layRest(work, hotel);
  const throughWater = join(starts, coasts, stops) !== '';
  if (join(top, power) !== '' || throughWater) {
    const straights = chooseStraights(work);
    work.main = straights[0] ?? null;
    if (straights.length === 0) work.shortfalls.push({ what: 'Double runs', why: 'no straight of free water was found at any heading', remedy: 'find more open water' });
    const why = join(top, throughWater ? 'the current of the day' : '', power === '' ? '' : 'power at full ahead');
    straights.forEach((straight, i) => layDoubleRun(work, straight, 100, work.wanted('topSpeed'), i === 0 ? why : 'the current across the first runs'));
    if (power !== '' && work.main !== null) layPart(work, power);
  }
  if (join(starts, coasts) !== '') layStarts(work, starts !== '', coasts !== '', lacking(...STARTS, ...COASTS));
  if (stops !== '') layStops(work, stops);
  if (zigZags !== '') layZigZags(work, zigZags);
  if (legs !== '') layLegs(work, legs);
  for (const { commandPct, sides } of circles) layCircles(work, commandPct, sides);
  if (spins !== '') laySpins(work, spins);
  if (battery !== '') layDischarge(work, battery);
}

function join(...texts: readonly string[]): string {
  return texts.filter((text) => text !== '').join('; ');
}

/** Double runs below full ahead: the curves of speed and power. */
function layPart(work: TrialWork, why: string): void {
  const share = Math.min(work.wanted('powerCoefficient') / POWER_OF_SPEED, 0.05);
  const slow: number[] = [];
  for (const commandPct of PART_COMMANDS) {
    if (work.boat.speedAt(commandPct) < HEADWAY * (work.current?.speedMps ?? 0)) slow.push(commandPct);
    else layDoubleRun(work, work.main!, commandPct, share, why);
  }
  if (slow.length > 0) work.shortfalls.push({ what: `runs at ${slow.join(' and ')} %`, why: 'the boat would hardly stem the current', remedy: 'run them at slack water: the low end of the power curve rests on them' });
}

function layRest(work: TrialWork, why: string): void {
  work.trials.push(planned({
    kind: 'rest',
    title: 'At rest, everything on',
    command: 'both 0',
    passes: 1,
    durationS: REST_S,
    energyWh: energyWh(work, 0, REST_S),
    how: 'Afloat at the launch, made fast, with everything switched on that a survey uses: ten minutes with the thrusters at rest.',
    log: 'time, thruster commands, battery voltage and current',
    why,
  }));
}

function finished(work: TrialWork, surveyMps: number): TrialPlan {
  const { boat, water, positionSigmaM, clearanceM, request } = work;
  const trials = work.trials.map((trial, i): PlannedTrial => ({ number: i + 1, ...trial }));
  let [xM, yM] = [water.homeXM, water.homeYM];
  let wayM = 0;
  let timeS = 0;
  let energy = 0;
  let dischargeS = 0;
  for (const trial of trials) {
    if (trial.kind === 'discharge') {
      dischargeS += trial.durationS;
      continue;
    }
    timeS += trial.durationS + SET_UP_S;
    energy += trial.energyWh;
    const n = trial.path.length;
    const [startX, startY, endX, endY] = n > 0 ? [trial.path[0]!, trial.path[1]!, trial.path[n - 2]!, trial.path[n - 1]!] : Number.isFinite(trial.centreXM) ? [trial.centreXM, trial.centreYM, trial.centreXM, trial.centreYM] : [xM, yM, xM, yM];
    wayM += Math.hypot(startX - xM, startY - yM);
    const home = trial.reciprocal && trial.passes % 2 === 0;
    [xM, yM] = home ? [startX, startY] : [endX, endY];
  }
  wayM += Math.hypot(water.homeXM - xM, water.homeYM - yM);
  const transitS = wayM / boat.surveyMps;
  timeS += transitS;
  energy += energyWh(work, boat.surveyMps, transitS) + (boat.powerW(0) * SET_UP_S * trials.length) / 3600;
  const longest = water.longest(Infinity, clearanceM);
  const notes = [
    ...(trials.length === 0 ? ['The card has every figure to the accuracy wanted: no trial is needed.'] : []),
    request.current == null
      ? `The current is not known: full ahead is run on two headings where the water allows, and room is kept for a drift of ${UNKNOWN_CURRENT_MPS} m/s.`
      : request.current.speedMps < SLACK_MPS
        ? 'The water is taken as slack.'
        : `The current is taken as ${request.current.speedMps.toFixed(2)} m/s towards ${String(Math.round(wrap360Deg(request.current.setDeg)) % 360).padStart(3, '0')}°: runs lie along it, and what it carries the boat is kept free${request.current.from === undefined ? '' : ` (${request.current.from})`}.`,
    `Positions are taken as good to ${positionSigmaM} m (one sigma${request.positionFrom === undefined ? '' : `; ${request.positionFrom}`}), alike for a while; the speed as unsteady by ${100 * UNSTEADY_SHARE} % from one 10 s to the next. A run shorter than ${LEAST_RUN_S} s does not show how steady it was.`,
    `${clearanceM.toFixed(0)} m of water are kept free on every side. The ways between the trials are the crew's.`,
    ...(boat.surveyMps < surveyMps ? [`Survey speed is held to the boat's top speed, ${boat.topMps.toFixed(2)} m/s.`] : []),
    ...work.notes,
  ];
  return {
    trials,
    longestStraightM: longest?.lengthM ?? 0,
    longestHeadingDeg: longest === null ? NaN : foldBearingDeg(longest.gridDeg + work.convergenceDeg),
    clearanceM,
    timeS: trials.length === 0 ? 0 : timeS,
    energyWh: trials.length === 0 ? 0 : energy,
    dischargeS,
    batteryShare: energy / boat.batteryWh,
    shortfalls: work.shortfalls,
    notes,
  };
}
