import { CARD_FIGURES, type BoatCard, type CardFigure, type CardFigureName } from './boat-card.js';
import { figuresFromMotions } from './card-motions.js';
import { powerFromRuns, trialFigure } from './card-power.js';
import { speedsFromRuns } from './card-runs.js';
import { checkLog } from './check-log.js';
import { isRefused } from './estimate.js';
import type { IntendedLine } from './track-keeping.js';
import type { Trial, TrialLog } from './trial-log.js';

/** What the trials of a log give of a card. */
export type MeasuredCard = Pick<BoatCard, 'commandToSpeed' | 'speedToPower' | 'turning' | 'currents' | 'refused'> & {
  readonly figures: Partial<Record<CardFigureName, CardFigure>>;
  readonly powerCovariance: readonly number[] | null;
};

export interface MeasureOptions {
  /** n of P = hotel + a v^n where it is known; null: fitted where the runs tell it. */
  readonly powerExponent?: number | null;
  /** Lines the boat was to keep, by id of the straight leg. */
  readonly lines?: Readonly<Record<string, IntendedLine>>;
}

/** Runs at this command or more are at full ahead [%]. */
const FULL_AHEAD_PCT = 95;

/**
 * Every figure that the trials of a log carry, and why the others are refused.
 *
 * Faults of the whole log come first: with the compass the wrong way round, or askew, it is not used; with the battery
 * current's sign wrong no power is worked out.
 *
 * @param trials windows into the log, in any order; those with `refused` set are passed over and named
 * @throws RangeError for a window that is not rows of the log
 */
export function measureTrials(log: TrialLog, trials: readonly Trial[], options: MeasureOptions = {}): MeasuredCard {
  for (const { id, rowStart, rowEnd } of trials) {
    if (!(rowStart >= 0 && rowEnd <= log.n && rowStart < rowEnd)) throw new RangeError(`trial ${id}: rows ${rowStart} to ${rowEnd}, the log has ${log.n}`);
  }
  const faults = checkLog(log);
  const has = (code: (typeof faults)[number]['code']): boolean => faults.some((fault) => fault.code === code);
  const refused: { what: string; why: string }[] = faults.map(({ text }) => ({ what: 'the log', why: text }));
  const compass = !has('heading-reversed') && !has('heading-offset');
  const runs = speedsFromRuns(log, trials, compass);
  const motions = figuresFromMotions(log, trials, runs, compass, options.lines ?? {});
  refused.push(...runs.refused, ...motions.refused);
  const figures: Partial<Record<CardFigureName, CardFigure>> = { ...motions.figures };

  const known = runs.groups.flatMap((group) => (group.speed === null ? [] : [{ ...group, speed: group.speed }]));
  const idsOf = (group: (typeof known)[number]): string[] => group.runs.map(({ trial }) => trial.id);
  const fastest = known.filter((group) => Number.isNaN(group.commandPct) || group.commandPct >= FULL_AHEAD_PCT).sort((a, b) => b.speed.value - a.speed.value)[0];
  if (fastest !== undefined) figures.topSpeed = trialFigure(fastest.speed, 'm/s', idsOf(fastest), fastest.method, [Number.isNaN(fastest.commandPct) ? 'command not logged: the fastest runs are taken for full ahead' : '', fastest.note].filter((text) => text !== '').join('; '));
  else if (motions.startTops !== null) figures.topSpeed = trialFigure(motions.startTops.estimate, 'm/s', motions.startTops.trials, 'vmax of the standing starts, v = vmax tanh(t / tau)', 'no steady runs at full ahead');
  else if (known.length > 0) refused.push({ what: CARD_FIGURES.topSpeed.label, why: `the fastest runs were at ${Math.max(...known.map((group) => group.commandPct)).toFixed(0)} % command: run at full ahead` });

  let powerCovariance: readonly number[] | null = null;
  let speedToPower: MeasuredCard['speedToPower'] = [];
  if (!has('current-sign')) {
    const power = powerFromRuns(log, runs.groups, options.powerExponent ?? null);
    speedToPower = power.points;
    if (!isRefused(power.hotel)) figures.hotelPower = trialFigure(power.hotel, 'W', [], 'mean of voltage x current with both thrusters at rest');
    if (isRefused(power.curve)) {
      const battery = log.batteryCurrentA.some((value) => !Number.isNaN(value));
      if (battery) refused.push({ what: 'power against speed', why: power.curve.refused });
    } else {
      const { hotelW, coefficient, exponent, covariance } = power.curve;
      const method = power.exponentFixed ? `P = hotel + a v^n, n kept at ${exponent.value.toFixed(1)}, least squares` : 'P = hotel + a v^n, least squares';
      if (isRefused(power.hotel)) figures.hotelPower = trialFigure(hotelW, 'W', power.trials, method, 'from the curve: not measured at rest');
      else if (hotelW.sigma > 0) figures.hotelPower = { ...figures.hotelPower!, value: hotelW.value };
      figures.powerCoefficient = trialFigure(coefficient, CARD_FIGURES.powerCoefficient.unit, power.trials, method);
      if (!power.exponentFixed) {
        figures.powerExponent = trialFigure(exponent, '1', power.trials, method);
        powerCovariance = Array.from(covariance);
      } else if (options.powerExponent == null) {
        figures.powerExponent = { value: exponent.value, uncertainty95: 0.5, unit: '1', source: 'trials', trials: power.trials, method, note: 'too few speeds to fit it: about 3 below hull speed, common practice' };
      }
    }
  }
  const commandToSpeed = known
    .filter((group) => !Number.isNaN(group.commandPct))
    .map((group) => ({ ...trialFigure(group.speed, 'm/s', idsOf(group), group.method, group.note), atSpeedMps: group.speed.value, commandPct: group.commandPct }))
    .sort((a, b) => a.commandPct - b.commandPct);
  return { figures, powerCovariance, commandToSpeed, speedToPower, turning: motions.turning, currents: [...runs.currents, ...motions.currents], refused };
}
