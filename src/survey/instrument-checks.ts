import { combine, half95, type Estimate } from '../boat/estimate.js';
import { barCheck, differs, type BarCheck } from '../depths/bar-check.js';
import type { HeadingCheck, HeadingRun } from '../depths/heading-check.js';
import type { LatencyCheck } from '../depths/latency-check.js';
import type { StaticCheck } from '../depths/static-check.js';
import type { SoundProfile } from '../water/sound-profile.js';
import { barEvidence, headingEvidence, latencyEvidence, staticEvidence, type CheckEvidence } from './instrument-evidence.js';
import type { Settings } from './settings.js';

export const CHECK_NAMES = ['bar', 'static', 'heading', 'latency'] as const;
export type CheckName = (typeof CHECK_NAMES)[number];

/** A setting that a check would change. */
export interface CheckProposal {
  readonly path: string;
  readonly value: number | { readonly kind: 'constant'; readonly soundSpeedMps: number };
  /** What it is, what it would become and what it is now, in words. */
  readonly words: string;
}

/** One instrument check as it stands against the settings. */
export interface InstrumentCheck {
  readonly check: CheckName;
  readonly title: string;
  /**
   * not-done: no data for it. unusable: done, but its value may not be used. refused: by the user. agrees: the settings are
   * within its 95 %, or what is left is no more than is reckoned with. differs: they are not, and `proposals` say what they should be.
   */
  readonly state: 'not-done' | 'unusable' | 'refused' | 'agrees' | 'differs';
  readonly words: string;
  /** `set` is what the settings hold against it. */
  readonly values: readonly { readonly name: string; readonly value: number; readonly half95: number; readonly unit: string; readonly set: number }[];
  /** What it rests on, to be drawn; null where there is nothing. */
  readonly evidence: CheckEvidence | null;
  readonly proposals: readonly CheckProposal[];
  readonly notes: readonly string[];
}

export const CHECK_TITLES: Readonly<Record<CheckName, string>> = { bar: 'Bar check', static: 'Static check on a known mark', heading: 'Heading check', latency: 'Latency run' };

type Settled = Omit<InstrumentCheck, 'check' | 'title'>;

function settle(check: CheckName, settings: Settings, found: Settled): InstrumentCheck {
  const because = settings.instruments.refused[check];
  const stands = because === undefined || found.state === 'not-done' ? found : { ...found, state: 'refused' as const, words: `${found.words} Not used: ${because.replace(/[.\s]+$/, '')}.`, proposals: [] };
  return { check, title: CHECK_TITLES[check], ...stands };
}

const notDone = (words: string): Settled => ({ state: 'not-done', words, values: [], evidence: null, proposals: [], notes: [] });
const metres = (value: number): string => `${value.toFixed(2)} m`;
const plusMinus = (one: Estimate, digits: number, unit: string): string => `${one.value.toFixed(digits)} ± ${half95(one).toFixed(digits)}${unit === '' ? '' : ` ${unit}`}`;
const round = (value: number, digits: number): number => Number(value.toFixed(digits));

