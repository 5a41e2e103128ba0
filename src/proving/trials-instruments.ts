import type { Random } from '../base/random.js';
import { createFrame, frameSettingFor, type Frame } from '../geo/frame.js';
import { createGaussMarkov } from './random-process.js';
import type { TrialsBoat } from './trials-boat.js';
import type { TrialsTrack } from './trials-crew.js';
import type { TrialsOptions } from './trials-options.js';

/** Where the trials are run: open ocean, Hollin Sound (invented). */
export const TRIALS_PLACE = { latDeg: 46.0, lonDeg: -30.4 } as const;

/** What the instruments said at the epochs of the positions. Shape of every column: [n]; NaN where an instrument said nothing. */
export interface TrialsReadings {
  readonly n: number;
  /** UTC [s]. */
  readonly timeS: Float64Array;
  /** Row of the true track. */
  readonly trackRow: Int32Array;
  readonly eastM: Float64Array;
  readonly northM: Float64Array;
  readonly groundEastMps: Float64Array;
  readonly groundNorthMps: Float64Array;
  readonly headingDeg: Float64Array;
  readonly speedThroughWaterMps: Float64Array;
  readonly portPct: Float64Array;
  readonly starboardPct: Float64Array;
  readonly voltageV: Float64Array;
  readonly currentA: Float64Array;
  /** Stretches without positions, seconds from the start. */
  readonly gaps: readonly { readonly startS: number; readonly endS: number }[];
}

/** The frame of the trials' place with what to add to a bearing in it to get a true one at the place [deg]. */
export function trialsFrame(): { readonly frame: Frame; readonly convergenceDeg: number; readonly xM: number; readonly yM: number } {
  const frame = createFrame(frameSettingFor(TRIALS_PLACE.latDeg, TRIALS_PLACE.lonDeg));
  const [xM, yM] = frame.toFrame(TRIALS_PLACE.latDeg, TRIALS_PLACE.lonDeg);
  const [north, east] = frame.toFrame(TRIALS_PLACE.latDeg + 1e-4, TRIALS_PLACE.lonDeg);
  // True north leans by this much in the frame; a true bearing is the frame's less the lean.
  return { frame, convergenceDeg: (-Math.atan2(north - xM, east - yM) * 180) / Math.PI, xM, yM };
}

/** Reads the instruments along a true track. */
export function readInstruments(track: TrialsTrack, boat: TrialsBoat, options: TrialsOptions, random: Random): TrialsReadings {
  const process = (name: string, sigma: number, tauS: number) => createGaussMarkov(random.fork(name), sigma, tauS);
  const slowEast = process('slow east', options.slowM, 120);
  const slowNorth = process('slow north', options.slowM, 120);
  const quickEast = process('quick east', options.quickM, 6);
  const quickNorth = process('quick north', options.quickM, 6);
  const white = random.fork('white');
  const compass = random.fork('compass');
  const compassError = options.compassConstantDeg * compass.normal();
  const log = random.fork('speed log');
  const logScale = 1 + options.speedLogScale * log.normal();
  const battery = random.fork('battery');
  const lost = random.fork('lost');
  const lastS = track.n > 0 ? track.elapsedS[track.n - 1]! : 0;
  const gaps = drawGaps(random.fork('gaps'), options.gapsPerHour, lastS);
  const rows: number[] = [];
  const columns: number[][] = Array.from({ length: 11 }, () => []);
  let gap = 0;
  for (let i = 0; i < track.n; i++) {
    const elapsedS = track.elapsedS[i]!;
    while (gap < gaps.length && gaps[gap]!.endS <= elapsedS) gap++;
    const east = track.eastM[i]! + slowEast.at(elapsedS) + quickEast.at(elapsedS) + options.whiteM * white.normal();
    const north = track.northM[i]! + slowNorth.at(elapsedS) + quickNorth.at(elapsedS) + options.whiteM * white.normal();
    const volts = batteryVolts(boat, track.powerW[i]!, track.drawnWh[i]!);
    const heading = track.headingDeg[i]! + compassError + options.compassNoiseDeg * compass.normal();
    const speed = logScale * track.surgeMps[i]! + options.speedLogNoiseMps * log.normal();
    const voltage = volts + options.voltageNoiseV * battery.normal();
    const current = (track.powerW[i]! / volts) * (1 + options.currentNoiseShare * battery.normal());
    const missing = lost.uniform() < options.lostShare;
    if (missing || (gap < gaps.length && gaps[gap]!.startS <= elapsedS)) continue;
    rows.push(i);
    const values = [
      options.startS + elapsedS,
      east,
      north,
      track.groundEastMps[i]!,
      track.groundNorthMps[i]!,
      options.heading ? ((heading % 360) + 360) % 360 : NaN,
      options.speedLog ? speed : NaN,
      options.commands ? Math.round(10 * track.portPct[i]!) / 10 : NaN,
      options.commands ? Math.round(10 * track.starboardPct[i]!) / 10 : NaN,
      options.battery ? voltage : NaN,
      options.battery ? current : NaN,
    ];
    for (let k = 0; k < values.length; k++) columns[k]!.push(values[k]!);
  }
  const [timeS, eastM, northM, groundEastMps, groundNorthMps, headingDeg, speedThroughWaterMps, portPct, starboardPct, voltageV, currentA] = columns.map((column) => Float64Array.from(column)) as Float64Array[] as [Float64Array, Float64Array, Float64Array, Float64Array, Float64Array, Float64Array, Float64Array, Float64Array, Float64Array, Float64Array, Float64Array];
  return { n: rows.length, timeS, trackRow: Int32Array.from(rows), eastM, northM, groundEastMps, groundNorthMps, headingDeg, speedThroughWaterMps, portPct, starboardPct, voltageV, currentA, gaps };
}

/** Voltage at the terminals: no-load voltage falls by a tenth from full to empty; the resistance inside takes its share. */
function batteryVolts(boat: TrialsBoat, powerW: number, drawnWh: number): number {
  const free = boat.batteryV * (1 - (0.1 * drawnWh) / boat.batteryWh);
  // P = V (E - V) / R, the upper root.
  return (free + Math.sqrt(Math.max(0, free * free - 4 * boat.batteryOhm * powerW))) / 2;
}

function drawGaps(random: Random, perHour: number, lastS: number): { startS: number; endS: number }[] {
  const gaps: { startS: number; endS: number }[] = [];
  if (!(perHour > 0)) return gaps;
  let atS = 0;
  for (;;) {
    atS += (-Math.log(1 - random.uniform()) * 3600) / perHour;
    if (atS > lastS) return gaps;
    const endS = atS + random.between(3, 12);
    gaps.push({ startS: atS, endS });
    atS = endS;
  }
}
