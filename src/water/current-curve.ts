import { indexAtOrBefore } from '../base/interpolate.js';

/** A velocity in time, smooth through its knots. */
export interface VelocityCurve {
  /** Writes x, y [m/s] at a time into out[0], out[1]; NaN before the first knot, after the last and inside a longer gap. */
  at(timeS: number, out: Float64Array): void;
  /** First and last knot [s]; NaN where there is none. */
  readonly startS: number;
  readonly endS: number;
  /** No speed on the curve is larger [m/s]; 0 where there is no knot. */
  readonly maxMps: number;
}

/**
 * The curve through knots of velocity: between two knots a cubic that takes its slopes from the knots on either side.
 *
 * A straight line between hourly knots is up to 3 % of the amplitude off on a semidiurnal stream, always to the slow side;
 * the cubic is up to 0.2 % off. Where the neighbour is missing, or stands at a third of the interval or nearer, the slope is
 * that of the straight line.
 *
 * @param timeS rising, no two the same, no NaN [s]
 * @param xMps, yMps at those times, no NaN [m/s]
 * @param maxGapS knots further apart are not joined [s]
 * @throws RangeError for columns of different length, times that do not rise, or numbers that are not finite
 */
export function velocityCurve(timeS: Float64Array, xMps: Float64Array, yMps: Float64Array, maxGapS: number): VelocityCurve {
  const n = timeS.length;
  if (xMps.length !== n || yMps.length !== n) throw new RangeError(`current series: ${n} times, ${xMps.length} and ${yMps.length} velocities: expected the same number`);
  if (!(maxGapS > 0)) throw new RangeError(`maxGapS ${maxGapS}: expected more than 0`);
  for (let i = 0; i < n; i++) {
    if (!Number.isFinite(timeS[i]! + xMps[i]! + yMps[i]!)) throw new RangeError(`current series: knot ${i}: expected numbers, found ${timeS[i]}, ${xMps[i]}, ${yMps[i]}`);
    if (i > 0 && !(timeS[i]! > timeS[i - 1]!)) throw new RangeError(`current series: knot ${i}: expected a time after ${timeS[i - 1]}, found ${timeS[i]}`);
  }
  // Slope at both ends of each interval, times its length: x at start, x at end, y at start, y at end. [4 * (n - 1)]
  const slopes = new Float64Array(4 * Math.max(0, n - 1));
  for (let i = 0; i + 1 < n; i++) {
    const gapS = timeS[i + 1]! - timeS[i]!;
    slopes[4 * i] = gapS * slopeAt(timeS, xMps, i, 1, maxGapS);
    slopes[4 * i + 1] = gapS * slopeAt(timeS, xMps, i + 1, -1, maxGapS);
    slopes[4 * i + 2] = gapS * slopeAt(timeS, yMps, i, 1, maxGapS);
    slopes[4 * i + 3] = gapS * slopeAt(timeS, yMps, i + 1, -1, maxGapS);
  }
  let hint = 0;
  return {
    at(time, out) {
      if (n === 0 || !(time >= timeS[0]! && time <= timeS[n - 1]!)) {
        out[0] = out[1] = NaN;
        return;
      }
      const low = indexAtOrBefore(timeS, time, hint);
      hint = low;
      if (timeS[low] === time) {
        out[0] = xMps[low]!;
        out[1] = yMps[low]!;
        return;
      }
      const gapS = timeS[low + 1]! - timeS[low]!;
      if (gapS > maxGapS) {
        out[0] = out[1] = NaN;
        return;
      }
      const share = (time - timeS[low]!) / gapS;
      out[0] = cubic(share, xMps[low]!, slopes[4 * low]!, xMps[low + 1]!, slopes[4 * low + 1]!);
      out[1] = cubic(share, yMps[low]!, slopes[4 * low + 2]!, yMps[low + 1]!, slopes[4 * low + 3]!);
    },
    startS: n === 0 ? NaN : timeS[0]!,
    endS: n === 0 ? NaN : timeS[n - 1]!,
    maxMps: greatestSpeed(timeS, xMps, yMps, slopes, maxGapS),
  };
}

/** Slope at knot k as seen from the interval between k and its neighbour on the side `side`. */
function slopeAt(timeS: Float64Array, value: Float64Array, k: number, side: 1 | -1, maxGapS: number): number {
  const chord = (value[k + side]! - value[k]!) / (timeS[k + side]! - timeS[k]!);
  const other = k - side;
  if (other < 0 || other >= timeS.length) return chord;
  const here = Math.abs(timeS[k + side]! - timeS[k]!);
  const there = Math.abs(timeS[k]! - timeS[other]!);
  if (there > maxGapS || here >= 3 * there) return chord;
  const otherChord = (value[k]! - value[other]!) / (timeS[k]! - timeS[other]!);
  return (there * chord + here * otherChord) / (here + there);
}

function cubic(share: number, from: number, fromSlope: number, to: number, toSlope: number): number {
  const rest = 1 - share;
  return rest * rest * ((1 + 2 * share) * from + share * fromSlope) + share * share * ((1 + 2 * rest) * to - rest * toSlope);
}

function cubicSlope(share: number, from: number, fromSlope: number, to: number, toSlope: number): number {
  const rest = 1 - share;
  return 6 * share * rest * (to - from) + rest * (1 - 3 * share) * fromSlope + share * (3 * share - 2) * toSlope;
}

/** A cubic lies inside the hull of its four control points; eighths of each interval make the hull tight. */
function greatestSpeed(timeS: Float64Array, x: Float64Array, y: Float64Array, slopes: Float64Array, maxGapS: number): number {
  const parts = 8;
  let most = 0;
  for (let i = 0; i < timeS.length; i++) {
    most = Math.max(most, Math.hypot(x[i]!, y[i]!));
    if (i + 1 >= timeS.length || timeS[i + 1]! - timeS[i]! > maxGapS) continue;
    const [x0, x1, y0, y1] = [slopes[4 * i]!, slopes[4 * i + 1]!, slopes[4 * i + 2]!, slopes[4 * i + 3]!];
    for (let part = 0; part <= parts; part++) {
      const share = part / parts;
      const px = cubic(share, x[i]!, x0, x[i + 1]!, x1);
      const py = cubic(share, y[i]!, y0, y[i + 1]!, y1);
      const dx = cubicSlope(share, x[i]!, x0, x[i + 1]!, x1) / (3 * parts);
      const dy = cubicSlope(share, y[i]!, y0, y[i + 1]!, y1) / (3 * parts);
      if (part < parts) most = Math.max(most, Math.hypot(px + dx, py + dy));
      if (part > 0) most = Math.max(most, Math.hypot(px - dx, py - dy));
    }
  }
  return most;
}
