import type { FrameSetting } from '../geo/frame.js';

const WGS84 = 'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4326"]]';

/** WGS 84 in degrees as well-known text 1 (OGC 01-009). */
export function wgs84Wkt(): string {
  return WGS84;
}

/** A survey frame as well-known text 1 (OGC 01-009): what .prj files and GeoPackage hold. */
export function utmWkt({ zone, hemisphere }: FrameSetting): string {
  const south = hemisphere === 'south';
  const parameters = [['latitude_of_origin', 0], ['central_meridian', zone * 6 - 183], ['scale_factor', 0.9996], ['false_easting', 500_000], ['false_northing', south ? 10_000_000 : 0]];
  return `PROJCS["WGS 84 / UTM zone ${zone}${south ? 'S' : 'N'}",${WGS84},PROJECTION["Transverse_Mercator"],${parameters.map(([name, value]) => `PARAMETER["${name}",${value}]`).join(',')},UNIT["metre",1,AUTHORITY["EPSG","9001"]],AXIS["Easting",EAST],AXIS["Northing",NORTH],AUTHORITY["EPSG","${(south ? 32700 : 32600) + zone}"]]`;
}
