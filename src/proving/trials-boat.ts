import type { Random } from '../base/random.js';

/** What makes one boat: about 1.2 m, 18 kg, two thrusters side by side. Masses hold the water that moves with the hull. */
export interface TrialsBoat {
  readonly lengthM: number;
  readonly massKg: number;
  readonly surgeMassKg: number;
  readonly swayMassKg: number;
  readonly yawInertiaKgM2: number;
  /** Surge drag k in k u|u| [kg/m]. */
  readonly surgeDrag: number;
  /** Sway drag, linear [kg/s] and quadratic [kg/m]. */
  readonly swayDragLinear: number;
  readonly swayDrag: number;
  /** Yaw damping: at rest [N m s], per speed [N s^2], quadratic [N m s^2]. */
  readonly yawDamping: number;
  readonly yawDampingPerSpeed: number;
  readonly yawDampingQuadratic: number;
  /** One thruster at full ahead [N], share of it astern, distance from the centre line [m], lag [s]. */
  readonly fullThrustN: number;
  readonly asternShare: number;
  readonly thrusterArmM: number;
  readonly thrusterLagS: number;
  /** Electrical power of a thruster is powerPerThrust |T|^(powerExponent / 2) [W]. */
  readonly powerPerThrust: number;
  readonly powerExponent: number;
  readonly hotelW: number;
  /** Full, at no load [V]; resistance inside [ohm]; energy [Wh]. */
  readonly batteryV: number;
  readonly batteryOhm: number;
  readonly batteryWh: number;
  /** Position antenna ahead of the point the boat turns about [m]. */
  readonly antennaAheadM: number;
}

/** A boat of the class: usual figures, each off by some per cent (common practice for the class as in TRADE; from memory). */
export function drawTrialsBoat(random: Random): TrialsBoat {
  const about = (value: number, share: number): number => value * (1 + share * random.between(-1, 1));
  const surgeMassKg = about(20, 0.05);
  const topMps = random.between(2.65, 2.95);
  const surgeDrag = surgeMassKg / (about(1.08, 0.07) * topMps);
  const powerExponent = random.between(2.8, 3.2);
  // Of P = hotel + a v^n with both thrusters alike: thrust k v^2 / 2 each.
  const coefficient = about(16, 0.15);
  return {
    lengthM: 1.2,
    massKg: 18,
    surgeMassKg,
    swayMassKg: about(30, 0.08),
    yawInertiaKgM2: about(3, 0.1),
    surgeDrag,
    swayDragLinear: about(8, 0.2),
    swayDrag: about(120, 0.1),
    yawDamping: about(1.2, 0.1),
    yawDampingPerSpeed: about(2.2, 0.1),
    yawDampingQuadratic: about(2.8, 0.1),
    fullThrustN: (surgeDrag * topMps ** 2) / 2,
    asternShare: about(0.7, 0.07),
    thrusterArmM: 0.3,
    thrusterLagS: random.between(0.08, 0.16),
    powerPerThrust: coefficient / (2 * (surgeDrag / 2) ** (powerExponent / 2)),
    powerExponent,
    hotelW: about(9, 0.2),
    batteryV: 25.6,
    batteryOhm: about(0.05, 0.3),
    batteryWh: about(1100, 0.1),
    antennaAheadM: random.between(-0.15, 0.25),
  };
}

/** Where the boat is and how it moves: through the water ahead and to starboard, yaw to starboard, bow true. */
export interface TrialsState {
  eastM: number;
  northM: number;
  surgeMps: number;
  swayMps: number;
  yawRadPerS: number;
  headingRad: number;
  portN: number;
  starboardN: number;
}

export function stateAtRest(headingRad = 0): TrialsState {
  return { eastM: 0, northM: 0, surgeMps: 0, swayMps: 0, yawRadPerS: 0, headingRad, portN: 0, starboardN: 0 };
}

/** What acts from outside: the water's and wind's drift [m/s], and what the chop adds ahead [N] and about the mast [N m]. */
export interface Push {
  eastMps: number;
  northMps: number;
  surgeN: number;
  yawNm: number;
}

export const NO_PUSH: Readonly<Push> = { eastMps: 0, northMps: 0, surgeN: 0, yawNm: 0 };

