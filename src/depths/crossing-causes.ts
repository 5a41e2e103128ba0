import { solveSymmetric, invertSymmetric } from '../boat/curve-fit.js';
import { median, robustSigma } from '../base/robust.js';

/** How things stood on one run where it was crossed. Shape of every column: [count]. */
export interface CrossingSide {
  /** UTC [s]. */
  readonly timeS: Float64Array;
  /** Number of the run. */
  readonly line: Int32Array;
  /** Trip between two stays ashore, 0 for the first: draft may differ from one to the next. */
  readonly trip: Int32Array;
  /** Slope of the bottom ahead and to starboard, positive where it gets deeper, as tangents; NaN counts as level. */
  readonly alongSlope: Float64Array;
  readonly acrossSlope: Float64Array;
  /** Over the ground [m/s]. */
  readonly speedMps: Float64Array;
  /** Below the transducer [m]. */
  readonly belowM: Float64Array;
}

export interface CrossingStates {
  readonly count: number;
  /** Depth of B less depth of A, best with the noise of single soundings taken off (`smoothedDepths`) [m]. */
  readonly differenceM: Float64Array;
  /** What each difference is expected to be off by chance, one sigma, up to a factor common to all; left out: all alike [m]. */
  readonly sigmaM?: Float64Array;
  readonly a: CrossingSide;
  readonly b: CrossingSide;
}

/** What may lie behind differences at crossings. */
export type CauseKind = 'tide-time' | 'tide-range' | 'level-step' | 'trip-step' | 'latency' | 'offset-forward' | 'offset-starboard' | 'roll' | 'squat' | 'one-line';

/** A cause that the differences speak for. */
export interface CrossingCause {
  readonly kind: CauseKind;
  /**
   * What explains them: by how much the water level used runs late (tide-time) [s]; what its rise and fall is to be
   * multiplied by, less 1 (tide-range) [1]; depths after `timeS` read too deep by (level-step, trip-step), a line too deep by
   * (one-line) [m]; positions lag depths by (latency) [s]; the sounder sits further forward or to starboard than said
   * (offset-forward, offset-starboard) [m]; the beam points to starboard of the vertical (roll) [deg]; extra draft not allowed for, at 1 m/s, growing
   * with the square of speed (squat) [m].
   */
  readonly value: number;
  /** Half width of its 95 % interval, in the same unit. */
  readonly half95: number;
  readonly unit: 's' | '1' | 'm' | 'deg';
  /** Where the step is (level-step, trip-step) [s]; NaN otherwise. */
  readonly timeS: number;
  /** Trip that begins there (trip-step); line (one-line); -1 otherwise. */
  readonly trip: number;
  readonly line: number;
  /** Share of the differences' sum of squares that it takes away, 0..1. */
  readonly share: number;
  /** Other causes that explain the same differences about as well. */
  readonly alsoKinds: readonly CauseKind[];
}

export interface CauseOptions {
  /** Water level above datum that was used, at any time; NaN where not known [m]. Null where none was used. */
  readonly levelAt: ((timeS: Float64Array) => ArrayLike<number>) | null;
  /** A cause is named only where it moves the crossings it touches by at least this, root mean square [m]. */
  readonly leastM: number;
  /**
   * What the water level at the boat is allowed to differ from the level used, one sigma, slowly [m]; 0 unless given. Two
   * times differ by sqrt(2) of it: a step, a line or a tide that moves depths by no more than 95 % of that is in the claim.
   */
  readonly levelSwingM?: number;
}

/** Fewer crossings than this tell no cause. */
const LEAST_CROSSINGS = 8;
/**
 * Twice the gain in log likelihood that a cause must bring if it is the only one of its kind (p about 0.003); twice the
 * logarithm of how many of its kind are tried comes on top. Neighbouring steps are much alike and count half, and all shifts
 * of the tide for six.
 */
const LEAST_GAIN = 9;
const TIDE_TRIALS = 6;
/**
 * A range that is wrong looks much like a clock that is wrong over part of a tide, a line that happens to be off, or a step
 * in the middle of a trip, like another draft: they are the rarer mistakes.
 */
