import { bottomSlopes, correctForSlope } from '../depths/bottom-slope.js';
import { antennaHeightsAt } from '../depths/antenna-heights.js';
import { cleanSoundings } from '../depths/clean.js';
import { correctionFigures, type CorrectionCurves } from '../depths/corrections.js';
import { findCrossings } from '../depths/crossings.js';
import { applyDecisions, type SoundingDecision } from '../depths/decisions.js';
import { assignLines, straightRuns } from '../depths/line-of.js';
import { reduceSoundings } from '../depths/reduce.js';
import type { Soundings } from '../depths/soundings.js';
import { soundingUncertainty } from '../depths/uncertainty.js';
import { UseError } from '../base/errors.js';
import type { LogObservations } from '../base/observations.js';
import { formatUtc } from '../base/time.js';
import type { Track } from '../depths/track.js';
import { convergenceDeg } from '../geo/bearing.js';
import type { Frame } from '../geo/frame.js';
import { appliedTimes, correctionsOn, motionMount } from './applied-corrections.js';
import { writeMade } from './atomic-file.js';
import { writeCorrectionsFile } from './corrections-file.js';
import { crossingsText, namedCauses, type CrossingGround } from './crossings-file.js';
import { insideFolder, PLACES, placeIn } from './folder.js';
import { magneticVariationDeg } from './magnetic-variation.js';
import { readLineFeatures } from './plan-files.js';
import { soundingNotes } from './sounding-notes.js';
import { soundingsFigures } from './soundings-figures.js';
import { placeSoundings, readSoundingsFile, writeSoundingsFile, type PlacedSoundings } from './soundings-file.js';
import { observationsOf } from './step-observations.js';
import { trackOf } from './step-tracks.js';
import type { Made, Step, StepWork } from './step-graph.js';
import type { JournalEntry } from './summary.js';
import { needFrame } from './survey-frame.js';
import { levelReadings, separationOf, soundOf, waterFilesOf, waterLevelOf } from './water-files.js';
import { depthsBelow } from '../water/depth-datum.js';

/** Figures of the soundings, and the crossings table. */
export const SOUNDING_FIGURES = 'derived/soundings.json';

/** Tracks that meet at less than this do not cross for the comparison [deg]. Common practice. */
const CROSSING_ANGLE_DEG = 45;

/** Heights of the antenna are not joined across more than this: a wave of a small boat takes 2 to 6 s. */
const HEIGHT_GAP_S = 1.1;

/** The soundings: from this run's memory, or from their file. */
export async function soundingsOf(work: StepWork): Promise<PlacedSoundings> {
  const held = work.memory.get('soundings') as PlacedSoundings | undefined;
  if (held !== undefined) return held;
  const soundings = await readSoundingsFile(placeIn(work.folder, PLACES.soundings));
  work.memory.set('soundings', soundings);
  return soundings;
}

/** The standing decisions as records of logs by their place in the manifest. */
export function soundingDecisions(decisions: readonly JournalEntry[], logSha256s: readonly string[]): SoundingDecision[] {
  const byHash = new Map(logSha256s.map((sha256, index) => [sha256.slice(0, 16), index]));
  const found: SoundingDecision[] = [];
  for (const entry of decisions) {
    if (entry.kind !== 'set-aside' && entry.kind !== 'restore') continue;
    for (const { log, recordStart, recordEnd } of entry.soundings) {
      const index = byHash.get(log);
      if (index !== undefined) found.push({ log: index, recordStart, recordEnd, outcome: entry.kind });
    }
  }
  return found;
}

/** Water files that settings name, as places in the folder. */
function waterFiles(work: StepWork): string[] {
  const named = waterFilesOf(work.settings);
  for (const [setting, file] of named) insideFolder(work.folder, file, setting);
  return named.map(([, file]) => file);
}

/** Variation as set, else from the model at the middle of the track. */
function variationOf(work: StepWork, xM: number, yM: number, frame: Frame, timeS: number): number | null {
  const { variationDeg } = work.settings.heading;
  if (variationDeg !== null) return variationDeg;
  const [latDeg, lonDeg] = frame.toGeographic(xM, yM);
  return magneticVariationDeg(latDeg, lonDeg, timeS);
}

