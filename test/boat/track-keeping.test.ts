import { describe, expect, it } from 'vitest';
import { createRandom, type Random } from '../../src/base/random.js';
import { isRefused, type Estimate, type Refusal } from '../../src/boat/estimate.js';
import { makeCard } from '../../src/boat/make-card.js';
import { trackKeeping } from '../../src/boat/track-keeping.js';
import type { Trial, TrialLog } from '../../src/boat/trial-log.js';
import { trialLog } from './trial-log-of.js';

const SPEED = 1.5;
const OFFSET = 0.4;
const SWING = 0.3;
const MEMORY_S = 3;

/** A leg on a course: 4 m off at first, closing in with the way; then swings of a known size and memory about a known offset. */
function leg(random: Random, courseDeg: number, seconds: number, settleM = 8): { log: TrialLog; line: { fromXM: number; fromYM: number; toXM: number; toYM: number } } {
  const n = seconds * 5;
  const angle = (courseDeg * Math.PI) / 180;
  let swing = SWING * random.normal();
  const x: number[] = [];
  const y: number[] = [];
  const left = Math.exp(-0.2 / MEMORY_S);
  for (let i = 0; i < n; i++) {
    const along = SPEED * i * 0.2;
    swing = swing * left + SWING * Math.sqrt(1 - left * left) * random.normal();
    const across = OFFSET + swing + 4 * Math.exp(-along / settleM);
    x.push(500 + along * Math.sin(angle) + across * Math.cos(angle));
    y.push(900 + along * Math.cos(angle) - across * Math.sin(angle));
  }
  return { log: trialLog({ timeS: Array.from({ length: n }, (_, i) => 1.78e9 + i * 0.2), xM: x, yM: y }), line: { fromXM: 500, fromYM: 900, toXM: 500 + Math.sin(angle), toYM: 900 + Math.cos(angle) } };
}

function good<T extends object>(result: T | Refusal): T {
  if (isRefused(result)) throw new Error(result.refused);
  return result;
}

describe('trackKeeping', () => {
  it('gives offset, root mean square and 95 % of a known process, to starboard positive on any course (mean over 60 legs)', () => {
    const sums = { mean: 0, rms: 0, within: 0 };
    for (let seed = 0; seed < 60; seed++) {
      const { log, line } = leg(createRandom(seed), 37 * seed, 300);
      const found = good(trackKeeping(log, 0, log.n, line));
      sums.mean += (found.meanM as Estimate).value / 60;
      sums.rms += found.rmsM.value ** 2 / 60;
      sums.within += found.within95M.value / 60;
    }
    expect(sums.mean).toBeCloseTo(OFFSET, 1);
    expect(Math.sqrt(sums.rms)).toBeCloseTo(Math.hypot(OFFSET, SWING), 1);
    // 95 % of |N(0.4, 0.3)|: P(|e| < 0.894) = 0.95 (from the normal integral, scipy.stats.norm).
    expect(sums.within).toBeCloseTo(0.894, 1);
  });

  it('holds the mean in its 95 % 90 % of the time or more, with 45 independent swings a leg', () => {
    let inside = 0;
    for (let seed = 0; seed < 200; seed++) {
      const { log, line } = leg(createRandom(500 + seed), 20, 300);
      const { value, sigma } = good(trackKeeping(log, 0, log.n, line)).meanM as Estimate;
      if (Math.abs(value - OFFSET) < 2 * sigma) inside++;
    }
    expect(inside / 200).toBeGreaterThanOrEqual(0.9);
  });

  it('tells the way to settle: where 4 m exp(-s/8 m) has come within the error', () => {
    let sum = 0;
    for (let seed = 0; seed < 60; seed++) {
      const { log, line } = leg(createRandom(seed), 120, 200);
      const found = good(trackKeeping(log, 0, log.n, line));
      sum += good(found.settleM).value / 60;
    }
    // Offset 0.4 m, error 0.894 m: 4 exp(-s/8) = 0.494 at 16.7 m; swings make it later or earlier by some metres.
    expect(sum).toBeGreaterThan(12);
    expect(sum).toBeLessThan(24);
  });

  it('without the line to be kept refuses the mean and takes the line through the leg', () => {
    const { log } = leg(createRandom(1), 200, 200);
    const found = good(trackKeeping(log, 0, log.n));
    expect(found.meanM).toEqual({ refused: 'the line the boat was to keep is not known: give it with the leg' });
    expect(found.rmsM.value).toBeGreaterThan(0.15);
    expect(found.rmsM.value).toBeLessThan(0.45);
  });

  it('refuses a short leg and a gap', () => {
    const { log } = leg(createRandom(1), 200, 10);
    expect(trackKeeping(log, 0, log.n)).toEqual({ refused: '15 m long: too short, 20 m or more are needed' });
    const gap = leg(createRandom(1), 200, 100).log;
    gap.xM.fill(NaN, 100, 140);
    expect(trackKeeping(gap, 0, gap.n)).toEqual({ refused: expect.stringContaining('a gap of 8.2 s') });
  });

  it('stands on the card, with the mean where the line is given', () => {
    const { log, line } = leg(createRandom(3), 75, 200);
    const trial: Trial = { id: 'straight-leg@1', kind: 'straight-leg', rowStart: 0, rowEnd: log.n, startS: log.timeS[0]!, endS: log.timeS[log.n - 1]!, courseDeg: 75, speedMps: SPEED, commandPct: NaN, steadiness: 1, series: -1, by: 'hand', refused: '' };
    const options = { name: '', lengthM: 1.2, massKg: 18, hand: {}, defaults: false };
    const without = makeCard(log, [trial], options);
    expect(without.figures.trackMean).toBeNull();
    expect(without.refused.map((one) => one.why)).toContain('the line the boat was to keep is not known: give it with the leg');
    expect(without.figures.trackRms?.note).toMatch(/a steady offset does not show/);
    const card = makeCard(log, [trial], { ...options, lines: { [trial.id]: line } });
    expect(Math.abs(card.figures.trackMean!.value - OFFSET)).toBeLessThan(card.figures.trackMean!.uncertainty95);
    expect(card.figures.track95!.value).toBeGreaterThan(card.figures.trackRms!.value);
  });
});
