import { SIDES, type Side, type SonarSamples } from '../base/sonar.js';
import type { BottomTrack } from './bottom-track.js';
import type { PingTiming } from './bottom-evidence.js';
import { decibels } from './decibels.js';
import { normaliser, type SurveyGain } from './learned-gain.js';
import { heightBelowM, slantOfGroundM } from './slant-range.js';
import type { SonarTrack } from './sonar-track.js';

/** A stretch of pings as the floor looked: by ground range, levels against the usual return. Port and starboard apart. */
export interface CorrectedStretch {
  /** Pings. */
  readonly n: number;
  /** Columns of the tables: ground bins, from the track outward. */
  readonly width: number;
  readonly binM: number;
  /** Ground range of each bin's middle [m]. Shape [width]. */
  readonly groundM: Float32Array;
  /** Level against the usual return of the floor at that angle [dB]; NaN beyond the ping's own samples and where its height is not known. Shape [n * width]. */
  readonly port: Float32Array;
  readonly starboard: Float32Array;
}

export interface CorrectOptions {
  readonly soundSpeedMps: number;
  /** Width of a ground bin [m]. */
  readonly binM: number;
  /** Ground range the table ends at [m]. */
  readonly maxGroundM: number;
}

/** Heights and slopes are told apart down to this, so that pings over the same floor share their tables. */
const HEIGHT_STEP_M = 0.02;
const SLOPE_STEP = 0.01;
const TABLES_MAX = 512;

/** For one height, slope and timing: which samples make up each ground bin. */
export interface BinSamples {
  /** First sample of each bin, and the end of the last: a fraction rounded up. Shape [width + 1]. */
  readonly sampleStart: Int32Array;
  /** The sample nearest to each bin's middle, for bins narrower than a sample. Shape [width]. */
  readonly sampleAt: Int32Array;
}

/** And how loud the floor usually is there. */
interface GroundTable extends BinSamples {
  readonly usualDb: Float32Array;
}

/** Which samples of one side of a ping make up each ground bin of `correctStretch`, of a width given; null where the ping's height or timing is not known. */
export function samplesOfBins(pings: PingTiming, bottom: Pick<BottomTrack, 'heightM'>, track: Pick<SonarTrack, 'portSlope' | 'starboardSlope'>, { soundSpeedMps, binM }: Pick<CorrectOptions, 'soundSpeedMps' | 'binM'>, row: number, side: Side, width: number): BinSamples | null {
  const { heightSteps, slopeSteps } = stepsAt(bottom, track, row, side);
  const intervalS = pings.intervalS[row]!;
  return heightSteps > 0 && intervalS > 0 ? binSamples(heightSteps, slopeSteps, pings.delayS[row]!, intervalS, soundSpeedMps, binM, width) : null;
}

/** Height and slope under a side of a ping in whole steps; the height 0 where it is not known. */
function stepsAt(bottom: Pick<BottomTrack, 'heightM'>, track: Pick<SonarTrack, 'portSlope' | 'starboardSlope'>, row: number, side: Side): { heightSteps: number; slopeSteps: number } {
  const heightM = heightBelowM(bottom.heightM[row]!, track.portSlope[row]!, track.starboardSlope[row]!);
  const slope = (side === 'port' ? track.portSlope : track.starboardSlope)[row]!;
  return { heightSteps: heightM > 0 ? Math.max(1, Math.round(heightM / HEIGHT_STEP_M)) : 0, slopeSteps: Math.round((slope || 0) / SLOPE_STEP) };
}

function binSamples(heightSteps: number, slopeSteps: number, delayS: number, intervalS: number, soundSpeedMps: number, binM: number, width: number): BinSamples {
  const heightM = heightSteps * HEIGHT_STEP_M;
  const slope = slopeSteps * SLOPE_STEP;
  const sampleStart = new Int32Array(width + 1);
  const sampleAt = new Int32Array(width);
  const sampleOf = (ground: number): number => ((2 * slantOfGroundM(ground, heightM, slope)) / soundSpeedMps - delayS) / intervalS;
  for (let bin = 0; bin <= width; bin++) {
    sampleStart[bin] = Math.max(0, Math.ceil(sampleOf(bin * binM)));
    // As 32-bit floats: as the middles are told to others.
    if (bin < width) sampleAt[bin] = Math.round(sampleOf(Math.fround((bin + 0.5) * binM)));
  }
  return { sampleStart, sampleAt };
}

/**
 * Makes what `correctStretch` needs and keeps its tables from stretch to stretch: use one where many stretches are corrected.
 * The result does not depend on what was corrected before.
 */
