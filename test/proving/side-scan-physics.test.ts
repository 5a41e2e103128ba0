import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { addRayEcho, createSpreading } from '../../src/proving/bottom-echo.js';
import type { RayFloor } from '../../src/proving/bottom-echo.js';
import { createSideScanGround, NO_SIDE_SCAN_ERRORS } from '../../src/proving/index.js';
import { createVerticalBeam } from '../../src/proving/vertical-beam.js';

const SAMPLE_M = 40 / 512;
const OPTIONS = { lines: 1, lengthM: 40, undulationM: 0, objects: [] } as const;

/**
 * Power of level sand in a sample at slant range r, in dB and to a constant, by the sonar equation written out: Lambert
 * sin^2, area dr r/g by (aperture + r beam), spreading r^-4, absorption both ways, beam both ways (Urick 1983, ch. 8).
 */
function expectedDb(r: number, heightM: number, absorptionDbPerM: number): number {
  const g = Math.sqrt(r * r - heightM * heightM);
  const offAxis = Math.sin(Math.atan2(heightM, g) - Math.PI / 6);
  const x = (1.391557 / Math.sin(Math.PI / 6)) * offAxis;
  // 0.003 leaks every way: invented, see vertical-beam.ts.
  const beam = (Math.sin(x) / x) ** 2 + 0.003;
  return 10 * Math.log10((heightM / r) ** 2 * (r / g) * (0.3 + (r * 0.7 * Math.PI) / 180) * beam ** 2) - 40 * Math.log10(r) - 2 * absorptionDbPerM * r;
}

async function levelPing(depthM: number, absorptionDbPerM: number): Promise<{ heightM: number; db: (r: number) => number }> {
  // No noise and no rounding to speak of: amplitudes are some hundreds.
  const ground = createSideScanGround(3, { ...OPTIONS, depthM, sonar: { absorptionDbPerM }, errors: NO_SIDE_SCAN_ERRORS });
  const k = ground.truth.pings[0]!.line.indexOf(0) + 60;
  const { port } = await ground.logs[0]!.reader.read(k, k + 1);
  // Three samples, so that rounding and facets even out.
  const at = (r: number): number => {
    const i = Math.round(r / SAMPLE_M);
    return 10 * Math.log10((port[i - 1]! ** 2 + port[i]! ** 2 + port[i + 1]! ** 2) / 3);
  };
  return { heightM: ground.truth.pings[0]!.heightM[k]!, db: at };
}

