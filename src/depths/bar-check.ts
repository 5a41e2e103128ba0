import type { Estimate } from '../boat/estimate.js';
import { studentT95 } from '../boat/student.js';

/** One reading of a plate hung under the transducer. */
export interface BarReading {
  /** The plate below the water surface, by its marked line [m]. */
  readonly barM: number;
  /** What the sounder read, from the transducer down [m]. */
  readonly readM: number;
}

export interface BarCheckOptions {
  /** What the sounder multiplied travel times by [m/s]. */
  readonly soundSpeedSetMps: number;
  /** One sigma of a plate's depth: marks, stretch, a line that does not hang plumb [m]. */
  readonly barSigmaM: number;
}

/** What a bar check found. */
export interface BarCheck {
  readonly readings: number;
  readonly depths: number;
  /** Number that readings are to be multiplied by [1]; true sound speed over the one that was set. */
  readonly scale: Estimate;
  /** Mean sound speed over the plates' depths [m/s]. */
  readonly soundSpeedMps: Estimate;
  /** What is to be added to a scaled reading for the depth below the surface: draft and index error together [m]. */
  readonly draftM: Estimate;
  /** By depth: plate, mean reading, what is left of the mean after the fit [m]. */
  readonly rows: readonly { readonly barM: number; readonly readM: number; readonly count: number; readonly leftM: number }[];
  /** Of what is left by depth, root mean square [m]. */
  readonly rmsM: number;
  /** Why it is not to be used; empty where it may be. */
  readonly refused: string;
}

/** Fewer depths do not tell a scale from an offset with anything left to judge by. */
const LEAST_DEPTHS = 3;
/** Plates that reach over less than this say nothing of a scale [m]. */
const LEAST_SPAN_M = 2;
/** Sound in any natural water the instrument could be set for: further off and a reading or a unit is wrong. */
const SCALE_RANGE = [0.92, 1.08] as const;
/** A plate's mean reading further off the line than this is a misread mark [m]. Common practice. */
const LARGEST_LEFT_M = 0.1;

/**
 * Draft with index error, and scale of the sound speed, from plates at known depths.
 *
 *     depth of plate = scale x reading + draft
 *
 * Weighted least squares on the mean reading of each depth: a mean's variance is the plate's own and the readings' pooled
 * one over their number. The standard errors are those of the weights or of what is left, whichever is the larger.
 *
 * @throws RangeError for a set sound speed or sigma that is not positive
 *
 * Source: IHO C-13 (2005), 3.4 (bar check); USACE EM 1110-2-1003. Slope as sound-speed scale, intercept as draft and index.
 */
