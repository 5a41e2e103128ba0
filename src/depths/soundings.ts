/**
 * Why a sounding is set aside. The number is what derived/soundings.parquet stores; the order is the order of the tests.
 * A set-aside sounding keeps its depth and place; it takes no part in the surface.
 */
export const REASONS = [
  { code: 0, name: 'good', label: 'good' },
  { code: 1, name: 'no-position', label: 'no position near enough in time' },
  { code: 2, name: 'position-jump', label: 'position jumped' },
  { code: 3, name: 'no-depth', label: 'no depth' },
  { code: 4, name: 'depth-gate', label: 'outside the depth gate' },
  { code: 5, name: 'repeated', label: 'same value repeated' },
  { code: 6, name: 'double-echo', label: 'double echo' },
  { code: 7, name: 'slope-gate', label: 'steeper than the slope gate' },
  { code: 8, name: 'outlier', label: 'outlier against its neighbours' },
  { code: 9, name: 'no-water-level', label: 'no water level at that time' },
  { code: 10, name: 'by-hand', label: 'set aside by hand' },
] as const;

export type ReasonName = (typeof REASONS)[number]['name'];

/** The code of a reason. */
export function reasonCode(name: ReasonName): number {
  return REASONS.findIndex((reason) => reason.name === name);
}

/** Reduced soundings as columns in time order. Shape of every column: [n]. */
export interface Soundings {
  readonly n: number;
  /** UTC, clock offset and latency applied [s]. */
  readonly timeS: Float64Array;
  /** Place of the sounding in the survey frame, lever arm applied [m]. */
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** Depth as the instrument gave it [m]. */
  readonly measuredM: Float32Array;
  /** Depth below the survey datum, positive down [m]. */
  readonly depthM: Float32Array;
  /** Water level above datum that was taken off [m]. */
  readonly waterLevelM: Float32Array;
  /** Total vertical and horizontal uncertainty, 95 % [m]. */
  readonly tvuM: Float32Array;
  readonly thuM: Float32Array;
  /** Code of REASONS; 0 is good. */
  readonly reason: Uint8Array;
  /** What the rules alone said, before any decision by hand. */
  readonly ruleReason: Uint8Array;
  /** Number of the line it was run on, -1 off any line. */
  readonly line: Int32Array;
  /** Index of the log in the manifest, and record in that log. */
  readonly log: Uint16Array;
  readonly record: Uint32Array;
}
