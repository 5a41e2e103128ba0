import type { BottomSlopes } from './bottom-slope.js';
import { slopeBiasM } from './bottom-slope.js';
import type { LeverArm, Reduction } from './reduce.js';

/** One-sigma terms of the vertical budget. */
export interface UncertaintyTerms {
  /** Independent of depth [m]. */
  readonly sounderM: number;
  /** Share of the depth below the transducer [1]. */
  readonly sounderShare: number;
  readonly draftM: number;
  readonly squatM: number;
  readonly heaveM: number;
  readonly waterLevelM: number;
  /** Between the gauge and the boat [m]. */
  readonly zoningM: number;
  /** Of the sound speed along the beam [m/s]. */
  readonly soundSpeedMps: number;
  /** Of the time between a depth and its position [s]. */
  readonly timeS: number;
}

export interface UncertaintyOptions {
  readonly terms: UncertaintyTerms;
  /** One sigma of the heading [deg]. */
  readonly headingSigmaDeg: number;
  readonly antenna: LeverArm;
  readonly transducer: LeverArm;
  readonly beamWidthDeg: number;
  /** Sound speed near the transducer, to make a share of the term [m/s]. */
  readonly soundSpeedMps: number;
  /** Whether the depths were corrected for the slope under the beam (`correctForSlope`). */
  readonly slopeCorrected?: boolean;
}

/** Total uncertainties, 95 % [m]; NaN where there is no depth or no position. Shape of both: [n]. */
export interface Uncertainties {
  readonly tvuM: Float32Array;
  readonly thuM: Float32Array;
}

/** 95 % of a normal deviate lies within this many sigma. */
export const SIGMA_95 = 1.959964;
/** How well a slope is known, one sigma: a part that is always there, and a share. Measured on the proving ground. */
const SLOPE_SIGMA = 0.015;
const SLOPE_SIGMA_SHARE = 0.15;
/** 95 % of a normal deviate lies below this many sigma. */
const SIGMA_95_ONE_SIDED = 1.644854;

/**
 * Total vertical and horizontal uncertainty of each sounding, 95 %.
 *
 * Vertical, one sigma: the root of the sum of squares of sounder (constant, and share of depth), draft, squat, heave, water
 * level, zoning, sound speed over c times depth, slope times horizontal error along and across the track (position, speed x
 * time, heading), and the correction for the slope, as well as slopes are known. Where depths were not corrected for the
 * slope, they are too small on one by a known amount (`slopeBiasM`): the uncertainty is widened to hold 95 % about the depth
 * given.
 *
 * Horizontal: position (the receiver's), speed x time along the track, heading x lever arm across the arm, as an ellipse;
 * the radius that holds 95 % of it. Where no heading was known the arm was left out, and counts whole.
 *
 * @param slopes slope of the bottom in both directions, or along the track alone: then the same is taken across. NaN counts
 *   as level. Shape [n]
 *
 * Source: IHO C-13 (2005), 3.3 and fig. 3.33, for the terms; S-44 ed. 6.1.0, 95 % as 1.96 sigma in one dimension, 2.45 in two.
 */
