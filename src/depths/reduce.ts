import type { PingColumns, SeriesColumns } from '../base/observations.js';
import type { PlacedLevel } from '../water/level-at-boat.js';
import { levelsFor } from '../water/level-at-boat.js';
import type { SoundField } from '../water/sound-casts.js';
import type { SoundProfile } from '../water/sound-profile.js';
import { correctForSoundSpeed } from '../water/sound-profile.js';
import type { WaterLevel } from '../water/level.js';
import { beamTiltInto, DOWN, FORWARD, levelArmInto, STARBOARD } from './attitude.js';
import type { CorrectionCurves, CorrectionSwitches } from './corrections.js';
import { ALL_ON, emptyCurves } from './corrections.js';
import type { HeadingOptions, Headings } from './heading-at.js';
import { headingsAt, speedsAt } from './heading-at.js';
import { mergePings } from './merge-pings.js';
import { positionsAt } from './position-at.js';
import { measuredBelowTransducer } from './reduced-depth.js';
import { rateAt, seriesAt } from './series-at.js';
import { reasonCode } from './soundings.js';
import type { Soundings } from './soundings.js';
import type { SquatCurve } from './squat.js';
import { checkSquatCurve, squatAt } from './squat.js';
import type { Track } from './track.js';

/** Where a sensor sits from the boat's reference point: forward, to starboard, down [m]. */
export interface LeverArm {
  readonly forwardM: number;
  readonly starboardM: number;
  readonly downM: number;
}

/** What one log said, as far as reduction goes; `log` is its index in the manifest. */
export interface PingLog {
  readonly log: number;
  readonly pings: PingColumns;
  readonly headingTrueDeg?: SeriesColumns | undefined;
  readonly headingMagneticDeg?: SeriesColumns | undefined;
  /** Up positive [m]. */
  readonly heaveM?: SeriesColumns | undefined;
  /** Starboard down positive, bow up positive [deg]. */
  readonly rollDeg?: SeriesColumns | undefined;
  readonly pitchDeg?: SeriesColumns | undefined;
  readonly speedThroughWaterMps?: SeriesColumns | undefined;
}

/** Heights from GNSS instead of a water level. */
export interface AntennaHeights {
  /** Antenna above the ellipsoid at UTC times [m]; NaN where no good height is near enough. */
  antennaAt(timeS: Float64Array): Float64Array;
  /** Survey datum above the ellipsoid at a place of the frame [m]; NaN where the model does not reach. */
  datumAt(xM: number, yM: number): number;
}

/** How a motion sensor sits and is signed; 1 or -1 for each reading, and what it reads with the boat at rest. */
export interface MotionMount {
  readonly sensor: LeverArm;
  /** Age of a reading when it is stamped [s]. */
  readonly latencyS: number;
  readonly rollSign: 1 | -1;
  readonly pitchSign: 1 | -1;
  readonly heaveSign: 1 | -1;
  readonly rollOffsetDeg: number;
  readonly pitchOffsetDeg: number;
}

export interface ReduceOptions {
  /** Added to logged times to get UTC [s]. */
  readonly loggerOffsetS: number;
  /** Age of a depth when it is stamped [s]. */
  readonly depthLatencyS: number;
  /** No position or heading is interpolated across a longer gap; heave across 1.1 s at most [s]. */
  readonly maxGapS: number;
  readonly antenna: LeverArm;
  readonly transducer: LeverArm;
  readonly draftM: number;
  /** Extra draft under way, at every speed; where `squatCurve` is given that counts instead. */
  readonly squatM: number;
  readonly squatCurve?: SquatCurve | null;
  readonly soundSpeedSetMps: number;
  readonly heading: Pick<HeadingOptions, 'source' | 'variationDeg' | 'offsetDeg'>;
  /** What to add to a grid bearing to get a true one at the survey (`convergenceDeg` of geo/bearing) [deg]. */
  readonly convergenceDeg: number;
  /** Full width of the beam: a beam that leans less than half of it still meets a level floor straight below; 0 when left out [deg]. */
  readonly beamWidthDeg?: number;
  /** Zeros and ones when left out: the sensor sits at the reference point and is signed as ours. */
  readonly motion?: MotionMount;
  /** Age of a position when it is stamped, for the size of the latency alone: the track has its own time already [s]. */
  readonly gnssLatencyS?: number;
  /** What is applied; all when left out. Where `latency` or `clock` is off, the track must have been merged without it too. */
  readonly on?: CorrectionSwitches;
  /** Depths from the antenna's height instead of draft, heave and water level. */
  readonly heights?: AntennaHeights | null;
}