const RARELY_SO = 4;
const RARE: ReadonlySet<CauseKind> = new Set(['tide-range', 'one-line', 'level-step']);
/** Crossings further apart in time than this on their line have errors of their own: receivers wander over about a minute [s]. */
const WANDER_S = 60;
/** However alike neighbours are, some of it may be the cause itself. */
const MOST_ALIKE = 0.9;
/** What the water's own swing against the gauge looks like. A step between trips does too, but a draft is soon measured again. */
const SLOW: ReadonlySet<CauseKind> = new Set(['tide-time', 'tide-range', 'level-step', 'one-line']);
/** Gains that differ by less than this do not tell two causes apart (a likelihood ratio of 20). */
const SAME_GAIN = 6;
/** Most causes that are named for one survey. */
const MOST_CAUSES = 3;
/** The water level's clock is looked at this far to either side, in steps of this [s]. */
const TIDE_REACH_S = 3 * 3600;
const TIDE_STEP_S = 300;
/** A clock that is off by less moves depths by no more than a draft would, and is not told apart from one [s]. */
const TIDE_LEAST_S = 900;
/** Larger values than these are no plausible cause. */
const LARGEST: Readonly<Partial<Record<CauseKind, number>>> = { latency: 5, 'offset-forward': 10, 'offset-starboard': 10, roll: 20, squat: 0.3, 'tide-range': 2 };
const ROBUST_ROUNDS = 8;
/** Huber's constant: 95 % efficient on normal errors. */
const HUBER = 1.345;

interface Candidate {
  readonly kind: CauseKind;
  readonly column: Float64Array;
  readonly unit: CrossingCause['unit'];
  /** Multiplies the coefficient to give the value. */
  readonly scale: number;
  readonly timeS: number;
  readonly trip: number;
  readonly line: number;
  /** Of tide-time alone: the shift its column was made for [s]. */
  readonly shiftS: number;
}

/**
 * What stands behind differences at crossings: the causes that explain them better than chance.
 *
 * A survey's difference at a crossing is B's error less A's. Each cause gives an error of its own shape: a water level on a
 * wrong clock one that follows the tide's slope in time; a step in time after which everything is deeper; a latency or a
 * wrong offset one that follows the slope of the bottom on the way run (so it changes sign between lines run both ways);
 * squat one that grows with speed; one line that stands out by itself. Causes are taken up one after the other, each time
 * the one that gains most by a robust fit (Huber's weights) of all taken up so far, as long as its gain in log likelihood
 * is beyond chance for as many of its kind as were tried. What is the same on every line (draft all day, datum) cannot be seen at
 * crossings at all: that is what the bar check is for.
 *
 * @returns causes, the strongest first; empty where there are fewer than 8 crossings or nothing stands out
 *
 * Sources: Huber (1981), Robust Statistics, ch. 7; likelihood ratio with Bonferroni's correction, both textbook. Adjusting
 * lines to their crossings: common practice.
 */
