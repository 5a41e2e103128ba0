/** How the errors of soundings hang together, one sigma. What is in neither part stays the same along a pass and differs from pass to pass. */
export interface ErrorParts {
  /** Of each sounding anew: constant [m], and share of the depth [1]. */
  readonly eachM: number;
  readonly eachShare: number;
  /** The same for all soundings of the survey, or for so long that neighbouring lines share it: constant [m], and share of the depth. */
  readonly commonM: number;
  readonly commonShare: number;
}

/** 95 % as a multiple of one sigma. */
const NINETY_FIVE2 = 1.96 ** 2;

/**
 * The parts of a sounding's squared uncertainty, 95 %: that of each sounding anew, and that which the survey has in common;
 * the rest (heave, position and time on a slope, the slope correction) is common to a pass over a cell and no more.
 *
 * @param tvu2 squared total uncertainty, 95 % [m2]; no part is larger
 */
export function partsOf({ eachM, eachShare, commonM, commonShare }: ErrorParts, depthM: number, tvu2: number): { readonly each2: number; readonly common2: number } {
  const common2 = Math.min(tvu2, NINETY_FIVE2 * (commonM * commonM + (commonShare * depthM) ** 2));
  const each2 = Math.min(tvu2 - common2, NINETY_FIVE2 * (eachM * eachM + (eachShare * depthM) ** 2));
  return { each2, common2 };
}

/** @throws RangeError for a part below 0 or without end */
export function checkErrorParts(parts: ErrorParts): void {
  for (const [name, value] of Object.entries(parts) as [string, number][]) {
    if (!(value >= 0 && value < Infinity)) throw new RangeError(`errorParts.${name} ${value}: expected 0 or more`);
  }
}