/** What else was found for each sounding, for cleaning and for its uncertainty. Shape of every column: [n]. */
export interface SoundingBasis {
  /** Measured distance below the transducer, as the instrument gave it [m]. */
  readonly belowTransducerM: Float32Array;
  /** One-sigma position error of the fixes used, one dimension [m]; NaN without a position. */
  readonly sigmaM: Float32Array;
  /** Speed over ground [m/s]; NaN without a position. */
  readonly speedMps: Float32Array;
  /** True heading [deg] and where it came from (HEADING_FROM). */
  readonly headingDeg: Float32Array;
  readonly headingFrom: Uint8Array;
  /** Heave that was taken off [m]; NaN where none was known. */
  readonly heaveM: Float32Array;
  /** Roll, starboard down, and pitch, bow up [deg]; NaN where not known. */
  readonly rollDeg: Float32Array;
  readonly pitchDeg: Float32Array;
  /** Of the boat's heading in the frame, clockwise from grid north [deg]; NaN where no heading is known. */
  readonly gridHeadingDeg: Float32Array;
  /** How fast heave, roll and pitch were changing, without sign of the mount; 0 where not known. */
  readonly heaveRateMps: Float32Array;
  readonly rollRateDegps: Float32Array;
  readonly pitchRateDegps: Float32Array;
}

/** Soundings with all that was found on the way to them. */
export interface Reduction {
  /** tvuM and thuM are NaN, line is -1; reasons are only those of position, depth and water level. */
  readonly soundings: Soundings;
  readonly basis: SoundingBasis;
  /** What each correction came to; `slopeM` is 0 until the slope is known. */
  readonly corrections: CorrectionCurves;
  readonly on: CorrectionSwitches;
  /** Whether depths hang on the antenna's height: draft, squat and heave then take no part. */
  readonly fromHeights: boolean;
}

/** Motion is not interpolated across more than this: a wave of a small boat takes 2 to 6 s. */
const MOTION_GAP_S = 1.1;
const AS_MOUNTED: MotionMount = { sensor: { forwardM: 0, starboardM: 0, downM: 0 }, latencyS: 0, rollSign: 1, pitchSign: 1, heaveSign: 1, rollOffsetDeg: 0, pitchOffsetDeg: 0 };
const NO_POSITION = reasonCode('no-position');
const POSITION_JUMP = reasonCode('position-jump');
const NO_DEPTH = reasonCode('no-depth');
const NO_WATER_LEVEL = reasonCode('no-water-level');
const RAD = Math.PI / 180;

/**
 * Soundings from the pings of all logs: placed in time, at the transducer, below the datum.
 *
 * Each ping is given its true time (clock offset, latency), the antenna's position at that time, the way from antenna to
 * transducer turned by heading, roll and pitch, and its depth:
 *
 *     depth = below the transducer by its travel time, made vertical + draft + squat - heave + lever arms - water level
 *
 * or, with `heights`, below the transducer + transducer below antenna - antenna above datum. Every term is worked out as if all
 * were applied and kept in `corrections`; a term switched off is left out of the depth or place alone. Where no heading is
 * known the horizontal lever arm is left out; where no heave, roll or pitch is known it counts as none. A ping with the same
 * time and depth as one of an earlier log is the same ping, logged twice, and appears once.
 *
 * Reasons set here: no-position, position-jump, no-depth (NaN, or 0 and less below the transducer), no-water-level. What
 * could be found is given all the same; the rest is NaN.
 *
 * @param sound sound speed by depth below the water surface; null: the instrument was set right
 * @throws RangeError for options that are not numbers
 * Source: IHO C-13 (2005), ch. 2 and 3; signs in `reducedDepth`, each with a test of its own.
 */
