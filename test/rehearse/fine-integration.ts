import type { BoatModel } from '../../src/boat/boat-model.js';
import type { Sortie } from '../../src/lines/sortie.js';
import type { CurrentField } from '../../src/water/current-field.js';

/** What the steering is set to. */
export interface FineOptions {
  readonly turning: 'stop-and-turn' | 'on-the-go';
  readonly acceptanceM: number;
  readonly lookAheadM: number;
  readonly turnSpeedMps: number | null;
}

const STEP_S = 0.01;
const DEGREES = 180 / Math.PI;

/**
 * The rehearsal's equations written and integrated another way: classical Runge-Kutta of the fourth order, 0.01 s, the steering
 * asked at every step, the current at every stage, the energy an equation of its own.
 *
 * v' = (s|s| - D v^2) / L, D = 1 + (1/q^2 - 1) min(1, (r R / v)^2), R half the turn diameter at half top speed;
 * T r' = c - r, c the angle off the bearing wanted over 2 T, limited to 2 q s / D(s) (the spin rate near rest);
 * P = hotel + a/2 sum |m +- d|^n vmax^n, (m + d)^2 - (m - d)|m - d| = 2.4 c / K.
 */
export function integrateFinely(sortie: Sortie, boat: BoatModel, current: CurrentField, startS: number, options: FineOptions): { readonly timeS: number; readonly energyWh: number } {
  const corners: { x: number; y: number; speed: number }[] = [{ x: sortie.legs[0]!.path[0]!, y: sortie.legs[0]!.path[1]!, speed: 0 }];
  for (const { path, speedMps } of sortie.legs) for (let i = 2; i < path.length; i += 2) corners.push({ x: path[i]!, y: path[i + 1]!, speed: Math.min(speedMps, boat.topSpeedMps) });
  const bearing = (k: number): number => Math.atan2(corners[k]!.x - corners[k - 1]!.x, corners[k]!.y - corners[k - 1]!.y);
  const kept = boat.turnSpeedKept?.(boat.topSpeedMps / 2) ?? 0.85;
  const radius = boat.turnDiameterM(boat.topSpeedMps / 2) / 2;
  const spin = boat.spinRateDegps / DEGREES;
  const mostRate = (s: number): number => Math.min(spin, Math.max((2 * (boat.turnSpeedKept?.(s) ?? 0.85) * s) / boat.turnDiameterM(s), s < 0.5 ? spin * (1 - s / 0.5) : 0));
  const wrap = (angle: number): number => Math.atan2(Math.sin(angle), Math.cos(angle));
  const astern = boat.asternShare * boat.topSpeedMps ** 2;

  // x, y, heading, speed, yaw rate, energy [J]
  let state = [corners[0]!.x, corners[0]!.y, bearing(1), 0, 0, 0];
  const drift = new Float64Array(3);
  let leg = 1;
  let mode: 'run' | 'brake' | 'spin' = 'run';
  let timeS = 0;
  for (; timeS < 1e5; timeS += STEP_S) {
    const [x, y, heading, speed] = state as [number, number, number, number];
    current.at(x, y, startS + timeS, drift);
    for (; leg < corners.length; ) {
      const b = bearing(leg);
      const to = corners[leg]!;
      const left = (to.x - x) * Math.sin(b) + (to.y - y) * Math.cos(b);
      const across = (x - to.x) * Math.cos(b) - (y - to.y) * Math.sin(b);
      const sharp = options.turning === 'stop-and-turn' && leg + 1 < corners.length && Math.abs(wrap(bearing(leg + 1) - b)) > 30 / DEGREES;
      if (mode === 'brake') {
        if (speed > 0.02) break;
        leg++;
        mode = 'spin';
        break;
      }
      if (sharp) {
        if (mode === 'spin') break;
        const stopM = (boat.coastLengthM / 2) * Math.log(1 + speed ** 2 / astern);
        const stopS = (boat.coastLengthM / Math.sqrt(astern)) * Math.atan(speed / Math.sqrt(astern));
        if (left <= Math.max(0, stopM + (drift[0]! * Math.sin(b) + drift[1]! * Math.cos(b)) * stopS)) mode = 'brake';
        break;
      }
      if (left > 0 && Math.hypot(left, across) > options.acceptanceM) break;
      leg++;
    }
    if (leg >= corners.length) break;
    const b = bearing(leg);
    const from = corners[leg - 1]!;
    const ordered = corners[leg]!.speed;
    const cross = (x - from.x) * Math.cos(b) - (y - from.y) * Math.sin(b);
    const course = mode === 'run' ? b - Math.atan2(cross, options.lookAheadM) : b;
    const aside = drift[0]! * Math.cos(course) - drift[1]! * Math.sin(course);
    const off = wrap(course - Math.asin(aside / ordered) - heading);
    if (mode === 'spin' && Math.abs(off) < 10 / DEGREES) mode = 'run';
    const order = mode === 'brake' ? boat.topSpeedMps : mode === 'spin' ? 0 : options.turnSpeedMps !== null && Math.abs(off) > 45 / DEGREES ? Math.min(ordered, options.turnSpeedMps) : ordered;
    const push = mode === 'brake' ? -astern : order ** 2;
    const limit = mostRate(mode === 'brake' ? speed : order);
    const wanted = Math.max(-limit, Math.min(limit, off / (2 * boat.yawTS)));
    const mean = order / boat.topSpeedMps;
    const turning = (2.4 * Math.abs(wanted)) / boat.yawK;
    const helm = Math.min(1, turning <= 4 * mean ** 2 ? turning / (4 * mean || 1) : Math.sqrt(turning / 2 - mean ** 2));
    const thruster = (command: number): number => 0.5 * boat.powerCoefficient * (Math.min(1, Math.abs(command)) * boat.topSpeedMps) ** boat.powerExponent;
    const power = boat.hotelW + thruster(mean + helm) + thruster(mean - helm);
    const slopes = (s: number[], t: number): number[] => {
      current.at(s[0]!, s[1]!, startS + t, drift);
      const v = s[3]!;
      const bend = v > 0.05 ? Math.min(1, ((s[4]! * radius) / v) ** 2) : 0;
      return [v * Math.sin(s[2]!) + drift[0]!, v * Math.cos(s[2]!) + drift[1]!, s[4]!, (push - v * Math.abs(v) * (1 + (1 / kept ** 2 - 1) * bend)) / boat.coastLengthM, (wanted - s[4]!) / boat.yawTS, power];
    };
    const moved = (k: number[], h: number): number[] => state.map((value, i) => value + k[i]! * h);
    const k1 = slopes(state, timeS);
    const k2 = slopes(moved(k1, STEP_S / 2), timeS + STEP_S / 2);
    const k3 = slopes(moved(k2, STEP_S / 2), timeS + STEP_S / 2);
    const k4 = slopes(moved(k3, STEP_S), timeS + STEP_S);
    state = state.map((value, i) => value + (STEP_S / 6) * (k1[i]! + 2 * k2[i]! + 2 * k3[i]! + k4[i]!));
    state[3] = Math.max(0, state[3]!);
  }
  return { timeS, energyWh: state[5]! / 3600 };
}
