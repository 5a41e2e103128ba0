import type { Side } from '../base/sonar.js';
import type { CorrectedStretch } from '../imagery/correct-stretch.js';
import { outward, type SonarTrack } from '../imagery/sonar-track.js';
import { detect, type DetectOptions, type Picture } from './detect.js';
import { readOff } from './read-off.js';
import type { PictureSampling } from './slant-profile.js';
import { makeSighting, whyProposed, type Sighting, type SonarThere } from './sighting.js';

/** A stretch of pings of one log and one pass, corrected, with where the sonar was. Rows count from the stretch's first ping. */
export interface Stretch {
  readonly corrected: CorrectedStretch;
  /** Row of its first ping in the columns below. */
  readonly rowStart: number;
  /** Rows [coreStart, coreEnd) in those columns whose finds are kept; the others are there so that edges have neighbours. */
  readonly coreStart: number;
  readonly coreEnd: number;
  readonly log: string;
  readonly record: ArrayLike<number>;
  readonly heightM: ArrayLike<number>;
  readonly heightSigmaM: ArrayLike<number>;
  readonly track: SonarTrack;
  /** Whether a ping is used. */
  readonly use: (row: number) => boolean;
  /** How a side of a ping, by row, was sampled; without it each bin of the picture is taken as a sample. */
  readonly sampling?: (side: Side, row: number) => PictureSampling;
  /** Pass of each side; see Sighting. */
  readonly pass: Readonly<Record<Side, number>>;
}

/** Pings more on each side of a stretch that its core needs. */
export const STRETCH_MARGIN = 64;

/** Where the sonar was at a ping as a fraction, straight between pings. */
export function sonarAt(track: Pick<SonarTrack, 'n' | 'xM' | 'yM' | 'gridHeadingDeg' | 'sigmaM' | 'headingSigmaDeg'>, row: number): SonarThere {
  const low = Math.max(0, Math.min(track.n - 1, Math.floor(row)));
  const high = Math.min(track.n - 1, low + 1);
  const share = Number.isFinite(track.xM[high]!) ? row - low : 0;
  const turn = (((track.gridHeadingDeg[high]! - track.gridHeadingDeg[low]!) % 360) + 540) % 360 - 180;
  return {
    xM: track.xM[low]! + share * (track.xM[high]! - track.xM[low]!),
    yM: track.yM[low]! + share * (track.yM[high]! - track.yM[low]!),
    gridHeadingDeg: track.gridHeadingDeg[low]! + (Number.isFinite(turn) ? share * turn : 0),
    sigmaM: track.sigmaM[low]!,
    headingSigmaDeg: track.headingSigmaDeg[low]!,
  };
}

/** Median way from ping to ping [m]; NaN where it is not known. */
export function pingStepM(track: Pick<SonarTrack, 'xM' | 'yM'>, rowStart: number, rowEnd: number): number {
  const steps: number[] = [];
  for (let row = rowStart + 1; row < rowEnd; row++) {
    const step = Math.hypot(track.xM[row]! - track.xM[row - 1]!, track.yM[row]! - track.yM[row - 1]!);
    if (step > 0) steps.push(step);
  }
  steps.sort((a, b) => a - b);
  return steps[steps.length >> 1] ?? NaN;
}

/** Where the boat turns, the beam sweeps the floor out there faster than the boat goes, or not at all, or backwards: by this share of its way the picture is none. */
const MOST_SWEPT = 1;

/** Whether the boat turns so much over the rows that the picture at a ground range is drawn out or squeezed. */
function isSwept(track: SonarTrack, rowStart: number, rowEnd: number, groundM: number): boolean {
  const [first, last] = [rowStart, rowEnd - 1];
  const wayM = Math.hypot(track.xM[last]! - track.xM[first]!, track.yM[last]! - track.yM[first]!);
  const turnDeg = ((((track.gridHeadingDeg[last]! - track.gridHeadingDeg[first]!) % 360) + 540) % 360) - 180;
  return (groundM * Math.abs(turnDeg) * Math.PI) / 180 > MOST_SWEPT * wayM;
}

/** One side of a stretch as a picture; pings that are not used are no data. */
export function pictureOf({ corrected, rowStart, heightM, track, use }: Pick<Stretch, 'corrected' | 'rowStart' | 'heightM' | 'track' | 'use'>, side: Side): Picture {
  const { n, width, binM } = corrected;
  const levelDb = Float32Array.from(corrected[side]);
  for (let ping = 0; ping < n; ping++) if (!use(rowStart + ping)) levelDb.fill(NaN, ping * width, (ping + 1) * width);
  return { n, width, binM, levelDb, heightM: Float32Array.from({ length: n }, (_, ping) => heightM[rowStart + ping]!), stepM: pingStepM(track, rowStart, rowStart + n) };
}

/** Sightings in a stretch, port first, by falling score on each side. */
export function lookOver(stretch: Stretch, options: DetectOptions): Sighting[] {
  const { rowStart, coreStart, coreEnd, track } = stretch;
  const beamRad = (options.beamDeg * Math.PI) / 180;
  return (['port', 'starboard'] as const).flatMap((side) => {
    const picture = pictureOf(stretch, side);
    return detect(picture, options).flatMap((candidate): Sighting[] => {
      const middle = rowStart + candidate.ping;
      if (middle < coreStart || middle >= coreEnd) return [];
      if (isSwept(track, Math.max(rowStart, middle - 12), Math.min(rowStart + picture.n, middle + 13), (candidate.bin + 0.5) * picture.binM)) return [];
      // The boat's speed here, not the stretch's.
      const stepM = pingStepM(track, Math.max(rowStart, middle - 12), Math.min(rowStart + picture.n, middle + 13));
      const own = Number.isFinite(stepM) ? { ...picture, stepM } : picture;
      const slope = (side === 'port' ? track.portSlope : track.starboardSlope)[middle]!;
      const outline = readOff(own, candidate, beamRad, stretch.heightSigmaM[middle]! || 0, Number.isFinite(slope) ? slope : 0, stretch.sampling?.(side, middle));
      if (outline === null) return [];
      const row = rowStart + (outline.pingStart + outline.pingEnd - 1) / 2;
      const there = sonarAt(track, row);
      if (!Number.isFinite(there.xM + there.yM + there.gridHeadingDeg)) return [];
      const record = stretch.record[middle]!;
      return [
        makeSighting(
          {
            id: `${stretch.log.slice(0, 8)}-${side === 'port' ? 'p' : 's'}-${record}-${Math.round(10 * outline.read.slantStartM)}`,
            log: stretch.log,
            side,
            record,
            timeS: track.timeS[middle]!,
            line: track.line[middle]!,
            pass: stretch.pass[side],
            byHand: false,
            recordStart: stretch.record[rowStart + outline.pingStart]!,
            recordEnd: stretch.record[rowStart + outline.pingEnd - 1]! + 1,
            score: candidate.score,
            falsePerHa: candidate.falsePerHa,
            why: [whyProposed(candidate, own.stepM, own.binM), outline.noHeight].filter((words) => words !== '').join('; '),
          },
          outline.read,
          there,
        ),
      ];
    });
  });
}

/** Direction a side looks in, clockwise from grid north [deg]. */
export function lookBearingDeg(side: Side, gridHeadingDeg: number): number {
  const [east, north] = outward(side, gridHeadingDeg);
  return (Math.atan2(east, north) * 180) / Math.PI;
}
