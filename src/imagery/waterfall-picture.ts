import { SIDES, type Side, type SonarSamples } from '../base/sonar.js';
import type { PingTiming } from './bottom-evidence.js';
import type { BottomTrack } from './bottom-track.js';
import { stretchCorrector } from './correct-stretch.js';
import { normaliser, type SurveyGain } from './learned-gain.js';
import { heightBelowM, slantOfGroundM } from './slant-range.js';
import type { SonarTrack } from './sonar-track.js';

/** How a stretch of pings is laid out as a picture, for looking at. */
export interface PictureLook {
  /** Distance from the sonar as heard, water column and all; or along the floor. */
  readonly axis: 'slant' | 'ground';
  /** Levels as recorded, or against the usual return of the floor at that angle and range. */
  readonly levels: 'recorded' | 'evened';
  /** Columns of each side, and the range the last one ends at [m]. */
  readonly width: number;
  readonly rangeM: number;
  /** Pings of one row of the picture. */
  readonly step: number;
}

/** What the picture is made with. Columns by row of the pings; a missing gain leaves levels as recorded. */
export interface PictureGround {
  readonly soundSpeedMps: number;
  readonly pings: PingTiming;
  readonly bottom: Pick<BottomTrack, 'heightM'>;
  readonly track: Pick<SonarTrack, 'portSlope' | 'starboardSlope'>;
  readonly gain: SurveyGain | null;
}

/** Levels of a picture, from the track outward. Shape of each side: [rows * width], a row of pings a row; NaN where nothing was heard. */
export interface WaterfallPicture {
  readonly rows: number;
  readonly width: number;
  /** [dB] of the instrument's amplitude, or against the usual return. */
  readonly port: Float32Array;
  readonly starboard: Float32Array;
}

/** Level of silence [dB], recorded and evened. */
const SILENT_DB = -60;

/**
 * Draws a stretch of pings as a picture: amplitudes of the samples and pings that fall into a cell are averaged, so that a small
 * picture of many pings is what one would see from further off. Where a cell is narrower than a sample the nearest is taken.
 *
 * Evened along the floor it is `correctStretch`, the picture of the mosaic and of the search for finds.
 *
 * @param rowStart row of the stretch's first ping in the columns of `ground`
 * @throws RangeError for a size or a range that is not positive
 */
export function waterfallPicture(samples: SonarSamples, rowStart: number, ground: PictureGround, look: PictureLook): WaterfallPicture {
  const { width, rangeM, step } = look;
  if (!(width >= 1 && rangeM > 0 && step >= 1)) throw new RangeError(`width ${width}, rangeM ${rangeM}, step ${step}: expected at least 1, more than 0 and at least 1`);
  const rows = Math.ceil(samples.n / step);
  const levels = ground.gain !== null && look.levels === 'evened' && look.axis === 'ground' ? null : pictureLevels(samples, rowStart, ground, look);
  const evened = levels === null ? stretchCorrector(ground.pings, ground.bottom, ground.track, ground.gain as SurveyGain, { soundSpeedMps: ground.soundSpeedMps, binM: rangeM / width, maxGroundM: rangeM })(samples, rowStart) : null;
  const [port, starboard] = SIDES.map((side) => gatherRows((evened ?? (levels as Record<Side, Float32Array>))[side], samples.n, width, step, rows));
  return { rows, width, port: port!, starboard: starboard! };
}

/** Means of amplitude over `step` pings, in decibels. */
function gatherRows(levelDb: Float32Array, n: number, width: number, step: number, rows: number): Float32Array {
  if (step === 1) return levelDb;
  const out = new Float32Array(rows * width);
  for (let row = 0; row < rows; row++) {
    const end = Math.min(n, (row + 1) * step);
    for (let col = 0; col < width; col++) {
      let [sum, many] = [0, 0];
      for (let ping = row * step; ping < end; ping++) {
        const level = levelDb[ping * width + col]!;
        if (level !== level) continue;
        sum += 10 ** (level / 20);
        many++;
      }
      out[row * width + col] = many === 0 ? NaN : 20 * Math.log10(sum / many);
    }
  }
  return out;
}

function pictureLevels(samples: SonarSamples, rowStart: number, ground: PictureGround, look: PictureLook): Record<Side, Float32Array> {
  return { port: sideLevels(samples, rowStart, ground, look, 'port'), starboard: sideLevels(samples, rowStart, ground, look, 'starboard') };
}

function sideLevels(samples: SonarSamples, rowStart: number, ground: PictureGround, look: PictureLook, side: Side): Float32Array {
  const { pings, bottom, track, gain, soundSpeedMps } = ground;
  const { width, rangeM, axis } = look;
  const out = new Float32Array(samples.n * width).fill(NaN);
  const values = samples[side];
  const counts = side === 'port' ? pings.portSamples : pings.starboardSamples;
  const slopes = side === 'port' ? track.portSlope : track.starboardSlope;
  const usual = gain !== null && look.levels === 'evened' ? normaliser(gain, side) : null;
  const pingDb = gain === null ? null : side === 'port' ? gain.portPingDb : gain.starboardPingDb;
  const binM = rangeM / width;
  for (let ping = 0; ping < samples.n; ping++) {
    const row = rowStart + ping;
    const n = Math.min(counts[row]!, samples.width);
    const intervalS = pings.intervalS[row]!;
    const delayS = pings.delayS[row]!;
    const slope = slopes[row]! || 0;
    const heightM = heightBelowM(bottom.heightM[row]!, track.portSlope[row]! || 0, track.starboardSlope[row]! || 0);
    const known = heightM > 0;
    if (n === 0 || !(intervalS > 0) || (axis === 'ground' && !known)) continue;
    const slantOf = axis === 'ground' ? (edge: number): number => slantOfGroundM(edge, heightM, slope) : (edge: number): number => edge;
    const sampleOf = (slantM: number): number => ((2 * slantM) / soundSpeedMps - delayS) / intervalS;
    let start = Math.max(0, Math.ceil(sampleOf(slantOf(0))));
    for (let col = 0; col < width; col++) {
      const end = Math.max(0, Math.ceil(sampleOf(slantOf((col + 1) * binM))));
      const slantM = slantOf((col + 0.5) * binM);
      let mean = NaN;
      if (end > start) {
        if (start >= n) break;
        let sum = 0;
        const last = Math.min(end, n);
        for (let i = start; i < last; i++) sum += values[ping * samples.width + i]!;
        mean = sum / (last - start);
      } else {
        const at = Math.round(sampleOf(slantM));
        if (at >= n) break;
        if (at >= 0) mean = values[ping * samples.width + at]!;
      }
      start = end;
      if (!(mean >= 0)) continue;
      let level = mean > 0 ? 20 * Math.log10(mean) : SILENT_DB;
      if (usual !== null && known) {
        // The water column is held against the floor straight below.
        const planeM = heightM / Math.sqrt(1 + slope * slope);
        const heardM = Math.max(slantM, planeM);
        level -= usual(heardM, Math.sqrt(Math.max(0, (heardM * heardM) / (planeM * planeM) - 1))) + (pingDb?.[row] ?? 0);
      }
      out[ping * width + col] = level;
    }
  }
  return out;
}
