import type { LonLatPolygon } from './lon-lat.js';

/** A line of vertices on WGS 84: [lon0, lat0, lon1, lat1, ...] in degrees. */
export type LonLatPath = Float64Array;

/** Where something is, on WGS 84. */
export type GeoShape =
  | { readonly kind: 'point'; readonly lonDeg: number; readonly latDeg: number }
  | { readonly kind: 'line'; readonly path: LonLatPath }
  | { readonly kind: 'lines'; readonly paths: readonly LonLatPath[] }
  | { readonly kind: 'polygon'; readonly polygon: LonLatPolygon }
  | { readonly kind: 'polygons'; readonly polygons: readonly LonLatPolygon[] };

/** What is said of a feature; NaN is written as null. */
export type FeatureProperties = Readonly<Record<string, string | number | boolean | null>>;

/** Something with a place and what is said of it: what files people exchange hold. */
export interface GeoFeature {
  readonly shape: GeoShape;
  readonly properties: FeatureProperties;
}

/** A survey line as it is handed over: ends in degrees, in the direction it is run. */
export interface LonLatLine {
  readonly number: number;
  readonly kind: string;
  /** 1-based place in the run order. */
  readonly order: number;
  readonly startLatDeg: number;
  readonly startLonDeg: number;
  readonly endLatDeg: number;
  readonly endLonDeg: number;
  /** True, at the middle of the line [deg]. */
  readonly headingDeg: number;
  /** On the ellipsoid [m]. */
  readonly lengthM: number;
}

/** A place on the way, with a name the crew can read. */
export interface RoutePoint {
  readonly latDeg: number;
  readonly lonDeg: number;
  readonly name: string;
}

/** Places in the order they are passed. */
export interface GeoRoute {
  readonly name: string;
  readonly points: readonly RoutePoint[];
}
