import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { askCard, sweepSpeeds } from '../../src/boat/ask-card.js';
import type { BoatCard } from '../../src/boat/boat-card.js';
import { checkLog } from '../../src/boat/check-log.js';
import { makeCard } from '../../src/boat/make-card.js';
import { measureTrials } from '../../src/boat/measure-trials.js';
import type { TrialLog } from '../../src/boat/trial-log.js';
import { BOAT, dayOfTrials } from './synthetic-trials.js';

const OPTIONS = { name: 'Pipit', lengthM: 1.2, massKg: 18, hand: {}, defaults: false };
const writer = dayOfTrials(createRandom(11));
const LOG = writer.log();
const TRIALS = writer.trials();
const RUNS = TRIALS.filter((trial) => trial.kind === 'steady-run');

const why = (card: Pick<BoatCard, 'refused'>, what: RegExp | string): string =>
  card.refused.filter((one) => (typeof what === 'string' ? one.what === what : what.test(one.what))).map((one) => one.why).join(' | ');

describe('makeCard from trials', () => {
  const card = makeCard(LOG, TRIALS, OPTIONS);

  it('fills the figures that the trials give, names their trials, and what is missing', () => {
    for (const name of ['topSpeed', 'timeTo90', 'coastLength', 'stopAstern', 'spinRate', 'spinWander', 'nomotoK', 'nomotoT', 'overshootFirst', 'hotelPower', 'powerCoefficient', 'powerExponent'] as const) {
      expect(card.figures[name]?.source, name).toBe('trials');
      expect(card.figures[name]?.uncertainty95, name).toBeGreaterThan(0);
    }
    expect(card.figures.topSpeed?.trials).toHaveLength(3);
    expect(card.figures.topSpeed?.method).toBe('mean of means, ITTC 7.5-04-01-01.1, crab across the line added');
    expect(card.missing.map(({ figure }) => figure)).toEqual(['batteryEnergy', 'trackMean', 'trackRms', 'track95', 'settleDistance']);
    expect(card.refused).toEqual([]);
  });

  it('says that the two ways to the speed agree', () => {
    expect(card.figures.topSpeed?.note).toMatch(/velocities with headings gives 2\.\d{3} ± 0\.\d{3} m\/s, which agrees/);
    const blind = makeCard({ ...LOG, headingDeg: new Float32Array(LOG.n).fill(NaN) }, RUNS, OPTIONS);
    expect(blind.figures.topSpeed?.note).toMatch(/circle of velocities gives 2\.\d{3} ± 0\.\d{3} m\/s, which agrees/);
  });

  it('has curves by rising command and speed, and circles to both sides', () => {
    expect(card.commandToSpeed.map((point) => Math.round(point.commandPct))).toEqual([40, 60, 80, 100]);
    expect(card.speedToPower.map((point) => point.atSpeedMps)).toEqual(card.commandToSpeed.map((point) => point.value));
    expect(card.turning.map(({ side }) => side).sort()).toEqual(['port', 'starboard']);
  });

  it('lies where boats of this class do (common practice: just under 3 m/s in about 2 s, turns on the spot)', () => {
    expect(card.figures.topSpeed!.value).toBeGreaterThan(2.5);
    expect(card.figures.topSpeed!.value).toBeLessThan(3);
    expect(card.figures.timeTo95!.value).toBeGreaterThan(1);
    expect(card.figures.timeTo95!.value).toBeLessThan(3);
    expect(card.figures.spinWander!.value).toBeLessThan(0.6);
  });

  it('takes trials before hand figures before defaults', () => {
    const mixed = makeCard(LOG, RUNS, { ...OPTIONS, hand: { topSpeed: { value: 9, uncertainty95: 1 }, coastLength: { value: 5, uncertainty95: 1 } }, defaults: true });
    expect(mixed.figures.topSpeed?.source).toBe('trials');
    expect(mixed.figures.coastLength).toMatchObject({ value: 5, source: 'hand' });
    expect(mixed.figures.timeTo90?.source).toBe('default');
  });

  it('does not depend on the order of the trials, nor on where and when they were made', () => {
    const shuffled = makeCard(LOG, TRIALS.slice().reverse(), OPTIONS);
    const moved = makeCard({ ...LOG, timeS: LOG.timeS.map((t) => t + 86_400), xM: LOG.xM.map((x) => x + 5000), yM: LOG.yM.map((y) => y - 3000) }, TRIALS.map((trial) => ({ ...trial, startS: trial.startS + 86_400, endS: trial.endS + 86_400 })), OPTIONS);
    for (const other of [shuffled, moved]) {
      for (const [name, figure] of Object.entries(card.figures)) {
        if (figure !== null) expect(other.figures[name as 'topSpeed']!.value / figure.value, name).toBeCloseTo(1, 4);
      }
    }
  });

  it('answers with an uncertainty that draws from the fit\'s covariance bear out, far below that of the figures taken apart', () => {
    const full = makeCard(LOG, TRIALS, { ...OPTIONS, hand: { batteryEnergy: { value: 1500, uncertainty95: 0 } } });
    const question = { speedMps: 1.5, courseDeg: 30, currentMps: 0.4, currentSetDeg: 210, reserveShare: 0.2 };
    const reply = askCard(full, question);
    if (!reply.can) throw new Error(reply.why);
    const apart = askCard({ ...full, powerCovariance: null }, question);
    if (!apart.can) throw new Error(apart.why);
    const random = createRandom(3);
    const c = full.powerCovariance!;
    // Cholesky factor of the 3 x 3 covariance.
    const l00 = Math.sqrt(c[0]!);
    const l10 = c[3]! / l00;
    const l11 = Math.sqrt(c[4]! - l10 ** 2);
    const l20 = c[6]! / l00;
    const l21 = (c[7]! - l20 * l10) / l11;
    const l22 = Math.sqrt(Math.max(0, c[8]! - l20 ** 2 - l21 ** 2));
    const { hotelPower, powerCoefficient, powerExponent } = full.figures;
    const draws = Float64Array.from({ length: 50_000 }, () => {
      const [a, b, d] = [random.normal(), random.normal(), random.normal()];
      return hotelPower!.value + l00 * a + (powerCoefficient!.value + l10 * a + l11 * b) * 1.5 ** (powerExponent!.value + l20 * a + l21 * b + l22 * d);
    }).sort();
    const half = (draws[48_750]! - draws[1250]!) / 2;
    expect(reply.answers.power.uncertainty95 / half).toBeCloseTo(1, 1);
    expect(reply.answers.power.uncertainty95).toBeLessThan(apart.answers.power.uncertainty95);
    const truth = BOAT.hotelW + BOAT.coefficient * 1.5 ** BOAT.exponent;
    expect(Math.abs(reply.answers.power.value - truth)).toBeLessThan(2 * reply.answers.power.uncertainty95);
    expect(reply.answers.tightestTurn?.value).toBeGreaterThan(5);
    expect(reply.answers.tightestTurn?.note).toMatch(/no circle was made at this speed/);
    const sweep = sweepSpeeds(full, question, [0.2, 1, 1.5, 2, 5])!;
    expect(sweep.enduranceH[2]).toBe(reply.answers.endurance.value);
    expect(sweep.enduranceH[0]).toBeNaN();
    expect(sweep.enduranceH[4]).toBeNaN();
    expect(sweep.enduranceH[1]!).toBeGreaterThan(sweep.enduranceH[3]!);
  });

  it('refuses a window that is no rows of the log', () => {
    expect(() => makeCard(LOG, [{ ...TRIALS[0]!, rowEnd: LOG.n + 1 }], OPTIONS)).toThrow(/rows \d+ to \d+, the log has/);
  });
});