export function reduceSoundings(
  logs: readonly PingLog[],
  track: Track,
  sound: SoundProfile | SoundField | null,
  level: WaterLevel | PlacedLevel,
  options: ReduceOptions,
): Reduction {
  checkOptions(options);
  const { on = ALL_ON, motion = AS_MOUNTED, heights = null, squatCurve = null } = options;
  const clockS = on.clock ? options.loggerOffsetS : 0;
  const pings = mergePings(logs, clockS - (on.latency ? options.depthLatencyS : 0));
  const { n, timeS } = pings;
  const positions = positionsAt(track, timeS, options.maxGapS);
  const headings = headingsFor(logs, timeS, track, options, clockS);
  const gapS = Math.min(MOTION_GAP_S, options.maxGapS);
  const motionS = clockS - (on.latency ? motion.latencyS : 0);
  const heave = seriesAt(logs.map((one) => one.heaveM), timeS, motionS, gapS);
  const roll = seriesAt(logs.map((one) => one.rollDeg), timeS, motionS, gapS);
  const pitch = seriesAt(logs.map((one) => one.pitchDeg), timeS, motionS, gapS);
  const rate = (series: (SeriesColumns | undefined)[]): Float32Array => rateAt(series, timeS, motionS, gapS);
  const speed = squatCurve === null ? null : throughWater(logs, track, timeS, options.maxGapS, clockS);
  // The level is always worked out, so that a correction that is off has its size.
  const waterLevel = levelsFor(level, timeS, positions.xM, positions.yM);
  const antenna = heights === null ? null : heights.antennaAt(timeS);
  const fromHeights = antenna !== null && on.waterLevel;

  const curves = emptyCurves(n);
  const soundings = {
    n,
    timeS,
    xM: positions.xM,
    yM: positions.yM,
    measuredM: pings.depthM,
    depthM: new Float32Array(n),
    waterLevelM: new Float32Array(n),
    tvuM: new Float32Array(n).fill(NaN),
    thuM: new Float32Array(n).fill(NaN),
    reason: new Uint8Array(n),
    ruleReason: new Uint8Array(n),
    line: new Int32Array(n).fill(-1),
    log: pings.log,
    record: pings.record,
  };
  const belowTransducerM = new Float32Array(n);
  const gridHeadingDeg = new Float32Array(n).fill(NaN);
  const rollDeg = new Float32Array(n).fill(NaN);
  const pitchDeg = new Float32Array(n).fill(NaN);
  const halfBeamRad = ((options.beamWidthDeg ?? 0) * RAD) / 2;
  const arms = { transducer: new Float64Array(3), antenna: new Float64Array(3), sensor: new Float64Array(3), tilt: new Float64Array(3) };
  const moved = latencyShift(track, timeS, positions, options, on);
  const clock = clockLevels(level, timeS, positions, options, on, waterLevel);

  for (let i = 0; i < n; i++) {
    const below = measuredBelowTransducer(pings.depthM[i]!, pings.from[i]!, pings.offsetM[i]!, options.draftM);
    belowTransducerM[i] = below;
    const rollIs = motion.rollSign * (roll[i]! - motion.rollOffsetDeg);
    const pitchIs = motion.pitchSign * (pitch[i]! - motion.pitchOffsetDeg);
    rollDeg[i] = rollIs;
    pitchDeg[i] = pitchIs;
    const rollRad = Number.isNaN(rollIs) ? 0 : rollIs * RAD;
    const pitchRad = Number.isNaN(pitchIs) ? 0 : pitchIs * RAD;
    heave[i]! *= motion.heaveSign;
    const heaveM = Number.isNaN(heave[i]!) ? 0 : heave[i]!;
    levelArmInto(options.transducer, rollRad, pitchRad, arms.transducer);
    levelArmInto(options.antenna, rollRad, pitchRad, arms.antenna);
    levelArmInto(motion.sensor, rollRad, pitchRad, arms.sensor);
    beamTiltInto(rollRad, pitchRad, arms.tilt);
    const lean = Math.max(0, arms.tilt[2]! - halfBeamRad);
    // What the transducer goes down by roll and pitch about the point whose heave is measured.
    const inducedM = arms.transducer[DOWN]! - options.transducer.downM - (arms.sensor[DOWN]! - motion.sensor.downM);
    const squatM = speed === null ? options.squatM : squatAt(squatCurve!, speed[i]!) || 0;
    const transducerM = options.draftM + squatM - heaveM + inducedM;
    const travelledM = sound === null ? below : 'belowAt' in sound
      ? sound.belowAt(below, options.soundSpeedSetMps, transducerM, timeS[i]!, positions.xM[i]!, positions.yM[i]!)
      : correctForSoundSpeed(below, options.soundSpeedSetMps, transducerM, sound);
    let levelM = waterLevel[i]!;
    if (antenna !== null) {
      const transducerAboveDatumM = antenna[i]! - heights!.datumAt(positions.xM[i]!, positions.yM[i]!) - (arms.transducer[DOWN]! - arms.antenna[DOWN]!);
      levelM = transducerAboveDatumM + transducerM;
    }
    soundings.waterLevelM[i] = on.waterLevel ? levelM : 0;
    curves.referenceM[i] = below - pings.depthM[i]!;
    curves.soundSpeedM[i] = travelledM - below;
    curves.beamTiltM[i] = travelledM * (Math.cos(lean) - 1);
    if (fromHeights) {
      curves.leverArmM[i] = arms.transducer[DOWN]! - arms.antenna[DOWN]!;
      curves.waterLevelM[i] = transducerM - levelM - curves.leverArmM[i]!;
    } else {
      curves.draftM[i] = options.draftM;
      curves.squatM[i] = squatM;
      curves.heaveM[i] = -heaveM;
      curves.leverArmM[i] = inducedM;
      curves.clockM[i] = clock === null ? 0 : clock[i]!;
      curves.waterLevelM[i] = antenna !== null ? -levelM : -(levelM + (on.clock ? curves.clockM[i]! : 0));
    }
    soundings.depthM[i] = sumOfApplied(pings.depthM[i]!, curves, on, i);
    if (moved !== null) {
      curves.latencyAlongM[i] = moved.eastM[i]!;
      curves.latencyAcrossM[i] = moved.northM[i]!;
    }
    const heading = headings.headingDeg[i]!;
    if (!Number.isNaN(heading)) {
      const gridRad = (heading - options.convergenceDeg) * RAD;
      gridHeadingDeg[i] = heading - options.convergenceDeg;
      const sin = Math.sin(gridRad);
      const cos = Math.cos(gridRad);
      const acrossRad = travelledM * Math.sin(lean);
      const armAlongM = arms.transducer[FORWARD]! - arms.antenna[FORWARD]!;
      const armAcrossM = arms.transducer[STARBOARD]! - arms.antenna[STARBOARD]!;
      curves.leverArmAlongM[i] = armAlongM;
      curves.leverArmAcrossM[i] = armAcrossM;
      curves.beamTiltAlongM[i] = acrossRad * arms.tilt[0]!;
      curves.beamTiltAcrossM[i] = acrossRad * arms.tilt[1]!;
      const forwardM = (on.leverArms ? armAlongM : 0) + (on.beamTilt && acrossRad > 0 ? curves.beamTiltAlongM[i]! : 0);
      const starboardM = (on.leverArms ? armAcrossM : 0) + (on.beamTilt && acrossRad > 0 ? curves.beamTiltAcrossM[i]! : 0);
      soundings.xM[i]! += forwardM * sin + starboardM * cos;
      soundings.yM[i]! += forwardM * cos - starboardM * sin;
      if (moved !== null) {
        curves.latencyAlongM[i] = moved.eastM[i]! * sin + moved.northM[i]! * cos;
        curves.latencyAcrossM[i] = moved.eastM[i]! * cos - moved.northM[i]! * sin;
      }
    }
    let reason = 0;
    if (positions.fault[i] === 1) reason = NO_POSITION;
    else if (positions.fault[i] === 2) reason = POSITION_JUMP;
    else if (!(below > 0)) reason = NO_DEPTH;
    else if (on.waterLevel && Number.isNaN(levelM)) reason = NO_WATER_LEVEL;
    soundings.reason[i] = reason;
    soundings.ruleReason[i] = reason;
  }
  return {
    soundings,
    basis: {
      belowTransducerM,
      sigmaM: positions.sigmaM,
      speedMps: positions.speedMps,
      headingDeg: headings.headingDeg,
      headingFrom: headings.from,
      heaveM: Float32Array.from(heave),
      rollDeg,
      pitchDeg,
      gridHeadingDeg,
      heaveRateMps: rate(logs.map((one) => one.heaveM)),
      rollRateDegps: rate(logs.map((one) => one.rollDeg)),
      pitchRateDegps: rate(logs.map((one) => one.pitchDeg)),
    },
    corrections: curves,
    on,
    fromHeights,
  };
}

