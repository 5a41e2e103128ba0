import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { fitCoast } from '../../src/boat/coast-fit.js';
import { fitCurve } from '../../src/boat/curve-fit.js';
import { isRefused, type Refusal } from '../../src/boat/estimate.js';
import { fitPowerCurve } from '../../src/boat/power-curve.js';
import { fitStart } from '../../src/boat/start-fit.js';
import { studentT95 } from '../../src/boat/student.js';
import { circleThrough, fitVelocityCircles } from '../../src/boat/velocity-circle.js';
import { fitNomoto } from '../../src/boat/zig-zag.js';

interface Fit {
  timeS: number[];
  wayM: number[];
  params: number[];
  covariance: number[];
}
interface Reference {
  circles: { x: number[]; y: number[]; kasa: number[]; taubin: number[]; geometric: number[]; unitCovariance: number[] }[];
  starts: Fit[];
  coasts: Fit[];
  powers: { speedMps: number[]; powerW: number[]; sigmaW: number[]; params: number[]; covariance: number[]; chi2: number }[];
  yaw: { timeS: number[]; helm: number[]; headingDeg: number[]; tS: number; k: number; neutral: number };
  student: [number, number][];
}
// test/reference/boat/make.py: numpy and scipy.
const reference = JSON.parse(readFileSync(new URL('../reference/boat/fits.json', import.meta.url), 'utf8')) as Reference;

function good<T extends object>(result: T | Refusal): T {
  if (isRefused(result)) throw new Error(result.refused);
  return result;
}

describe('fits against numpy and scipy', () => {
  it('circleThrough: is Taubin\'s circle (singular value decomposition in numpy)', () => {
    for (const { x, y, taubin } of reference.circles) {
      const circle = circleThrough(x, y)!;
      expect(circle.x).toBeCloseTo(taubin[0]!, 9);
      expect(circle.y).toBeCloseTo(taubin[1]!, 9);
      expect(circle.radius).toBeCloseTo(taubin[2]!, 9);
    }
  });

  it('fitVelocityCircles: is the geometric circle and its covariance when no run is an outlier (scipy least_squares)', () => {
    for (const { x, y, geometric, unitCovariance } of reference.circles) {
      // Errors large enough that nothing is called an outlier and none is scaled.
      const sigma = 0.2;
      const fit = good(fitVelocityCircles({ eastMps: x, northMps: y, sigmaMps: x.map(() => sigma), sigmaDof: 10, group: x.map(() => 0), timeS: x.map((_, i) => i) }));
      expect(fit.currentEastMps).toBeCloseTo(geometric[0]!, 6);
      expect(fit.currentNorthMps).toBeCloseTo(geometric[1]!, 6);
      expect(fit.speedMps[0]).toBeCloseTo(geometric[2]!, 6);
      unitCovariance.forEach((value, i) => {
        const size = Math.sqrt(unitCovariance[Math.floor(i / 3) * 4]! * unitCovariance[(i % 3) * 4]!);
        expect((fit.covariance[i]! / sigma ** 2 - value) / size, `element ${i}`).toBeCloseTo(0, 4);
      });
      // The algebraic circle of the plainest kind lies within the errors of the geometric one.
      const kasa = reference.circles.find((one) => one.x === x)!.kasa;
      expect(Math.abs(fit.speedMps[0]! - kasa[2]!)).toBeLessThan(4 * 0.05 * Math.sqrt(unitCovariance[8]!));
    }
  });

  it('fitStart: tanh fit, parameters and standard errors (scipy curve_fit)', () => {
    for (const { timeS, wayM, params, covariance } of reference.starts) {
      const fit = good(fitStart(Float64Array.from(timeS), Float64Array.from(wayM)));
      expect(fit.topSpeedMps.value).toBeCloseTo(params[1]!, 5);
      expect(fit.tauS.value).toBeCloseTo(params[2]!, 5);
      expect(fit.startS.value).toBeCloseTo(params[3]!, 5);
      // Ours hold a walk as well where the residuals leave room for one: never much smaller than for white noise alone.
      for (const [sigma, index] of [[fit.topSpeedMps.sigma, 1], [fit.tauS.sigma, 2], [fit.startS.sigma, 3]] as const) {
        const ratio = sigma / Math.sqrt(covariance[index * 5]!);
        expect(ratio).toBeGreaterThan(0.8);
        expect(ratio).toBeLessThan(4);
      }
    }
  });

  it('fitCoast: hyperbola, parameters and standard errors (scipy curve_fit)', () => {
    for (const { timeS, wayM, params, covariance } of reference.coasts) {
      const fit = good(fitCoast(Float64Array.from(timeS), Float64Array.from(wayM), 0));
      expect(fit.startSpeedMps.value).toBeCloseTo(params[1]!, 5);
      expect(fit.lengthM.value).toBeCloseTo(params[2]!, 5);
      const ratio = fit.lengthM.sigma / Math.sqrt(covariance[8]!);
      expect(ratio).toBeGreaterThan(0.8);
      expect(ratio).toBeLessThan(4);
    }
  });

  it('fitPowerCurve: P0, a, n and covariance (scipy curve_fit, absolute errors)', () => {
    for (const { speedMps, powerW, sigmaW, params, covariance, chi2 } of reference.powers) {
      const fit = good(fitPowerCurve(speedMps, powerW, sigmaW, { exponent: null, hotelW: null }));
      expect(fit.hotelW.value).toBeCloseTo(params[0]!, 4);
      expect(fit.coefficient.value).toBeCloseTo(params[1]!, 4);
      expect(fit.exponent.value).toBeCloseTo(params[2]!, 5);
      const scale = Math.max(1, chi2 / (speedMps.length - 3));
      covariance.forEach((value, i) => expect(fit.covariance[i]! / (value * scale), `element ${i}`).toBeCloseTo(1, 3));
    }
  });

  it('fitNomoto: K, T and neutral helm (scipy least_squares on small integration steps)', () => {
    const { timeS, helm, headingDeg, tS, k, neutral } = reference.yaw;
    const fit = good(fitNomoto(timeS, headingDeg.map((value) => ((value % 360) + 360) % 360), helm));
    expect(fit.tS.value).toBeCloseTo(tS, 3);
    expect(fit.k.value).toBeCloseTo(k, 3);
    expect(fit.neutral).toBeCloseTo(neutral, 3);
  });

  it('studentT95: the tables (scipy stats.t)', () => {
    for (const [dof, t] of reference.student) expect(Math.abs(studentT95(dof) / t - 1)).toBeLessThan(0.002);
    expect(studentT95(Infinity)).toBeCloseTo(1.95996, 5);
    expect(studentT95(0.5)).toBeNaN();
  });

  it('fitCurve: says that parameters cannot be told apart by a covariance of NaN', () => {
    const fit = fitCurve((p, out) => out.forEach((_, i) => (out[i] = p[0]! + p[1]! - i)), 10, [0, 0], [1, 1]);
    expect(fit.covariance.every(Number.isNaN)).toBe(true);
  });
});
