import { UseError } from '../base/errors.js';
import { formatUtc } from '../base/time.js';
import type { BoatModel } from '../boat/boat-model.js';
import type { Frame } from '../geo/frame.js';
import type { KeepOut } from '../geo/keep-out.js';
import { positionInWords } from '../geo/lon-lat.js';
import { pointInPolygon } from '../geo/ring.js';
import type { CurrentField } from '../water/current-field.js';
import { isTidal, type TideRule } from '../water/tidal-keepouts.js';
import { boatTurns } from './boat-turns.js';
import { exchangeRuns } from './exchange-runs.js';
import { leftOutLine, stopWords, told } from './left-out.js';
import { createLegClock } from './leg-time.js';
import { timeInWords } from './line-options.js';
import type { SurveyLine } from './line-plan.js';
import { runEnds } from './line-plan.js';
import type { RunnablePlan } from './plan-output.js';
import { linesInRunOrder } from './plan-output.js';
import type { Sortie, SortiePlan } from './sortie.js';
import type { Run } from './sortie-run.js';
import { createSortieRunner } from './sortie-run.js';
import { tallyRules } from './sortie-tally.js';
import type { SplitProblem } from './split-runs.js';
import { splitRuns } from './split-runs.js';
import { createTidalNetwork } from './tidal-network.js';
import { isChanging } from './timed-links.js';

/** How a battery is used. */
export interface BatteryPolicy {
  /** Charge a sortie begins with, over the battery's usable energy: 0 to 1. Default 1. */
  readonly chargeShare?: number;
  /** Time at the launch point between sorties [s]. Default 600 (common practice). */
  readonly swapS?: number;
  /** Chance that a sortie comes home without touching the reserve: 0.5 up to 0.9999. Default 0.95. */
  readonly chance?: number;
}

/** What `planSorties` is given. Positions in the frame [m]. */
export interface SortieRequest {
  /** Lines and their order: a LinePlan or a FillInPlan. */
  readonly plan: RunnablePlan;
  readonly keepouts: readonly KeepOut[];
  /** By what keep-outs by tide open; null or left out: they are closed. */
  readonly tide?: TideRule | null;
  /** As for planLines [m]. Default 2. */
  readonly clearanceM?: number;
  readonly frame: Frame;
  readonly model: BoatModel;
  readonly current: CurrentField;
  /** UTC second the first sortie leaves. */
  readonly startS: number;
  readonly launch: { readonly xM: number; readonly yM: number };
  /** Speed through the water on lines [m/s]; in transit the same unless given. */
  readonly speedMps: number;
  readonly transitMps?: number;
  /** Share of the battery's energy that no plan may touch: 0 up to but not including 1. */
  readonly reserveShare: number;
  readonly battery?: BatteryPolicy;
  /** `drag`: as the order of the lines has it, quick. `full` (default): lines are exchanged between sorties where that saves time. */
  readonly effort?: 'drag' | 'full';
}

/** One-sided normal quantiles at the chances people name, straight between (Abramowitz & Stegun 26.2, table 26.1). */
const QUANTILES: readonly (readonly [number, number])[] = [
  [0.5, 0], [0.8, 0.8416], [0.9, 1.2816], [0.95, 1.6449], [0.975, 1.96], [0.99, 2.3263], [0.999, 3.0902], [0.9999, 3.719],
];

/**
 * Cuts a plan's lines into sorties: trips on one charge from the launch point and back, the battery changed between them.
 *
 * Every sortie comes home with the reserve untouched with the chance asked for: energy from the power curve, with the
 * curve's covariance, the speed's, the current's and the battery's own uncertainty; and at the end of each of its lines the
 * way home from there is afforded too. As few sorties as there can be in the order the lines are in; then lines are exchanged
 * between them and put in another order where that saves time. A way leads over a keep-out by tide only while that is open
 * for the whole passage. A line longer than one charge is cut into pieces; one that cannot be run is left out, with the
 * reason, and the verdict is no-go; the others are planned all the same.
 *
 * @throws UseError for a launch point in a keep-out, a start outside the time the current is known for, a speed the boat does
 *   not reach; `where` holds what to draw
 * @throws RangeError for shares, speeds and times out of their limits
 */
