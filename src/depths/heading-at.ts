import { bearingDeg, indexAtOrBefore, interpolateBearingAt } from '../base/interpolate.js';
import type { SeriesColumns } from '../base/observations.js';
import type { Track } from './track.js';
import { timeOrder } from './track.js';

/** Where a heading came from; the number is what `Headings.from` holds. */
export const HEADING_FROM = { none: 0, true: 1, magnetic: 2, course: 3 } as const;

export interface HeadingOptions {
  /** `auto`: the compass that is there, true before magnetic, before the course made good. */
  readonly source: 'auto' | 'true' | 'magnetic' | 'course';
  /** Magnetic variation, east positive; null where it is not known: magnetic headings are then not used [deg]. */
  readonly variationDeg: number | null;
  /** Taken off compass headings, not off courses made good; 0 when left out [deg]. */
  readonly offsetDeg?: number;
  /** Added to logged times to get UTC [s]. */
  readonly loggerOffsetS: number;
  /** Headings further apart are not joined [s]. */
  readonly maxGapS: number;
}

/** Headings at wanted times, true, clockwise from north, 0 up to 360 [deg]; NaN where there is none. Shape [n]. */
export interface Headings {
  readonly headingDeg: Float32Array;
  /** One of HEADING_FROM. */
  readonly from: Uint8Array;
}

/** Slower than this the course made good says nothing about the heading [m/s]. */
const COURSE_MIN_SPEED_MPS = 0.3;
/** The course made good is taken over this much time to either side [s]. */
const COURSE_REACH_S = 1.5;

/**
 * The boat's heading at given times, from its compass or from its track.
 *
 * @param trueDeg true headings of each log; magneticDeg the magnetic ones. Log clock; in any order
 * @param track for the course made good; positions that jumped are not used
 * @param convergenceDeg what to add to a grid bearing to get a true one, `convergenceDeg` of geo/bearing [deg]
 */
export function headingsAt(
  wantedS: Float64Array,
  trueDeg: readonly SeriesColumns[],
  magneticDeg: readonly SeriesColumns[],
  track: Track,
  convergenceDeg: number,
  options: HeadingOptions,
): Headings {
  const { source, variationDeg, offsetDeg = 0 } = options;
  const n = wantedS.length;
  const headingDeg = new Float32Array(n).fill(NaN);
  const from = new Uint8Array(n);
  const fill = (found: Float64Array, addDeg: number, code: number): void => {
    for (let i = 0; i < n; i++) {
      if (from[i] === HEADING_FROM.none && !Number.isNaN(found[i]!)) {
        headingDeg[i] = bearingDeg(found[i]! + addDeg);
        from[i] = code;
      }
    }
  };
  if (source === 'auto' || source === 'true') fill(seriesBearings(trueDeg, wantedS, options), -offsetDeg, HEADING_FROM.true);
  if ((source === 'auto' || source === 'magnetic') && variationDeg !== null) {
    fill(seriesBearings(magneticDeg, wantedS, options), variationDeg - offsetDeg, HEADING_FROM.magnetic);
  }
  if (source === 'auto' || source === 'course') fill(coursesAt(track, wantedS, options.maxGapS), convergenceDeg, HEADING_FROM.course);
  return { headingDeg, from };
}

/**
 * Course made good in the frame, clockwise from grid north [deg]: from the position 1.5 s before to that 1.5 s after, on the
 * fixes that did not jump. NaN where the boat made less than 0.3 m/s or fixes are missing.
 */
export function coursesAt(track: Track, wantedS: Float64Array, maxGapS: number): Float64Array {
  const { eastM, northM, spanS } = runsAround(track, wantedS, maxGapS);
  return spanS.map((span, i) =>
    span > 0 && Math.hypot(eastM[i]!, northM[i]!) >= COURSE_MIN_SPEED_MPS * span ? bearingDeg((Math.atan2(eastM[i]!, northM[i]!) * 180) / Math.PI) : NaN,
  );
}

/** Speed made good over the same stretches as `coursesAt` [m/s]; NaN where fixes are missing. Shape [n]. */
export function speedsAt(track: Track, wantedS: Float64Array, maxGapS: number): Float64Array {
  const { eastM, northM, spanS } = runsAround(track, wantedS, maxGapS);
  return spanS.map((span, i) => (span > 0 ? Math.hypot(eastM[i]!, northM[i]!) / span : NaN));
}

/** The way made good from 1.5 s before to 1.5 s after each time; NaN where fixes are missing. */
function runsAround(track: Track, wantedS: Float64Array, maxGapS: number): { eastM: Float64Array; northM: Float64Array; spanS: Float64Array } {
  const kept: number[] = [];
  for (let i = 0; i < track.n; i++) if (track.jump[i] === 0) kept.push(i);
  const timeS = Float64Array.from(kept, (i) => track.timeS[i]!);
  const eastM = new Float64Array(wantedS.length).fill(NaN);
  const northM = new Float64Array(wantedS.length).fill(NaN);
  const spanS = new Float64Array(wantedS.length).fill(NaN);
  const n = kept.length;
  let hint = 0;
  for (let i = 0; i < wantedS.length; i++) {
    const time = wantedS[i]!;
    const middle = indexAtOrBefore(timeS, time, hint);
    if (middle < 0) continue;
    hint = middle;
    let start = middle;
    let end = middle + 1 < n ? middle + 1 : middle;
    if (timeS[end]! - timeS[start]! > maxGapS) {
      if (time - timeS[start]! > maxGapS) continue;
      end = start;
    }
    while (start > 0 && time - timeS[start]! < COURSE_REACH_S && timeS[start]! - timeS[start - 1]! <= maxGapS) start--;
    while (end + 1 < n && timeS[end]! - time < COURSE_REACH_S && timeS[end + 1]! - timeS[end]! <= maxGapS) end++;
    spanS[i] = timeS[end]! - timeS[start]!;
    eastM[i] = track.xM[kept[end]!]! - track.xM[kept[start]!]!;
    northM[i] = track.yM[kept[end]!]! - track.yM[kept[start]!]!;
  }
  return { eastM, northM, spanS };
}

function seriesBearings(series: readonly SeriesColumns[], wantedS: Float64Array, options: HeadingOptions): Float64Array {
  const total = series.reduce((sum, one) => sum + one.n, 0);
  const timeS = new Float64Array(total);
  const value = new Float64Array(total);
  let n = 0;
  for (const one of series) {
    for (let i = 0; i < one.n; i++) {
      if (Number.isNaN(one.timeS[i]!) || Number.isNaN(one.value[i]!)) continue;
      timeS[n] = one.timeS[i]! + options.loggerOffsetS;
      value[n++] = one.value[i]!;
    }
  }
  const order = timeOrder(timeS, n);
  const sortedS = Float64Array.from(order, (row) => timeS[row]!);
  return interpolateBearingAt(sortedS, Float64Array.from(order, (row) => value[row]!), wantedS, options.maxGapS);
}
