import { createRandom } from '../base/random.js';
import { drawTrialsBoat, type TrialsBoat } from './trials-boat.js';
import { STEP_S, TrialsCrew, type TrialsTrack, type TrueTrial } from './trials-crew.js';
import { readInstruments, trialsFrame, type TrialsReadings } from './trials-instruments.js';
import { TRIALS_DEFAULTS, type TrialsChanges, type TrialsOptions } from './trials-options.js';
import { runScript, trialsByStart } from './trials-script.js';
import { createSea } from './trials-sea.js';
import { trueFigures, trueTurns, type TrueFigures, type TrueTurn } from './trials-truth.js';

/** A run of sea trials with everything that is true of it. */
export interface ProvingTrials {
  readonly seed: number;
  readonly options: TrialsOptions;
  readonly boat: TrialsBoat;
  readonly track: TrialsTrack;
  readonly readings: TrialsReadings;
  readonly truth: TrialsTruth;
}

export interface TrialsTruth {
  /** In order of their start. */
  readonly trials: readonly (TrueTrial & { readonly startUtcS: number; readonly endUtcS: number })[];
  readonly figures: TrueFigures;
  readonly turns: readonly TrueTurn[];
  /** Current with leeway at a time, towards true east and north [m/s]. */
  readonly currentAt: (utcS: number) => { readonly eastMps: number; readonly northMps: number };
  /** Cross-track error of the antenna on the last 60 % of the legs, root mean square, from the true track [m]. */
  readonly trackRms: number;
}

/** The log of trials in the columns that the analysis takes. Shape of every column: [n]; NaN where not logged. */
export interface TrialsColumns {
  readonly n: number;
  readonly timeS: Float64Array;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  readonly sigmaM: Float32Array;
  readonly headingDeg: Float32Array;
  readonly speedThroughWaterMps: Float32Array;
  readonly thrusterPortPct: Float32Array;
  readonly thrusterStarboardPct: Float32Array;
  readonly batteryVoltageV: Float32Array;
  readonly batteryCurrentA: Float32Array;
  readonly convergenceDeg: number;
}

/**
 * Runs sea trials: a boat with its own motion, a crew that goes through a script, instruments. Same seed and changes: same run.
 *
 * Orders fall at any time between the epochs. Boat, sea, wind, script and errors are each drawn from the seed on their own.
 *
 * @throws RangeError for a seed that is not a whole number from 0, or a rate of positions that does not divide 50
 */
export function provingTrials(seed: number, changes: TrialsChanges = {}): ProvingTrials {
  const options: TrialsOptions = { ...TRIALS_DEFAULTS, ...changes };
  const { fixHz } = options;
  if (!(fixHz >= 1 && fixHz <= 10 && 50 % fixHz === 0)) throw new RangeError(`fixHz ${fixHz}: expected 1, 2, 5 or 10`);
  const random = createRandom(seed);
  const boat = drawTrialsBoat(random.fork('boat'));
  const sea = createSea(boat, options, random.fork('sea'));
  const crew = new TrialsCrew(boat, sea, random.fork('crew'), 1 / (STEP_S * fixHz), 0);
  runScript(crew, random.fork('script'), options.script);
  const track = crew.track();
  const readings = readInstruments(track, boat, options, random.fork('instruments'));
  const trials = trialsByStart(crew.trials).map((trial) => ({ ...trial, startUtcS: options.startS + trial.startS, endUtcS: options.startS + trial.endS }));
  return {
    seed,
    options,
    boat,
    track,
    readings,
    truth: {
      trials,
      figures: trueFigures(boat, options, random.fork('truth')),
      turns: trueTurns(boat),
      currentAt: (utcS) => sea.driftAt(utcS - options.startS),
      trackRms: trackRms(track, trials),
    },
  };
}

/**
 * The readings as the analysis takes them, with no log written or read between. As where a log is taken in, positions are of the
 * boat's reference point, the antenna's known place in the boat taken out by the compass; of the antenna where there is none.
 */
export function trialLogOf(run: ProvingTrials): TrialsColumns {
  const { readings } = run;
  const { convergenceDeg, xM, yM } = trialsFrame();
  const turn = (convergenceDeg * Math.PI) / 180;
  const n = readings.n;
  // A true bearing is the frame's plus the convergence: true east and north turn into the frame by it.
  const east = new Float64Array(n);
  const north = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const heading = (readings.headingDeg[i]! * Math.PI) / 180;
    const arm = Number.isNaN(heading) ? 0 : run.boat.antennaAheadM;
    east[i] = readings.eastM[i]! - arm * Math.sin(Number.isNaN(heading) ? 0 : heading);
    north[i] = readings.northM[i]! - arm * Math.cos(Number.isNaN(heading) ? 0 : heading);
  }
  const x = Float64Array.from({ length: n }, (_, i) => xM + east[i]! * Math.cos(turn) - north[i]! * Math.sin(turn));
  const y = Float64Array.from({ length: n }, (_, i) => yM + east[i]! * Math.sin(turn) + north[i]! * Math.cos(turn));
  const { slowM, quickM, whiteM } = run.options;
  return {
    n,
    timeS: readings.timeS.slice(),
    xM: x,
    yM: y,
    sigmaM: new Float32Array(n).fill(Math.hypot(slowM, quickM, whiteM)),
    headingDeg: Float32Array.from(readings.headingDeg),
    speedThroughWaterMps: Float32Array.from(readings.speedThroughWaterMps),
    thrusterPortPct: Float32Array.from(readings.portPct),
    thrusterStarboardPct: Float32Array.from(readings.starboardPct),
    batteryVoltageV: Float32Array.from(readings.voltageV),
    batteryCurrentA: Float32Array.from(readings.currentA),
    convergenceDeg,
  };
}

function trackRms(track: TrialsTrack, trials: readonly TrueTrial[]): number {
  let squares = 0;
  let count = 0;
  for (const { kind, startS, endS, line } of trials) {
    if (kind !== 'straight-leg' || line === null) continue;
    const [x0, y0, x1, y1] = line;
    const length = Math.hypot(x1 - x0, y1 - y0);
    const fromS = startS + 0.4 * (endS - startS);
    for (let i = 0; i < track.n; i++) {
      const atS = track.elapsedS[i]!;
      if (atS < fromS || atS > endS) continue;
      squares += (((track.eastM[i]! - x0) * (y1 - y0) - (track.northM[i]! - y0) * (x1 - x0)) / length) ** 2;
      count++;
    }
  }
  return Math.sqrt(squares / count);
}
