import { throwIfCancelled } from '../base/progress.js';
import type { Side } from '../base/sonar.js';
import { chipOf, type Chip } from '../finds/chip.js';
import { markId, type FindMark, type StandingAct } from '../finds/decide-finds.js';
import type { DetectOptions } from '../finds/detect.js';
import { lookOver, pictureOf, pingStepM, sonarAt, STRETCH_MARGIN, type Stretch } from '../finds/look-over.js';
import { makeSighting, type Sighting } from '../finds/sighting.js';
import { samplingOf } from '../finds/slant-profile.js';
import { stretchCorrector, type CorrectedStretch } from '../imagery/correct-stretch.js';
import type { SurveyGain } from '../imagery/learned-gain.js';
import { groundRangeM } from '../imagery/slant-range.js';
import type { SonarTrack } from '../imagery/sonar-track.js';
import { PingReader, type PingSource } from './imagery-jobs.js';
import type { SurveyPings } from './step-pings.js';
import type { StepWork } from './step-graph.js';

/** Pings whose finds are kept, of those read at a time. */
const CORE = 512;
/** A hand and an eye find an edge to so many samples, one sigma (common practice). */
const HAND_SAMPLES = 1.5;
/** Bins no finer than this, and no coarser [m]. */
const LEAST_BIN_M = 0.05;
const MOST_BIN_M = 0.25;

/** A run of pings of one line in one log, rows [start, end), with the passes of its two sides. */
export interface PingRun {
  readonly start: number;
  readonly end: number;
  readonly pass: Readonly<Record<Side, number>>;
}

/** What the pictures are made from. */
export interface LookGround {
  readonly work: StepWork;
  readonly pings: SurveyPings;
  readonly source: PingSource;
  readonly heightM: Float32Array;
  readonly heightSigmaM: Float32Array;
  readonly track: SonarTrack;
  readonly gain: SurveyGain;
  readonly used: Uint8Array;
  readonly soundSpeedMps: number;
}

export interface Looked {
  readonly sightings: readonly Sighting[];
  readonly chips: ReadonlyMap<string, Chip>;
  /** Floor looked over, each side of each line for itself [m2]. */
  readonly lookedM2: number;
  readonly lost: readonly string[];
}

/** Runs of used pings of one line in one log without a break longer than `breakS`; rows that are not used may lie within. */
export function pingRuns({ n, timeS, line }: Pick<SonarTrack, 'n' | 'timeS' | 'line'>, used: Uint8Array, log: ArrayLike<number>, breakS: number): PingRun[] {
  const runs: PingRun[] = [];
  for (let start = 0; start < n; ) {
    if (used[start] === 0) {
      start++;
      continue;
    }
    let last = start;
    for (let row = start + 1; row < n && log[row] === log[start] && line[row] === line[start]; row++) {
      if (used[row] === 0) continue;
      if (timeS[row]! - timeS[last]! > breakS) break;
      last = row;
    }
    runs.push({ start, end: last + 1, pass: { port: 2 * runs.length, starboard: 2 * runs.length + 1 } });
    start = last + 1;
  }
  return runs;
}

/** Width of a ground bin: a sample's, within limits, in whole centimetres [m]. */
function binWidthM({ n, intervalS }: SurveyPings, soundSpeedMps: number): number {
  let least = Infinity;
  for (let row = 0; row < n; row++) if (intervalS[row]! > 0 && intervalS[row]! < least) least = intervalS[row]!;
  return Math.min(MOST_BIN_M, Math.max(LEAST_BIN_M, Math.ceil((50 * soundSpeedMps * least) - 1e-6) / 100));
}

/** Slant range a ping was heard to [m]. */
export function pingRangeM({ delayS, intervalS, portSamples, starboardSamples }: SurveyPings, row: number, soundSpeedMps: number): number {
  return (soundSpeedMps / 2) * (delayS[row]! + intervalS[row]! * Math.max(portSamples[row]!, starboardSamples[row]!));
}

