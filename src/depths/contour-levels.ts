const MAX_LEVELS = 10_000;

/**
 * Multiples of an interval above the least depth, up to and including the greatest: those a contour can run at.
 * @returns ascending levels, free of the last digits of a product such as 3 x 0.1 [m]
 * @throws RangeError for an interval that is not positive or asks for more than 10 000 levels
 */
export function contourLevels(values: Float32Array, intervalM: number): Float64Array {
  if (!(intervalM > 0 && intervalM < Infinity)) throw new RangeError(`intervalM ${intervalM}: expected more than 0`);
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  if (low === Infinity) return new Float64Array(0);
  if (low === -Infinity || high === Infinity) throw new RangeError('values: a depth is infinite: expected finite or NaN');
  const first = Math.floor(low / intervalM);
  const last = Math.ceil(high / intervalM);
  if (last - first > MAX_LEVELS) {
    throw new RangeError(`intervalM ${intervalM}: ${last - first} levels between ${low} and ${high} m, more than ${MAX_LEVELS}; choose a larger interval`);
  }
  const levels: number[] = [];
  for (let k = first; k <= last; k++) {
    const level = Number((k * intervalM).toPrecision(12)) + 0; // + 0: no negative zero
    if (level > low && level <= high) levels.push(level);
  }
  return Float64Array.from(levels);
}

/** How many of the ascending levels are at or above (shoaler than or equal to) each depth [n]; -1 where it is NaN. */
export function levelsPassed(values: Float32Array, levels: Float64Array): Int32Array {
  const passed = new Int32Array(values.length);
  const n = levels.length;
  for (let i = 0, guess = 0; i < values.length; i++) {
    const value = values[i]!;
    if (value !== value) {
      passed[i] = -1;
      continue;
    }
    // Neighbours pass nearly the same levels: walk from the last answer.
    while (guess < n && levels[guess]! <= value) guess++;
    while (guess > 0 && levels[guess - 1]! > value) guess--;
    passed[i] = guess;
  }
  return passed;
}
