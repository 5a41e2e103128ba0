import { expect, it } from 'vitest';
import { BOTTOM_SOURCE } from '../../src/imagery/bottom-track.js';
import type { Track } from '../../src/depths/track.js';
import { defaultSettings } from '../../src/survey/load-settings.js';
import { heightShare, type ClockPings } from '../../src/survey/sonar-clock.js';
import type { WaterDepth } from '../../src/survey/sonar-ground.js';
import { surveyNotes } from '../../src/survey/survey-notes.js';
import type { SurveySummary } from '../../src/survey/summary.js';

const settings = defaultSettings({ name: 'Hollin Sound' });
const N = 400;
const timeS = Float64Array.from({ length: N }, (_, i) => 1000 + i * 0.25);
const floorM = (xM: number): number => 6 + 3 * Math.sin(xM / 20);

/** A boat going east at 1 m/s over a rolling floor; the sonar sees it as it is, its clock half a second late. */
function shareOf(readAs: number): number {
  const zero = new Float32Array(N);
  const track: Track = { n: N, timeS, xM: timeS.map((t) => t - 1000), yM: new Float64Array(N), sigmaM: zero, courseDeg: zero.map(() => 90), speedMps: zero.map(() => 1), quality: new Uint8Array(N).fill(4), jump: new Uint8Array(N), log: new Uint16Array(N) } as Track;
  const water: WaterDepth = { depthAt: (xM) => readAs * floorM(xM), levelsAt: (times) => new Float64Array(times.length), uncertaintyAt: () => 0.1 };
  const pings: ClockPings = { timeS, log: new Uint16Array(N), xM: new Float64Array(N).fill(NaN), yM: new Float64Array(N).fill(NaN), source: new Uint8Array(N).fill(BOTTOM_SOURCE.tracked), heightM: Float32Array.from(timeS, (t) => floorM(t + 0.5 - 1000) - settings.sonar.draftM) };
  return heightShare(pings, { settings, track, water }, new Float64Array(N));
}

/** What the crew is told where the share is so much. */
function told(share: number | null): string[] {
  const clock = { offsetS: 0, uncertainty95S: 0.1, known: true, how: 'in step', biasM: 0, heightShare: share };
  const quiet = { soundings: null, gaps: null, settings, logs: [], instruments: [], steps: [], imagery: { bottom: null, clock, mosaic: null } };
  return surveyNotes(quiet as unknown as Omit<SurveySummary, 'notes'>).filter((note) => note.includes('side-scan as by the echo sounder'));
}

it('heightShare: 1 where depths are in metres, 0.305 of feet and 1.83 of fathoms read as metres (1 ft = 0.3048 m exactly, a fathom is 6 ft)', () => {
  expect(Math.abs(shareOf(1) - 1)).toBeLessThan(0.03);
  expect(Math.abs(shareOf(1 / 0.3048) - 0.3048)).toBeLessThan(0.3048 * 0.05);
  expect(Math.abs(shareOf(1 / 1.8288) - 1.8288)).toBeLessThan(1.8288 * 0.05);
});

it('survey notes: an echo sounder in feet or fathoms is named by the side-scan\'s heights, one in metres is not', () => {
  expect(told(0.302)).toEqual([expect.stringContaining('look to be in feet')]);
  expect(told(1.85)).toEqual([expect.stringContaining('look to be in fathoms')]);
  for (const share of [null, 1, 0.9, 0.5]) expect(told(share)).toEqual([]);
});