/** Looks all runs over and places what was marked by hand, in the order of the runs. */
export async function lookAll(ground: LookGround, runs: readonly PingRun[], options: DetectOptions, propose: boolean, acts: readonly StandingAct[]): Promise<Looked> {
  const { work, pings, track, used, heightM, soundSpeedMps } = ground;
  let rangeM = 0;
  for (let row = 0; row < pings.n; row++) if (used[row] === 1) rangeM = Math.max(rangeM, pingRangeM(pings, row, soundSpeedMps));
  if (rangeM === 0) rangeM = 50;
  const binning = { soundSpeedMps, binM: binWidthM(pings, soundSpeedMps), maxGroundM: work.settings.imagery.maxRangeShare * rangeM };
  const corrector = stretchCorrector(pings, { heightM }, track, ground.gain, binning);
  const reader = new PingReader(ground.source);
  const sightings: Sighting[] = [];
  const chips = new Map<string, Chip>();
  const total = runs.reduce((sum, { start, end }) => sum + end - start, 0);
  let [done, lookedM2] = [0, 0];
  const stretchAt = async (from: number, to: number): Promise<CorrectedStretch> => corrector(await reader.read(from, to, work.context.signal), from);
  const use = (row: number): boolean => used[row] === 1;
  const keep = (sighting: Sighting, corrected: CorrectedStretch, rowStart: number, all: (row: number) => boolean): void => {
    sightings.push(sighting);
    const chip = chipFor(sighting, ground, corrected, rowStart, all);
    if (chip !== null) chips.set(sighting.id, chip);
  };
  try {
    for (const { start, end, pass } of propose ? runs : []) {
      for (let core = start; core < end; core += CORE) {
        throwIfCancelled(work.context.signal);
        const coreEnd = Math.min(end, core + CORE);
        const [from, to] = [Math.max(start, core - STRETCH_MARGIN), Math.min(end, coreEnd + STRETCH_MARGIN)];
        const corrected = await stretchAt(from, to);
        const stretch: Stretch = { corrected, rowStart: from, coreStart: core, coreEnd, log: work.logs[pings.log[core]!]!.sha256.slice(0, 16), record: pings.record, heightM, heightSigmaM: ground.heightSigmaM, track, use, pass, sampling: (side, row) => samplingOf(pings, { heightM }, track, binning, corrected.width, from, side, row) };
        for (const sighting of lookOver(stretch, options)) keep(sighting, corrected, from, use);
        lookedM2 += lookedIn(stretch);
        done += coreEnd - core;
        work.context.progress?.('finds', (0.9 * done) / Math.max(1, total), `${done} of ${total} pings, ${sightings.length} candidates`);
        await work.context.pause?.();
      }
    }
    const lost: string[] = [];
    for (const act of acts) {
      if (act.action !== 'mark') continue;
      const placed = placeMark(act.mark, markId(act.number), ground, runs, options.beamDeg);
      if (typeof placed === 'string') {
        lost.push(`decision ${act.number}: a find marked by hand ${placed}`);
        continue;
      }
      const { log } = pings;
      let [from, to] = [placed.rowStart, placed.rowEnd];
      for (let k = 0; k < STRETCH_MARGIN; k++) {
        if (from > 0 && log[from - 1] === log[placed.rowStart]) from--;
        if (to < pings.n && log[to] === log[placed.rowStart]) to++;
      }
      keep(placed.sighting, await stretchAt(from, to), from, () => true);
    }
    return { sightings, chips, lookedM2, lost };
  } finally {
    await reader.close();
  }
}

/** Floor of a stretch's core that has a level, both sides [m2]. */
function lookedIn({ corrected, rowStart, coreStart, coreEnd, use, track }: Stretch): number {
  const stepM = pingStepM(track, rowStart, rowStart + corrected.n);
  let bins = 0;
  for (let row = coreStart; row < coreEnd; row++) {
    if (!use(row)) continue;
    const base = (row - rowStart) * corrected.width;
    for (let bin = 0; bin < corrected.width; bin++) bins += (corrected.port[base + bin] === corrected.port[base + bin] ? 1 : 0) + (corrected.starboard[base + bin] === corrected.starboard[base + bin] ? 1 : 0);
  }
  return Number.isFinite(stepM) ? bins * corrected.binM * stepM : 0;
}

