/** How the errors of soundings hang together, one sigma. What is in none of the parts is that of places on slopes. */
export interface ErrorParts {
  /** Of each sounding anew: constant [m], and share of the depth measured [1]. */
  readonly eachM: number;
  readonly eachShare: number;
  /** Common to a boat's pass over a cell, and another on the next pass: heave [m]. */
  readonly passM: number;
  /** Common to the survey, or for so long that neighbouring lines share it: draft, squat, water level, separation [m], and sound speed as a share of the depth measured [1]. */
  readonly commonM: number;
  readonly commonShare: number;
  /** How much more than the depth below datum the instrument measures: draft taken off, water level added [m]. */
  readonly deeperM: number;
}

/** Squared parts of an uncertainty, 95 % [m2]. */
export interface SquaredParts {
  /** Of each sounding anew. */
  readonly each2: number;
  /** What a mean over neighbouring lines cannot be relied on to take off: the common part, and that of places on slopes whole. */
  readonly lasting2: number;
  /** What two soundings of neighbouring lines do not share, each sounding's own included: of that of places on slopes a half. */
  readonly apart2: number;
}

/** 95 % as a multiple of one sigma. */
const NINETY_FIVE2 = 1.96 ** 2;

/**
 * The parts of a sounding's squared uncertainty.
 *
 * A receiver's error wanders over minutes, so that neighbouring lines share some of it, and so some of what it makes of a slope;
 * the same goes for latency and the slope correction. Half is taken to be shared; where that would make a claim smaller, all.
 *
 * @param tvu2 squared total uncertainty, 95 % [m2]; the parts are never more together
 */
export function partsOf({ eachM, eachShare, passM, commonM, commonShare, deeperM }: ErrorParts, depthM: number, tvu2: number): SquaredParts {
  const measuredM = depthM + deeperM;
  const each2 = Math.min(tvu2, NINETY_FIVE2 * (eachM * eachM + (eachShare * measuredM) ** 2));
  const pass2 = Math.min(tvu2 - each2, NINETY_FIVE2 * passM * passM);
  const common2 = Math.min(tvu2 - each2 - pass2, NINETY_FIVE2 * (commonM * commonM + (commonShare * measuredM) ** 2));
  const slope2 = tvu2 - each2 - pass2 - common2;
  return { each2, lasting2: common2 + slope2, apart2: each2 + pass2 + slope2 / 2 };
}

/** @throws RangeError for a part below 0 or without end, a `deeperM` without end */
export function checkErrorParts(parts: ErrorParts): void {
  for (const [name, value] of Object.entries(parts) as [string, number][]) {
    if (!(name === 'deeperM' ? Number.isFinite(value) : value >= 0 && value < Infinity)) throw new RangeError(`errorParts.${name} ${value}: expected 0 or more`);
  }
}
