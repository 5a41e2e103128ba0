import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { offsetByPositions, searchClock } from '../../src/imagery/clock-search.js';

const times = (n: number, everyS: number, fromS: number): Float64Array => Float64Array.from({ length: n }, (_, i) => fromS + i * everyS);
const NOON = 1_778_760_000;

/** A floor as it passes under a boat: swells of many lengths, another for each seed. */
function floorOf(seed: number): (timeS: number) => number {
  const random = createRandom(seed);
  const waves = Array.from({ length: 14 }, (_, i) => ({ lengthS: 8 * 1.5 ** (i / 1.5) * (0.9 + 0.2 * random.uniform()), phase: 6.28 * random.uniform(), sizeM: 0.12 * (1 + random.uniform()) }));
  return (timeS) => 7 + waves.reduce((sum, { lengthS, phase, sizeM }) => sum + sizeM * Math.sin(((timeS - NOON) / lengthS) * 6.28 + phase), 0);
}

function passed(floor: (timeS: number) => number, offsetS: number, seed: number, other = floor): readonly [{ timeS: Float64Array; heightM: Float64Array }, { timeS: Float64Array; depthM: Float64Array }] {
  const random = createRandom(seed + 100);
  const utcS = times(6000, 0.2, NOON + 600);
  const depthS = times(3000, 1, NOON);
  return [{ timeS: utcS.map((time) => time - offsetS), heightM: utcS.map((time) => floor(time) - 0.4 + 0.1 * random.normal()) }, { timeS: depthS, depthM: depthS.map(other) }];
}

describe('searchClock', () => {
  it.each([95, -640, 3600, -7200.4, 50_400])('finds a clock that is %s s off, within its 95 %', (offsetS) => {
    for (const seed of [1, 2, 3]) {
      const match = searchClock(...passed(floorOf(seed), offsetS, seed));
      expect(Math.abs(match.offsetS - offsetS), `seed ${seed}: ${match.how}`).toBeLessThan(Math.max(0.1, 1.5 * match.uncertainty95S));
    }
  });

  it('another floor, a flat one, one that repeats itself, too short a track: unknown, with a word why', () => {
    for (let seed = 0; seed < 12; seed++) {
      const match = searchClock(...passed(floorOf(seed), 3600, seed, floorOf(seed + 50)));
      expect(match.offsetS, `seed ${seed}`).toBeNaN();
    }
    expect(searchClock(...passed(() => 6, 3600, 1)).how).toContain('no offset of minutes or hours fits');
    expect(searchClock(...passed((timeS) => 6 + Math.sin(timeS / 40), 3600, 1)).offsetS).toBeNaN();
    const [heights, depths] = passed(floorOf(1), 3600, 1);
    expect(searchClock({ timeS: heights.timeS.subarray(0, 300), heightM: heights.heightM.subarray(0, 300) }, depths).how).toContain('too short');
    expect(searchClock({ timeS: new Float64Array(0), heightM: new Float64Array(0) }, depths).offsetS).toBeNaN();
  });
});

describe('offsetByPositions', () => {
  /** Lines to and fro, at a speed that varies. */
  const boat = (seed: number): { timeS: Float64Array; xM: Float64Array; yM: Float64Array } => {
    const random = createRandom(seed);
    const timeS = times(2400, 1, NOON);
    const [xM, yM] = [new Float64Array(2400), new Float64Array(2400)];
    let [x, way] = [0, 1];
    for (let i = 0; i < 2400; i++) {
      x += way * (1.5 + 0.3 * Math.sin(i / 50 + seed) + 0.05 * random.normal());
      if (Math.abs(x) > 200) way = -Math.sign(x);
      xM[i] = x;
      yM[i] = i * 0.08 + 0.3 * random.normal();
    }
    return { timeS, xM, yM };
  };
  const logged = (track: ReturnType<typeof boat>, offsetS: number): ReturnType<typeof boat> => ({ timeS: track.timeS.slice(300, 2000).map((time) => time - offsetS), xM: track.xM.slice(300, 2000).map((x) => x + 0.8), yM: track.yM.slice(300, 2000) });

  it('to the second, however far the clock is off', () => {
    for (const offsetS of [0, 45, -3600, 86_400]) expect(Math.abs(offsetByPositions(logged(boat(1), offsetS), boat(1)).offsetS - offsetS)).toBeLessThanOrEqual(1);
  });

  it('another trip, a boat that lies still, no positions: none', () => {
    expect(offsetByPositions(logged(boat(1), 3600), { ...boat(2), yM: boat(2).yM.map((y) => y + 60) }).offsetS).toBeNaN();
    const still = { timeS: times(1000, 1, NOON), xM: new Float64Array(1000), yM: new Float64Array(1000) };
    expect(offsetByPositions({ ...still, timeS: still.timeS.map((time) => time + 100) }, still).offsetS).toBeNaN();
    expect(offsetByPositions({ timeS: [], xM: [], yM: [] }, boat(1)).offsetS).toBeNaN();
  });
});
