import { mean, standardDeviation } from '../base/statistics.js';
import type { CardFigure, CardPoint } from './boat-card.js';
import type { SpeedGroup } from './card-runs.js';
import { combine, half95, isRefused, type Estimate, type Refusal } from './estimate.js';
import { fitPowerCurve, type PowerCurve } from './power-curve.js';
import type { TrialLog } from './trial-log.js';

/** Power figures of a card. */
export interface PowerFigures {
  readonly hotel: Estimate | Refusal;
  readonly curve: PowerCurve | Refusal;
  /** Whether the exponent was given and not fitted. */
  readonly exponentFixed: boolean;
  readonly points: readonly CardPoint[];
  readonly trials: readonly string[];
}

/** Thrusters count as at rest from this long after they stop, for at least this long [s]. */
const REST_AFTER_S = 3;
const REST_FOR_S = 15;
/** Exponent where too few speeds tell one: about 3 below hull speed. */
const USUAL_EXPONENT = 3;

/**
 * Mean electrical power with both thrusters at rest, over every stretch of 15 s or more, with its error from the scatter of
 * blocks of 3 s [W].
 */
export function hotelPower(log: TrialLog): Estimate | Refusal {
  const blocks: number[] = [];
  let start = -1;
  for (let i = 0; i <= log.n; i++) {
    const still = i < log.n && Math.abs(log.thrusterPortPct[i]!) <= 1 && Math.abs(log.thrusterStarboardPct[i]!) <= 1 && (start < 0 || log.timeS[i]! - log.timeS[i - 1]! < 2.5);
    if (still) {
      if (start < 0) start = i;
      continue;
    }
    if (start >= 0 && log.timeS[i - 1]! - log.timeS[start]! >= REST_AFTER_S + REST_FOR_S) blocksInto(log, start, i, blocks);
    start = -1;
  }
  const n = blocks.length;
  if (n < 3) return { refused: `no stretch of ${REST_FOR_S} s with the thrusters at rest and the battery logged` };
  const value = mean(blocks);
  return value > 0 ? { value, sigma: standardDeviation(blocks) / Math.sqrt(n), dof: n - 1 } : { refused: `power at rest is ${value.toFixed(1)} W: the battery current has the wrong sign` };
}

const REST_BLOCK_S = 3;

/** Mean power of every whole block of 3 s from 3 s after the thrusters stopped. */
function blocksInto(log: TrialLog, rowStart: number, rowEnd: number, blocks: number[]): void {
  let sum = 0;
  let n = 0;
  let endS = log.timeS[rowStart]! + REST_AFTER_S + REST_BLOCK_S;
  for (let i = rowStart; i < rowEnd; i++) {
    const time = log.timeS[i]!;
    if (time < endS - REST_BLOCK_S) continue;
    if (time >= endS) {
      if (n > 0) blocks.push(sum / n);
      sum = n = 0;
      endS += REST_BLOCK_S;
    }
    const power = log.batteryVoltageV[i]! * log.batteryCurrentA[i]!;
    if (Number.isNaN(power)) continue;
    sum += power;
    n++;
  }
}

/** Power of every speed group, the curve through them, and the hotel load. */
export function powerFromRuns(log: TrialLog, groups: readonly SpeedGroup[], exponent: number | null): PowerFigures {
  const hotel = hotelPower(log);
  const known = groups.flatMap((group) => {
    const powers = group.runs.flatMap(({ mean }): Estimate[] => (Number.isNaN(mean.powerW) || !(mean.sigmaPowerW >= 0) ? [] : [{ value: mean.powerW, sigma: Math.max(mean.sigmaPowerW, 0.002 * Math.abs(mean.powerW)), dof: mean.dof }]));
    return group.speed === null || powers.length === 0 ? [] : [{ group, speed: group.speed, power: combine(powers, 12) }];
  }).sort((a, b) => a.speed.value - b.speed.value);
  const trials = known.flatMap(({ group }) => group.runs.map(({ trial }) => trial.id));
  const points = known.map(({ group, speed, power }): CardPoint => ({
    atSpeedMps: speed.value,
    value: power.value,
    uncertainty95: half95(power),
    unit: 'W',
    source: 'trials',
    trials: group.runs.map(({ trial }) => trial.id),
    method: 'mean of voltage x current over the runs',
    note: '',
  }));
  if (known.length === 0) return { hotel, curve: { refused: 'no steady run with battery voltage and current' }, exponentFixed: false, points, trials };
  const measured = isRefused(hotel) ? null : hotel;
  const needed = measured === null ? 3 : 2;
  const fixed = exponent ?? (known.length < needed ? USUAL_EXPONENT : null);
  // The speed's own error moves the power along the curve: about exponent times thrust power over speed.
  const floor = measured?.value ?? 0;
  const sigma = known.map(({ speed, power }) => Math.hypot(power.sigma, ((fixed ?? USUAL_EXPONENT) * Math.max(0, power.value - floor) * speed.sigma) / speed.value));
  const fit = (n: number | null): PowerCurve | Refusal => fitPowerCurve(known.map(({ speed }) => speed.value), known.map(({ power }) => power.value), sigma, { exponent: n, hotelW: measured });
  const curve = fit(fixed);
  if (isRefused(curve) && fixed === null && /too alike|apart/.test(curve.refused)) return { hotel, curve: fit(USUAL_EXPONENT), exponentFixed: true, points, trials };
  return { hotel, curve, exponentFixed: fixed !== null, points, trials };
}

/** A figure from trials. */
export function trialFigure(estimate: Estimate, unit: string, trials: readonly string[], method: string, note = ''): CardFigure {
  return { value: estimate.value, uncertainty95: half95(estimate), unit, source: 'trials', trials, method, note };
}
