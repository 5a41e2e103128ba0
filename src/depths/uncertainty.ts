import { beamTiltInto, levelArmInto } from './attitude.js';
import type { BottomSlopes } from './bottom-slope.js';
import { slopeBiasM } from './bottom-slope.js';
import { CORRECTIONS, isOn } from './corrections.js';
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
  /** Of heave where it is measured; as `heaveM` when left out [m]. */
  readonly heaveMeasuredM?: number;
  /** Of roll and of pitch where they are measured, and where they are not: how much the boat moves; 0 when left out [deg]. */
  readonly attitudeMeasuredDeg?: number;
  readonly attitudeDeg?: number;
  /** Of the antenna's height, and of the datum's height above the ellipsoid, where depths hang on them; 0 when left out [m]. */
  readonly gnssHeightM?: number;
  readonly separationM?: number;
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
  /** How much the bottom's slope changes within the way it was told over (`Cleaning.alongBend`); none when left out. Shape [n] */
  readonly bend?: ArrayLike<number>;
  /** Where the motion sensor sits; the reference point when left out. */
  readonly motionSensor?: LeverArm;
}

/** Total uncertainties, 95 % [m]; NaN where there is no depth or no position. Shape of both: [n]. */
export interface Uncertainties {
  readonly tvuM: Float32Array;
  readonly thuM: Float32Array;
}

const RAD = Math.PI / 180;
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
 * Vertical, one sigma: the root of the sum of squares of sounder (constant, and share of depth), draft, squat, heave (as good
 * as measured where it is), water level, zoning - or, where depths hang on the antenna's height, that height and the
 * separation instead of the last five -, sound speed over c times depth, roll and pitch on the lever arms and on a beam that
 * leans by more than half its width, slope times horizontal error along and across the track, and the correction for the
 * slope, as well as slopes are known.
 *
 * A correction that is switched off leaves a known error: its whole size for that sounding goes in as a bias, sizes added up,
 * and the uncertainty is widened to hold 95 % about the depth given (`biasedRadius95`). So it is with the slope where depths
 * were not corrected for it.
 *
 * Horizontal: position (the receiver's), speed x time along the track, heading, roll and pitch x lever arm, as an ellipse;
 * the radius that holds 95 % of it, and the size of a shift that is switched off. Where no heading was known the arm was left
 * out, and counts whole.
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
  const heaveOff2 = terms.heaveM ** 2;
  const heaveOn2 = (terms.heaveMeasuredM ?? terms.heaveM) ** 2;
  const fixed2 = reduction.fromHeights
    ? terms.sounderM ** 2 + (terms.gnssHeightM ?? 0) ** 2 + (terms.separationM ?? 0) ** 2
    : terms.sounderM ** 2 + terms.draftM ** 2 + terms.squatM ** 2 + terms.waterLevelM ** 2 + terms.zoningM ** 2;
  const perDepth2 = terms.sounderShare ** 2 + (terms.soundSpeedMps / options.soundSpeedMps) ** 2;
  const headingRad = (options.headingSigmaDeg * Math.PI) / 180;
  const halfBeamRad = (options.beamWidthDeg * Math.PI) / 360;
  const swing = attitudeSwing(reduction, options);
  const off = switchedOff(reduction);
  for (let i = 0; i < n; i++) {
    const below = basis.belowTransducerM[i]!;
    const sigma = basis.sigmaM[i]!;
    if (Number.isNaN(sigma)) continue;
    const speed = basis.speedMps[i]!;
    const late2 = Number.isNaN(speed) ? 0 : (speed * terms.timeS) ** 2;
    const { forwardM, starboardM, down2, along2: swingAlong2, across2: swingAcross2, alongAcross } = swing(i);
    const arm2 = forwardM * forwardM + starboardM * starboardM;
    // Along and across the heading; the heading's error turns the transducer about the antenna.
    let along2 = sigma * sigma + late2 + swingAlong2;
    let across2 = sigma * sigma + swingAcross2;
    let both = alongAcross;
    if (Number.isNaN(basis.headingDeg[i]!)) {
      along2 += arm2 / 2;
      across2 += arm2 / 2;
    } else {
      along2 += (starboardM * headingRad) ** 2;
      across2 += (forwardM * headingRad) ** 2;
      both -= forwardM * starboardM * headingRad * headingRad;
    }
    const [shiftAlong, shiftAcross] = [off?.alongM[i] ?? 0, off?.acrossM[i] ?? 0];
    thuM[i] = ellipseRadius95(along2, across2, both) + Math.hypot(shiftAlong, shiftAcross);
    if (!(below > 0)) continue;
    const along = Math.abs(alongSlope[i]!) || 0;
    const across = Math.abs(acrossSlope[i]!) || 0;
    const slope = 'along' in slopes ? Math.hypot(along, across) : along;
    let sigma2 = fixed2 + perDepth2 * below * below + down2 + along * along * along2 + across * across * across2;
    if (!reduction.fromHeights) sigma2 += Number.isNaN(basis.heaveM[i]!) ? heaveOff2 : heaveOn2 + (basis.heaveRateMps[i]! * terms.timeS) ** 2;
    let biasM = (off?.verticalM[i] ?? 0) + along * shiftAlong + across * shiftAcross;
    if (options.slopeCorrected === true) {
      // d bias / d slope: below x slope inside the beam, below x sine of half the beam beyond it.
      // On broken ground the slope is known no better than it changes, along the track as across it.
      const bend = Math.hypot(options.bend ? options.bend[i]! : 0, 'along' in slopes && slopes.unevenness ? slopes.unevenness[i]! : 0);
      sigma2 += (below * Math.min(Math.hypot(slope, bend), Math.sin(halfBeamRad))) ** 2 * ((SLOPE_SIGMA + SLOPE_SIGMA_SHARE * slope) ** 2 + bend * bend) + (bend * bend * (along2 + across2)) / 2;
    } else biasM += slopeBiasM(below, slope, halfBeamRad);
    tvuM[i] = biasedRadius95(Math.sqrt(sigma2), biasM);
  }
  return { tvuM, thuM };
}