/** Thrust that a command of -100 to 100 % settles at [N]: with the square of the command, less astern. */
export function settledThrustN(boat: TrialsBoat, commandPct: number): number {
  const share = commandPct / 100;
  return boat.fullThrustN * share * Math.abs(share) * (share < 0 ? boat.asternShare : 1);
}

/** Command that settles at a thrust [%]. */
export function commandForThrustPct(boat: TrialsBoat, thrustN: number): number {
  const full = boat.fullThrustN * (thrustN < 0 ? boat.asternShare : 1);
  return 100 * Math.sign(thrustN) * Math.sqrt(Math.abs(thrustN) / full);
}

/** Speed through the water that a command to both thrusters settles at [m/s]. */
export function settledSpeedMps(boat: TrialsBoat, commandPct: number): number {
  return Math.sqrt((2 * settledThrustN(boat, commandPct)) / boat.surgeDrag);
}

/** Electrical power of thrusters and hotel load [W]. */
export function electricalPowerW(boat: TrialsBoat, portN: number, starboardN: number): number {
  // Astern the thruster works as hard for less thrust.
  const power = (thrustN: number): number => boat.powerPerThrust * Math.abs(thrustN < 0 ? thrustN / boat.asternShare : thrustN) ** (boat.powerExponent / 2);
  return boat.hotelW + power(portN) + power(starboardN);
}

/**
 * Moves the boat on by one step: surge, sway and yaw about the middle, thrusters with a first-order lag, midpoint rule.
 *
 * Mu u' = T + Mv v r - k u|u|; Mv v' = -Mu u r - Y v - Y2 v|v|; I r' = (Tp - Ts) b - (N + Nu |u|) r - N2 r|r|.
 *
 * Source: Fossen (2011), Handbook of Marine Craft Hydrodynamics and Motion Control, ch. 7 (three degrees of freedom), from memory.
 */
export function stepBoat(boat: TrialsBoat, state: TrialsState, portPct: number, starboardPct: number, push: Readonly<Push>, stepS: number): void {
  const left = Math.exp(-stepS / boat.thrusterLagS);
  const portTo = settledThrustN(boat, portPct);
  const starboardTo = settledThrustN(boat, starboardPct);
  // Mean of the lagging thrust over the step: exact for an order held over it.
  const mean = ((1 - left) * boat.thrusterLagS) / stepS;
  const port = portTo + (state.portN - portTo) * mean;
  const starboard = starboardTo + (state.starboardN - starboardTo) * mean;
  state.portN = portTo + (state.portN - portTo) * left;
  state.starboardN = starboardTo + (state.starboardN - starboardTo) * left;
  const thrust = port + starboard + push.surgeN;
  const moment = (port - starboard) * boat.thrusterArmM + push.yawNm;
  const { surgeMps: u0, swayMps: v0, yawRadPerS: r0 } = state;
  let u = u0;
  let v = v0;
  let r = r0;
  for (let pass = 0; pass < 2; pass++) {
    const du = (thrust + boat.swayMassKg * v * r - boat.surgeDrag * u * Math.abs(u)) / boat.surgeMassKg;
    const dv = (-boat.surgeMassKg * u * r - boat.swayDragLinear * v - boat.swayDrag * v * Math.abs(v)) / boat.swayMassKg;
    const dr = (moment - (boat.yawDamping + boat.yawDampingPerSpeed * Math.abs(u)) * r - boat.yawDampingQuadratic * r * Math.abs(r)) / boat.yawInertiaKgM2;
    const share = pass === 0 ? stepS / 2 : stepS;
    u = u0 + du * share;
    v = v0 + dv * share;
    r = r0 + dr * share;
  }
  const heading = state.headingRad + ((r0 + r) * stepS) / 4;
  const ahead = (u0 + u) / 2;
  const side = (v0 + v) / 2;
  state.eastM += (ahead * Math.sin(heading) + side * Math.cos(heading) + push.eastMps) * stepS;
  state.northM += (ahead * Math.cos(heading) - side * Math.sin(heading) + push.northMps) * stepS;
  state.headingRad += ((r0 + r) * stepS) / 2;
  state.surgeMps = u;
  state.swayMps = v;
  state.yawRadPerS = r;
}
