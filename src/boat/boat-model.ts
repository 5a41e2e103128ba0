import { UseError } from '../base/errors.js';
import { CARD_FIGURES, type BoatCard, type CardFigure, type CardFigureName } from './boat-card.js';

/** The boat as numbers: what a planner, a rehearsal and a watch reckon with. Speeds through the water. */
export interface BoatModel {
  readonly topSpeedMps: number;
  /** tau in v = vmax tanh(t / tau) from rest at full ahead [s]. */
  readonly tauS: number;
  /** L in v = v0 / (1 + v0 t / L), thrusters off [m]. */
  readonly coastLengthM: number;
  /** Thrust astern over thrust ahead. */
  readonly asternShare: number;
  /** Yaw rate spinning on the spot [deg/s]. */
  readonly spinRateDegps: number;
  /** Yaw response: T [s] of T r' + r = K delta, delta in full differential command, K [1/s]. */
  readonly yawTS: number;
  readonly yawK: number;
  /** Steady diameter of a turn at a speed [m]. */
  turnDiameterM(speedMps: number): number;
  /** Share of a speed that is kept in that turn [1]; left out where no circle tells it. */
  turnSpeedKept?(speedMps: number): number;
  /** Cross-track error on straight legs: RMS and 95 % [m], and the way after a turn until within it [m]. */
  readonly trackRmsM: number;
  readonly track95M: number;
  readonly settleM: number;
  /** P = hotel + a v^n [W], its covariance [9] row-major in (hotel, a, n) of one standard error. */
  readonly hotelW: number;
  readonly powerCoefficient: number;
  readonly powerExponent: number;
  readonly powerCovariance: readonly number[];
  readonly batteryWh: number;
  readonly battery95Wh: number;
  readonly topSpeed95Mps: number;
  /** Figures that stand in for what was not measured, in plain words; the reader must be told. */
  readonly standIns: readonly string[];
}

const MUST: readonly CardFigureName[] = ['topSpeed', 'coastLength', 'stopAstern', 'hotelPower', 'powerCoefficient', 'powerExponent', 'batteryEnergy'];
/** For what only trials tell, until they do; cautious for the class (common practice, no source). */
const CAUTIOUS = { spinRate: 30, nomotoT: 1, trackRms: 0.7, settleDistance: 8, steadyDiameterM: 8 } as const;
const TO_SIGMA = 1 / 1.96;

/**
 * The boat's model from its card. What the card lacks of turning and track keeping is stood in for, cautiously, and named.
 *
 * tau = L / vmax (thrust against quadratic drag); astern share from the way to rest full astern,
 * (L/2) ln(1 + 1/r); without zig-zags K is the spin rate at full differential command.
 *
 * @throws UseError naming figures of speed, power or battery that the card lacks
 */
