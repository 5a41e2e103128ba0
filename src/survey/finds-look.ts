import { throwIfCancelled } from '../base/progress.js';
import type { Side } from '../base/sonar.js';
import { readOffByHand } from '../finds/by-hand.js';
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

/** A sighting with its picture; null where none could be made. */
export interface SeenSighting {
  readonly sighting: Sighting;
  readonly chip: Chip | null;
}

export interface Looked {
  readonly seen: readonly SeenSighting[];
  /** Floor looked over, each side of each line for itself [m2]. */
  readonly lookedM2: number;
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

/** What reads and corrects stretches of the pictures, and keeps what is seen in them with its chip. */
function eyeOf(ground: LookGround) {
  const { work, pings, track, used, heightM, soundSpeedMps } = ground;
  let rangeM = 0;
  for (let row = 0; row < pings.n; row++) if (used[row] === 1) rangeM = Math.max(rangeM, pingRangeM(pings, row, soundSpeedMps));
  if (rangeM === 0) rangeM = 50;
  const binning = { soundSpeedMps, binM: binWidthM(pings, soundSpeedMps), maxGroundM: work.settings.imagery.maxRangeShare * rangeM };
  const corrector = stretchCorrector(pings, { heightM }, track, ground.gain, binning);
  const reader = new PingReader(ground.source);
  const seen: SeenSighting[] = [];
  return {
    seen,
    binning,
    stretchAt: async (from: number, to: number): Promise<CorrectedStretch> => corrector(await reader.read(from, to, work.context.signal), from),
    keep: (sighting: Sighting, corrected: CorrectedStretch, rowStart: number, use: (row: number) => boolean): void => {
      seen.push({ sighting, chip: chipFor(sighting, ground, corrected, rowStart, use) });
    },
    close: (): Promise<void> => reader.close(),
  };
}

/** Looks all runs over for candidates, in the order of the runs. */
export async function lookAll(ground: LookGround, runs: readonly PingRun[], options: DetectOptions): Promise<Looked> {
  const { work, pings, track, used, heightM } = ground;
  const eye = eyeOf(ground);
  const total = runs.reduce((sum, { start, end }) => sum + end - start, 0);
  let [done, lookedM2] = [0, 0];
  const use = (row: number): boolean => used[row] === 1;
  try {
    for (const { start, end, pass } of runs) {
      for (let core = start; core < end; core += CORE) {
        throwIfCancelled(work.context.signal);
        const coreEnd = Math.min(end, core + CORE);
        const [from, to] = [Math.max(start, core - STRETCH_MARGIN), Math.min(end, coreEnd + STRETCH_MARGIN)];
        const corrected = await eye.stretchAt(from, to);
        const stretch: Stretch = { corrected, rowStart: from, coreStart: core, coreEnd, log: work.logs[pings.log[core]!]!.sha256.slice(0, 16), record: pings.record, heightM, heightSigmaM: ground.heightSigmaM, track, use, pass, sampling: (side, row) => samplingOf(pings, { heightM }, track, eye.binning, corrected.width, from, side, row) };
        for (const sighting of lookOver(stretch, options)) eye.keep(sighting, corrected, from, use);
        lookedM2 += lookedIn(stretch);
        done += coreEnd - core;
        work.context.progress?.('sightings', (0.9 * done) / Math.max(1, total), `${done} of ${total} pings, ${eye.seen.length} candidates`);
        await work.context.pause?.();
      }
    }
    return { seen: eye.seen, lookedM2 };
  } finally {
    await eye.close();
  }
}

/** Places what was marked by hand, in the order it was marked; `lost` says in words what keeps a mark from being placed. */
export async function placeMarks(ground: LookGround, runs: readonly PingRun[], acts: readonly StandingAct[], beamDeg: number): Promise<{ readonly seen: readonly SeenSighting[]; readonly lost: readonly string[] }> {
  const { pings } = ground;
  const eye = eyeOf(ground);
  const lost: string[] = [];
  try {
    for (const act of acts) {
      if (act.action !== 'mark') continue;
      const placed = placeMark(act.mark, markId(act.number), ground, runs, beamDeg);
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
      eye.keep(placed.sighting, await eye.stretchAt(from, to), from, () => true);
    }
    return { seen: eye.seen, lost };
  } finally {
    await eye.close();
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
  if (!Number.isFinite(there.xM + there.yM + there.gridHeadingDeg)) return 'has no place: the sonar\'s position or heading is not known there';
  const drawn = { side: mark.side, rowStart, rowEnd, slantStartM: mark.slantStartM, slantEndM: mark.slantEndM, shadowEndM: mark.shadowEndM ?? NaN, handM: mark.handM ?? null };
  const read = readOffByHand(drawn, { track, firstEchoM: heightM, heightSigmaM, intervalS: pings.intervalS, soundSpeedMps, beamDeg });
  if (read === null) return 'lies nearer than the floor, or the sonar\'s height is not known there';
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
    read,
    there,
  );
  return { sighting, rowStart, rowEnd };
}
