import { chanceInPass, curveFromTally, type LateralRangeCurve, type RangeTally } from './lateral-range.js';

/**
 * Boxes planted on the proving ground's plain ground, half as high as wide, at all headings, and how many of the looks at them
 * were proposed with the default settings (half a false candidate a hectare): by ground range over the sonar's height above the floor.
 *
 * Sonar of 0.7 degrees, 40 m range, 512 samples, 8 pings a second at 1.5 m/s, 4 and 7.7 m above the floor, with every error of
 * the proving ground on. Measured by test/reference/finds/measure-curves.ts, 2026-11-26, seeds 101 to 110, which nothing was tuned on; what
 * counts as found: src/proving/find-truth.ts.
 */
export const PLANTED: readonly { readonly objectM: number; readonly bands: readonly (readonly [from: number, to: number, planted: number, found: number])[] }[] = [
  { objectM: 0.3, bands: [[0, 0.5, 15, 0], [0.5, 1, 14, 0], [1, 1.5, 23, 6], [1.5, 2, 23, 7], [2, 3, 38, 16], [3, 4, 36, 22], [4, 5, 42, 22], [5, 6, 11, 8], [6, 7, 15, 11], [7, 8, 13, 8], [8, 10, 25, 16]] },
  { objectM: 0.6, bands: [[0, 0.5, 14, 0], [0.5, 1, 14, 12], [1, 1.5, 22, 22], [1.5, 2, 13, 13], [2, 3, 42, 42], [3, 4, 50, 50], [4, 5, 29, 28], [5, 6, 12, 11], [6, 7, 15, 15], [7, 8, 13, 13], [8, 10, 30, 27]] },
  { objectM: 1, bands: [[0, 0.5, 6, 0], [0.5, 1, 17, 16], [1, 1.5, 18, 18], [1.5, 2, 25, 25], [2, 3, 41, 41], [3, 4, 35, 35], [4, 5, 44, 44], [5, 6, 10, 9], [6, 7, 12, 12], [7, 8, 18, 18], [8, 10, 26, 21]] },
  { objectM: 2, bands: [[0, 0.5, 13, 0], [0.5, 1, 10, 7], [1, 1.5, 21, 21], [1.5, 2, 19, 18], [2, 3, 47, 47], [3, 4, 41, 40], [4, 5, 50, 45], [5, 6, 11, 9], [6, 7, 21, 21], [7, 8, 16, 16], [8, 10, 18, 12]] },
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