/** The picture of a sighting out of its stretch; null where it lies outside it. */
function chipFor(sighting: Sighting, { pings, track, heightM, work }: LookGround, corrected: CorrectedStretch, rowStart: number, use: (row: number) => boolean): Chip | null {
  const picture = pictureOf({ corrected, rowStart, heightM, track, use }, sighting.side);
  const rows: number[] = [];
  for (let ping = 0; ping < corrected.n; ping++) {
    const row = rowStart + ping;
    if (work.logs[pings.log[row]!]!.sha256.startsWith(sighting.log) && pings.record[row]! >= sighting.recordStart && pings.record[row]! < sighting.recordEnd) rows.push(ping);
  }
  const middle = rows[rows.length >> 1];
  if (middle === undefined || !Number.isFinite(picture.stepM)) return null;
  const row = rowStart + middle;
  const slope = (sighting.side === 'port' ? track.portSlope : track.starboardSlope)[row] || 0;
  const binOf = (slantM: number): number => groundRangeM(slantM, heightM[row]!, slope) / corrected.binM;
  const binStart = binOf(sighting.slantStartM);
  const end = binOf(Number.isNaN(sighting.shadowEndM) ? sighting.slantEndM : sighting.shadowEndM);
  if (!Number.isFinite(binStart + end)) return null;
  return chipOf(picture, { binStart, shadowEnd: end, pingStart: rows[0]!, pingEnd: rows[rows.length - 1]! + 1 });
}

/** A mark by hand as a sighting, with its rows; in words what keeps it from being placed. */
function placeMark(mark: FindMark, id: string, { work, pings, track, heightM, heightSigmaM, soundSpeedMps }: LookGround, runs: readonly PingRun[], beamDeg: number): { sighting: Sighting; rowStart: number; rowEnd: number } | string {
  const log = work.logs.findIndex(({ sha256 }) => sha256.startsWith(mark.log));
  if (log < 0) return 'is in a log that is not in the survey any more';
  let [rowStart, rowEnd] = [-1, -1];
  for (let row = 0; row < pings.n; row++) {
    if (pings.log[row] !== log || pings.record[row]! < mark.recordStart || pings.record[row]! >= mark.recordEnd) continue;
    if (rowStart < 0) rowStart = row;
    rowEnd = row + 1;
  }
  if (rowStart < 0) return 'is at pings that its log does not have';
  const middle = (rowStart + rowEnd) >> 1;
  const there = sonarAt(track, (rowStart + rowEnd - 1) / 2);
  const stepM = pingStepM(track, Math.max(0, middle - 12), Math.min(track.n, middle + 13));
  if (!Number.isFinite(there.xM + there.yM + there.gridHeadingDeg + stepM)) return 'has no place: the sonar\'s position or heading is not known there';
  const slope = (mark.side === 'port' ? track.portSlope : track.starboardSlope)[middle] || 0;
  const ground = groundRangeM(mark.slantEndM, heightM[middle]!, slope);
  const thereM = heightM[middle]! - slope * (Number.isFinite(ground) ? ground : 0);
  if (!(thereM > 0) || !(mark.slantEndM > thereM)) return 'lies nearer than the floor, or the sonar\'s height is not known there';
  const sampleM = (soundSpeedMps / 2) * pings.intervalS[middle]!;
  const edgeSigmaM = HAND_SAMPLES * sampleM;
  const run = runs.find(({ start, end }) => middle >= start && middle < end);
  const sighting = makeSighting(
    {
      id, log: mark.log, side: mark.side,
      record: pings.record[middle]!,
      timeS: track.timeS[middle]!,
      line: track.line[middle]!,
      pass: run === undefined ? -1 - middle : run.pass[mark.side],
      byHand: true,
      recordStart: mark.recordStart, recordEnd: mark.recordEnd,
      score: NaN, falsePerHa: NaN,
      why: 'marked by hand',
    },
    {
      slantStartM: mark.slantStartM, slantEndM: mark.slantEndM, shadowEndM: mark.shadowEndM ?? NaN,
      startSigmaM: edgeSigmaM, endSigmaM: edgeSigmaM, shadowSigmaM: edgeSigmaM,
      // A stroke touches one ping more than it is long, whatever its length.
      alongM: Math.max(1, rowEnd - rowStart - 1) * stepM,
      alongSigmaM: Math.SQRT2 * HAND_SAMPLES * stepM,
      beamM: (mark.slantEndM * beamDeg * Math.PI) / 180,
      sonarHeightM: thereM,
      sonarHeightSigmaM: heightSigmaM[middle]! || 0.2,
    },
    there,
  );
  return { sighting, rowStart, rowEnd };
}