/** The bar checks of a survey as one, held against draft and sound speed as set. */
export function judgeBar(settings: Settings, profile: SoundProfile | null): InstrumentCheck {
  const { bar } = settings.instruments;
  const { sounder, water } = settings;
  if (bar.length === 0) return settle('bar', settings, notDone('No readings of a plate yet: hang it at three depths or more and write down what the sounder reads.'));
  const checks = bar.map((one) => ({
    one,
    check: barCheck(
      one.readings.map(({ barM, readM }) => ({ barM, readM: one.from === 'surface' ? readM - sounder.draftM : readM })),
      { soundSpeedSetMps: sounder.soundSpeedSetMps, barSigmaM: one.sigmaM },
    ),
  }));
  const deepest = Math.max(0.1, ...checks.flatMap(({ check }) => check.rows.map(({ barM }) => barM)));
  const inUse = profile === null ? soundSpeedInUse(settings) : profile.harmonicMeanMps(Math.min(sounder.draftM, deepest - 0.1), deepest);
  const evidence = barEvidence(checks.map(({ one, check }) => ({ whenUtc: one.whenUtc, sigmaM: one.sigmaM, check })), inUse / sounder.soundSpeedSetMps, settings);
  const usable = checks.filter(({ check }) => check.refused === '');
  if (usable.length === 0) return settle('bar', settings, { state: 'unusable', words: `It cannot be used: ${checks[0]!.check.refused}.`, values: [], evidence, proposals: [], notes: [] });
  const draftM = together(usable.map(({ check }) => check.draftM));
  const soundSpeedMps = together(usable.map(({ check }) => check.soundSpeedMps));
  const notes = [
    ...checks.filter(({ check }) => check.refused !== '').map(({ one, check }) => `The check${one.whenUtc === null ? '' : ` of ${one.whenUtc}`} is left out: ${check.refused}.`),
    ...changed(usable),
  ];
  const draftOff = Math.abs(draftM.value - sounder.draftM) > Math.max(0.005, half95(draftM));
  const speedOff = Math.abs(soundSpeedMps.value - inUse) > Math.hypot(half95(soundSpeedMps), 1.96 * settings.uncertainty.soundSpeedMps);
  const proposals: CheckProposal[] = [];
  if (draftOff) {
    proposals.push({ path: 'sounder.draftM', value: round(Math.max(0, draftM.value), 3), words: `draft of the transducer, index error included: ${plusMinus(draftM, 3, 'm')}; set now: ${metres(sounder.draftM)}` });
    proposals.push({ path: 'uncertainty.draftM', value: round(Math.max(0.002, draftM.sigma), 3), words: `one sigma of the draft: ${Math.max(0.002, draftM.sigma).toFixed(3)} m; set now: ${settings.uncertainty.draftM} m` });
  }
  if (speedOff) {
    if (water.soundSpeed.kind === 'as-set' || water.soundSpeed.kind === 'constant') {
      proposals.push({ path: 'water.soundSpeed', value: { kind: 'constant', soundSpeedMps: round(soundSpeedMps.value, 1) }, words: `mean sound speed: ${plusMinus(soundSpeedMps, 1, 'm/s')}; in use now: ${inUse.toFixed(1)} m/s` });
    } else notes.push(`The sound-speed profile gives ${inUse.toFixed(1)} m/s down to ${metres(deepest)}, the plate ${plusMinus(soundSpeedMps, 1, 'm/s')}: one of the two is wrong; nothing is changed, look at the cast.`);
  }
  const words = `The sounder sits ${plusMinus(draftM, 3, 'm')} below the water, index error included (${draftOff ? `set: ${metres(sounder.draftM)}, which is ${Math.abs(draftM.value - sounder.draftM).toFixed(2)} m ${draftM.value > sounder.draftM ? 'too little' : 'too much'}` : `set: ${sounder.draftM.toFixed(3)} m, within that`}); sound runs at ${plusMinus(soundSpeedMps, 1, 'm/s')} (${speedOff ? `in use: ${inUse.toFixed(1)} m/s` : `in use: ${inUse.toFixed(1)} m/s, within that`}).`;
  return settle('bar', settings, {
    state: draftOff || speedOff ? 'differs' : 'agrees',
    words,
    values: [
      { name: 'draft', value: draftM.value, half95: half95(draftM), unit: 'm', set: sounder.draftM },
      { name: 'sound speed', value: soundSpeedMps.value, half95: half95(soundSpeedMps), unit: 'm/s', set: inUse },
    ],
    evidence,
    proposals,
    notes,
  });
}

/** Mean sound speed that depths are reduced with where there is no profile. */
function soundSpeedInUse({ water, sounder }: Settings): number {
  return water.soundSpeed.kind === 'constant' ? water.soundSpeed.soundSpeedMps : sounder.soundSpeedSetMps;
}

function together(estimates: readonly Estimate[]): Estimate {
  return estimates.length === 1 ? estimates[0]! : combine(estimates, 6);
}

/** Whether the first and the last check of the day differ beyond chance. */
function changed(usable: readonly { readonly one: { readonly whenUtc: string | null }; readonly check: BarCheck }[]): string[] {
  const [first, last] = [usable[0]!, usable[usable.length - 1]!];
  if (first === last || !differs(first.check.draftM, last.check.draftM)) return [];
  return [`Draft was ${metres(first.check.draftM.value)} at the first check and ${metres(last.check.draftM.value)} at the last: something moved, or the boat lay differently; depths between the two are uncertain by that much.`];
}

/** Minutes on known marks, held against the uncertainty that positions are used with. */
export function judgeStatic(settings: Settings, checks: readonly StaticCheck[], offsets: readonly { readonly eastM: Float64Array; readonly northM: Float64Array }[]): InstrumentCheck {
  if (checks.length === 0) return settle('static', settings, notDone('No time on a known mark yet: leave the antenna on one for five minutes or more, and give its position and the time.'));
  const evidence = staticEvidence(checks, offsets);
  const usable = checks.filter(({ refused }) => refused === '');
  if (usable.length === 0) return settle('static', settings, { state: 'unusable', words: `It cannot be used: ${checks[0]!.refused}.`, values: [], evidence, proposals: [], notes: [] });
  const sigmaM = Math.sqrt(usable.reduce((sum, one) => sum + one.sigmaM ** 2, 0) / usable.length);
  const worst = usable.reduce((one, other) => (other.offsetM > one.offsetM ? other : one));
  const noiseM = Math.sqrt(usable.reduce((sum, one) => sum + one.noiseM ** 2, 0) / usable.length);
  // Between a half and twice is as well as some minutes tell it.
  const off = sigmaM > 2 * settings.gnss.sigmaM || sigmaM < settings.gnss.sigmaM / 2;
  const half = 2.4477 * Math.hypot(worst.eastM.sigma, worst.northM.sigma) * Math.SQRT1_2;
  return settle('static', settings, {
    state: off ? 'differs' : 'agrees',
    words: `Positions scatter by ${metres(noiseM)} (one sigma, one dimension) and lie ${metres(worst.offsetM)} ± ${metres(half)} from the mark (${worst.eastM.value.toFixed(2)} m east, ${worst.northM.value.toFixed(2)} m north)${worst.offsetIsReal ? ', which is beyond chance: look at the datum and at the mark' : ''}; 95 % within ${metres(worst.radius95M)}, the order allows ${metres(worst.limitM)}${worst.met ? '' : ': not kept'}.`,
    values: [
      { name: 'noise, one sigma', value: noiseM, half95: NaN, unit: 'm', set: settings.gnss.sigmaM },
      { name: 'offset from the mark', value: worst.offsetM, half95: half, unit: 'm', set: 0 },
    ],
    evidence,
    proposals: off ? [{ path: 'gnss.sigmaM', value: round(sigmaM, 2), words: `one sigma of a position where the log has none: ${metres(sigmaM)}; set now: ${metres(settings.gnss.sigmaM)}` }] : [],
    notes: checks.filter(({ refused }) => refused !== '').map(({ refused }) => `One stay on the mark is left out: ${refused}.`),
  });
}

