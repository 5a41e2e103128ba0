/**
 * What instruments said, as columns in the order of the log.
 *
 * Times are UTC seconds since 1970 as the log's own clock gives them: no latency or clock offset applied.
 * `record` is the 0-based line (text logs) or record (binary logs) in the raw file, so that every value can be traced.
 * No-data is NaN.
 */

/** GNSS positions, one row an epoch. Shape of every column: [n]. */
export interface FixColumns {
  readonly n: number;
  readonly timeS: Float64Array;
  readonly latDeg: Float64Array;
  readonly lonDeg: Float64Array;
  /** Antenna height above the geoid, as GGA gives it [m]. */
  readonly heightM: Float32Array;
  /** Height of the geoid above the ellipsoid, as GGA gives it [m]. */
  readonly geoidM: Float32Array;
  /** NMEA GGA quality indicator: 0 invalid, 1 autonomous, 2 differential, 4 RTK fixed, 5 RTK float; 255 not stated. */
  readonly quality: Uint8Array;
  readonly satellites: Uint8Array;
  readonly hdop: Float32Array;
  /** One-sigma horizontal error from GST, one dimension (root mean of the latitude and longitude variances) [m]. */
  readonly sigmaM: Float32Array;
  /** Course [deg true] and speed over ground [m/s] of RMC or VTG at this epoch. */
  readonly courseDeg: Float32Array;
  readonly speedMps: Float32Array;
  readonly record: Uint32Array;
}

/** What a logged depth is measured from. DBT: transducer, DBS: surface, DBK: keel. */
export const DEPTH_FROM = { transducer: 0, surface: 1, keel: 2 } as const;

/** Echo-sounder depths, one row a ping. Shape of every column: [n]. */
export interface PingColumns {
  readonly n: number;
  readonly timeS: Float64Array;
  /** Depth as the instrument gave it, positive down, from the point named in `from` [m]. */
  readonly depthM: Float32Array;
  /** DPT's offset field: positive transducer to surface, negative transducer to keel; NaN where not given [m]. Recorded, not applied. */
  readonly offsetM: Float32Array;
  /** One of DEPTH_FROM. */
  readonly from: Uint8Array;
  readonly record: Uint32Array;
}

/** Anything else that is one number at a time: heading, water temperature, wind, attitude. Shape: [n]. */
export interface SeriesColumns {
  readonly n: number;
  readonly timeS: Float64Array;
  readonly value: Float64Array;
  readonly record: Uint32Array;
}

/** The series a log can carry, each with its unit. */
export const SERIES = {
  headingTrueDeg: { unit: 'deg', label: 'heading, true' },
  headingMagneticDeg: { unit: 'deg', label: 'heading, magnetic' },
  variationDeg: { unit: 'deg', label: 'magnetic variation, east positive' },
  waterTemperatureC: { unit: 'deg C', label: 'water temperature' },
  speedThroughWaterMps: { unit: 'm/s', label: 'speed through water' },
  windSpeedMps: { unit: 'm/s', label: 'wind speed, apparent' },
  windAngleDeg: { unit: 'deg', label: 'wind angle from the bow, apparent' },
  trueWindSpeedMps: { unit: 'm/s', label: 'wind speed, true' },
  trueWindAngleDeg: { unit: 'deg', label: 'wind angle from the bow, true' },
  pitchDeg: { unit: 'deg', label: 'pitch, bow up positive' },
  rollDeg: { unit: 'deg', label: 'roll, starboard down positive' },
  heaveM: { unit: 'm', label: 'heave, up positive' },
  batteryVoltageV: { unit: 'V', label: 'battery voltage' },
  batteryCurrentA: { unit: 'A', label: 'battery current, discharge positive' },
  thrusterPortPct: { unit: '%', label: 'port thruster command' },
  thrusterStarboardPct: { unit: '%', label: 'starboard thruster command' },
  waterLevelM: { unit: 'm', label: 'water level above datum' },
  soundSpeedMps: { unit: 'm/s', label: 'sound speed' },
} as const;

export type SeriesName = keyof typeof SERIES;

/** Everything one log said. */
export interface LogObservations {
  readonly fixes: FixColumns;
  readonly pings: PingColumns;
  readonly series: Partial<Record<SeriesName, SeriesColumns>>;
}

/** A reason why something in a log was not used, how often, and where it happened first. */
export interface RejectCount {
  /** Short machine name, e.g. `checksum`. */
  readonly code: string;
  /** In plain words, with what was expected. */
  readonly reason: string;
  readonly count: number;
  /** 1-based line or record of the first few. */
  readonly firstLines: readonly number[];
}

/** How a log was understood: kept in the manifest. */
export interface LogSummary {
  /** `nmea` | `csv` | `gpx` | `unknown`. */
  readonly kind: string;
  readonly lines: number;
  /** Sentences or records by type, e.g. {"GGA": 7250}. */
  readonly counts: Readonly<Record<string, number>>;
  readonly rejects: readonly RejectCount[];
  /** Things the user should know that are not rejects, in plain words. */
  readonly notes: readonly string[];
  readonly fixes: number;
  readonly pings: number;
  /** UTC seconds of the first and last timed observation, NaN where there is none. */
  readonly timeStartS: number;
  readonly timeEndS: number;
  readonly bbox: { readonly south: number; readonly west: number; readonly north: number; readonly east: number } | null;
  readonly depthMinM: number;
  readonly depthMaxM: number;
}
