import type { BoatModel } from '../boat/boat-model.js';

/** What is left of the boat when one thruster fails. */
export interface OneThruster {
  /** Way it can make in a direction wanted, in still water, on the mean over its loops [m/s]. */
  readonly wayMps: number;
  /** Mean electrical power at it [W]. */
  readonly powerW: number;
  /** Across a loop [m]. */
  readonly loopM: number;
}

const STEP_S = 0.05;
const SETTLE_S = 60;
const RUN_S = 180;

/**
 * With one thruster left the boat turns only one way: it runs ahead and turns at once, so it goes in loops. It makes way by
 * thrusting hard while its bow is near the direction wanted and gently while it turns the rest of the round.
 *
 * The thruster gives half the thrust, and half the turning of a full differential command: dv/dt = (u vmax^2 / 2 - v^2) / L,
 * T r' + r = u K / 2, u the share of its thrust. Of ways to thrust (how far either side of the direction, how gently
 * besides) the one that makes most way is kept, by trying each from rest for some minutes. What the hull loses in so tight a
 * turn is not told in: as it is, the way is an upper bound.
 */
export function oneThruster(boat: BoatModel): OneThruster {
  let best: OneThruster = { wayMps: 0, powerW: boat.hotelW, loopM: NaN };
  for (const sectorDeg of [30, 45, 60, 75, 90, 120, 150, 180]) {
    for (const gently of [0.05, 0.1, 0.2, 0.3, 0.5]) {
      const found = tryWay(boat, (sectorDeg * Math.PI) / 180, gently);
      if (found.wayMps > best.wayMps) best = found;
    }
  }
  return best;
}

function tryWay(boat: BoatModel, sectorRad: number, gently: number): OneThruster {
  const { topSpeedMps: top, coastLengthM: lag, yawTS, yawK, spinRateDegps, hotelW, powerCoefficient, powerExponent } = boat;
  const most = (spinRateDegps * Math.PI) / 180;
  const left = yawTS > 0 ? Math.exp(-STEP_S / yawTS) : 0;
  const powerOf = (share: number): number => hotelW + 0.5 * powerCoefficient * (top * Math.sqrt(share)) ** powerExponent;
  const [hardW, gentleW] = [powerOf(1), powerOf(gently)];
  let heading = 0;
  let rate = 0;
  let speed = 0;
  let x = 0;
  let y = 0;
  let energy = 0;
  let lowX = Infinity;
  let highX = -Infinity;
  let startX = 0;
  let startY = 0;
  const steps = Math.round(RUN_S / STEP_S);
  const settled = Math.round(SETTLE_S / STEP_S);
  for (let i = 0; i < steps; i++) {
    if (i === settled) [startX, startY] = [x, y];
    // It leads the sector by the turn that it makes while its rate settles.
    const off = Math.abs(((((heading + rate * yawTS) % (2 * Math.PI)) + 3 * Math.PI) % (2 * Math.PI)) - Math.PI);
    const share = off <= sectorRad ? 1 : gently;
    const wanted = Math.min(most, (share * yawK) / 2);
    rate = wanted + (rate - wanted) * left;
    // Implicit in the drag, so that any lag is stable.
    speed = (speed + (STEP_S * share * top * top) / 2 / lag) / (1 + (STEP_S * speed) / lag);
    heading += rate * STEP_S;
    x += speed * Math.sin(heading) * STEP_S;
    y += speed * Math.cos(heading) * STEP_S;
    if (i >= settled) {
      energy += (share === 1 ? hardW : gentleW) * STEP_S;
      lowX = Math.min(lowX, x);
      highX = Math.max(highX, x);
    }
  }
  const seconds = (steps - settled) * STEP_S;
  // The loops may drift aside of the direction; the crew or the autopilot leads by that angle, so the whole way counts.
  return { wayMps: Math.hypot(x - startX, y - startY) / seconds, powerW: energy / seconds, loopM: Math.min(highX - lowX, (2 * top) / Math.max(1e-3, Math.min(most, yawK / 2))) };
}
