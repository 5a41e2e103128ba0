import { MAD_TO_SIGMA, upperMedianInPlace } from '../base/robust.js';

/** Depths along the track as the rules for spikes see them: those with a depth inside the gate, with or without a position. */
export interface DepthSeries {
  readonly n: number;
  readonly timeS: Float64Array;
  /** Way made good since the first [m]; rising. */
  readonly alongM: Float64Array;
  readonly depthM: Float64Array;
  /** Depth as measured below the transducer [m]. */
  readonly belowM: Float64Array;
  /** Noise between neighbours, one sigma, from second differences around each sounding [m]. */
  readonly noiseM: Float32Array;
  /** Starts of the stretches without a long silence, then n. */
  readonly starts: readonly number[];
}

const NOISE_BLOCK = 32;
const SPEED_REACH_S = 2;

/** The series of the kept rows. `maxStepS`: a longer silence ends a stretch. */
export function depthSeries(
  rows: Uint32Array,
  soundings: { readonly timeS: Float64Array; readonly xM: Float64Array; readonly yM: Float64Array; readonly depthM: Float32Array },
  belowTransducerM: Float32Array,
  maxStepS: number,
): DepthSeries {
  const n = rows.length;
  const timeS = new Float64Array(n);
  const depthM = new Float64Array(n);
  const belowM = new Float64Array(n);
  const starts: number[] = n === 0 ? [] : [0];
  for (let i = 0; i < n; i++) {
    const row = rows[i]!;
    timeS[i] = soundings.timeS[row]!;
    depthM[i] = soundings.depthM[row]!;
    belowM[i] = belowTransducerM[row]!;
    if (i > 0 && timeS[i]! - timeS[i - 1]! > maxStepS) starts.push(i);
  }
  starts.push(n);
  const alongM = alongTrack(rows, soundings.xM, soundings.yM, timeS);
  return { n, timeS, alongM, depthM, belowM, noiseM: secondDifferenceNoise(depthM, starts), starts };
}

/**
 * Way along the track. The speed at each ping is that from 2 s before to 2 s after: from ping to ping, the positions' noise
 * would be taken for way.
 */
function alongTrack(rows: Uint32Array, xM: Float64Array, yM: Float64Array, timeS: Float64Array): Float64Array {
  const n = rows.length;
  const along = new Float64Array(n);
  let from = 0;
  let to = 0;
  let lastSpeed = 0;
  for (let i = 0; i < n; i++) {
    while (timeS[i]! - timeS[from]! > SPEED_REACH_S && from < i) from++;
    if (to < i) to = i;
    while (to + 1 < n && timeS[to + 1]! - timeS[i]! <= SPEED_REACH_S) to++;
    let a = from;
    let b = to;
    if (a === i && b === i) {
      // Slower than a ping in 2 s: its neighbours, however far.
      a = Math.max(0, i - 1);
      b = Math.min(n - 1, i + 1);
    }
    const spanS = timeS[b]! - timeS[a]!;
    const speed = spanS > 0 ? Math.hypot(xM[rows[b]!]! - xM[rows[a]!]!, yM[rows[b]!]! - yM[rows[a]!]!) / spanS : 0;
    // Without a position at one end the boat goes on as before.
    const known = Number.isNaN(speed) ? lastSpeed : speed;
    along[i] = i === 0 ? 0 : along[i - 1]! + 0.5 * (known + lastSpeed) * (timeS[i]! - timeS[i - 1]!);
    lastSpeed = known;
  }
  return along;
}

/** Noise by the median of second differences, which a slope does not enter, over blocks of 64 soundings every 32. */
function secondDifferenceNoise(depthM: Float64Array, starts: readonly number[]): Float32Array {
  const noise = new Float32Array(depthM.length);
  const work = new Float64Array(2 * NOISE_BLOCK);
  for (let stretch = 0; stretch + 1 < starts.length; stretch++) {
    const start = starts[stretch]!;
    const end = starts[stretch + 1]!;
    for (let block = start; block < end; block += NOISE_BLOCK) {
      const blockEnd = Math.min(end, block + NOISE_BLOCK);
      const from = Math.max(start + 1, block - NOISE_BLOCK / 2);
      const to = Math.min(end - 1, blockEnd + NOISE_BLOCK / 2);
      let count = 0;
      for (let i = from; i < to; i++) work[count++] = Math.abs(depthM[i - 1]! - 2 * depthM[i]! + depthM[i + 1]!);
      // The variance of a second difference is six times that of a depth.
      noise.fill(count === 0 ? 0 : (MAD_TO_SIGMA / Math.sqrt(6)) * upperMedianInPlace(work, count), block, blockEnd);
    }
  }
  return noise;
}
