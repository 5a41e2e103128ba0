import type { BoatCard, CardFigure, CardFigureName, TurningFigures } from './boat-card.js';

/** What the boat is asked: to run at a speed through the water on a course over the ground, in a current. */
export interface BoatQuestion {
  readonly speedMps: number;
  /** Course over the ground, true [deg]. */
  readonly courseDeg: number;
  /** Current: speed [m/s] and the direction it sets towards, true [deg]. */
  readonly currentMps: number;
  readonly currentSetDeg: number;
  /** Share of the battery's energy kept for coming home, 0 up to but not including 1. */
  readonly reserveShare: number;
}

/** An answer with its worth; the figures of the card it rests on. */
export interface BoatAnswer {
  readonly value: number;
  /** Half width that holds the truth with 95 %; NaN where a figure it rests on does not state its own. */
  readonly uncertainty95: number;
  readonly unit: string;
  readonly from: readonly CardFigureName[];
  /** The weakest source it rests on: default before hand before trials. */
  readonly source: CardFigure['source'];
}

export interface BoatAnswers {
  readonly groundSpeed: BoatAnswer;
  /** Angle of the bow to windward of the course, to starboard positive [deg]. */
  readonly crabDeg: number;
  readonly power: BoatAnswer;
  readonly endurance: BoatAnswer;
  readonly range: BoatAnswer;
  readonly energyPerKm: BoatAnswer;
  /** Speed through the water that makes the most distance on this course in this current. */
  readonly bestSpeed: BoatAnswer;
  readonly rangeAtBest: BoatAnswer;
  readonly stopAstern: BoatAnswer;
  readonly coastTo10: BoatAnswer;
  /** Tactical diameter to the side that turns tighter, between the speeds of the turning circles; null where none was made. */
  readonly tightestTurn: (BoatAnswer & { readonly side: 'port' | 'starboard'; readonly note: string }) | null;
}

/** Why the boat cannot do it, in plain words, or the answers. */
export type BoatReply = { readonly can: false; readonly why: string } | { readonly can: true; readonly answers: BoatAnswers; readonly notes: readonly string[] };

const NEEDED = ['topSpeed', 'hotelPower', 'powerCoefficient', 'powerExponent', 'batteryEnergy', 'coastLength', 'stopAstern'] as const;
type Needed = (typeof NEEDED)[number];
type Values = Record<Needed, number>;

/** Best speed is looked for down to this share of top speed. */
const SLOWEST_SHARE = 0.02;

/**
 * Speed over the ground along a course from the speed through the water, by steering into the current.
 * @returns [m/s]; NaN where the current across the course is as fast as the boat
 * Source: the current triangle; ground speed sqrt(V^2 - cn^2) + ct.
 */
export function groundSpeedMps(speedMps: number, courseDeg: number, currentMps: number, currentSetDeg: number): number {
  const angle = ((currentSetDeg - courseDeg) * Math.PI) / 180;
  const across = currentMps * Math.sin(angle);
  const rest = speedMps * speedMps - across * across;
  return rest <= 0 ? NaN : Math.sqrt(rest) + currentMps * Math.cos(angle);
}

/** Electrical power at a speed through the water: P = hotel + a v^n [W]. */
export function powerW(values: Pick<Values, 'hotelPower' | 'powerCoefficient' | 'powerExponent'>, speedMps: number): number {
  return values.hotelPower + values.powerCoefficient * speedMps ** values.powerExponent;
}

/**
 * The speed through the water that costs least energy per metre over the ground: least P(v)/(speed over ground).
 * Golden section between where the boat just makes way and top speed; the top speed where that is least.
 * @returns [m/s]; NaN where not even top speed makes way
 */
export function bestSpeedMps(values: Values, question: BoatQuestion): number {
  const cost = (v: number): number => {
    const ground = groundSpeedMps(v, question.courseDeg, question.currentMps, question.currentSetDeg);
    return ground > 0 ? powerW(values, v) / ground : Infinity;
  };
  if (cost(values.topSpeed) === Infinity) return NaN;
  const ratio = (Math.sqrt(5) - 1) / 2;
  let low = SLOWEST_SHARE * values.topSpeed;
  let high = values.topSpeed;
  // Below the slowest speed that makes way the cost is infinite on both probes: the interval closes from below.
  let a = high - ratio * (high - low);
  let b = low + ratio * (high - low);
  let costA = cost(a);
  let costB = cost(b);
  for (let i = 0; i < 100; i++) {
    if (costA < costB) {
      high = b;
      b = a;
      costB = costA;
      a = high - ratio * (high - low);
      costA = cost(a);
    } else {
      low = a;
      a = b;
      costA = costB;
      b = low + ratio * (high - low);
      costB = cost(b);
    }
  }
  const found = (low + high) / 2;
  return cost(found) <= cost(values.topSpeed) ? found : values.topSpeed;
}

const RANK = { default: 0, hand: 1, trials: 2 } as const;

const FITTED: readonly Needed[] = ['hotelPower', 'powerCoefficient', 'powerExponent'];
/** Covariances are of one standard error, figures of 95 %. */
const TO_95 = 1.96 ** 2;

