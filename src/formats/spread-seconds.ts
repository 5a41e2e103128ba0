/**
 * Spreads times that are whole seconds evenly within each second, in place: of n pings in a second, the k-th is put k/n after it. The first
 * and the last second, which may be partial, take the spacing of the second beside them.
 *
 * @param timeS UTC seconds in the order of the log; NaN stays NaN. Shape [n]
 * @returns whether anything was moved; nothing is where no two pings share a second
 */
export function spreadSeconds(timeS: Float64Array): boolean {
  const starts: number[] = [];
  for (let i = 0; i < timeS.length; i++) if (i === 0 || timeS[i] !== timeS[i - 1]) starts.push(i);
  if (starts.length === timeS.length) return false;
  const count = (run: number): number => (starts[run + 1] ?? timeS.length) - (starts[run] as number);
  for (let run = 0; run < starts.length; run++) {
    const start = starts[run] as number;
    const n = count(run);
    const second = timeS[start] as number;
    if (n < 2 || Number.isNaN(second)) continue;
    let [step, begin] = [1 / n, 0];
    if (run === 0 && starts.length > 1) {
      step = Math.min(step, 1 / count(1));
      begin = 1 - n * step;
    } else if (run === starts.length - 1 && starts.length > 1) step = Math.min(step, 1 / count(run - 1));
    for (let k = 0; k < n; k++) timeS[start + k] = second + begin + k * step;
  }
  return true;
}

/** As `spreadSeconds`, where all times there are are whole seconds. */
export function spreadWholeSeconds(timeS: Float64Array): boolean {
  return timeS.every((time) => Number.isNaN(time) || Number.isInteger(time)) && spreadSeconds(timeS);
}