export function crossingCauses(given: CrossingStates, options: CauseOptions): CrossingCause[] {
  if (given.count < LEAST_CROSSINGS) return [];
  const relative = relativeSigma(given);
  const states: CrossingStates = { ...given, differenceM: scaled(given.differenceM.subarray(0, given.count), relative) };
  const candidates = candidatesOf(given, options).map((one) => ({ ...one, column: scaled(one.column, relative) }));
  const neighbours = neighboursOf(given);
  const taken: Candidate[] = [];
  const causes: { candidate: Candidate; also: CauseKind[]; share: number }[] = [];
  const total = sumSquares(states.differenceM);
  const asked = (kind: CauseKind): number => {
    const ofKind = candidates.filter((one) => one.kind === kind).length;
    return (RARE.has(kind) ? RARELY_SO : 0) + LEAST_GAIN + 2 * Math.log(Math.max(1, kind === 'tide-time' ? TIDE_TRIALS : kind === 'level-step' ? ofKind / 2 : ofKind));
  };
  let before = fitOf([], states);
  while (taken.length < MOST_CAUSES) {
    const fitted = candidates
      .filter((one) => !taken.some((other) => clashes(one, other)))
      .flatMap((candidate) => {
        const fit = fitOf([...taken, candidate], states);
        return fit === null || !plausible(candidate, fit) ? [] : [{ candidate, fit, raw: gainOf(before!, fit, states.count) }];
      });
    if (fitted.length === 0) break;
    // What the likeliest of them leaves tells how alike neighbours are by nature; one measure for all, so that they compare.
    const worth = worthOf(fitted.reduce((p, q) => (q.raw - asked(q.candidate.kind) > p.raw - asked(p.candidate.kind) ? q : p)).fit.residual, neighbours);
    const tried = fitted.map(({ candidate, fit, raw }) => ({ candidate, fit, raw, gain: raw * worth - asked(candidate.kind) })).sort((p, q) => q.gain - p.gain);
    const best = tried[0];
    if (best === undefined) break;
    // Another draft after a stay ashore is the likeliest of mistakes and soon measured again: it is named sooner.
    const { kind } = best.candidate;
    if (!(best.gain > 0 || (kind === 'trip-step' && best.raw > asked(kind)))) break;
    const sizeM = Math.abs(best.fit.values.get(best.candidate)!) * Math.sqrt(sumSquares(best.candidate.column) / best.candidate.column.reduce((sum, one) => sum + (one === 0 ? 0 : 1), 0));
    if (sizeM < options.leastM) break;
    if (SLOW.has(kind) && sizeM < 1.96 * Math.SQRT2 * (options.levelSwingM ?? 0)) break;
    const also = new Set(tried.filter(({ gain, candidate }) => best.gain - gain < SAME_GAIN && candidate.kind !== kind).map(({ candidate }) => candidate.kind));
    // A step between trips is also one in time: that says nothing new.
    if (kind === 'trip-step') also.delete('level-step');
    taken.push(best.candidate);
    causes.push({ candidate: best.candidate, also: [...also], share: (before!.sumSquares - best.fit.sumSquares) / total });
    before = best.fit;
  }
  const final = fitOf(taken, states);
  if (final === null || taken.length === 0) return [];
  return causes.map(({ candidate, also, share }) => {
    const [value, half95] = candidate.kind === 'tide-time' ? shiftWithin(candidate, taken, candidates, states, final) : [final.values.get(candidate)! * candidate.scale, 1.96 * final.spread.get(candidate)! * Math.abs(candidate.scale)];
    return { kind: candidate.kind, value, half95, unit: candidate.unit, timeS: candidate.timeS, trip: candidate.trip, line: candidate.line, share, alsoKinds: also };
  });
}

/** The shift of the tide that fits best between those tried, and half the width within which the fit is not worse by 3.84 (likelihood profile). */
function shiftWithin(chosen: Candidate, taken: readonly Candidate[], candidates: readonly Candidate[], states: CrossingStates, final: CauseFit): [number, number] {
  const losses = new Map<number, number>();
  for (const candidate of candidates) {
    if (candidate.kind !== 'tide-time') continue;
    const fit = fitOf(taken.map((one) => (one === chosen ? candidate : one)), states);
    if (fit !== null) losses.set(candidate.shiftS, fit.loss(final.sigmaM) / final.sigmaM ** 2);
  }
  const at = (shiftS: number): number => losses.get(shiftS) ?? NaN;
  const [left, here, right] = [at(chosen.shiftS - TIDE_STEP_S), at(chosen.shiftS), at(chosen.shiftS + TIDE_STEP_S)];
  const curve = left - 2 * here + right;
  const value = curve > 0 ? chosen.shiftS + (TIDE_STEP_S * 0.5 * (left - right)) / curve : chosen.shiftS;
  const reach = (way: 1 | -1): number => {
    for (let step = 1; step * TIDE_STEP_S <= 2 * TIDE_REACH_S; step++) {
      const [inner, outer] = [at(chosen.shiftS + way * (step - 1) * TIDE_STEP_S), at(chosen.shiftS + way * step * TIDE_STEP_S)];
      if (!(outer - here < 3.84)) return Number.isNaN(outer) ? step * TIDE_STEP_S : (step - 1 + (3.84 - (inner - here)) / (outer - inner)) * TIDE_STEP_S;
    }
    return TIDE_REACH_S;
  };
  return [value, Math.max(reach(1), reach(-1))];
}

