import geodesicLibrary from 'geographiclib-geodesic';

const wgs84 = geodesicLibrary.Geodesic.WGS84;

/** The shortest way between two places on WGS 84. */
export interface GeodesicLeg {
  readonly lengthM: number;
  /** Direction at the start and at the end, clockwise from true north [deg, -180..180]. */
  readonly startBearingDeg: number;
  readonly endBearingDeg: number;
}

/**
 * Length and bearings of the geodesic between two places; NaN in, NaN out.
 * Source: Karney (2013), J. Geodesy 87, 43-55, doi:10.1007/s00190-012-0578-z; accurate to some nanometres.
 */
export function geodesicLeg(lat1Deg: number, lon1Deg: number, lat2Deg: number, lon2Deg: number): GeodesicLeg {
  const leg = wgs84.Inverse(lat1Deg, lon1Deg, lat2Deg, lon2Deg);
  return { lengthM: leg.s12 ?? NaN, startBearingDeg: leg.azi1 ?? NaN, endBearingDeg: leg.azi2 ?? NaN };
}

/** Length of the geodesic between two places on WGS 84 [m]. */
export function geodesicLengthM(lat1Deg: number, lon1Deg: number, lat2Deg: number, lon2Deg: number): number {
  return geodesicLeg(lat1Deg, lon1Deg, lat2Deg, lon2Deg).lengthM;
}

/** The place a distance away along a geodesic, [lat, lon] in degrees. */
export function geodesicDestination(latDeg: number, lonDeg: number, bearingDeg: number, lengthM: number): [number, number] {
  const end = wgs84.Direct(latDeg, lonDeg, bearingDeg, lengthM);
  return [end.lat2 ?? NaN, end.lon2 ?? NaN];
}
