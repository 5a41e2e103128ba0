import { bearingDeg, turnDeg } from '../base/interpolate.js';
import type { SeriesColumns } from '../base/observations.js';
import { HEADING_FROM, coursesAt, headingsAt } from '../depths/heading-at.js';
import { assignLines, straightRuns } from '../depths/line-of.js';
import { positionsAt } from '../depths/position-at.js';
import type { BottomTrack } from '../imagery/bottom-track.js';
import { smoothBearings, smoothLocally } from '../imagery/local-fit.js';
import { placeSonar } from '../imagery/place-sonar.js';
import { slopeToSide } from '../imagery/side-slope.js';
import { PING_FAULT, type SonarTrack } from '../imagery/sonar-track.js';
import { convergenceDeg } from '../geo/bearing.js';
import type { Track } from '../depths/track.js';
import type { Frame } from '../geo/frame.js';
import { appliedTimes } from './applied-corrections.js';
import { isSonarKind } from '../formats/log-kind.js';
import { PLACES } from './folder.js';
import { IMAGERY_PLACES, readSonarTrack, writeSonarTrack, writeText } from './imagery-files.js';
import { magneticVariationDeg } from './magnetic-variation.js';
import { readLineFeatures } from './plan-files.js';
import { heightShare, sonarClocks, type ClockPings, type TimedPlaces } from './sonar-clock.js';
import { sonarSound, waterDepthOf, type WaterDepth } from './sonar-ground.js';
import { bottomOf } from './step-bottom.js';
import type { Made, Step, StepWork } from './step-graph.js';
import { observationsOf } from './step-observations.js';
import { pingsOf, type SurveyPings } from './step-pings.js';
import { trackOf } from './step-tracks.js';
import { surveyFrame } from './survey-frame.js';

/** Pings further apart are not joined [s]. */
export const PING_BREAK_S = 2;
/** Turning faster than this smears a ping over more floor than it covers [deg/s]. Common practice. */
const TURNING_DEG_PER_S = 8;
/** Courses of a towed sonar's cable are smoothed over so long [s]. */
const TOW_SMOOTH_S = 10;
/** Slopes are read this far apart [s], over this share of the range. */
const SLOPE_STEP_S = 0.5;
const SLOPE_SHARE = 0.7;

/** The sonar's track: from this run's memory, or from its file; null where there are no pings. */
export async function sonarTrackOf(work: StepWork): Promise<SonarTrack | null> {
  if (work.memory.has('sonar-track')) return work.memory.get('sonar-track') as SonarTrack | null;
  const track = await readSonarTrack(work.folder);
  work.memory.set('sonar-track', track);
  return track;
}

/** Headings at the pings: the boat's compass, else what the record itself carries, else the course made good [deg true]. */
async function headingsOf(work: StepWork, pings: SurveyPings, timeS: Float64Array, frame: Frame, converge: number, place: readonly [number, number]): Promise<{ headingDeg: Float64Array; sigmaDeg: Float32Array }> {
  const { settings } = work;
  const { heading, gnss } = settings;
  const track = await trackOf(work);
  const observations = await observationsOf(work);
  const [latDeg, lonDeg] = frame.toGeographic(place[0], place[1]);
  const variationDeg = heading.variationDeg ?? magneticVariationDeg(latDeg, lonDeg, timeS[timeS.length >> 1]!);
  const present = (name: 'headingTrueDeg' | 'headingMagneticDeg'): SeriesColumns[] => observations.map(({ series }) => series[name]).filter((one) => one !== undefined);
  const found = headingsAt(timeS, present('headingTrueDeg'), present('headingMagneticDeg'), track, converge, { source: heading.source, offsetDeg: heading.offsetDeg, variationDeg, loggerOffsetS: appliedTimes(settings).loggerOffsetS, maxGapS: gnss.maxGapS });
  const sigmaDeg = new Float32Array(timeS.length);
  const headingDeg = Float64Array.from(found.headingDeg, (each, row) => {
    const isCompass = found.from[row] === HEADING_FROM.true || found.from[row] === HEADING_FROM.magnetic;
    const own = pings.headingDeg[row]!;
    if (!isCompass && !Number.isNaN(own) && heading.source !== 'course') {
      sigmaDeg[row] = heading.sigmaDeg;
      return own;
    }
    // Of a course made good, crabbing is not known.
    sigmaDeg[row] = isCompass ? heading.sigmaDeg : Math.hypot(heading.sigmaDeg, 5);
    return each;
  });
  return { headingDeg, sigmaDeg };
}