/** A fit of causes together. A shifted tide comes as it is; of the others the size is fitted. */
interface CauseFit extends Pick<RobustFit, 'sigmaM' | 'sumSquares' | 'loss' | 'residual'> {
  readonly values: ReadonlyMap<Candidate, number>;
  /** One sigma each. */
  readonly spread: ReadonlyMap<Candidate, number>;
}

function fitOf(list: readonly Candidate[], states: CrossingStates): CauseFit | null {
  const left = Float64Array.from(states.differenceM.subarray(0, states.count));
  const sized = list.filter((one) => one.kind !== 'tide-time');
  for (const one of list) if (one.kind === 'tide-time') for (let i = 0; i < left.length; i++) left[i] = left[i]! - one.column[i]!;
  const columns = sized.map(({ column }) => column);
  const fit = robustFit(columns, left);
  if (fit === null) return null;
  const spread = spreadOf(columns, fit);
  const values = new Map<Candidate, number>(list.map((one) => [one, 1]));
  sized.forEach((one, k) => values.set(one, fit.coefficients[k]!));
  return { sigmaM: fit.sigmaM, sumSquares: fit.sumSquares, loss: fit.loss, residual: fit.residual, values, spread: new Map(sized.map((one, k) => [one, spread[k]!])) };
}

/** Expected sizes of chance over their middle one, so that what is weighed stays in metres. */
function relativeSigma(states: CrossingStates): Float64Array {
  const sigmaM = states.sigmaM?.subarray(0, states.count);
  if (sigmaM === undefined) return new Float64Array(states.count).fill(1);
  const middle = median(sigmaM);
  return sigmaM.map((one) => (one > 0 && middle > 0 ? one / middle : 1));
}

function scaled(values: Float64Array, by: Float64Array): Float64Array {
  return values.map((value, i) => value / by[i]!);
}

/** What one side of a crossing would be off by, B less A. */
function between(states: CrossingStates, error: (side: CrossingSide, i: number) => number): Float64Array {
  return Float64Array.from({ length: states.count }, (_, i) => error(states.b, i) - error(states.a, i));
}

function candidatesOf(states: CrossingStates, options: CauseOptions): Candidate[] {
  const found: Candidate[] = [];
  const none = { timeS: NaN, trip: -1, line: -1, shiftS: NaN };
  const add = (kind: CauseKind, column: Float64Array, unit: Candidate['unit'], more: Partial<Candidate> = {}): void => {
    if (column.every(Number.isFinite) && sumSquares(column) > 0) found.push({ kind, column, unit, scale: 1, ...none, ...more });
  };
  const level = (value: number): number => (Number.isNaN(value) ? 0 : value);
  add('latency', between(states, (side, i) => side.speedMps[i]! * level(side.alongSlope[i]!)), 's');
  add('offset-forward', between(states, (side, i) => level(side.alongSlope[i]!)), 'm');
  add('offset-starboard', between(states, (side, i) => level(side.acrossSlope[i]!)), 'm');
  add('roll', between(states, (side, i) => side.belowM[i]! * level(side.acrossSlope[i]!)), 'deg', { scale: 180 / Math.PI });
  // More draft than allowed for reads too shoal.
  add('squat', between(states, (side, i) => -(side.speedMps[i]! ** 2)), 'm');
  addSteps(states, add);
  for (const line of new Set([...states.a.line, ...states.b.line])) {
    const column = between(states, (side, i) => (side.line[i] === line ? 1 : 0));
    if (column.reduce((sum, one) => sum + Math.abs(one), 0) >= 3) add('one-line', column, 'm', { line });
  }
  const { levelAt } = options;
  if (levelAt !== null) {
    const shifted = (shiftS: number): [ArrayLike<number>, ArrayLike<number>] => [
      levelAt(Float64Array.from(states.a.timeS, (timeS) => timeS + shiftS)),
      levelAt(Float64Array.from(states.b.timeS, (timeS) => timeS + shiftS)),
    ];
    const [usedA, usedB] = shifted(0);
    add('tide-range', Float64Array.from({ length: states.count }, (_, i) => usedB[i]! - usedA[i]!), '1');
    for (let shiftS = -TIDE_REACH_S; shiftS <= TIDE_REACH_S; shiftS += TIDE_STEP_S) {
      if (Math.abs(shiftS) < TIDE_LEAST_S) continue;
      const [atA, atB] = shifted(shiftS);
      // Depth used h(t) where h(t + shift) was right: too deep by h(t + shift) - h(t).
      add('tide-time', Float64Array.from({ length: states.count }, (_, i) => atB[i]! - usedB[i]! - (atA[i]! - usedA[i]!)), 's', { shiftS });
    }
  }
  return found;
}

