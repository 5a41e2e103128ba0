import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { BOTTOM_SOURCE, trackBottom, type BottomTrack } from '../../src/imagery/bottom-track.js';
import { drawBottom } from '../../src/imagery/bottom-by-hand.js';
import { BestPath } from '../../src/imagery/best-path.js';
import { plainPings, readFrom, type PlainOptions } from './plain-pings.js';

const COMMON = { n: 3000, samples: 512, rangeM: 30, pingS: 1 / 10, soundSpeedMps: 1500 };
/** A floor that rises and falls with the boat's heave on it. */
const floor = (ping: number): number => 4 + 1.5 * Math.sin(ping / 200) + 0.15 * Math.sin(ping / 4.3);

async function tracked(options: Partial<PlainOptions>): Promise<BottomTrack> {
  const { heads, samples } = plainPings({ ...COMMON, random: createRandom(11), heightM: floor, ...options });
  return trackBottom(heads, readFrom(samples), { soundSpeedMps: 1500 });
}

/** Share of pings within 0.25 m of the truth. */
function shareGood(track: BottomTrack, counted: (ping: number) => boolean = () => true): number {
  let good = 0;
  let all = 0;
  for (let ping = 0; ping < track.n; ping++) {
    if (!counted(ping)) continue;
    all++;
    if (Math.abs(track.heightM[ping]! - floor(ping)) <= 0.25) good++;
  }
  return good / all;
}

describe('trackBottom', () => {
  it('trackBottom: within 0.25 m on 99 % of pings when the floor is plain', async () => {
    const track = await tracked({});
    expect(shareGood(track)).toBeGreaterThanOrEqual(0.99);
    expect(track.source.every((source) => source === BOTTOM_SOURCE.tracked)).toBe(true);
  });
  it('trackBottom: within 0.25 m on 99 % of pings when the water surface sends an echo through the water column', async () => {
    const track = await tracked({ surface: (ping) => ({ slantM: 1.8 + 0.1 * Math.sin(ping / 5), share: 1.2 }) });
    expect(shareGood(track)).toBeGreaterThanOrEqual(0.99);
  });
  it('trackBottom: within 0.25 m on 99 % of pings when grass 0.3 to 0.9 m tall stands on the floor', async () => {
    const track = await tracked({ grass: (ping) => ({ tallM: 0.6 + 0.3 * Math.sin(ping / 37), share: ping % 900 < 500 ? 0.3 : 0 }) });
    expect(shareGood(track)).toBeGreaterThanOrEqual(0.99);
  });
  it('trackBottom: within 0.25 m on 99 % of pings heard when noise is a tenth of the floor and one ping in twelve is lost', async () => {
    const lost = (ping: number): boolean => ping % 12 === 5;
    const track = await tracked({ noise: 0.1, dropped: lost });
    expect(shareGood(track, (ping) => !lost(ping))).toBeGreaterThanOrEqual(0.99);
  });
  it('trackBottom: bridged where pings are lost for a second, unknown where for a minute', async () => {
    const lost = (ping: number): boolean => (ping >= 500 && ping < 510) || (ping >= 1200 && ping < 1800);
    const track = await tracked({ dropped: lost });
    expect(track.source[505]).toBe(BOTTOM_SOURCE.bridged);
    expect(Math.abs(track.heightM[505]! - floor(505))).toBeLessThan(0.4);
    expect(track.source[1500]).toBe(BOTTOM_SOURCE.none);
    expect(track.heightM[1500]).toBeNaN();
    expect(track.heightSigmaM[505]!).toBeGreaterThan(track.heightSigmaM[400]!);
    expect(track.confidence[505]!).toBeLessThanOrEqual(0.5);
  });
  it('trackBottom: two and a half sigma hold the truth when the floor is plain', async () => {
    const track = await tracked({});
    let held = 0;
    for (let ping = 0; ping < track.n; ping++) if (Math.abs(track.heightM[ping]! - floor(ping)) <= 2.5 * track.heightSigmaM[ping]!) held++;
    expect(held / track.n).toBeGreaterThan(0.95);
  });
  it('trackBottom: one side alone will do', async () => {
    const { heads, samples } = plainPings({ ...COMMON, random: createRandom(12), heightM: floor });
    const alone = { ...heads, portSamples: new Uint32Array(heads.n) };
    const track = await trackBottom(alone, readFrom({ ...samples, port: new Float32Array(samples.port.length).fill(NaN) }), { soundSpeedMps: 1500 });
    expect(shareGood(track)).toBeGreaterThanOrEqual(0.99);
  });
  it('trackBottom: nothing when there are no pings, and no height where nothing but silence was heard', async () => {
    expect((await trackBottom({ n: 0, timeS: new Float64Array(0), portSamples: new Uint32Array(0), starboardSamples: new Uint32Array(0), intervalS: new Float64Array(0), delayS: new Float64Array(0) }, readFrom({ n: 0, width: 0, port: new Float32Array(0), starboard: new Float32Array(0) }), { soundSpeedMps: 1500 })).n).toBe(0);
    const { heads, samples } = plainPings({ ...COMMON, n: 60, random: createRandom(1), heightM: floor });
    const silent = await trackBottom(heads, readFrom({ ...samples, port: samples.port.map(() => 0), starboard: samples.starboard.map(() => NaN) }), { soundSpeedMps: 1500 });
    expect(silent.source.every((source) => source === BOTTOM_SOURCE.none)).toBe(true);
    expect(silent.heightM.every(Number.isNaN)).toBe(true);
  });
});

describe('drawBottom', () => {
  it('drawBottom: straight between the points, in its own log alone, and the latest stands', () => {
    const track = { n: 6, heightM: new Float32Array(6).fill(9), heightSigmaM: new Float32Array(6), confidence: new Float32Array(6), source: new Uint8Array(6) };
    drawBottom(track, [0, 0, 0, 0, 1, 1], [10, 11, 12, 13, 10, 11], [
      { log: 0, points: [{ record: 13, slantM: 7 }, { record: 11, slantM: 5 }] },
      { log: 0, points: [{ record: 12, slantM: 4 }] },
    ]);
    expect(Array.from(track.heightM)).toEqual([9, 5, 4, 7, 9, 9]);
    expect(Array.from(track.source)).toEqual([0, 3, 3, 3, 0, 0]);
  });
});

describe('BestPath', () => {
  it('BestPath: as every path tried by brute force, with shifts', () => {
    const random = createRandom(5);
    for (let trial = 0; trial < 40; trial++) {
      const states = 4;
      const shifts = [0, 1, -1, 0, 2].map((shift) => (random.uniform() < 0.5 ? 0 : shift));
      const rows = shifts.map(() => Array.from({ length: states }, () => random.uniform()));
      const price = random.between(0, 0.6);
      const path = new BestPath(states);
      rows.forEach((row, i) => path.add(row, price, i === 0 ? 0 : shifts[i]!));
      const worth = (way: readonly number[]): number => way.reduce((sum, state, i) => sum + rows[i]![state]! - (i === 0 ? 0 : price * Math.abs(state + shifts[i]! - way[i - 1]!)), 0);
      let most = -Infinity;
      for (let code = 0; code < states ** rows.length; code++) most = Math.max(most, worth(rows.map((_, i) => Math.floor(code / states ** i) % states)));
      expect(worth(Array.from(path.path()))).toBeCloseTo(most, 9);
    }
  });
});
