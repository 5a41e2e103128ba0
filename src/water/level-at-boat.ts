import type { WaterLevel } from './level.js';

/** A gauge, or a prediction, and how its water gets to the survey. */
export interface Gauge {
  readonly name: string;
  readonly level: WaterLevel;
  /** In the survey frame [m]; needed where there is more than one and levels are asked for by place. */
  readonly xM: number;
  readonly yM: number;
  /** The water at the survey is this much later than at the gauge [s]. */
  readonly laterS: number;
  /** Range at the survey over range at the gauge, about `meanLevelM`. */
  readonly rangeFactor: number;
  /** Level about which the range is taken, above the gauge's datum [m]. */
  readonly meanLevelM: number;
  /** Added then: what the gauge's zero lies above the survey datum [m]. */
  readonly addM: number;
}

/** A water level that may differ from place to place. */
export interface PlacedLevel extends WaterLevel {
  /** At times and places in the survey frame [m]; NaN where it is not known. Shape of all: [n]. */
  levelsAtPlaces(timeS: Float64Array, xM: ArrayLike<number>, yM: ArrayLike<number>): Float64Array;
}

/**
 * The level at the boat from one or several gauges, each with its own time shift, range factor and zero.
 *
 *     level = sum w (mean + factor (gauge(t - later) - mean) + add) / sum w
 *
 * With several, each is weighted by one over its distance to a power (2 as a rule); a boat at a gauge gets that gauge's level.
 * Where one gauge has no level, there is none: the others alone would make a step in the depths.
 *
 * `levelsAt`, which knows no place, takes the mean of the gauges.
 *
 * @param power of the distance; 2 when left out
 * @throws RangeError for no gauge, or numbers that are none; `levelsAtPlaces`, for one of several gauges without a place
 *
 * Source: time and range correction of co-tidal zoning, IHO C-13 (2005), 5.4; weighting by inverse distance, common practice.
 */
export function gaugesLevel(gauges: readonly Gauge[], power = 2): PlacedLevel {
  if (gauges.length === 0) throw new RangeError('gauges: expected at least one');
  for (const gauge of gauges) {
    for (const key of ['laterS', 'rangeFactor', 'meanLevelM', 'addM'] as const) {
      if (!Number.isFinite(gauge[key])) throw new RangeError(`gauge ${gauge.name}: ${key} ${gauge[key]}: expected a number`);
    }
    if (!(gauge.rangeFactor > 0)) throw new RangeError(`gauge ${gauge.name}: rangeFactor ${gauge.rangeFactor}: expected more than 0`);
  }
  if (!(power > 0)) throw new RangeError(`power ${power}: expected more than 0`);
  const one = (gauge: Gauge, timeS: Float64Array): Float64Array => {
    const levels = gauge.level.levelsAt(timeS.map((time) => time - gauge.laterS));
    return levels.map((level) => gauge.meanLevelM + gauge.rangeFactor * (level - gauge.meanLevelM) + gauge.addM);
  };
  const levelsAtPlaces: PlacedLevel['levelsAtPlaces'] = (timeS, xM, yM) => {
    const first = one(gauges[0]!, timeS);
    if (gauges.length === 1) return first;
    for (const { name, xM: x, yM: y } of gauges) if (!Number.isFinite(x + y)) throw new RangeError(`gauge ${name}: expected a place, since there are ${gauges.length} gauges`);
    const all = [first, ...gauges.slice(1).map((gauge) => one(gauge, timeS))];
    return timeS.map((_, i) => {
      let sum = 0;
      let weights = 0;
      for (const [k, gauge] of gauges.entries()) {
        const awayM = Math.hypot(xM[i]! - gauge.xM, yM[i]! - gauge.yM);
        if (awayM < 1e-3) return all[k]![i]!;
        const weight = awayM ** -power;
        sum += weight * all[k]![i]!;
        weights += weight;
      }
      return sum / weights;
    });
  };
  return {
    levelsAtPlaces,
    levelsAt(timeS) {
      const all = gauges.map((gauge) => one(gauge, timeS));
      return timeS.map((_, i) => all.reduce((sum, levels) => sum + levels[i]!, 0) / all.length);
    },
  };
}

/** Levels at times and places, whether or not the level knows places. */
export function levelsFor(level: WaterLevel | PlacedLevel, timeS: Float64Array, xM: ArrayLike<number>, yM: ArrayLike<number>): Float64Array {
  return 'levelsAtPlaces' in level ? level.levelsAtPlaces(timeS, xM, yM) : level.levelsAt(timeS);
}
