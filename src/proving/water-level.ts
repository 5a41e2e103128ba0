import { formatUtc } from '../base/time.js';
import type { Random } from '../base/random.js';

/** The water level of Hollin Sound above chart datum, as it truly is. */
export interface WaterLevel {
  /** At the gauge [m]. */
  atGaugeM(timeS: number): number;
  /** Where the boat is: the gauge's level and what lies between [m]. */
  atBoatM(timeS: number): number;
}

/**
 * Constituents of Hollin Sound, invented: amplitude [m], speed [deg/h], phase at 2026-06-17T00:00:00Z [deg].
 * The speeds are those of the astronomical constituents M2, S2, N2, K1, O1, M4 (Schureman 1958, table 2).
 */
const CONSTITUENTS = [
  [1.15, 28.9841042, 352],
  [0.36, 30.0, 21],
  [0.22, 28.4397295, 300],
  [0.07, 15.0410686, 140],
  [0.05, 13.9430356, 75],
  [0.04, 57.9682084, 210],
] as const;

export const MEAN_LEVEL_M = 1.9;
const EPOCH_S = 1_781_654_400;

/**
 * A tide of six constituents, a slow surge of 5 cm and a seiche of 1.2 cm and 24 minutes, both with phases from the seed.
 *
 * @param zoningM root mean square of the level's difference between gauge and boat, a swing of 11 minutes [m]
 * @param swing height of that swing, in root mean squares; of many surveys together the difference is normal where it is that of Rayleigh
 */
export function createWaterLevel(random: Random, zoningM: number, swing: number = Math.SQRT2): WaterLevel {
  const surgePhase = random.between(0, 2 * Math.PI);
  const seichePhase = random.between(0, 2 * Math.PI);
  const zoningPhase = random.between(0, 2 * Math.PI);
  const atGaugeM = (timeS: number): number => {
    const hours = (timeS - EPOCH_S) / 3600;
    let level = MEAN_LEVEL_M;
    for (const [amplitudeM, speedDegPerHour, phaseDeg] of CONSTITUENTS) {
      level += amplitudeM * Math.cos(((speedDegPerHour * hours - phaseDeg) * Math.PI) / 180);
    }
    return (
      level +
      0.05 * Math.sin((2 * Math.PI * hours) / 5.3 + surgePhase) +
      0.012 * Math.sin((2 * Math.PI * hours) / 0.4 + seichePhase)
    );
  };
  return {
    atGaugeM,
    atBoatM: (timeS) => atGaugeM(timeS) + zoningM * swing * Math.sin((2 * Math.PI * timeS) / 660 + zoningPhase),
  };
}

/** A gauge elsewhere, whose water reaches the survey later and with another range about the mean level. */
export function gaugeAway(level: WaterLevel, away: { readonly laterS: number; readonly rangeFactor: number; readonly addM: number }): WaterLevel {
  return {
    atGaugeM: (timeS) => MEAN_LEVEL_M + (level.atGaugeM(timeS + away.laterS) - away.addM - MEAN_LEVEL_M) / away.rangeFactor,
    atBoatM: level.atBoatM,
  };
}

/**
 * What the gauge recorded: water/level.csv, columns `timeUtc` (ISO 8601) and `levelM` (above chart datum), every
 * `everyS` seconds over the span, each reading with an error of its own.
 */
export function gaugeSeriesCsv(level: WaterLevel, random: Random, noiseM: number, startS: number, endS: number, everyS: number): string {
  const rows = ['timeUtc,levelM'];
  const first = Math.floor(startS / everyS);
  const last = Math.ceil(endS / everyS);
  for (let i = first; i <= last; i++) {
    const timeS = i * everyS;
    rows.push(`${formatUtc(timeS)},${(level.atGaugeM(timeS) + noiseM * random.normal()).toFixed(3)}`);
  }
  return `${rows.join('\n')}\n`;
}
