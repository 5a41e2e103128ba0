import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { half95 } from '../../src/boat/estimate.js';
import { barCheck, differs } from '../../src/depths/bar-check.js';
import { headingCheck, type HeadingRun } from '../../src/depths/heading-check.js';
import { latencyCheck, type LatencyInput } from '../../src/depths/latency-check.js';
import { staticCheck } from '../../src/depths/static-check.js';

describe('barCheck', () => {
  const plates = [2, 4, 6, 8, 10];
  const options = { soundSpeedSetMps: 1500, barSigmaM: 0.01 };
  it('bar check: draft and scale of readings worked by hand', () => {
    // A sounder set to 1500 m/s in water of 1470 m/s, transducer at 0.30 m, index error +0.05 m: reads (plate - 0.30) x 1500/1470 - 0.05.
    // So plate = 0.98 x reading + 0.30 + 0.98 x 0.05 = 0.98 x reading + 0.349.
    const check = barCheck(plates.map((barM) => ({ barM, readM: ((barM - 0.3) * 1500) / 1470 - 0.05 })), options);
    expect(check.refused).toBe('');
    expect(check.scale.value).toBeCloseTo(0.98, 9);
    expect(check.soundSpeedMps.value).toBeCloseTo(1470, 6);
    expect(check.draftM.value).toBeCloseTo(0.349, 9);
  });
  it('bar check: 95 % holds the truth in 93 to 97 of a hundred noisy checks', () => {
    const random = createRandom(5);
    let drafts = 0;
    let speeds = 0;
    const rounds = 2000;
    for (let round = 0; round < rounds; round++) {
      const readings = plates.flatMap((nominal) => {
        const hung = nominal + 0.01 * random.normal();
        return Array.from({ length: 4 }, () => ({ barM: nominal, readM: ((hung - 0.25) * 1500) / 1480 + 0.02 * random.normal() }));
      });
      const check = barCheck(readings, options);
      if (Math.abs(check.draftM.value - 0.25) <= half95(check.draftM)) drafts++;
      if (Math.abs(check.soundSpeedMps.value - 1480) <= half95(check.soundSpeedMps)) speeds++;
    }
    for (const share of [drafts / rounds, speeds / rounds]) {
      expect(share).toBeGreaterThan(0.93);
      expect(share).toBeLessThan(0.985);
    }
  });
  it('bar check: too few depths, feet for metres, and a misread plate are refused with the reason', () => {
    const right = plates.map((barM) => ({ barM, readM: barM - 0.3 }));
    expect(barCheck(right.slice(0, 2), options).refused).toContain('2 depths of the plate: expected at least 3');
    expect(barCheck(right.map(({ barM, readM }) => ({ barM, readM: readM / 0.3048 })), options).refused).toContain('unit');
    expect(barCheck(right.map((one, i) => (i === 3 ? { ...one, readM: one.readM + 0.6 } : one)), options).refused).toContain('off the line through all');
    expect(barCheck([], options).refused).toContain('0 depths');
  });
  it('bar check: two checks that differ by more than chance are told apart', () => {
    expect(differs({ value: 0.25, sigma: 0.01, dof: Infinity }, { value: 0.3, sigma: 0.01, dof: Infinity })).toBe(true);
    expect(differs({ value: 0.25, sigma: 0.02, dof: Infinity }, { value: 0.3, sigma: 0.02, dof: Infinity })).toBe(false);
  });
});

describe('staticCheck', () => {
  const fixes = (seed: number, minutes: number, east: number, tauS: number, sigma: number) => {
    const random = createRandom(seed);
    const n = minutes * 60;
    const keep = Math.exp(-1 / tauS);
    let [x, y] = [sigma * random.normal(), sigma * random.normal()];
    const timeS = new Float64Array(n);
    const xM = new Float64Array(n);
    const yM = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      x = keep * x + sigma * Math.sqrt(1 - keep * keep) * random.normal();
      y = keep * y + sigma * Math.sqrt(1 - keep * keep) * random.normal();
      timeS[i] = i;
      xM[i] = 500 + east + x;
      yM[i] = 900 + y;
    }
    return { n, timeS, xM, yM };
  };
  const options = { markXM: 500, markYM: 900, markSigmaM: 0.01, order: '1a' as const };
  it('static check: noise and offset come back, with errors that know fixes are not independent', () => {
    let inside = 0;
    const rounds = 200;
    for (let seed = 1; seed <= rounds; seed++) {
      const check = staticCheck(fixes(seed, 20, 0.4, 30, 0.5), options);
      expect(check.noiseM).toBeGreaterThan(0.2);
      expect(check.noiseM).toBeLessThan(0.9);
      if (Math.abs(check.eastM.value - 0.4) <= half95(check.eastM)) inside++;
    }
    expect(inside / rounds).toBeGreaterThan(0.88);
    expect(inside / rounds).toBeLessThan(0.99);
  });
  it('static check: an offset of metres is real, none is not', () => {
    expect(staticCheck(fixes(3, 20, 3, 10, 0.3), options).offsetIsReal).toBe(true);
    const clear = Array.from({ length: 40 }, (_, i) => staticCheck(fixes(100 + i, 20, 0, 10, 0.3), options)).filter((one) => one.offsetIsReal).length;
    expect(clear).toBeLessThanOrEqual(6);
  });
  it('static check: too short, moving, or far from the mark is refused', () => {
    expect(staticCheck(fixes(1, 1, 0, 10, 0.3), options).refused).toContain('longer');
    expect(staticCheck(fixes(1, 10, 400, 10, 0.3), options).refused).toContain('datum');
    const moving = fixes(1, 10, 0, 10, 0.3);
    expect(staticCheck({ ...moving, xM: moving.xM.map((x, i) => x + i * 0.05) }, options).refused).toContain('moved');
  });
  it('static check: S-44 order 1a allows 5 m horizontally at the surface', () => {
    expect(staticCheck(fixes(1, 10, 0, 10, 0.3), options)).toMatchObject({ limitM: 5, met: true });
    expect(staticCheck(fixes(1, 10, 6, 10, 0.3), options).met).toBe(false);
  });
});

