import type { Floor } from './floor.js';
import type { SeaBedObject } from './sea-bed-objects.js';
import type { SideScanRun } from './side-scan-run.js';
import type { Truth } from './truth.js';

/** A line to run: from its first vertex to its last, in run order. */
export interface RunLine {
  /** Vertices [x0, y0, x1, y1, ...] in the frame, run-in and run-out included [m]. */
  readonly path: Float64Array | readonly number[];
  /** Speed over the ground on it [m/s]. */
  readonly speedMps: number;
}

/**
 * Takes a log's bytes in order, in pieces of about 64 KiB; the bytes are the taker's to keep. Files come one after the
 * other: a new name ends the file before it.
 */
export type LogSink = (file: string, bytes: Uint8Array) => void;

/** An invented survey ready to be run: what goes in its folder, and the making of its logs. */
export interface ProvingSurvey {
  readonly seed: number;
  readonly size: ProvingSize;
  /** For survey.json: checked by the survey room's schema, which fills in the rest. */
  readonly settings: Readonly<Record<string, unknown>>;
  /** Text by place in the folder: plan/area.geojson, plan/keepouts.geojson, plan/shore.geojson, water/level.csv, water/sound-speed.csv. */
  readonly files: Readonly<Record<string, string>>;
  /** Where the boat is put in the water, and where the crew's end of the link stands. */
  readonly launch: Place;
  readonly base: Place;
  readonly floor: Floor;
  /** The crew's own simple line plan, for when none is given: parallel lines over the area and two across. */
  ownLines(): readonly RunLine[];
  /** Names of the logs that `writeLogs` writes, in order. */
  readonly logFiles: readonly string[];
  /**
   * Runs the survey: boat, instruments, logger. Same survey and lines: same bytes.
   * @param lines lines in run order; null: `ownLines()`
   * @throws RangeError where there are no lines, or one has fewer than two vertices or no speed
   */
  writeLogs(lines: readonly RunLine[] | null, sink: LogSink): Truth;
  /**
   * The side-scan logs of the same trips, a log a trip, for a writer of such files; none where the boat carries no side-scan.
   * Samples are made as they are read.
   */
  sideScans(lines: readonly RunLine[] | null): readonly SideScanLog[];
}

/** A side-scan log of a trip, and what lay on the floor. */
export interface SideScanLog extends SideScanRun {
  readonly file: string;
  readonly objects: readonly SeaBedObject[];
}

/**
 * `short`: some minutes over the outcrop. `bank`: some minutes down the side of the bank, no rock. `demo`: two hours.
 * `day`: at least 300 000 pings.
 */
export type ProvingSize = 'short' | 'bank' | 'demo' | 'day';

export interface Place {
  readonly latDeg: number;
  readonly lonDeg: number;
  readonly xM: number;
  readonly yM: number;
}
