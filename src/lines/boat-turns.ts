import type { BoatModel } from '../boat/boat-model.js';
import type { Polyline } from '../geo/shapes.js';
import type { DubinsWay } from './dubins.js';
import { dubinsWay } from './dubins.js';

/** How a boat goes from the end of one run to the start of the next. */
export interface BoatTurn {
  /** `spin`: stops and turns on the spot; `arc`: turns on the go; `loop`: on the go, with a turn the other way first or last because the lines lie closer than the turn. */
  readonly kind: 'spin' | 'arc' | 'loop';
  /** From leaving the one until steady on the other, in still water [s]. */
  readonly timeS: number;
  /** The way of an arc or loop; null for a spin. */
  readonly way: DubinsWay | null;
}

/** Turns of one boat at one speed. Angles in radians. */
export interface BoatTurns {
  readonly radiusM: number;
  /** Time lost at a corner of so many radians, over the straight legs' own time: by the quicker of spin and arc [s]. */
  cornerS(turnRad: number): number;
  /** The quickest turn between two poses with a straight way between them; directions counter-clockwise from east. */
  between(dxM: number, dyM: number, fromRad: number, toRad: number): BoatTurn;
}

/** Shares of the boat's way that are looked at closely: beyond this many radii between the poses, a turn is two corners. */
const NEAR_RADII = 6;

/** The smaller angle between two directions, 0 to pi [rad]. */
export function angleBetween(aRad: number, bRad: number): number {
  const apart = Math.abs(aRad - bRad) % (2 * Math.PI);
  return apart > Math.PI ? 2 * Math.PI - apart : apart;
}

/** Time lost at the corners of a path, and at its ends to the directions the boat comes and goes on in; null: any direction [s]. */
export function cornersAlongS(turns: BoatTurns, path: Polyline, fromRad: number | null, toRad: number | null): number {
  let sum = 0;
  let direction = fromRad;
  const corner = (next: number): void => {
    if (direction !== null) sum += turns.cornerS(angleBetween(direction, next));
    direction = next;
  };
  for (let i = 0; i + 3 < path.length; i += 2) {
    const dx = path[i + 2]! - path[i]!;
    const dy = path[i + 3]! - path[i + 1]!;
    if (Math.hypot(dx, dy) > 1e-6) corner(Math.atan2(dy, dx));
  }
  if (toRad !== null) corner(toRad);
  return sum;
}

/**
 * How a boat turns at a speed, from its model.
 *
 * A spin is braking (full astern against quadratic drag), the angle over the yaw rate with the lag T once, and getting up
 * to speed (v = vmax tanh(t/tau)); an arc or loop is the shortest way with half the turning diameter (dubinsWay) at the
 * speed kept up. In still water; whichever takes less time.
 *
 * @param speedMps through the water, more than 0
 */
export function boatTurns(model: BoatModel, speedMps: number): BoatTurns {
  const radiusM = Math.max(0.1, model.turnDiameterM(speedMps) / 2);
  const top = Math.max(model.topSpeedMps, speedMps * 1.01);
  const rateRadps = Math.max(0.01, (model.spinRateDegps * Math.PI) / 180);
  const r = Math.max(1e-3, model.asternShare);
  /** Time and way from a speed to rest, and from rest to it. */
  const stopS = (v: number): number => (model.tauS / Math.sqrt(r)) * Math.atan(v / (top * Math.sqrt(r)));
  const stopM = (v: number): number => (model.coastLengthM / 2) * Math.log(1 + (v * v) / (r * top * top));
  const startS = (v: number): number => model.tauS * Math.atanh(v / top);
  const startM = (v: number): number => top * model.tauS * Math.log(Math.cosh(startS(v) / model.tauS));
  const spinS = (turnRad: number): number => (turnRad > 1e-6 ? turnRad / rateRadps + model.yawTS : 0);
  const stopLossS = Math.max(0, stopS(speedMps) - stopM(speedMps) / speedMps);
  const startLossS = Math.max(0, startS(speedMps) - startM(speedMps) / speedMps);
  /** From rest to rest over a way. */
  const hopS = (wayM: number): number => {
    if (!(wayM > 0)) return 0;
    const rampM = stopM(speedMps) + startM(speedMps);
    if (wayM >= rampM) return startS(speedMps) + stopS(speedMps) + (wayM - rampM) / speedMps;
    let lo = 0;
    let hi = speedMps;
    for (let i = 0; i < 30; i++) {
      const v = (lo + hi) / 2;
      if (stopM(v) + startM(v) < wayM) lo = v;
      else hi = v;
    }
    return startS(hi) + stopS(hi);
  };
  const arcLossS = (turnRad: number): number => (radiusM * (turnRad - Math.sin(turnRad))) / speedMps;
  const cornerS = (turnRad: number): number => Math.min(arcLossS(turnRad), stopLossS + startLossS + spinS(turnRad));
  return {
    radiusM,
    cornerS,
    between(dxM, dyM, fromRad, toRad) {
      const wayM = Math.hypot(dxM, dyM);
      if (wayM > NEAR_RADII * radiusM) {
        const along = Math.atan2(dyM, dxM);
        const first = angleBetween(fromRad, along);
        const second = angleBetween(along, toRad);
        const arcs = arcLossS(first) + arcLossS(second) <= 2 * (stopLossS + startLossS) + spinS(first) + spinS(second);
        return { kind: arcs ? 'arc' : 'spin', timeS: wayM / speedMps + cornerS(first) + cornerS(second), way: arcs ? dubinsWay(dxM, dyM, fromRad, toRad, radiusM) : null };
      }
      const along = wayM > 1e-6 ? Math.atan2(dyM, dxM) : toRad;
      const spins =
        wayM > 1e-6 ? spinS(angleBetween(fromRad, along)) + spinS(angleBetween(along, toRad)) : spinS(angleBetween(fromRad, toRad));
      // It stops past the end of the run and begins beside that place: the way it stops in is the way it starts in.
      const spinTurnS = spins === 0 ? wayM / speedMps : stopS(speedMps) + spins + hopS(wayM) + startLossS;
      const way = dubinsWay(dxM, dyM, fromRad, toRad, radiusM);
      const arcS = way.lengthM / speedMps;
      if (spinTurnS < arcS) return { kind: 'spin', timeS: spinTurnS, way: null };
      const opposed = way.word === 'RLR' || way.word === 'LRL' || way.parts[0] + way.parts[2] > angleBetween(fromRad, toRad) + 0.1;
      return { kind: opposed ? 'loop' : 'arc', timeS: arcS, way };
    },
  };
}