/** The level arm from antenna to transducer, and what errors of roll and pitch do: variances and a covariance [m2]. */
interface Swing {
  readonly forwardM: number;
  readonly starboardM: number;
  readonly down2: number;
  readonly along2: number;
  readonly across2: number;
  readonly alongAcross: number;
}

/** Step of the differences that stand for derivatives [rad]. */
const STEP_RAD = 1e-3;

/**
 * First-order effects of roll and pitch errors on place and depth together: the arms and the leaning beam move with the same
 * angle, so their effects add before they are squared.
 */
function attitudeSwing(reduction: Reduction, options: UncertaintyOptions): (i: number) => Swing {
  const { basis, fromHeights, on } = reduction;
  const { terms, transducer, antenna } = options;
  const carrier = fromHeights ? antenna : (options.motionSensor ?? { forwardM: 0, starboardM: 0, downM: 0 });
  const vertical = armFrom(carrier, transducer);
  const level = armFrom(antenna, transducer);
  const known = (terms.attitudeMeasuredDeg ?? 0) * RAD;
  const unknown = (terms.attitudeDeg ?? 0) * RAD;
  const halfBeamRad = (options.beamWidthDeg * RAD) / 2;
  const scratch = new Float64Array(3);
  /** Along, across and down of what the beam looks at, from where position and height are known [m]. */
  const lookInto = (roll: number, pitch: number, below: number, out: Float64Array): void => {
    levelArmInto(vertical, roll, pitch, scratch);
    const downM = scratch[2]!;
    levelArmInto(level, roll, pitch, out);
    beamTiltInto(roll, pitch, scratch);
    const lean = on.beamTilt ? Math.max(0, scratch[2]! - halfBeamRad) : 0;
    out[0]! += below * Math.sin(lean) * scratch[0]!;
    out[1]! += below * Math.sin(lean) * scratch[1]!;
    out[2] = downM + below * Math.cos(lean);
  };
  const arm = new Float64Array(3);
  const [more, less, byRoll, byPitch] = [0, 0, 0, 0].map(() => new Float64Array(3)) as [Float64Array, Float64Array, Float64Array, Float64Array];
  // A boat that leans by two unknown angles leans by less than 2.45 sigma 95 times in 100.
  const unknownReach = on.beamTilt ? Math.max(0, 2.45 * unknown - halfBeamRad) : 0;
  const unknownLean2 = ((1 - Math.cos(unknownReach)) / SIGMA_95) ** 2;
  const unknownFoot2 = (Math.sin(unknownReach) / 2.45) ** 2;
  return (i) => {
    const [rollDeg, pitchDeg] = [basis.rollDeg[i]!, basis.pitchDeg[i]!];
    const below = basis.belowTransducerM[i]! > 0 ? basis.belowTransducerM[i]! : 0;
    // An angle that is taken at the wrong time is off by its rate.
    const rollSigma = Number.isNaN(rollDeg) ? unknown : Math.hypot(known, basis.rollRateDegps[i]! * terms.timeS * RAD);
    const pitchSigma = Number.isNaN(pitchDeg) ? unknown : Math.hypot(known, basis.pitchRateDegps[i]! * terms.timeS * RAD);
    const roll = (rollDeg || 0) * RAD;
    const pitch = (pitchDeg || 0) * RAD;
    levelArmInto(level, roll, pitch, arm);
    for (const [into, dRoll, dPitch] of [[byRoll, STEP_RAD, 0], [byPitch, 0, STEP_RAD]] as const) {
      lookInto(roll + dRoll, pitch + dPitch, below, more);
      lookInto(roll - dRoll, pitch - dPitch, below, less);
      for (let k = 0; k < 3; k++) into[k] = ((more[k]! - less[k]!) / (2 * STEP_RAD)) * (dRoll > 0 ? rollSigma : pitchSigma);
    }
    const unmeasured = Number.isNaN(rollDeg) || Number.isNaN(pitchDeg) ? below * below : 0;
    return {
      forwardM: arm[0]!,
      starboardM: arm[1]!,
      down2: byRoll[2]! ** 2 + byPitch[2]! ** 2 + unmeasured * unknownLean2,
      along2: byRoll[0]! ** 2 + byPitch[0]! ** 2 + unmeasured * unknownFoot2,
      across2: byRoll[1]! ** 2 + byPitch[1]! ** 2 + unmeasured * unknownFoot2,
      alongAcross: byRoll[0]! * byRoll[1]! + byPitch[0]! * byPitch[1]!,
    };
  };
}

