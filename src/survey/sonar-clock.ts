import { matchClock } from '../imagery/clock-match.js';
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

/**
 * The offset of the sonar's clock: as set, else by matching heights of the bottom track with depths under the boat's track; 0
 * where that cannot be told, and where what was found is no more than its uncertainty.
 */
export function sonarClock(settings: Settings, pings: SurveyPings, bottom: BottomTrack, track: Track, water: WaterDepth | null): ClockSummary {
  const { clockOffsetS, draftM, mount, layback } = settings.sonar;
  const unknown = (how: string): ClockSummary => ({ offsetS: 0, uncertainty95S: null, known: false, how: `${how}; taken as in step with the positions`, biasM: null });
  if (clockOffsetS !== null) return { offsetS: clockOffsetS, uncertainty95S: null, known: true, how: 'as set (sonar.clockOffsetS)', biasM: null };
  if (layback !== null) return unknown('a towed sonar\'s height does not follow the depth under the boat');
  if (water === null || track.n === 0) return unknown('there is no depth surface to hold the heights against');
  let [startS, endS] = [Infinity, -Infinity];
  for (const time of pings.timeS) {
    if (time < startS) startS = time;
    if (time > endS) endS = time;
  }
  startS = Math.max(startS - SEARCH_S, track.timeS[0]!);
  endS = Math.min(endS + SEARCH_S, track.timeS[track.n - 1]!);
  if (!(endS > startS)) return unknown('pings and positions do not overlap in time');
  const timeS = Float64Array.from({ length: Math.floor((endS - startS) / STEP_S) + 1 }, (_, i) => startS + i * STEP_S);
  const { xM, yM } = positionsAt(track, timeS, settings.gnss.maxGapS);
  const courses = coursesAt(track, timeS, settings.gnss.maxGapS);
  const levels = water.levelsAt(timeS);
  const depthM = timeS.map((_, i) => {
    const [east, north] = Number.isNaN(courses[i]!) ? [0, 0] : onBoatShift(courses[i]!, settings.gnss.antenna, mount);
    return water.depthAt(xM[i]! + east, yM[i]! + north) + levels[i]! - draftM;
  });
  const rows: number[] = [];
  for (let row = 0; row < bottom.n; row++) if (bottom.source[row] === BOTTOM_SOURCE.tracked || bottom.source[row] === BOTTOM_SOURCE.byHand) rows.push(row);
  rows.sort((a, b) => pings.timeS[a]! - pings.timeS[b]!);
  const match = matchClock({ timeS: Float64Array.from(rows, (row) => pings.timeS[row]!), heightM: Float64Array.from(rows, (row) => bottom.heightM[row]!) }, { timeS, depthM }, SEARCH_S, 4 * STEP_S);
  if (Number.isNaN(match.offsetS)) return unknown(match.how);
  const isReal = Math.abs(match.offsetS) > match.uncertainty95S;
  return {
    offsetS: isReal ? Math.round(match.offsetS * 1000) / 1000 : 0,
    uncertainty95S: match.uncertainty95S,
    known: true,
    how: isReal ? match.how : `in step with the positions: ${match.how}, found ${match.offsetS.toFixed(2)} s, which is less than its 95 %`,
    biasM: match.biasM,
  };
}
