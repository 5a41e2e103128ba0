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

/**
 * Logs in feet or fathoms that were read as metres: where two logs sounded the same place, one depth is 3.28 times, or 0.547
 * times, the other. Measured depths are compared, before tide and draft, so the ratio may be a tenth off.
 */
export function unitSuspects(soundings: Pick<Soundings, 'n' | 'xM' | 'yM' | 'measuredM' | 'log' | 'reason'>): UnitSuspect[] {
  const cells = new Map<string, Map<number, { sum: number; count: number }>>();
  for (let i = 0; i < soundings.n; i++) {
    if (!Number.isFinite(soundings.xM[i]!) || !(soundings.measuredM[i]! > 0)) continue;
    const key = `${Math.floor(soundings.xM[i]! / CELL_M)} ${Math.floor(soundings.yM[i]! / CELL_M)}`;
    const logs = cells.get(key) ?? new Map<number, { sum: number; count: number }>();
    const mean = logs.get(soundings.log[i]!) ?? { sum: 0, count: 0 };
    mean.sum += soundings.measuredM[i]!;
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
      list.push(one.sum / one.count / (two.sum / two.count));
      ratios.set(key, list);
    }
  }
  const found: UnitSuspect[] = [];
  for (const [key, list] of ratios) {
    if (list.length < LEAST_PLACES) continue;
    list.sort((a, b) => a - b);
    const ratio = list[list.length >> 1]!;
    const spread = list[Math.floor(0.75 * list.length)]! / list[Math.floor(0.25 * list.length)]!;
    const unit = Math.abs(ratio / (1 / 0.3048) - 1) < 0.12 ? 'feet' : Math.abs(ratio / (1 / 1.8288) - 1) < 0.12 ? 'fathoms' : null;
    if (unit === null || spread > 1.2) continue;
    const [log, against] = key.split(' ').map(Number) as [number, number];
    found.push({ log, against, ratio, places: list.length, unit });
  }
  return found;
}