/** Runs both ways, with the offset already set taken off: what is left of it. */
export function judgeHeading(settings: Settings, check: HeadingCheck, runs: readonly HeadingRun[]): InstrumentCheck {
  const evidence = runs.length === 0 ? null : headingEvidence(runs, settings);
  if (check.refused !== '') {
    const nothing = check.runs === 0 && check.refused.startsWith('no ');
    return settle('heading', settings, nothing ? notDone(`Not there yet: ${check.refused}.`) : { state: 'unusable', words: `It cannot be used: ${check.refused}.`, values: [], evidence, proposals: [], notes: [] });
  }
  const { offsetDeg } = check;
  const off = Math.abs(offsetDeg.value) > Math.max(0.5, half95(offsetDeg), settings.heading.sigmaDeg);
  const whole = settings.heading.offsetDeg + offsetDeg.value;
  return settle('heading', settings, {
    state: off ? 'differs' : 'agrees',
    words: `The compass points ${Math.abs(offsetDeg.value) < 0.05 ? `along the bow within ${half95(offsetDeg).toFixed(1)} degrees` : `${plusMinus({ ...offsetDeg, value: Math.abs(offsetDeg.value) }, 1, 'degrees')} ${offsetDeg.value >= 0 ? 'clockwise' : 'counter-clockwise'} of the bow`}${settings.heading.offsetDeg === 0 ? '' : ` beyond the ${settings.heading.offsetDeg} degrees taken off`}, from ${check.runs} runs there and back; the boat crabbed at ${check.crabDeg.toFixed(1)} degrees.`,
    values: [{ name: 'offset', value: whole, half95: half95(offsetDeg), unit: 'deg', set: settings.heading.offsetDeg }],
    evidence,
    proposals: off
      ? [{ path: 'heading.offsetDeg', value: round(whole, 1), words: `to be taken off the compass: ${plusMinus({ ...offsetDeg, value: whole }, 1, 'degrees')}; set now: ${settings.heading.offsetDeg} degrees` }]
      : [],
    notes: [],
  });
}

/** Lines run both ways, with the latency already set taken off: what is left of it. */
export function judgeLatency(settings: Settings, check: LatencyCheck): InstrumentCheck {
  const evidence = check.pairs.length === 0 ? null : latencyEvidence(check.pairs, settings);
  if (check.refused !== '') {
    const nothing = check.pairs.length === 0;
    return settle('latency', settings, nothing ? notDone(`Not there yet: ${check.refused}.`) : { state: 'unusable', words: `It cannot be used: ${check.refused}.`, values: [], evidence, proposals: [], notes: [] });
  }
  const { latencyS } = check;
  const off = Math.abs(latencyS.value) > Math.max(0.02, half95(latencyS), settings.uncertainty.timeS);
  const whole = settings.gnss.latencyS + latencyS.value;
  return settle('latency', settings, {
    state: off ? 'differs' : 'agrees',
    words: `Positions are ${plusMinus({ ...latencyS, value: Math.abs(latencyS.value) }, 2, 's')} ${latencyS.value >= 0 ? 'older' : 'younger'} than depths${settings.gnss.latencyS === 0 ? '' : ` beyond the ${settings.gnss.latencyS} s corrected`}, from ${check.pairs.length === 1 ? 'one line' : `${check.pairs.length} lines`} run both ways.`,
    values: [{ name: 'latency', value: whole, half95: half95(latencyS), unit: 's', set: settings.gnss.latencyS }],
    evidence,
    proposals: off
      ? [
          { path: 'gnss.latencyS', value: round(whole, 2), words: `age of positions: ${plusMinus({ ...latencyS, value: whole }, 2, 's')}; set now: ${settings.gnss.latencyS} s` },
          { path: 'uncertainty.timeS', value: round(Math.max(0.005, latencyS.sigma), 3), words: `one sigma of depth against position in time: ${Math.max(0.005, latencyS.sigma).toFixed(3)} s; set now: ${settings.uncertainty.timeS} s` },
        ]
      : [],
    notes: [],
  });
}