/** Steps at every place in time between two crossings' lines; those between trips by the name of the trip. */
function addSteps(states: CrossingStates, add: (kind: CauseKind, column: Float64Array, unit: Candidate['unit'], more: Partial<Candidate>) => void): void {
  const sides = [...Array(states.count).keys()].flatMap((i) => [states.a, states.b].map((side) => ({ timeS: side.timeS[i]!, line: side.line[i]!, trip: side.trip[i]! })));
  sides.sort((p, q) => p.timeS - q.timeS);
  for (let i = 1; i < sides.length; i++) {
    const [left, right] = [sides[i - 1]!, sides[i]!];
    if (left.line === right.line && left.trip === right.trip) continue;
    const timeS = (left.timeS + right.timeS) / 2;
    const column = between(states, (side, at) => (side.timeS[at]! > timeS ? 1 : 0));
    if (column.reduce((sum, one) => sum + Math.abs(one), 0) < 4) continue;
    if (left.trip !== right.trip) add('trip-step', column, 'm', { timeS, trip: right.trip });
    else add('level-step', column, 'm', { timeS });
  }
}

/** Two of a kind that stand for the same thing are not both taken up. */
function clashes(one: Candidate, other: Candidate): boolean {
  if (one === other) return true;
  if (one.kind === 'one-line' || one.kind === 'level-step' || one.kind === 'trip-step') return one.kind === other.kind && one.line === other.line && one.timeS === other.timeS;
  return one.kind === other.kind;
}

function plausible(candidate: Candidate, fit: CauseFit): boolean {
  return Math.abs(fit.values.get(candidate)! * candidate.scale) <= (LARGEST[candidate.kind] ?? Infinity);
}

interface RobustFit {
  readonly coefficients: Float64Array;
  readonly weights: Float64Array;
  readonly sigmaM: number;
  readonly residual: Float64Array;
  /** Of the residuals, without weights. */
  readonly sumSquares: number;
  /** Of Huber's loss, on the scale of squares. */
  readonly loss: (sigmaM: number) => number;
}

function robustFit(columns: readonly Float64Array[], values: Float64Array): RobustFit | null {
  const n = values.length;
  const p = columns.length;
  const weights = new Float64Array(n).fill(1);
  let coefficients = new Float64Array(p);
  let residual = Float64Array.from(values);
  let sigmaM = scaleOf(residual);
  for (let round = 0; round < (p === 0 ? 1 : ROBUST_ROUNDS); round++) {
    if (p > 0) {
      const solved = solveWeighted(columns, values, weights);
      if (solved === null) return null;
      coefficients = Float64Array.from(solved);
      residual = Float64Array.from(values, (value, i) => value - columns.reduce((sum, column, k) => sum + coefficients[k]! * column[i]!, 0));
    }
    sigmaM = scaleOf(residual);
    for (let i = 0; i < n; i++) weights[i] = Math.min(1, (HUBER * sigmaM) / Math.max(Math.abs(residual[i]!), 1e-12));
  }
  const held = residual;
  return {
    coefficients,
    weights,
    sigmaM,
    residual: held,
    sumSquares: sumSquares(held),
    loss: (scaleM) => held.reduce((sum, one) => sum + (Math.abs(one) <= HUBER * scaleM ? one * one : 2 * HUBER * scaleM * Math.abs(one) - (HUBER * scaleM) ** 2), 0),
  };
}