/** Which line each ping was run on: of the plan, else of the track's own straight runs, from 1; -1 on none. */
async function linesOf(work: StepWork, frame: Frame, timeS: Float64Array, xM: Float64Array, yM: Float64Array): Promise<Int32Array> {
  const points = { n: timeS.length, timeS, xM, yM };
  const planned = await readLineFeatures(work.folder);
  if (planned !== null && planned.length > 0) {
    const { spacingM } = work.settings.lines;
    const lines = planned.map(({ number, lonLat }) => {
      const path = new Float64Array(lonLat.length);
      for (let i = 0; i < lonLat.length; i += 2) [path[i], path[i + 1]] = frame.toFrame(lonLat[i + 1]!, lonLat[i]!);
      return { number, path };
    });
    const line = assignLines(points, lines, { corridorM: Math.max(2, spacingM / 2), headingDeg: 30, minRunM: Math.min(20, Math.max(5, spacingM)) });
    // Lines may belong to another area than the tracks.
    if (line.some((number) => number >= 0)) return line;
  }
  return straightRuns(points, { headingDeg: 20, minRunM: 20 }).run.map((run) => (run < 0 ? -1 : run + 1));
}

function slopesOf(pings: SurveyPings, xM: Float64Array, yM: Float64Array, gridHeadingDeg: Float32Array, timeS: Float64Array, water: WaterDepth | null, soundSpeedMps: number): { portSlope: Float32Array; starboardSlope: Float32Array } {
  const n = pings.n;
  const slopes = { portSlope: new Float32Array(n), starboardSlope: new Float32Array(n) };
  if (water === null) return slopes;
  let lastS = -Infinity;
  let [port, starboard] = [0, 0];
  for (let row = 0; row < n; row++) {
    if (Math.abs(timeS[row]! - lastS) >= SLOPE_STEP_S) {
      lastS = timeS[row]!;
      const samples = Math.max(pings.portSamples[row]!, pings.starboardSamples[row]!);
      const reachM = SLOPE_SHARE * (soundSpeedMps / 2) * (pings.delayS[row]! + samples * pings.intervalS[row]!);
      port = slopeToSide(water.depthAt, xM[row]!, yM[row]!, gridHeadingDeg[row]!, 'port', reachM);
      starboard = slopeToSide(water.depthAt, xM[row]!, yM[row]!, gridHeadingDeg[row]!, 'starboard', reachM);
    }
    slopes.portSlope[row] = port;
    slopes.starboardSlope[row] = starboard;
  }
  return slopes;
}

async function trackSonar(work: StepWork, pings: SurveyPings, bottom: BottomTrack, frame: Frame, offsetS: Float64Array, water: WaterDepth | null, soundSpeedMps: number): Promise<SonarTrack> {
  const { settings } = work;
  const { gnss, imagery } = settings;
  const { mount, layback } = settings.sonar;
  const n = pings.n;
  const track = await trackOf(work);
  const timeS = pings.timeS.map((time, row) => time + offsetS[row]!);
  const fixes = positionsAt(track, timeS, gnss.maxGapS);
  const middle = track.n >> 1;
  const place = track.n > 0 ? ([track.xM[middle]!, track.yM[middle]!] as const) : ([500_000, 0] as const);
  const converge = convergenceDeg(frame, place[0], place[1]);
  const raw = await headingsOf(work, pings, timeS, frame, converge, place);

  // Smoothing goes by stretches that rise in time: log by log, and anew where a clock was set back.
  const headingDeg = new Float32Array(n);
  const headingSigmaDeg = new Float32Array(n);
  const antennaX = new Float64Array(n);
  const antennaY = new Float64Array(n);
  const positionSigma = new Float64Array(n);
  const gridCourse = Float64Array.from(coursesAt(track, timeS, gnss.maxGapS));
  const towCourse = new Float64Array(n);
  const yaw = new Float32Array(n);
  for (let start = 0; start < n; ) {
    let end = start + 1;
    while (end < n && pings.log[end] === pings.log[start] && !(timeS[end]! < timeS[end - 1]!)) end++;
    const times = timeS.subarray(start, end);
    const heading = smoothBearings(times, raw.headingDeg.subarray(start, end), imagery.headingSmoothS, PING_BREAK_S);
    const east = smoothLocally(times, fixes.xM.subarray(start, end), imagery.positionSmoothS, PING_BREAK_S);
    const north = smoothLocally(times, fixes.yM.subarray(start, end), imagery.positionSmoothS, PING_BREAK_S);
    const tow = layback === null ? null : smoothBearings(times, gridCourse.subarray(start, end), TOW_SMOOTH_S, PING_BREAK_S);
    for (let row = start; row < end; row++) {
      const i = row - start;
      headingDeg[row] = heading.value[i]!;
      headingSigmaDeg[row] = Math.hypot(raw.sigmaDeg[row]!, heading.sigma[i]! || 0);
      // A position without fixes near enough stays unknown.
      antennaX[row] = Number.isNaN(fixes.xM[row]!) ? NaN : east.value[i]!;
      antennaY[row] = Number.isNaN(fixes.yM[row]!) ? NaN : north.value[i]!;
      positionSigma[row] = Math.hypot(fixes.sigmaM[row]!, Math.max(east.sigma[i]! || 0, north.sigma[i]! || 0));
      towCourse[row] = tow === null ? NaN : tow.value[i]!;
      const [before, after] = [Math.max(0, i - 3), Math.min(end - start - 1, i + 3)];
      const spanS = times[after]! - times[before]!;
      yaw[row] = spanS > 0 && spanS < PING_BREAK_S * 3 ? Math.abs(turnDeg(heading.value[before]!, heading.value[after]!)) / spanS : 0;
    }
    start = end;
  }
  const gridHeadingDeg = headingDeg.map((heading) => (Number.isNaN(heading) ? NaN : bearingDeg(heading - converge)));
  const { xM, yM } = placeSonar(antennaX, antennaY, gridHeadingDeg, towCourse, gnss.antenna, mount, layback, pings.depthM);
  const courseDeg = Float32Array.from(gridCourse, (course) => (Number.isNaN(course) ? NaN : bearingDeg(course + converge)));
  const speedMps = fixes.speedMps;
  const sigmaM = new Float32Array(n);
  const fault = new Uint8Array(n);
  for (let row = 0; row < n; row++) {
    // A cable hangs in a bow and swings: a tenth of its length, one sigma (common practice).
    sigmaM[row] = Math.hypot(positionSigma[row]!, layback === null ? 0 : 0.1 * layback.cableOutM);
    fault[row] = Number.isNaN(xM[row]! + yM[row]!) && Number.isNaN(antennaX[row]!) ? PING_FAULT.position : Number.isNaN(headingDeg[row]!) ? PING_FAULT.heading : Number.isNaN(xM[row]!) ? PING_FAULT.position : !(bottom.heightM[row]! > 0) ? PING_FAULT.height : yaw[row]! > TURNING_DEG_PER_S ? PING_FAULT.turning : PING_FAULT.none;
  }
  const line = await linesOf(work, frame, timeS, xM, yM);
  return { n, timeS, xM, yM, headingDeg, courseDeg, speedMps, sigmaM, headingSigmaDeg, line, fault, gridHeadingDeg, ...slopesOf(pings, xM, yM, gridHeadingDeg, timeS, water, soundSpeedMps) };
}

