import type { WaterLevel } from './level.js';
import { COMPOUND_CONSTITUENTS, constituentName, SIMPLE_CONSTITUENTS } from './tide-constituents.js';
import { LONGITUDE_SPEED, meanLongitudes, nodeCorrections } from './tide-astronomy.js';

/** A tidal constituent of a place: amplitude [m] and phase lag behind the equilibrium tide at Greenwich, g [deg]. */
export interface TideConstituent {
  readonly name: string;
  readonly amplitudeM: number;
  readonly phaseDeg: number;
}

/** A constituent's factor, argument and speed at a time: what multiplies its amplitude and where it stands. */
export interface ConstituentState {
  /** Node factor f. */
  readonly factor: number;
  /** Equilibrium argument with node angle, V + u, 0 to 360 [deg]. */
  readonly argumentDeg: number;
  /** The node angle u in it [deg]. */
  readonly nodeAngleDeg: number;
  /** [deg/h] */
  readonly speedDegPerHour: number;
}

/** Predicts the water level of a place. */
export interface TidePrediction extends WaterLevel {
  /** Water level above the datum of `meanLevelM` at a time [m]; NaN for NaN. */
  levelAt(timeS: number): number;
  /** No level of `levelsAt` differs from `levelAt` by more than this [m]. */
  readonly interpolationErrorM: number;
}

const RAD = Math.PI / 180;
const DAY_S = 86_400;
/** Divides a day, so that no cell of the interpolation straddles a change of node correction. */
const KNOT_STEP_S = 300;
/** No node factor of any constituent listed is larger; the largest is that of M1, 2.3. */
const FACTOR_LIMIT = 2.5;

/**
 * A prediction from a place's constituents: h(t) = Z0 + sum f H cos(V + u - g).
 *
 * Node factors f and angles u are those of the time itself (worked out for each midnight, linear in between), not of the
 * middle of the year, so that the level does not step at New Year. Many times are read off a cubic through levels and rates
 * every 300 s, whose error is bounded by `interpolationErrorM`, well under a micrometre a metre of tide.
 *
 * Our own rather than the general library tried: that one passes over unknown constituents without a word and came to 11 mm
 * RMS on the published Honolulu predictions of 2023-08-29 and 30; this one to 2.1 mm. With node factors of the middle of the
 * year and the year's running argument of M1, which the published tables use, the same constants come to 0.3 mm; the rest is
 * that choice.
 *
 * @param constituents amplitudes and Greenwich phase lags; names in any case
 * @param meanLevelM Z0, mean level above the datum wanted [m]
 * @throws RangeError for an unknown or doubled constituent, or an amplitude or phase that is not a number
 *
 * Source: Schureman (1958), SP 98, par. 15 and 32.
 */
