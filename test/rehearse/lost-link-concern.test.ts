import { describe, expect, it } from 'vitest';
import type { Polygon } from '../../src/geo/shapes.js';
import { lostLinkConcern, withLostLinkConcern } from '../../src/rehearse/lost-link-concern.js';
import { belowText, laterText, spanText } from '../../src/rehearse/moment-words.js';
import type { RehearsalRequest } from '../../src/rehearse/rehearsal.js';
import { rehearseSortie } from '../../src/rehearse/rehearse-sortie.js';
import { worstMoments } from '../../src/rehearse/worst-moments.js';
import { constantCurrent } from '../../src/water/current-field.js';
import { linesSortie, plainBoat } from './plain-sortie.js';

const START_S = 1_781_686_800;
const square = (xM: number, yM: number, halfM: number): Polygon => ({ outer: Float64Array.of(xM - halfM, yM - halfM, xM + halfM, yM - halfM, xM + halfM, yM + halfM, xM - halfM, yM + halfM), holes: [] });
const request = (changes: Partial<RehearsalRequest> = {}): RehearsalRequest => ({ sortie: linesSortie(4, 200, 15, 1.5), boat: plainBoat(), startS: START_S, current: constantCurrent(0, 0, 0.02), ...changes });

describe('lost link: what the boat is set to do, in the verdict', () => {
  // Between the lines' far ends and home, clear of every leg.
  const asked = request({ keepouts: [square(28, 100, 3)] });
  const rehearsal = rehearseSortie(asked);
  const moments = worstMoments(rehearsal, asked, { lostLink: 'straight-home' });

  it('straight home over a keep-out is a caution with its share, its first moment and what does better', () => {
    const concern = lostLinkConcern(moments, 'straight-home')!;
    expect(concern).toMatchObject({ kind: 'link', weight: 'caution' });
    const { outcome } = moments.outcomes['straight-home'];
    const bad = outcome.filter((value) => value === 3).length;
    expect(bad).toBeGreaterThan(0);
    const first = outcome.indexOf(3);
    expect(concern).toMatchObject({ timeS: moments.timeS[first], xM: moments.xM[first], yM: moments.yM[first] });
    expect(concern.text).toContain(`ends in a keep-out from ${((100 * bad) / moments.n).toFixed(0)} % of the moments of the sortie, first at 2026-06-17T09:`);
    expect(concern.text).toMatch(/^set to come straight home on a lost link, the boat ends .*: in a keep-out ([\d.]+ (s|min) later|at once); set to .* it does so from none$/);
  });

  it('a behaviour that always ends well is no concern, and leaves the rehearsal as it is', () => {
    expect(lostLinkConcern(moments, 'safe-lane')).toBeNull();
    expect(withLostLinkConcern(rehearsal, moments, 'safe-lane')).toBe(rehearsal);
  });

  it('it stands among the concerns by weight, and the verdict stays what it is', () => {
    const before = rehearseSortie({ ...asked, boat: plainBoat({ standIns: ['yaw rate'] }) });
    const { verdict } = withLostLinkConcern(before, moments, 'straight-home');
    expect(verdict.go).toBe(before.verdict.go);
    expect(verdict.reason).toBe(before.verdict.reason);
    expect(verdict.concerns).toHaveLength(before.verdict.concerns.length + 1);
    const weights = verdict.concerns.map(({ weight }) => ['no-go', 'caution', 'note'].indexOf(weight));
    expect(weights).toEqual([...weights].sort((a, b) => a - b));
    expect(verdict.concerns.some(({ text }) => text.startsWith('set to come straight home'))).toBe(true);
  });

  it('the worst moment says what comes of it alone: no time of day, no mishap', () => {
    expect(moments.worst!.reason).toMatch(/^it is in a keep-out ([\d.]+ (s|min) later|at once), \d+ m from home$/);
    for (const { reason } of Object.values(moments.worstOf)) expect(reason).not.toMatch(/\d{4}-\d\d-\d\dT|link drops|-0 /);
  });
});

describe('words of the rehearsal', () => {
  it('spans: seconds where short, a tenth of a minute below ten minutes, never 0 min', () => {
    expect([0, 12.4, 99, 110, 150, 300, 599, 1234].map(spanText)).toEqual(['0 s', '12 s', '99 s', '1.8 min', '2.5 min', '5 min', '10 min', '21 min']);
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
    expect(verdict.concerns[0]!.text).toMatch(/^the link is below 0 dB for \d\d s, first on .*, at worst -0\.3 dB$/);
  });
});
