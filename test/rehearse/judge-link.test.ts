import { describe, expect, it } from 'vitest';
import type { Polygon } from '../../src/geo/shapes.js';
import { belowText, laterText, spanText, verdictWord } from '../../src/rehearse/moment-words.js';
import type { RehearsalRequest } from '../../src/rehearse/rehearsal.js';
import { rehearseFully } from '../../src/rehearse/rehearse-fully.js';
import { rehearseSortie } from '../../src/rehearse/rehearse-sortie.js';
import { constantCurrent } from '../../src/water/current-field.js';
import { linesSortie, plainBoat } from './plain-sortie.js';

const START_S = 1_781_686_800;
const square = (xM: number, yM: number, halfM: number): Polygon => ({ outer: Float64Array.of(xM - halfM, yM - halfM, xM + halfM, yM - halfM, xM + halfM, yM + halfM, xM - halfM, yM + halfM), holes: [] });
const request = (changes: Partial<RehearsalRequest> = {}): RehearsalRequest => ({ sortie: linesSortie(4, 200, 15, 1.5), boat: plainBoat(), startS: START_S, current: constantCurrent(0, 0, 0.02), ...changes });

describe('link verdict: what is expected of the link, and what comes of it', () => {
  // Between the lines' far ends and home, clear of every leg.
  const keepouts = [square(28, 100, 3)];
  /** 10 dB to 150 m north, -5 dB beyond: lost on the far half of every line. */
  const halfLost = (_x: number, y: number): number => (y > 150 ? -5 : 10);
  const good = (): number => 20;
  const asked = request({ keepouts });
  const { moments } = rehearseFully(asked);

  it('a lost link that ends in a keep-out where it may be lost is a no-go, with its share, its first moment and what does better', () => {
    const { rehearsal } = rehearseFully({ ...asked, linkMarginDb: halfLost });
    expect(rehearsal.verdict.go).toBe(false);
    const may = Array.from({ length: moments.n }, (_, i) => i).filter((i) => halfLost(moments.xM[i]!, moments.yM[i]!) < 8.2);
    const bad = may.filter((i) => moments.outcomes['straight-home'].outcome[i] === 3);
    expect(bad.length).toBeGreaterThan(0);
    expect(rehearsal.verdict.concerns[0]).toMatchObject({ kind: 'link', weight: 'no-go', timeS: moments.timeS[bad[0]!], xM: moments.xM[bad[0]!], yM: moments.yM[bad[0]!] });
    expect(rehearsal.verdict.reason).toContain(`and ends in a keep-out from ${((100 * bad.length) / may.length).toFixed(0)} % of those moments, first at 2026-06-17T09:`);
    expect(rehearsal.verdict.reason).toMatch(/^where the link may be lost, below 8 dB, the boat is set to come straight home, .*: in a keep-out ([\d.]+ (s|min) later|at once); set to come home clear of keep-outs it does so from none$/);
    expect(rehearsal.link).toMatchObject({ outcome: 'keep-out', moments: may.length, bad: bad.length });
  });

  it('the same where only a fault can drop the link is a caution, and the verdict stays a go', () => {
    const { rehearsal } = rehearseFully({ ...asked, linkMarginDb: good });
    expect(rehearsal.verdict.go).toBe(true);
    expect(rehearsal.verdict.concerns[0]).toMatchObject({ kind: 'link', weight: 'caution' });
    expect(rehearsal.verdict.concerns[0]!.text).toMatch(/^should a fault drop the link where it is good, the boat is set to come straight home, and ends in a keep-out from \d+ % of the moments of the sortie/);
  });

  it('a long expected loss that ends well is a go with conditions: how long, where, when it breaks off and what is done by then', () => {
    const { rehearsal } = rehearseFully({ ...asked, linkMarginDb: halfLost, options: { lostLink: 'safe-lane' } });
    const { verdict, link, columns } = rehearsal;
    expect(verdictWord([verdict])).toBe('GO WITH CONDITIONS');
    expect(verdict.go).toBe(true);
    // Four lines of 200 m, each with the 100 m beyond y = 150 lost and the ends of the runs with them, at 1.5 m/s.
    let lostS = 0;
    for (let i = 1; i < columns.n; i++) if (columns.yM[i]! > 150) lostS += columns.timeS[i]! - columns.timeS[i - 1]!;
    expect(link!.lostS).toBeCloseTo(lostS, 6);
    expect(link!.stretches).toHaveLength(2);
    expect(link!.longest!.toS - link!.longest!.fromS).toBeCloseTo(Math.max(...link!.stretches.map(({ fromS, toS }) => toS - fromS)), 6);
    expect(link!.actsS).toBeCloseTo(link!.stretches[0]!.fromS + 10, 6);
    // 100 m of line 1 and 10 s at 1.5 m/s, of four lines of 200 m.
    expect(link!.linesBefore).toBeGreaterThan(0.125);
    expect(link!.linesBefore).toBeLessThan(0.15);
    expect(verdict.reason).toMatch(/^the link is expected to be lost for [\d.]+ min, \d\d % of the sortie in 2 stretches, the first from line 1 at .*, the longest .*; at worst -5 dB; at 2026-06-17T\S+Z, with 1[45] % of its lines run, the boat breaks off and comes home clear of keep-outs, at home at 2026-06-17T\S+Z; to run all lines stand the base nearer or raise its antenna, or set it to carry on/);
  });

  it('set to carry on it runs them all unseen: the condition is to keep it in sight; wanted as a no-go it is one', () => {
    const carry = rehearseFully({ ...asked, linkMarginDb: halfLost, options: { lostLink: 'carry-on' } }).rehearsal.verdict;
    expect(verdictWord([carry])).toBe('GO WITH CONDITIONS');
    expect(carry.reason).toMatch(/there the boat carries on by itself and no order reaches it; keep it in sight/);
    const strict = rehearseFully({ ...asked, linkMarginDb: halfLost, options: { lostLink: 'carry-on', linkLostIsNoGo: true } }).rehearsal.verdict;
    expect(verdictWord([strict])).toBe('NO-GO');
  });

  it('a loss shorter than the boat waits is a caution alone', () => {
    const patch = (_x: number, y: number): number => (y > 150 && y < 160 ? -1 : 20);
    const { verdict, link } = rehearseFully({ ...request(), linkMarginDb: patch }).rehearsal;
    expect(link!.actsS).toBeNaN();
    expect(verdictWord([verdict])).toBe('GO');
    expect(verdict.concerns[0]!.text).toMatch(/in 4 stretches, .*; the boat waits 10 s before it does anything about it$/);
    expect(verdictWord([rehearseFully({ ...request(), linkMarginDb: patch, options: { lostLinkAfterS: 2, lostLink: 'hold' } }).rehearsal.verdict])).toBe('GO WITH CONDITIONS');
  });

  it('no link reckoned: what is set to end badly is a caution; what ends well is no concern', () => {
    expect(rehearseFully(asked).rehearsal.verdict.concerns[0]!.text).toMatch(/^on a lost link the boat is set to come straight home, and ends in a keep-out/);
    expect(rehearseFully({ ...asked, options: { lostLink: 'safe-lane' } }).rehearsal.verdict.concerns).toEqual([]);
    expect(rehearseFully(asked).rehearsal.link).toBeNull();
  });

  it('concerns stand by weight: no-go, condition, caution, note', () => {
    const { verdict } = rehearseFully({ ...asked, linkMarginDb: halfLost, boat: plainBoat({ standIns: ['yaw rate'] }) }).rehearsal;
    const weights = verdict.concerns.map(({ weight }) => ['no-go', 'condition', 'caution', 'note'].indexOf(weight));
    expect(weights).toEqual([...weights].sort((a, b) => a - b));
    expect(weights[0]).toBe(0);
  });

  it('the worst moment says what comes of it alone: no time of day, no mishap', () => {
    expect(moments.worst!.reason).toMatch(/^it is in a keep-out ([\d.]+ (s|min) later|at once), \d+ m from home$/);
    for (const { reason } of Object.values(moments.worstOf)) expect(reason).not.toMatch(/\d{4}-\d\d-\d\dT|link drops|-0 /);
  });
});