export function stretchCorrector(pings: PingTiming, bottom: Pick<BottomTrack, 'heightM'>, track: Pick<SonarTrack, 'portSlope' | 'starboardSlope'>, gain: SurveyGain, options: CorrectOptions): (samples: SonarSamples, rowStart: number) => CorrectedStretch {
  const { soundSpeedMps, binM, maxGroundM } = options;
  if (!(binM > 0) || !(maxGroundM > 0)) throw new RangeError(`binM ${binM}, maxGroundM ${maxGroundM}: expected more than 0`);
  const width = Math.max(1, Math.ceil(maxGroundM / binM - 1e-9));
  const groundM = Float32Array.from({ length: width }, (_, bin) => (bin + 0.5) * binM);
  const tables: Record<Side, Map<string, GroundTable>> = { port: new Map(), starboard: new Map() };
  const usual = { port: normaliser(gain, 'port'), starboard: normaliser(gain, 'starboard') };

  function tableFor(side: Side, heightSteps: number, slopeSteps: number, delayS: number, intervalS: number): GroundTable {
    const key = `${heightSteps} ${slopeSteps} ${delayS} ${intervalS}`;
    const held = tables[side].get(key);
    if (held !== undefined) return held;
    const heightM = heightSteps * HEIGHT_STEP_M;
    const slope = slopeSteps * SLOPE_STEP;
    const planeM = heightM / Math.sqrt(1 + slope * slope);
    const usualDb = new Float32Array(width);
    for (let bin = 0; bin < width; bin++) {
      const slant = slantOfGroundM(groundM[bin]!, heightM, slope);
      const cot = Math.sqrt(Math.max(0, (slant * slant) / (planeM * planeM) - 1));
      usualDb[bin] = usual[side](slant, cot);
      // Before the foot of the perpendicular on a rise, the echo of a further place comes first.
      if (slope > 0 && groundM[bin]! < (slope * heightM) / (1 + slope * slope)) usualDb[bin] = NaN;
    }
    const table = { ...binSamples(heightSteps, slopeSteps, delayS, intervalS, soundSpeedMps, binM, width), usualDb };
    if (tables[side].size >= TABLES_MAX) tables[side].delete(tables[side].keys().next().value as string);
    tables[side].set(key, table);
    return table;
  }

  function correctSide(samples: SonarSamples, rowStart: number, side: Side): Float32Array {
    const levels = new Float32Array(samples.n * width).fill(NaN);
    const values = samples[side];
    const counts = side === 'port' ? pings.portSamples : pings.starboardSamples;
    const pingDb = side === 'port' ? gain.portPingDb : gain.starboardPingDb;
    for (let ping = 0; ping < samples.n; ping++) {
      const row = rowStart + ping;
      const { heightSteps, slopeSteps } = stepsAt(bottom, track, row, side);
      const n = Math.min(counts[row]!, samples.width);
      const intervalS = pings.intervalS[row]!;
      if (heightSteps === 0 || n === 0 || !(intervalS > 0)) continue;
      const { sampleStart, sampleAt, usualDb } = tableFor(side, heightSteps, slopeSteps, pings.delayS[row]!, intervalS);
      const offDb = pingDb[row]!;
      const base = ping * samples.width;
      const out = ping * width;
      for (let bin = 0; bin < width; bin++) {
        const start = sampleStart[bin]!;
        const end = sampleStart[bin + 1]!;
        let mean: number;
        if (end > start) {
          if (end > n) break;
          let sum = 0;
          for (let i = start; i < end; i++) sum += values[base + i]!;
          mean = sum / (end - start);
        } else {
          const at = sampleAt[bin]!;
          if (at >= n) break;
          mean = at < 0 ? NaN : values[base + at]!;
        }
        // Silence is as dark as a level can be, not missing.
        if (mean >= 0) levels[out + bin] = mean > FAINTEST ? decibels(mean) - usualDb[bin]! - offDb : Number.isNaN(usualDb[bin]!) ? NaN : SILENT_DB;
      }
    }
    return levels;
  }

  return (samples, rowStart) => {
    const [port, starboard] = SIDES.map((side) => correctSide(samples, rowStart, side));
    return { n: samples.n, width, binM, groundM, port: port!, starboard: starboard! };
  };
}

/** Level of an echo of amplitude 0 [dB]. */
const SILENT_DB = -60;
/** Fainter is silence: the smallest normal number of 32 bits is 1e-38. */
const FAINTEST = 1e-30;

/**
 * A stretch of pings as the floor looked: water column removed, slant range laid onto the ground with the floor's height and
 * slope, levels against the learned gain. The mosaic, the waterfall and the search for finds all see this picture.
 *
 * Amplitudes of the samples that fall into a ground bin are averaged; where a bin is narrower than a sample the nearest is taken.
 *
 * @param rowStart row of the stretch's first ping in `pings`, `bottom`, `track` and the ping columns of `gain`
 * @throws RangeError for a bin or a range that is not positive
 */
export function correctStretch(samples: SonarSamples, rowStart: number, pings: PingTiming, bottom: Pick<BottomTrack, 'heightM'>, track: Pick<SonarTrack, 'portSlope' | 'starboardSlope'>, gain: SurveyGain, options: CorrectOptions): CorrectedStretch {
  return stretchCorrector(pings, bottom, track, gain, options)(samples, rowStart);
}