/** Measured depth and every vertical correction that is on; the slope has none yet. */
function sumOfApplied(measuredM: number, curves: CorrectionCurves, on: CorrectionSwitches, i: number): number {
  return (
    measuredM +
    curves.referenceM[i]! +
    (on.soundSpeed ? curves.soundSpeedM[i]! : 0) +
    (on.beamTilt ? curves.beamTiltM[i]! : 0) +
    (on.draft ? curves.draftM[i]! : 0) +
    (on.squat ? curves.squatM[i]! : 0) +
    (on.heave ? curves.heaveM[i]! : 0) +
    (on.leverArms ? curves.leverArmM[i]! : 0) +
    (on.waterLevel ? curves.waterLevelM[i]! : 0) +
    (on.clock && on.waterLevel ? curves.clockM[i]! : 0)
  );
}

/** How far latency moves, or would move, each sounding, east and north [m]; null where there is none. */
function latencyShift(track: Track, timeS: Float64Array, positions: { xM: Float64Array; yM: Float64Array }, options: ReduceOptions, on: CorrectionSwitches): { eastM: Float64Array; northM: Float64Array } | null {
  const lagS = options.depthLatencyS - (options.gnssLatencyS ?? 0);
  if (lagS === 0) return null;
  const other = positionsAt(track, timeS.map((time) => (on.latency ? time + lagS : time - lagS)), options.maxGapS);
  const sign = on.latency ? 1 : -1;
  const less = (a: Float64Array, b: Float64Array): Float64Array => a.map((value, i) => (Number.isNaN(value - b[i]!) ? 0 : sign * (value - b[i]!)));
  return { eastM: less(positions.xM, other.xM), northM: less(positions.yM, other.yM) };
}

