/**
 * Index of the last of rising values that is at most a value; -1 where the first is larger, or for NaN.
 *
 * @param values never falling, no NaN
 * @param hint where the answer probably is: an index near it is found at once
 */
export function indexAtOrBefore(values: ArrayLike<number>, value: number, hint = -1): number {
  const n = values.length;
  if (n === 0 || !(value >= values[0]!)) return -1;
  if (hint >= 0 && hint < n && values[hint]! <= value) {
    if (hint + 1 >= n || value < values[hint + 1]!) return hint;
    if (hint + 2 >= n || value < values[hint + 2]!) return hint + 1;
  }
  let low = 0;
  let high = n;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (values[middle]! <= value) low = middle;
    else high = middle;
  }
  return low;
}

/**
 * Values of a series at other times: a straight line between the samples on either side.
 *
 * @param timeS rising, no NaN; equal times allowed, the last counts [s]
 * @param value at those times
 * @param wantedS times to read at, in any order [s]
 * @param maxGapS samples further apart are not joined [s]
 * @returns NaN before the first sample, after the last, inside a longer gap, and beside a NaN
 */
export function interpolateAt(timeS: Float64Array, value: ArrayLike<number>, wantedS: Float64Array, maxGapS: number): Float64Array {
  const n = timeS.length;
  const result = new Float64Array(wantedS.length);
  let at = 0;
  for (let i = 0; i < wantedS.length; i++) {
    const time = wantedS[i]!;
    const found = indexAtOrBefore(timeS, time, at);
    result[i] = NaN;
    if (found < 0) continue;
    at = found;
    if (timeS[found] === time) result[i] = value[found]!;
    else if (found + 1 < n) {
      const gapS = timeS[found + 1]! - timeS[found]!;
      if (gapS <= maxGapS) result[i] = value[found]! + ((value[found + 1]! - value[found]!) * (time - timeS[found]!)) / gapS;
    }
  }
  return result;
}

/** The turn from one bearing to another by the shorter way, -180 up to but not including 180 [deg]; clockwise positive. */
export function turnDeg(fromDeg: number, toDeg: number): number {
  const turn = (toDeg - fromDeg + 180) % 360;
  return (turn < 0 ? turn + 360 : turn) - 180;
}

/** A bearing brought into 0 up to but not including 360 [deg]. */
export function bearingDeg(angleDeg: number): number {
  const bearing = angleDeg % 360;
  const positive = bearing < 0 ? bearing + 360 : bearing;
  return positive === 360 ? 0 : positive;
}

/** Bearings as one running angle that never jumps by a half turn [deg]; NaN stays NaN. */
export function unrolledDeg(bearings: ArrayLike<number>, start = 0, end = bearings.length): Float64Array {
  const unrolled = new Float64Array(end - start);
  let last = NaN;
  for (let i = start; i < end; i++) {
    const value = bearings[i]!;
    if (Number.isNaN(value)) unrolled[i - start] = NaN;
    else {
      last = Number.isNaN(last) ? value : last + turnDeg(last, value);
      unrolled[i - start] = last;
    }
  }
  return unrolled;
}

/**
 * Bearings of a series at other times, by the shorter way round. Otherwise as `interpolateAt`; results in [0, 360).
 * Halfway between two opposite bearings there is no answer; the clockwise turn is taken.
 */
export function interpolateBearingAt(timeS: Float64Array, bearing: ArrayLike<number>, wantedS: Float64Array, maxGapS: number): Float64Array {
  const result = interpolateAt(timeS, unrolledDeg(bearing), wantedS, maxGapS);
  for (let i = 0; i < result.length; i++) result[i] = bearingDeg(result[i]!);
  return result;
}