describe('words of the rehearsal', () => {
  it('spans: seconds where short, a tenth of a minute below ten minutes, never 0 min', () => {
    expect([0, 12.4, 99, 110, 150, 300, 599, 1234, 5969, 5970, 7530].map(spanText)).toEqual(['0 s', '12 s', '99 s', '1.8 min', '2.5 min', '5 min', '10 min', '21 min', '99 min', '1 h 40 min', '2 h 06 min']);
    expect([0, 0.4, 40].map(laterText)).toEqual(['at once', 'at once', '40 s later']);
  });

  it('a value below a limit shows that it is, never as minus nought', () => {
    expect(belowText(-0.04, 0, 0)).toBe('-0.04');
    expect(belowText(-0.4, 0, 0)).toBe('-0.4');
    expect(belowText(-5.2, 0, 0)).toBe('-5');
    expect(belowText(0.48, 0.5, 1)).toBe('0.48');
    expect(belowText(-0.00001, 0, 0)).toBe('0.000');
    expect(belowText(2.98, 3, 0)).toBe('2.98');
  });

  it('a link lost for seconds by a fraction of a decibel', () => {
    const linkMarginDb = (x: number, y: number): number => (y > 240 && x < 25 ? -0.3 : 10);
    const { verdict } = rehearseSortie(request({ linkMarginDb }));
    expect(verdict.concerns[0]!.text).toMatch(/^the link is expected to be lost for \d\d s, \d % of the sortie, from line 1 at .*; at worst -0\.3 dB; at .* the boat breaks off/);
  });
});
