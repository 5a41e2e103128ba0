import type { BoatModel } from '../boat/boat-model.js';
import { modelPower } from '../boat/boat-model.js';
import type { LegTally } from './leg-time.js';

/** Turns take this much more or less than reckoned, one sigma, all together (common practice, no source). */
const TURN_SIGMA_SHARE = 0.15;
/** For 95 % in one dimension. */
const TO_95 = 1.96;

/** What a part of a sortie takes so far, with what its errors hang on. */
export interface SortieTally {
  /** From leaving to now, waits within [s]. */
  timeS: number;
  waitS: number;
  turnS: number;
  lengthM: number;
  energyWh: number;
  /** Sums that the power's covariance works on: seconds, seconds x v^n, seconds x a v^n ln v. */
  powerT: number;
  powerA: number;
  powerN: number;
  /** How time and energy hang on the current's parts and on the speed's relative error. */
  timeX: number;
  timeY: number;
  timeV: number;
  energyX: number;
  energyY: number;
  energyV: number;
  /** Variances of time and energy were each leg's current in error by itself [s2], [Wh2]. */
  timeOwn: number;
  energyOwn: number;
  energyTurn: number;
  sigmaMps: number;
}

export function emptyTally(): SortieTally {
  return {
    timeS: 0, waitS: 0, turnS: 0, lengthM: 0, energyWh: 0, powerT: 0, powerA: 0, powerN: 0,
    timeX: 0, timeY: 0, timeV: 0, energyX: 0, energyY: 0, energyV: 0, timeOwn: 0, energyOwn: 0, energyTurn: 0, sigmaMps: 0,
  };
}

/** Adds up legs for one boat. */
export interface TallyRules {
  /** Adds a leg at a speed through the water. */
  addLeg(tally: SortieTally, leg: LegTally, lengthM: number, speedMps: number): void;
  /** Adds the time of a turn over that of its straight way. */
  addTurn(tally: SortieTally, timeS: number, speedMps: number): void;
  /** Standard errors of what is added up. */
  sigmas(tally: SortieTally): { readonly timeS: number; readonly energyWh: number };
  /** Half widths that hold the truth with 95 %. */
  half95(tally: SortieTally): { readonly timeS: number; readonly energyWh: number };
}

/**
 * Rules for a boat: power from its curve at the speed ordered; waits at hotel power.
 *
 * Errors: the power curve's covariance, alike over the whole sortie; the speed, by the top speed's relative error, alike
 * too; the current, alike over the whole sortie or each leg's its own, whichever is more; turns, by 15 %.
 */
export function tallyRules(model: BoatModel): TallyRules {
  const { powerCoefficient: a, powerExponent: n, powerCovariance: cov } = model;
  const known = new Map<number, { powerW: number; share: number }>();
  const at = (v: number): { powerW: number; share: number } => {
    let one = known.get(v);
    if (one === undefined) known.set(v, (one = { powerW: modelPower(model, v).powerW, share: v > 0 ? v ** n : 0 }));
    return one;
  };
  const spend = (tally: SortieTally, seconds: number, v: number): void => {
    const { powerW, share } = at(v);
    tally.timeS += seconds;
    tally.energyWh += (powerW * seconds) / 3600;
    tally.powerT += seconds;
    tally.powerA += share * seconds;
    tally.powerN += v > 0 ? a * share * Math.log(v) * seconds : 0;
  };
  const speedShare = model.topSpeedMps > 0 ? model.topSpeed95Mps / TO_95 / model.topSpeedMps : 0;
  const sigmas = (tally: SortieTally): { timeS: number; energyWh: number } => {
    const s = tally.sigmaMps;
    const power = [tally.powerT / 3600, tally.powerA / 3600, tally.powerN / 3600];
    let powerVariance = 0;
    for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) powerVariance += power[i]! * power[j]! * cov[i * 3 + j]!;
    const timeVariance =
      Math.max(s * s * (tally.timeX ** 2 + tally.timeY ** 2), tally.timeOwn) + (tally.timeV * speedShare) ** 2 + (TURN_SIGMA_SHARE * tally.turnS) ** 2;
    const energyVariance =
      Math.max(0, powerVariance) +
      Math.max(s * s * (tally.energyX ** 2 + tally.energyY ** 2), tally.energyOwn) +
      (tally.energyV * speedShare) ** 2 +
      (TURN_SIGMA_SHARE * tally.energyTurn) ** 2;
    return { timeS: Math.sqrt(timeVariance), energyWh: Math.sqrt(energyVariance) };
  };
  return {
    addLeg(tally, leg, lengthM, speedMps) {
      if (leg.waitS > 0) {
        spend(tally, leg.waitS, 0);
        tally.waitS += leg.waitS;
      }
      spend(tally, leg.runS, speedMps);
      const perS = at(speedMps).powerW / 3600;
      tally.lengthM += lengthM;
      tally.timeX += leg.byCurrentX;
      tally.timeY += leg.byCurrentY;
      tally.timeV += leg.bySpeed * speedMps;
      tally.energyX += leg.byCurrentX * perS;
      tally.energyY += leg.byCurrentY * perS;
      tally.energyV += leg.bySpeed * speedMps * perS;
      const own = leg.currentSigmaMps ** 2 * (leg.byCurrentX ** 2 + leg.byCurrentY ** 2);
      tally.timeOwn += own;
      tally.energyOwn += own * perS * perS;
      tally.sigmaMps = Math.max(tally.sigmaMps, leg.currentSigmaMps);
    },
    addTurn(tally, timeS, speedMps) {
      spend(tally, timeS, speedMps);
      tally.turnS += timeS;
      tally.energyTurn += (timeS * at(speedMps).powerW) / 3600;
    },
    sigmas,
    half95(tally) {
      const one = sigmas(tally);
      return { timeS: TO_95 * one.timeS, energyWh: TO_95 * one.energyWh };
    },
  };
}
