import { describe, expect, it } from 'vitest';
import type { CardFigure, CardFigureName } from '../../src/boat/boat-card.js';
import { findTrials } from '../../src/boat/find-trials.js';
import { makeCard } from '../../src/boat/make-card.js';
import type { Trial, TrialKind, TrialLog } from '../../src/boat/trial-log.js';
import { provingTrials, trialLogOf } from '../../src/proving/trials.js';
import { trialLog } from './trial-log-of.js';

const DAYS = 200;

interface Tally {
  seen: number;
  inside: number;
  bias: number;
  half: number;
}

interface Day {
  /** By kind: true trials, those of them that were found, windows found that are none. */
  readonly kinds: Map<string, { wanted: number; found: number; wrong: number }>;
  readonly misses: string[];
}

/** Shared length over that of the shorter. */
function overlap(a: { startS: number; endS: number }, b: { startS: number; endS: number }): number {
  return (Math.min(a.endS, b.endS) - Math.max(a.startS, b.startS)) / Math.min(a.endS - a.startS, b.endS - b.startS);
}

function tally(): { day: Day; figures: Map<string, Tally> } {
  const day: Day = { kinds: new Map(), misses: [] };
  const figures = new Map<string, Tally>();
  for (let seed = 1; seed <= DAYS; seed++) {
    const run = provingTrials(seed);
    const log: TrialLog = trialLogOf(run);
    const found = findTrials(log);
    // What lies across a gap in the positions cannot be seen: those trials do not count as wanted, whatever is found of them does not count as false.
    const gaps = run.readings.gaps.map(({ startS, endS }) => ({ startS: run.options.startS + startS, endS: run.options.startS + endS }));
    const whole = (trial: { startS: number; endS: number }): boolean => gaps.every((gap) => gap.endS <= trial.startS - 3 || gap.startS >= trial.endS + 3);
    const truth = run.truth.trials.map(({ kind, startUtcS, endUtcS }) => ({ kind, startS: startUtcS, endS: endUtcS }));
    for (const one of truth) {
      const count = day.kinds.get(one.kind) ?? { wanted: 0, found: 0, wrong: 0 };
      day.kinds.set(one.kind, count);
      if (!whole(one)) continue;
      count.wanted++;
      // Found: a window of the kind that shares at least half of the shorter of the two.
      if (found.some((trial) => trial.kind === one.kind && overlap(trial, one) >= 0.5)) count.found++;
      else if (day.misses.length < 10) day.misses.push(`seed ${seed}: ${one.kind} ${(one.startS - run.options.startS).toFixed(1)} to ${(one.endS - run.options.startS).toFixed(1)}`);
    }
    for (const trial of found) {
      // False: a window that no true trial of the kind shares half of. A run was made where the boat went straight at one command;
      // that the true run begins only where the boat would have settled in still water makes an early window no false one.
      const made = (one: { kind: string; startS: number; endS: number }): boolean => one.kind === trial.kind || (trial.kind === 'steady-run' && one.kind === 'straight-leg');
      if (truth.some((one) => made(one) && overlap(trial, one) >= 0.5)) continue;
      day.kinds.get(trial.kind)!.wrong++;
      day.misses.push(`seed ${seed}: false ${trial.kind} ${(trial.startS - run.options.startS).toFixed(1)} to ${(trial.endS - run.options.startS).toFixed(1)}`);
    }
    const card = makeCard(log, found, { name: '', lengthM: 1.2, massKg: 18, hand: {}, defaults: false });
    const add = (name: string, figure: CardFigure | null | undefined, truthValue: number): void => {
      if (figure === null || figure === undefined || figure.source !== 'trials') return;
      const one = figures.get(name) ?? { seen: 0, inside: 0, bias: 0, half: 0 };
      figures.set(name, one);
      one.seen++;
      if (Math.abs(figure.value - truthValue) <= figure.uncertainty95) one.inside++;
      one.bias += figure.value - truthValue;
      one.half += figure.uncertainty95;
    };
    for (const [name, value] of Object.entries(run.truth.figures)) add(name, card.figures[name as CardFigureName], value);
    for (const circle of card.turning) {
      const turn = run.truth.turns.slice().sort((a, b) => Math.abs(a.approachMps - circle.atSpeedMps) - Math.abs(b.approachMps - circle.atSpeedMps))[0]!;
      for (const name of ['advanceM', 'transferM', 'tacticalDiameterM', 'steadyDiameterM', 'timeTo90S', 'timeTo180S', 'timeTo360S', 'speedKept'] as const) add(name, circle[name], turn[name]);
    }
  }
  return { day, figures };
}

