import type { SeaBedObject } from './sea-bed-objects.js';
import type { ObjectLook, SideScanTruth } from './side-scan-truth.js';

/**
 * What counts as found and as false, wherever finds or sightings are held against the truth.
 *
 * A find, or a sighting, is of an object where it lies no further from the object's edge than 2 m: its own error and what the sonar's
 * place is off by. An object is found where one is of it; a look has found where a sighting of that pass and side is of its object.
 * False is what is of no object, planted or natural: of each object any number may be, since a second one beside it misleads nobody.
 *
 * False ones are told by two areas. A hectare looked over is a hectare of floor in one pass of one side: the detector works on each
 * by itself, and what is asked of it is by this hectare. A hectare of floor counts once, however often it is looked over.
 */
export const BESIDE_M = 2;

/** How far from its middle something may lie and be of an object [m]. */
export function objectReach({ lengthM, widthM }: Pick<SeaBedObject, 'lengthM' | 'widthM'>): number {
  return BESIDE_M + 0.5 * Math.max(lengthM, widthM);
}

/** Whether a place is that of an object. */
export function isOfObject(xM: number, yM: number, object: Pick<SeaBedObject, 'xM' | 'yM' | 'lengthM' | 'widthM'>): boolean {
  return Math.hypot(xM - object.xM, yM - object.yM) <= objectReach(object);
}

/** Straight under the sonar nothing is told apart: looks nearer than this share of its height are not clear. */
const UNDER_SHARE = 0.5;
/** Of a shadow so much is enough to see it [m]. */
const SHADOW_M = 1.5;

/** A look from a line at a ping that was heard. Only these count. */
export function isLook(look: ObjectLook, { silent }: Pick<SideScanTruth, 'silent'>): boolean {
  return look.line >= 0 && silent[look.record] === 0;
}

/** A look that can be asked to find: not straight under the sonar, and with its shadow, or a good metre of it, within range. */
export function isClearLook(look: ObjectLook, truth: Pick<SideScanTruth, 'silent'>, rangeM: number): boolean {
  return isLook(look, truth) && look.groundM >= UNDER_SHARE * look.heightM && look.slantM + Math.min(look.shadowM, SHADOW_M) <= rangeM;
}

/** Floor that was looked over [ha]: each pass of each side by itself, and each square metre of it once. */
export interface LookedOver {
  readonly lookedHa: number;
  readonly floorHa: number;
}

/**
 * Floor within range of pings, by square metres.
 *
 * @param use whether a ping was looked at; pings further apart than 2 m along the way, or turned by more than 20 degrees, are not joined
 * @param reachM ground range looked at, each side
 */
export function lookedOver(pings: { readonly n: number; readonly xM: ArrayLike<number>; readonly yM: ArrayLike<number>; readonly headingDeg: ArrayLike<number> }, use: (row: number) => boolean, reachM: (row: number) => number): LookedOver {
  const seen = new Set<number>();
  let lookedM2 = 0;
  let before = -1;
  for (let row = 0; row < pings.n; row++) {
    if (!use(row) || !Number.isFinite(pings.xM[row]! + pings.yM[row]! + pings.headingDeg[row]!)) continue;
    const [x, y] = [pings.xM[row]!, pings.yM[row]!];
    const reach = reachM(row);
    if (before >= 0) {
      const way = Math.hypot(x - pings.xM[before]!, y - pings.yM[before]!);
      const turned = Math.abs(((pings.headingDeg[row]! - pings.headingDeg[before]! + 540) % 360) - 180);
      if (way <= 2 && turned <= 20) lookedM2 += 2 * reach * way;
    }
    before = row;
    const heading = (pings.headingDeg[row]! * Math.PI) / 180;
    for (let out = -reach; out <= reach; out += 0.5) seen.add(Math.round(x + out * Math.cos(heading)) * 1e7 + Math.round(y - out * Math.sin(heading)));
  }
  return { lookedHa: lookedM2 / 1e4, floorHa: seen.size / 1e4 };
}
