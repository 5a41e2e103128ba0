import { studentT95 } from './student.js';

/** A number with its standard error and how well that error is itself known. */
export interface Estimate {
  readonly value: number;
  /** One standard error. */
  readonly sigma: number;
  /** Degrees of freedom behind sigma; Infinity where it is known. */
  readonly dof: number;
}

/** What a figure could not be told from, and why, in plain words. */
export interface Refusal {
  readonly refused: string;
}

export function isRefused<T extends object>(result: T | Refusal): result is Refusal {
  return 'refused' in result && typeof result.refused === 'string';
}

/** Half width that holds the truth with 95 %. */
export function half95(estimate: Estimate): number {
  return studentT95(Math.max(1, estimate.dof)) * estimate.sigma;
}

/**
 * One estimate from several of the same thing: weighted mean, with a spread between them where they scatter more than their
 * own errors say.
 *
 * The variance between is the one that makes chi-square equal its expectation. Degrees of freedom come from the parts by the
 * Welch-Satterthwaite rule, the scatter between counting n - 1.
 *
 * @returns NaN of nothing; the estimate itself for one
 *
 * Source: Paule & Mandel (1982), J. Res. NBS 87(5), 377-385; Satterthwaite (1946), Biometrics Bulletin 2(6), 110-114.
 */
export function combine(estimates: readonly Estimate[]): Estimate {
  const n = estimates.length;
  if (n === 0) return { value: NaN, sigma: NaN, dof: 1 };
  if (n === 1) return estimates[0]!;
  const weigh = (between: number): { value: number; total: number; chi: number } => {
    let total = 0;
    let sum = 0;
    for (const { value, sigma } of estimates) {
      const weight = 1 / (sigma * sigma + between + 1e-300);
      total += weight;
      sum += weight * value;
    }
    const value = sum / total;
    let chi = 0;
    for (const one of estimates) chi += (one.value - value) ** 2 / (one.sigma ** 2 + between + 1e-300);
    return { value, total, chi };
  };
  let low = 0;
  let high = 0;
  for (const a of estimates) for (const b of estimates) high = Math.max(high, (a.value - b.value) ** 2);
  let between = 0;
  if (weigh(0).chi > n - 1) {
    for (let i = 0; i < 60; i++) {
      between = (low + high) / 2;
      if (weigh(between).chi > n - 1) low = between;
      else high = between;
    }
  }
  const { value, total } = weigh(between);
  const variance = 1 / total;
  let bottom = 0;
  let share = 0;
  for (const { sigma, dof } of estimates) {
    const weight = 1 / ((sigma * sigma + between + 1e-300) * total);
    const own = weight * weight * sigma * sigma;
    if (dof !== Infinity) bottom += (own * own) / Math.max(1, dof);
    share += weight * weight * between;
  }
  bottom += (share * share) / (n - 1);
  return { value, sigma: Math.sqrt(variance), dof: bottom > 0 ? Math.max(1, (variance * variance) / bottom) : Infinity };
}
