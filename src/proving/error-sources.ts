import { DEFAULT_ERRORS, NO_FAULTS } from './proving-options.js';
import type { DrawnOnce, ErrorTerms, ProvingChanges } from './proving-options.js';
import type { ProvingSize } from './proving-survey.js';

/** One source of error, and a survey in which it is the only one. */
export interface ErrorSource {
  readonly key: string;
  /** What it is, with its size (one sigma unless it says otherwise), for the crew. */
  readonly words: string;
  readonly size: ProvingSize;
  readonly changes: ProvingChanges;
  /** The corrections (names of survey.json's `corrections`) that take it out; none where it is only claimed for. */
  readonly corrections: readonly string[];
  /** Drawn once a survey: claims hold it or they do not, so that only many surveys together tell a share. */
  readonly once: readonly DrawnOnce[];
}

const QUIET: ErrorTerms = { sounderM: 0.01, sounderShare: 0, draftM: 0, squatM: 0, heaveM: 0, waterLevelM: 0, zoningM: 0, soundSpeedMps: 0, timeS: 0, gnssM: 0, headingDeg: 0 };
const ARMS = { antenna: { forwardM: -0.5, starboardM: 0.3, downM: -1.6 }, transducer: { forwardM: 0.7, starboardM: -0.3, downM: 0.3 } };
const SENSOR = { hz: 20, angleNoiseDeg: 0, heaveNoiseM: 0, at: { forwardM: 0, starboardM: 0, downM: 0 } };

function alone(key: string, words: string, errors: Partial<ErrorTerms>, rest: Omit<ProvingChanges, 'errors'> = {}, more: Partial<Pick<ErrorSource, 'corrections' | 'once'>> = {}): ErrorSource {
  return { key, words, size: 'bank', changes: { rollDeg: 0, pitchDeg: 0, hole: false, ...rest, errors: { ...QUIET, ...errors }, faults: { ...NO_FAULTS, ...rest.faults } }, corrections: more.corrections ?? [], once: more.once ?? [] };
}

/** Errors drawn once a survey in the demo and in all that has its budget. */
const ALL_ONCE: readonly DrawnOnce[] = ['draftM', 'squatM', 'soundSpeedMps', 'timeS', 'headingDeg', 'zoningM'];

/**
 * Every source of error by itself, at a size that stands out of the others, over the side of a bank of 3 to 11 m with slopes up
 * to 12 deg; then all of the demo together there and over rock; then all of them with every instrument aboard.
 */
