import Flatbush from 'flatbush';
import { UseError } from '../base/errors.js';
import type { Frame } from './frame.js';
import { positionInWords } from './lon-lat.js';
import { orientedPolygon, pointInRing, polygonAreaM2, ringLengthM, signedRingAreaM2 } from './ring.js';
import { lineMeetingPoint, segmentsCross } from './segment.js';
import type { Polygon, Ring } from './shapes.js';

/**
 * A polygon fit to work with, its rings turned the right way; repeated vertices dropped.
 *
 * @param name what to call it in messages, e.g. `area` or `keep-out 3`
 * @param frame for the place of a fault in latitude and longitude
 * @throws UseError where it has too few points, a point that is not a number, no area, an edge that crosses another, or a
 *   hole that is not inside it; the message says where
 */
export function checkedPolygon(polygon: Polygon, name: string, frame: Frame): Polygon {
  const outer = checkedRing(polygon.outer, name, frame);
  const holes = polygon.holes.map((hole, i) => checkedRing(hole, `${name}, hole ${i + 1}`, frame));
  const rings = [outer, ...holes];
  const crossing = firstCrossing(rings);
  if (crossing !== null) {
    const [xM, yM] = crossing;
    const [latDeg, lonDeg] = frame.toGeographic(xM, yM);
    const place = positionInWords(latDeg, lonDeg);
    throw new UseError(`${name}: its edge crosses itself at ${place}: expected an outline that does not; move or delete a corner near there`, {
      expected: 'an outline that does not cross itself',
      found: `a crossing at ${place}`,
      fix: 'move or delete a corner near there',
      where: [Float64Array.of(xM, yM)],
    });
  }
  holes.forEach((hole, i) => {
    if (!liesInside(outer, hole)) {
      const place = positionInWords(...frame.toGeographic(hole[0]!, hole[1]!));
      throw new UseError(`${name}, hole ${i + 1}: lies outside the polygon at ${place}: expected holes inside it; delete the hole or draw it as a polygon of its own`, {
        expected: 'a hole inside the polygon',
        found: `a hole at ${place}`,
        fix: 'delete the hole or draw it as a polygon of its own',
        where: [hole],
      });
    }
  });
  const checked = orientedPolygon({ outer, holes });
  if (!(polygonAreaM2(checked) > 0)) throw noArea(name, polygonAreaM2(checked));
  return checked;
}

/** Whether a ring whose edges cross none of the outer's lies inside it. Corners of either may lie on the other's edge, where a test says nothing: the middles of its sides decide. */
function liesInside(outer: Ring, hole: Ring): boolean {
  const n = hole.length;
  let inside = 0;
  for (let i = 0; i < n; i += 2) if (pointInRing(outer, (hole[i]! + hole[(i + 2) % n]!) / 2, (hole[i + 1]! + hole[(i + 3) % n]!) / 2)) inside += 2;
  return inside > n / 2;
}

function noArea(name: string, areaM2: number): UseError {
  return new UseError(`${name}: encloses no area: expected more than 0 m2, found ${areaM2.toFixed(3)} m2; draw corners that are not on one line`, {
    expected: 'more than 0 m2',
    found: `${areaM2.toFixed(3)} m2`,
    fix: 'draw corners that are not on one line',
  });
}

function checkedRing(ring: Ring, name: string, frame: Frame): Ring {
  if (ring.length % 2 !== 0) throw new RangeError(`${name}: ${ring.length} numbers: expected pairs of east and north`);
  const out: number[] = [];
  for (let i = 0; i < ring.length; i += 2) {
    const x = ring[i]!;
    const y = ring[i + 1]!;
    if (!Number.isFinite(x) || !Number.isFinite(y)) {
      throw new UseError(`${name}: corner ${i / 2 + 1} is not a place: expected numbers, found ${x}, ${y}; give the corner again or delete it`, {
        expected: 'numbers',
        found: `${x}, ${y}`,
        fix: 'give the corner again or delete it',
      });
    }
    const n = out.length;
    if (n === 0 || out[n - 2] !== x || out[n - 1] !== y) out.push(x, y);
  }
  while (out.length >= 4 && out[0] === out[out.length - 2] && out[1] === out[out.length - 1]) out.length -= 2;
  if (out.length < 6) {
    const where = out.length > 0 ? ` at ${positionInWords(...frame.toGeographic(out[0]!, out[1]!))}` : '';
    throw new UseError(`${name}: has too few corners${where}: expected at least 3 different ones, found ${out.length / 2}; add corners`, {
      expected: 'at least 3 different corners',
      found: String(out.length / 2),
      fix: 'add corners',
    });
  }
  const checked = Float64Array.from(out);
  // Corners on one line within a tenth of a millimetre enclose nothing that can be surveyed.
  const areaM2 = Math.abs(signedRingAreaM2(checked));
  const crossesItself = firstCrossing([checked]) !== null;
  if (!crossesItself && areaM2 <= 1e-4 * ringLengthM(checked)) throw noArea(name, areaM2);
  return checked;
}

/**
 * The first place where two edges of rings cross at inner points of both, [east, north] in metres; null where none do.
 * Edges that only touch do not count.
 */
export function firstCrossing(rings: readonly Ring[]): [number, number] | null {
  let count = 0;
  for (const ring of rings) count += ring.length / 2;
  const edges = new Float64Array(count * 4);
  let e = 0;
  for (const ring of rings) {
    const n = ring.length / 2;
    for (let i = 0; i < n; i++) {
      const j = (i + 1) % n;
      edges[e++] = ring[2 * i]!;
      edges[e++] = ring[2 * i + 1]!;
      edges[e++] = ring[2 * j]!;
      edges[e++] = ring[2 * j + 1]!;
    }
  }
  const cross = (a: number, b: number): boolean =>
    segmentsCross(
      edges[4 * a]!, edges[4 * a + 1]!, edges[4 * a + 2]!, edges[4 * a + 3]!,
      edges[4 * b]!, edges[4 * b + 1]!, edges[4 * b + 2]!, edges[4 * b + 3]!,
    );
  const place = (a: number, b: number): [number, number] =>
    lineMeetingPoint(
      edges[4 * a]!, edges[4 * a + 1]!, edges[4 * a + 2]!, edges[4 * a + 3]!,
      edges[4 * b]!, edges[4 * b + 1]!, edges[4 * b + 2]!, edges[4 * b + 3]!,
    );
  if (count <= 64) {
    for (let a = 0; a < count; a++) for (let b = a + 1; b < count; b++) if (cross(a, b)) return place(a, b);
    return null;
  }
  const index = new Flatbush(count);
  const box = (a: number): [number, number, number, number] => [
    Math.min(edges[4 * a]!, edges[4 * a + 2]!),
    Math.min(edges[4 * a + 1]!, edges[4 * a + 3]!),
    Math.max(edges[4 * a]!, edges[4 * a + 2]!),
    Math.max(edges[4 * a + 1]!, edges[4 * a + 3]!),
  ];
  for (let a = 0; a < count; a++) index.add(...box(a));
  index.finish();
  for (let a = 0; a < count; a++) {
    let found = -1;
    index.search(...box(a), (b) => {
      if (b > a && (found < 0 || b < found) && cross(a, b)) found = b;
      return false;
    });
    if (found >= 0) return place(a, found);
  }
  return null;
}