/** Which line each sounding was run on, and the runs crossings are looked for between. */
async function runsOf(work: StepWork, frame: Frame, soundings: Soundings): Promise<{ line: Int32Array; runs: Int32Array }> {
  const planned = await readLineFeatures(work.folder);
  if (planned !== null && planned.length > 0) {
    const { spacingM } = work.settings.lines;
    const lines = planned.map(({ number, lonLat }) => {
      const path = new Float64Array(lonLat.length);
      for (let i = 0; i < lonLat.length; i += 2) [path[i], path[i + 1]] = frame.toFrame(lonLat[i + 1] as number, lonLat[i] as number);
      return { number, path };
    });
    const line = assignLines(soundings, lines, { corridorM: Math.max(2, spacingM / 2), headingDeg: 30, minRunM: Math.min(20, Math.max(5, spacingM)) });
    // Lines may belong to another area than the tracks; then the tracks' own straight runs are compared.
    if (line.some((number) => number >= 0)) return { line, runs: line };
  }
  return { line: soundings.line, runs: straightRuns(soundings, { headingDeg: 30, minRunM: 20 }).run };
}

/** @throws UseError where there are depths and positions, but never at the same time */
function refuseNoOverlap(observations: readonly LogObservations[], track: Track, time: StepWork['settings']['time']): void {
  let pingStart = Infinity;
  let pingEnd = -Infinity;
  for (const { pings } of observations) {
    for (let i = 0; i < pings.n; i++) {
      const timeS = (pings.timeS[i] as number) + time.loggerOffsetS;
      if (timeS < pingStart) pingStart = timeS;
      if (timeS > pingEnd) pingEnd = timeS;
    }
  }
  if (track.n === 0 || !(pingEnd >= pingStart)) return;
  const trackStart = track.timeS[0] as number;
  const trackEnd = track.timeS[track.n - 1] as number;
  if (pingStart <= trackEnd && pingEnd >= trackStart) return;
  throw new UseError(
    `depths and positions do not overlap in time: depths run ${formatUtc(pingStart)} to ${formatUtc(pingEnd)}, positions ${formatUtc(trackStart)} to ${formatUtc(trackEnd)}; take in the log that is missing, or set the clock offset (time.loggerOffsetS)`,
    { path: 'time.loggerOffsetS' },
  );
}

async function write(folder: string, place: string, text: string): Promise<{ sha256: string; bytes: number }> {
  return writeMade(placeIn(folder, place), text);
}

