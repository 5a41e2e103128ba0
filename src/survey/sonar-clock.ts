import { median } from '../base/robust.js';
import { formatUtc } from '../base/time.js';
import { matchClock } from '../imagery/clock-match.js';
import { offsetByPositions, searchClock } from '../imagery/clock-search.js';
import { BOTTOM_SOURCE } from '../imagery/bottom-track.js';
import { onBoatShift } from '../imagery/place-sonar.js';
import { coursesAt } from '../depths/heading-at.js';
import { positionsAt } from '../depths/position-at.js';
import type { Track } from '../depths/track.js';
import type { WaterDepth } from './sonar-ground.js';
import type { Settings } from './settings.js';
import type { ClockSummary } from './summary.js';

/** Offsets up to this are looked for [s]. */
const SEARCH_S = 30;
/** Depths under the track are read this far apart, near and far [s]. */
const STEP_S = 0.25;
const FAR_STEP_S = 1;
/** Further than this from the pings no depths are looked at [s]. */
const FAR_S = 15 * 3600;
/** A clock that goes back by more was set on the way; by less, pings came out of order [s]. */
const SET_BACK_S = 2;

/** An offset by the positions in the records that is less than this is their delay, not the clock [s]. */
const LATE_S = 2;

/** A clock nobody set may be off by this much; beyond, it is off by a time zone, whole quarters of an hour, and little on top [s]. */
const UNSET_S = 1800;
const QUARTER_S = 900;
const ON_TOP_S = 60;
const ZONES_S = 14 * 3600;

/** Whether a clock is off by so much of itself, or it is more likely that the logs are of two trips. Time zones reach from -12 to +14 h. */
function isUsual(offsetS: number): boolean {
  const size = Math.abs(offsetS);
  const beyond = Math.abs(size - QUARTER_S * Math.round(size / QUARTER_S));
  return size <= UNSET_S || (size <= ZONES_S && beyond <= ON_TOP_S);
}

/** Positions with their times, in the frame. Shape of every column: [n]. */
export interface TimedPlaces {
  readonly timeS: Float64Array;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
}

/** What a clock is held against. */
export interface ClockGround {
  readonly settings: Settings;
  readonly track: Track;
  /** Null where there is no surface. */
  readonly water: WaterDepth | null;
  /** The boat's track as far as it is made of its own logs. */
  readonly boat: TimedPlaces;
}

/** Pings with what is known of them, or a part of them. */
export interface ClockPings {
  readonly timeS: Float64Array;
  readonly log: Uint16Array;
  /** Positions of the records in the frame [m]; NaN where there is none. */
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  readonly heightM: Float32Array;
  /** One of BOTTOM_SOURCE. */
  readonly source: Uint8Array;
}

/**
 * The offset of the sonar's clock for every ping: one for all; or, where it was set back on the way, one for each part.
 * @returns what is told of it, and what to add to each ping's time [s]. Shape [n]
 */
export function sonarClocks(pings: ClockPings, ground: ClockGround): { readonly clock: ClockSummary; readonly offsetS: Float64Array } {
  const n = pings.timeS.length;
  const starts = ground.settings.sonar.clockOffsetS !== null ? [] : setBack(pings);
  if (starts.length === 0) {
    const clock = sonarClock(pings, ground);
    return { clock, offsetS: new Float64Array(n).fill(clock.offsetS) };
  }
  const offsetS = new Float64Array(n);
  const parts = [0, ...starts].map((start, i) => {
    const end = starts[i] ?? n;
    const clock = sonarClock(partOf(pings, start, end), ground);
    offsetS.fill(clock.offsetS, start, end);
    return { start, end, clock };
  });
  const known = parts.every(({ clock }) => clock.known);
  const words = parts.map(({ start, end, clock }) => {
    const found = `${clock.offsetS >= 0 ? '+' : ''}${clock.offsetS.toFixed(2)} s${clock.uncertainty95S === null ? '' : ` ± ${clock.uncertainty95S.toFixed(2)} s`}`;
    return `pings ${start + 1} to ${end} ${clock.known ? found : `not known (${clock.how})`}`;
  });
  const first = parts[0]!.clock;
  const how = `the clock was set back on the way, so each part is by itself: ${words.slice(0, PARTS_TOLD).join('; ')}${words.length > PARTS_TOLD ? `; and ${words.length - PARTS_TOLD} more` : ''}`;
  return { clock: { offsetS: first.offsetS, uncertainty95S: known ? Math.max(...parts.map(({ clock }) => clock.uncertainty95S ?? 0)) : null, known, how, biasM: first.biasM, parts: parts.length }, offsetS };
}

