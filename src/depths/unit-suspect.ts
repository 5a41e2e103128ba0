import type { Soundings } from './soundings.js';

/** Two logs whose depths differ by the ratio of two units. */
export interface UnitSuspect {
  /** Logs by index: `log` looks to be in another unit than `against`. */
  readonly log: number;
  readonly against: number;
  /** Depth of `log` over that of `against` where both sounded one place, and at how many places. */
  readonly ratio: number;
  readonly places: number;
  /** What its numbers would be if `against` is in metres. */
  readonly unit: 'feet' | 'fathoms';
}

/** Places of this size are held against each other [m]. */
const CELL_M = 3;
const LEAST_PLACES = 5;
/** How near the ratio must be to that of a unit: a second echo, twice as deep, is none. */
const NEAR = 0.07;

interface Mean {
  sum: number;
  level: number;
  count: number;
}

/**
 * Logs in feet or fathoms that were read as metres: where two logs sounded the same place, one depth is 3.28 times, or 0.547
 * times, the other. Measured depths are compared, the second brought to the water level of the first.
 *
 * @param soundings waterLevelM: what was taken off, in metres whatever the depths are in
 * Source: 1 ft = 0.3048 m exactly, a fathom is 6 ft.
 */
export function unitSuspects(soundings: Pick<Soundings, 'n' | 'xM' | 'yM' | 'measuredM' | 'waterLevelM' | 'log'>): UnitSuspect[] {
  const cells = new Map<string, Map<number, Mean>>();
  for (let i = 0; i < soundings.n; i++) {
    if (!Number.isFinite(soundings.xM[i]!) || !(soundings.measuredM[i]! > 0)) continue;
    const key = `${Math.floor(soundings.xM[i]! / CELL_M)} ${Math.floor(soundings.yM[i]! / CELL_M)}`;
    const logs = cells.get(key) ?? new Map<number, Mean>();
    const mean = logs.get(soundings.log[i]!) ?? { sum: 0, level: 0, count: 0 };
    mean.sum += soundings.measuredM[i]!;
    mean.level += soundings.waterLevelM[i]! || 0;
    mean.count++;
    logs.set(soundings.log[i]!, mean);
    cells.set(key, logs);
  }
  const ratios = new Map<string, number[]>();
  for (const logs of cells.values()) {
    for (const [a, one] of logs) for (const [b, two] of logs) {
      if (a === b) continue;
      const key = `${a} ${b}`;
      const list = ratios.get(key) ?? [];
      const deeperM = one.level / one.count - two.level / two.count;
      list.push(one.sum / one.count / Math.max(0.1, two.sum / two.count + deeperM));
      ratios.set(key, list);
    }
  }
  const found: UnitSuspect[] = [];
  for (const [key, list] of ratios) {
    if (list.length < LEAST_PLACES) continue;
    list.sort((a, b) => a - b);
    const ratio = list[list.length >> 1]!;
    const spread = list[Math.floor(0.75 * list.length)]! / list[Math.floor(0.25 * list.length)]!;
    const unit = Math.abs(ratio * 0.3048 - 1) < NEAR ? 'feet' : Math.abs(ratio * 1.8288 - 1) < NEAR ? 'fathoms' : null;
    if (unit === null || spread > 1.2) continue;
    const [log, against] = key.split(' ').map(Number) as [number, number];
    found.push({ log, against, ratio, places: list.length, unit });
  }
  return found;
}
