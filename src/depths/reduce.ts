import { interpolateAt } from '../base/interpolate.js';
import type { PingColumns, SeriesColumns } from '../base/observations.js';
import type { SoundProfile } from '../water/sound-profile.js';
import type { WaterLevel } from '../water/level.js';
import type { HeadingOptions, Headings } from './heading-at.js';
import { headingsAt } from './heading-at.js';
import { positionsAt } from './position-at.js';
import { measuredBelowTransducer, reducedDepth } from './reduced-depth.js';
import { reasonCode } from './soundings.js';
import type { Soundings } from './soundings.js';
import type { Track } from './track.js';
import { timeOrder } from './track.js';

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
  readonly squatM: number;
  readonly soundSpeedSetMps: number;
  readonly heading: Pick<HeadingOptions, 'source' | 'variationDeg' | 'offsetDeg'>;
  /** What to add to a grid bearing to get a true one at the survey (`convergenceDeg` of geo/bearing) [deg]. */
  readonly convergenceDeg: number;
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
}

/** Soundings with all that was found on the way to them. */
export interface Reduction {
  /** tvuM and thuM are NaN, line is -1; reasons are only those of position, depth and water level. */
  readonly soundings: Soundings;
  readonly basis: SoundingBasis;
}

/** Heave is not interpolated across more than this: a wave of a small boat takes 2 to 6 s. */
const HEAVE_GAP_S = 1.1;
const NO_POSITION = reasonCode('no-position');
const POSITION_JUMP = reasonCode('position-jump');
const NO_DEPTH = reasonCode('no-depth');
const NO_WATER_LEVEL = reasonCode('no-water-level');

/**
 * Soundings from the pings of all logs: placed in time, at the transducer, below the datum.
 *
 * Each ping is given its true time (clock offset, latency), the antenna's position at that time, the way from antenna to
 * transducer turned by the heading, and its reduced depth (`reducedDepth`). Where no heading is known the lever arm is left
 * out. Where no heave is known it counts as none. A ping with the same time and depth as one of an earlier log is the same
 * ping, logged twice, and appears once.
 *
 * Reasons set here: no-position, position-jump, no-depth (NaN, or 0 and less below the transducer), no-water-level. What
 * could be found is given all the same; the rest is NaN.
 *
 * @param profile sound speed by depth below the water surface; null: the instrument was set right
 * @throws RangeError for options that are not numbers
 */
export function reduceSoundings(
  logs: readonly PingLog[],
  track: Track,
  profile: SoundProfile | null,
  level: WaterLevel,
  options: ReduceOptions,
): Reduction {
  checkOptions(options);
  const pings = mergePings(logs, options);
  const { n, timeS } = pings;
  const positions = positionsAt(track, timeS, options.maxGapS);
  const headings = headingsFor(logs, timeS, track, options);
  const heave = heaveAt(logs, timeS, options);
  const waterLevel = level.levelsAt(timeS);

  const soundings = {
    n,
    timeS,
    xM: positions.xM,
    yM: positions.yM,
    measuredM: pings.depthM,
    depthM: new Float32Array(n),
    waterLevelM: Float32Array.from(waterLevel),
    tvuM: new Float32Array(n).fill(NaN),
    thuM: new Float32Array(n).fill(NaN),
    reason: new Uint8Array(n),
    ruleReason: new Uint8Array(n),
    line: new Int32Array(n).fill(-1),
    log: pings.log,
    record: pings.record,
  };
  const belowTransducerM = new Float32Array(n);
  const forwardM = options.transducer.forwardM - options.antenna.forwardM;
  const starboardM = options.transducer.starboardM - options.antenna.starboardM;
  for (let i = 0; i < n; i++) {
    const below = measuredBelowTransducer(pings.depthM[i]!, pings.from[i]!, pings.offsetM[i]!, options.draftM);
    belowTransducerM[i] = below;
    soundings.depthM[i] = reducedDepth(below, {
      draftM: options.draftM,
      squatM: options.squatM,
      heaveM: Number.isNaN(heave[i]!) ? 0 : heave[i]!,
      waterLevelM: waterLevel[i]!,
      soundSpeedSetMps: options.soundSpeedSetMps,
      profile,
    });
    const heading = headings.headingDeg[i]!;
    if (!Number.isNaN(heading)) {
      const gridRad = ((heading - options.convergenceDeg) * Math.PI) / 180;
      const sin = Math.sin(gridRad);
      const cos = Math.cos(gridRad);
      soundings.xM[i]! += forwardM * sin + starboardM * cos;
      soundings.yM[i]! += forwardM * cos - starboardM * sin;
    }
    let reason = 0;
    if (positions.fault[i] === 1) reason = NO_POSITION;
    else if (positions.fault[i] === 2) reason = POSITION_JUMP;
    else if (!(below > 0)) reason = NO_DEPTH;
    else if (Number.isNaN(waterLevel[i]!)) reason = NO_WATER_LEVEL;
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
    },
  };
}

