/**
 * What was really so: the truth file the proving ground writes beside its logs.
 *
 * Rows of a log stand in the order of its lines. `record` is the 0-based line of the log file, as take-in counts it, so
 * that a sounding joins its truth by (log file, record).
 */

/** What was done to a ping on purpose. The code is the place in this list. */
export const PING_FAULTS = ['none', 'spike', 'burst', 'double', 'dropout', 'frozen', 'no-echo'] as const;
export type PingFault = (typeof PING_FAULTS)[number];

/** What was wrong with the positions on either side of a ping in time. The code is the place in this list. */
export const POSITION_FAULTS = ['none', 'jump', 'gap'] as const;
export type PositionFault = (typeof POSITION_FAULTS)[number];

/** What was done to a line of text. The code is the place in this list. */
export const LINE_DAMAGE = ['none', 'checksum', 'truncated', 'merged', 'noise-prefix', 'noise-line', 'blank-line', 'cut-merged'] as const;
export type LineDamage = (typeof LINE_DAMAGE)[number];

/** One row a ping, whether or not its sentence survived. Shape of every column: [n]. */
export interface PingTruth {
  readonly n: number;
  /** 0-based line of the log file. */
  readonly record: Uint32Array;
  /** When the echo was received, UTC, without any latency or clock error [s]. */
  readonly timeS: Float64Array;
  /** What the beam looked at, in the frame: under the transducer, or beside it where the boat leaned by more than half the beam [m]. */
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** Floor below chart datum there [m]. */
  readonly depthM: Float32Array;
  /** Where the first return came from, east and north of the transducer [m]. */
  readonly echoEastM: Float32Array;
  readonly echoNorthM: Float32Array;
  /** What was written, less what a faultless instrument would have written; NaN where nothing was written [m]. */
  readonly faultSizeM: Float32Array;
  /** Codes of PING_FAULTS, POSITION_FAULTS, LINE_DAMAGE. */
  readonly fault: Uint8Array;
  readonly positionFault: Uint8Array;
  readonly damage: Uint8Array;
}

/** One row a GNSS epoch that was written. Shape of every column: [n]. */
export interface FixTruth {
  readonly n: number;
  /** 0-based line of its GGA (NMEA) or of its row (CSV). */
  readonly record: Uint32Array;
  /** UTC as stamped [s]. */
  readonly timeS: Float64Array;
  /** Where the antenna was at the time stamped, in the frame [m]. */
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** 1 where a jump was put in. */
  readonly jump: Uint8Array;
}

/** What was done to the text of one log, counted. */
export interface DamageCounts {
  /** Lines as a reader counts them: LF ends a line, a CR before it belongs to the end; a last line without LF counts. */
  readonly lines: number;
  /** Sentences written whole, by type, e.g. {"GGA": 36000}: those a perfect reader finds with a right checksum. */
  readonly whole: Readonly<Record<string, number>>;
  /** Sentences spoilt by damage, by type. */
  readonly spoilt: Readonly<Record<string, number>>;
  /** Damaged lines by kind of LINE_DAMAGE. */
  readonly damaged: Readonly<Record<string, number>>;
  /** Lines that end in LF alone instead of CR LF (a plain fact of the log, not damage). */
  readonly bareLineFeeds: number;
}

/** The truth of one log file. */
export interface LogTruth {
  readonly file: string;
  readonly kind: 'nmea' | 'csv';
  readonly pings: PingTruth;
  readonly fixes: FixTruth;
  readonly damage: DamageCounts;
}

/** Constant errors as they were drawn from the seed: what the settings do not know. */
export interface DrawnErrors {
  /** True draft less the draft in the settings [m]. */
  readonly draftM: number;
  readonly squatM: number;
  /** True sound speed less the profile in the folder, at every depth [m/s]. */
  readonly soundSpeedMps: number;
  /** True latency less that in the settings, echo sounder against GNSS [s]. */
  readonly timeS: number;
  /** Compass constant error [deg]. */
  readonly headingDeg: number;
}

/** Everything that was really so in one proving survey. */
export interface Truth {
  readonly format: 'tallow-truth';
  readonly version: 1;
  readonly seed: number;
  /** Seed of the floor's texture; `createFloor(floorSeed)` is the floor. */
  readonly floorSeed: number;
  readonly drawn: DrawnErrors;
  readonly logs: readonly LogTruth[];
}