export const ERROR_SOURCES: readonly ErrorSource[] = [
  alone('none', 'nothing but sounder noise of 1 cm, which is in all that follow, and its step of 1 cm', {}),
  alone('sounder', 'sounder noise, 5 cm and 0.5 % of depth', { sounderM: 0.05, sounderShare: 0.005 }),
  alone('clock', 'logger\'s clock 37.4 s ahead', {}, { sources: { loggerClockS: 37.4 } }),
  alone('latency', 'latency, 0.2 s once a survey', { timeS: 0.2 }, {}, { once: ['timeS'] }),
  alone('arms', 'lever arms of 2 m in a roll of 5 deg and pitch of 3 deg, measured to 0.3 deg', {}, { rollDeg: 5, pitchDeg: 3, sources: { ...ARMS, motionSensor: { ...SENSOR, angleNoiseDeg: 0.3 } } }, { corrections: ['leverArms', 'beamTilt'] }),
  alone('motion', 'roll 2 deg and pitch 1.5 deg, not measured', {}, { rollDeg: 2, pitchDeg: 1.5 }),
  alone('heave-measured', 'heave of 15 cm, measured to 3 cm', { heaveM: 0.15 }, { sources: { motionSensor: { ...SENSOR, heaveNoiseM: 0.03 } } }, { corrections: ['heave'] }),
  alone('heave', 'heave of 8 cm, not measured', { heaveM: 0.08 }),
  alone('draft', 'draft, 5 cm once a survey', { draftM: 0.05 }, {}, { once: ['draftM'] }),
  alone('squat', 'squat, 5 cm once a survey', { squatM: 0.05 }, {}, { once: ['squatM'] }),
  alone('sound-speed', 'sound speed, 10 m/s once a survey', { soundSpeedMps: 10 }, {}, { once: ['soundSpeedMps'] }),
  alone('casts', 'water that warms by 15 m/s over the survey, three casts', {}, { sources: { casts: { count: 3, changeMps: 15 } } }, { corrections: ['soundSpeed'] }),
  alone('gauge', 'gauge readings, 5 cm each', { waterLevelM: 0.05 }),
  alone('zoning', 'water at the boat against the gauge, a swing of 5 cm', { zoningM: 0.05 }, {}, { once: ['zoningM'] }),
  alone('gauge-elsewhere', 'gauge 40 min and a factor 1.2 away, 3 cm swing', { zoningM: 0.03 }, { sources: { gaugeElsewhere: { laterS: 2400, rangeFactor: 1.2, addM: 0.1 } } }, { corrections: ['waterLevel'], once: ['zoningM'] }),
  alone('rtk', 'heights of the antenna to 3 cm, separation to 3 cm once a survey', {}, { sources: { rtk: { heightM: 0.03, separationM: 0.03 } } }, { corrections: ['waterLevel'], once: ['separationM'] }),
  alone('gnss', 'positions, 1 m', { gnssM: 1 }),
  alone('heading', 'heading, 5 deg and 2.5 deg once a survey, on arms of 1.3 m', { headingDeg: 5 }, { sources: ARMS }, { once: ['headingDeg'] }),
  alone('faults', 'spikes, bursts, second echoes, dropouts, frozen depths, jumps, damage', { sounderM: 0.03, sounderShare: 0.003, gnssM: 0.25 }, { faults: { spikeShare: 0.003, burstShare: 0.0006, doubleShare: 0.0008, dropoutShare: 0.001, frozenPerHour: 3, jumpsPerHour: 8, fixGapsPerHour: 4, damageShare: 0.002 } }),
  { key: 'together', words: 'all together, as in the demo', size: 'bank', changes: {}, corrections: [], once: ALL_ONCE },
  { key: 'together-rock', words: 'all together over rock in steps', size: 'short', changes: {}, corrections: [], once: ALL_ONCE },
  {
    key: 'together-sensors',
    words: 'all together in 5 deg of roll and 12 cm of heave, with motion sensor, gauge elsewhere and three casts',
    size: 'bank',
    changes: { rollDeg: 5, pitchDeg: 3, errors: { ...DEFAULT_ERRORS, heaveM: 0.12 }, sources: { ...ARMS, motionSensor: { ...SENSOR, angleNoiseDeg: 0.3, heaveNoiseM: 0.02 }, gaugeElsewhere: { laterS: 2400, rangeFactor: 1.2, addM: 0.1 }, casts: { count: 3, changeMps: 15 } } },
    corrections: ['leverArms', 'beamTilt', 'heave', 'soundSpeed', 'waterLevel'],
    once: ALL_ONCE,
  },
];

/**
 * The sigmas of errors drawn once a survey, for survey k of n: the middles of n equally likely stretches of the normal
 * distribution (of Rayleigh's for the height of the zoning swing), each once, in an order of each error's own.
 *
 * Source: Latin hypercube sampling, McKay, Beckman & Conover (1979), Technometrics 21(2), 239-245.
 * @param quantile of the normal distribution
 */
export function spreadSigmas(source: ErrorSource, k: number, n: number, orderOf: (name: string) => Uint32Array, quantile: (share: number) => number): Partial<Record<DrawnOnce, number>> {
  return Object.fromEntries(source.once.map((name) => {
    const share = (orderOf(name)[k]! + 0.5) / n;
    return [name, name === 'zoningM' ? Math.sqrt(-2 * Math.log(1 - share)) : quantile(share)];
  }));
}
