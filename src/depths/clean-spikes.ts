import { upperMedianInPlace } from '../base/robust.js';
import type { DepthSeries } from './clean-series.js';

/** What a sounding was found to be. */
export const SPIKE = { none: 0, doubleEcho: 1, steep: 2, outlier: 3 } as const;

export interface SpikeOptions {
  readonly slopeDeg: number;
  readonly outlierSigmas: number;
  readonly outlierFloorM: number;
  readonly beamWidthDeg: number;
  /** Transducer below the surface: what an echo by way of the surface travels more than twice the depth [m]. */
  readonly draftM: number;
}

/** As many pings as false echoes of one kind or several may follow each other. */
const BURST_LIMIT = 16;
/** A stretch that leaves the bottom for its last pings, at most this many, ends in false echoes rather than on a step. */
const LAST_PINGS = 5;
/** A false run of several pings in step with each other, deeper than its neighbours, has at most this many. */
const DEEP_BURST = 5;
/** As many pings, and as long, as an instrument may stay on the second echo. */
const DOUBLE_LIMIT = 600;
const DOUBLE_LIMIT_S = 60;
const HISTORY = 7;

/**
 * Finds soundings that leave the bottom and come back.
 *
 * A running picture of the bottom is kept from the last seven soundings believed. One that lies outside what those lead to
 * opens an excursion; the next that falls back to it closes it. What lies between is judged by what a beam can see:
 *
 * - one ping off both sides: false;
 * - several, not in step with each other: false;
 * - several in step, twice as deep as their surroundings: the second echo;
 * - several in step, over a way shorter than the beam's footprint and half their height: false, for an object is seen over
 *   the footprint and its own breadth, and a rock is seldom half as broad as high;
 * - several in step, deeper, at most five and over less than twice that way: false; a beam does not see into a narrow hole;
 * - otherwise real: a rock, a wreck, a step.
 *
 * An excursion that does not come back within sixteen pings is a step of the bottom, unless it is the second echo and comes
 * back within a minute. Each excursion is judged against the bottom on both sides, so that an edge is not a spike.
 *
 * @param verdict set to a value of SPIKE. Shape [n]
 */
