import type { BoatModel } from '../boat/boat-model.js';
import type { CurrentField } from '../water/current-field.js';
import type { LineOptions } from './line-plan.js';

/** Line options with every default filled in. */
export interface FullLineOptions {
  readonly spacingM: number;
  readonly spacingAtM: ((xM: number, yM: number) => number) | null;
  readonly headingDeg: number | null;
  readonly crossShare: number;
  readonly runInM: number;
  readonly runOutM: number;
  readonly minLengthM: number;
  readonly insetM: number;
  readonly keepoutM: number;
  readonly speedMps: number;
  readonly turnS: number;
  readonly clearanceM: number;
  readonly launch: { readonly xM: number; readonly yM: number } | null;
  readonly effort: 'drag' | 'full';
  readonly cells: boolean;
  readonly edges: 'cut' | 'cover';
  readonly boat: BoatModel | null;
  readonly current: CurrentField | null;
  readonly startS: number;
}

/** Time lost at a change of lines [s]: common practice for a boat that turns on the spot; no source. */
const TURN_S = 8;
/** Transit's clearance where none is given [m]: common practice, about the error of a plain GNSS position. */
const CLEARANCE_M = 2;

/**
 * Checks options and fills in the defaults.
 * @throws RangeError that names the option, its value and the limit
 */
export function fullLineOptions(options: LineOptions): FullLineOptions {
  const positive = (name: 'spacingM' | 'speedMps'): number => {
    const value = options[name];
    if (!(value > 0 && value < Infinity)) throw new RangeError(`${name} ${value}: expected more than 0`);
    return value;
  };
  const notNegative = (name: string, value: number): number => {
    if (!(value >= 0 && value < Infinity)) throw new RangeError(`${name} ${value}: expected 0 or more`);
    return value;
  };
  const { headingDeg } = options;
  if (headingDeg !== null && !(headingDeg >= 0 && headingDeg < 360)) throw new RangeError(`headingDeg ${headingDeg}: expected 0 <= heading < 360, or null`);
  if (!(options.crossShare >= 0 && options.crossShare <= 1)) throw new RangeError(`crossShare ${options.crossShare}: expected 0 to 1`);
  const insetM = notNegative('insetM', options.insetM);
  const clearanceM = options.clearanceM ?? Math.max(insetM, options.keepoutM ?? 0, CLEARANCE_M);
  if (!(clearanceM > 0 && clearanceM < Infinity)) throw new RangeError(`clearanceM ${clearanceM}: expected more than 0`);
  const launch = options.launch ?? null;
  if (launch !== null && !(Number.isFinite(launch.xM) && Number.isFinite(launch.yM))) {
    throw new RangeError(`launch ${launch.xM}, ${launch.yM}: expected numbers`);
  }
  return {
    spacingM: positive('spacingM'),
    spacingAtM: options.spacingAtM ?? null,
    headingDeg,
    crossShare: options.crossShare,
    runInM: notNegative('runInM', options.runInM),
    runOutM: notNegative('runOutM', options.runOutM),
    minLengthM: notNegative('minLengthM', options.minLengthM),
    insetM,
    keepoutM: notNegative('keepoutM', options.keepoutM ?? 0),
    speedMps: positive('speedMps'),
    turnS: notNegative('turnS', options.turnS ?? TURN_S),
    clearanceM,
    launch,
    effort: options.effort ?? 'full',
    cells: options.cells ?? false,
    edges: options.edges ?? 'cut',
    boat: options.boat ?? null,
    current: options.current ?? null,
    startS: options.startS ?? 0,
  };
}

/** A time for people: `45 s`, `12 min`, `2 h 05 min`. */
export function timeInWords(timeS: number): string {
  if (timeS < 90) return `${Math.round(timeS)} s`;
  const minutes = Math.round(timeS / 60);
  if (minutes < 60) return `${minutes} min`;
  return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')} min`;
}

/** A heading for people: three digits. */
export function headingInWords(headingDeg: number): string {
  return String(Math.round(headingDeg) % 360).padStart(3, '0');
}
