import type { SonarSamples } from '../base/sonar.js';
import type { PingTiming } from './bottom-evidence.js';
import { stretchCorrector, type CorrectOptions } from './correct-stretch.js';
import { CellScratch, geocodeStretch, type GeocodeOptions, type MosaicLayer } from './geocode-stretch.js';
import { STRIPE_REACH, angleLevels, pingLevelsDb, stripesDb } from './learn-gain.js';
import { withPings, type LearnedGain } from './learned-gain.js';
import type { SonarTrack } from './sonar-track.js';

/** Pings of one line that are laid onto the mosaic together. */
export interface MosaicPiece {
  readonly line: number;
  /** Rows [start, end) of the pings. */
  readonly start: number;
  readonly end: number;
  /** The last of them is the first of the next piece too. */
  readonly continues: boolean;
  /** Rows that are read with them, so that a ping's stripe is told from its neighbours: of the same log. */
  readonly readStart: number;
  readonly readEnd: number;
}

/** What a piece has become. The columns are those of its own pings. Shape [end - start]. */
export interface MadePiece {
  readonly layer: MosaicLayer | null;
  readonly portPingDb: Float32Array;
  readonly starboardPingDb: Float32Array;
}

/** Pings of a piece: more would need more memory at a time, and their cells no longer fit the caches. */
const PIECE = 512;

/**
 * Cuts the pings into pieces: runs of one line in one log without a break.
 * @param use whether a ping is used
 * @param logStart first row of each log and the end of the last, rising
 */
export function mosaicPieces(track: Pick<SonarTrack, 'n' | 'line' | 'timeS'>, use: (row: number) => boolean, logStart: readonly number[], breakS: number): MosaicPiece[] {
  const pieces: MosaicPiece[] = [];
  for (let log = 0; log + 1 < logStart.length; log++) {
    const [from, to] = [logStart[log]!, logStart[log + 1]!];
    let start = from;
    while (start < to) {
      if (!use(start)) {
        start++;
        continue;
      }
      let end = start + 1;
      let last = start;
      for (; end < to && end - start < PIECE && track.line[end] === track.line[start]; end++) {
        if (!use(end)) continue;
        if (track.timeS[end]! - track.timeS[last]! > breakS) break;
        last = end;
      }
      // One that was cut for its length goes on from its last ping.
      const continues = end - start >= PIECE && end < to && last > start && track.line[end] === track.line[start];
      pieces.push({ line: track.line[start]!, start, end: last + 1, continues, readStart: Math.max(from, start - STRIPE_REACH), readEnd: Math.min(to, last + 1 + STRIPE_REACH) });
      start = continues ? last : last + 1;
    }
  }
  return pieces;
}

export interface PieceWork {
  readonly pings: PingTiming;
  readonly heightM: Float32Array;
  readonly track: SonarTrack;
  readonly gain: LearnedGain;
  /** What each ping is louder than the gain by the scale of its log [dB]. Shape [n]; left out: nothing. */
  readonly scaleDb?: Float32Array;
  readonly destripe: boolean;
  readonly correct: CorrectOptions;
  readonly geocode: GeocodeOptions;
  readonly use: (row: number) => boolean;
}

/** Makes pieces: stripes told, pings corrected, laid onto cells. @param samples of the rows [readStart, readEnd) */
export function pieceMaker(work: PieceWork): (piece: MosaicPiece, samples: SonarSamples) => MadePiece {
  const { pings, heightM, track, gain, correct, geocode } = work;
  const n = heightM.length;
  const own = withPings(gain, n);
  if (work.scaleDb !== undefined) for (const column of [own.portPingDb, own.starboardPingDb]) column.set(work.scaleDb);
  const scratch = new CellScratch();
  const corrector = stretchCorrector(pings, { heightM }, track, own, correct);
  const floor = { heightM, portSlope: track.portSlope, starboardSlope: track.starboardSlope };
  return ({ start, end, continues, readStart, readEnd }, samples) => {
    if (work.destripe) {
      const levels = angleLevels(samples, pings, floor, readStart, 0, readEnd - readStart, { soundSpeedMps: correct.soundSpeedMps, spreadingDb: gain.spreadingDb, absorptionDbPerKm: gain.absorptionDbPerKm });
      for (const [side, column] of [['port', own.portPingDb], ['starboard', own.starboardPingDb]] as const) {
        const stripes = stripesDb(pingLevelsDb(levels, gain, side));
        for (let row = start; row < end; row++) column[row] = stripes[row - readStart]! + (work.scaleDb?.[row] ?? 0);
      }
    }
    const { width } = samples;
    const part: SonarSamples = { n: end - start, width, port: samples.port.subarray((start - readStart) * width, (end - readStart) * width), starboard: samples.starboard.subarray((start - readStart) * width, (end - readStart) * width) };
    const layer = geocodeStretch(corrector(part, start), start, track, heightM, work.use, { ...geocode, continues }, scratch);
    return { layer, portPingDb: own.portPingDb.slice(start, end), starboardPingDb: own.starboardPingDb.slice(start, end) };
  };
}