export function markSpikes(series: DepthSeries, options: SpikeOptions, verdict: Uint8Array): void {
  const { depthM, alongM, noiseM, belowM, timeS, starts } = series;
  const gate = Math.tan((options.slopeDeg * Math.PI) / 180);
  const footprint = 2 * Math.tan((options.beamWidthDeg * Math.PI) / 360);
  const threshold = (i: number): number => Math.max(options.outlierFloorM, options.outlierSigmas * noiseM[i]!);
  const believed = new Int32Array(HISTORY);
  let held = 0;
  const slopes = new Float64Array((HISTORY * (HISTORY - 1)) / 2);
  const rests = new Float64Array(HISTORY);
  let lineSlope = 0;
  let lineRest = 0;
  const believe = (i: number): void => {
    if (held === HISTORY) believed.copyWithin(0, 1);
    else held++;
    believed[held - 1] = i;
  };
  /** Theil-Sen through the believed, about the last of them. */
  const fitLine = (): void => {
    const last = believed[held - 1]!;
    let pairs = 0;
    for (let a = 0; a < held; a++) {
      for (let b = a + 1; b < held; b++) {
        const run = alongM[believed[b]!]! - alongM[believed[a]!]!;
        if (run > 1e-6) slopes[pairs++] = (depthM[believed[b]!]! - depthM[believed[a]!]!) / run;
      }
    }
    lineSlope = pairs === 0 ? 0 : Math.min(gate, Math.max(-gate, upperMedianInPlace(slopes, pairs)));
    for (let a = 0; a < held; a++) rests[a] = depthM[believed[a]!]! - lineSlope * (alongM[believed[a]!]! - alongM[last]!);
    lineRest = upperMedianInPlace(rests, held);
  };
  let low = 0;
  let high = 0;
  /** What the believed lead to at a sounding, from low to high: going on level, or along their line. Call fitLine before. */
  const expectAt = (i: number): void => {
    const last = believed[held - 1]!;
    const level = depthM[last]!;
    const along = lineRest + lineSlope * (alongM[i]! - alongM[last]!);
    low = Math.min(level, lineRest);
    high = Math.max(level, lineRest);
    if (held >= 4) widen(along);
    else if (held >= 2) widen(lineThrough(believed[held - 2]!, last, i));
  };
  const outside = (depth: number): number => (depth < low ? depth - low : depth > high ? depth - high : 0);

  for (let stretch = 0; stretch + 1 < starts.length; stretch++) {
    const start = starts[stretch]!;
    const end = starts[stretch + 1]!;
    held = 0;
    let i = firstBelievable(series, start, end, threshold);
    for (let k = start; k < i; k++) verdict[k] = SPIKE.outlier;
    while (i < end) {
      if (held === 0) {
        believe(i++);
        continue;
      }
      const last = believed[held - 1]!;
      const limit = threshold(i);
      if (Math.abs(depthM[i]! - depthM[last]!) <= limit) {
        believe(i++);
        continue;
      }
      fitLine();
      expectAt(i);
      const off = outside(depthM[i]!);
      if (Math.abs(off) <= limit) {
        believe(i++);
        continue;
      }
      let back = comesBack(i, end, off, limit);
      const isDouble = isSecondEcho(i, depthM[last]!);
      if (back < 0 && isDouble && held >= 4) {
        back = comesBackToHalf(i, end, limit);
        if (back >= 0) {
          verdict.fill(SPIKE.doubleEcho, i, back);
          // The bottom went on meanwhile: what went before leads nowhere from here.
          held = 0;
          believe(back);
          i = back + 1;
          continue;
        }
      }
      if (back < 0) {
        // A few pings off both the bottom before and a new bottom behind: false echoes beside a step.
        const piece = pieceEnd(i, end, limit);
        if (piece < end && piece - i <= DEEP_BURST && judge(i, piece, limit)) {
          i = piece;
          continue;
        }
        if (end - i <= LAST_PINGS && Math.abs(depthM[i]! - depthM[last]!) > limit + gate * (alongM[i]! - alongM[last]!)) {
          for (let k = i; k < end; k++) {
            expectAt(k);
            if (Math.abs(outside(depthM[k]!)) > limit) verdict[k] = isDouble ? SPIKE.doubleEcho : SPIKE.outlier;
          }
          break;
        }
        // A step of the bottom: what went before leads nowhere from here, but for the last on a slope within the gate.
        held = 0;
        if (Math.abs(depthM[i]! - depthM[last]!) <= limit + gate * (alongM[i]! - alongM[last]!)) believe(last);
        believe(i++);
        continue;
      }
      // Real or false, the bottom goes on behind it from what was believed before.
      judge(i, back, limit);
      i = back;
    }
    markLoners(start, end);
  }

  /** First sounding from i + 1 on that is back where the believed lead, abruptly; -1 where none of the next sixteen is. */
  function comesBack(i: number, end: number, off: number, limit: number): number {
    const last = believed[held - 1]!;
    const stop = Math.min(end, i + BURST_LIMIT + 1);
    for (let j = i + 1; j < stop; j++) {
      if (Math.abs(depthM[j]! - depthM[j - 1]!) <= limit) continue;
      expectAt(j);
      const wayM = alongM[j]! - alongM[last]!;
      const slack = limit + Math.min(0.5 * gate * wayM, 0.4 * Math.abs(off));
      if (Math.abs(outside(depthM[j]!)) > slack) continue;
      // One false echo may lie where the bottom was by chance: one of the next two must agree with it.
      // Where pings are metres apart the gate alone would let almost anything agree: there it is to be near as well, or where the believed lead.
      const stepOn = (k: number): boolean => {
        if (k >= end) return false;
        const apartM = Math.abs(depthM[k]! - depthM[j]!);
        if (apartM > limit + gate * (alongM[k]! - alongM[j]!)) return false;
        if (apartM <= limit + Math.max(0.5 * Math.abs(off), 2 * limit)) return true;
        expectAt(k);
        return Math.abs(outside(depthM[k]!)) <= limit + Math.min(0.5 * gate * (alongM[k]! - alongM[last]!), 0.4 * Math.abs(off));
      };
      if (j + 1 >= end || stepOn(j + 1) || stepOn(j + 2)) return j;
    }
    return -1;
  }

  /** End of the soundings in step with each other that begin with i; looked for among the next sixteen. */
  function pieceEnd(i: number, end: number, limit: number): number {
    let k = i + 1;
    while (k < end && k - i <= BURST_LIMIT && Math.abs(depthM[k]! - depthM[k - 1]!) <= limit + gate * (alongM[k]! - alongM[k - 1]!)) k++;
    return k;
  }

  /** First sounding from i + 1 on of which the one before is the second echo; -1 where none is within a minute. */
  function comesBackToHalf(i: number, end: number, limit: number): number {
    const stop = Math.min(end, i + DOUBLE_LIMIT + 1);
    for (let j = i + 1; j < stop && timeS[j]! - timeS[i]! <= DOUBLE_LIMIT_S; j++) {
      if (Math.abs(depthM[j]! - depthM[j - 1]!) > limit && isSecondEcho(j - 1, depthM[j]!)) return j;
    }
    return -1;
  }

  function isSecondEcho(i: number, bottomM: number): boolean {
    const bottomBelow = bottomM - (depthM[i]! - belowM[i]!);
    const expected = 2 * bottomBelow + options.draftM;
    return Math.abs(belowM[i]! - expected) <= Math.max(2 * options.outlierFloorM, 0.12 * bottomBelow);
  }

  /** As expectAt, widened to what lies behind the excursion: going on level, or along the line of the first two there. */
  function expectBetween(k: number, back: number): void {
    expectAt(k);
    const along = depthM[back]! + (back + 1 < series.n ? slopeBetween(back, back + 1) : 0) * (alongM[k]! - alongM[back]!);
    low = Math.min(low, depthM[back]!, along);
    high = Math.max(high, depthM[back]!, along);
  }

  /**
   * Slope between two soundings, no steeper than the gate. Level where they are so close that the steepest bottom would
   * change by less than the noise: their difference is noise.
   */
  function slopeBetween(a: number, b: number): number {
    const run = alongM[b]! - alongM[a]!;
    return gate * Math.abs(run) <= options.outlierFloorM ? 0 : Math.min(gate, Math.max(-gate, (depthM[b]! - depthM[a]!) / run));
  }

  /** Judges the excursion [from, back): marks what is false in it. Whether anything was. */
  function judge(from: number, back: number, limit: number): boolean {
    const last = believed[held - 1]!;
    const count = back - from;
    const wayM = alongM[back]! - alongM[last]!;
    const stepM = wayM / (count + 1);
    let worst = 0;
    let inStep = true;
    let doubles = 0;
    for (let k = from; k < back; k++) {
      expectBetween(k, back);
      const off = outside(depthM[k]!);
      if (Math.abs(off) > Math.abs(worst)) worst = off;
      if (k > from && Math.abs(depthM[k]! - depthM[k - 1]!) > limit + gate * (alongM[k]! - alongM[k - 1]!)) inStep = false;
      const share = (k - last) / (back - last);
      if (isSecondEcho(k, depthM[last]! + share * (depthM[back]! - depthM[last]!))) doubles++;
    }
    const allDouble = held >= 4 && doubles >= Math.max(1, 0.7 * count);
    const seenM = stepM * count;
    const needM = footprint * Math.max(0, belowM[from]!) + 0.5 * Math.abs(worst);
    const real = count > 1 && inStep && !allDouble && seenM >= needM && !(worst > 0 && count <= DEEP_BURST && seenM < 2 * needM);
    let marked = false;
    for (let k = from; k < back; k++) {
      expectBetween(k, back);
      if (real || Math.abs(outside(depthM[k]!)) <= limit) continue;
      const steep =
        Math.abs(depthM[k]! - depthM[last]!) > limit + gate * (alongM[k]! - alongM[last]!) &&
        Math.abs(depthM[k]! - depthM[back]!) > limit + gate * (alongM[back]! - alongM[k]!);
      verdict[k] = allDouble ? SPIKE.doubleEcho : steep ? SPIKE.steep : SPIKE.outlier;
      marked = true;
    }
    return marked;
  }

  function widen(depth: number): void {
    low = Math.min(low, depth);
    high = Math.max(high, depth);
  }

  /** Depth at k of the line through two others, no steeper than the gate. */
  function lineThrough(a: number, b: number, k: number): number {
    const near = Math.abs(alongM[k]! - alongM[a]!) < Math.abs(alongM[k]! - alongM[b]!) ? a : b;
    return depthM[near]! + slopeBetween(a, b) * (alongM[k]! - alongM[near]!);
  }

  /** Marks what is left alone on the edge of a step: outside its good neighbours and the lines they lie on. */
  function markLoners(start: number, end: number): void {
    let before = -1;
    let beforeThat = -1;
    for (let k = start; k < end; k++) {
      if (verdict[k] !== SPIKE.none) continue;
      let after = k + 1;
      while (after < end && verdict[after] !== SPIKE.none) after++;
      const limit = threshold(k);
      if (before >= 0 && after < end) {
        low = Math.min(depthM[before]!, depthM[after]!);
        high = Math.max(depthM[before]!, depthM[after]!);
        if (beforeThat >= 0) widen(lineThrough(beforeThat, before, k));
        let afterThat = after + 1;
        while (afterThat < end && verdict[afterThat] !== SPIKE.none) afterThat++;
        if (afterThat < end) widen(lineThrough(after, afterThat, k));
        if (Math.abs(outside(depthM[k]!)) > limit) {
          const left = Math.abs(depthM[k]! - depthM[before]!);
          const right = Math.abs(depthM[k]! - depthM[after]!);
          const steep = left > limit + gate * (alongM[k]! - alongM[before]!) && right > limit + gate * (alongM[after]! - alongM[k]!);
          verdict[k] = steep ? SPIKE.steep : SPIKE.outlier;
          continue;
        }
      } else if (before >= 0 && beforeThat >= 0 && Math.abs(depthM[k]! - depthM[before]!) > limit + gate * (alongM[k]! - alongM[before]!)) {
        // The last of a stretch has one side only.
        verdict[k] = SPIKE.steep;
        continue;
      }
      beforeThat = before;
      before = k;
    }
  }
}

/** The first sounding of a stretch that lies on the line most of the first nine follow. */
function firstBelievable(series: DepthSeries, start: number, end: number, threshold: (i: number) => number): number {
  const { alongM, depthM } = series;
  const count = Math.min(9, end - start);
  if (count < 4) return start;
  const slopes = new Float64Array((count * (count - 1)) / 2);
  let pairs = 0;
  for (let a = start; a < start + count; a++) {
    for (let b = a + 1; b < start + count; b++) {
      const run = alongM[b]! - alongM[a]!;
      if (run > 1e-6) slopes[pairs++] = (depthM[b]! - depthM[a]!) / run;
    }
  }
  const slope = pairs === 0 ? 0 : upperMedianInPlace(slopes, pairs);
  const rests = new Float64Array(count);
  for (let k = 0; k < count; k++) rests[k] = depthM[start + k]! - slope * alongM[start + k]!;
  const rest = upperMedianInPlace(Float64Array.from(rests), count);
  for (let k = 0; k < count; k++) if (Math.abs(rests[k]! - rest) <= 2 * threshold(start + k)) return start + k;
  return start;
}
