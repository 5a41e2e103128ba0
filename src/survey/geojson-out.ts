import type { Gap } from '../depths/gaps.js';
import type { FeatureProperties, GeoFeature } from '../geo/features.js';
import type { Frame } from '../geo/frame.js';
import type { LonLatPolygon } from '../geo/lon-lat.js';
import type { Polyline } from '../geo/shapes.js';
import { writeGeoJson } from '../formats/geojson-write.js';

/** A line of the frame in degrees, [lon, lat, ...]. */
export function lonLatPath(line: Polyline, frame: Frame): Float64Array {
  const path = new Float64Array(line.length);
  for (let i = 0; i < line.length; i += 2) {
    const [latDeg, lonDeg] = frame.toGeographic(line[i] as number, line[i + 1] as number);
    path[i] = lonDeg;
    path[i + 1] = latDeg;
  }
  return path;
}

/** Lines of the frame as GeoJSON text. */
export function geoJsonText(lines: readonly { readonly line: Polyline; readonly properties: FeatureProperties }[], frame: Frame | null): string {
  const features = frame === null ? [] : lines.map(({ line, properties }): GeoFeature => ({ shape: { kind: 'line', path: lonLatPath(line, frame) }, properties }));
  return writeGeoJson(features);
}

/** Gaps as GeoJSON text, largest first. */
export function gapsText(gaps: readonly (Pick<Gap, 'areaM2' | 'maxWidthM' | 'furthestM'> & { readonly kind: 'hole' | 'order'; readonly lonLat: LonLatPolygon })[]): string {
  return writeGeoJson(
    gaps.map(({ kind, lonLat, areaM2, maxWidthM, furthestM }, index): GeoFeature => ({
      shape: { kind: 'polygon', polygon: lonLat },
      properties: { number: index + 1, kind, areaM2: round(areaM2, 1), widthM: round(maxWidthM, 2), ...(Number.isNaN(furthestM) ? {} : { furthestM: round(furthestM, 2) }) },
    })),
  );
}

function round(value: number, decimals: number): number {
  return Number(value.toFixed(decimals));
}
