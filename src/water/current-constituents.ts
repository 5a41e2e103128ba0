import type { CurrentField } from './current-field.js';
import { checkWorth, velocityFromEastNorth, type CurrentWorth } from './current-vector.js';
import { constituentState, predictTide } from './tide.js';

/** A constituent of the stream at a place: amplitude and Greenwich phase lag of the parts towards true east and north. */
export interface CurrentConstituent {
  readonly name: string;
  readonly eastMps: number;
  readonly eastPhaseDeg: number;
  readonly northMps: number;
  readonly northPhaseDeg: number;
}

/** The stream of a place by constituents. */
export interface CurrentConstituents {
  readonly constituents: readonly CurrentConstituent[];
  /** The steady current [m/s]. */
  readonly meanEastMps: number;
  readonly meanNorthMps: number;
}

export interface ConstituentOptions {
  readonly convergenceDeg: number;
  /** Default 0.1 m/s, the surface drift under a light breeze, and a tenth of the speed, for constituents from a month or less (common practice). */
  readonly worth?: CurrentWorth;
  readonly source?: string;
}

const ANALYSED: CurrentWorth = { baseMps: 0.1, share: 0.1 };
/** Cubics through knots this far apart miss 2e-5 of an eighth-diurnal amplitude, 1e-7 of a semidiurnal one [s]. */
const KNOT_S = 300;
const RAD = Math.PI / 180;

/**
 * A constituent's parts from its ellipse.
 *
 * u + iv = e^(i theta) (M cos(wt - g) + i m sin(wt - g)), u east, v north, theta anticlockwise from east.
 *
 * @param majorMps M, 0 or more; @param minorMps m, positive where the stream turns anticlockwise
 * @param majorSetDeg direction of the major axis that the phase belongs to, true bearing [deg]
 * @param phaseDeg g, Greenwich phase lag of the greatest stream towards majorSetDeg [deg]
 * Source: Foreman (1978), Pac. Mar. Sci. Rep. 78-6, section 2.3, from memory; held against the curve itself in the tests.
 */
export function constituentFromEllipse(name: string, majorMps: number, minorMps: number, majorSetDeg: number, phaseDeg: number): CurrentConstituent {
  const theta = (90 - majorSetDeg) * RAD;
  const [cos, sin] = [Math.cos(theta), Math.sin(theta)];
  // Each part is a cos(wt - g) + b sin(wt - g): amplitude hypot(a, b), phase g + atan2(b, a).
  const [eastA, eastB] = [majorMps * cos, -minorMps * sin];
  const [northA, northB] = [majorMps * sin, minorMps * cos];
  return {
    name,
    eastMps: Math.hypot(eastA, eastB),
    eastPhaseDeg: phaseDeg + Math.atan2(eastB, eastA) / RAD,
    northMps: Math.hypot(northA, northB),
    northPhaseDeg: phaseDeg + Math.atan2(northB, northA) / RAD,
  };
}

/**
 * The current of harmonic constituents, at any time, the same all over the survey.
 *
 * Both parts are predicted as a tide is (`predictTide`), with node factors of the time itself, and read off a cubic through
 * knots every 300 s.
 *
 * @throws RangeError for an unknown or doubled constituent, or an amplitude or phase that is not a number
 */
export function currentFromConstituents(stream: CurrentConstituents, options: ConstituentOptions): CurrentField {
  const { convergenceDeg, worth = ANALYSED, source = 'tidal stream constituents' } = options;
  checkWorth(worth);
  const { constituents, meanEastMps, meanNorthMps } = stream;
  const east = predictTide(constituents.map((one) => ({ name: one.name, amplitudeM: one.eastMps, phaseDeg: one.eastPhaseDeg })), meanEastMps);
  const north = predictTide(constituents.map((one) => ({ name: one.name, amplitudeM: one.northMps, phaseDeg: one.northPhaseDeg })), meanNorthMps);
  const knots = new Map<number, readonly [number, number]>();
  const knot = (index: number): readonly [number, number] => {
    let found = knots.get(index);
    if (found === undefined) {
      if (knots.size >= 400_000) knots.clear();
      found = velocityFromEastNorth(east.levelAt(index * KNOT_S), north.levelAt(index * KNOT_S), convergenceDeg);
      knots.set(index, found);
    }
    return found;
  };
  let cell = NaN;
  let [k0, k1, k2, k3]: (readonly [number, number])[] = [];
  return {
    at(_xM, _yM, timeS, out) {
      if (!Number.isFinite(timeS)) {
        out[0] = out[1] = out[2] = NaN;
        return;
      }
      const index = Math.floor(timeS / KNOT_S);
      if (index !== cell) {
        cell = index;
        [k0, k1, k2, k3] = [knot(index - 1), knot(index), knot(index + 1), knot(index + 2)];
      }
      const t = timeS / KNOT_S - index;
      // Lagrange through knots at -1, 0, 1, 2.
      const w0 = (-t * (t - 1) * (t - 2)) / 6;
      const w1 = ((t + 1) * (t - 1) * (t - 2)) / 2;
      const w2 = (-(t + 1) * t * (t - 2)) / 2;
      const w3 = ((t + 1) * t * (t - 1)) / 6;
      const x = w0 * k0![0] + w1 * k1![0] + w2 * k2![0] + w3 * k3![0];
      const y = w0 * k0![1] + w1 * k1![1] + w2 * k2![1] + w3 * k3![1];
      out[0] = x;
      out[1] = y;
      out[2] = Math.sqrt(worth.baseMps * worth.baseMps + worth.share * worth.share * (x * x + y * y));
    },
    startS: -Infinity,
    endS: Infinity,
    maxMps: Math.hypot(meanEastMps, meanNorthMps) + constituents.reduce((sum, one) => sum + greatestFactor(one.name) * majorAxisMps(one), 0),
    source,
  };
}

/** Semi-major axis of a constituent's ellipse [m/s]. */
function majorAxisMps({ eastMps: a, northMps: b, eastPhaseDeg, northPhaseDeg }: CurrentConstituent): number {
  const twice = 2 * (eastPhaseDeg - northPhaseDeg) * RAD;
  return Math.sqrt((a * a + b * b + Math.sqrt(a ** 4 + b ** 4 + 2 * a * a * b * b * Math.cos(twice))) / 2);
}

/** The largest node factor of a constituent: through the 18.6 years of the moon's node, 1970 on, by months. */
function greatestFactor(name: string): number {
  let most = 0;
  for (let month = 0; month < 224; month++) most = Math.max(most, constituentState(name, month * 30.44 * 86_400).factor);
  return most * 1.001;
}