interface MergedPings {
  readonly n: number;
  readonly timeS: Float64Array;
  readonly depthM: Float32Array;
  readonly offsetM: Float32Array;
  readonly from: Uint8Array;
  readonly log: Uint16Array;
  readonly record: Uint32Array;
}

/** Pings of all logs by true time; those without a time are left out, those logged twice appear once. */
function mergePings(logs: readonly PingLog[], options: ReduceOptions): MergedPings {
  const total = logs.reduce((sum, one) => sum + one.pings.n, 0);
  const allS = new Float64Array(total);
  const source = new Uint16Array(total);
  const place = new Uint32Array(total);
  let timed = 0;
  logs.forEach(({ pings }, which) => {
    for (let i = 0; i < pings.n; i++) {
      const time = pings.timeS[i]! + options.loggerOffsetS - options.depthLatencyS;
      if (!Number.isFinite(time)) continue;
      allS[timed] = time;
      source[timed] = which;
      place[timed] = i;
      timed++;
    }
  });
  const order = timeOrder(allS, timed);
  let n = 0;
  for (let i = 0; i < timed; i++) {
    const row = order[i]!;
    let twice = false;
    for (let j = n - 1; j >= 0 && !twice && allS[order[j]!] === allS[row]!; j--) {
      const other = order[j]!;
      twice = source[other] !== source[row] && logs[source[other]!]!.pings.depthM[place[other]!] === logs[source[row]!]!.pings.depthM[place[row]!];
    }
    if (!twice) order[n++] = row;
  }
  const merged = {
    n,
    timeS: new Float64Array(n),
    depthM: new Float32Array(n),
    offsetM: new Float32Array(n),
    from: new Uint8Array(n),
    log: new Uint16Array(n),
    record: new Uint32Array(n),
  };
  for (let i = 0; i < n; i++) {
    const row = order[i]!;
    const { log, pings } = logs[source[row]!]!;
    const at = place[row]!;
    merged.timeS[i] = allS[row]!;
    merged.depthM[i] = pings.depthM[at]!;
    merged.offsetM[i] = pings.offsetM[at]!;
    merged.from[i] = pings.from[at]!;
    merged.log[i] = log;
    merged.record[i] = pings.record[at]!;
  }
  return merged;
}

function headingsFor(logs: readonly PingLog[], timeS: Float64Array, track: Track, options: ReduceOptions): Headings {
  const present = (series: (SeriesColumns | undefined)[]): SeriesColumns[] => series.filter((one) => one !== undefined);
  return headingsAt(
    timeS,
    present(logs.map((one) => one.headingTrueDeg)),
    present(logs.map((one) => one.headingMagneticDeg)),
    track,
    options.convergenceDeg,
    { ...options.heading, loggerOffsetS: options.loggerOffsetS, maxGapS: options.maxGapS },
  );
}

function heaveAt(logs: readonly PingLog[], wantedS: Float64Array, options: ReduceOptions): Float64Array {
  const found = new Float64Array(wantedS.length).fill(NaN);
  for (const { heaveM: series } of logs) {
    if (series === undefined || series.n === 0) continue;
    const order = timeOrder(series.timeS, series.n).filter((row) => Number.isFinite(series.timeS[row]!));
    const timeS = Float64Array.from(order, (row) => series.timeS[row]! + options.loggerOffsetS);
    const value = Float64Array.from(order, (row) => series.value[row]!);
    const one = interpolateAt(timeS, value, wantedS, Math.min(HEAVE_GAP_S, options.maxGapS));
    for (let i = 0; i < found.length; i++) if (Number.isNaN(found[i]!)) found[i] = one[i]!;
  }
  return found;
}

function checkOptions(options: ReduceOptions): void {
  for (const name of ['loggerOffsetS', 'depthLatencyS', 'draftM', 'squatM', 'convergenceDeg'] as const) {
    if (!Number.isFinite(options[name])) throw new RangeError(`${name} ${options[name]}: expected a number`);
  }
  for (const name of ['maxGapS', 'soundSpeedSetMps'] as const) {
    if (!(options[name] > 0)) throw new RangeError(`${name} ${options[name]}: expected more than 0`);
  }
  for (const arm of [options.antenna, options.transducer]) {
    if (![arm.forwardM, arm.starboardM, arm.downM].every(Number.isFinite)) throw new RangeError('lever arm: expected numbers');
  }
}
