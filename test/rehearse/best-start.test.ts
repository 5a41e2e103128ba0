import { describe, expect, it } from 'vitest';
import { bestStart } from '../../src/rehearse/best-start.js';
import type { RehearsalRequest } from '../../src/rehearse/rehearsal.js';
import { rehearseSortie } from '../../src/rehearse/rehearse-sortie.js';
import type { CurrentField } from '../../src/water/current-field.js';
import { leg, plainBoat, sortieOf } from './plain-sortie.js';

const FROM_S = 1_781_686_800;
const HOUR_S = 3600;
const END_S = FROM_S + 30 * HOUR_S;
/** A stream along y that turns every 6.2 h, up to 1.8 m/s: stronger than the boat at 1.5 m/s for a part of it. */
const stream: CurrentField = { at: (_x, _y, timeS, out) => void (timeS <= END_S ? out.set([0, 1.8 * Math.sin((2 * Math.PI * (timeS - FROM_S)) / 44_714), 0.02]) : out.fill(NaN)), startS: FROM_S - HOUR_S, endS: END_S, maxMps: 1.8, source: 'test' };
const sortie = sortieOf([leg('launch', 1, 1.5, 0, 0, 30, 0), leg('line', 1, 1.5, 30, 0, 30, 900), leg('turn', 2, 1.5, 30, 900, 50, 900), leg('line', 2, 1.5, 50, 900, 50, 0), leg('home', null, 1.5, 50, 0, 0, 0)]);
const request: RehearsalRequest = { sortie, boat: plainBoat(), startS: FROM_S, current: stream };

describe('bestStart', () => {
  it('finds a start as cheap as the cheapest of full rehearsals at every five minutes, and the windows about it', () => {
    const found = bestStart(request, FROM_S, FROM_S + 13 * HOUR_S, 600);
    expect(found.rehearsal!.verdict.go).toBe(true);
    let least = Infinity;
    for (let startS = FROM_S; startS <= FROM_S + 13 * HOUR_S; startS += 300) {
      const { verdict, totals } = rehearseSortie({ ...request, startS });
      if (verdict.go) least = Math.min(least, totals.energyWh + totals.energy95Wh);
    }
    const { totals } = found.rehearsal!;
    expect(totals.energyWh + totals.energy95Wh).toBeLessThan(1.02 * least);
    // Half an hour either way about slack water there is no leg that the boat cannot make.
    expect(found.windows.some((window) => !window.go && window.kind === 'current')).toBe(true);
    const covered = found.windows.reduce((sum, window) => sum + (window.toS - window.fromS) / 600 + 1, 0);
    expect(covered).toBe(13 * 6 + 1);
    expect(found.why).toMatch(/^2026-06-17T\d\d:\d\d:\d\dZ: \d+ ± \d+ Wh and \d+ min, .* of 79 starts looked at are a go$/);
  });

  it('each no-go window tells why: current, then dark, then outside the table', () => {
    const { windows } = bestStart({ ...request, sunAltitudeDeg: (timeS) => 10 - (timeS - FROM_S) / 1200 }, FROM_S, FROM_S + 32 * HOUR_S, 1800);
    for (const window of windows.filter((one) => !one.go)) {
      expect(window.reason.length).toBeGreaterThan(20);
      expect(['current', 'daylight', 'data']).toContain(window.kind);
    }
    expect(windows.find((window) => window.kind === 'data')!.reason).toMatch(/outside the times of the current|is not known on/);
    expect(windows.find((window) => window.kind === 'daylight')!.reason).toMatch(/^the sun /);
  });

  it('where none is a go it says so with the reasons, and gives none', () => {
    const none = bestStart({ ...request, boat: plainBoat({ batteryWh: 1, battery95Wh: 0.1 }), current: { ...stream, at: (_x, _y, _t, out) => void out.fill(0) } }, FROM_S, FROM_S + HOUR_S, 600);
    expect(none.startS).toBeNull();
    expect(none.rehearsal).toBeNull();
    expect(none.why).toMatch(/^no start from 2026-06-17T09:00:00Z to 2026-06-17T10:00:00Z is a go: the sortie needs \d+ ± \d+ Wh \(95 %\), the battery holds 1 Wh/);
  });

  it('a span or step out of range is the caller\'s mistake', () => {
    expect(() => bestStart(request, FROM_S, FROM_S - 1, 600)).toThrow('expected 1781686800 or later');
    expect(() => bestStart(request, FROM_S, FROM_S + 1e6, 1)).toThrow('20000 at most');
  });
});
