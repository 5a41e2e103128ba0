import type { Side } from '../base/sonar.js';
import { groundRangeM, heightBelowM } from '../imagery/slant-range.js';
import type { SonarTrack } from '../imagery/sonar-track.js';
import { pingStepM } from './look-over.js';
import type { ReadOff } from './measure.js';

/** What a hand drew on the picture. */
export interface HandDrawn {
  readonly side: Side;
  /** Rows of the pings it covers, [rowStart, rowEnd). */
  readonly rowStart: number;
  readonly rowEnd: number;
  readonly slantStartM: number;
  readonly slantEndM: number;
  /** NaN where no shadow is seen. */
  readonly shadowEndM: number;
  /** How well the hand puts a point on the picture as it was drawn, one sigma [m]; null where that is not known. */
  readonly handM: number | null;
}

/** What is known of the pings it was drawn on. Shape of the columns: [n]. */
export interface HandGround {
  readonly track: Pick<SonarTrack, 'n' | 'xM' | 'yM' | 'portSlope' | 'starboardSlope'>;
  /** Slant range of the floor's first echo, and its sigma [m]. */
  readonly firstEchoM: ArrayLike<number>;
  readonly heightSigmaM: ArrayLike<number>;
  readonly intervalS: ArrayLike<number>;
  readonly soundSpeedMps: number;
  readonly beamDeg: number;
}

/** A hand finds an edge to so many samples and pings, one sigma, where it is not known how large the picture was. Common practice. */
const HAND_SAMPLES = 1.5;
/** A height that says nothing of its own worth [m]. */
const HEIGHT_SIGMA_M = 0.2;
/** Pings to either side that the way from one to the next is taken from. */
const STEP_REACH = 12;

/**
 * What was drawn by hand reads off the picture, with how well: the same for the page, as one draws, and for the survey.
 * @returns null where the sonar's height or its way is not known there, or what was drawn lies nearer than the floor
 */
export function readOffByHand(drawn: HandDrawn, ground: HandGround): ReadOff | null {
  const { side, rowStart, rowEnd, slantEndM, handM } = drawn;
  const { track } = ground;
  const middle = (rowStart + rowEnd) >> 1;
  const stepM = pingStepM(track, Math.max(0, middle - STEP_REACH), Math.min(track.n, middle + STEP_REACH + 1));
  const slope = (side === 'port' ? track.portSlope : track.starboardSlope)[middle] || 0;
  const belowM = heightBelowM(ground.firstEchoM[middle]!, track.portSlope[middle] || 0, track.starboardSlope[middle] || 0);
  const groundM = groundRangeM(slantEndM, belowM, slope);
  // Above the floor where the object stands, which may be higher or lower than under the boat.
  const thereM = belowM - slope * groundM;
  if (!Number.isFinite(stepM) || !(thereM > 0) || !(slantEndM > thereM)) return null;
  const sampleM = (ground.soundSpeedMps / 2) * ground.intervalS[middle]!;
  // A sample is as wide as its spread, evenly: one sigma is its width over the root of twelve.
  const edgeSigmaM = handM === null ? HAND_SAMPLES * sampleM : Math.hypot(handM, sampleM / Math.sqrt(12));
  return {
    slantStartM: drawn.slantStartM,
    slantEndM,
    shadowEndM: drawn.shadowEndM,
    startSigmaM: edgeSigmaM,
    endSigmaM: edgeSigmaM,
    shadowSigmaM: edgeSigmaM,
    // A stroke touches one ping more than it is long, whatever its length.
    alongM: Math.max(1, rowEnd - rowStart - 1) * stepM,
    alongSigmaM: handM === null ? Math.SQRT2 * HAND_SAMPLES * stepM : Math.max(stepM / Math.sqrt(6), Math.SQRT2 * handM),
    beamM: (slantEndM * ground.beamDeg * Math.PI) / 180,
    sonarHeightM: thereM,
    sonarHeightSigmaM: ground.heightSigmaM[middle]! > 0 ? ground.heightSigmaM[middle]! : HEIGHT_SIGMA_M,
  };
}
