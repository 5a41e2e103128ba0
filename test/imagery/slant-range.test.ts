import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { firstEchoM, groundRangeM, heightBelowM, laybackM, pingFootprint, sineGrazing, slantOfGroundM, slantRangeM, speedForHitsMps } from '../../src/imagery/slant-range.js';

// Source of the worked figures: IHO C-13 (2005) ch. 4, as in docs/methods.md; the rest is arithmetic by hand, written out.
describe('slant range and ground range', () => {
  it('slantRangeM: half the two-way time times the sound speed', () => {
    // 0.01 s + 300 x 0.0001 s = 0.04 s two way, 1500 m/s: 30 m.
    expect(slantRangeM(300, 0.01, 1e-4, 1500)).toBeCloseTo(30, 9);
  });
  it('groundRangeM: the right triangle when the floor is flat', () => {
    // 3-4-5 and 5-12-13.
    expect(groundRangeM(5, 3)).toBeCloseTo(4, 12);
    expect(groundRangeM(13, 5)).toBeCloseTo(12, 12);
    expect(groundRangeM(5, 5)).toBe(0);
    expect(groundRangeM(4.9, 5)).toBeNaN();
  });
  it('groundRangeM: the place on a slope when the floor rises to the side', () => {
    // The floor is 6 - g/4 below the sonar; at g = 8 that is 4, and 8-4: slant sqrt(80).
    expect(groundRangeM(Math.sqrt(80), 6, 0.25)).toBeCloseTo(8, 12);
    // Falling away, at g = 8: 6 + 2 = 8, slant sqrt(128).
    expect(groundRangeM(Math.sqrt(128), 6, -0.25)).toBeCloseTo(8, 12);
  });
  it('groundRangeM: inverse of slantOfGroundM for every height, slope and place beyond the first echo', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.5, max: 40, noNaN: true }), fc.double({ min: -0.5, max: 0.5, noNaN: true }), fc.double({ min: 0, max: 200, noNaN: true }), (heightM, slope, beyondM) => {
        const groundM = Math.max(0, (slope * heightM) / (1 + slope * slope)) + beyondM + 0.01;
        expect(groundRangeM(slantOfGroundM(groundM, heightM, slope), heightM, slope)).toBeCloseTo(groundM, 6);
      }),
      { seed: 41, numRuns: 300 },
    );
  });
  it('heightBelowM: undoes what a slope takes off the first echo', () => {
    // A slope of 3 in 4 has a cosine of 0.8: the first echo of 10 m is 8 m.
    expect(firstEchoM(10, 0.75)).toBeCloseTo(8, 12);
    expect(firstEchoM(10, -0.75)).toBe(10);
    expect(heightBelowM(8, 0.75, -0.75)).toBeCloseTo(10, 12);
    expect(heightBelowM(8, -0.2, 0)).toBe(8);
  });
  it('sineGrazing: height over slant range on flat ground, the plane\'s distance over it on a slope', () => {
    expect(sineGrazing(10, 5)).toBeCloseTo(0.5, 12);
    expect(sineGrazing(16, 10, 0.75)).toBeCloseTo(0.5, 12);
    expect(sineGrazing(4, 5)).toBeNaN();
  });
  it('pingFootprint: Rs phi along, the resolution stretched by Rs / g across', () => {
    // C-13: 1.5 deg at 25 m is 0.6545 m on the ground.
    expect(pingFootprint(25, 24, (1.5 * Math.PI) / 180, 0.03).alongM).toBeCloseTo(0.6545, 4);
    expect(pingFootprint(5, 4, 0.02, 0.04).acrossM).toBeCloseTo(0.05, 12);
    // Straight below: sqrt(2 h dR + dR^2), sqrt(2 x 5 x 0.04 + 0.0016) = 0.6337.
    expect(pingFootprint(5, 0, 0.02, 0.04).acrossM).toBeCloseTo(0.6337, 4);
  });
  it('speedForHitsMps: the worked example of C-13', () => {
    expect(speedForHitsMps(3, 5, 0.2, 0.6545)).toBeCloseTo(4.57, 2);
    expect(speedForHitsMps(1, 5, 0.2, 0.6545)).toBeCloseTo(2.067, 2);
    // The strict form: 5 pings in 3.6545 m, 0.2 s each.
    expect(speedForHitsMps(3, 5, 0.2, 0.6545, true)).toBeCloseTo(3.6545, 4);
    expect(() => speedForHitsMps(1, 1, 0.2, 0.5)).toThrow('more than one hit');
  });
  it('laybackM: DT + sqrt(WO^2 - DS^2)', () => {
    // 2 m from antenna to tow point, 13 m of cable, sonar 5 m below it: 2 + 12.
    expect(laybackM(2, 13, 5)).toBeCloseTo(14, 12);
    expect(laybackM(2, 4, 5)).toBeNaN();
  });
});
