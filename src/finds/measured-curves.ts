import { curveFromTally, type LateralRangeCurve, type RangeTally } from './lateral-range.js';

/** x. */
export const PLANTED: readonly { readonly objectM: number; readonly bands: readonly (readonly [from: number, to: number, planted: number, found: number])[] }[] = [
  { objectM: 0.6, bands: [[0, 0.5, 13, 1], [0.5, 1, 9, 9], [1, 2, 30, 30], [2, 3, 43, 42], [3, 4, 44, 44], [4, 5, 40, 36], [5, 7, 30, 28], [7, 10, 36, 33]] },
];

export function measuredCurve(objectM: number): LateralRangeCurve {
  const tallies = PLANTED[0]!.bands.map(([from, to, planted, found]): RangeTally => ({ from, to, planted, found }));
  return curveFromTally(objectM, tallies, 'proving ground');
}
