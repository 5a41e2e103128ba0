import { niceTimeStep } from './nice-steps.js';

/** A stretch of time with something in it, and where it lies on the axis [mm]. */
export interface TimeStretch {
  readonly startS: number;
  readonly endS: number;
  readonly x0: number;
  readonly x1: number;
}

/** An axis of time from which long pauses are folded away. */
export interface FoldedTime {
  readonly stretches: readonly TimeStretch[];
  /** Place of a time [mm]; NaN in a pause or outside. */
  xMm(timeS: number): number;
  /** Times to label, at least so far apart [mm]. */
  ticks(leastMm: number): readonly { readonly timeS: number; readonly x: number }[];
}

const FOLD_MM = 3;
const MAX_STRETCHES = 12;

/**
 * Lays out times, in order, between two places. A pause of over a tenth of the time in use, and at least 10 minutes, is folded;
 * of many, the longest eleven.
 *
 * @param times UTC seconds in order; values that are not finite are passed over
 */
export function foldTime(times: Float64Array, x0: number, x1: number): FoldedTime | null {
  const pauses: { readonly from: number; readonly to: number }[] = [];
  let first = NaN;
  let last = NaN;
  let inUseS = 0;
  for (const timeS of times) {
    if (!Number.isFinite(timeS)) continue;
    if (Number.isNaN(first)) first = timeS;
    else if (timeS - last > 600) pauses.push({ from: last, to: timeS });
    else if (timeS > last) inUseS += timeS - last;
    if (!(timeS <= last)) last = timeS;
  }
  if (Number.isNaN(first)) return null;
  const folded = pauses
    .filter(({ from, to }) => to - from > inUseS / 10)
    .sort((a, b) => b.to - b.from - (a.to - a.from) || a.from - b.from)
    .slice(0, MAX_STRETCHES - 1)
    .sort((a, b) => a.from - b.from);
  const bounds: [number, number][] = [];
  let startS = first;
  for (const { from, to } of folded) {
    bounds.push([startS, from]);
    startS = to;
  }
  bounds.push([startS, Math.max(last, startS)]);
  const usedS = bounds.reduce((sum, [a, b]) => sum + b - a, 0);
  const room = x1 - x0 - FOLD_MM * (bounds.length - 1);
  const mmPerS = usedS > 0 ? room / usedS : 0;
  const stretches: TimeStretch[] = [];
  let x = x0;
  for (const [a, b] of bounds) {
    const width = usedS > 0 ? (b - a) * mmPerS : room / bounds.length;
    stretches.push({ startS: a, endS: b, x0: x, x1: x + width });
    x += width + FOLD_MM;
  }
  const xMm = (timeS: number): number => {
    for (const stretch of stretches) {
      if (timeS >= stretch.startS && timeS <= stretch.endS) return stretch.x0 + (timeS - stretch.startS) * mmPerS;
    }
    return NaN;
  };
  return {
    stretches,
    xMm,
    ticks: (leastMm) => {
      const stepS = mmPerS > 0 ? niceTimeStep(leastMm / mmPerS) : Infinity;
      const out: { timeS: number; x: number }[] = [];
      for (const stretch of stretches) {
        const whole: { timeS: number; x: number }[] = [];
        if (Number.isFinite(stepS)) for (let timeS = Math.ceil(stretch.startS / stepS) * stepS; timeS <= stretch.endS; timeS += stepS) whole.push({ timeS, x: xMm(timeS) });
        /* A stretch too short for a whole step is still given its start. */
        if (whole.length === 0) whole.push({ timeS: stretch.startS, x: stretch.x0 });
        for (const tick of whole) if (out.length === 0 || tick.x - (out[out.length - 1]?.x ?? 0) >= leastMm * 0.7) out.push(tick);
      }
      return out;
    },
  };
}
