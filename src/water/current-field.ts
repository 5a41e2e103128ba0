/** Velocity of the water over the ground, and its worth. */
export interface CurrentSample {
  /** Along the axes of the survey frame [m/s]. */
  readonly xMps: number;
  readonly yMps: number;
  /** One sigma of either part [m/s]. */
  readonly sigmaMps: number;
}

/**
 * The current, wherever it is known: by place in the survey frame and UTC second.
 *
 * `at` writes x, y and sigma [m/s] into `out` [3], so that a fast loop makes no objects; all NaN outside the times it knows.
 */
export interface CurrentField {
  at(xM: number, yM: number, timeS: number, out: Float64Array): void;
  /** First and last UTC second it is known at; -Infinity and Infinity where it holds always. */
  readonly startS: number;
  readonly endS: number;
  /** The fastest it gets anywhere, at any time [m/s]. */
  readonly maxMps: number;
  /** Where it is from, in plain words. */
  readonly source: string;
}

/** A current that is the same everywhere and always; `constantCurrent(0, 0, 0)` is still water. Velocity along the frame's axes. */
export function constantCurrent(xMps: number, yMps: number, sigmaMps: number, source = 'constant'): CurrentField {
  return {
    at(_xM, _yM, _timeS, out) {
      out[0] = xMps;
      out[1] = yMps;
      out[2] = sigmaMps;
    },
    startS: -Infinity,
    endS: Infinity,
    maxMps: Math.hypot(xMps, yMps),
    source,
  };
}
