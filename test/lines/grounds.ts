import fc from 'fast-check';
import { createFrame } from '../../src/geo/frame.js';
import { polygonAreaM2 } from '../../src/geo/ring.js';
import { firstCrossing } from '../../src/geo/polygon-check.js';
import type { Polygon } from '../../src/geo/shapes.js';
import type { LineOptions } from '../../src/lines/line-plan.js';

export const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
/** On the central meridian, where grid north is true north. */
export const [X, Y] = frame.toFrame(46, -27);

export const options: LineOptions = {
  spacingM: 20,
  headingDeg: null,
  crossShare: 0,
  runInM: 0,
  runOutM: 0,
  minLengthM: 5,
  insetM: 0,
  speedMps: 2,
  turnS: 10,
};

/** A polygon from corners about (X, Y). */
export function polygon(corners: readonly (readonly [number, number])[], ...holes: (readonly (readonly [number, number])[])[]): Polygon {
  const ring = (list: readonly (readonly [number, number])[]): Float64Array => Float64Array.from(list.flatMap(([x, y]) => [X + x, Y + y]));
  return { outer: ring(corners), holes: holes.map(ring) };
}

export function rectangle(x: number, y: number, widthM: number, heightM: number): Polygon {
  return polygon([[x, y], [x + widthM, y], [x + widthM, y + heightM], [x, y + heightM]]);
}

/** A polygon turned clockwise about (X, Y) and scaled. */
export function turned(shape: Polygon, angleDeg: number, scale = 1): Polygon {
  const a = (angleDeg * Math.PI) / 180;
  const ring = (from: Float64Array): Float64Array => {
    const out = new Float64Array(from.length);
    for (let i = 0; i < from.length; i += 2) {
      const dx = (from[i]! - X) * scale;
      const dy = (from[i + 1]! - Y) * scale;
      out[i] = X + dx * Math.cos(a) + dy * Math.sin(a);
      out[i + 1] = Y - dx * Math.sin(a) + dy * Math.cos(a);
    }
    return out;
  };
  return { outer: ring(shape.outer), holes: shape.holes.map(ring) };
}

/** A star about a place: any number of arms, bent in and out, never crossing itself. */
export function star(x: number, y: number, radii: readonly number[], startRad: number): Polygon {
  return polygon(radii.map((radius, i) => {
    const angle = startRad + (2 * Math.PI * i) / radii.length;
    return [x + radius * Math.cos(angle), y + radius * Math.sin(angle)] as const;
  }));
}

const number = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });

/** Areas some hundred metres wide, bent in and out. */
export const anyArea: fc.Arbitrary<Polygon> = fc
  .tuple(fc.array(number(120, 400), { minLength: 4, maxLength: 10 }), number(0, 6.28))
  .map(([radii, start]) => star(0, 0, radii, start))
  .filter((shape) => firstCrossing([shape.outer]) === null && polygonAreaM2(shape) > 10_000);

/** Keep-outs somewhere on such areas; they may overlap each other and the edge. */
export const anyKeepouts: fc.Arbitrary<Polygon[]> = fc.array(
  fc
    .tuple(number(-300, 300), number(-300, 300), fc.array(number(8, 60), { minLength: 3, maxLength: 8 }), number(0, 6.28))
    .map(([x, y, radii, start]) => star(x, y, radii, start)),
  { maxLength: 6 },
);

/** Whole numbers of a fixed seed, for tests that need many points. */
export function counter(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
}