describe('headingCheck', () => {
  // A boat of 1.5 m/s in a current of 0.3 m/s across the line: by the triangle of velocities it heads asin(0.2) = 11.537 degrees off.
  const crab = (Math.asin(0.2) * 180) / Math.PI;
  const run = (courseDeg: number, offDeg: number): HeadingRun => ({ courseDeg, offDeg, offSigmaDeg: 0.3, lengthM: 100 });
  it('heading check: current falls out of runs both ways, the compass stays', () => {
    const check = headingCheck([run(90, 4 + crab), run(270, 4 - crab), run(91, 4 + crab), run(269, 4 - crab)]);
    expect(check.refused).toBe('');
    expect(check.offsetDeg.value).toBeCloseTo(4, 9);
    expect(check.crabDeg).toBeCloseTo(crab, 9);
    expect(check.pairs).toBe(1);
  });
  it('heading check: offsets across 180 degrees are no trap', () => {
    expect(headingCheck([run(0, 179), run(180, -179)]).offsetDeg.value).toBeCloseTo(180, 6);
  });
  it('heading check: one way only, or a strong current, is refused', () => {
    expect(headingCheck([run(90, 4), run(91, 4)]).refused).toContain('both ways');
    expect(headingCheck([]).refused).toContain('compass');
    expect(headingCheck([run(90, 30), run(270, -30)]).refused).toContain('crabbed');
  });
});

describe('latencyCheck', () => {
  /** Lines of 80 m there and back at 1.5 m/s and 8 pings a second over an invented floor; each position as old as the latency. */
  const runs = (seed: number, latencyS: number, floor: (s: number) => number, options: { noiseM?: number; swellM?: number; passes?: number; stepM?: number } = {}): LatencyInput => {
    const { noiseM = 0.03, swellM = 0.03, passes = 4, stepM = 0 } = options;
    const random = createRandom(seed);
    const rows: [number, number, number, number, number][] = [];
    for (let pass = 0; pass < passes; pass++) {
      const out = pass % 2 === 0;
      const speed = 1.5 + 0.1 * random.normal();
      const off = 0.3 * random.normal();
      const phase = 6 * random.uniform();
      for (let t = 0; t < 80 / speed; t += 0.125) {
        const s = out ? speed * t : 80 - speed * t;
        const place = s - (out ? 1 : -1) * speed * latencyS;
        rows.push([pass * 200 + t, place + 0.05 * random.normal(), off, floor(s) + noiseM * random.normal() + swellM * Math.sin(1.9 * t + phase) + pass * stepM, pass]);
      }
    }
    return {
      n: rows.length,
      timeS: Float64Array.from(rows, (row) => row[0]),
      xM: Float64Array.from(rows, (row) => row[1]),
      yM: Float64Array.from(rows, (row) => row[2]),
      depthM: Float32Array.from(rows, (row) => row[3]),
      reason: new Uint8Array(rows.length),
      run: Int32Array.from(rows, (row) => row[4]),
    };
  };
  const bank = (s: number): number => 6 + 2.5 * Math.tanh((s - 40) / 10);
  it('latency check: recovered to 20 ms over a bank run eight times', () => {
    for (const latencyS of [-0.4, 0, 0.25, 1]) {
      const errors = Array.from({ length: 12 }, (_, i) => latencyCheck(runs(i + 1, latencyS, bank, { passes: 8 })).latencyS.value - latencyS);
      expect(Math.sqrt(errors.reduce((sum, one) => sum + one * one, 0) / errors.length)).toBeLessThan(0.02);
    }
  });
  it('latency check: 95 % holds the truth, water rising between runs included', () => {
    let inside = 0;
    const rounds = 120;
    for (let seed = 1; seed <= rounds; seed++) {
      const { latencyS } = latencyCheck(runs(seed, 0.3, bank, { stepM: 0.01 }));
      if (Math.abs(latencyS.value - 0.3) <= half95(latencyS)) inside++;
    }
    expect(inside / rounds).toBeGreaterThan(0.9);
  });
  it('latency check: on an even slope shift = 2 v dt, as far as the water level is known', () => {
    const check = latencyCheck(runs(2, 0.5, (s) => 3 + 0.08 * s, { passes: 2, noiseM: 0.01, swellM: 0.01 }));
    expect(check.refused).toBe('');
    expect(Math.abs(check.latencyS.value - 0.5)).toBeLessThan(half95(check.latencyS));
  });
  it('latency check: a level floor, one way only, or tracks apart say so', () => {
    expect(latencyCheck(runs(1, 0.3, () => 5)).refused).toContain('level floor');
    const oneWay = runs(1, 0.3, bank, { passes: 1 });
    expect(latencyCheck(oneWay).refused).toContain('both ways');
    const apart = runs(1, 0.3, bank, { passes: 2 });
    expect(latencyCheck({ ...apart, yM: apart.yM.map((y, i) => y + 10 * apart.run[i]!) }).refused).toContain('both ways');
  });
});
