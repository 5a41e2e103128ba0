/**
 * Chance of seeing an object of a size in one pass, by how far to the side it lies: the lateral range curve of search theory.
 *
 * Kept by ground range over the sonar's height above the floor, which is the cotangent of the grazing angle: what decides the
 * echo and the shadow. Straight between the points, 0 before the first and after the last.
 */
export interface LateralRangeCurve {
  /** Size of the objects it holds for, across [m]. */
  readonly objectM: number;
  /** Ground range over height [1], rising, and the chance there [0..1]. Shape of both: [n]. */
  readonly rangeByHeight: readonly number[];
  readonly chance: readonly number[];
  /** Where it comes from, in words: measured on what, or set by hand. */
  readonly source: string;
}

/** @throws RangeError where the curve is no curve */
export function checkedCurve(curve: LateralRangeCurve): LateralRangeCurve {
  const { rangeByHeight, chance } = curve;
  if (rangeByHeight.length !== chance.length || rangeByHeight.length < 2) throw new RangeError(`lateral range curve: ${rangeByHeight.length} ranges and ${chance.length} chances: expected the same number, two or more`);
  rangeByHeight.forEach((range, i) => {
    if (!(range >= 0) || (i > 0 && !(range > rangeByHeight[i - 1]!))) throw new RangeError(`lateral range curve: range ${i + 1} is ${range}: expected 0 or more, rising`);
  });
  const bad = chance.find((one) => !(one >= 0 && one <= 1));
  if (bad !== undefined) throw new RangeError(`lateral range curve: chance ${bad}: expected 0 to 1`);
  return curve;
}

/** Chance of seeing an object in one pass at a ground range to one side [0..1]; 0 outside the curve. NaN where an input is NaN. */
export function chanceInPass({ rangeByHeight, chance }: LateralRangeCurve, groundM: number, heightM: number): number {
  const at = groundM / heightM;
  if (Number.isNaN(at)) return NaN;
  const n = rangeByHeight.length;
  if (at < rangeByHeight[0]! || at > rangeByHeight[n - 1]!) return 0;
  let low = 0;
  let high = n - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (rangeByHeight[middle]! <= at) low = middle;
    else high = middle;
  }
  const span = rangeByHeight[high]! - rangeByHeight[low]!;
  return chance[low]! + ((at - rangeByHeight[low]!) / span) * (chance[high]! - chance[low]!);
}

/**
 * Sweep width: the integral of the lateral range curve over both sides [m], to the end of the range where one is given.
 *
 * Source: Koopman (1946), Search and Screening, OEG Report 56, ch. 2; Soza & Co. for USCG (1996). A curve of 1 out to r gives 2 r.
 */
export function sweepWidthM(curve: LateralRangeCurve, heightM: number, endGroundM = Infinity): number {
  const { rangeByHeight } = curve;
  const end = Math.min(endGroundM / heightM, rangeByHeight[rangeByHeight.length - 1]!);
  let sum = 0;
  for (let i = 1; i < rangeByHeight.length; i++) {
    const from = rangeByHeight[i - 1]!;
    const to = Math.min(rangeByHeight[i]!, end);
    if (to <= from) break;
    sum += ((chanceInPass(curve, from * heightM, heightM) + chanceInPass(curve, to * heightM, heightM)) / 2) * (to - from);
  }
  return 2 * sum * heightM;
}

/** Objects planted and found in one band of ranges. */
export interface RangeTally {
  /** Ground range over height, from and to [1]. */
  readonly from: number;
  readonly to: number;
  readonly planted: number;
  readonly found: number;
}

/**
 * A curve from objects that were planted: the share found at the middle of each band, bands without objects left out; it is 0 at
 * the outer edges of the first and the last band.
 *
 * @throws RangeError where fewer than two bands have objects, or more are found than planted
 */
export function curveFromTally(objectM: number, tally: readonly RangeTally[], source: string): LateralRangeCurve {
  const used = tally.filter(({ planted }) => planted > 0);
  const wrong = used.find(({ planted, found }) => !(found >= 0 && found <= planted));
  if (wrong !== undefined) throw new RangeError(`lateral range tally: ${wrong.found} found of ${wrong.planted}`);
  if (used.length < 2) throw new RangeError(`lateral range tally: objects in ${used.length} bands: expected two or more`);
  const first = used[0]!;
  const last = used[used.length - 1]!;
  return checkedCurve({
    objectM,
    rangeByHeight: [first.from, ...used.map(({ from, to }) => (from + to) / 2), last.to],
    chance: [0, ...used.map(({ planted, found }) => found / planted), 0],
    source,
  });
}

/**
 * 95 % limits of a chance from so many found of so many planted.
 * Source: Wilson (1927), J. Am. Stat. Assoc. 22, 209-212. Check: 0 of 10: 0 to 0.2775; 9 of 10: 0.5958 to 0.9821.
 */
export function chanceLimits95(found: number, planted: number): [low: number, high: number] {
  if (planted === 0) return [0, 1];
  const z2 = 1.959963984540054 ** 2;
  const share = found / planted;
  const middle = (share + z2 / (2 * planted)) / (1 + z2 / planted);
  const half = (Math.sqrt(z2) * Math.sqrt((share * (1 - share)) / planted + z2 / (4 * planted * planted))) / (1 + z2 / planted);
  return [Math.max(0, middle - half), Math.min(1, middle + half)];
}
