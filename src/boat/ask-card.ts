import type { BoatCard, CardFigure, CardFigureName } from './boat-card.js';

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

/** A function of the card's figures, with its 95 % from theirs: each moved by its own 95 % both ways, the half differences squared and summed. */
function answer(figures: Readonly<Record<Needed, CardFigure>>, from: readonly Needed[], unit: string, compute: (values: Values) => number): BoatAnswer {
  const values = Object.fromEntries(NEEDED.map((name) => [name, figures[name].value])) as Values;
  let variance = 0;
  for (const name of from) {
    const half = figures[name].uncertainty95;
    const low = Math.max(values[name] * 0.05, values[name] - half);
    const high = values[name] + half;
    variance += ((compute({ ...values, [name]: high }) - compute({ ...values, [name]: low })) / 2) ** 2;
  }
  // What rests on no figure of the card is as good as the question.
  const source = from.length === 0 ? 'hand' : from.map((name) => figures[name].source).reduce((weakest, one) => (RANK[one] < RANK[weakest] ? one : weakest));
  return { value: compute(values), uncertainty95: Math.sqrt(variance), unit, from, source };
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
    groundSpeed: answer(figures, [], 'm/s', () => ground(speedMps)),
    crabDeg: (-Math.asin((currentMps * Math.sin(angle)) / speedMps) * 180) / Math.PI,
    power: answer(figures, power, 'W', (values) => powerW(values, speedMps)),
    endurance: answer(figures, [...power, 'batteryEnergy'], 'h', (values) => enduranceH(values, speedMps)),
    range: answer(figures, [...power, 'batteryEnergy'], 'km', (values) => rangeKm(values, speedMps)),
    energyPerKm: answer(figures, power, 'Wh/km', (values) => powerW(values, speedMps) / (3.6 * ground(speedMps))),
    bestSpeed: answer(figures, [...power, 'topSpeed'], 'm/s', (values) => bestSpeedMps(values, question)),
    rangeAtBest: answer(figures, [...power, 'batteryEnergy', 'topSpeed'], 'km', (values) => rangeKm(values, bestSpeedMps(values, question))),
    stopAstern: answer(figures, ['stopAstern', 'coastLength', 'topSpeed'], 'm', (values) => (values.coastLength / 2) * Math.log(1 + speedMps ** 2 / (asternShare(values) * values.topSpeed ** 2))),
    coastTo10: answer(figures, ['coastLength'], 'm', (values) => values.coastLength * Math.LN10),
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