/** What the clock offset adds to each depth by the water level, or would add [m]; null where there is no offset. */
function clockLevels(level: WaterLevel | PlacedLevel, timeS: Float64Array, positions: { xM: Float64Array; yM: Float64Array }, options: ReduceOptions, on: CorrectionSwitches, waterLevel: Float64Array): Float64Array | null {
  const offsetS = options.loggerOffsetS;
  if (offsetS === 0) return null;
  const other = levelsFor(level, timeS.map((time) => (on.clock ? time - offsetS : time + offsetS)), positions.xM, positions.yM);
  return waterLevel.map((one, i) => {
    const added = on.clock ? other[i]! - one : one - other[i]!;
    return Number.isNaN(added) ? 0 : added;
  });
}

/** Speed through the water where it is logged, else over ground [m/s]. */
function throughWater(logs: readonly PingLog[], track: Track, timeS: Float64Array, maxGapS: number, clockS: number): Float64Array {
  const logged = seriesAt(logs.map((one) => one.speedThroughWaterMps), timeS, clockS, maxGapS);
  if (!logged.some(Number.isNaN)) return logged;
  const overGround = speedsAt(track, timeS, maxGapS);
  return logged.map((speed, i) => (Number.isNaN(speed) ? overGround[i]! : speed));
}

function headingsFor(logs: readonly PingLog[], timeS: Float64Array, track: Track, options: ReduceOptions, clockS: number): Headings {
  const present = (series: (SeriesColumns | undefined)[]): SeriesColumns[] => series.filter((one) => one !== undefined);
  return headingsAt(
    timeS,
    present(logs.map((one) => one.headingTrueDeg)),
    present(logs.map((one) => one.headingMagneticDeg)),
    track,
    options.convergenceDeg,
    { ...options.heading, loggerOffsetS: clockS, maxGapS: options.maxGapS },
  );
}

function checkOptions(options: ReduceOptions): void {
  for (const name of ['loggerOffsetS', 'depthLatencyS', 'draftM', 'squatM', 'convergenceDeg'] as const) {
    if (!Number.isFinite(options[name])) throw new RangeError(`${name} ${options[name]}: expected a number`);
  }
  for (const name of ['maxGapS', 'soundSpeedSetMps'] as const) {
    if (!(options[name] > 0)) throw new RangeError(`${name} ${options[name]}: expected more than 0`);
  }
  for (const arm of [options.antenna, options.transducer, ...(options.motion === undefined ? [] : [options.motion.sensor])]) {
    if (![arm.forwardM, arm.starboardM, arm.downM].every(Number.isFinite)) throw new RangeError('lever arm: expected numbers');
  }
  if (options.squatCurve != null) checkSquatCurve(options.squatCurve);
}
