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

/** Single trials do not show how far repeats scatter: their own errors count as this many degrees of freedom beside it. */
const TRUST_IN_ONE_TRIAL = 2;

/**
 * One estimate from several of the same thing: weighted mean, its variance moderated between what the estimates say of
 * themselves and how far they lie apart.
 *
 * Weights are of the estimates' own variances and a variance between them that makes chi-square equal its expectation. The
 * variance of the mean is the own one times (d + chi-square)/(d + n - 1), with d + n - 1 degrees of freedom: few repeats are
 * believed as far as their number goes, and one alone by d.
 *
 * @param trust d: degrees of freedom that the own errors count for; few where a trial cannot see what changes from one to the next
 * @returns NaN of nothing
 *
 * Source: Paule & Mandel (1982), J. Res. NBS 87(5), 377-385 (weights); Smyth (2004), Stat. Appl. Genet. Mol. Biol. 3(1), 3
 * (moderated variance).
 */
export function combine(estimates: readonly Estimate[], trust = TRUST_IN_ONE_TRIAL): Estimate {
  const n = estimates.length;
  if (n === 0) return { value: NaN, sigma: NaN, dof: 1 };
  const least = 1e-12 * Math.max(...estimates.map(({ value }) => Math.abs(value))) + 1e-300;
  const variances = estimates.map(({ sigma }) => Math.max(sigma, least) ** 2);
  const weigh = (between: number): { value: number; total: number; chi: number } => {
    let total = 0;
    let sum = 0;
    estimates.forEach(({ value }, i) => {
      const weight = 1 / (variances[i]! + between);
      total += weight;
      sum += weight * value;
    });
    const value = sum / total;
    let chi = 0;
    estimates.forEach((one, i) => (chi += (one.value - value) ** 2 / (variances[i]! + between)));
    return { value, total, chi };
  };
  let between = 0;
  if (n > 1 && weigh(0).chi > n - 1) {
    let low = 0;
    let high = 0;
    for (const a of estimates) for (const b of estimates) high = Math.max(high, (a.value - b.value) ** 2);
    for (let i = 0; i < 60; i++) {
      between = (low + high) / 2;
      if (weigh(between).chi > n - 1) low = between;
      else high = between;
    }
  }
  const { value, total } = weigh(between);
  let own = 0;
  let chi = 0;
  let slowest = Infinity;
  estimates.forEach((one, i) => {
    const weight = 1 / ((variances[i]! + between) * total);
    own += weight * weight * variances[i]!;
    chi += (one.value - value) ** 2 / variances[i]!;
    slowest = Math.min(slowest, one.dof);
  });
  const d = Math.max(1, Math.min(trust, n * slowest));
  return { value, sigma: Math.sqrt((own * (d + chi)) / (d + n - 1)), dof: d + n - 1 };
}

/**
 * Plain mean of several estimates whose own errors grow with their values (a root mean square, a way): weighing by those
 * errors would pull the mean down to the smallest.
 *
 * @param power 2 for root mean squares, which add as squares; 1 for others
 * @returns error from the scatter between them, moderated as in `combine`; NaN of nothing
 */
export function evenMean(estimates: readonly Estimate[], power: 1 | 2): Estimate {
  const n = estimates.length;
  if (n === 0) return { value: NaN, sigma: NaN, dof: 1 };
  let sum = 0;
  let own = 0;
  for (const { value, sigma } of estimates) {
    sum += value ** power / n;
    own += (power * value ** (power - 1) * sigma) ** 2 / n;
  }
  let scatter = 0;
  for (const { value } of estimates) scatter += (value ** power - sum) ** 2;
  const d = TRUST_IN_ONE_TRIAL;
  const variance = (d * own + scatter) / (d + n - 1) / n;
  const value = sum ** (1 / power);
  return { value, sigma: Math.sqrt(variance) / (power * value ** (power - 1)), dof: d + n - 1 };
}

/**
 * Repeats of one figure at several settings, their scatter pooled: a plain mean for each setting.
 *
 * What waves do to a boat differs from one repeat to the next and hardly shows within one, so that own errors are too small by
 * two to four and two repeats tell little of the scatter: all settings' repeats together tell it. The variance of one repeat is
 * (d m + S)/(d + nu), m the mean of the own variances, S the sum of squares about the means, nu the repeats beyond the first.
 *
 * @param scales how large the scatter is at a setting beside the others, [as many as sets]
 * @param trust d: degrees of freedom that the own errors count for; at least 1 where nothing was repeated
 * @returns one estimate a set, of d + nu degrees of freedom; NaN of an empty set
 *
 * Source: Smyth (2004), Stat. Appl. Genet. Mol. Biol. 3(1), 3 (moderated variance).
 */
export function combineSets(sets: readonly (readonly Estimate[])[], scales: readonly number[], trust = TRUST_IN_ONE_TRIAL): Estimate[] {
  let own = 0;
  let squares = 0;
  let total = 0;
  let spare = 0;
  const means = sets.map((set) => set.reduce((sum, { value }) => sum + value, 0) / set.length);
  sets.forEach((set, i) => {
    for (const { value, sigma } of set) {
      own += (sigma / scales[i]!) ** 2;
      squares += ((value - means[i]!) / scales[i]!) ** 2;
      total++;
    }
    spare += Math.max(0, set.length - 1);
  });
  const d = spare > 0 ? trust : Math.max(1, trust);
  const dof = d + spare;
  const variance = (d * (own / total) + squares) / dof;
  return sets.map((set, i) => (set.length === 0 ? { value: NaN, sigma: NaN, dof: 1 } : { value: means[i]!, sigma: Math.sqrt(variance / set.length) * scales[i]!, dof }));
}
