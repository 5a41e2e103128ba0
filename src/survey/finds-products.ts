import type { Frame } from '../geo/frame.js';
import { ellipseOf, SIGMA_TO_95_2D } from '../finds/place.js';
import { writeGeoJson } from '../formats/geojson-write.js';
import { writeGpx } from '../formats/gpx-route-write.js';
import { writeKml } from '../formats/kml-write.js';
import { findFeatures, findName, type FindsFile } from './finds-file.js';

/** Said in every file of finds. */
const CAUTION = 'Not for navigation. Lifting or disturbing anything is for licensed people under local rules; wrecks and habitat may be protected.';

/** A field of a CSV row; one that a spreadsheet would take for a formula is led by an apostrophe. */
function field(value: string | number | boolean | null): string {
  if (typeof value === 'number') return Number.isFinite(value) ? String(value) : '';
  const text = String(value ?? '');
  const safe = /^[=+\-@\t\r]/.test(text) ? `'${text}` : text;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/**
 * Finds as they are handed over, those rejected by hand left out: GeoJSON, GPX waypoints, CSV with a header, KML. Uncertainties
 * are 95 %. The same finds give the same bytes.
 */
export function findProducts(file: FindsFile, frame: Frame, name: string): Readonly<Record<string, string>> {
  const kept = { ...file, finds: file.finds.filter(({ state }) => state !== 'rejected') };
  const features = findFeatures(kept, frame);
  const header = ['latDeg', 'lonDeg', ...Object.keys(features[0]?.properties ?? { number: 0, name: '' })];
  const rows = features.map(({ shape, properties }) => [...(shape.kind === 'point' ? [shape.latDeg.toFixed(8), shape.lonDeg.toFixed(8)] : ['', '']), ...Object.values(properties).map(field)].join(','));
  return {
    'finds.geojson': writeGeoJson(features, { members: { name: `${name}: finds`, caution: CAUTION } }),
    'finds.gpx': writeGpx({
      name: `${name} finds`,
      description: CAUTION,
      waypoints: kept.finds.map((find) => ({ latDeg: find.latDeg, lonDeg: find.lonDeg, name: `${findName(find)} (${find.state}, ± ${(SIGMA_TO_95_2D * ellipseOf(find.place).majorM).toFixed(1)} m)` })),
    }),
    'finds.csv': `${[header.join(','), ...rows].join('\r\n')}\r\n`,
    'finds.kml': writeKml(`${name}: finds. ${CAUTION}`, [{ name: 'Finds', nameProperty: 'name', features }]),
  };
}
