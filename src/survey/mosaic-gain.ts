import { quantile } from '../base/statistics.js';
import { SIDES, type Side } from '../base/sonar.js';
import { median } from '../base/robust.js';
import { throwIfCancelled } from '../base/progress.js';
import { absorptionDbPerKm } from '../water/absorption.js';
import { angleLevels, learnGain, type AngleLevels } from '../imagery/learn-gain.js';
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

/** Learns the gain from runs of pings spread over the pieces of the mosaic. */
export async function learnSurveyGain(work: StepWork, source: PingSource, pings: PingTiming, heightM: Float32Array, track: SonarTrack, pieces: readonly MosaicPiece[], options: { readonly soundSpeedMps: number; readonly spreadingDb: number; readonly absorptionDbPerKm: number }): Promise<LearnedGain> {
  const total = pieces.reduce((sum, { start, end }) => sum + end - start, 0);
  const every = Math.max(RUN, total / RUNS);
  const floor = { heightM, portSlope: track.portSlope, starboardSlope: track.starboardSlope };
  const reader = new PingReader(source);
  const levels: AngleLevels[] = [];
  try {
    let passed = 0;
    let next = 0;
    for (const { start, end } of pieces) {
      for (; next < passed + end - start; next += every) {
        throwIfCancelled(work.context.signal);
        const from = start + Math.floor(next - passed);
        const to = Math.min(end, from + RUN);
        levels.push(angleLevels(await reader.read(from, to), pings, floor, from, 0, to - from, options));
      }
      passed += end - start;
    }
  } finally {
    await reader.close();
  }
  return learnGain(levels, options);
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

/** How strong the stripes were: the 90 % quantile of what pings were off their neighbours [dB]. */
export function stripeStrengthDb(port: Float32Array, starboard: Float32Array, used: Uint8Array): number {
  const off: number[] = [];
  const step = Math.max(1, Math.floor(used.length / 50_000));
  for (let row = 0; row < used.length; row += step) {
    if (used[row] === 1) off.push(...[port[row]!, starboard[row]!].filter((each) => !Number.isNaN(each)).map(Math.abs));
  }
  return off.length === 0 ? 0 : quantile(off, 0.9);
}

/** Pings that were lost on both sides: too faint, or drowned. */
export function lostPings(port: Float32Array, starboard: Float32Array, used: Uint8Array): number {
  let lost = 0;
  for (let row = 0; row < used.length; row++) if (used[row] === 1 && Number.isNaN(port[row]!) && Number.isNaN(starboard[row]!)) lost++;
  return lost;
}
