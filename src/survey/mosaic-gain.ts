import { quantile } from '../base/statistics.js';
import { SIDES, type Side } from '../base/sonar.js';
import { median } from '../base/robust.js';
import { throwIfCancelled } from '../base/progress.js';
import { absorptionDbPerKm } from '../water/absorption.js';
import { formatDifference } from '../report/figures.js';
import { angleLevels, type AngleLevels } from '../imagery/learn-gain.js';
import { learnScaledGain, usualOffDb } from '../imagery/level-scales.js';
import type { LearnedGain } from '../imagery/learned-gain.js';
import type { PingTiming } from '../imagery/bottom-evidence.js';
import type { SonarTrack } from '../imagery/sonar-track.js';
import type { MosaicPiece } from '../imagery/mosaic-piece.js';
import { PingReader, type PingSource } from './imagery-jobs.js';
import type { SurveyPings } from './step-pings.js';
import type { StepWork } from './step-graph.js';

/** The gain is learned from so many runs of so many pings, spread over the survey. */
const RUNS = 96;
const RUN = 24;

/** Absorption of the sonar's sound, one way, as set or by its frequency and the water; 0 with a note where the frequency is not known. */
export function sonarAbsorption(work: StepWork, pings: SurveyPings, heightM: Float32Array): { dbPerKm: number; note: string | null } {
  const { absorptionDbPerKm: set, temperatureC, salinity } = work.settings.imagery;
  if (set !== null) return { dbPerKm: set, note: null };
  const known = Float64Array.from(pings.frequencyHz).filter((hz) => hz > 1000);
  if (known.length === 0) return { dbPerKm: 0, note: 'The sonar\'s frequency is not in its log, so absorption is left to the gain learned from the pings; set imagery.absorptionDbPerKm where you know it.' };
  const heights = Float64Array.from(heightM).filter((height) => height > 0);
  return { dbPerKm: absorptionDbPerKm(median(known) / 1000, temperatureC, salinity, heights.length === 0 ? 0 : median(heights)), note: null };
}

/** Runs of a scale of level at the least, so that a short log has its share. */
const RUNS_OF_SCALE = 8;
/** A log that is this much louder or fainter than the others of its scale wants an explanation [dB]. Common practice. */
const OTHER_LEVEL_DB = 6;

/** The scale of level of each log of the source, from 0: one for all, one a form of record, or one a log. */
export function levelScales({ logs }: PingSource, rule: StepWork['settings']['imagery']['scales']): number[] {
  if (rule === 'one') return logs.map(() => 0);
  if (rule === 'by-log') return logs.map((_, at) => at);
  const forms = [...new Set(logs.map(({ entry }) => entry.kind))];
  return logs.map(({ entry }) => forms.indexOf(entry.kind));
}

/** The gain of a survey, what each ping is louder than it by the scale of its log, and what to say of it. */
export interface SurveyLevels {
  readonly learned: LearnedGain;
  /** [dB]. Shape [n]. */
  readonly scaleDb: Float32Array;
  readonly notes: readonly string[];
}

