import type { BoatModel } from '../../src/boat/boat-model.js';
import type { Leg, LegKind, Sortie } from '../../src/lines/sortie.js';

/** A boat of the class with plain figures (common practice for the class; not measured). */
export function plainBoat(changes: Partial<BoatModel> = {}): BoatModel {
  return {
    topSpeedMps: 2.8,
    tauS: 1.1,
    coastLengthM: 3.08,
    asternShare: 0.7,
    spinRateDegps: 60,
    yawTS: 0.5,
    yawK: 2,
    turnDiameterM: () => 5,
    trackRmsM: 0.3,
    track95M: 0.6,
    settleM: 5,
    hotelW: 9,
    powerCoefficient: 16,
    powerExponent: 3,
    powerCovariance: [0.04, 0, 0, 0, 0.25, 0, 0, 0, 0.0025],
    batteryWh: 1100,
    battery95Wh: 60,
    topSpeed95Mps: 0.05,
    standIns: [],
    ...changes,
  };
}

export function leg(kind: LegKind, line: number | null, speedMps: number, ...path: number[]): Leg {
  let lengthM = 0;
  for (let i = 2; i < path.length; i += 2) lengthM += Math.hypot(path[i]! - path[i - 2]!, path[i + 1]! - path[i - 1]!);
  return { kind, line, path: Float64Array.from(path), lengthM, speedMps };
}

export function sortieOf(legs: readonly Leg[]): Sortie {
  const lengthM = legs.reduce((sum, one) => sum + one.lengthM, 0);
  const lines = [...new Set(legs.filter((one) => one.kind === 'line').map((one) => one.line!))];
  return { number: 1, legs, lines, lengthM, timeS: NaN, time95S: NaN, energyWh: NaN, energy95Wh: NaN };
}

/** Lines north and south side by side from a launch point at 0, 0, with run-ins, run-outs and the way home. */
export function linesSortie(count: number, lengthM: number, spacingM: number, speedMps: number, runM = 10): Sortie {
  const legs: Leg[] = [];
  let x = 0;
  let y = 0;
  for (let i = 0; i < count; i++) {
    const lineX = 20 + i * spacingM;
    const up = i % 2 === 0;
    const from = up ? 50 : 50 + lengthM;
    const to = up ? 50 + lengthM : 50;
    const way = up ? 1 : -1;
    legs.push(leg(i === 0 ? 'launch' : 'turn', i + 1, speedMps, x, y, lineX, from - way * runM));
    legs.push(leg('run-in', i + 1, speedMps, lineX, from - way * runM, lineX, from));
    legs.push(leg('line', i + 1, speedMps, lineX, from, lineX, to));
    legs.push(leg('run-out', i + 1, speedMps, lineX, to, lineX, to + way * runM));
    x = lineX;
    y = to + way * runM;
  }
  legs.push(leg('home', null, speedMps, x, y, 0, 0));
  return sortieOf(legs);
}
