/**
 * The log of trials on one time base: what the analysis sees. Shape of every column: [n]; NaN where not logged.
 * Rows are the position epochs of the log, times rising; other instruments are read off at those times.
 */
export interface TrialLog {
  readonly n: number;
  /** UTC [s]. */
  readonly timeS: Float64Array;
  /** Reference point of the boat in the survey frame [m]. */
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** One-sigma position error, one dimension [m]. */
  readonly sigmaM: Float32Array;
  /** True heading of the bow [deg]; NaN throughout where no compass was logged. */
  readonly headingDeg: Float32Array;
  readonly speedThroughWaterMps: Float32Array;
  /** Thruster commands, -100 (full astern) to 100 (full ahead) [%]. */
  readonly thrusterPortPct: Float32Array;
  readonly thrusterStarboardPct: Float32Array;
  readonly batteryVoltageV: Float32Array;
  /** Discharge positive [A]. */
  readonly batteryCurrentA: Float32Array;
  /** What to add to a bearing in the frame to get a true one [deg]. */
  readonly convergenceDeg: number;
}

/** What can be found in a log of trials. */
export const TRIAL_KINDS = ['steady-run', 'standing-start', 'coast-down', 'stop-astern', 'turning-circle', 'spin', 'zig-zag', 'straight-leg'] as const;
export type TrialKind = (typeof TRIAL_KINDS)[number];

/** A piece of the log that is one trial. */
export interface Trial {
  /** Stable within a log: kind and start second, e.g. `turning-circle@1781685123`. */
  readonly id: string;
  readonly kind: TrialKind;
  /** Rows [rowStart, rowEnd) of the log. */
  readonly rowStart: number;
  readonly rowEnd: number;
  readonly startS: number;
  readonly endS: number;
  /** Course made good over it, true [deg]; NaN where the boat turned. */
  readonly courseDeg: number;
  /** Mean speed over ground [m/s]. */
  readonly speedMps: number;
  /** Mean of both thruster commands [%]; NaN where not logged. */
  readonly commandPct: number;
  /** How steady it was, 0 (not at all) to 1. */
  readonly steadiness: number;
  /** Runs of the same reciprocal pair or series share a number; -1 for none. */
  readonly series: number;
  /** Who drew the window. */
  readonly by: 'found' | 'hand';
  /** Why a figure was refused from it, in plain words; empty where it is good. */
  readonly refused: string;
}
