import { describe, expect, it } from 'vitest';
import { turnDeg } from '../../src/base/interpolate.js';
import { createRandom } from '../../src/base/random.js';
import { matchClock } from '../../src/imagery/clock-match.js';
import { smoothBearings, smoothLocally } from '../../src/imagery/local-fit.js';
import { placeSonar } from '../../src/imagery/place-sonar.js';
import { slopeToSide } from '../../src/imagery/side-slope.js';
import { outward } from '../../src/imagery/sonar-track.js';

const times = (n: number, stepS: number): Float64Array => Float64Array.from({ length: n }, (_, i) => i * stepS);

describe('smoothLocally', () => {
  it('smoothLocally: leaves a straight line as it is, whatever stands far off it', () => {
    const timeS = times(200, 0.1);
    const value = timeS.map((time, i) => 3 + 2 * time + (i % 23 === 7 ? 90 : 0));
    const { value: smooth } = smoothLocally(timeS, value, 1, 1);
    for (let i = 0; i < 200; i++) expect(smooth[i], `at ${i}`).toBeCloseTo(3 + 2 * timeS[i]!, 1);
  });
  it('smoothLocally: noise falls, and its sigma says by how much', () => {
    const random = createRandom(4);
    const timeS = times(2000, 0.1);
    const value = timeS.map((time) => Math.sin(time / 10) + 0.5 * random.normal());
    const { value: smooth, sigma } = smoothLocally(timeS, value, 1, 1);
    let squares = 0;
    let said = 0;
    for (let i = 20; i < 1980; i++) {
      squares += (smooth[i]! - Math.sin(timeS[i]! / 10)) ** 2;
      said += sigma[i]! ** 2;
    }
    expect(Math.sqrt(squares / 1960)).toBeLessThan(0.2);
    expect(Math.sqrt(said / squares)).toBeGreaterThan(0.7);
    expect(Math.sqrt(said / squares)).toBeLessThan(1.3);
  });
  it('smoothLocally: nothing is joined across a silence, NaN is passed over, reach 0 changes nothing', () => {
    const timeS = Float64Array.from([0, 1, 2, 50, 51, 52]);
    const value = Float64Array.from([0, NaN, 0, 10, 10, 10]);
    expect(Array.from(smoothLocally(timeS, value, 100, 5).value)).toEqual([0, 0, 0, 10, 10, 10]);
    expect(Array.from(smoothLocally(timeS, value, 0, 5).value)).toEqual([0, NaN, 0, 10, 10, 10]);
  });
  it('smoothBearings: by the shorter way over north, a compass that jumps for a moment does not count', () => {
    const timeS = times(100, 0.1);
    const bearing = Array.from({ length: 100 }, (_, i) => (i === 40 ? 120 : i % 2 === 0 ? 358 : 4));
    const { value } = smoothBearings(timeS, bearing, 1, 1);
    for (let i = 5; i < 95; i++) expect(Math.abs(turnDeg(1, value[i]!)), `at ${i}`).toBeLessThan(1.5);
  });
});

describe('placeSonar', () => {
  const one = (x: number): Float64Array => Float64Array.from([x]);
  it('placeSonar: lever arms turned by the heading', () => {
    // Heading east: ahead is east, starboard is south. Sonar 1 m ahead of the antenna and 0.5 m to starboard of it.
    const { xM, yM } = placeSonar(one(10), one(20), [90], [90], { forwardM: -0.4, starboardM: 0.1 }, { forwardM: 0.6, starboardM: 0.6 }, null, [NaN]);
    expect(xM[0]).toBeCloseTo(11, 9);
    expect(yM[0]).toBeCloseTo(19.5, 9);
  });
  it('placeSonar: towed, DT + sqrt(WO^2 - DS^2) behind on the course made good', () => {
    // Antenna 1 m ahead of the reference point, tow point 1 m astern of it: DT 2. Cable 13 m, sonar 5 m below the tow point, which is 0.5 m above the water.
    const { xM, yM } = placeSonar(one(0), one(0), [0], [0], { forwardM: 1, starboardM: 0 }, { forwardM: 0, starboardM: 0 }, { cableOutM: 13, pointDownM: -0.5, pointAftM: 1 }, [4.5]);
    expect(xM[0]).toBeCloseTo(0, 9);
    expect(yM[0]).toBeCloseTo(-14, 9);
    // Crabbing: the boat heads north, the cable lies along the course, which is east.
    const crab = placeSonar(one(0), one(0), [0], [90], { forwardM: 1, starboardM: 0 }, { forwardM: 0, starboardM: 0 }, { cableOutM: 13, pointDownM: -0.5, pointAftM: 1 }, [4.5]);
    expect(crab.xM[0]).toBeCloseTo(-12, 9);
    expect(crab.yM[0]).toBeCloseTo(-2, 9);
  });
});