/**
 * A function of the card's figures, with its 95 % from theirs: each moved by its own 95 % both ways, the half differences
 * squared and summed. Where the power figures come from one fit their covariance is told in: apart they are worth far less.
 */
function answer(card: BoatCard, from: readonly Needed[], unit: string, compute: (values: Values) => number): BoatAnswer {
  const figures = card.figures as Readonly<Record<Needed, CardFigure>>;
  const values = Object.fromEntries(NEEDED.map((name) => [name, figures[name].value])) as Values;
  const covariance = card.powerCovariance ?? null;
  const together = covariance !== null && FITTED.every((name) => figures[name].source === 'trials');
  const difference = (name: Needed, half: number): number => {
    const low = Math.max(values[name] * 0.05, values[name] - half);
    return (compute({ ...values, [name]: values[name] + half }) - compute({ ...values, [name]: low })) / (values[name] + half - low);
  };
  let variance = 0;
  for (const name of from) {
    if (together && FITTED.includes(name)) continue;
    const half = figures[name].uncertainty95;
    if (half !== 0) variance += (difference(name, half) * half) ** 2;
  }
  if (together && from.includes('powerCoefficient')) {
    const slopes = FITTED.map((name, i) => difference(name, Math.max(1e-6 * Math.abs(values[name]), Math.sqrt(covariance[i * 4]!) / 10)));
    for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) variance += TO_95 * slopes[i]! * slopes[j]! * covariance[i * 3 + j]!;
  }
  // What rests on no figure of the card is as good as the question.
  const source = from.length === 0 ? 'hand' : from.map((name) => figures[name].source).reduce((weakest, one) => (RANK[one] < RANK[weakest] ? one : weakest));
  return { value: compute(values), uncertainty95: Math.sqrt(variance), unit, from, source };
}

/** Tactical diameter at a speed on the tighter side, straight between turning circles and held beyond them. */
function tightestTurn(turning: readonly TurningFigures[], speedMps: number): BoatAnswers['tightestTurn'] {
  const sides = (['port', 'starboard'] as const).flatMap((side) => {
    const circles = turning.filter((one) => one.side === side && !Number.isNaN(one.tacticalDiameterM.value)).sort((a, b) => a.atSpeedMps - b.atSpeedMps);
    if (circles.length === 0) return [];
    const above = circles.findIndex((one) => one.atSpeedMps >= speedMps);
    const high = circles[above < 0 ? circles.length - 1 : above]!;
    const low = above > 0 ? circles[above - 1]! : high;
    const share = high === low ? 0 : (speedMps - low.atSpeedMps) / (high.atSpeedMps - low.atSpeedMps);
    const value = low.tacticalDiameterM.value * (1 - share) + high.tacticalDiameterM.value * share;
    const uncertainty95 = Math.hypot(low.tacticalDiameterM.uncertainty95 * (1 - share), high.tacticalDiameterM.uncertainty95 * share);
    const outside = speedMps < circles[0]!.atSpeedMps * 0.9 || speedMps > circles[circles.length - 1]!.atSpeedMps * 1.1;
    return [{ value, uncertainty95, unit: 'm', from: [], source: high.tacticalDiameterM.source, side, note: outside ? `no circle was made at this speed: that of ${high.atSpeedMps.toFixed(2)} m/s` : '' }];
  });
  return sides.sort((a, b) => a.value - b.value)[0] ?? null;
}

/**
 * What the boat can do at a speed in a current.
 *
 * Endurance is usable energy less the reserve over power; range is endurance times speed over ground. From a speed v the way
 * to rest full astern is (L/2) ln(1 + v^2/(r vmax^2)) with r told from the card's way at top speed, and the way coasting to a
 * tenth of it L ln 10. Uncertainties are those of the card's figures, taken as independent.
 *
 * @throws RangeError for a question that is no number, a speed not positive, a current below 0, a reserve outside 0..1
 */