/** Of the parts of a clock that was set back so many are told. */
const PARTS_TOLD = 6;

/** Pings at which a log's clock has been set back. */
function setBack({ timeS, log }: ClockPings): number[] {
  const starts: number[] = [];
  let before = NaN;
  for (let i = 0; i < timeS.length; i++) {
    if (i > 0 && log[i] !== log[i - 1]) before = NaN;
    if (Number.isNaN(timeS[i]!)) continue;
    if (timeS[i]! < before - SET_BACK_S) starts.push(i);
    before = timeS[i]!;
  }
  return starts;
}

function partOf({ timeS, log, xM, yM, heightM, source }: ClockPings, start: number, end: number): ClockPings {
  return { timeS: timeS.subarray(start, end), log: log.subarray(start, end), xM: xM.subarray(start, end), yM: yM.subarray(start, end), heightM: heightM.subarray(start, end), source: source.subarray(start, end) };
}

/**
 * The offset of the sonar's clock: as set; else by the positions that its records carry, where they lie on the boat's own track at another
 * time; and by matching heights of the bottom track with depths under the boat's track, within half a minute of that, or as far as the two can overlap.
 * 0 where that cannot be told, and where what was found is no more than its uncertainty.
 */
export function sonarClock(pings: ClockPings, { settings, track, water, boat }: ClockGround): ClockSummary {
  const { clockOffsetS, layback } = settings.sonar;
  const unknown = (how: string): ClockSummary => ({ offsetS: 0, uncertainty95S: null, known: false, how: `${how}; taken as in step with the positions`, biasM: null });
  if (clockOffsetS !== null) return { offsetS: clockOffsetS, uncertainty95S: null, known: true, how: 'as set (sonar.clockOffsetS)', biasM: null };
  // A sonar that is towed is not where the boat is.
  if (layback !== null) return unknown('a towed sonar\'s height does not follow the depth under the boat');
  const [pingsFrom, pingsTo] = spanOf(pings.timeS);
  if (Number.isNaN(pingsFrom)) return unknown('no ping carries a time');
  if (track.n === 0) return unknown('there are no positions to hold it against');
  const placed = offsetByPositions(pings, boat);
  const roughS = Math.abs(placed.offsetS) > LATE_S && isUsual(placed.offsetS) ? placed.offsetS : 0;
  const byPositions = (why: string): ClockSummary =>
    roughS === 0
      ? unknown(why)
      : { offsetS: roughS, uncertainty95S: placed.uncertainty95S, known: true, how: `positions in the side-scan's records slid along the boat's own, ${placed.compared} seconds compared; to be refined by heights and depths, but ${why}`, biasM: null };
  const [fixesFrom, fixesTo] = [track.timeS[0]!, track.timeS[track.n - 1]!];
  const apart = !(pingsTo + roughS > fixesFrom && pingsFrom + roughS < fixesTo);
  const apartWords = `pings run from ${formatUtc(pingsFrom)} to ${formatUtc(pingsTo)} by the sonar's clock, positions from ${formatUtc(fixesFrom)} to ${formatUtc(fixesTo)}: they do not overlap; take in the positions of that time, or, where the clock is wrong, set sonar.clockOffsetS to the seconds to be added`;
  if (water === null) return byPositions(apart ? apartWords : 'there is no depth surface to hold the heights against');
  const heights = heightsOf(pings, () => roughS);
  const depths = (reachS: number, stepS: number): { timeS: Float64Array; depthM: Float64Array } => depthsAlong(Math.max(pingsFrom + roughS - reachS, fixesFrom), Math.min(pingsTo + roughS + reachS, fixesTo), stepS, settings, track, water);
  const near = apart ? null : matchClock(heights, depths(SEARCH_S, STEP_S), SEARCH_S, 4 * STEP_S);
  const match = near !== null && !Number.isNaN(near.offsetS) ? near : roughS === 0 ? searchClock(heights, depths(FAR_S, FAR_STEP_S), 4 * FAR_STEP_S) : null;
  if (match === null || Number.isNaN(match.offsetS)) return byPositions(near?.how ?? apartWords);
  const offsetS = roughS + match.offsetS;
  if (!isUsual(offsetS)) {
    return unknown(`${apart ? `${apartWords}. ` : ''}The heights would fit the depths if ${offsetS.toFixed(1)} s were added, which is no usual error of a clock: another trip over the same ground looks like that, too. If it was the same trip, set sonar.clockOffsetS to it`);
  }
  const isReal = Math.abs(offsetS) > match.uncertainty95S;
  return {
    offsetS: isReal ? Math.round(offsetS * 1000) / 1000 : 0,
    uncertainty95S: match.uncertainty95S,
    known: true,
    how: isReal ? match.how : `in step with the positions: ${match.how}, found ${offsetS.toFixed(2).replace('-', '\u2212')} s, which is less than its 95 %`,
    biasM: match.biasM,
  };
}