export function planSorties(request: SortieRequest): SortiePlan {
  const { plan, model, current, launch, frame, startS, speedMps, reserveShare } = request;
  const policy = checkedPolicy(request);
  checkPlaces(request);
  const network = createTidalNetwork(request.keepouts, Math.max(LEAST_CLEARANCE_M, request.clearanceM ?? 2), request.tide ?? null, startS);
  const inside = request.keepouts.find((keepout) => pointInPolygon(keepout, launch.xM, launch.yM));
  if (inside !== undefined) {
    const place = positionInWords(...frame.toGeographic(launch.xM, launch.yM));
    throw new UseError(`launch point ${place}: lies in a keep-out: expected open water; move the launch point or the keep-out`, {
      expected: 'open water', found: 'a keep-out', fix: 'move the launch point or the keep-out', where: [Float64Array.of(launch.xM, launch.yM), inside.outer],
    });
  }
  const rules = tallyRules(model);
  const runner = createSortieRunner({
    network,
    clock: createLegClock(current),
    turns: boatTurns(model, speedMps),
    rules,
    launch,
    lineMps: speedMps,
    transitMps: request.transitMps ?? speedMps,
  });
  const tidal = request.tide?.level != null && request.keepouts.some(isTidal);
  const problem: SplitProblem = {
    runs: linesInRunOrder(plan).map(runOf),
    runner,
    rules,
    startS,
    swapS: policy.swapS,
    usableWh: model.batteryWh * policy.chargeShare * (1 - reserveShare),
    batterySigmaWh: (model.battery95Wh / 1.96) * policy.chargeShare * (1 - reserveShare),
    quantile: quantileOf(policy.chance),
    varies: tidal || (current.maxMps > 0 && isChanging(current, startS)),
  };
  const split = splitRuns(problem);
  const trips = request.effort === 'drag' ? split.trips : exchangeRuns(problem, split.trips);

  let endS = startS;
  const sorties = trips.map((trip, i): Sortie => {
    const { tally } = trip;
    const half = rules.half95(tally);
    endS = trip.departS + tally.timeS;
    return {
      number: i + 1,
      legs: runner.legs(trip.runs, trip.departS),
      lines: trip.runs.map((run) => run.number),
      lengthM: tally.lengthM,
      timeS: tally.timeS,
      time95S: half.timeS,
      energyWh: tally.energyWh,
      energy95Wh: half.energyWh,
      ...(trip.waited === null ? {} : { notBeforeS: trip.departS }),
    };
  });
  const why: string[] = [];
  const notes: string[] = [];
  if (sorties.length > 0) {
    const fullest = sorties.reduce((most, one) => (one.energyWh > most.energyWh ? one : most));
    const count = sorties.length === 1 ? 'one sortie' : `${sorties.length} sorties`;
    why.push(
      `${count}: at most ${fullest.energyWh.toFixed(0)} Wh (95 %: ${fullest.energy95Wh.toFixed(0)} Wh more or less) of ${(model.batteryWh * policy.chargeShare).toFixed(0)} Wh, ` +
        `${(reserveShare * 100).toFixed(0)} % kept in reserve, home with that untouched in ${(policy.chance * 100).toFixed(policy.chance > 0.99 ? 2 : 0)} of 100 cases`,
    );
    const allS = sorties.reduce((sum, one) => sum + one.timeS, 0);
    why.push(`about ${timeInWords(allS)} under way${sorties.length > 1 ? `, and ${timeInWords(policy.swapS)} at the launch point for each change of battery` : ''}`);
  }
  for (const { line, pieces } of split.cut) notes.push(`line ${line} is longer than one charge runs: cut into ${pieces === 1 ? 'a piece that one does' : `${pieces} pieces that one does, each with its own run-in`}`);
  const leftOut = split.refused.map((one) => leftOutLine(one, problem, current, speedMps));
  notes.push(...told(leftOut));
  const delayed = trips.map((trip, i) => (trip.waited === null ? null : `sortie ${i + 1} leaves at ${formatUtc(trip.departS).slice(0, 16).replace('T', ' ')} UTC, not before: until then ${stopWords(trip.waited, trip.runs[0]!, current, speedMps, trip.departS - 600)}`));
  notes.push(...delayed.filter((one) => one !== null));
  if (endS > current.endS) notes.push('the last sortie ends after the last known current, which is held from there on');
  if (model.standIns.length > 0) notes.push(`not measured on this boat: ${model.standIns.join('; ')}`);
  const reason = leftOut.length > 0 ? told(leftOut)[0]! : (delayed[0] ?? (sorties.length === 0 ? 'there are no lines' : 'every line is run'));
  return { format: 'tallow-sorties', version: 1, sorties, verdict: { go: leftOut.length === 0 && (delayed[0] ?? null) === null, reason }, leftOut, why, notes };
}

