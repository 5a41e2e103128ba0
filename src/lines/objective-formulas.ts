import type { SearchLaw } from './objective.js';

/** Width of the bottom a beam or fan covers at a depth below it [m]: 2 d tan(angle / 2). Source: IHO C-13 ch. 3. */
export function footprintM(depthM: number, angleDeg: number): number {
  return 2 * depthM * Math.tan((angleDeg * Math.PI) / 360);
}

/** Time between pings at a slant range [s]: 2 R / c. Source: IHO C-13 ch. 4, F = c / (2 Rm). */
export function pingPeriodS(rangeM: number, soundMps: number): number {
  return (2 * rangeM) / soundMps;
}

/**
 * The fastest an object along the track is still hit N times [m/s]: from L = V t (N - 1) - Bw, or L = V t N - Bw in the stricter form.
 *
 * @param beamDeg along the track; atRangeM slant range to the object, where the beam is `Bw = Rs phi` wide
 * Source: IHO C-13 ch. 4, eqs. 4.1 and 4.2. Check: N 5, t 0.2 s, 1.5 deg at 25 m: 3 m object 4.57 m/s, 1 m object 2.067 m/s.
 */
export function speedForHitsMps(lengthM: number, hits: number, periodS: number, beamDeg: number, atRangeM: number, strict = false): number {
  const beamM = (atRangeM * beamDeg * Math.PI) / 180;
  return (lengthM + beamM) / (periodS * (strict ? hits : hits - 1));
}

/**
 * The widest spacing of parallel lines at which every place between them is seen at least `folds` times by two side-looking
 * beams that see from `nearM` to `farM` across the track, so that each gap under the boat is seen from the lines beside it.
 *
 * Every closer spacing does as well, so that lines which come together leave nothing out. For one fold it is farM. Found by
 * counting between the edges of all strips.
 * @returns [m]; NaN where farM is not beyond nearM
 */
export function spacingForFolds(nearM: number, farM: number, folds: number): number {
  if (!(farM > nearM)) return NaN;
  const seen = (spacingM: number): number => {
    const lines = Math.ceil(farM / spacingM) + 1;
    const edges: number[] = [];
    for (let i = -lines; i <= lines; i++) for (const side of [-1, 1]) for (const reach of [nearM, farM]) edges.push(i * spacingM + side * reach);
    const marks = [0, spacingM, ...edges.filter((edge) => edge > 0 && edge < spacingM)].sort((a, b) => a - b);
    let least = Infinity;
    for (let k = 0; k + 1 < marks.length; k++) {
      if (marks[k + 1]! - marks[k]! < 1e-6 * spacingM) continue;
      const y = (marks[k]! + marks[k + 1]!) / 2;
      let count = 0;
      for (let i = -lines; i <= lines; i++) {
        const off = Math.abs(y - i * spacingM);
        if (off >= nearM && off <= farM) count++;
      }
      least = Math.min(least, count);
    }
    return least;
  };
  // Each side's strip holds a line at least every spacing: from there up, until some place is missed.
  const step = farM / 400;
  let spacing = (farM - nearM) / Math.ceil(folds / 2);
  while (seen(spacing + step) >= folds) spacing += step;
  return spacing;
}

/**
 * Chance of finding an object at a coverage C = sweep width x track length / area, for parallel lines sweep width / spacing.
 * Source: Koopman (1946), OEG Report 56; Soza & Co. for USCG (1996). Check: C 0.5, 1, 2: random 0.3935, 0.6321, 0.8647; inverse
 * cube 0.4691, 0.7899, 0.9878; definite min(1, C).
 */
export function chanceOfFinding(coverage: number, law: SearchLaw): number {
  if (law === 'random') return 1 - Math.exp(-coverage);
  if (law === 'definite') return Math.min(1, coverage);
  return erf((Math.sqrt(Math.PI) * coverage) / 2);
}

/** The coverage that gives a chance. @throws RangeError for a chance of 0 or less, or of 1 or more (definite: more than 1) */
export function coverageForChance(chance: number, law: SearchLaw): number {
  const top = law === 'definite' ? chance <= 1 : chance < 1;
  if (!(chance > 0 && top)) throw new RangeError(`chance ${chance}: expected more than 0 and ${law === 'definite' ? 'at most' : 'less than'} 1`);
  if (law === 'random') return -Math.log(1 - chance);
  if (law === 'definite') return chance;
  let lo = 0;
  let hi = 8;
  for (let i = 0; i < 80; i++) {
    const middle = (lo + hi) / 2;
    if (chanceOfFinding(middle, law) < chance) lo = middle;
    else hi = middle;
  }
  return hi;
}

/** The error function, to about 1e-15: its series below 2.5, the continued fraction of its complement above (Abramowitz & Stegun 7.1.6, 7.1.14). */
export function erf(x: number): number {
  if (x < 0) return -erf(-x);
  if (x < 2.5) {
    let term = x;
    let sum = x;
    for (let n = 1; n < 100 && Math.abs(term) > 1e-17 * Math.abs(sum); n++) {
      term *= (2 * x * x) / (2 * n + 1);
      sum += term;
    }
    return ((2 * sum) / Math.sqrt(Math.PI)) * Math.exp(-x * x);
  }
  let fraction = 0;
  for (let n = 60; n >= 1; n--) fraction = n / 2 / (x + fraction);
  return 1 - Math.exp(-x * x) / Math.sqrt(Math.PI) / (x + fraction);
}
