/** Depths a chart may choose its tints from [m]. */
const CANDIDATES_M = [0.5, 1, 2, 5, 10, 20, 30, 50, 100, 200, 500, 1000];

/**
 * Three depths at which the tint changes: the deepest standard depth inside the survey and the two shoaler ones.
 *
 * @param deepestM deepest depth of the survey [m]
 * @returns shoal to deep, e.g. [2, 5, 10] for a survey down to 13 m; the shoalest three where the survey is shoaler than them
 *
 * Source: common practice (depth tints at a few standard contours, the darkest where it matters most).
 */
export function dangerDepths(deepestM: number): readonly [number, number, number] {
  let at = 2;
  for (let i = 2; i < CANDIDATES_M.length; i++) if ((CANDIDATES_M[i] ?? Infinity) < deepestM) at = i;
  return [CANDIDATES_M[at - 2] ?? 0.5, CANDIDATES_M[at - 1] ?? 1, CANDIDATES_M[at] ?? 2];
}