/** Ways keep off keep-outs by so much even where none is asked for [m]. */
const LEAST_CLEARANCE_M = 0.1;

/** A line as it is run. */
export function runOf(line: SurveyLine): Run {
  const ends = runEnds(line);
  return {
    number: line.number,
    kind: line.kind,
    at: [ends.fromXM, ends.fromYM, line.startXM, line.startYM, line.endXM, line.endYM, ends.toXM, ends.toYM],
    directionRad: Math.atan2(line.endYM - line.startYM, line.endXM - line.startXM),
    lengthM: line.lengthM,
    runInM: line.runInM,
    runOutM: line.runOutM,
  };
}

function quantileOf(chance: number): number {
  const above = QUANTILES.findIndex(([p]) => p >= chance);
  const [p1, z1] = QUANTILES[Math.max(1, above)]!;
  const [p0, z0] = QUANTILES[Math.max(1, above) - 1]!;
  return z0 + ((z1 - z0) * (chance - p0)) / (p1 - p0);
}

function checkedPolicy(request: SortieRequest): Required<BatteryPolicy> {
  const { chargeShare = 1, swapS = 600, chance = 0.95 } = request.battery ?? {};
  if (!(chargeShare > 0 && chargeShare <= 1)) throw new RangeError(`chargeShare ${chargeShare}: expected more than 0, at most 1`);
  if (!(swapS >= 0 && swapS < Infinity)) throw new RangeError(`swapS ${swapS}: expected 0 or more`);
  if (!(chance >= 0.5 && chance <= 0.9999)) throw new RangeError(`chance ${chance}: expected 0.5 to 0.9999`);
  if (!(request.reserveShare >= 0 && request.reserveShare < 1)) throw new RangeError(`reserveShare ${request.reserveShare}: expected 0 up to but not including 1`);
  return { chargeShare, swapS, chance };
}

function checkPlaces(request: SortieRequest): void {
  const { startS, current, model } = request;
  if (!Number.isFinite(startS)) throw new RangeError(`startS ${startS}: expected a UTC second`);
  for (const [name, speed] of [['speedMps', request.speedMps], ['transitMps', request.transitMps ?? request.speedMps]] as const) {
    if (!(speed > 0 && speed < Infinity)) throw new RangeError(`${name} ${speed}: expected more than 0`);
    if (speed > model.topSpeedMps) {
      throw new UseError(`speed: ${speed} m/s is more than the boat makes: expected at most ${model.topSpeedMps.toFixed(2)} m/s; plan with a lower speed`, {
        expected: `at most ${model.topSpeedMps.toFixed(2)} m/s`, found: `${speed} m/s`, fix: 'plan with a lower speed',
      });
    }
  }
  if (startS < current.startS || startS > current.endS) {
    const at = (s: number): string => (Number.isFinite(s) ? formatUtc(s) : 'any time');
    throw new UseError(`start ${at(startS)}: outside the time the current is known for: expected ${at(current.startS)} to ${at(current.endS)}; choose a start within it, or give a longer table`, {
      expected: `${at(current.startS)} to ${at(current.endS)}`, found: at(startS), fix: 'choose a start within it, or give a longer table',
    });
  }
}
