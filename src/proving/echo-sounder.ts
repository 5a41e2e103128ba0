import type { Random } from '../base/random.js';
import type { BoatMotion, BoatState } from './boat-motion.js';
import { firstReturnInto } from './first-return.js';
import type { FirstReturn } from './first-return.js';
import type { Floor } from './floor.js';
import { createPingFaults } from './ping-faults.js';
import type { FaultyDepth } from './ping-faults.js';
import type { FaultRates } from './proving-options.js';
import { PING_FAULTS } from './truth.js';

/** Where a sensor sits from the boat's reference point [m]. */
export interface LeverArm {
  readonly forwardM: number;
  readonly starboardM: number;
  readonly downM: number;
}

/** The echo sounder as it truly is. */
export interface SounderSetting {
  readonly transducer: LeverArm;
  /** Of the transducer, at rest; and how much deeper at `squatSpeedMps`, with the square of speed [m]. */
  readonly draftM: number;
  readonly squatM: number;
  readonly squatSpeedMps: number;
  readonly soundSpeedSetMps: number;
  readonly beamWidthDeg: number;
  readonly noiseM: number;
  readonly noiseShare: number;
}

/** One ping: what was written and what was so. */
export interface Ping {
  /** As written [m]; NaN: an empty field. */
  writtenM: number;
  /** Code of PING_FAULTS, and what was written less what a faultless instrument would have written. */
  fault: number;
  faultSizeM: number;
  /** What the beam looks at, in the frame [m]: the place under the transducer, or beside it where the boat leans by more than half the beam; and the floor there below chart datum. */
  xM: number;
  yM: number;
  depthM: number;
  echoEastM: number;
  echoNorthM: number;
}

/** Places, rolls and pitches a point of the boat: its place in the frame and how far it is below the reference point. */
export function placeSensor(state: BoatState, arm: LeverArm, out: { xM: number; yM: number; downM: number }): void {
  // Bow up swings what hangs below forward; starboard down swings it to port.
  const forward = arm.forwardM + arm.downM * state.pitchRad;
  const starboard = arm.starboardM - arm.downM * state.rollRad;
  const sin = Math.sin(state.headingRad);
  const cos = Math.cos(state.headingRad);
  out.xM = state.xM + forward * sin + starboard * cos;
  out.yM = state.yM + forward * cos - starboard * sin;
  out.downM = arm.downM - arm.forwardM * state.pitchRad + arm.starboardM * state.rollRad;
}

/**
 * An echo sounder that takes the first return inside its beam, times it through the true profile of sound speed, turns
 * the time into a depth with the speed it is set to, and adds noise, resolution of 0.01 m and its faults.
 *
 * @param levelM water level above chart datum at the boat at a time
 * @param travelTimeS one-way time between two depths below the surface at a time
 */
export function createEchoSounder(
  setting: SounderSetting,
  floor: Floor,
  levelM: (timeS: number) => number,
  travelTimeS: (fromDepthM: number, toDepthM: number, timeS: number) => number,
  rates: FaultRates,
  random: Random,
  startS: number,
  endS: number,
): { pingInto(timeS: number, motion: BoatMotion, out: Ping): void } {
  const state: BoatState = { xM: 0, yM: 0, headingRad: 0, velocityEastMps: 0, velocityNorthMps: 0, rollRad: 0, pitchRad: 0, heaveM: 0 };
  const sensor = { xM: 0, yM: 0, downM: 0 };
  const echo: FirstReturn = { rangeM: NaN, eastM: 0, northM: 0 };
  const faulty: FaultyDepth = { depthM: NaN, fault: 0 };
  const gradient = new Float64Array(2);
  const noise = random.fork('noise');
  const applyFault = createPingFaults(rates, random.fork('faults'), startS, endS);
  const halfBeamRad = (setting.beamWidthDeg * Math.PI) / 360;
  const noEcho = PING_FAULTS.indexOf('no-echo');
  return {
    pingInto(timeS, motion, out) {
      motion.stateInto(timeS, state);
      placeSensor(state, setting.transducer, sensor);
      const speed2 = state.velocityEastMps ** 2 + state.velocityNorthMps ** 2;
      const belowSurfaceM =
        setting.draftM + (setting.squatM * speed2) / setting.squatSpeedMps ** 2 - state.heaveM + (sensor.downM - setting.transducer.downM);
      const level = levelM(timeS);
      const sin = Math.sin(state.headingRad);
      const cos = Math.cos(state.headingRad);
      const tiltEast = state.pitchRad * sin - state.rollRad * cos;
      const tiltNorth = state.pitchRad * cos + state.rollRad * sin;
      firstReturnInto(floor, sensor.xM, sensor.yM, belowSurfaceM - level, tiltEast, tiltNorth, halfBeamRad, gradient, echo);
      const underM = floor.depthM(sensor.xM, sensor.yM);
      const straightM = underM + level - belowSurfaceM;
      // A beam that leans by more than half its width looks past the place under the transducer.
      const lean = Math.hypot(tiltEast, tiltNorth);
      const past = lean > halfBeamRad ? (straightM * Math.tan(lean - halfBeamRad)) / lean : 0;
      out.xM = sensor.xM + past * tiltEast;
      out.yM = sensor.yM + past * tiltNorth;
      out.depthM = past > 0 ? floor.depthM(out.xM, out.yM) : underM;
      out.echoEastM = echo.eastM;
      out.echoNorthM = echo.northM;
      const first = noise.normal();
      const second = noise.normal();
      if (!(echo.rangeM > 0.2)) {
        out.writtenM = 0;
        out.fault = noEcho;
        out.faultSizeM = NaN;
        return;
      }
      // Mean speed of the column: the echo's range over it, at the set speed.
      const measured = (setting.soundSpeedSetMps * travelTimeS(belowSurfaceM, belowSurfaceM + straightM, timeS) * echo.rangeM) / straightM;
      const faultless = Math.round((measured + setting.noiseM * first + setting.noiseShare * measured * second) * 100) / 100;
      applyFault(timeS, faultless, faulty);
      out.writtenM = faulty.depthM;
      out.fault = faulty.fault;
      out.faultSizeM = faulty.fault === 0 ? 0 : faulty.depthM - faultless;
    },
  };
}
