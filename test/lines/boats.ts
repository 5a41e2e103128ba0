import type { BoatModel } from '../../src/boat/boat-model.js';

/** A boat of the class with round figures; a part may be given. */
export function boat(more: Partial<BoatModel> = {}): BoatModel {
  return {
    topSpeedMps: 2.8,
    tauS: 1.2,
    coastLengthM: 3.4,
    asternShare: 0.6,
    spinRateDegps: 45,
    yawTS: 0.6,
    yawK: 0.8,
    turnDiameterM: () => 6,
    trackRmsM: 0.4,
    track95M: 0.8,
    settleM: 6,
    hotelW: 20,
    powerCoefficient: 18,
    powerExponent: 3,
    powerCovariance: [1, 0, 0, 0, 1, 0, 0, 0, 0.01],
    batteryWh: 500,
    battery95Wh: 25,
    topSpeed95Mps: 0.1,
    standIns: [],
    ...more,
  };
}
