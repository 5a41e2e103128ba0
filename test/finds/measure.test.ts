import { describe, expect, test } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { standardDeviation, mean } from '../../src/base/statistics.js';
import { heightFromShadow, measure, type ReadOff } from '../../src/finds/measure.js';
import { bestPlace, ellipseOf, gateDistance2, placeSighting, SIGMA_TO_95_2D, type PlaceRequest } from '../../src/finds/place.js';

/** What a box on a flat floor shows of itself, by the rays alone: near face at `nearM`, `widthM` across, `topM` high. */
function boxSeen(nearM: number, widthM: number, topM: number, h: number): Pick<ReadOff, 'slantStartM' | 'slantEndM' | 'shadowEndM'> {
  const far = nearM + widthM;
  return { slantStartM: Math.hypot(nearM, h - topM), slantEndM: Math.hypot(far, h - topM), shadowEndM: Math.hypot((far * h) / (h - topM), h) };
}

const SIGMAS = { startSigmaM: 0.03, endSigmaM: 0.03, shadowSigmaM: 0.06, alongM: 1, alongSigmaM: 0.1, beamM: 0.4, sonarHeightSigmaM: 0.08 };

describe('measures', () => {
  test('heightFromShadow: H = S h / (R + S) of IHO C-13', () => {
    const none = { startM: 0, endM: 0, heightM: 0 };
    // h 5 m, R 20 m, S 2 m: 10/22 m; by hand
    expect(heightFromShadow(20, 22, 5, none).value).toBeCloseTo(10 / 22, 12);
    expect(heightFromShadow(20, 20, 5, none).value).toBeNaN();
    expect(heightFromShadow(20, NaN, 5, none).value).toBeNaN();
  });

  test.each([[8, 0.6, 0.5, 4], [25, 1.2, 0.8, 5], [40, 0.3, 0.3, 6]])('measure: a box %s m off, %s m across, %s m high, from %s m up, gives its size, height and place back', (nearM, widthM, topM, h) => {
    const measured = measure({ ...SIGMAS, ...boxSeen(nearM, widthM, topM, h), sonarHeightM: h });
    expect(measured.height.value).toBeCloseTo(topM, 9);
    expect(measured.width.value).toBeCloseTo(widthM, 9);
    expect(measured.ground.value).toBeCloseTo(nearM + widthM / 2, 9);
    expect(measured.length.value).toBeCloseTo(Math.sqrt(1 - 0.16), 9);
  });

  test.each([[8, 0.6, 0.5, 4], [25, 1.2, 0.8, 5], [40, 0.6, 0.3, 6]])('measure: sigmas of a box %s m off are those of 20 000 trials with the same errors', (nearM, widthM, topM, h) => {
    const random = createRandom(nearM);
    const seen = boxSeen(nearM, widthM, topM, h);
    const trials = Array.from({ length: 20_000 }, () =>
      measure({
        ...SIGMAS,
        slantStartM: seen.slantStartM + SIGMAS.startSigmaM * random.normal(),
        slantEndM: seen.slantEndM + SIGMAS.endSigmaM * random.normal(),
        shadowEndM: seen.shadowEndM + SIGMAS.shadowSigmaM * random.normal(),
        alongM: 1 + SIGMAS.alongSigmaM * random.normal(),
        sonarHeightM: h + SIGMAS.sonarHeightSigmaM * random.normal(),
      }),
    );
    const stated = measure({ ...SIGMAS, ...seen, sonarHeightM: h });
    for (const what of ['width', 'height', 'ground', 'length'] as const) {
      const spread = standardDeviation(trials.map((one) => one[what].value));
      // First order: a few per cent where the errors are small against the ranges.
      expect(stated[what].sigma / spread, what).toBeGreaterThan(0.93);
      expect(stated[what].sigma / spread, what).toBeLessThan(1.07);
    }
    expect(Math.abs(mean(trials.map(({ height }) => height.value)) / topM - 1)).toBeLessThan(0.02);
  });
});

