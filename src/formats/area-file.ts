import type { ByteSource } from '../base/byte-source.js';
import { FormatError } from '../base/errors.js';
import type { AreaFile } from './area-file-rings.js';
import { AREA_TEXT_LIMIT, readSmallText } from './area-file-text.js';
import { readGeoJsonArea } from './geojson-read.js';
import { readGpxArea } from './gpx-route-read.js';
import { readKmlArea } from './kml-read.js';

export type { AreaFile } from './area-file-rings.js';

/**
 * The polygons a file holds, GeoJSON, KML 2.2 or GPX 1.1, told apart by their content, not by the file's name.
 *
 * @returns polygons in longitude and latitude, not yet checked for crossings (`polygonsFromLonLat` does that), and notes
 * @throws FormatError where the file is not what its format asks, with the place; UnsupportedError for KMZ
 */
export async function readAreaFile(source: ByteSource, signal?: AbortSignal): Promise<AreaFile> {
  return readAreaText(await readSmallText(source, signal), source.name);
}

/** As `readAreaFile`, from text already decoded. */
export function readAreaText(text: string, name: string): AreaFile {
  if (text.length > AREA_TEXT_LIMIT) {
    throw new FormatError('too-long', name, `${name}: too long for an area: expected at most 16 MiB, found ${(text.length / 2 ** 20).toFixed(1)} MiB; simplify it or take out what is not the area`, {
      expected: 'at most 16 MiB',
    });
  }
  const body = text.startsWith('\uFEFF') ? text.slice(1) : text;
  const start = /\S/.exec(body);
  if (start === null) {
    throw new FormatError('empty', name, `${name}: empty: expected GeoJSON, KML or GPX, found nothing; save the area again`, { expected: 'GeoJSON, KML or GPX', found: 'nothing' });
  }
  const first = body[start.index];
  if (first === '{' || first === '[') return readGeoJsonArea(body, name);
  if (first === '<') {
    const root = rootElement(body, start.index);
    return root === 'gpx' ? readGpxArea(body.slice(start.index), name) : readKmlArea(body.slice(start.index), name);
  }
  const found = JSON.stringify(body.slice(start.index, start.index + 20));
  throw new FormatError('unknown-format', name, `${name}: not an area: expected GeoJSON, KML or GPX, found ${found}; save the area in one of those`, {
    expected: 'GeoJSON, KML or GPX',
    found,
  });
}

/** Name of the first element, without its prefix; empty where there is none before a declaration. */
function rootElement(text: string, from: number): string {
  let at = from;
  while (at < text.length) {
    if (text.startsWith('<!--', at)) at = after(text, '-->', at);
    else if (text.startsWith('<?', at)) at = after(text, '?>', at);
    else if (text[at] === '<') {
      const name = /[A-Za-z_][^\s/>]{0,200}/y;
      name.lastIndex = at + 1;
      return (name.exec(text)?.[0] ?? '').replace(/^.*:/, '');
    } else at++;
  }
  return '';
}

function after(text: string, mark: string, from: number): number {
  const at = text.indexOf(mark, from);
  return at < 0 ? text.length : at + mark.length;
}
