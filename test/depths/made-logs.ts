import type { FixColumns, PingColumns, SeriesColumns } from '../../src/base/observations.js';
import type { ReduceOptions } from '../../src/depths/reduce.js';
import type { Track } from '../../src/depths/track.js';

/** A track given directly in the frame. */
export function madeTrack(timeS: ArrayLike<number>, xM: ArrayLike<number>, yM: ArrayLike<number>, change: Partial<Track> = {}): Track {
  const n = timeS.length;
  return {
    n,
    timeS: Float64Array.from(timeS),
    xM: Float64Array.from(xM),
    yM: Float64Array.from(yM),
    sigmaM: new Float32Array(n).fill(0.5),
    courseDeg: new Float32Array(n).fill(NaN),
    speedMps: new Float32Array(n).fill(NaN),
    quality: new Uint8Array(n).fill(1),
    jump: new Uint8Array(n),
    log: new Uint16Array(n),
    record: Uint32Array.from({ length: n }, (_, i) => i),
    ...change,
  };
}

/** A boat going straight from the origin at a speed on a grid bearing, one fix a second. */
export function straightTrack(seconds: number, speedMps: number, bearingDeg: number, startS = 0): Track {
  const rad = (bearingDeg * Math.PI) / 180;
  const steps = Array.from({ length: seconds + 1 }, (_, i) => i);
  return madeTrack(
    steps.map((s) => startS + s),
    steps.map((s) => s * speedMps * Math.sin(rad)),
    steps.map((s) => s * speedMps * Math.cos(rad)),
  );
}

export function madePings(timeS: ArrayLike<number>, depthM: ArrayLike<number>, change: Partial<PingColumns> = {}): PingColumns {
  const n = timeS.length;
  return {
    n,
    timeS: Float64Array.from(timeS),
    depthM: Float32Array.from(depthM),
    offsetM: new Float32Array(n).fill(NaN),
    from: new Uint8Array(n),
    record: Uint32Array.from({ length: n }, (_, i) => i),
    ...change,
  };
}

export function madeSeries(timeS: ArrayLike<number>, value: ArrayLike<number>): SeriesColumns {
  return { n: timeS.length, timeS: Float64Array.from(timeS), value: Float64Array.from(value), record: Uint32Array.from({ length: timeS.length }, (_, i) => i) };
}

export function madeFixes(timeS: readonly number[], latDeg: readonly number[], lonDeg: readonly number[], change: Partial<FixColumns> = {}): FixColumns {
  const n = timeS.length;
  return {
    n,
    timeS: Float64Array.from(timeS),
    latDeg: Float64Array.from(latDeg),
    lonDeg: Float64Array.from(lonDeg),
    heightM: new Float32Array(n).fill(NaN),
    geoidM: new Float32Array(n).fill(NaN),
    quality: new Uint8Array(n).fill(1),
    satellites: new Uint8Array(n),
    hdop: new Float32Array(n).fill(NaN),
    sigmaM: new Float32Array(n).fill(NaN),
    courseDeg: new Float32Array(n).fill(NaN),
    speedMps: new Float32Array(n).fill(NaN),
    record: Uint32Array.from({ length: n }, (_, i) => i),
    ...change,
  };
}

/** No offsets, no latencies, no lever arms: each test changes its own. */
export const PLAIN: ReduceOptions = {
  loggerOffsetS: 0,
  depthLatencyS: 0,
  maxGapS: 5,
  antenna: { forwardM: 0, starboardM: 0, downM: 0 },
  transducer: { forwardM: 0, starboardM: 0, downM: 0 },
  draftM: 0,
  squatM: 0,
  soundSpeedSetMps: 1500,
  heading: { source: 'auto', variationDeg: null },
  convergenceDeg: 0,
};