export function askCard(card: BoatCard, question: BoatQuestion): BoatReply {
  checkQuestion(question);
  const lacking = NEEDED.filter((name) => card.figures[name] === null);
  if (lacking.length > 0) return { can: false, why: `the boat card has no ${lacking.join(', ')}: run the trials that give them, enter them by hand (boat.hand), or let defaults stand in (boat.defaults)` };
  const figures = card.figures as Readonly<Record<Needed, CardFigure>>;
  const { speedMps, courseDeg, currentMps, currentSetDeg, reserveShare } = question;
  if (speedMps > figures.topSpeed.value) return { can: false, why: `${speedMps} m/s is faster than the boat: its top speed is ${figures.topSpeed.value.toFixed(2)} m/s (${figures.topSpeed.source})` };
  const ground = (v: number): number => groundSpeedMps(v, courseDeg, currentMps, currentSetDeg);
  if (!(ground(speedMps) > 0)) {
    const top = ground(figures.topSpeed.value);
    return { can: false, why: `at ${speedMps} m/s the boat makes no way on this course: the current of ${currentMps} m/s is stronger${top > 0 ? `; at top speed it would make ${top.toFixed(2)} m/s` : ', even at top speed: wait for it to ease'}` };
  }
  const power: Needed[] = ['hotelPower', 'powerCoefficient', 'powerExponent'];
  const enduranceH = (values: Values, v: number): number => (values.batteryEnergy * (1 - reserveShare)) / powerW(values, v);
  const rangeKm = (values: Values, v: number): number => enduranceH(values, v) * 3.6 * ground(v);
  const asternShare = (values: Values): number => 1 / (Math.exp((2 * values.stopAstern) / values.coastLength) - 1);
  const angle = ((currentSetDeg - courseDeg) * Math.PI) / 180;
  const answers: BoatAnswers = {
    groundSpeed: answer(card, [], 'm/s', () => ground(speedMps)),
    crabDeg: (-Math.asin((currentMps * Math.sin(angle)) / speedMps) * 180) / Math.PI,
    power: answer(card, power, 'W', (values) => powerW(values, speedMps)),
    endurance: answer(card, [...power, 'batteryEnergy'], 'h', (values) => enduranceH(values, speedMps)),
    range: answer(card, [...power, 'batteryEnergy'], 'km', (values) => rangeKm(values, speedMps)),
    energyPerKm: answer(card, power, 'Wh/km', (values) => powerW(values, speedMps) / (3.6 * ground(speedMps))),
    bestSpeed: answer(card, [...power, 'topSpeed'], 'm/s', (values) => bestSpeedMps(values, question)),
    rangeAtBest: answer(card, [...power, 'batteryEnergy', 'topSpeed'], 'km', (values) => rangeKm(values, bestSpeedMps(values, question))),
    stopAstern: answer(card, ['stopAstern', 'coastLength', 'topSpeed'], 'm', (values) => (values.coastLength / 2) * Math.log(1 + speedMps ** 2 / (asternShare(values) * values.topSpeed ** 2))),
    coastTo10: answer(card, ['coastLength'], 'm', (values) => values.coastLength * Math.LN10),
    tightestTurn: tightestTurn(card.turning, speedMps),
  };
  const defaults = NEEDED.filter((name) => figures[name].source === 'default');
  const notes = defaults.length === 0 ? [] : [`rests on figures usual for the class, not measured on this boat: ${defaults.join(', ')}`];
  return { can: true, answers, notes };
}

function checkQuestion(question: BoatQuestion): void {
  const { speedMps, courseDeg, currentMps, currentSetDeg, reserveShare } = question;
  if (!(speedMps > 0 && Number.isFinite(speedMps))) throw new RangeError(`speedMps ${speedMps}: expected more than 0`);
  if (!Number.isFinite(courseDeg)) throw new RangeError(`courseDeg ${courseDeg}: expected degrees`);
  if (!(currentMps >= 0 && Number.isFinite(currentMps))) throw new RangeError(`currentMps ${currentMps}: expected 0 or more`);
  if (!Number.isFinite(currentSetDeg)) throw new RangeError(`currentSetDeg ${currentSetDeg}: expected degrees`);
  if (!(reserveShare >= 0 && reserveShare < 1)) throw new RangeError(`reserveShare ${reserveShare}: expected 0 up to but not including 1`);
}

/** Energy, endurance and range at one speed of a sweep. Shape of every column: [n]; 95 % beside each. */
export interface SpeedSweep {
  readonly speedMps: Float64Array;
  readonly enduranceH: Float64Array;
  readonly endurance95H: Float64Array;
  readonly rangeKm: Float64Array;
  readonly range95Km: Float64Array;
  readonly energyWhPerKm: Float64Array;
  readonly energy95WhPerKm: Float64Array;
}

/**
 * Endurance, range and energy over the ground against speed through the water: a curve to plot.
 * @returns NaN where the boat makes no way; null where the card lacks a figure. Throws as `askCard`.
 */
export function sweepSpeeds(card: BoatCard, question: Omit<BoatQuestion, 'speedMps'>, speedsMps: ArrayLike<number>): SpeedSweep | null {
  const n = speedsMps.length;
  if (NEEDED.some((name) => card.figures[name] === null)) return null;
  const column = (): Float64Array => new Float64Array(n).fill(NaN);
  const sweep = { speedMps: Float64Array.from(speedsMps), enduranceH: column(), endurance95H: column(), rangeKm: column(), range95Km: column(), energyWhPerKm: column(), energy95WhPerKm: column() };
  for (let i = 0; i < n; i++) {
    const reply = askCard(card, { ...question, speedMps: speedsMps[i]! });
    if (!reply.can) continue;
    const { endurance, range, energyPerKm } = reply.answers;
    sweep.enduranceH[i] = endurance.value;
    sweep.endurance95H[i] = endurance.uncertainty95;
    sweep.rangeKm[i] = range.value;
    sweep.range95Km[i] = range.uncertainty95;
    sweep.energyWhPerKm[i] = energyPerKm.value;
    sweep.energy95WhPerKm[i] = energyPerKm.uncertainty95;
  }
  return sweep;
}
