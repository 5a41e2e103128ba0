import { describe, expect, it } from 'vitest';
import { CARD_FIGURES, type BoatCard, type CardFigureName } from '../../src/boat/boat-card.js';
import { findTrials } from '../../src/boat/find-trials.js';
import { makeCard } from '../../src/boat/make-card.js';
import type { TrialLog } from '../../src/boat/trial-log.js';
import { provingTrials, trialLogOf } from '../../src/proving/trials.js';

/** A day of the proving ground, damaged, from the log to the card. */
const RUN = provingTrials(11, { gapsPerHour: 0 });
const LOG: TrialLog = trialLogOf(RUN);
const KNOT_MPS = 1852 / 3600;

const cardOf = (log: TrialLog): BoatCard => makeCard(log, findTrials(log), { name: '', lengthM: 1.2, massKg: 18, hand: {}, defaults: false });
const why = (card: BoatCard, what: string | RegExp): string =>
  card.refused.filter((one) => (typeof what === 'string' ? one.what === what : what.test(one.what))).map((one) => one.why).join('; ');
const given = (card: BoatCard): CardFigureName[] => (Object.keys(CARD_FIGURES) as CardFigureName[]).filter((name) => card.figures[name] !== null);

/** No figure is one that cannot be said, and what is not said is listed with the trial that would give it. */
function sound(card: BoatCard): void {
  for (const name of Object.keys(CARD_FIGURES) as CardFigureName[]) {
    const figure = card.figures[name];
    if (figure === null) expect(card.missing.find((one) => one.figure === name)?.trial, name).toMatch(/\w{4}/);
    else expect([Number.isFinite(figure.value), figure.uncertainty95 >= 0], name).toEqual([true, true]);
  }
  for (const point of [...card.commandToSpeed, ...card.speedToPower]) expect([point.value, point.uncertainty95, point.atSpeedMps].every(Number.isFinite), point.method).toBe(true);
  for (const current of card.currents) expect([current.setDeg.value, current.driftMps.value].every(Number.isFinite)).toBe(true);
  for (const circle of card.turning) {
    for (const figure of [circle.advanceM, circle.transferM, circle.timeTo90S]) expect(Number.isFinite(figure.value), figure.method).toBe(true);
  }
  for (const { what, why: reason } of card.refused) expect(`${what}: ${reason}`).not.toMatch(/NaN|undefined|Infinity/);
}

describe('a day of trials of the proving ground, from the log to the card', () => {
  it('gives every figure that the trials tell when nothing is wrong with it', () => {
    const card = cardOf(LOG);
    sound(card);
    // An offset from the line takes the line, which this log does not tell; a battery's energy takes a discharge.
    expect(card.missing.map(({ figure }) => figure)).toEqual(['batteryEnergy', 'trackMean']);
    expect(why(card, 'the log')).toBe('');
  });

  it('lies where boats of this class do (common practice: just under 3 m/s within about 2 s, on the spot)', () => {
    const { figures } = cardOf(LOG);
    expect(figures.topSpeed!.value).toBeGreaterThan(2.5);
    expect(figures.topSpeed!.value).toBeLessThan(3);
    expect(figures.timeTo90!.value).toBeGreaterThan(1);
    expect(figures.timeTo95!.value).toBeLessThan(3.5);
    expect(figures.spinRate!.value).toBeGreaterThan(30);
    expect(figures.spinWander!.value).toBeLessThan(1.2);
    expect(figures.coastTo10!.value).toBeLessThan(10 * 1.2);
    expect(figures.stopAstern!.value).toBeLessThan(figures.coastTo10!.value);
    // Two to three days at survey speed on the largest fit: of some 2 to 3 kWh.
    const hotelW = figures.hotelPower!.value;
    const surveyW = hotelW + figures.powerCoefficient!.value * 1.2 ** figures.powerExponent!.value;
    expect(2500 / surveyW).toBeGreaterThan(40);
    expect(2500 / surveyW).toBeLessThan(96);
  });
});

