import { quantileInPlace, withoutNaN } from '../base/statistics.js';
import { alongTrackSlope } from './along-slope.js';
import { markRepeated } from './clean-repeated.js';
import { depthSeries, type DepthSeries } from './clean-series.js';
import { markSpikes, SPIKE } from './clean-spikes.js';
import type { Reduction } from './reduce.js';
import { reasonCode } from './soundings.js';

export interface CleanOptions {
  /** Depths below the transducer outside this gate are set aside [m]. */
  readonly minDepthM: number;
  readonly maxDepthM: number;
  /** Steeper than this between neighbours is not bottom [deg]. */
  readonly slopeDeg: number;
  /** A silence as long as this ends a stretch; half of it is the window slopes are taken over [s]. */
  readonly windowS: number;
  /** A spike is further off than this many times the noise around it, and than the floor [m]. */
  readonly outlierSigmas: number;
  readonly outlierFloorM: number;
  /** Fewer equal depths in a row are never called frozen. */
  readonly repeatCount: number;
  readonly beamWidthDeg: number;
  readonly draftM: number;
}

/** What the rules make of soundings. */
export interface Cleaning {
  /** Code of REASONS by the first rule that sets a sounding aside. Shape [n]. */
  readonly reason: Uint8Array;
  /** Slope of the bottom along the track, from the good soundings around; NaN where not known [1]. Shape [n]. */
  readonly alongSlope: Float32Array;
  /** How much steeper or gentler the bottom is over half that way, where that stands out of the noise; 0 elsewhere [1]. Shape [n]. */
  readonly alongBend: Float32Array;
}

const NO_POSITION = reasonCode('no-position');
const POSITION_JUMP = reasonCode('position-jump');
const NO_WATER_LEVEL = reasonCode('no-water-level');
const DEPTH_GATE = reasonCode('depth-gate');
const REPEATED = reasonCode('repeated');
const DOUBLE_ECHO = reasonCode('double-echo');
const SLOPE_GATE = reasonCode('slope-gate');
const OUTLIER = reasonCode('outlier');

/**
 * Sets soundings aside by rule, in the order of REASONS: no position, position jump, no depth (found in reduction), depth
 * gate, repeated value, double echo, slope gate, outlier, no water level (found in reduction).
 *
 * Double echoes, spikes steeper than the gate on both sides, and other outliers are found together by `markSpikes`: a running
 * robust line and the noise around, as in a Hampel filter, but held against the bottom on both sides, so that a step of
 * rock is not a spike. A sounding without a position still shows where the bottom goes on.
 *
 * @param reduction as `reduceSoundings` gives it; not changed
 * @throws RangeError for options outside their domain
 */
export function cleanSoundings(reduction: Reduction, options: CleanOptions): Cleaning {
  checkOptions(options);
  const { soundings, basis } = reduction;
  const { n } = soundings;
  const reason = Uint8Array.from(soundings.reason);

  const repeated = new Uint8Array(n);
  markRepeated(soundings.measuredM, soundings.timeS, options.windowS, options.repeatCount, repeated);
  let kept = 0;
  const rows = new Uint32Array(n);
  for (let i = 0; i < n; i++) {
    const placed = reason[i] !== NO_POSITION && reason[i] !== POSITION_JUMP;
    if (placed && reason[i] !== 0 && reason[i] !== NO_WATER_LEVEL) continue;
    const below = basis.belowTransducerM[i]!;
    if (below < options.minDepthM || below > options.maxDepthM || repeated[i] === 1) {
      if (placed) reason[i] = repeated[i] === 1 && below >= options.minDepthM && below <= options.maxDepthM ? REPEATED : DEPTH_GATE;
    } else if (below > 0 && !Number.isNaN(soundings.depthM[i]!)) {
      rows[kept++] = i;
    }
  }
  const active = rows.subarray(0, kept);
  const series = depthSeries(active, soundings, basis.belowTransducerM, options.windowS);
  const verdict = new Uint8Array(kept);
  markSpikes(series, options, verdict);

  const slope = alongTrackSlope(series, verdict, options.windowS / 2);
  const bend = slopeBend(series, slope, alongTrackSlope(series, verdict, options.windowS / 4), options.windowS / 2);
  const alongSlope = new Float32Array(n).fill(NaN);
  const alongBend = new Float32Array(n);
  for (let k = 0; k < kept; k++) {
    const row = active[k]!;
    alongSlope[row] = slope[k]!;
    alongBend[row] = bend[k]!;
    if (reason[row] !== 0) continue;
    if (verdict[k] === SPIKE.doubleEcho) reason[row] = DOUBLE_ECHO;
    else if (verdict[k] === SPIKE.steep) reason[row] = SLOPE_GATE;
    else if (verdict[k] === SPIKE.outlier) reason[row] = OUTLIER;
  }
  return { reason, alongSlope, alongBend };
}

/** A bend counts where it is more than so many times the median of all: the noise of a slope over a short way, swell above all. */
const BEND_OUT_OF_NOISE = 4;

/**
 * What the slope over a short way is more or less than that over a longer one; 0 where no more than noise, or not known. Nowhere more
 * than the steepest slope over the longer way near by: a burst of bad pings tilts a short way alone, ground that is broken both.
 */
function slopeBend({ timeS, starts }: DepthSeries, long: Float32Array, short: Float32Array, nearS: number): Float32Array {
  const bend = long.map((slope, k) => short[k]! - slope);
  const sizes = withoutNaN(bend.map(Math.abs));
  const limit = sizes.length === 0 ? Infinity : BEND_OUT_OF_NOISE * quantileInPlace(sizes, 0.5);
  for (let stretch = 0; stretch + 1 < starts.length; stretch++) {
    const end = starts[stretch + 1]!;
    let from = starts[stretch]!;
    for (let k = from; k < end; k++) {
      if (!(Math.abs(bend[k]!) > limit)) {
        bend[k] = 0;
        continue;
      }
      while (timeS[from]! < timeS[k]! - nearS) from++;
      let steepest = 0;
      for (let other = from; other < end && timeS[other]! <= timeS[k]! + nearS; other++) if (Math.abs(long[other]!) > steepest) steepest = Math.abs(long[other]!);
      bend[k] = Math.sign(bend[k]!) * Math.min(Math.abs(bend[k]!), steepest);
    }
  }
  return bend;
}

function checkOptions(options: CleanOptions): void {
  for (const name of ['maxDepthM', 'windowS', 'outlierSigmas', 'outlierFloorM'] as const) {
    if (!(options[name] > 0)) throw new RangeError(`${name} ${options[name]}: expected more than 0`);
  }
  if (!(options.slopeDeg > 0 && options.slopeDeg < 90)) throw new RangeError(`slopeDeg ${options.slopeDeg}: expected more than 0, less than 90`);
  if (!(options.beamWidthDeg > 0 && options.beamWidthDeg <= 90)) throw new RangeError(`beamWidthDeg ${options.beamWidthDeg}: expected more than 0, at most 90`);
  if (!(Number.isInteger(options.repeatCount) && options.repeatCount >= 3)) throw new RangeError(`repeatCount ${options.repeatCount}: expected a whole number, 3 or more`);
}
