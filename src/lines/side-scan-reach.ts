import type { BoatModel } from '../boat/boat-model.js';
import type { Draft, DeriveGround } from './derive-draft.js';
import { COMMON, short } from './derive-draft.js';
import type { Sensor } from './objective.js';

/** What a side-scan sees of flat ground on either side. */
export interface SideScanReach {
  readonly rangeM: number;
  readonly range: Draft;
  /** Ground range from and to, on each side [m]. */
  readonly nearM: number;
  readonly farM: number;
  readonly heightM: number;
  readonly notes: readonly string[];
}

/** Height over range: usual, least and most. */
const HEIGHT_SHARE = 0.1;
const LEAST_HEIGHT_SHARE = 0.08;
const MOST_HEIGHT_SHARE = 0.2;
const NADIR_SHARE = 0.5;

/** By how much two neighbouring lines may come apart or together, 95 % [m]: two errors of the boat's own, as a root of squares. */
export function trackAllowanceM(boat: BoatModel | null): number {
  return boat === null ? 1 : Math.SQRT2 * boat.track95M;
}

/**
 * Range and ground covered for a side-scan: ground range sqrt(R^2 - h^2), the range at most ten times the height over the
 * bottom where it is shallowest.
 *
 * @param wantedM the range asked for; null: as far as the height allows
 * Source: IHO C-13 ch. 4; height near a tenth of the range, 8 to 20 %, is common practice.
 */
export function sideScanReach(sensor: Extract<Sensor, { kind: 'side-scan' }>, ground: Pick<DeriveGround, 'depth' | 'locks'>, wantedM: number | null): SideScanReach {
  const heightM = sensor.heightM ?? Math.max(0.1, ground.depth.shallowestM - sensor.draftM);
  const deepHeightM = sensor.heightM ?? Math.max(0.1, ground.depth.deepestM - sensor.draftM);
  const byHeightM = heightM / HEIGHT_SHARE;
  const freeM = Math.min(sensor.mostRangeM, wantedM ?? byHeightM);
  const rangeM = ground.locks.rangeM ?? freeM;
  const notes: string[] = [];
  if (rangeM > sensor.mostRangeM) notes.push(`a range of ${short(rangeM)} m is more than the sensor's ${short(sensor.mostRangeM)} m`);
  if (heightM < LEAST_HEIGHT_SHARE * rangeM) notes.push(`${short(heightM)} m over the bottom is less than 8 % of the range of ${short(rangeM)} m: far echoes graze the bottom and fade; about ${short(byHeightM)} m a side is seen well`);
  if (deepHeightM > MOST_HEIGHT_SHARE * rangeM) notes.push(`${short(deepHeightM)} m over the bottom where it is deepest is more than 20 % of the range of ${short(rangeM)} m: shadows are short and the gap under it wide`);
  // The ground range is least, and the gap widest, where it is deepest.
  const farM = rangeM > deepHeightM ? Math.sqrt(rangeM * rangeM - deepHeightM * deepHeightM) : 0;
  const nearM = (sensor.nadirShare ?? NADIR_SHARE) * deepHeightM;
  if (!(farM > nearM)) notes.push(`at a range of ${short(rangeM)} m and ${short(deepHeightM)} m over the bottom nothing is left beside the gap under it: choose a longer range`);
  const why =
    wantedM !== null && freeM === wantedM
      ? 'as the objective asks'
      : freeM === sensor.mostRangeM
        ? `the most the sensor reaches`
        : `ten times its height over the bottom where it is shallowest (${short(heightM)} m)`;
  return { rangeM, range: { value: freeM, why, source: `${COMMON}; IHO C-13 ch. 4` }, nearM, farM, heightM: deepHeightM, notes };
}