describe('places', () => {
  const request: PlaceRequest = { side: 'starboard', sonarXM: 100, sonarYM: 200, gridHeadingDeg: 30, sonarSigmaM: 0.4, headingSigmaDeg: 2, groundM: 25, groundSigmaM: 0.2, alongSigmaM: 0.15 };

  test('placeSighting: starboard of a boat heading north lies east, port west', () => {
    const east = placeSighting({ ...request, gridHeadingDeg: 0 });
    expect([east.xM, east.yM]).toEqual([125, 200]);
    const west = placeSighting({ ...request, gridHeadingDeg: 0, side: 'port' });
    expect([west.xM, west.yM]).toEqual([75, 200]);
    const { majorM, minorM, axisDeg } = ellipseOf(east);
    // Heading error times range lies along the track: 25 m x 2 deg = 0.87 m.
    expect(axisDeg).toBeCloseTo(0, 6);
    expect(majorM).toBeCloseTo(Math.hypot(0.4, 25 * (2 * Math.PI) / 180, 0.15), 9);
    expect(minorM).toBeCloseTo(Math.hypot(0.4, 0.2), 9);
  });

  test('ellipseOf: the axis turns with the heading', () => {
    expect(ellipseOf(placeSighting(request)).axisDeg).toBeCloseTo(30, 6);
    expect(ellipseOf(placeSighting({ ...request, gridHeadingDeg: 300 })).axisDeg).toBeCloseTo(120, 6);
    expect(ellipseOf({ xx: 4, xy: 0, yy: 1 })).toEqual({ majorM: 2, minorM: 1, axisDeg: 90 });
  });

  test('placeSighting: the 95 % ellipse holds 95 % of 40 000 trials', () => {
    const random = createRandom(5);
    const stated = placeSighting(request);
    const det = stated.xx * stated.yy - stated.xy ** 2;
    let inside = 0;
    const trials = 40_000;
    for (let t = 0; t < trials; t++) {
      const rad = ((request.gridHeadingDeg + 2 * random.normal()) * Math.PI) / 180;
      const ground = 25 + 0.2 * random.normal();
      const along = 0.15 * random.normal();
      const dx = 100 + 0.4 * random.normal() + ground * Math.cos(rad) + along * Math.sin(rad) - stated.xM;
      const dy = 200 + 0.4 * random.normal() - ground * Math.sin(rad) + along * Math.cos(rad) - stated.yM;
      if ((stated.yy * dx * dx - 2 * stated.xy * dx * dy + stated.xx * dy * dy) / det <= SIGMA_TO_95_2D ** 2) inside++;
    }
    // 3 sigma of a count at 95 %: 0.0033.
    expect(Math.abs(inside / trials - 0.95)).toBeLessThan(0.005);
  });

  test('bestPlace: two looks at right angles are better than either, and never better than what they share', () => {
    const a = placeSighting({ ...request, gridHeadingDeg: 0 });
    const b = placeSighting({ ...request, gridHeadingDeg: 90, sonarXM: 125, sonarYM: 225 });
    const apart = bestPlace([a, b], 0);
    expect(ellipseOf(apart).majorM).toBeLessThan(ellipseOf(a).minorM);
    const shared = bestPlace([a, b], 0.3);
    expect(ellipseOf(shared).minorM).toBeGreaterThan(0.3);
    expect(bestPlace([a], 0.3)).toEqual(a);
  });

  test('bestPlace: its covariance is that of trials with a shared error', () => {
    const random = createRandom(9);
    const a = placeSighting({ ...request, gridHeadingDeg: 0 });
    const b = placeSighting({ ...request, gridHeadingDeg: 90, sonarXM: 125, sonarYM: 225 });
    const shareM = 0.3;
    const stated = bestPlace([a, b], shareM);
    const xs: number[] = [];
    for (let t = 0; t < 20_000; t++) {
      const [sx, sy] = [shareM * random.normal(), shareM * random.normal()];
      // Both covariances are diagonal in the frame at these headings.
      const moved = (place: typeof a): typeof a => ({ ...place, xM: 125 + sx + Math.sqrt(place.xx - shareM ** 2) * random.normal(), yM: 200 + sy + Math.sqrt(place.yy - shareM ** 2) * random.normal() });
      xs.push(bestPlace([moved(a), moved(b)], shareM).xM);
    }
    expect(standardDeviation(xs) / Math.sqrt(stated.xx)).toBeGreaterThan(0.97);
    expect(standardDeviation(xs) / Math.sqrt(stated.xx)).toBeLessThan(1.03);
  });

  test('gateDistance2: 99 % of repeat sightings of one thing lie within 9.21', () => {
    const random = createRandom(13);
    const a = placeSighting(request);
    const b = placeSighting({ ...request, gridHeadingDeg: 160 });
    const [xx, xy, yy] = [a.xx + b.xx, a.xy + b.xy, a.yy + b.yy];
    const l11 = Math.sqrt(xx);
    const l21 = xy / l11;
    const l22 = Math.sqrt(yy - l21 * l21);
    let within = 0;
    for (let t = 0; t < 20_000; t++) {
      const [p, q] = [random.normal(), random.normal()];
      if (gateDistance2({ ...a, xM: 0, yM: 0 }, { ...b, xM: l11 * p, yM: l21 * p + l22 * q }) <= 9.21034) within++;
    }
    expect(Math.abs(within / 20_000 - 0.99)).toBeLessThan(0.003);
  });
});