export function boatModel(card: BoatCard): BoatModel {
  const lacking = MUST.filter((name) => card.figures[name] === null);
  if (lacking.length > 0) {
    throw new UseError(`the boat card has no ${lacking.join(', ')}: run the trials that give them, enter them by hand (boat.hand), or let defaults stand in (boat.defaults)`, { path: 'boat/card.json' });
  }
  const figure = (name: CardFigureName): CardFigure => card.figures[name]!;
  const standIns: string[] = [];
  const orCautious = (name: 'spinRate' | 'nomotoT' | 'trackRms' | 'settleDistance', what: string, unit: string): number => {
    const known = card.figures[name];
    if (known !== null) return known.value;
    standIns.push(`${what} ${CAUTIOUS[name]} ${unit}`);
    return CAUTIOUS[name];
  };
  const defaults = MUST.filter((name) => figure(name).source === 'default');
  if (defaults.length > 0) standIns.push(`${defaults.map((name) => CARD_FIGURES[name].label).join(', ')}: usual for the class`);
  const topSpeedMps = figure('topSpeed').value;
  const coastLengthM = figure('coastLength').value;
  const spinRateDegps = Math.abs(orCautious('spinRate', 'yaw rate on the spot', 'deg/s'));
  const trackRmsM = orCautious('trackRms', 'cross-track error', 'm RMS');
  const circles = card.turning
    .map((one) => ({ atSpeedMps: one.atSpeedMps, diameterM: one.steadyDiameterM.value }))
    .filter((one) => Number.isFinite(one.diameterM))
    .sort((a, b) => a.atSpeedMps - b.atSpeedMps);
  const kept = card.turning.map((one) => one.speedKept.value).filter((value) => value > 0 && value <= 1);
  if (circles.length === 0) standIns.push(`turns of ${CAUTIOUS.steadyDiameterM} m diameter`);
  const sigma = (name: CardFigureName): number => (Number.isNaN(figure(name).uncertainty95) ? 0.2 * Math.abs(figure(name).value) : figure(name).uncertainty95) * TO_SIGMA;
  const powers = ['hotelPower', 'powerCoefficient', 'powerExponent'] as const;
  const together = card.powerCovariance !== undefined && card.powerCovariance !== null && powers.every((name) => figure(name).source === 'trials');
  const powerCovariance = together ? Array.from(card.powerCovariance!) : powers.flatMap((_row, i) => powers.map((name, j) => (i === j ? sigma(name) ** 2 : 0)));
  return {
    topSpeedMps,
    tauS: coastLengthM / topSpeedMps,
    coastLengthM,
    asternShare: 1 / Math.max(1e-3, Math.exp((2 * figure('stopAstern').value) / coastLengthM) - 1),
    spinRateDegps,
    yawTS: orCautious('nomotoT', 'yaw response T', 's'),
    yawK: card.figures.nomotoK?.value ?? (spinRateDegps * Math.PI) / 180,
    turnDiameterM: (speedMps) => diameterAt(circles, speedMps),
    // Alike at the speeds of the circles within what they are known to.
    ...(kept.length === 0 ? {} : { turnSpeedKept: () => kept.reduce((sum, value) => sum + value, 0) / kept.length }),
    trackRmsM,
    track95M: card.figures.track95?.value ?? 1.96 * trackRmsM,
    settleM: orCautious('settleDistance', 'settling after a turn', 'm'),
    hotelW: figure('hotelPower').value,
    powerCoefficient: figure('powerCoefficient').value,
    powerExponent: figure('powerExponent').value,
    powerCovariance,
    batteryWh: figure('batteryEnergy').value,
    battery95Wh: sigma('batteryEnergy') / TO_SIGMA,
    topSpeed95Mps: sigma('topSpeed') / TO_SIGMA,
    standIns,
  };
}

/** Straight between the circles' speeds, held beyond them; the wider side where both were made at a speed. */
function diameterAt(circles: readonly { readonly atSpeedMps: number; readonly diameterM: number }[], speedMps: number): number {
  if (circles.length === 0) return CAUTIOUS.steadyDiameterM;
  const above = circles.findIndex((one) => one.atSpeedMps >= speedMps);
  const high = circles[above < 0 ? circles.length - 1 : above]!;
  const low = above > 0 ? circles[above - 1]! : high;
  const span = high.atSpeedMps - low.atSpeedMps;
  if (span < 0.05 * high.atSpeedMps) return Math.max(low.diameterM, high.diameterM);
  return low.diameterM + ((high.diameterM - low.diameterM) * (speedMps - low.atSpeedMps)) / span;
}

/** Electrical power at a speed through the water, with one sigma from the card's covariance [W]. */
export function modelPower(model: BoatModel, speedMps: number): { readonly powerW: number; readonly sigmaW: number } {
  const { hotelW, powerCoefficient: a, powerExponent: n, powerCovariance } = model;
  const v = Math.max(0, speedMps);
  const share = v > 0 ? v ** n : 0;
  const slopes = [1, share, v > 0 ? a * share * Math.log(v) : 0];
  let variance = 0;
  for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) variance += slopes[i]! * slopes[j]! * powerCovariance[i * 3 + j]!;
  return { powerW: hotelW + a * share, sigmaW: Math.sqrt(Math.max(0, variance)) };
}