export function soundingUncertainty(reduction: Reduction, slopes: BottomSlopes | ArrayLike<number>, options: UncertaintyOptions): Uncertainties {
  checkOptions(options);
  const { soundings, basis } = reduction;
  const { n } = soundings;
  const { terms } = options;
  const alongSlope = 'along' in slopes ? slopes.along : slopes;
  const acrossSlope = 'across' in slopes ? slopes.across : slopes;
  const tvuM = new Float32Array(n).fill(NaN);
  const thuM = new Float32Array(n).fill(NaN);
  const fixed2 =
    terms.sounderM ** 2 + terms.draftM ** 2 + terms.squatM ** 2 + terms.heaveM ** 2 + terms.waterLevelM ** 2 + terms.zoningM ** 2;
  const perDepth2 = terms.sounderShare ** 2 + (terms.soundSpeedMps / options.soundSpeedMps) ** 2;
  const forwardM = options.transducer.forwardM - options.antenna.forwardM;
  const starboardM = options.transducer.starboardM - options.antenna.starboardM;
  const headingRad = (options.headingSigmaDeg * Math.PI) / 180;
  const halfBeamRad = (options.beamWidthDeg * Math.PI) / 360;
  const arm2 = forwardM * forwardM + starboardM * starboardM;
  for (let i = 0; i < n; i++) {
    const below = basis.belowTransducerM[i]!;
    const sigma = basis.sigmaM[i]!;
    if (Number.isNaN(sigma)) continue;
    const speed = basis.speedMps[i]!;
    const late2 = Number.isNaN(speed) ? 0 : (speed * terms.timeS) ** 2;
    // Along and across the heading; the heading's error turns the transducer about the antenna.
    let along2 = sigma * sigma + late2;
    let across2 = sigma * sigma;
    let both = 0;
    if (Number.isNaN(basis.headingDeg[i]!)) {
      along2 += arm2 / 2;
      across2 += arm2 / 2;
    } else {
      along2 += (starboardM * headingRad) ** 2;
      across2 += (forwardM * headingRad) ** 2;
      both = -forwardM * starboardM * headingRad * headingRad;
    }
    thuM[i] = ellipseRadius95(along2, across2, both);
    if (!(below > 0)) continue;
    const along = Math.abs(alongSlope[i]!) || 0;
    const across = Math.abs(acrossSlope[i]!) || 0;
    const slope = 'along' in slopes ? Math.hypot(along, across) : along;
    let sigma2 = fixed2 + perDepth2 * below * below + along * along * along2 + across * across * across2;
    let biasM = 0;
    if (options.slopeCorrected === true) {
      // d bias / d slope: below x slope inside the beam, below x sine of half the beam beyond it.
      sigma2 += (below * Math.min(slope, Math.sin(halfBeamRad)) * (SLOPE_SIGMA + SLOPE_SIGMA_SHARE * slope)) ** 2;
    } else biasM = slopeBiasM(below, slope, halfBeamRad);
    tvuM[i] = biasedRadius95(Math.sqrt(sigma2), biasM);
  }
  return { tvuM, thuM };
}

/**
 * Radius that holds 95 % of a normal deviate in two dimensions, from its variances and covariance [m].
 * From 1.96 of the larger sigma where the other is nothing to 2.45 where they are equal; within 0.03 % of the integral
 * (test/reference/uncertainty).
 */
export function ellipseRadius95(varianceA: number, varianceB: number, covariance: number): number {
  const middle = 0.5 * (varianceA + varianceB);
  const reach = Math.hypot(0.5 * (varianceA - varianceB), covariance);
  const major = Math.sqrt(middle + reach);
  if (major === 0) return 0;
  const c = Math.sqrt(Math.max(0, middle - reach)) / major;
  return major * (((((-0.99914466 * c + 2.22081789) * c - 1.26039702) * c + 0.5486875) * c - 0.02308438) * c + 1.96022342);
}

/**
 * Half width about a biased value that holds the truth with 95 % [m]: 1.96 sigma without a bias, bias + 1.645 sigma with a
 * large one; within 0.4 % in between (test/reference/uncertainty).
 */
export function biasedRadius95(sigmaM: number, biasM: number): number {
  if (sigmaM === 0) return biasM;
  const ratio = biasM / sigmaM;
  const excess = SIGMA_95 - SIGMA_95_ONE_SIDED;
  return sigmaM * (ratio + SIGMA_95_ONE_SIDED + excess * Math.exp(-ratio / excess - 1.5 * ratio * ratio));
}

function checkOptions(options: UncertaintyOptions): void {
  for (const [name, value] of Object.entries(options.terms)) {
    if (!(value >= 0 && Number.isFinite(value))) throw new RangeError(`${name} ${value}: expected 0 or more`);
  }
  if (!(options.headingSigmaDeg >= 0)) throw new RangeError(`headingSigmaDeg ${options.headingSigmaDeg}: expected 0 or more`);
  if (!(options.beamWidthDeg > 0 && options.beamWidthDeg <= 90)) throw new RangeError(`beamWidthDeg ${options.beamWidthDeg}: expected more than 0, at most 90`);
  if (!(options.soundSpeedMps > 0)) throw new RangeError(`soundSpeedMps ${options.soundSpeedMps}: expected more than 0`);
}
