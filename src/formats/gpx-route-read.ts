import { FormatError } from '../base/errors.js';
import type { LonLatPolygon } from '../geo/lon-lat.js';
import type { AreaFile } from './area-file-rings.js';
import { createRingCollector } from './area-file-rings.js';
import { walkXml } from './area-file-xml.js';

/**
 * The area whose edge a GPX text walks: each route and each track is one polygon. A track's segments are joined.
 * Ends within a metre of each other meet; others are joined by a straight edge, with a note. Waypoints are left out.
 *
 * @throws FormatError with the line, where the XML or a position is wrong, or where there is neither route nor track
 *
 * Source: GPX 1.1 schema, types wptType, rteType, trkType. GPX 1.0 has the same elements and is read too.
 */
export function readGpxArea(text: string, name: string): AreaFile {
  const collector = createRingCollector(name);
  const polygons: LonLatPolygon[] = [];
  const path: string[] = [];
  let sawGpx = false;
  let lonLat: number[] = [];
  let segments = 0;
  let routes = 0;
  let tracks = 0;
  const point = (attributes: Readonly<Record<string, string>>, line: number): void => {
    const read = (key: 'lat' | 'lon'): number => {
      const raw = attributes[key];
      const value = raw === undefined || raw.trim() === '' ? NaN : Number(raw);
      if (!Number.isFinite(value)) {
        throw new FormatError('gpx', name, `${name} line ${line}: position: expected ${key}="degrees", found ${raw === undefined ? 'none' : `"${raw}"`}; mend it there`, {
          line,
          expected: `${key}="degrees"`,
          found: raw ?? 'none',
        });
      }
      return value;
    };
    const latDeg = read('lat');
    lonLat.push(read('lon'), latDeg);
  };
  walkXml(text, name, {
    open(element, attributes, line) {
      if (path.length === 0) {
        if (element !== 'gpx') {
          throw new FormatError('not-gpx', name, `${name} line ${line}: not GPX: expected <gpx>, found <${element}>; give a GPX, KML or GeoJSON file`, { line, expected: '<gpx>', found: `<${element}>` });
        }
        sawGpx = true;
      }
      path.push(element);
      if (path.includes('extensions')) return;
      if (element === 'rte' || element === 'trk') {
        lonLat = [];
        segments = 0;
      } else if (element === 'rtept' || element === 'trkpt') point(attributes, line);
      else if (element === 'trkseg') segments++;
      else if (element === 'wpt') collector.leftOut('waypoint');
    },
    close(element, _content, line) {
      path.pop();
      if (path.includes('extensions') || (element !== 'rte' && element !== 'trk')) return;
      const where = element === 'rte' ? `route ${++routes}` : `track ${++tracks}`;
      if (lonLat.length === 0) {
        collector.leftOut(element === 'rte' ? 'empty route' : 'empty track');
        return;
      }
      if (segments > 1) collector.note(`${where}: its ${segments} segments are joined`);
      polygons.push({ outer: collector.boundary(lonLat, where, line), holes: [] });
    },
  });
  if (!sawGpx) throw new FormatError('not-gpx', name, `${name}: not GPX: expected <gpx>, found no element; give a GPX, KML or GeoJSON file`, { expected: '<gpx>' });
  return collector.finish('gpx', polygons);
}