/** Depths below the sonar that are expected along the boat's track. */
function depthsAlong(fromS: number, toS: number, stepS: number, settings: Settings, track: Track, water: WaterDepth): { timeS: Float64Array; depthM: Float64Array } {
  const { draftM, mount } = settings.sonar;
  const timeS = Float64Array.from({ length: Math.max(0, Math.floor((toS - fromS) / stepS) + 1) }, (_, i) => fromS + i * stepS);
  const { xM, yM } = positionsAt(track, timeS, settings.gnss.maxGapS);
  const courses = coursesAt(track, timeS, settings.gnss.maxGapS);
  const levels = water.levelsAt(timeS);
  const depthM = timeS.map((_, i) => {
    const [east, north] = Number.isNaN(courses[i]!) ? [0, 0] : onBoatShift(courses[i]!, settings.gnss.antenna, mount);
    return water.depthAt(xM[i]! + east, yM[i]! + north) + levels[i]! - draftM;
  });
  return { timeS, depthM };
}

/** Heights of the bottom track where it was seen, in time order, so much added to the sonar's times [s]. */
function heightsOf({ timeS, heightM, source }: ClockPings, addS: (row: number) => number): { timeS: Float64Array; heightM: Float64Array } {
  const rows: number[] = [];
  for (let row = 0; row < timeS.length; row++) if (!Number.isNaN(timeS[row]!) && (source[row] === BOTTOM_SOURCE.tracked || source[row] === BOTTOM_SOURCE.byHand)) rows.push(row);
  const added = Float64Array.from(timeS, (time, row) => time + addS(row));
  rows.sort((a, b) => added[a]! - added[b]!);
  return { timeS: Float64Array.from(rows, (row) => added[row]!), heightM: Float64Array.from(rows, (row) => heightM[row]!) };
}

/** Fewer heights than this tell no share. */
const LEAST_SHARED = 50;

/**
 * How many times the depths the heights are: two instruments on one boat see one floor, so 0.305 is an echo sounder in feet and
 * 1.83 one in fathoms, read as metres. Source: 1 ft = 0.3048 m exactly, a fathom is 6 ft.
 *
 * @returns median of height over depth under the track; NaN where fewer than 50 could be compared
 */
export function heightShare(pings: ClockPings, { settings, track, water }: Omit<ClockGround, 'boat'>, offsetS: Float64Array): number {
  if (water === null || track.n === 0 || settings.sonar.layback !== null) return NaN;
  const heights = heightsOf(pings, (row) => offsetS[row]!);
  const [first, last] = spanOf(heights.timeS);
  const { timeS, depthM } = depthsAlong(Math.max(first, track.timeS[0]!), Math.min(last, track.timeS[track.n - 1]!), STEP_S, settings, track, water);
  const shares: number[] = [];
  heights.timeS.forEach((at, i) => {
    const depth = depthM[Math.round((at - timeS[0]!) / STEP_S)];
    if (depth !== undefined && depth > 0.5) shares.push(heights.heightM[i]! / depth);
  });
  return shares.length < LEAST_SHARED ? NaN : median(shares);
}

function spanOf(timeS: Float64Array): [number, number] {
  let [start, end] = [Infinity, -Infinity];
  for (const time of timeS) {
    if (time < start) start = time;
    if (time > end) end = time;
  }
  return start <= end ? [start, end] : [NaN, NaN];
}