describe('a damaged log, from the log to the card', () => {
  it('no motion: nothing is found and nothing said of the motion', () => {
    const still = { ...LOG, xM: LOG.xM.map((_, i) => 10 + 0.05 * Math.sin(i)), yM: LOG.yM.map((_, i) => 20 + 0.05 * Math.cos(i)) };
    const card = cardOf(still);
    sound(card);
    expect(why(card, 'the log')).toMatch(/no motion: all positions lie within 0\.\d m; nothing can be said of the boat's motion/);
    for (const name of ['topSpeed', 'timeTo90', 'coastLength', 'stopAstern', 'trackRms'] as const) expect(card.figures[name], name).toBeNull();
    expect(card.turning).toEqual([]);
  });

  it('no positions: says so', () => {
    const card = cardOf({ ...LOG, xM: LOG.xM.map(() => NaN), yM: LOG.yM.map(() => NaN) });
    sound(card);
    expect(why(card, 'the log')).toMatch(/no positions: nothing can be said/);
    expect(given(card).filter((name) => name !== 'hotelPower')).toEqual([]);
  });

  it('one heading only: no speed through the water, and the run to add', () => {
    const first = findTrials(LOG).find((trial) => trial.kind === 'steady-run')!;
    const part = cut(LOG, first.rowStart - 50, first.rowEnd + 50);
    const card = cardOf(part);
    sound(card);
    expect(card.figures.topSpeed).toBeNull();
    expect(why(card, /^speed at/)).toMatch(/reciprocal run/);
    expect(card.missing.find(({ figure }) => figure === 'topSpeed')?.trial).toMatch(/two runs at full ahead on opposite headings/);
  });

  it('a gap in the middle of a run: no window reaches across it, and the speed stands', () => {
    const run = findTrials(LOG).find((trial) => trial.kind === 'steady-run')!;
    const middle = (run.rowStart + run.rowEnd) >> 1;
    const x = LOG.xM.slice().fill(NaN, middle - 40, middle + 40);
    const log = { ...LOG, xM: x };
    for (const trial of findTrials(log)) expect(trial.rowEnd <= middle - 39 || trial.rowStart >= middle + 39, trial.id).toBe(true);
    const card = cardOf(log);
    sound(card);
    expect(Math.abs(card.figures.topSpeed!.value - RUN.truth.figures.topSpeed)).toBeLessThan(2 * card.figures.topSpeed!.uncertainty95);
  });

  it('speed in knots declared as m/s: told by the positions, with the unit to correct, and not used', () => {
    const card = cardOf({ ...LOG, speedThroughWaterMps: LOG.speedThroughWaterMps.map((v) => v / KNOT_MPS) });
    sound(card);
    expect(why(card, 'the log')).toMatch(/it is in knots, though the log says m\/s; correct the unit of the column \(x 0\.5144\)\. It is not used/);
    expect(card.figures).toEqual(cardOf(LOG).figures);
  });

  it('heading 180 degrees out: compass left out, speeds from reciprocal runs stand, spins are refused', () => {
    const card = cardOf({ ...LOG, headingDeg: LOG.headingDeg.map((h) => (h + 180) % 360) });
    sound(card);
    expect(why(card, 'the log')).toMatch(/heading is 1[678]\d degrees from the course.*correct the heading by 180 degrees\. Speeds from reciprocal runs stand/);
    expect(Math.abs(card.figures.topSpeed!.value - RUN.truth.figures.topSpeed)).toBeLessThan(2 * card.figures.topSpeed!.uncertainty95);
    expect([card.figures.spinRate, card.figures.nomotoK]).toEqual([null, null]);
    expect(why(card, /^spin/)).toMatch(/no compass/);
  });

  it('magnetic heading taken for true: told with its angle, and the compass left out', () => {
    const card = cardOf({ ...LOG, headingDeg: LOG.headingDeg.map((h) => (h + 14) % 360) });
    sound(card);
    expect(why(card, 'the log')).toMatch(/heading differs from the course by -?1[2-6] degrees on the mean of all directions: magnetic heading without the variation/);
    expect(card.figures.spinRate).toBeNull();
    expect(card.figures.topSpeed).not.toBeNull();
  });

  it('current stronger than the boat at low commands: said of those settings, the fast ones stand', () => {
    // A current that was there all the time: every position goes with it.
    const east = 1.1;
    const card = cardOf({ ...LOG, xM: LOG.xM.map((x, i) => x + east * (LOG.timeS[i]! - LOG.timeS[0]!)) });
    sound(card);
    const slowest = card.commandToSpeed[0];
    const told = slowest === undefined || slowest.commandPct > 40 ? why(card, /speed at 30 %/) : slowest.note;
    expect(told).toMatch(/the current is stronger than the boat at this setting/);
    const top = card.figures.topSpeed!;
    expect(top.note).not.toMatch(/stronger than the boat/);
    expect(Math.abs(top.value - RUN.truth.figures.topSpeed)).toBeLessThan(0.05);
  });

  it('battery current of the wrong sign: no power at all, and why', () => {
    const card = cardOf({ ...LOG, batteryCurrentA: LOG.batteryCurrentA.map((a) => -a) });
    sound(card);
    expect(why(card, 'the log')).toMatch(/its sign is the wrong way round, discharge is positive; no power or energy is worked out/);
    expect([card.figures.hotelPower, card.figures.powerCoefficient, card.figures.powerExponent, card.speedToPower]).toEqual([null, null, null, []]);
    expect(card.figures.topSpeed).not.toBeNull();
  });

  it('positions and time only: speed and circles, no figure of what was not logged', () => {
    const run = provingTrials(11, { gapsPerHour: 0, heading: false, commands: false, battery: false, speedLog: false });
    const card = cardOf(trialLogOf(run));
    sound(card);
    expect(card.figures.topSpeed!.note).toMatch(/command not logged: the fastest runs are taken for full ahead/);
    expect(Math.abs(card.figures.topSpeed!.value - run.truth.figures.topSpeed)).toBeLessThan(0.05);
    expect(card.turning.length).toBeGreaterThan(0);
    for (const name of ['spinRate', 'nomotoK', 'overshootFirst', 'hotelPower', 'powerCoefficient'] as const) expect(card.figures[name], name).toBeNull();
    expect(card.commandToSpeed).toEqual([]);
  });
});

/** Rows [start, end) of a log. */
function cut(log: TrialLog, start: number, end: number): TrialLog {
  const from = Math.max(0, start);
  const to = Math.min(log.n, end);
  const wide = (values: Float64Array): Float64Array => values.slice(from, to);
  const narrow = (values: Float32Array): Float32Array => values.slice(from, to);
  return {
    ...log,
    n: to - from,
    timeS: wide(log.timeS),
    xM: wide(log.xM),
    yM: wide(log.yM),
    sigmaM: narrow(log.sigmaM),
    headingDeg: narrow(log.headingDeg),
    speedThroughWaterMps: narrow(log.speedThroughWaterMps),
    thrusterPortPct: narrow(log.thrusterPortPct),
    thrusterStarboardPct: narrow(log.thrusterStarboardPct),
    batteryVoltageV: narrow(log.batteryVoltageV),
    batteryCurrentA: narrow(log.batteryCurrentA),
  };
}
