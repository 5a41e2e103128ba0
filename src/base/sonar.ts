/**
 * Side-scan pings as a log holds them: heads that fit in memory for a whole day, and samples that are read a stretch at a time.
 *
 * Times are UTC seconds since 1970 by the sonar's own clock, no offset applied. `record` is the 0-based ping in its file. No-data is NaN.
 */

/** The two sides, in the order in which they are kept everywhere. */
export const SIDES = ['port', 'starboard'] as const;
export type Side = (typeof SIDES)[number];

/** What is known of each ping beside its samples, in the order of the file. Shape of every column: [n]. */
export interface SonarHeads {
  readonly n: number;
  readonly timeS: Float64Array;
  /** 0-based ping in its file. */
  readonly record: Uint32Array;
  /** Samples of each side; 0 where the side is missing. */
  readonly portSamples: Uint32Array;
  readonly starboardSamples: Uint32Array;
  /** Two-way time from one sample to the next [s]. */
  readonly intervalS: Float64Array;
  /** Two-way time of the first sample after the ping was sent [s]. */
  readonly delayS: Float64Array;
  /** Position and heading the record itself carries, NaN where none. */
  readonly latDeg: Float64Array;
  readonly lonDeg: Float64Array;
  readonly headingDeg: Float32Array;
  /** Height of the sonar above the floor and its depth below the surface as the record gives them, NaN where none [m]. */
  readonly heightM: Float32Array;
  readonly depthM: Float32Array;
  /** Frequency [Hz], NaN where not stated. */
  readonly frequencyHz: Float32Array;
}

/** Echo amplitudes of a stretch of pings, sample 0 the earliest, in the instrument's own linear units. */
export interface SonarSamples {
  readonly n: number;
  /** Columns of the two tables: the longest side of the stretch. */
  readonly width: number;
  /** Shape [n * width], a ping a row; NaN beyond a ping's own samples and where a side is missing. */
  readonly port: Float32Array;
  readonly starboard: Float32Array;
}

/** An open side-scan log. */
export interface SonarReader {
  readonly heads: SonarHeads;
  /** Samples of the pings [start, end) by their row in `heads`. */
  read(start: number, end: number, signal?: AbortSignal): Promise<SonarSamples>;
  close(): Promise<void>;
}
