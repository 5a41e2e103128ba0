import type { SurveySummary } from '../../survey/summary.js';
import type { ProductKind } from '../../survey/product-kinds.js';
import { count, plural } from './figures.js';

/** What can be handed over beside the report: its name, and what it is good for. */
export const PRODUCT_WORDS: Readonly<Record<ProductKind, readonly [name: string, use: string]>> = {
  chart: ['Chart for paper', 'PDF at a true scale'],
  csv: ['Soundings, CSV', 'every one, those set aside with their reason'],
  geoparquet: ['Soundings, GeoParquet', 'the same with every column'],
  geotiff: ['Surface, GeoTIFF', 'depth, uncertainty, count'],
  s102: ['Surface, IHO S-102', 'depth and uncertainty by cell; HDF5'],
  geopackage: ['GeoPackage', 'soundings, contours, gaps, lines, finds in one file'],
  geojson: ['GeoJSON and GPX', 'contours, gaps, fill-in and planned lines'],
  dxf: ['Contours, DXF', 'for drawing programs'],
  xyz: ['Plain XYZ', 'good soundings and cells of the surface'],
  mosaic: ['Side-scan mosaic, GeoTIFF', 'levels against the usual return of the floor'],
  finds: ['Finds', 'GeoJSON, GPX, CSV and KML; those rejected left out'],
  png: ['Picture, PNG', 'hill-shaded, placed by a world file'],
};

/** Every kind, the most asked for first. */
export const PRODUCT_LIST = Object.keys(PRODUCT_WORDS) as readonly ProductKind[];

/** How the chart for paper lies, or why it is not there; empty where none is wanted. */
export function chartLine({ chart, settings }: Pick<SurveySummary, 'chart' | 'settings'>): string {
  if (!settings.products.write.includes('chart') || chart == null) return '';
  if (chart.refused !== '') return `No chart: ${chart.refused}.`;
  return chart.sheets === 0 ? '' : `Chart at 1:${count(chart.scale)} on ${chart.sheets === 1 ? `one sheet of ${chart.paper}` : `${plural(chart.sheets, 'sheet')} of ${chart.paper}`}.`;
}

/** A scale as typed, `1:1000`, `1 : 1 000` or `1000`; null where it is none. */
export function typedScale(text: string): number | null {
  const match = /^(?:1\s*[:/]\s*)?(\d[\d\s\u2009]*)$/.exec(text.trim());
  const scale = match === null ? NaN : Number(match[1]!.replace(/[\s\u2009]/g, ''));
  return scale >= 10 && scale <= 1_000_000 ? scale : null;
}
