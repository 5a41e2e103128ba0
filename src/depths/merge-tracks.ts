import type { FixColumns } from '../base/observations.js';
import type { Frame } from '../geo/frame.js';
import { markJumps } from './position-jumps.js';
import type { Track } from './track.js';
import { timeOrder } from './track.js';

/** One log's positions; `log` is its index in the manifest. */
export interface FixLog {
  readonly log: number;
  readonly fixes: FixColumns;
}

export interface TrackOptions {
  /** Added to logged times to get UTC [s]. */
  readonly loggerOffsetS: number;
  /** Age of a position when its time is stamped; positive: older than its stamp [s]. */
  readonly latencyS: number;
  /** One sigma, one dimension, where the log has none [m]. */
  readonly sigmaM: number;
  /** A position that needs more than this speed is a jump [m/s]. */
  readonly maxSpeedMps: number;
}

/** What became of the fixes that went into a track. */
export interface TrackCounts {
  readonly fixes: number;
  /** Without a position or a time, or called invalid by the receiver. */
  readonly invalid: number;
  /** At the same time as a fix that was kept, in the same log or another. */
  readonly duplicate: number;
  /** Stamped earlier than the fix before them in their log; kept, in their place in time. */
  readonly backwards: number;
  readonly jumped: number;
}

/** Fixes closer in time than this are the same epoch [s]. */
const SAME_TIME_S = 0.0005;
/** A receiver's error estimate holds this long [s]. */
const SIGMA_HOLDS_S = 2;

/**
 * One track from the positions of several logs: in time order, one position a time, jumps marked.
 *
 * Of fixes at one time the one of better quality stays, then the one of smaller sigma, then the one of the earlier log.
 *
 * @throws RangeError for options that are not numbers or not positive where they must be
 */
export function mergeTracks(logs: readonly FixLog[], frame: Frame, options: TrackOptions): { readonly track: Track; readonly counts: TrackCounts } {
  checkOptions(options);
  const total = logs.reduce((sum, one) => sum + one.fixes.n, 0);
  const timeS = new Float64Array(total);
  const place = new Uint32Array(total);
  const source = new Uint16Array(total);
  let valid = 0;
  let backwards = 0;
  logs.forEach(({ fixes }, which) => {
    let lastS = -Infinity;
    for (let i = 0; i < fixes.n; i++) {
      const time = fixes.timeS[i]! + options.loggerOffsetS - options.latencyS;
      if (!Number.isFinite(time) || !Number.isFinite(fixes.latDeg[i]!) || !Number.isFinite(fixes.lonDeg[i]!) || fixes.quality[i] === 0) continue;
      if (time < lastS) backwards++;
      lastS = time;
      timeS[valid] = time;
      place[valid] = i;
      source[valid] = which;
      valid++;
    }
  });
  const sigmas = logs.map(({ fixes }) => carriedSigma(fixes));
  const sigmaOf = (row: number): number => {
    const logged = sigmas[source[row]!]![place[row]!]!;
    return logged > 0 ? logged : options.sigmaM;
  };
  const better = (a: number, b: number): boolean => {
    const rankA = qualityRank(logs[source[a]!]!.fixes.quality[place[a]!]!);
    const rankB = qualityRank(logs[source[b]!]!.fixes.quality[place[b]!]!);
    return rankA !== rankB ? rankA > rankB : sigmaOf(a) < sigmaOf(b);
  };

  const order = timeOrder(timeS, valid);
  const rows = new Uint32Array(valid);
  let n = 0;
  for (let i = 0; i < valid; i++) {
    const row = order[i]!;
    const before = n === 0 ? -1 : rows[n - 1]!;
    if (before >= 0 && timeS[row]! - timeS[before]! < SAME_TIME_S) {
      if (better(row, before)) rows[n - 1] = row;
    } else rows[n++] = row;
  }

  const track = {
    n,
    timeS: new Float64Array(n),
    xM: new Float64Array(n),
    yM: new Float64Array(n),
    sigmaM: new Float32Array(n),
    courseDeg: new Float32Array(n),
    speedMps: new Float32Array(n),
    quality: new Uint8Array(n),
    jump: new Uint8Array(n),
    log: new Uint16Array(n),
    record: new Uint32Array(n),
  };
  for (let i = 0; i < n; i++) {
    const row = rows[i]!;
    const { log, fixes } = logs[source[row]!]!;
    const at = place[row]!;
    const [x, y] = frame.toFrame(fixes.latDeg[at]!, fixes.lonDeg[at]!);
    track.timeS[i] = timeS[row]!;
    track.xM[i] = x;
    track.yM[i] = y;
    track.sigmaM[i] = sigmaOf(row);
    track.courseDeg[i] = fixes.courseDeg[at]!;
    track.speedMps[i] = fixes.speedMps[at]!;
    track.quality[i] = fixes.quality[at]!;
    track.log[i] = log;
    track.record[i] = fixes.record[at]!;
  }
  const jumped = markJumps(track, options.maxSpeedMps, track.jump);
  return { track, counts: { fixes: total, invalid: total - valid, duplicate: valid - n, backwards, jumped } };
}

/**
 * The receiver's own error estimate at every fix: GST often comes once a second between positions that come more often, and
 * holds until the next one, but no longer than 2 s. NaN where there is none.
 */
function carriedSigma(fixes: FixColumns): Float32Array {
  const carried = new Float32Array(fixes.n);
  let last = NaN;
  let lastS = -Infinity;
  for (let i = 0; i < fixes.n; i++) {
    const time = fixes.timeS[i]!;
    if (fixes.sigmaM[i]! > 0) {
      last = fixes.sigmaM[i]!;
      lastS = time;
    }
    carried[i] = Math.abs(time - lastS) <= SIGMA_HOLDS_S ? last : NaN;
  }
  return carried;
}

/** GGA quality, the better the higher: RTK fixed, RTK float, differential, autonomous, anything else. */
function qualityRank(quality: number): number {
  return quality === 4 ? 4 : quality === 5 ? 3 : quality === 2 || quality === 9 ? 2 : quality === 1 || quality === 3 ? 1 : 0;
}

function checkOptions(options: TrackOptions): void {
  for (const name of ['loggerOffsetS', 'latencyS'] as const) {
    if (!Number.isFinite(options[name])) throw new RangeError(`${name} ${options[name]}: expected a number`);
  }
  for (const name of ['sigmaM', 'maxSpeedMps'] as const) {
    if (!(options[name] > 0)) throw new RangeError(`${name} ${options[name]}: expected more than 0`);
  }
}