describe('slopeToSide', () => {
  it('slopeToSide: that of a plane, on both sides and every heading; 0 where the surface is missing', () => {
    const plane = (x: number, y: number): number => 8 - 0.1 * x + 0.05 * y;
    for (const heading of [0, 60, 210]) {
      for (const side of ['port', 'starboard'] as const) {
        const [east, north] = outward(side, heading);
        expect(slopeToSide(plane, 3, 4, heading, side, 20)).toBeCloseTo(0.1 * east - 0.05 * north, 9);
      }
    }
    expect(slopeToSide(() => NaN, 0, 0, 0, 'port', 20)).toBe(0);
    expect(slopeToSide((x) => (x > -5 ? 4 : NaN), 0, 0, 0, 'port', 20)).toBe(0);
  });
});

describe('matchClock', () => {
  /** A bumpy floor, passed at even speed. */
  const floor = (timeS: number): number => 6 + 1.2 * Math.sin(timeS / 17) + 0.5 * Math.sin(timeS / 5.3 + 1) + 0.2 * Math.sin(timeS / 2.1);
  const passed = (offsetS: number, noiseM: number, seed: number, bottom = floor) => {
    const random = createRandom(seed);
    const timeS = times(6000, 0.1);
    const depthS = times(700, 1).map((time) => time - 50);
    return [
      { timeS, heightM: timeS.map((time) => bottom(time + offsetS) - 0.4 + noiseM * random.normal()) },
      { timeS: depthS, depthM: depthS.map(bottom) },
    ] as const;
  };
  it('matchClock: finds the offset within its 95 % in at least 18 of 20 runs, and the draft', () => {
    let held = 0;
    for (let seed = 0; seed < 20; seed++) {
      const offsetS = -8 + 0.83 * seed;
      const [heights, depths] = passed(offsetS, 0.15, seed);
      const match = matchClock(heights, depths, 20);
      expect(Math.abs(match.offsetS - offsetS), `seed ${seed}`).toBeLessThan(0.5);
      expect(match.biasM).toBeCloseTo(-0.4, 1);
      if (Math.abs(match.offsetS - offsetS) <= match.uncertainty95S) held++;
    }
    expect(held).toBeGreaterThanOrEqual(18);
  });
  it('matchClock: unknown over a flat floor, in too little time, where the floor repeats itself, and beyond what is searched', () => {
    const flat = passed(3, 0.15, 1, () => 6);
    expect(matchClock(flat[0], flat[1], 20)).toMatchObject({ offsetS: NaN, how: 'the floor under the track is too even to tell' });
    const [heights, depths] = passed(3, 0.1, 2);
    expect(matchClock({ timeS: heights.timeS.subarray(0, 200), heightM: heights.heightM.subarray(0, 200) }, depths, 20).how).toContain('60 are needed');
    const ripples = passed(3, 0.1, 3, (timeS) => 6 + Math.sin(timeS));
    expect(matchClock(ripples[0], ripples[1], 20)).toMatchObject({ offsetS: NaN, how: 'another offset fits the depths nearly as well' });
    const far = passed(40, 0.1, 4);
    expect(matchClock(far[0], far[1], 20).offsetS).toBeNaN();
  });
});
