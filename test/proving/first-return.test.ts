import { describe, expect, it } from 'vitest';
import { firstReturnInto } from '../../src/proving/first-return.js';
import type { FirstReturn } from '../../src/proving/first-return.js';
import type { BottomKind, Floor } from '../../src/proving/floor.js';
import { createFloor, ORIGIN_E_M, ORIGIN_N_M, OUTCROP } from '../../src/proving/floor.js';

const RAD = Math.PI / 180;

function plane(depthM: number, slopeEast: number, slopeNorth: number, kind: BottomKind = 'sand'): Floor {
  return {
    seed: 0,
    depthM: (x, y) => depthM + slopeEast * x + slopeNorth * y,
    gradientInto: (_x, _y, out) => {
      out[0] = slopeEast;
      out[1] = slopeNorth;
    },
    slopeDeg: () => Math.atan(Math.hypot(slopeEast, slopeNorth)) / RAD,
    bottom: () => kind,
  };
}

function echoOf(floor: Floor, xM: number, yM: number, tiltEastDeg: number, tiltNorthDeg: number, halfBeamDeg: number, transducerDepthM = 0): FirstReturn {
  const out: FirstReturn = { rangeM: NaN, eastM: NaN, northM: NaN };
  firstReturnInto(floor, xM, yM, transducerDepthM, tiltEastDeg * RAD, tiltNorthDeg * RAD, halfBeamDeg * RAD, new Float64Array(2), out);
  return out;
}

describe('first return inside the beam', () => {
  it('firstReturnInto: d cos(slope) where a wide beam reaches up the slope (geometry of a plane)', () => {
    for (const slopeDeg of [0, 2, 5, 11, 14]) {
      const echo = echoOf(plane(10, Math.tan(slopeDeg * RAD), 0), 0, 0, 0, 0, 15);
      expect(echo.rangeM).toBeCloseTo(10 * Math.cos(slopeDeg * RAD), 10);
      // The foot of the perpendicular lies up the slope: west, where it is shoaler.
      expect(echo.eastM).toBeCloseTo(-10 * Math.cos(slopeDeg * RAD) * Math.sin(slopeDeg * RAD), 10);
      expect(echo.northM).toBeCloseTo(0, 12);
    }
  });

  it('firstReturnInto: d cos(slope) / cos(slope - half beam) where the slope is steeper than the beam is wide', () => {
    for (const slopeDeg of [6, 12, 25]) {
      const echo = echoOf(plane(9, 0, -Math.tan(slopeDeg * RAD)), 0, 0, 0, 0, 3);
      expect(echo.rangeM).toBeCloseTo((9 * Math.cos(slopeDeg * RAD)) / Math.cos((slopeDeg - 3) * RAD), 10);
      expect(echo.northM).toBeGreaterThan(0);
    }
  });

  it('firstReturnInto: flat floor, beam leaning less than half its width: straight down; more: its near edge', () => {
    expect(echoOf(plane(8, 0, 0), 0, 0, 2, 1, 3).rangeM).toBeCloseTo(8, 12);
    expect(echoOf(plane(8, 0, 0), 0, 0, 0, -7, 3).rangeM).toBeCloseTo(8 / Math.cos(4 * RAD), 10);
  });

  it('firstReturnInto: the nearest of all points of a plane inside the beam, by brute force', () => {
    const slopeEast = 0.13;
    const slopeNorth = -0.08;
    const floor = plane(11, slopeEast, slopeNorth);
    let nearest = Infinity;
    for (let a = 0; a <= 3; a += 0.05) {
      for (let turn = 0; turn < 360; turn += 2) {
        const angleEast = (1.5 + a * Math.cos(turn * RAD)) * RAD;
        const angleNorth = (-0.5 + a * Math.sin(turn * RAD)) * RAD;
        const angle = Math.hypot(angleEast, angleNorth);
        const rise = angle > 0 ? (slopeEast * angleEast + slopeNorth * angleNorth) / angle : 0;
        nearest = Math.min(nearest, 11 / (Math.cos(angle) - Math.sin(angle) * rise));
      }
    }
    expect(echoOf(floor, 0, 0, 1.5, -0.5, 3).rangeM).toBeCloseTo(nearest, 4);
  });

  it('firstReturnInto: on rock the same as on a plane within a millimetre where rock is a plane', () => {
    for (const slopeDeg of [0, 1.5, 10, 20]) {
      const smooth = echoOf(plane(7, Math.tan(slopeDeg * RAD), 0), 0, 0, 0, 0, 3, 0.2);
      const rock = echoOf(plane(7, Math.tan(slopeDeg * RAD), 0, 'rock'), 0, 0, 0, 0, 3, 0.2);
      expect(Math.abs(rock.rangeM - smooth.rangeM)).toBeLessThan(0.001 + 6.8 * Math.tan(slopeDeg * RAD) ** 3 * 0.02);
    }
  });

  it('firstReturnInto: never farther than straight down over the outcrop, and never nearer than the shoalest in the footprint', () => {
    const floor = createFloor(17);
    for (let i = -30; i <= 30; i += 1.3) {
      const x = ORIGIN_E_M + OUTCROP.eastM + i;
      const y = ORIGIN_N_M + OUTCROP.northM + i / 3;
      const straight = floor.depthM(x, y) + 2;
      const echo = echoOf(floor, x, y, 0, 0, 3, -2);
      expect(echo.rangeM).toBeLessThanOrEqual(straight + 1e-9);
      let shoalest = Infinity;
      const reach = straight * Math.tan(3.2 * RAD);
      for (let dx = -reach; dx <= reach; dx += reach / 12) for (let dy = -reach; dy <= reach; dy += reach / 12) shoalest = Math.min(shoalest, floor.depthM(x + dx, y + dy) + 2);
      expect(echo.rangeM).toBeGreaterThanOrEqual(shoalest - 1e-9);
    }
  });

  it('firstReturnInto: NaN where the transducer is not above the floor', () => {
    expect(echoOf(plane(-1, 0, 0), 0, 0, 0, 0, 3).rangeM).toBeNaN();
    expect(echoOf(plane(2, 0, 0), 0, 0, 0, 0, 3, 2).rangeM).toBeNaN();
  });
});