/** Pings with the positions of their records in the frame, where they change: a sonar repeats one until the next comes in. */
function clockPings(pings: SurveyPings, bottom: BottomTrack, frame: Frame): ClockPings {
  const [xM, yM] = [new Float64Array(pings.n).fill(NaN), new Float64Array(pings.n).fill(NaN)];
  for (let i = 0; i < pings.n; i++) {
    if (Number.isNaN(pings.latDeg[i]! + pings.lonDeg[i]!) || (i > 0 && pings.latDeg[i] === pings.latDeg[i - 1] && pings.lonDeg[i] === pings.lonDeg[i - 1])) continue;
    [xM[i], yM[i]] = frame.toFrame(pings.latDeg[i]!, pings.lonDeg[i]!);
  }
  return { timeS: pings.timeS, log: pings.log, xM, yM, heightM: bottom.heightM, source: bottom.source };
}

/** The track as far as it is made of logs that are no side-scan. */
function boatPlaces(work: StepWork, track: Track): TimedPlaces {
  const rows: number[] = [];
  for (let i = 0; i < track.n; i++) if (track.jump[i] === 0 && !isSonarKind(work.logs[track.log[i]!]!.kind)) rows.push(i);
  const take = (column: Float64Array): Float64Array => Float64Array.from(rows, (i) => column[i]!);
  return { timeS: take(track.timeS), xM: take(track.xM), yM: take(track.yM) };
}

/** Where the sonar was and how it lay, ping by ping, by the boat's positions and headings and the sonar's own clock put right. */
export const stepSonarTrack: Step = {
  name: 'sonar-track',
  version: 4,
  after: ['bottom'],
  settings: ['sonar', 'gnss', 'heading', 'time', 'water', 'sounder.soundSpeedSetMps', 'corrections.clock', 'corrections.latency', 'imagery.headingSmoothS', 'imagery.positionSmoothS', 'lines.spacingM', 'frame'],
  files: () => [PLACES.area, PLACES.lines],
  async run(work): Promise<Made> {
    const pings = await pingsOf(work);
    const frame = pings.n === 0 ? null : await surveyFrame(work.folder, work.settings, work.logs);
    if (frame === null) {
      work.memory.set('sonar-track', null);
      return {};
    }
    const bottom = await bottomOf(work);
    const water = await waterDepthOf(work, frame);
    work.context.progress?.('sonar-track', 0.1, 'the sonar\'s clock');
    const boat = await trackOf(work);
    const held = clockPings(pings, bottom, frame);
    const ground = { settings: work.settings, track: boat, water, boat: boatPlaces(work, boat) };
    const { clock, offsetS } = sonarClocks(held, ground);
    const share = heightShare(held, ground, offsetS);
    work.context.progress?.('sonar-track', 0.4, 'headings and positions');
    const { speedMps } = await sonarSound(work, pings);
    const track = await trackSonar(work, pings, bottom, frame, offsetS, water, speedMps);
    work.memory.set('sonar-track', track);
    return {
      [IMAGERY_PLACES.track]: await writeSonarTrack(work.folder, track),
      [IMAGERY_PLACES.clock]: await writeText(work.folder, IMAGERY_PLACES.clock, { ...clock, heightShare: Number.isNaN(share) ? null : Math.round(share * 1000) / 1000 }),
    };
  },
};
