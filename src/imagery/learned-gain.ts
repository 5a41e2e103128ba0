import type { Side } from '../base/sonar.js';

/**
 * What the floor's echo of this survey usually is, as found from its own pings: what is taken off, so that what is left is how
 * much louder or softer a place is than the floor usually is at that angle and range. Plain JSON.
 */
export interface LearnedGain {
  /** Spreading put back before anything is learned [dB a decade of slant range]; 30 for the floor. */
  readonly spreadingDb: number;
  /** Absorption put back, one way [dB/km]. */
  readonly absorptionDbPerKm: number;
  /** Median level by angle, `angleBin` apart, port and starboard [dB]. */
  readonly angleDb: Readonly<Record<Side, readonly number[]>>;
  /** What is left by slant range, `rangeStepM` apart from 0, port and starboard [dB]. */
  readonly rangeDb: Readonly<Record<Side, readonly number[]>>;
  readonly rangeStepM: number;
  /** Pings it was learned from. */
  readonly pings: number;
}

/** Gain of the survey with what each ping was off its neighbours. Shape of the columns: [n]. */
export interface SurveyGain extends LearnedGain {
  readonly portPingDb: Float32Array;
  readonly starboardPingDb: Float32Array;
}

/** Bins of angle: even steps of asinh(2 cot(grazing)), which is even in ground range near the track and in its ratio far out. */
export const ANGLE_BINS = 72;
const ANGLE_STEP = 0.075;
export const RANGE_BINS = 64;

/** Where an angle falls among the bins, as a fraction; bin k is centred on k + 0.5. @param cotGrazing ground range over height */
export function angleBin(cotGrazing: number): number {
  return Math.asinh(2 * cotGrazing) / ANGLE_STEP;
}

/** Cotangent of the grazing angle at the start of a bin. */
export function cotOfAngleBin(bin: number): number {
  return Math.sinh(bin * ANGLE_STEP) / 2;
}

/** Spreading and absorption put back [dB]: k log10 R + 2 alpha R. Source: IHO C-13 (2005) ch. 4; 30 log R for the floor. */
export function rangeGainDb(slantM: number, spreadingDb: number, absorptionDbPerKm: number): number {
  return spreadingDb * Math.log10(Math.max(slantM, 0.1)) + (2 * absorptionDbPerKm * slantM) / 1000;
}

/** Value between bin centres of a table, its ends carried on. */
function between(table: readonly number[], place: number): number {
  const at = Math.min(Math.max(place - 0.5, 0), table.length - 1);
  const low = Math.min(Math.floor(at), table.length - 2);
  return low < 0 ? (table[0] ?? 0) : table[low]! + (at - low) * (table[low + 1]! - table[low]!);
}

/**
 * The level the floor usually has on a side, by slant range and angle [dB of the instrument's own amplitude]: what `20 log10 A`
 * is held against.
 */
export function normaliser(gain: LearnedGain, side: Side): (slantM: number, cotGrazing: number) => number {
  const { spreadingDb, absorptionDbPerKm, rangeStepM } = gain;
  const [angleDb, rangeDb] = [gain.angleDb[side], gain.rangeDb[side]];
  return (slantM, cotGrazing) => between(angleDb, angleBin(cotGrazing)) + between(rangeDb, slantM / rangeStepM) - rangeGainDb(slantM, spreadingDb, absorptionDbPerKm);
}

/** A gain that takes nothing off but spreading and absorption, for a look before anything is learned. */
export function plainGain(spreadingDb = 30, absorptionDbPerKm = 0): LearnedGain {
  const flat = { port: new Array<number>(ANGLE_BINS).fill(0), starboard: new Array<number>(ANGLE_BINS).fill(0) };
  const none = { port: new Array<number>(RANGE_BINS).fill(0), starboard: new Array<number>(RANGE_BINS).fill(0) };
  return { spreadingDb, absorptionDbPerKm, angleDb: flat, rangeDb: none, rangeStepM: 1, pings: 0 };
}

/** A gain with every ping as it is. */
export function withPings(gain: LearnedGain, n: number): SurveyGain {
  return { ...gain, portPingDb: new Float32Array(n), starboardPingDb: new Float32Array(n) };
}

/** The level the mosaic keeps in a byte: 0 no data, 128 the usual return, 4 steps a dB, held to 1..255. */
export function levelByte(levelDb: number): number {
  return Number.isNaN(levelDb) ? 0 : Math.min(255, Math.max(1, Math.round(128 + 4 * levelDb)));
}
