import { FormatError } from '../base/errors.js';
import type { LonLatPolygon, LonLatRing } from '../geo/lon-lat.js';
import type { AreaFile } from './area-file-rings.js';
import { createRingCollector } from './area-file-rings.js';
import { walkXml } from './area-file-xml.js';

/**
 * The polygons of a KML text: every Polygon with its inner boundaries, in a MultiGeometry or not; a closed LineString
 * or a LinearRing of its own counts, with a note. Altitudes are left aside; network links are not followed.
 *
 * @throws FormatError with the line, where the XML or a coordinate is wrong, or where there is no polygon
 *
 * Source: OGC KML 2.2 (07-147r2), 10.5 Polygon, 10.8 LinearRing, 16.10 coordinates.
 */
export function readKmlArea(text: string, name: string): AreaFile {
  const collector = createRingCollector(name);
  const polygons: LonLatPolygon[] = [];
  const path: string[] = [];
  let sawKml = false;
  let polygonCount = 0;
  let outer: LonLatRing | null = null;
  let holes: LonLatRing[] = [];
  const inside = (element: string): boolean => path.includes(element);

  walkXml(text, name, {
    open(element, _attributes, line) {
      if (path.length === 0) {
        if (element !== 'kml') {
          throw new FormatError('not-kml', name, `${name} line ${line}: not KML: expected <kml>, found <${element}>; give a KML, GeoJSON or GPX file`, { line, expected: '<kml>', found: `<${element}>` });
        }
        sawKml = true;
      }
      path.push(element);
      if (element === 'Polygon') {
        polygonCount++;
        outer = null;
        holes = [];
      }
    },
    close(element, content, line) {
      path.pop();
      const parent = path[path.length - 1];
      if (element === 'coordinates') {
        if (inside('Polygon')) {
          if (parent !== 'LinearRing') return;
          const lonLat = readCoordinates(content, name, line);
          if (inside('innerBoundaryIs')) holes.push(collector.closedRing(lonLat, `polygon ${polygonCount}, hole ${holes.length + 1}`, line));
          else if (outer === null) outer = collector.closedRing(lonLat, `polygon ${polygonCount}`, line);
          else throw new FormatError('kml', name, `${name} line ${line}: polygon ${polygonCount}: expected one outer boundary, found two; make it two polygons`, { line, expected: 'one outer boundary' });
        } else if (parent === 'LinearRing' || parent === 'LineString') {
          const lonLat = readCoordinates(content, name, line);
          const n = lonLat.length;
          const closed = n >= 8 && lonLat[0] === lonLat[n - 2] && lonLat[1] === lonLat[n - 1];
          if (closed || parent === 'LinearRing') {
            polygons.push({ outer: collector.closedRing(lonLat, `line ending at line ${line}`, line), holes: [] });
            collector.note(`line ending at line ${line}: a closed line, taken as the outline of a polygon`);
          } else collector.leftOut('open line');
        } else if (parent === 'Point') collector.leftOut('point');
      } else if (element === 'Polygon') {
        if (outer === null) {
          throw new FormatError('kml', name, `${name} line ${line}: polygon ${polygonCount}: expected an outer boundary with coordinates, found none; draw it again or take it out`, {
            line,
            expected: 'an outer boundary',
            found: 'none',
          });
        }
        polygons.push({ outer, holes });
        outer = null;
      } else if (element === 'NetworkLink') {
        collector.note('a network link is not followed: save what it shows into the file');
      } else if (element === 'Track' || element === 'Model') {
        collector.leftOut(element === 'Track' ? 'track' : 'model');
      }
    },
  });
  if (!sawKml) throw new FormatError('not-kml', name, `${name}: not KML: expected <kml>, found no element; give a KML, GeoJSON or GPX file`, { expected: '<kml>' });
  return collector.finish('kml', polygons);
}

/** `lon,lat[,alt]` tuples with white space between them. */
function readCoordinates(text: string, name: string, line: number): number[] {
  const out: number[] = [];
  for (const tuple of text.trim().split(/\s+/)) {
    if (tuple === '') continue;
    const parts = tuple.split(',');
    const lonDeg = Number(parts[0]);
    const latDeg = parts[1] === undefined || parts[1] === '' ? NaN : Number(parts[1]);
    if (parts[0] === '' || parts.length > 3 || !Number.isFinite(lonDeg) || !Number.isFinite(latDeg)) {
      const found = tuple.length > 40 ? `${tuple.slice(0, 37)}...` : tuple;
      throw new FormatError('kml-coordinates', name, `${name} line ${line}: coordinates: expected longitude,latitude without spaces in them, found "${found}"; mend it there`, {
        line,
        expected: 'longitude,latitude',
        found,
      });
    }
    out.push(lonDeg, latDeg);
  }
  return out;
}