describe('physics of the side-scan', () => {
  it.each([0, 0.11, 0.3])('level sand falls with range as the sonar equation says, absorption %d dB/m', async (absorption) => {
    const { heightM, db } = await levelPing(7, absorption);
    // Beyond 50 degrees of incidence facets no longer answer as mirrors.
    const nearM = 1.7 * heightM;
    const off = db(nearM) - expectedDb(nearM, heightM, absorption);
    for (let r = nearM; r < 36; r += 1) expect(Math.abs(db(r) - expectedDb(r, heightM, absorption) - off)).toBeLessThan(0.25);
  });

  it('absorption alone: the difference of two runs falls by 2 alpha a metre', async () => {
    const [none, some] = [await levelPing(7, 0), await levelPing(7, 0.2)];
    // Gains are set at 20 m: there both are alike.
    for (const r of [14, 20, 26, 32]) expect(some.db(r) - none.db(r)).toBeCloseTo(-2 * 0.2 * (r - 20), 0);
  });

  it('Lambert: at one range, twice the height gives four times the power, once area and beam are taken off', async () => {
    const [low, high] = [await levelPing(5, 0.11), await levelPing(10.65, 0.11)];
    expect(high.heightM / low.heightM).toBeCloseTo(2, 2);
    const sin2Db = 20 * Math.log10(high.heightM / low.heightM);
    for (const r of [24, 30, 36]) {
      const rest = expectedDb(r, high.heightM, 0.11) - expectedDb(r, low.heightM, 0.11) - sin2Db;
      expect(high.db(r) - low.db(r) - rest).toBeCloseTo(6.02, 0);
    }
  });

  it('speckle: amplitudes over their root mean square have a Rayleigh distribution', async () => {
    const still = createSideScanGround(3, { ...OPTIONS, sonar: { rays: 1 }, errors: NO_SIDE_SCAN_ERRORS });
    const speckled = createSideScanGround(3, { ...OPTIONS, sonar: { rays: 1 }, errors: { ...NO_SIDE_SCAN_ERRORS, speckle: true } });
    const start = still.truth.pings[0]!.line.indexOf(0);
    const [clean, noisy] = [await still.logs[0]!.reader.read(start, start + 120), await speckled.logs[0]!.reader.read(start, start + 120)];
    const shares: number[] = [];
    for (let k = 0; k < 120; k++) {
      for (let i = 150; i < 350; i++) {
        const rms = clean.port[k * 512 + i]!;
        shares.push(1 - Math.exp(-((noisy.port[k * 512 + i]! / rms) ** 2)));
      }
    }
    shares.sort((a, b) => a - b);
    const n = shares.length;
    const apart = Math.max(...shares.map((share, i) => Math.abs(share - (i + 0.5) / n)));
    // Kolmogorov-Smirnov: 1.63 / sqrt(n) is passed once in a hundred; whole numbers add a part in 800.
    expect(apart).toBeLessThan(1.63 / Math.sqrt(n) + 0.0015);
  });

  it('vertical beam: half power half the width off the axis, and silent at its null but for the leak', () => {
    const beam = createVerticalBeam(60);
    const toward = (offDeg: number): number => beam.power(Math.cos((offDeg * Math.PI) / 180), Math.sin((offDeg * Math.PI) / 180), 1, 0);
    expect(toward(0)).toBeCloseTo(1.003, 6);
    expect(toward(30)).toBeCloseTo(0.503, 3);
    expect(toward(-30)).toBeCloseTo(0.503, 3);
    expect(toward(170)).toBe(0.003);
  });

  it('spreading: the table is r^-4 exp(-2 a r) within 0.1 %', () => {
    const spreading = createSpreading(0.025, 50);
    for (let r = 0.3; r < 60; r += 0.0137) expect(spreading(r) / (Math.exp(-0.05 * r) / r ** 4)).toBeCloseTo(1, 3);
  });

  it('occlusion: what is lit is what a search along every ray finds lit, over rough ground', () => {
    const beam = createVerticalBeam(60);
    for (let seed = 1; seed <= 5; seed++) {
      const random = createRandom(seed);
      const n = 300;
      const stepM = 0.1;
      const floor: RayFloor = { n, stepM, downM: new Float64Array(n), kind: new Uint8Array(n), canopyM: new Float64Array(n), object: new Float64Array(n) };
      let rough = 0;
      for (let j = 0; j < n; j++) {
        rough = 0.9 * rough + 0.25 * random.normal();
        floor.downM[j] = 5 + rough;
      }
      const power = new Float64Array(400);
      addRayEcho(floor, { beam, axisOut: Math.cos(0.5), axisDown: Math.sin(0.5), apertureM: 0.3, beamRad: 0.01, spreading: () => 1, weight: 1 }, 0, 0.1, power);
      // Brute force: 40 places a facet; lit where no nearer place stands as high as the ray.
      const lit = new Uint8Array(400);
      const places: { g: number; z: number }[] = [];
      for (let j = 1; j < n; j++) for (let i = 0; i < 40; i++) places.push({ g: (j - 1 + (i + 0.5) / 40) * stepM, z: floor.downM[j - 1]! + ((floor.downM[j]! - floor.downM[j - 1]!) * (i + 0.5)) / 40 });
      for (const [at, place] of places.entries()) {
        let seen = true;
        for (let before = 0; before < at && seen; before++) seen = places[before]!.z / places[before]!.g > place.z / place.g;
        const i = Math.floor(Math.hypot(place.g, place.z) / 0.1);
        if (seen && i < 400) lit[i] = 1;
      }
      let apart = 0;
      for (let i = 0; i < 400; i++) if ((lit[i] === 1) !== power[i]! > 0) apart++;
      // A sliver shorter than a fortieth of a facet may fall in a sample of its own.
      expect(apart).toBeLessThanOrEqual(3);
      expect(lit.reduce((sum, value) => sum + value, 0)).toBeLessThan(260);
    }
  });
});