/** The arm from one place to another. */
function armFrom(from: LeverArm, to: LeverArm): LeverArm {
  return { forwardM: to.forwardM - from.forwardM, starboardM: to.starboardM - from.starboardM, downM: to.downM - from.downM };
}

/** Sizes of the corrections that are switched off, added up: vertical, along and across the heading [m]; null where all are on. */
function switchedOff({ soundings, corrections, on }: Reduction): { readonly verticalM: Float64Array; readonly alongM: Float64Array; readonly acrossM: Float64Array } | null {
  const off = CORRECTIONS.filter(({ column, switch: name }) => name !== null && name !== 'slope' && !isOn(on, column));
  if (off.length === 0) return null;
  const verticalM = new Float64Array(soundings.n);
  const alongM = new Float64Array(soundings.n);
  const acrossM = new Float64Array(soundings.n);
  for (const { column, horizontal } of off) {
    const into = !horizontal ? verticalM : column.includes('Along') ? alongM : acrossM;
    const values = corrections[column];
    for (let i = 0; i < into.length; i++) into[i]! += Math.abs(values[i]!) || 0;
  }
  return { verticalM, alongM, acrossM };
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
  for (const [name, value] of Object.entries(options.terms) as [string, number | undefined][]) {
    if (value !== undefined && !(value >= 0 && Number.isFinite(value))) throw new RangeError(`${name} ${value}: expected 0 or more`);
  }
  if (!(options.headingSigmaDeg >= 0)) throw new RangeError(`headingSigmaDeg ${options.headingSigmaDeg}: expected 0 or more`);
  if (!(options.beamWidthDeg > 0 && options.beamWidthDeg <= 90)) throw new RangeError(`beamWidthDeg ${options.beamWidthDeg}: expected more than 0, at most 90`);
  if (!(options.soundSpeedMps > 0)) throw new RangeError(`soundSpeedMps ${options.soundSpeedMps}: expected more than 0`);
}
