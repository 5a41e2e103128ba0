import { createRandom } from '../src/base/random.js';
import type { Random } from '../src/base/random.js';
import { firstCrossing } from '../src/geo/polygon-check.js';
import { boundsOfPolygons, pointInPolygon, polygonAreaM2 } from '../src/geo/ring.js';
import { pointPolygonDistanceM, pointRingDistanceM } from '../src/geo/segment.js';
import type { Polygon, Ring } from '../src/geo/shapes.js';
import type { CurrentField } from '../src/water/current-field.js';

export type AreaKind = 'convex' | 'concave' | 'holed' | 'current';

/** An area to plan lines over, in a frame's metres. */
export interface LineArea {
  readonly name: string;
  readonly kind: AreaKind;
  readonly area: Polygon;
  readonly keepouts: readonly Polygon[];
  readonly spacingM: number;
  readonly launch: { readonly xM: number; readonly yM: number };
  readonly current: CurrentField | null;
}

type Corner = readonly [number, number];

/**
 * Areas made from a seed, the same every time: `each` of each kind, 0.08 to about 1 km2, turned every way. Convex ones,
 * concave ones (arms, hooks, crosses, stars), ones with one to three islands in them, and both in a tidal stream.
 */
export function lineAreas(xM: number, yM: number, seed = 20, each = 15): LineArea[] {
  const kinds: readonly AreaKind[] = ['convex', 'concave', 'holed', 'current'];
  return kinds.flatMap((kind) => Array.from({ length: each }, (_, i) => makeArea(kind, i, xM, yM, createRandom(seed).fork(`${kind} ${i}`))));
}

function makeArea(kind: AreaKind, i: number, xM: number, yM: number, random: Random): LineArea {
  for (;;) {
    const shape = kind === 'convex' || ((kind === 'holed' || kind === 'current') && i % 2 === 0) ? convexShape(random) : concaveShape(random, i);
    const angle = random.between(0, 2 * Math.PI);
    const outer = Float64Array.from(shape.flatMap(([x, y]) => [xM + x * Math.cos(angle) - y * Math.sin(angle), yM + x * Math.sin(angle) + y * Math.cos(angle)]));
    if (firstCrossing([outer]) !== null || !(polygonAreaM2({ outer, holes: [] }) > 80_000)) continue;
    const holes = kind === 'holed' ? islands(random, { outer, holes: [] }, 1 + (i % 3), i % 3 === 0 ? 0.3 : 0.16) : [];
    if (kind === 'holed' && holes.length === 0) continue;
    const keepouts = kind === 'concave' ? [] : islands(random, { outer, holes }, 2, 0.05).map((ring): Polygon => ({ outer: ring, holes: [] }));
    const [x, y] = [outer[0]! + random.between(-60, 60), outer[1]! + random.between(-60, 60)];
    const isClear = [...holes.map((ring): Polygon => ({ outer: ring, holes: [] })), ...keepouts].every((one) => pointPolygonDistanceM(one, x, y) > 10);
    if (!isClear) continue;
    return {
      name: `${kind} ${i + 1}`,
      kind,
      area: { outer, holes: holes.map((ring) => ring.slice()) },
      keepouts,
      spacingM: random.between(18, 45),
      launch: { xM: x, yM: y },
      current: kind === 'current' ? tidalStream(random) : null,
    };
  }
}

/** Corners on an ellipse: convex, counter-clockwise. */
function convexShape(random: Random): Corner[] {
  const n = 3 + random.integer(7);
  const [a, b] = [random.between(250, 700), random.between(180, 420)];
  const angles = Array.from({ length: n }, (_, k) => ((k + random.between(0.1, 0.9)) * 2 * Math.PI) / n);
  return angles.map((angle) => [a * Math.cos(angle), b * Math.sin(angle)]);
}

/** Arms, hooks, crosses, combs and stars, with corners pushed about. */
function concaveShape(random: Random, i: number): Corner[] {
  const w = random.between(120, 240);
  const l = random.between(700, 1300);
  const m = random.between(500, 1000);
  const shapes: (() => Corner[])[] = [
    () => [[0, 0], [l, 0], [l, w], [w, w], [w, m], [0, m]],
    () => [[0, 0], [l, 0], [l, m], [l - w, m], [l - w, w], [w, w], [w, 0.8 * m], [0, 0.8 * m]],
    () => [[0, 0], [l, 0], [l, w], [l / 2 + w / 2, w], [l / 2 + w / 2, m], [l / 2 - w / 2, m], [l / 2 - w / 2, w], [0, w]],
    () => [[0, 0], [w, 0], [l / 2, 0.75 * m], [l - w, 0], [l, 0], [l / 2 + 0.6 * w, m], [l / 2 - 0.6 * w, m]],
    () => {
      const arms = 4 + random.integer(3);
      return Array.from({ length: 2 * arms }, (_, k): Corner => {
        const reach = k % 2 === 0 ? random.between(450, 800) : random.between(130, 280);
        return [reach * Math.cos((k * Math.PI) / arms), reach * Math.sin((k * Math.PI) / arms)];
      });
    },
  ];
  const shape = shapes[i % shapes.length]!();
  return shape.map(([x, y]) => [x + random.between(-25, 25), y + random.between(-25, 25)]);
}

/** Rings well inside a polygon and off each other, clockwise. */
function islands(random: Random, within: Polygon, count: number, size: number): Ring[] {
  const box = boundsOfPolygons([within]);
  const acrossM = Math.sqrt(polygonAreaM2(within));
  const out: Ring[] = [];
  for (let tries = 0; tries < 300 && out.length < count; tries++) {
    const x = random.between(box.westM, box.eastM);
    const y = random.between(box.southM, box.northM);
    const reach = acrossM * size * random.between(0.6, 1);
    if (!pointInPolygon(within, x, y)) continue;
    const room = Math.min(...[within.outer, ...within.holes, ...out].map((ring) => pointRingDistanceM(ring, x, y)));
    if (room < reach + 30) continue;
    const n = 4 + random.integer(5);
    const ring: number[] = [];
    for (let k = n - 1; k >= 0; k--) {
      const angle = (2 * Math.PI * (k + random.between(-0.25, 0.25))) / n;
      const r = reach * random.between(0.65, 1);
      ring.push(x + r * Math.cos(angle), y + r * Math.sin(angle));
    }
    out.push(Float64Array.from(ring));
  }
  return out;
}

/** A stream that turns with the half-daily tide, across its main direction a little; known always. */
function tidalStream(random: Random): CurrentField {
  const top = random.between(0.3, 0.9);
  const towards = random.between(0, 2 * Math.PI);
  const phase = random.between(0, 2 * Math.PI);
  return {
    at(_x, _y, timeS, out) {
      const angle = (2 * Math.PI * timeS) / 44_714 + phase;
      const along = top * Math.cos(angle);
      const across = 0.2 * top * Math.sin(angle);
      out[0] = along * Math.cos(towards) - across * Math.sin(towards);
      out[1] = along * Math.sin(towards) + across * Math.cos(towards);
      out[2] = 0.05;
    },
    startS: -Infinity,
    endS: Infinity,
    maxMps: top,
    source: 'a stream made for the benchmark',
  };
}
