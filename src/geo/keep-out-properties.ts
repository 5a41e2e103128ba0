import { UseError } from '../base/errors.js';
import type { FeatureProperties } from './features.js';
import type { KeepOut } from './keep-out.js';
import { boundsOfPolygons, pointInPolygon } from './ring.js';
import type { Polygon } from './shapes.js';

/** What a feature of plan/keepouts.geojson may say of itself beside its shape. */
export type KeepOutProperties = FeatureProperties;

/** A polygon of plan/keepouts.geojson with what its feature says of it; nothing where it is closed always, as the shore is. */
export interface DrawnKeepOut extends Polygon {
  readonly said?: KeepOutProperties;
}

/** A longer name is cut: it stands on the chart. */
const MOST_NAME = 80;

/** Places a side at which the depth under a keep-out is looked up. */
const LOOKS = 60;

/**
 * The properties of a keep-out that mean something, checked: `name`, `clearanceM`, and one of `dryingHeightM`, `depthM` or
 * `byTide` (the least depth on it is then that of the bottom known to the survey).
 * @throws UseError naming the keep-out, the property, what was expected and found
 */
export function keepOutProperties(said: Readonly<Record<string, unknown>>, where: string): KeepOutProperties {
  const number = (name: string, least: number): number | undefined => {
    const value = said[name];
    if (value === undefined || value === null) return undefined;
    if (typeof value !== 'number' || !(value >= least && value < 1e5)) {
      throw new UseError(`${where}: ${name}: expected metres${least >= 0 ? ', 0 or more' : ''}, found ${JSON.stringify(value)}; mend it, or take it out`, { path: where, expected: 'metres', found: JSON.stringify(value) });
    }
    return value;
  };
  const clearanceM = number('clearanceM', 0);
  const dryingHeightM = number('dryingHeightM', -1e5);
  const depthM = number('depthM', -1e5);
  const byTide = said['byTide'];
  if (byTide !== undefined && byTide !== null && typeof byTide !== 'boolean') throw new UseError(`${where}: byTide: expected true or false, found ${JSON.stringify(byTide)}; mend it, or take it out`, { path: where });
  if (dryingHeightM !== undefined && depthM !== undefined && Math.abs(dryingHeightM + depthM) > 1e-9) {
    throw new UseError(`${where}: dryingHeightM ${dryingHeightM} and depthM ${depthM}: expected one of the two, the height it dries above the datum or the least depth on it below; take one out`, { path: where });
  }
  const name = said['name'];
  return {
    ...(typeof name === 'string' && name.trim() !== '' ? { name: name.trim().slice(0, MOST_NAME) } : {}),
    ...(clearanceM === undefined ? {} : { clearanceM }),
    ...(dryingHeightM === undefined ? {} : { dryingHeightM }),
    ...(depthM === undefined ? {} : { depthM }),
    ...(byTide === true ? { byTide: true } : {}),
  };
}

/**
 * A keep-out as planning has it. One by tide without a depth of its own takes the least of the bottom under it; where that
 * is not known all over it, it stays closed.
 */
export function keepOutOf(polygon: Polygon, properties: KeepOutProperties, bottomDepthM: ((xM: number, yM: number) => number) | null): KeepOut {
  const { clearanceM, dryingHeightM, depthM, byTide } = properties;
  const leastDepthM = typeof depthM === 'number' ? depthM : typeof dryingHeightM === 'number' ? -dryingHeightM : byTide === true ? leastUnder(polygon, bottomDepthM) : undefined;
  return { ...polygon, ...(typeof clearanceM === 'number' ? { clearanceM } : {}), ...(leastDepthM === undefined ? {} : { leastDepthM }) };
}

/** Keep-outs as drawn, as planning has them. @param bottomDepthM the bottom known to the survey; null: not known */
export function keepOutsOf(drawn: readonly DrawnKeepOut[], bottomDepthM: ((xM: number, yM: number) => number) | null): KeepOut[] {
  return drawn.map(({ outer, holes, said = {} }) => keepOutOf({ outer, holes }, said, bottomDepthM));
}

/** NaN where any place under it is not known. */
function leastUnder(polygon: Polygon, bottomDepthM: ((xM: number, yM: number) => number) | null): number {
  if (bottomDepthM === null) return NaN;
  const box = boundsOfPolygons([polygon]);
  let least = Infinity;
  for (let i = 0; i <= LOOKS; i++) {
    for (let k = 0; k <= LOOKS; k++) {
      const x = box.westM + ((box.eastM - box.westM) * i) / LOOKS;
      const y = box.southM + ((box.northM - box.southM) * k) / LOOKS;
      if (!pointInPolygon(polygon, x, y)) continue;
      const depthM = bottomDepthM(x, y);
      if (Number.isNaN(depthM)) return NaN;
      least = Math.min(least, depthM);
    }
  }
  return least < Infinity ? least : NaN;
}
