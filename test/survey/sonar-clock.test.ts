import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import type { Track } from '../../src/depths/track.js';
import { BOTTOM_SOURCE } from '../../src/imagery/bottom-track.js';
import { defaultSettings } from '../../src/survey/load-settings.js';
import { sonarClock, sonarClocks, type ClockGround, type ClockPings } from '../../src/survey/sonar-clock.js';

const NOON = 1_778_760_000;
const SPEED = 1.5;
/** Crests and hollows of many lengths across the way [m]. */
const floor = (xM: number): number => 7 + 0.6 * Math.sin(xM / 23) + 0.4 * Math.sin(xM / 9.1 + 1) + 0.3 * Math.sin(xM / 57 + 2) + 0.15 * Math.sin(xM / 4.3);

/** A boat that runs east for twenty minutes, a position a second. */
function trackOf(n = 1200, fromS = NOON): Track {
  const timeS = Float64Array.from({ length: n }, (_, i) => fromS + i);
  const floats = (value: number): Float32Array => new Float32Array(n).fill(value);
  return { n, timeS, xM: timeS.map((time) => (time - fromS) * SPEED), yM: new Float64Array(n), sigmaM: floats(0.5), courseDeg: floats(90), speedMps: floats(SPEED), quality: new Uint8Array(n).fill(4), jump: new Uint8Array(n), log: new Uint16Array(n), record: Uint32Array.from({ length: n }, (_, i) => i) };
}

/** Pings of the middle of that way, by a clock that is behind by so much; with positions in their records where they are wanted. */
function pingsOf(behindS: (utcS: number) => number, withPlaces = false): ClockPings {
  const random = createRandom(9);
  const n = 7000;
  const utcS = Float64Array.from({ length: n }, (_, i) => NOON + 60 + i / 8);
  const places = (value: (time: number) => number): Float64Array => (withPlaces ? utcS.map(value) : new Float64Array(n).fill(NaN));
  return {
    timeS: utcS.map((time) => time - behindS(time)),
    log: new Uint16Array(n),
    xM: places((time) => (Math.floor(time) - NOON) * SPEED),
    yM: places(() => 0),
    heightM: Float32Array.from(utcS, (time) => floor((time - NOON) * SPEED) - settings.sonar.draftM + 0.08 * random.normal()),
    source: new Uint8Array(n).fill(BOTTOM_SOURCE.tracked),
  };
}

const settings = defaultSettings({ name: 'Clock' });
const track = trackOf();
const water = { depthAt: floor, levelsAt: (timeS: Float64Array) => timeS.map(() => 0), uncertaintyAt: () => 0.2 };
const ground: ClockGround = { settings, track, water, boat: track };

describe('sonarClock', () => {
  it.each([0, 1.4, -25, 47, -840, 3600, -7200])('a clock that is behind by %s s: that much is added, within its 95 %%', (behindS) => {
    const clock = sonarClock(pingsOf(() => behindS), ground);
    expect(clock.known, clock.how).toBe(true);
    expect(Math.abs(clock.offsetS - behindS)).toBeLessThan(1.5 * clock.uncertainty95S!);
  });

  it('positions in the records tell it where there is no surface, and it is refined where there is', () => {
    const rough = sonarClock(pingsOf(() => 3607.3, true), { ...ground, water: null });
    expect(rough).toMatchObject({ known: true, uncertainty95S: 1 });
    expect(Math.abs(rough.offsetS - 3607.3)).toBeLessThan(1);
    const fine = sonarClock(pingsOf(() => 3607.3, true), ground);
    expect(Math.abs(fine.offsetS - 3607.3)).toBeLessThan(1.5 * fine.uncertainty95S!);
  });

  it('what is no usual error of a clock is named, and not used', () => {
    const clock = sonarClock(pingsOf(() => -5000), ground);
    expect(clock).toMatchObject({ known: false, offsetS: 0 });
    expect(clock.how).toMatch(/they do not overlap; .* would fit the depths if -(5000|4999)\.\d s were added, which is no usual error of a clock: another trip/);
  });

  it('positions of another day, a flat floor, no surface, no times, no positions, a towed sonar: unknown, with what to do', () => {
    const another = { ...ground, water: { ...water, depthAt: (xM: number) => 9 - floor(xM * 1.37 + 411) / 3 } };
    expect(sonarClock(pingsOf(() => -86_400), another).how).toMatch(/pings run from 2026-05-15T.* positions from 2026-05-14T.*: they do not overlap; take in the positions of that time/);
    expect(sonarClock(pingsOf(() => 2), { ...ground, water: { ...water, depthAt: () => 7 } })).toMatchObject({ known: false, offsetS: 0 });
    expect(sonarClock(pingsOf(() => 2), { ...ground, water: null }).how).toContain('no depth surface');
    expect(sonarClock(pingsOf(() => NaN), ground).how).toContain('no ping carries a time');
    expect(sonarClock(pingsOf(() => 2), { ...ground, track: trackOf(0), boat: trackOf(0) }).how).toContain('no positions');
    const towed = { ...settings, sonar: { ...settings.sonar, layback: { cableOutM: 10, pointDownM: 0, pointAftM: 1 } } };
    expect(sonarClock(pingsOf(() => 2), { ...ground, settings: towed }).how).toContain('towed');
  });
});

describe('sonarClocks', () => {
  it('a clock set back by five minutes on the way: each part has an offset of its own', () => {
    const setAt = NOON + 500;
    const { clock, offsetS } = sonarClocks(pingsOf((utcS) => (utcS < setAt ? 0.6 : 300.6)), ground);
    expect(clock).toMatchObject({ known: true, parts: 2 });
    expect(clock.how).toMatch(/^the clock was set back on the way, so each part is by itself: pings 1 to 3520 \+0\.\d\d s ± .*; pings 3521 to 7000 \+300\.\d\d s ± /);
    expect(Math.abs(offsetS[0]! - 0.6)).toBeLessThan(0.3);
    expect(Math.abs(offsetS[6999]! - 300.6)).toBeLessThan(0.3);
  });

  it('pings out of order by less than two seconds are one clock', () => {
    const { clock } = sonarClocks(pingsOf((utcS) => (Math.round(utcS * 8) % 50 === 0 ? 0.9 : 0.5)), ground);
    expect(clock.parts).toBeUndefined();
    expect(clock.known).toBe(true);
  });
});