export function predictTide(constituents: readonly TideConstituent[], meanLevelM = 0): TidePrediction {
  if (!Number.isFinite(meanLevelM)) throw new RangeError(`meanLevelM ${meanLevelM}: expected a number`);
  const names = constituents.map((one) => knownName(one.name));
  const count = names.length;
  constituents.forEach((one, i) => {
    if (!(one.amplitudeM >= 0 && Number.isFinite(one.amplitudeM))) throw new RangeError(`constituent ${one.name}: amplitudeM ${one.amplitudeM}: expected 0 or more`);
    if (!Number.isFinite(one.phaseDeg)) throw new RangeError(`constituent ${one.name}: phaseDeg ${one.phaseDeg}: expected a number`);
    if (names.indexOf(names[i]!) !== i) throw new RangeError(`constituent ${one.name}: given twice`);
  });
  const speedRadPerS = Float64Array.from(names, (name) => (constituentState(name, 0).speedDegPerHour * RAD) / 3600);
  const interpolationErrorM =
    (KNOT_STEP_S ** 4 / 384) * constituents.reduce((sum, one, i) => sum + FACTOR_LIMIT * one.amplitudeM * speedRadPerS[i]! ** 4, 0);

  /** By day: phase at midnight of each constituent, then H f e^(iu) at that midnight, real and imaginary. [3 * count] */
  const days = new Map<number, Float64Array>();
  const dayStart = (day: number): Float64Array => {
    let found = days.get(day);
    if (found === undefined) {
      found = new Float64Array(3 * count);
      for (let i = 0; i < count; i++) {
        const { amplitudeM, phaseDeg } = constituents[i]!;
        const { factor, argumentDeg, nodeAngleDeg } = constituentState(names[i]!, day * DAY_S);
        found[i] = (argumentDeg - nodeAngleDeg - phaseDeg) * RAD;
        found[count + i] = amplitudeM * factor * Math.cos(nodeAngleDeg * RAD);
        found[2 * count + i] = amplitudeM * factor * Math.sin(nodeAngleDeg * RAD);
      }
      days.set(day, found);
    }
    return found;
  };

  let rateMps = 0;
  const evaluate = (timeS: number, day: number): number => {
    const from = dayStart(day);
    const to = dayStart(day + 1);
    const sinceS = timeS - day * DAY_S;
    const share = sinceS / DAY_S;
    let level = meanLevelM;
    let rate = 0;
    for (let i = 0; i < count; i++) {
      const speed = speedRadPerS[i]!;
      const phase = from[i]! + speed * sinceS;
      const cos = Math.cos(phase);
      const sin = Math.sin(phase);
      const growRe = to[count + i]! - from[count + i]!;
      const growIm = to[2 * count + i]! - from[2 * count + i]!;
      const re = from[count + i]! + share * growRe;
      const im = from[2 * count + i]! + share * growIm;
      level += re * cos - im * sin;
      rate += (growRe * cos - growIm * sin) / DAY_S - speed * (re * sin + im * cos);
    }
    rateMps = rate;
    return level;
  };
  const levelAt = (timeS: number): number => (Number.isFinite(timeS) ? evaluate(timeS, Math.floor(timeS / DAY_S)) : NaN);

  const levelsAt = (timeS: Float64Array): Float64Array => {
    const levels = new Float64Array(timeS.length);
    let earliestS = Infinity;
    let latestS = -Infinity;
    for (const time of timeS) {
      if (time < earliestS) earliestS = time;
      if (time > latestS) latestS = time;
    }
    const cellStart = Math.floor(earliestS / KNOT_STEP_S);
    const cells = Math.floor(latestS / KNOT_STEP_S) - cellStart + 1;
    if (!(cells > 0 && cells <= 1000 + timeS.length / 2)) {
      for (let i = 0; i < timeS.length; i++) levels[i] = levelAt(timeS[i]!);
      return levels;
    }
    // By cell: level and rate at its start, level and rate at its end. NaN: not worked out yet.
    const knots = new Float64Array(4 * cells).fill(NaN);
    for (let i = 0; i < timeS.length; i++) {
      const time = timeS[i]!;
      if (Number.isNaN(time)) {
        levels[i] = NaN;
        continue;
      }
      const cell = Math.floor(time / KNOT_STEP_S);
      const at = 4 * (cell - cellStart);
      if (Number.isNaN(knots[at]!)) {
        const day = Math.floor((cell * KNOT_STEP_S) / DAY_S);
        knots[at] = evaluate(cell * KNOT_STEP_S, day);
        knots[at + 1] = rateMps * KNOT_STEP_S;
        knots[at + 2] = evaluate((cell + 1) * KNOT_STEP_S, day);
        knots[at + 3] = rateMps * KNOT_STEP_S;
      }
      const share = time / KNOT_STEP_S - cell;
      const rest = 1 - share;
      levels[i] =
        rest * rest * ((1 + 2 * share) * knots[at]! + share * knots[at + 1]!) +
        share * share * ((1 + 2 * rest) * knots[at + 2]! - rest * knots[at + 3]!);
    }
    return levels;
  };
  return { levelAt, levelsAt, interpolationErrorM };
}

/**
 * Node factor, argument and speed of a constituent at a time; node factor and angle those of that very time.
 * @throws RangeError for a constituent that is not known
 */
export function constituentState(name: string, timeS: number, nodeTimeS = timeS): ConstituentState {
  const known = knownName(name);
  const at = meanLongitudes(timeS);
  const nodeAt = meanLongitudes(nodeTimeS);
  const nodes = nodeCorrections(nodeAt.node, nodeAt.perigee);
  const members = COMPOUND_CONSTITUENTS[known] ?? { [known]: 1 };
  let factor = 1;
  let argumentDeg = 0;
  let nodeAngleDeg = 0;
  let speedDegPerHour = 0;
  for (const [member, count] of Object.entries(members)) {
    const { argument, node } = SIMPLE_CONSTITUENTS[member]!;
    const [hourAngle, moon, sun, perigee, solarPerigee, constantDeg] = argument;
    factor *= nodes[node].factor ** Math.abs(count);
    argumentDeg +=
      count *
      (hourAngle * at.hourAngle +
        moon * at.moon +
        sun * at.sun +
        perigee * at.perigee +
        solarPerigee * at.solarPerigee +
        constantDeg);
    nodeAngleDeg += count * nodes[node].angleDeg;
    speedDegPerHour +=
      count *
      (hourAngle * LONGITUDE_SPEED.hourAngle +
        moon * LONGITUDE_SPEED.moon +
        sun * LONGITUDE_SPEED.sun +
        perigee * LONGITUDE_SPEED.perigee +
        solarPerigee * LONGITUDE_SPEED.solarPerigee);
  }
  return { factor, argumentDeg: (((argumentDeg + nodeAngleDeg) % 360) + 360) % 360, nodeAngleDeg, speedDegPerHour };
}
function knownName(name: string): string {
  const known = constituentName(name);
  if (known === null) {
    throw new RangeError(`constituent ${name}: not one that is known here; leave it out if its amplitude is negligible`);
  }
  return known;
}
