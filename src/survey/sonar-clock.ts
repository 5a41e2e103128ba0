import { median } from '../base/robust.js';
import { formatUtc } from '../base/time.js';
import { matchClock } from '../imagery/clock-match.js';
import { offsetByPositions, searchClock } from '../imagery/clock-search.js';
import { BOTTOM_SOURCE, type BottomTrack } from '../imagery/bottom-track.js';
import { onBoatShift } from '../imagery/place-sonar.js';
import { coursesAt } from '../depths/heading-at.js';
import { positionsAt } from '../depths/position-at.js';
import type { Track } from '../depths/track.js';
import type { WaterDepth } from './sonar-ground.js';
import type { Settings } from './settings.js';
import type { SurveyPings } from './step-pings.js';
import type { ClockSummary } from './summary.js';

/** Offsets up to this are looked for [s]. */
const SEARCH_S = 30;
/** Depths under the track are read this far apart [s]. */
const STEP_S = 0.25;
/** Not more of them than four days hold. */
const STEPS_MOST = 1_400_000;

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

/**
 * The offset of the sonar's clock: as set; else by the positions that its records carry, where they lie on the boat's own track at another
 * time; and by matching heights of the bottom track with depths under the boat's track, within half a minute of that, or as far as the two can overlap.
 * 0 where that cannot be told, and where what was found is no more than its uncertainty.
 *
 * @param own positions of the records, by the sonar's clock
 * @param boat positions of the boat's own logs
 */
export function sonarClock(settings: Settings, pings: SurveyPings, bottom: BottomTrack, track: Track, water: WaterDepth | null, own: TimedPlaces, boat: TimedPlaces): ClockSummary {
  const { clockOffsetS, layback } = settings.sonar;
  const unknown = (how: string): ClockSummary => ({ offsetS: 0, uncertainty95S: null, known: false, how: `${how}; taken as in step with the positions`, biasM: null });
  if (clockOffsetS !== null) return { offsetS: clockOffsetS, uncertainty95S: null, known: true, how: 'as set (sonar.clockOffsetS)', biasM: null };
  const placed = offsetByPositions(own, boat);
  // Where the sonar tows behind, its position is far from the boat's, and both move alike.
  const roughS = layback === null && Math.abs(placed.offsetS) > LATE_S && isUsual(placed.offsetS) ? placed.offsetS : 0;
  const byPositions = (why: string): ClockSummary =>
    roughS === 0
      ? unknown(why)
      : { offsetS: roughS, uncertainty95S: placed.uncertainty95S, known: true, how: `positions in the side-scan's records slid along the boat's own, ${placed.compared} seconds compared; to be refined by heights and depths, but ${why}`, biasM: null };
  if (layback !== null) return unknown('a towed sonar\'s height does not follow the depth under the boat');
  const [pingsFrom, pingsTo] = spanOf(pings.timeS);
  const [fixesFrom, fixesTo] = track.n === 0 ? [NaN, NaN] : [track.timeS[0]!, track.timeS[track.n - 1]!];
  const apart = !(pingsTo + roughS > fixesFrom && pingsFrom + roughS < fixesTo);
  const apartWords = `pings run from ${formatUtc(pingsFrom)} to ${formatUtc(pingsTo)} by the sonar's clock, positions from ${formatUtc(fixesFrom)} to ${formatUtc(fixesTo)}: they do not overlap; take in the positions of that time, or, where the clock is wrong, set sonar.clockOffsetS to the seconds to be added`;
  if (Number.isNaN(pingsFrom) || track.n === 0) return unknown(track.n === 0 ? 'there are no positions to hold it against' : 'no ping carries a time');
  if (water === null) return byPositions(apart ? apartWords : 'there is no depth surface to hold the heights against');
  const depths = depthsUnder(settings, track, water, fixesFrom, fixesTo);
  const heights = heightsOf(pings, bottom, roughS);
  const near = apart ? null : matchClock(heights, depths, SEARCH_S, 4 * STEP_S);
  const match = near !== null && !Number.isNaN(near.offsetS) ? near : roughS === 0 ? searchClock(heights, depths, 4 * STEP_S) : null;
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

/** Depths of the floor below the sonar along the boat's track. */
function depthsUnder(settings: Settings, track: Track, water: WaterDepth, fromS: number, toS: number): { timeS: Float64Array; depthM: Float64Array } {
  const { draftM, mount } = settings.sonar;
  const timeS = Float64Array.from({ length: Math.min(STEPS_MOST, Math.floor((toS - fromS) / STEP_S) + 1) }, (_, i) => fromS + i * STEP_S);
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
function heightsOf(pings: SurveyPings, bottom: BottomTrack, addS: number): { timeS: Float64Array; heightM: Float64Array } {
  const rows: number[] = [];
  for (let row = 0; row < bottom.n; row++) if (bottom.source[row] === BOTTOM_SOURCE.tracked || bottom.source[row] === BOTTOM_SOURCE.byHand) rows.push(row);
  rows.sort((a, b) => pings.timeS[a]! - pings.timeS[b]!);
  return { timeS: Float64Array.from(rows, (row) => pings.timeS[row]! + addS), heightM: Float64Array.from(rows, (row) => bottom.heightM[row]!) };
}

/** Heights over the floor as a share of the depths under the track. */
export interface HeightShare {
  /** Median of height over depth; NaN where fewer than `LEAST_SHARED` could be compared. */
  readonly share: number;
  readonly compared: number;
}

const LEAST_SHARED = 50;

/**
 * How many times the depths the heights are: two instruments on one boat see one floor, so 0.305 is an echo sounder in feet and
 * 1.83 one in fathoms, read as metres. Source: 1 ft = 0.3048 m exactly, a fathom is 6 ft.
 */
export function heightShare(settings: Settings, pings: SurveyPings, bottom: BottomTrack, track: Track, water: WaterDepth | null, offsetS: number): HeightShare {
  if (water === null || track.n === 0 || settings.sonar.layback !== null) return { share: NaN, compared: 0 };
  const { timeS, depthM } = depthsUnder(settings, track, water, track.timeS[0]!, track.timeS[track.n - 1]!);
  const heights = heightsOf(pings, bottom, offsetS);
  const shares: number[] = [];
  heights.timeS.forEach((at, i) => {
    const depth = depthM[Math.round((at - timeS[0]!) / STEP_S)];
    if (depth !== undefined && depth > 0.5) shares.push(heights.heightM[i]! / depth);
  });
  return { share: shares.length < LEAST_SHARED ? NaN : median(shares), compared: shares.length };
}

function spanOf(timeS: Float64Array): [number, number] {
  let [start, end] = [Infinity, -Infinity];
  for (const time of timeS) {
    if (time < start) start = time;
    if (time > end) end = time;
  }
  return start <= end ? [start, end] : [NaN, NaN];
}