describe('200 seeded days of trials on the proving ground', () => {
  const { day, figures } = tally();

  it('finds at least 95 % of the trials of every kind, and none that was not made', () => {
    let wrong = 0;
    for (const [kind, { wanted, found, wrong: false_ }] of day.kinds) {
      expect(wanted, kind).toBeGreaterThan(100);
      expect(found / wanted, `${kind}: ${found} of ${wanted}; ${day.misses.join('; ')}`).toBeGreaterThanOrEqual(0.95);
      wrong += false_;
    }
    expect(wrong, day.misses.filter((miss) => miss.includes('false')).join('; ')).toBe(0);
  });

  for (const [name, { seen, inside, bias, half }] of figures) {
    it(`${name}: the interval holds the truth at least 92 % of the time`, () => {
      const told = `${((100 * inside) / seen).toFixed(1)} % of ${seen}; mean error ${(bias / seen).toFixed(4)}, mean 95 % ${(half / seen).toFixed(4)}`;
      expect(seen, name).toBeGreaterThanOrEqual(0.95 * DAYS);
      expect(inside / seen, told).toBeGreaterThanOrEqual(0.92);
    });
  }
});

describe('findTrials', () => {
  const kinds = (trials: readonly Trial[]): TrialKind[] => trials.map(({ kind }) => kind);

  it('finds nothing in an empty log, in one that stands still, in one of two rows', () => {
    expect(findTrials(trialLog({ timeS: [] }))).toEqual([]);
    expect(findTrials(trialLog({ timeS: [0, 1], xM: [0, 1], yM: [0, 0] }))).toEqual([]);
    const still = Float64Array.from({ length: 3000 }, (_, i) => i / 10);
    expect(findTrials(trialLog({ timeS: still, xM: still.map((t) => 0.05 * Math.sin(1.3 * t) + 0.01 * Math.sin(17 * t)), yM: still.map((t) => 0.05 * Math.cos(1.1 * t) + 0.01 * Math.cos(13 * t)) }))).toEqual([]);
  });

  it('finds runs and circles in positions alone', () => {
    const run = provingTrials(3, { heading: false, commands: false, battery: false, speedLog: false });
    const found = kinds(findTrials(trialLogOf(run)));
    const truth = run.truth.trials.map(({ kind }) => kind);
    const count = (list: readonly string[], kind: string): number => list.filter((one) => one === kind).length;
    for (const kind of ['steady-run', 'turning-circle']) expect(count(found, kind), kind).toBeGreaterThanOrEqual(0.7 * count(truth, kind));
    expect(count(found, 'spin')).toBe(0);
  });

  it('finds the same whatever the place, the day and the clock are', () => {
    const log = trialLogOf(provingTrials(8));
    const moved = { ...log, timeS: log.timeS.map((t) => t + 86_400 * 500), xM: log.xM.map((x) => x - 3000), yM: log.yM.map((y) => y + 7000) };
    const here = findTrials(log);
    const there = findTrials(moved);
    expect(kinds(there)).toEqual(kinds(here));
    there.forEach((trial, i) => expect([trial.rowStart, trial.rowEnd]).toEqual([here[i]!.rowStart, here[i]!.rowEnd]));
  });
});