export function barCheck(readings: readonly BarReading[], options: BarCheckOptions): BarCheck {
  const { soundSpeedSetMps, barSigmaM } = options;
  if (!(soundSpeedSetMps > 0)) throw new RangeError(`soundSpeedSetMps ${soundSpeedSetMps}: expected more than 0`);
  if (!(barSigmaM > 0)) throw new RangeError(`barSigmaM ${barSigmaM}: expected more than 0`);
  const groups = new Map<number, number[]>();
  for (const { barM, readM } of readings) {
    if (!Number.isFinite(barM) || !Number.isFinite(readM)) continue;
    groups.set(barM, [...(groups.get(barM) ?? []), readM]);
  }
  const means = [...groups].sort(([a], [b]) => a - b).map(([barM, all]) => ({ barM, count: all.length, readM: all.reduce((sum, one) => sum + one, 0) / all.length, all }));
  const free = means.reduce((sum, { count }) => sum + count - 1, 0);
  const pooled = free > 0 ? means.reduce((sum, { all, readM }) => sum + all.reduce((squares, one) => squares + (one - readM) ** 2, 0), 0) / free : 0;
  const none: Estimate = { value: NaN, sigma: NaN, dof: 1 };
  const count = means.reduce((sum, one) => sum + one.count, 0);
  const spanM = means.length === 0 ? 0 : means[means.length - 1]!.barM - means[0]!.barM;
  const empty = { readings: count, depths: means.length, scale: none, soundSpeedMps: none, draftM: none, rows: means.map(({ barM, readM, count: n }) => ({ barM, readM, count: n, leftM: NaN })), rmsM: NaN };
  if (means.length < LEAST_DEPTHS) return { ...empty, refused: `${means.length === 1 ? 'one depth' : `${means.length} depths`} of the plate: expected at least ${LEAST_DEPTHS}, the deepest near the deepest water of the survey` };
  if (spanM < LEAST_SPAN_M) return { ...empty, refused: `the plate was hung over ${spanM.toFixed(1)} m only: expected ${LEAST_SPAN_M} m or more between the shallowest and the deepest` };

  const weight = means.map(({ count: n }) => 1 / (barSigmaM ** 2 + pooled / n));
  const total = weight.reduce((sum, one) => sum + one, 0);
  const middleRead = means.reduce((sum, { readM }, i) => sum + weight[i]! * readM, 0) / total;
  const middleBar = means.reduce((sum, { barM }, i) => sum + weight[i]! * barM, 0) / total;
  const spread = means.reduce((sum, { readM }, i) => sum + weight[i]! * (readM - middleRead) ** 2, 0);
  const scale = means.reduce((sum, { readM, barM }, i) => sum + weight[i]! * (readM - middleRead) * (barM - middleBar), 0) / spread;
  const draft = middleBar - scale * middleRead;
  const rows = means.map(({ barM, readM, count: n }) => ({ barM, readM, count: n, leftM: barM - scale * readM - draft }));
  const chi = rows.reduce((sum, { leftM }, i) => sum + weight[i]! * leftM * leftM, 0) / (means.length - 2);
  const inflate = Math.max(1, chi);
  const dof = chi > 1 ? means.length - 2 : Infinity;
  const scaleSigma = Math.sqrt(inflate / spread);
  const draftSigma = Math.sqrt(inflate * (1 / total + middleRead ** 2 / spread));
  const worst = rows.reduce((one, other) => (Math.abs(other.leftM) > Math.abs(one.leftM) ? other : one));
  const refused = ((): string => {
    if (!(scale > SCALE_RANGE[0] && scale < SCALE_RANGE[1])) return `readings would have to be multiplied by ${scale.toFixed(3)}: expected ${SCALE_RANGE[0]} to ${SCALE_RANGE[1]}; look at the unit of the readings, at the plates' depths, and at whether readings count from the transducer or from the surface`;
    if (Math.abs(worst.leftM) > Math.max(LARGEST_LEFT_M, 3 * barSigmaM)) return `at ${worst.barM} m the mean reading is ${Math.abs(worst.leftM).toFixed(2)} m off the line through all: expected less than ${Math.max(LARGEST_LEFT_M, 3 * barSigmaM).toFixed(2)} m; look at the readings there and hang that plate again`;
    if (draft < -0.05) return `the transducer would be ${(-draft).toFixed(2)} m above the water: readings may count from the surface already`;
    return '';
  })();
  return {
    readings: count,
    depths: means.length,
    scale: { value: scale, sigma: scaleSigma, dof },
    soundSpeedMps: { value: scale * soundSpeedSetMps, sigma: scaleSigma * soundSpeedSetMps, dof },
    draftM: { value: draft, sigma: draftSigma, dof },
    rows,
    rmsM: Math.sqrt(rows.reduce((sum, { leftM }) => sum + leftM * leftM, 0) / rows.length),
    refused,
  };
}

/** Whether two estimates of one thing, made independently, differ beyond chance (95 %). */
export function differs(one: Estimate, other: Estimate): boolean {
  return Math.abs(one.value - other.value) > studentT95(Math.max(1, Math.min(one.dof, other.dof))) * Math.hypot(one.sigma, other.sigma);
}