/** About zero, not about the median: differences of a sound survey lie about zero. */
function scaleOf(residual: Float64Array): number {
  const mirrored = new Float64Array(2 * residual.length);
  for (let i = 0; i < residual.length; i++) {
    mirrored[2 * i] = residual[i]!;
    mirrored[2 * i + 1] = -residual[i]!;
  }
  return Math.max(robustSigma(mirrored), 1e-4);
}

function normalOf(columns: readonly Float64Array[], weights: Float64Array): Float64Array {
  const p = columns.length;
  const normal = new Float64Array(p * p);
  for (let k = 0; k < p; k++) {
    for (let l = 0; l <= k; l++) {
      let sum = 0;
      for (let i = 0; i < weights.length; i++) sum += weights[i]! * columns[k]![i]! * columns[l]![i]!;
      normal[k * p + l] = normal[l * p + k] = sum;
    }
  }
  return normal;
}

function solveWeighted(columns: readonly Float64Array[], values: Float64Array, weights: Float64Array): Float64Array | null {
  const right = columns.map((column) => values.reduce((sum, value, i) => sum + weights[i]! * column[i]! * value, 0));
  return solveSymmetric(normalOf(columns, weights), right, columns.length);
}

/** One sigma of each coefficient: Huber's covariance, for errors as large as the residuals are. */
function spreadOf(columns: readonly Float64Array[], fit: RobustFit): Float64Array {
  const p = columns.length;
  const inverse = invertSymmetric(normalOf(columns, fit.weights), p);
  const free = Math.max(1, fit.weights.length - p);
  const variance = fit.loss(fit.sigmaM) / free;
  return Float64Array.from({ length: p }, (_, k) => (inverse === null ? NaN : Math.sqrt(variance * inverse[k * p + k]!)));
}

/** Twice the gain in log likelihood of one fit over another, on the scale of the better one. */
function gainOf(before: CauseFit, after: CauseFit, count: number): number {
  return count * Math.log(before.loss(after.sigmaM) / Math.max(after.loss(after.sigmaM), 1e-12 * count));
}

/** Two crossings that follow each other on one line, and whether that line stands on the same side of both. */
interface Neighbours {
  readonly first: number;
  readonly second: number;
  readonly sign: 1 | -1;
}

/** Crossings that follow each other on a line within a time in which positions and waves wander little. */
function neighboursOf({ count, a, b }: CrossingStates): Neighbours[] {
  const sides = [...Array(count).keys()].flatMap((at) => [{ at, line: a.line[at]!, timeS: a.timeS[at]!, sign: -1 }, { at, line: b.line[at]!, timeS: b.timeS[at]!, sign: 1 }]);
  sides.sort((p, q) => p.line - q.line || p.timeS - q.timeS);
  return sides.flatMap((one, i) => {
    const next = sides[i + 1];
    return next === undefined || next.line !== one.line || next.timeS - one.timeS > WANDER_S ? [] : [{ first: one.at, second: next.at, sign: (one.sign * next.sign) as 1 | -1 }];
  });
}

/**
 * What one crossing is worth, 0..1, of one that has nothing to do with its neighbours: positions wander slowly, and so do
 * depths on a slope. (1 - r) / (1 + r) for residuals that are alike by r (Bartlett 1946; textbook for the mean of a series).
 */
function worthOf(residual: Float64Array, neighbours: readonly Neighbours[]): number {
  let products = 0;
  let squares = 0;
  for (const { first, second, sign } of neighbours) {
    products += sign * residual[first]! * residual[second]!;
    squares += (residual[first]! ** 2 + residual[second]! ** 2) / 2;
  }
  const alike = squares > 0 ? Math.max(0, Math.min(MOST_ALIKE, products / squares)) : 0;
  return (1 - alike) / (1 + alike);
}

function sumSquares(values: Float64Array): number {
  return values.reduce((sum, one) => sum + one * one, 0);
}
