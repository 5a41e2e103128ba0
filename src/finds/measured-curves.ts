import { chanceInPass, curveFromTally, type LateralRangeCurve, type RangeTally } from './lateral-range.js';

/**
 * Boxes planted on the proving ground's plain ground, half as high as wide, at all headings, and how many of the looks at them
 * were proposed with the default settings (1 false candidate a hectare): by ground range over the sonar's height above the floor.
 *
 * Sonar of 0.7 degrees, 40 m range, 512 samples, 8 pings a second at 1.5 m/s, 4 and 7.7 m above the floor, with every error of
 * the proving ground on. Measured by test/reference/finds/measure-curves.ts, 2026-11-25, seeds 1 to 8.
 */
export const PLANTED: readonly { readonly objectM: number; readonly bands: readonly (readonly [from: number, to: number, planted: number, found: number])[] }[] = [
  { objectM: 0.3, bands: [[0, 0.5, 6, 0], [0.5, 1, 17, 0], [1, 1.5, 15, 0], [1.5, 2, 26, 2], [2, 3, 33, 3], [3, 4, 41, 13], [4, 5, 43, 6], [5, 6, 14, 2], [6, 7, 14, 4], [7, 8, 14, 4], [8, 10, 27, 6]] },
  { objectM: 0.6, bands: [[0, 0.5, 13, 1], [0.5, 1, 9, 9], [1, 1.5, 13, 13], [1.5, 2, 17, 17], [2, 3, 43, 42], [3, 4, 44, 44], [4, 5, 40, 34], [5, 6, 15, 14], [6, 7, 15, 14], [7, 8, 12, 11], [8, 10, 24, 21]] },
  { objectM: 1, bands: [[0, 0.5, 14, 2], [0.5, 1, 18, 15], [1, 1.5, 15, 15], [1.5, 2, 15, 15], [2, 3, 35, 35], [3, 4, 33, 32], [4, 5, 35, 33], [5, 6, 14, 11], [6, 7, 19, 17], [7, 8, 13, 13], [8, 10, 18, 13]] },
  { objectM: 2, bands: [[0, 0.5, 9, 0], [0.5, 1, 14, 10], [1, 1.5, 18, 18], [1.5, 2, 23, 21], [2, 3, 33, 30], [3, 4, 38, 26], [4, 5, 40, 34], [5, 6, 14, 7], [6, 7, 10, 5], [7, 8, 8, 6], [8, 10, 31, 20]] },
];

/**
 * The lateral range curve for a size, as measured on planted objects; between the sizes that were planted straight between their
 * chances, and that of the smallest or the largest beyond them.
 */
export function measuredCurve(objectM: number): LateralRangeCurve {
  const curves = PLANTED.map(({ objectM: size, bands }) => {
    const tally = bands.map(([from, to, planted, found]): RangeTally => ({ from, to, planted, found }));
    // The outer edge is where planting ended, not where objects stop being seen.
    const curve = curveFromTally(size, tally, '');
    return { ...curve, chance: curve.chance.map((chance, i) => (i === curve.chance.length - 1 ? curve.chance[i - 1]! : chance)) };
  });
  const above = curves.findIndex((curve) => curve.objectM >= objectM);
  const high = curves[above < 0 ? curves.length - 1 : above]!;
  const low = above > 0 ? curves[above - 1]! : high;
  const share = high === low ? 0 : (objectM - low.objectM) / (high.objectM - low.objectM);
  const sizes = high === low ? `boxes of ${high.objectM} m` : `boxes of ${low.objectM} and ${high.objectM} m`;
  return {
    objectM,
    rangeByHeight: high.rangeByHeight,
    chance: high.rangeByHeight.map((at, i) => (1 - share) * chanceInPass(low, at, 1) + share * high.chance[i]!),
    source: `measured on ${sizes} planted on the proving ground, plain ground: on rippled or rocky ground less is found; plant objects of your own and set finds.curve`,
  };
}
