import type { BoatModel } from '../boat/boat-model.js';

/** The boat's motion through the water in the form that a fast loop asks it. */
export interface BoatDynamics {
  readonly topMps: number;
  /** L of dv/dt = (s |s| - v |v|) / L, s the speed that the thrust settles at [m]. */
  readonly lagM: number;
  /** Speed that full astern would settle at [m/s]. */
  readonly asternMps: number;
  /** T of T r' + r = ordered rate [s]. */
  readonly yawTS: number;
  /** Ordered rate per angle off the bearing wanted [1/s]: overshoot of about 4 %. */
  readonly yawGain: number;
  /** Most yaw rate with thrust ordered for a speed through the water [rad/s]. */
  readonly mostRateRadps: (orderMps: number) => number;
  /** Drag over that of straight running, at a speed and a yaw rate [1]: 1 straight, 1 / kept^2 in the steady turn. */
  readonly turnDrag: (speedMps: number, rateRadps: number) => number;
  /** Electrical power with thrust for a speed and a differential command, and its slopes by (hotel, a, n): into out [4]. */
  readonly powerInto: (orderMps: number, helm: number, out: Float64Array) => void;
  /** Differential command that settles at a yaw rate, with thrust for a speed besides [1], 0 to 1. */
  readonly helmFor: (orderMps: number, rateRadps: number) => number;
}

/** Below this speed the boat can spin as well as turn [m/s]. */
const SPIN_BELOW_MPS = 0.5;
/** Speeds the limits of yaw are worked out for. */
const STEPS = 64;
/** Speed kept in a turn where the card does not tell (common practice for the class; no source). */
const USUAL_KEPT = 0.85;
/** Mean command of the zig-zag that K is told from: that of survey speed (common practice; the card does not say). */
const ZIG_ZAG_SHARE = 0.6;
/** Gains beyond this are as good as at once [1/s]. */
const MOST_GAIN = 20;

/**
 * The boat card's dynamics: surge with quadratic drag, first-order yaw with a limit to its rate.
 *
 * dv/dt = (s|s| - v|v|) / L, which from rest at full ahead is v = vmax tanh(t/tau), tau = L / vmax, and with no thrust
 * v = v0 / (1 + v0 t / L); T r' + r = K delta. The rate is limited to that of the steady turning circle at the speed
 * ordered, 2 q v / D(v), q the share of speed kept in it, and near rest to that of a spin on the spot. Turning adds drag with
 * the square of the curvature, so that the steady circle keeps q of the speed. Power: each thruster takes half of a v^n at the speed both would settle at with
 * its command, so turning costs energy too. Thrust goes with the square of a command, so
 * a difference d about a mean m turns the boat with (m + d)^2 - (m - d)|m - d|: more difference is needed when it is slow.
 *
 * Source: TRADE, boat (first-order Nomoto; m dv/dt = T - k v|v|); the share of the thrusters in power: thrust with the
 * square of the command, power with its n-th, each alike (common practice).
 */
export function boatDynamics(boat: BoatModel): BoatDynamics {
  const topMps = boat.topSpeedMps;
  const spin = (boat.spinRateDegps * Math.PI) / 180;
  const yawTS = Math.max(0, boat.yawTS);
  const keptAt = (v: number): number => Math.max(0.2, Math.min(1, boat.turnSpeedKept?.(v) ?? USUAL_KEPT));
  const momentPerRate = (4 * ZIG_ZAG_SHARE) / Math.max(1e-6, boat.yawK);
  const limits = new Float64Array(STEPS + 2);
  for (let i = 0; i < limits.length; i++) {
    const v = (i / STEPS) * topMps;
    const circle = v > 0 ? (2 * keptAt(v) * v) / boat.turnDiameterM(v) : 0;
    limits[i] = Math.max(1e-3, Math.min(spin, Math.max(circle, v < SPIN_BELOW_MPS ? spin * (1 - v / SPIN_BELOW_MPS) : 0)));
  }
  // Of the middle of the speeds; either changes little over them.
  const kept = keptAt(topMps / 2);
  const radiusM = boat.turnDiameterM(topMps / 2) / 2;
  const { powerCoefficient: a, powerExponent: n, hotelW } = boat;
  return {
    topMps,
    lagM: boat.coastLengthM,
    asternMps: topMps * Math.sqrt(Math.max(1e-6, boat.asternShare)),
    yawTS,
    yawGain: Math.min(MOST_GAIN, 1 / (2 * yawTS)),
    helmFor(orderMps, rateRadps) {
      const mean = Math.max(0, orderMps / topMps);
      const turning = Math.abs(rateRadps) * momentPerRate;
      const helm = turning <= 4 * mean * mean ? turning / (4 * mean) : Math.sqrt(turning / 2 - mean * mean);
      return turning === 0 ? 0 : Math.min(1, helm);
    },
    mostRateRadps(orderMps) {
      const at = Math.min(STEPS, (Math.max(0, orderMps) / topMps) * STEPS);
      const i = Math.floor(at);
      const low = limits[i]!;
      return Number.isFinite(low) ? low + (limits[i + 1]! - low) * (at - i) : low;
    },
    turnDrag(speedMps, rateRadps) {
      const bend = speedMps > 0.05 ? (Math.abs(rateRadps) * radiusM) / speedMps : 0;
      return 1 + (1 / (kept * kept) - 1) * Math.min(1, bend * bend);
    },
    powerInto(orderMps, helm, out) {
      const mean = orderMps / topMps;
      let sum = 0;
      let slope = 0;
      for (let side = -1; side <= 1; side += 2) {
        const speed = Math.min(1, Math.abs(mean + side * helm)) * topMps;
        if (speed < 1e-6) continue;
        const share = 0.5 * speed ** n;
        sum += share;
        slope += share * Math.log(speed);
      }
      out[0] = hotelW + a * sum;
      out[1] = 1;
      out[2] = sum;
      out[3] = a * slope;
    },
  };
}

/**
 * Speed after a time under a thrust, in closed form; the boat is taken not to go astern.
 * @param orderMps speed the thrust settles at, 0 or more; below 0: full astern at -orderMps
 */
export function speedAfter(speedMps: number, orderMps: number, lagM: number, stepS: number): number {
  if (orderMps > 0) {
    const th = Math.tanh((orderMps * stepS) / lagM);
    return (orderMps * (speedMps + orderMps * th)) / (orderMps + speedMps * th);
  }
  if (orderMps === 0) return speedMps / (1 + (speedMps * stepS) / lagM);
  const astern = -orderMps;
  return Math.max(0, astern * Math.tan(Math.max(0, Math.atan(speedMps / astern) - (astern * stepS) / lagM)));
}

/** Way and time from a speed to rest under full astern: (L/2) ln(1 + (v/s)^2) [m], L/s atan(v/s) [s], into out [2]. */
export function stoppingInto(speedMps: number, dynamics: BoatDynamics, out: Float64Array): void {
  const ratio = speedMps / dynamics.asternMps;
  out[0] = (dynamics.lagM / 2) * Math.log(1 + ratio * ratio);
  out[1] = (dynamics.lagM / dynamics.asternMps) * Math.atan(ratio);
}
