import { indexAtOrBefore, interpolateAt } from '../base/interpolate.js';
import type { FixColumns, LogObservations, SeriesColumns, SeriesName } from '../base/observations.js';
import type { TrialLog } from '../boat/trial-log.js';
import { HEADING_FROM, headingsAt } from '../depths/heading-at.js';
import { mergeTracks } from '../depths/merge-tracks.js';
import type { Track } from '../depths/track.js';
import { convergenceDeg } from '../geo/bearing.js';
import type { Frame } from '../geo/frame.js';
import type { Settings } from './settings.js';
import type { LogEntry } from './summary.js';

/** Instruments further apart in time than this from a position are not read off at it [s]. */
const MAX_GAP_S = 2;

/** A log with what it said. */
export interface ReadLog {
  readonly entry: LogEntry;
  readonly observations: LogObservations;
}

/** Logs that hold trials: as set, or those with thruster commands. */
export function trialLogs(logs: readonly ReadLog[], setting: Settings['boat']['trialLogs']): ReadLog[] {
  if (setting !== 'auto') return logs.filter(({ entry }) => setting.includes(entry.file));
  return logs.filter(({ observations: { series } }) => (series.thrusterPortPct?.n ?? 0) > 0 || (series.thrusterStarboardPct?.n ?? 0) > 0);
}

/**
 * The log of trials on the time base of its positions that did not jump, at the boat's reference point.
 *
 * Positions and instruments are those of the logs of trials; what none of them carries is taken from logs of the same time.
 * An order to the thrusters holds until the next; other instruments are read off between their samples. The heading is that
 * of a compass alone: the course made good says nothing of where the bow points. The antenna's lever arm is taken off where
 * the heading is known. Rows stand at the times the positions were stamped at, which is when the other instruments spoke; where
 * positions are older than their stamps the place at the stamp is read off between them.
 *
 * @param variationAt variation at a place and time, east positive [deg]; null where it is not known: magnetic headings are then not used
 */
export function trialLogFrom(chosen: readonly ReadLog[], all: readonly ReadLog[], frame: Frame, settings: Settings, variationAt: (latDeg: number, lonDeg: number, timeS: number) => number | null): TrialLog {
  const offsetS = settings.time.loggerOffsetS;
  const spans = chosen.map(({ entry }) => [entry.timeStartS, entry.timeEndS] as const).filter(([start, end]) => end > start);
  const within = (timeS: number): boolean => spans.some(([start, end]) => timeS >= start && timeS <= end);
  const fixed = chosen.filter(({ observations }) => observations.fixes.n > 0);
  const fixes = fixed.length > 0 ? fixed.map(({ observations }) => observations.fixes) : all.map(({ observations }) => clipped(observations.fixes, within));
  const { track } = mergeTracks(
    fixes.map((one, log) => ({ log, fixes: one })),
    frame,
    { loggerOffsetS: offsetS, latencyS: settings.gnss.latencyS, sigmaM: settings.gnss.sigmaM, maxSpeedMps: settings.gnss.maxSpeedMps },
  );
  const good: number[] = [];
  for (let i = 0; i < track.n; i++) if (track.jump[i] === 0) good.push(i);
  const places = placesAtStamps(track, good, settings.gnss.latencyS);
  const { kept, timeS } = places;
  const n = kept.length;
  const partsOf = (name: SeriesName): SeriesColumns[] => {
    const of = (logs: readonly ReadLog[]): SeriesColumns[] => logs.map(({ observations }) => observations.series[name]).filter((one): one is SeriesColumns => one !== undefined && one.n > 0);
    const own = of(chosen);
    return own.length > 0 ? own : of(all);
  };
  const read = (name: SeriesName, how: (series: { readonly timeS: Float64Array; readonly value: Float64Array }) => ArrayLike<number>): Float32Array => {
    const series = byTime(partsOf(name), offsetS);
    return series.timeS.length === 0 ? new Float32Array(n).fill(NaN) : Float32Array.from(how(series));
  };
  const between = (name: SeriesName): Float32Array => read(name, (series) => interpolateAt(series.timeS, series.value, timeS, MAX_GAP_S));
  const held = (name: SeriesName): Float32Array => read(name, (series) => heldAt(series, timeS));

  const middle = kept[n >> 1];
  const [latDeg, lonDeg] = middle === undefined ? [NaN, NaN] : frame.toGeographic(track.xM[middle]!, track.yM[middle]!);
  const convergence = middle === undefined ? 0 : convergenceDeg(frame, track.xM[middle]!, track.yM[middle]!);
  const variationDeg = settings.heading.variationDeg ?? (middle === undefined ? null : variationAt(latDeg, lonDeg, timeS[n >> 1]!));
  const { source } = settings.heading;
  const { headingDeg, from } = headingsAt(timeS, partsOf('headingTrueDeg'), partsOf('headingMagneticDeg'), emptyOf(track), convergence, { source: source === 'course' ? 'auto' : source, variationDeg, offsetDeg: settings.heading.offsetDeg, loggerOffsetS: offsetS, maxGapS: MAX_GAP_S });
  const { xM, yM } = places;
  const { forwardM, starboardM } = settings.gnss.antenna;
  for (let i = 0; i < n; i++) {
    if (from[i] === HEADING_FROM.course || from[i] === HEADING_FROM.none) headingDeg[i] = NaN;
    if (Number.isNaN(headingDeg[i]!) || (forwardM === 0 && starboardM === 0)) continue;
    const bow = ((headingDeg[i]! - convergence) * Math.PI) / 180;
    xM[i] = xM[i]! - forwardM * Math.sin(bow) - starboardM * Math.cos(bow);
    yM[i] = yM[i]! - forwardM * Math.cos(bow) + starboardM * Math.sin(bow);
  }
  return {
    n,
    timeS,
    xM,
    yM,
    sigmaM: Float32Array.from(kept, (i) => track.sigmaM[i]!),
    headingDeg,
    speedThroughWaterMps: between('speedThroughWaterMps'),
    thrusterPortPct: held('thrusterPortPct'),
    thrusterStarboardPct: held('thrusterStarboardPct'),
    batteryVoltageV: between('batteryVoltageV'),
    batteryCurrentA: between('batteryCurrentA'),
    convergenceDeg: convergence,
  };
}