export const stepSoundings: Step = {
  name: 'soundings',
  version: 12,
  after: ['tracks'],
  settings: ['time', 'gnss', 'sounder', 'heading', 'water', 'uncertainty', 'corrections', 'motion', 'cleaning', 'lines.spacingM', 'frame', 'order', 'datum'],
  files: (work) => [PLACES.lines, ...waterFiles(work)],
  extra: (work) => JSON.stringify([work.logs.map((log) => log.sha256), soundingDecisions(work.decisions, work.logs.map((log) => log.sha256))]),
  async run(work): Promise<Made> {
    const { settings } = work;
    const frame = await needFrame(work.folder, settings, work.logs);
    const { sounder, gnss, time, heading, uncertainty, cleaning } = settings;
    const observations = await observationsOf(work);
    const track = await trackOf(work);
    refuseNoOverlap(observations, track, time);
    const level = await waterLevelOf(work.folder, settings, frame);
    const separation = await separationOf(work.folder, settings, frame);
    const middle = track.n >> 1;
    const [xM, yM] = track.n > 0 ? [track.xM[middle] as number, track.yM[middle] as number] : [500_000, 0];
    const sound = await soundOf(work.folder, settings, frame, frame.toGeographic(xM, yM)[0]);
    const on = correctionsOn(settings);
    const { latencyS, antenna } = gnss;
    const fixLogs = observations.map(({ fixes }, log) => ({ log, fixes }));
    const heightGate = { qualities: settings.water.level.kind === 'gnss-height' ? settings.water.level.qualities : [], addS: appliedTimes(settings).loggerOffsetS - appliedTimes(settings).latencyS, maxGapS: Math.min(gnss.maxGapS, HEIGHT_GAP_S) };
    const reduction = reduceSoundings(
      observations.map(({ pings, series }, log) => ({ log, pings, ...series })),
      track,
      sound === null ? null : sound.field,
      level,
      {
        loggerOffsetS: time.loggerOffsetS,
        depthLatencyS: sounder.latencyS,
        gnssLatencyS: latencyS,
        maxGapS: gnss.maxGapS,
        antenna,
        transducer: sounder.transducer,
        motion: motionMount(settings),
        draftM: sounder.draftM,
        squatM: sounder.squatM,
        squatCurve: sounder.squatCurve,
        soundSpeedSetMps: sounder.soundSpeedSetMps,
        beamWidthDeg: sounder.beamWidthDeg,
        heading: { source: heading.source, offsetDeg: heading.offsetDeg, variationDeg: variationOf(work, xM, yM, frame, track.n > 0 ? (track.timeS[middle] as number) : NaN) },
        convergenceDeg: convergenceDeg(frame, xM, yM),
        on,
        heights: separation === null ? null : { antennaAt: (timeS) => antennaHeightsAt(fixLogs, timeS, heightGate), datumAt: separation },
      },
    );
    work.context.progress?.('soundings', 0.3, 'cleaning');
    const { reason: ruleReason, alongSlope, alongBend } = cleanSoundings(reduction, { ...cleaning, minDepthM: sounder.minDepthM, maxDepthM: sounder.maxDepthM, beamWidthDeg: sounder.beamWidthDeg, draftM: sounder.draftM });
    const slopes = bottomSlopes(reduction.soundings, ruleReason, alongSlope);
    const { tvuM, thuM } = soundingUncertainty(reduction, slopes, {
      terms: uncertainty,
      headingSigmaDeg: heading.sigmaDeg,
      antenna: gnss.antenna,
      transducer: sounder.transducer,
      beamWidthDeg: sounder.beamWidthDeg,
      soundSpeedMps: sound === null ? sounder.soundSpeedSetMps : sound.field.speedAt(sounder.draftM),
      slopeCorrected: sounder.slopeCorrection,
      bend: alongBend,
      motionSensor: settings.motion.sensor,
    });
    const { depthM: underBeam, addedM } = correctForSlope(reduction, slopes, sounder.beamWidthDeg);
    const depthM = sounder.slopeCorrection ? underBeam : reduction.soundings.depthM;
    const curves: CorrectionCurves = { ...reduction.corrections, slopeM: addedM };
    const ruled: Soundings = { ...reduction.soundings, depthM, ruleReason, reason: ruleReason, tvuM, thuM };
    const reason = applyDecisions(ruled, soundingDecisions(work.decisions, work.logs.map((log) => log.sha256)));
    work.context.progress?.('soundings', 0.6, 'lines and crossings');
    const { line, runs } = await runsOf(work, frame, ruled);
    const soundings = placeSoundings({ ...ruled, reason, line }, frame);
    const crossings = findCrossings({ ...soundings, line: runs }, { minAngleDeg: CROSSING_ANGLE_DEG, maxStepM: 5 });
    work.memory.set('soundings', soundings);
    const ground: CrossingGround = {
      crossings,
      soundings,
      runs,
      basis: reduction.basis,
      slopes,
      order: settings.order,
      levelAt: settings.water.level.kind === 'none' || settings.water.level.kind === 'constant' ? null : (timeS) => level.levelsAt(timeS),
      levelSwingM: Math.hypot(uncertainty.waterLevelM, uncertainty.zoningM),
      datum: depthsBelow(settings),
    };
    const causes = namedCauses(ground);
    const corrections = correctionFigures(curves, on, soundings.reason);
    const notes = [...(sound?.notes ?? []), ...soundingNotes({ observations, logNames: work.logs.map((log) => log.file), soundings, curves, reduction, crossings, slopes, runs, levelSource: level.source ?? 'survey.json', levelReadings: await levelReadings(work.folder, settings), casts: sound?.field.casts ?? [], draftM: sounder.draftM })];
    const figures = soundingsFigures(soundings, crossings.count === 0 ? null : { count: crossings.count, meanM: crossings.meanM, p95M: crossings.p95M, causes: causes.map(({ words }) => words) }, { corrections, notes });
    work.context.progress?.('soundings', 0.8, 'writing');
    return {
      [PLACES.soundings]: await writeSoundingsFile(placeIn(work.folder, PLACES.soundings), soundings),
      [PLACES.corrections]: await writeCorrectionsFile(placeIn(work.folder, PLACES.corrections), soundings.timeS, curves, on, reduction.fromHeights),
      [PLACES.crossings]: await write(work.folder, PLACES.crossings, crossingsText(ground, causes, frame)),
      [SOUNDING_FIGURES]: await write(work.folder, SOUNDING_FIGURES, `${JSON.stringify(figures, null, 2)}\n`),
    };
  },
};