describe('bad input', () => {
  it('no motion: says that nothing can be said', () => {
    const still: TrialLog = { ...LOG, xM: LOG.xM.map(() => 5), yM: LOG.yM.map(() => 5) };
    const card = measureTrials(still, TRIALS);
    expect(why(card, 'the log')).toMatch(/no motion: all positions lie within 0\.0 m; nothing can be said/);
    expect(Object.keys(card.figures).filter((name) => name !== 'hotelPower' && !/spin|nomoto|overshoot/.test(name))).toEqual([]);
  });

  it('no positions at all: says so', () => {
    const lost = measureTrials({ ...LOG, xM: LOG.xM.map(() => NaN), yM: LOG.yM.map(() => NaN) }, TRIALS);
    expect(why(lost, 'the log')).toMatch(/no positions/);
    expect(why(lost, RUNS[0]!.id)).toBe('no positions in it');
  });

  it('one heading only: speed refused, with the run to add', () => {
    const one = RUNS.filter((_, i) => i % 3 === 0).slice(0, 1);
    const card = measureTrials({ ...LOG, headingDeg: new Float32Array(LOG.n).fill(NaN) }, [...one, ...TRIALS.filter((trial) => trial.kind === 'coast-down')]);
    expect(card.figures.topSpeed).toBeUndefined();
    expect(why(card, /speed at 100/)).toMatch(/no reciprocal run/);
    expect(why(card, /coast-down/)).toMatch(/the current is not known.*add reciprocal runs/);
  });

  it('a gap in the middle of a run: that run refused, the others stand', () => {
    const gap = LOG.xM.slice();
    gap.fill(NaN, RUNS[4]!.rowStart + 200, RUNS[4]!.rowStart + 260);
    const card = measureTrials({ ...LOG, xM: gap }, TRIALS);
    expect(why(card, RUNS[4]!.id)).toMatch(/a gap of 6\.1 s without positions, 20 s into it: run it again/);
    expect(card.figures.topSpeed).toBeDefined();
  });

  it('speed in knots declared as m/s: caught by the positions', () => {
    const [fault] = checkLog({ ...LOG, speedThroughWaterMps: LOG.speedThroughWaterMps.map((v) => (v * 3600) / 1852) });
    expect(fault?.code).toBe('speed-unit');
    expect(fault?.text).toMatch(/speed through water is 1\.9\d times the speed of the positions: it is in knots/);
    expect(checkLog(LOG)).toEqual([]);
  });

  it('heading 180 degrees out: compass left out, speeds from reciprocal runs stand', () => {
    const turned = { ...LOG, headingDeg: LOG.headingDeg.map((h) => (h + 180) % 360) };
    const card = measureTrials(turned, TRIALS);
    expect(why(card, 'the log')).toMatch(/heading is 1[678]\d degrees from the course/);
    expect(card.figures.topSpeed!.value).toBeCloseTo(BOAT.topMps, 1);
    expect(why(card, /spin/)).toMatch(/no compass/);
  });

  it('magnetic heading taken for true: told by the angle', () => {
    expect(checkLog({ ...LOG, headingDeg: LOG.headingDeg.map((h) => (h + 345) % 360) })[0]).toMatchObject({ code: 'heading-offset', text: expect.stringMatching(/differs from the course by 1[3456] degrees.*magnetic heading without the variation/) });
  });

  it('battery current of the wrong sign: no power worked out, and why', () => {
    const card = measureTrials({ ...LOG, batteryCurrentA: LOG.batteryCurrentA.map((a) => -a) }, TRIALS);
    expect(why(card, 'the log')).toMatch(/battery current is -\d+\.\d A under way: its sign is the wrong way round, discharge is positive/);
    expect([card.figures.hotelPower, card.figures.powerCoefficient, card.speedToPower.length]).toEqual([undefined, undefined, 0]);
  });

  it('current stronger than the boat: said of the setting it holds for', () => {
    const swept = dayOfTrials(createRandom(4), { eastMps: -0.3, northMps: -1.4, eastRate: 0, northRate: 0, whiteM: 0.02, walkM: 0.01, compassDeg: 0.8, surge: 0.02 });
    const card = measureTrials(swept.log(), swept.trials());
    const slow = card.commandToSpeed.find((point) => Math.round(point.commandPct) === 40)!;
    expect(slow.value).toBeCloseTo(1.12, 1);
    expect(card.commandToSpeed.find((point) => Math.round(point.commandPct) === 100)!.note).not.toMatch(/stronger/);
    expect(slow.note).toMatch(/the current is stronger than the boat at this setting/);
  });

  it('the fastest runs below full ahead: top speed refused, not guessed', () => {
    const card = measureTrials(LOG, RUNS.slice(3));
    expect(card.figures.topSpeed).toBeUndefined();
    expect(why(card, 'top speed through the water')).toMatch(/the fastest runs were at 80 % command: run at full ahead/);
  });

  it('a trial refused by hand is passed over and named', () => {
    const card = measureTrials(LOG, RUNS.map((trial, i) => (i === 0 ? { ...trial, refused: 'weed in the propeller' } : trial)));
    expect(why(card, RUNS[0]!.id)).toBe('weed in the propeller');
  });
});