/** Learns the gain from runs of pings spread over the pieces of the mosaic. */
export async function learnSurveyGain(work: StepWork, source: PingSource, pings: PingTiming, heightM: Float32Array, track: SonarTrack, pieces: readonly MosaicPiece[], options: { readonly soundSpeedMps: number; readonly spreadingDb: number; readonly absorptionDbPerKm: number }): Promise<SurveyLevels> {
  const { logs } = source;
  const logAt = (row: number): number => logs.findIndex(({ rowStart, rowEnd }) => row >= rowStart && row < rowEnd);
  const scaleOfLog = levelScales(source, work.settings.imagery.scales);
  const scales = Math.max(0, ...scaleOfLog) + 1;
  const floor = { heightM, portSlope: track.portSlope, starboardSlope: track.starboardSlope };
  const reader = new PingReader(source);
  const total = pieces.reduce((sum, { start, end }) => sum + end - start, 0);
  const levels: AngleLevels[] = [];
  const logOf: number[] = [];
  try {
    for (let scale = 0; scale < scales; scale++) {
      const own = pieces.filter(({ start }) => scaleOfLog[logAt(start)] === scale);
      const ownTotal = own.reduce((sum, { start, end }) => sum + end - start, 0);
      const every = Math.max(RUN, Math.min(total / RUNS, ownTotal / RUNS_OF_SCALE));
      let passed = 0;
      let next = 0;
      for (const { start, end } of own) {
        for (; next < passed + end - start; next += every) {
          throwIfCancelled(work.context.signal);
          const from = start + Math.floor(next - passed);
          const to = Math.min(end, from + RUN);
          levels.push(angleLevels(await reader.read(from, to), pings, floor, from, 0, to - from, options));
          logOf.push(logAt(from));
        }
        passed += end - start;
      }
    }
  } finally {
    await reader.close();
  }
  const { gain, scaleDb } = learnScaledGain(levels, logOf.map((log) => scaleOfLog[log]!), scales, options);
  const byRow = new Float32Array(heightM.length);
  logs.forEach(({ rowStart, rowEnd }, log) => byRow.fill(scaleDb[scaleOfLog[log]!]!, rowStart, rowEnd));
  return { learned: gain, scaleDb: byRow, notes: levelNotes(source, scaleOfLog, scaleDb, (log) => usualOffDb(levels.filter((_, i) => logOf[i] === log), gain) - scaleDb[scaleOfLog[log]!]!) };
}

/** Scales that were shifted, and logs of one scale that are not alike. */
function levelNotes({ logs }: PingSource, scaleOfLog: readonly number[], scaleDb: Float64Array, offDb: (log: number) => number): string[] {
  const name = (log: number): string => logs[log]!.entry.file;
  const notes: string[] = [];
  if (scaleDb.length > 1) {
    const told = [...scaleDb].map((db, scale) => `${logs.flatMap((_, log) => (scaleOfLog[log] === scale ? [name(log)] : [])).join(', ')} by ${formatDifference(db, 1).replace(' m', ' dB')}`);
    notes.push(`Levels of records that have no common scale are shifted so that the floor is as loud in all of them at the median: ${told.join('; ')}. What their floors differ by over all does not show; imagery.scales says which logs have one scale.`);
  }
  const off = logs.map((_, log) => offDb(log));
  off.forEach((db, log) => {
    if (Math.abs(db) >= OTHER_LEVEL_DB && logs.length > 1) notes.push(`${name(log)} is ${Math.abs(db).toFixed(1)} dB ${db > 0 ? 'louder' : 'fainter'} over all than the pictures of this survey are: another floor, or another gain was set on the sonar; where it was the gain, --set imagery.scales=by-log.`);
  });
  return notes;
}

/** Sides nothing could be learned of: they hold no echo of the floor. */
export function silentSides({ angleDb }: LearnedGain): Side[] {
  return SIDES.filter((side) => angleDb[side].every((level) => level === 0));
}

/** By how much starboard is louder than port, middle of the angles [dB]; null where only one of them was heard. */
export function starboardLouderDb(learned: LearnedGain): number | null {
  if (silentSides(learned).length > 0) return null;
  const { angleDb } = learned;
  return median(angleDb.starboard.map((level, bin) => level - angleDb.port[bin]!));
}

/** How strong the stripes were: the 90 % quantile of what pings were off their neighbours, the scale of their log taken off [dB]. */
export function stripeStrengthDb(port: Float32Array, starboard: Float32Array, scaleDb: Float32Array, used: Uint8Array): number {
  const off: number[] = [];
  const step = Math.max(1, Math.floor(used.length / 50_000));
  for (let row = 0; row < used.length; row += step) {
    if (used[row] === 1) off.push(...[port[row]!, starboard[row]!].filter((each) => !Number.isNaN(each)).map((each) => Math.abs(each - scaleDb[row]!)));
  }
  return off.length === 0 ? 0 : quantile(off, 0.9);
}

/** Pings that were lost on both sides: too faint, or drowned. */
export function lostPings(port: Float32Array, starboard: Float32Array, used: Uint8Array): number {
  let lost = 0;
  for (let row = 0; row < used.length; row++) if (used[row] === 1 && Number.isNaN(port[row]!) && Number.isNaN(starboard[row]!)) lost++;
  return lost;
}
