/** Round numbers for axes, scale bars and chart scales. */

/** The largest of 1, 2, 5 times a power of ten that is not above a value. NaN or not positive: NaN. */
export function niceBelow(value: number): number {
  if (!(value > 0) || !Number.isFinite(value)) return NaN;
  const power = 10 ** Math.floor(Math.log10(value) + 1e-9);
  for (const factor of [5, 2, 1]) if (factor * power <= value * (1 + 1e-9)) return factor * power;
  return power;
}

/** The smallest of 1, 2, 5 times a power of ten that is not below a value. */
export function niceAbove(value: number): number {
  const below = niceBelow(value);
  if (!(below < value * (1 - 1e-9))) return below;
  return niceBelow(below * 2.5001);
}

/** Multiples of a step in [min, max], in order. */
export function multiplesIn(min: number, max: number, step: number): number[] {
  const out: number[] = [];
  if (!(step > 0) || !(max >= min) || (max - min) / step > 10_000) return out;
  for (let k = Math.ceil(min / step - 1e-9); k <= Math.floor(max / step + 1e-9); k++) out.push(k * step);
  return out;
}

/** Decimals that a step needs: 0.05 needs 2. */
export function decimalsOf(step: number): number {
  return step >= 1 || !(step > 0) ? 0 : Math.min(6, Math.ceil(-Math.log10(step) - 1e-9));
}

const TIME_STEPS_S = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400];

/** The smallest usual step of time of at least so many seconds; whole days beyond a day. */
export function niceTimeStep(atLeastS: number): number {
  return TIME_STEPS_S.find((step) => step >= atLeastS) ?? Math.ceil(atLeastS / 86400) * 86400;
}

const SCALES = [1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 7.5, 10];

/** The largest usual chart scale (smallest number under the line) at which a length fits: at least 1:100. */
export function niceScale(atLeast: number): number {
  if (!(atLeast > 100)) return 100;
  const power = 10 ** Math.floor(Math.log10(atLeast));
  const factor = SCALES.find((each) => each * power >= atLeast * (1 - 1e-9)) ?? 10;
  return Math.round(factor * power);
}