/**
 * Places at the times the positions were stamped at: those positions themselves without latency, else between the two about the
 * stamp, by a cubic whose slopes are those of the chords. Stamps past a gap or the end are left out.
 */
function placesAtStamps(track: Track, good: readonly number[], latencyS: number): { readonly kept: readonly number[]; readonly timeS: Float64Array; readonly xM: Float64Array; readonly yM: Float64Array } {
  if (latencyS === 0) {
    return { kept: good, timeS: Float64Array.from(good, (i) => track.timeS[i]!), xM: Float64Array.from(good, (i) => track.xM[i]!), yM: Float64Array.from(good, (i) => track.yM[i]!) };
  }
  const times = Float64Array.from(good, (i) => track.timeS[i]!);
  const slope = (column: Float64Array, at: number): number => {
    const from = at > 0 && times[at]! - times[at - 1]! <= MAX_GAP_S ? at - 1 : at;
    const to = at + 1 < times.length && times[at + 1]! - times[at]! <= MAX_GAP_S ? at + 1 : at;
    return from === to ? 0 : (column[good[to]!]! - column[good[from]!]!) / (times[to]! - times[from]!);
  };
  const kept: number[] = [];
  const wanted: number[] = [];
  const xs: number[] = [];
  const ys: number[] = [];
  let before = 0;
  for (const row of good) {
    const time = track.timeS[row]! + latencyS;
    before = indexAtOrBefore(times, time, before);
    if (before < 0) {
      before = 0;
      continue;
    }
    const spanS = before + 1 < times.length ? times[before + 1]! - times[before]! : Infinity;
    if (times[before] !== time && !(spanS <= MAX_GAP_S)) continue;
    const u = times[before] === time ? 0 : (time - times[before]!) / spanS;
    const at = (column: Float64Array): number => {
      if (u === 0) return column[good[before]!]!;
      const rise = column[good[before + 1]!]! - column[good[before]!]!;
      const m0 = slope(column, before) * spanS;
      const m1 = slope(column, before + 1) * spanS;
      return column[good[before]!]! + u * m0 + u * u * (3 * rise - 2 * m0 - m1) + u * u * u * (m0 + m1 - 2 * rise);
    };
    kept.push(row);
    wanted.push(time);
    xs.push(at(track.xM));
    ys.push(at(track.yM));
  }
  return { kept, timeS: Float64Array.from(wanted), xM: Float64Array.from(xs), yM: Float64Array.from(ys) };
}

/** No positions: the compass alone is asked for headings. */
function emptyOf(track: Track): Track {
  return { ...track, n: 0 };
}

/** Rows of fixes whose log-clock time is within the spans. */
function clipped(fixes: FixColumns, within: (timeS: number) => boolean): FixColumns {
  const rows: number[] = [];
  for (let i = 0; i < fixes.n; i++) if (within(fixes.timeS[i]!)) rows.push(i);
  const pick = <Kind extends Float64Array | Float32Array | Uint8Array | Uint32Array>(column: Kind): Kind => {
    const result = column.slice(0, rows.length) as Kind;
    rows.forEach((row, i) => (result[i] = column[row]!));
    return result;
  };
  return {
    n: rows.length,
    timeS: pick(fixes.timeS),
    latDeg: pick(fixes.latDeg),
    lonDeg: pick(fixes.lonDeg),
    heightM: pick(fixes.heightM),
    geoidM: pick(fixes.geoidM),
    quality: pick(fixes.quality),
    satellites: pick(fixes.satellites),
    hdop: pick(fixes.hdop),
    sigmaM: pick(fixes.sigmaM),
    courseDeg: pick(fixes.courseDeg),
    speedMps: pick(fixes.speedMps),
    record: pick(fixes.record),
  };
}

/** One series of several logs by rising time, UTC; rows without a number left out. */
function byTime(parts: readonly SeriesColumns[], offsetS: number): { readonly timeS: Float64Array; readonly value: Float64Array } {
  const timeS: number[] = [];
  const value: number[] = [];
  for (const part of parts) {
    for (let i = 0; i < part.n; i++) {
      if (!Number.isFinite(part.timeS[i]!) || !Number.isFinite(part.value[i]!)) continue;
      timeS.push(part.timeS[i]! + offsetS);
      value.push(part.value[i]!);
    }
  }
  const order = Uint32Array.from(timeS, (_, i) => i).sort((a, b) => timeS[a]! - timeS[b]! || a - b);
  return { timeS: Float64Array.from(order, (i) => timeS[i]!), value: Float64Array.from(order, (i) => value[i]!) };
}

/** The latest value at or before each time, while no older than MAX_GAP_S. */
function heldAt(series: { readonly timeS: Float64Array; readonly value: Float64Array }, wantedS: Float64Array): Float64Array {
  const result = new Float64Array(wantedS.length).fill(NaN);
  let hint = 0;
  for (let i = 0; i < wantedS.length; i++) {
    const at = indexAtOrBefore(series.timeS, wantedS[i]!, hint);
    if (at < 0) continue;
    hint = at;
    if (wantedS[i]! - series.timeS[at]! <= MAX_GAP_S) result[i] = series.value[at]!;
  }
  return result;
}
