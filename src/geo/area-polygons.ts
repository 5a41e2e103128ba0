import { UseError } from '../base/errors.js';
import type { Frame, FrameSetting } from './frame.js';
import { frameSettingFor } from './frame.js';
import type { LonLatPolygon, LonLatRing } from './lon-lat.js';
import { positionInWords } from './lon-lat.js';
import { checkedPolygon } from './polygon-check.js';
import type { Polygon, Ring } from './shapes.js';

/**
 * Refuses positions that are not on the world and rings across the antimeridian.
 * @throws UseError that names the corner
 */
export function checkLonLat(polygons: readonly LonLatPolygon[], name: string): void {
  for (const polygon of polygons) {
    for (const ring of [polygon.outer, ...polygon.holes]) {
      const n = ring.length / 2;
      for (let i = 0; i < n; i++) {
        const lonDeg = ring[2 * i]!;
        const latDeg = ring[2 * i + 1]!;
        if (!(latDeg >= -90 && latDeg <= 90) || !(lonDeg >= -180 && lonDeg <= 180)) {
          const found = `latitude ${latDeg}, longitude ${lonDeg}`;
          throw new UseError(
            `${name}: corner ${i + 1} is not on the world: expected latitude -90 to 90 and longitude -180 to 180, found ${found}; see whether latitude and longitude are swapped, or whether it is in metres`,
            { expected: 'latitude -90 to 90, longitude -180 to 180', found, fix: 'see whether latitude and longitude are swapped, or whether it is in metres' },
          );
        }
        const j = (i + 1) % n;
        if (Math.abs(ring[2 * j]! - lonDeg) > 180) {
          throw new UseError(
            `${name}: crosses the antimeridian at ${positionInWords(latDeg, lonDeg)}: expected all of it on one side of longitude 180; cut it there and survey the two parts in two folders`,
            { expected: 'all on one side of longitude 180', found: `an edge from longitude ${lonDeg} to ${ring[2 * j]!}`, fix: 'cut it there and survey the two parts in two folders' },
          );
        }
      }
    }
  }
}

/**
 * Polygons of a file in the survey frame, checked and turned the right way. Edges are straight in the frame; over 5 km
 * that differs from straight in latitude and longitude by some decimetres.
 * @throws UseError where a polygon cannot be worked with (see checkLonLat, checkedPolygon)
 */
export function polygonsFromLonLat(polygons: readonly LonLatPolygon[], frame: Frame, name: string): Polygon[] {
  checkLonLat(polygons, name);
  const ringToFrame = (ring: LonLatRing): Ring => {
    const out = new Float64Array(ring.length);
    for (let i = 0; i < ring.length; i += 2) {
      const [xM, yM] = frame.toFrame(ring[i + 1]!, ring[i]!);
      out[i] = xM;
      out[i + 1] = yM;
    }
    return out;
  };
  return polygons.map((polygon, i) =>
    checkedPolygon(
      { outer: ringToFrame(polygon.outer), holes: polygon.holes.map(ringToFrame) },
      polygons.length === 1 ? name : `${name}, polygon ${i + 1}`,
      frame,
    ),
  );
}

/** A frame polygon on WGS 84; rings keep their sense: outer counter-clockwise. */
export function polygonToLonLat(polygon: Polygon, frame: Frame): LonLatPolygon {
  const ringToLonLat = (ring: Ring): LonLatRing => {
    const out = new Float64Array(ring.length);
    for (let i = 0; i < ring.length; i += 2) {
      const [latDeg, lonDeg] = frame.toGeographic(ring[i]!, ring[i + 1]!);
      out[i] = lonDeg;
      out[i + 1] = latDeg;
    }
    return out;
  };
  return { outer: ringToLonLat(polygon.outer), holes: polygon.holes.map(ringToLonLat) };
}

/**
 * The UTM zone of the middle of an area's box.
 * @throws UseError outside UTM's latitudes or where it crosses the antimeridian; RangeError without polygons
 */
export function frameSettingForArea(polygons: readonly LonLatPolygon[], name: string): FrameSetting {
  if (polygons.length === 0) throw new RangeError('polygons: expected at least one');
  checkLonLat(polygons, name);
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  for (const { outer } of polygons) {
    for (let i = 0; i < outer.length; i += 2) {
      west = Math.min(west, outer[i]!);
      east = Math.max(east, outer[i]!);
      south = Math.min(south, outer[i + 1]!);
      north = Math.max(north, outer[i + 1]!);
    }
  }
  if (!(south >= -80 && north <= 84)) {
    throw new UseError(`${name}: reaches latitude ${south < -80 ? south : north}: expected -80 to 84, where the survey frame (UTM) is defined; survey nearer the equator`, {
      expected: 'latitude -80 to 84',
      found: String(south < -80 ? south : north),
    });
  }
  return frameSettingFor((south + north) / 2, (west + east) / 2);
}
