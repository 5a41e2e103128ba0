import type { WaterLevel } from './level.js';

/** A high or low water. */
export interface TideTurn {
  readonly kind: 'high' | 'low';
  readonly timeS: number;
  readonly levelM: number;
}

const STEP_S = 600;
/** A rise or fall smaller than this is a ripple on the curve, not a tide [m]. */
const LEAST_RANGE_M = 0.01;

/**
 * High and low waters in a span, in order of time.
 *
 * Sampled every ten minutes, then closed in on by golden section to a second. Turns less than `leastRangeM` apart in level
 * are passed over, the more extreme of what is left on either side stands. Turns at the ends of the span, where the tide is only cut off, are not turns.
 *
 * @throws RangeError unless startS < endS, both finite, and less than 20 years apart
 */
export function tideTurns(level: WaterLevel, startS: number, endS: number, leastRangeM = LEAST_RANGE_M): TideTurn[] {
  if (!(endS > startS && endS - startS < 20 * 366 * 86_400)) throw new RangeError(`span ${startS} to ${endS}: expected a start before the end, at most 20 years apart`);
  const count = Math.ceil((endS - startS) / STEP_S) + 1;
  const times = Float64Array.from({ length: count }, (_, i) => Math.min(endS, startS + i * STEP_S));
  const levels = level.levelsAt(times);
  const turns: TideTurn[] = [];
  for (let i = 1; i + 1 < count; i++) {
    const [before, here, after] = [levels[i - 1]!, levels[i]!, levels[i + 1]!];
    if (here > before && here >= after) turns.push(closeIn(level, 'high', times[i - 1]!, times[i + 1]!));
    else if (here < before && here <= after) turns.push(closeIn(level, 'low', times[i - 1]!, times[i + 1]!));
  }
  return withoutRipples(turns, leastRangeM);
}

function closeIn(level: WaterLevel, kind: 'high' | 'low', fromS: number, toS: number): TideTurn {
  const sign = kind === 'high' ? 1 : -1;
  const one = new Float64Array(1);
  const of = (timeS: number): number => {
    one[0] = timeS;
    return sign * level.levelsAt(one)[0]!;
  };
  const ratio = (Math.sqrt(5) - 1) / 2;
  let [a, b] = [fromS, toS];
  let [c, d] = [b - ratio * (b - a), a + ratio * (b - a)];
  let [fc, fd] = [of(c), of(d)];
  while (b - a > 1) {
    if (fc >= fd) {
      b = d;
      [d, fd] = [c, fc];
      c = b - ratio * (b - a);
      fc = of(c);
    } else {
      a = c;
      [c, fc] = [d, fd];
      d = a + ratio * (b - a);
      fd = of(d);
    }
  }
  const timeS = (a + b) / 2;
  return { kind, timeS, levelM: sign * of(timeS) };
}

/** Keeps a turn only if it lies the range away from the last one kept; of two of a kind in a row, the more extreme. */
function withoutRipples(turns: TideTurn[], leastRangeM: number): TideTurn[] {
  const kept: TideTurn[] = [];
  for (const turn of turns) {
    kept.push(turn);
    while (kept.length >= 2) {
      const last = kept[kept.length - 1]!;
      const before = kept[kept.length - 2]!;
      if (last.kind === before.kind) {
        // A gap in the level, or a ripple taken out between them: the more extreme one stands.
        const keepLast = last.kind === 'high' ? last.levelM > before.levelM : last.levelM < before.levelM;
        if (last.timeS - before.timeS > 20 * 3600) break;
        kept.splice(keepLast ? kept.length - 2 : kept.length - 1, 1);
      } else if (Math.abs(last.levelM - before.levelM) < leastRangeM) kept.pop();
      else break;
    }
  }
  return kept;
}
