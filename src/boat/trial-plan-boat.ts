import type { BoatCard, CardFigure, CardFigureName } from './boat-card.js';
import { defaultFigures } from './default-figures.js';
import { WANTED_95 } from './trial-plan-accuracy.js';
import type { TrialAim, TrialPlanRequest } from './trial-plan-shape.js';
import { studentT95 } from './student.js';

/** The boat as far as a plan of trials needs it: from the card, else what is usual for the class. */
export interface PlanBoat {
  readonly topMps: number;
  readonly surveyMps: number;
  readonly tauS: number;
  readonly coastLengthM: number;
  readonly stopM: number;
  readonly spinDegps: number;
  readonly batteryWh: number;
  /** Steady diameter of a turn [m]: the widest known, else cautious. */
  readonly turnM: number;
  speedAt(commandPct: number): number;
  commandFor(speedMps: number): number;
  powerW(speedMps: number): number;
  /** Way from rest until the speed is steady [m], and its time [s]. */
  runUp(speedMps: number): { readonly wayM: number; readonly timeS: number };
}

/** For what only trials tell, until they do; cautious for the class (common practice, no source). */
const CAUTIOUS = { turnM: 8, spinDegps: 40 } as const;
/** The speed has reached its end this many time constants after the order: tanh 3 = 0.995. */
const STEADY_TAUS = 3;
/** By hand or by autopilot onto the line, besides the speed [s]. */
const ONTO_LINE_S = 5;

/** @param surveyMps wanted; held to top speed */
export function planBoat(card: BoatCard, surveyMps: number): PlanBoat {
  const usual = defaultFigures(card.massKg);
  const value = (name: CardFigureName): number => card.figures[name]?.value ?? usual[name]!.value;
  const topMps = value('topSpeed');
  const tauS = value('coastLength') / topMps;
  const curve = card.commandToSpeed.filter((point) => point.commandPct > 0 && point.value > 0);
  const speedAt = (commandPct: number): number => {
    const above = curve.findIndex((point) => point.commandPct >= commandPct);
    if (curve.length === 0) return (topMps * commandPct) / 100;
    // Thrust goes about with the square of the command, as drag does with that of the speed: straight through the origin.
    if (above <= 0) {
      const end = curve[above === 0 ? 0 : curve.length - 1]!;
      return Math.min(topMps, (end.value * commandPct) / end.commandPct);
    }
    const [low, high] = [curve[above - 1]!, curve[above]!];
    return low.value + ((high.value - low.value) * (commandPct - low.commandPct)) / (high.commandPct - low.commandPct);
  };
  const commandFor = (speedMps: number): number => {
    let [low, high] = [0, 100];
    for (let i = 0; i < 40; i++) {
      const middle = (low + high) / 2;
      if (speedAt(middle) < speedMps) low = middle;
      else high = middle;
    }
    return Math.round(high / 5) * 5 || 5;
  };
  const diameters = card.turning.map((one) => one.steadyDiameterM.value).filter((each) => Number.isFinite(each));
  return {
    topMps,
    surveyMps: Math.min(surveyMps, topMps),
    tauS,
    coastLengthM: value('coastLength'),
    stopM: value('stopAstern'),
    spinDegps: Math.abs(card.figures.spinRate?.value ?? CAUTIOUS.spinDegps),
    batteryWh: value('batteryEnergy'),
    turnM: diameters.length === 0 ? CAUTIOUS.turnM : Math.max(...diameters),
    speedAt,
    commandFor,
    powerW: (speedMps) => value('hotelPower') + value('powerCoefficient') * speedMps ** value('powerExponent'),
    runUp(speedMps) {
      // With thrust for v the time constant is L / v.
      const timeS = (STEADY_TAUS * value('coastLength')) / speedMps + ONTO_LINE_S;
      return { wayM: speedMps * timeS, timeS };
    },
  };
}

/** Why a figure is to be measured, e.g. `missing` or `±14 % where 10 % is wanted`; empty where the card is good enough. */
export function lackOf(figure: CardFigure | null, wanted95: number): string {
  if (figure === null) return 'missing';
  if (figure.source === 'default') return 'not measured yet';
  if (Number.isNaN(wanted95)) return '';
  if (Number.isNaN(figure.uncertainty95)) return 'its uncertainty is not stated';
  const share = Math.abs(figure.uncertainty95 / figure.value);
  return share > wanted95 ? `±${(100 * share).toFixed(share < 0.1 ? 1 : 0)} % where ${(100 * wanted95).toFixed(0)} % is wanted` : '';
}

/** What is wanted of each figure: as asked for, else `WANTED_95`. @throws RangeError for a share that is not between 0 and 1 */
export function wantedOf(request: Pick<TrialPlanRequest, 'accuracy'>): (aim: TrialAim) => number {
  const asked = request.accuracy ?? {};
  for (const [aim, share] of Object.entries(asked)) {
    if (!(aim in WANTED_95)) throw new RangeError(`accuracy.${aim}: no such figure; figures are: ${Object.keys(WANTED_95).join(', ')}`);
    if (!(share > 0 && share < 1)) throw new RangeError(`accuracy.${aim} ${share}: expected a share between 0 and 1, e.g. 0.05`);
  }
  return (aim) => asked[aim] ?? WANTED_95[aim];
}

/** Figures by names short enough for a table. */
const SHORT: Readonly<Record<CardFigureName, string>> = {
  topSpeed: 'top speed',
  timeTo63: 'time to 63 %',
  timeTo90: 'time to 90 %',
  timeTo95: 'time to 95 %',
  distanceTo90: 'way to 90 %',
  coastLength: 'coasting length',
  coastTo10: 'coasting way',
  stopAstern: 'way to stop',
  stopAsternTime: 'time to stop',
  spinRate: 'yaw rate on the spot',
  spinWander: 'wander of the pivot',
  nomotoK: 'yaw response K',
  nomotoT: 'yaw response T',
  overshootFirst: 'overshoot',
  hotelPower: 'hotel power',
  powerCoefficient: 'power curve a',
  powerExponent: 'power curve n',
  batteryEnergy: 'usable energy of the battery',
  trackMean: 'mean cross-track error',
  trackRms: 'its RMS',
  track95: 'its 95 %',
  settleDistance: 'settling after a turn',
};

/** Which figures of one kind of trial lack something, and what, e.g. `way to stop, time to stop: missing`; empty where none does. */
export function lacksOf(card: BoatCard, names: readonly CardFigureName[], wanted: (aim: TrialAim) => number, everything: boolean): string {
  const byLack = new Map<string, string[]>();
  for (const name of names) {
    const lack = lackOf(card.figures[name], wanted(name)) || (everything ? 'once more' : '');
    if (lack !== '') byLack.set(lack, [...(byLack.get(lack) ?? []), SHORT[name]]);
  }
  return [...byLack].map(([lack, these]) => `${these.join(', ')}: ${lack}`).join('; ');
}

/**
 * Scatter of one trial as a share of the figure: what this boat's own repeats have shown, else what is usual.
 * From a 95 % half width of n trials with t of n + 1 degrees of freedom.
 */
export function scatterOf(figure: CardFigure | null, usual: number): number {
  if (figure === null || figure.source !== 'trials' || figure.trials.length < 2) return usual;
  const n = figure.trials.length;
  const scatter = (Math.abs(figure.uncertainty95 / figure.value) * Math.sqrt(n)) / studentT95(n + 1);
  return Number.isFinite(scatter) && scatter > 0 ? scatter : usual;
}
