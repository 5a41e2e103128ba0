import type { Feature, FeatureCollection, LineString } from 'geojson';
import type { Frame } from '../../geo/frame.js';

export interface NamedLine {
  /** [x0, y0, x1, y1, ...] in the survey frame, in the direction it is run [m]. */
  readonly vertices: Float64Array;
  readonly name: string;
  readonly order: number;
  readonly properties: Readonly<Record<string, unknown>>;
}

function positions(line: Float64Array, frame: Frame): [number, number][] {
  const out: [number, number][] = [];
  for (let i = 0; i + 1 < line.length; i += 2) {
    const [latDeg, lonDeg] = frame.toGeographic(line[i] as number, line[i + 1] as number);
    out.push([Number(lonDeg.toFixed(8)), Number(latDeg.toFixed(8))]);
  }
  return out;
}

/** Lines as GeoJSON in WGS 84, in run order. */
export function linesGeoJson(lines: readonly NamedLine[], frame: Frame): FeatureCollection<LineString> {
  return {
    type: 'FeatureCollection',
    features: inOrder(lines).map((line): Feature<LineString> => ({ type: 'Feature', properties: { ...line.properties, name: line.name }, geometry: { type: 'LineString', coordinates: positions(line.vertices, frame) } })),
  };
}

/** Lines as GPX 1.1: one route a line, in run order, so that any plotter or autopilot's software can read them. */
export function linesGpx(lines: readonly NamedLine[], frame: Frame, name: string): string {
  const routes = inOrder(lines).map((line) => {
    const points = positions(line.vertices, frame)
      .map(([lonDeg, latDeg], k, all) => `    <rtept lat="${latDeg.toFixed(8)}" lon="${lonDeg.toFixed(8)}"><name>${escapeXml(line.name)} ${k === 0 ? 'start' : k === all.length - 1 ? 'end' : k + 1}</name></rtept>\n`)
      .join('');
    return `  <rte>\n    <name>${escapeXml(line.name)}</name>\n${points}  </rte>\n`;
  });
  return `<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="Tallow" xmlns="http://www.topografix.com/GPX/1/1">\n  <metadata><name>${escapeXml(name)}</name></metadata>\n${routes.join('')}</gpx>\n`;
}

function inOrder(lines: readonly NamedLine[]): NamedLine[] {
  return [...lines].sort((a, b) => a.order - b.order);
}

function escapeXml(text: string): string {
  return text.replace(/&/g, '&amp;').replace(/</g, '&lt;').replace(/>/g, '&gt;').replace(/"/g, '&quot;');
}
