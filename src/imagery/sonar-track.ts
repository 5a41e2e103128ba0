/** Where the sonar was and how it lay, ping by ping. Shape of every column: [n]. */
export interface SonarTrack {
  readonly n: number;
  /** UTC, the sonar's clock offset applied [s]. */
  readonly timeS: Float64Array;
  /** The sonar in the survey frame [m]; NaN where it is not known. */
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** Where the sonar points, smoothed, true [deg]. */
  readonly headingDeg: Float32Array;
  /** Course made good, true [deg]. */
  readonly courseDeg: Float32Array;
  readonly speedMps: Float32Array;
  /** One sigma, one dimension [m]. */
  readonly sigmaM: Float32Array;
  readonly headingSigmaDeg: Float32Array;
  /** Number of the line it was run on, -1 turning or on none. */
  readonly line: Int32Array;
  /** One of PING_FAULT; 0 good. */
  readonly fault: Uint8Array;
  /** The heading clockwise from grid north, for placing echoes in the frame [deg]. */
  readonly gridHeadingDeg: Float32Array;
  /** Rise of the floor per metre away from the track, by side [1]; 0 where it is not known. */
  readonly portSlope: Float32Array;
  readonly starboardSlope: Float32Array;
}

/** Why a ping has no place on the floor. */
export const PING_FAULT = { none: 0, position: 1, heading: 2, height: 3, turning: 4 } as const;

/** Unit vector in the frame from under the sonar outward: to port or to starboard of its heading. */
export function outward(side: 'port' | 'starboard', gridHeadingDeg: number): [east: number, north: number] {
  const rad = (gridHeadingDeg * Math.PI) / 180;
  return side === 'starboard' ? [Math.cos(rad), -Math.sin(rad)] : [-Math.cos(rad), Math.sin(rad)];
}
