import type { RasterGrid } from '../geo/raster.js';
import { SAMPLES } from './geotiff-tile.js';
import type { SampleType } from './geotiff-tile.js';

/** An image of the file and where its tiles lie. */
export interface TiffImage {
  readonly cols: number;
  readonly rows: number;
  /** Bytes of each tile, row-major. */
  readonly tileBytes: readonly number[];
}

export interface TiffDescription {
  /** Full image first, then overviews from large to small. */
  readonly images: readonly TiffImage[];
  readonly side: number;
  readonly type: SampleType;
  readonly bands: readonly { readonly name: string; readonly unit?: string }[];
  readonly grid: RasterGrid;
  readonly epsg: number;
  readonly noData: number | null;
  /** TIFF ImageDescription. */
  readonly description: string;
  /** Further facts about the file, by name. */
  readonly metadata: Readonly<Record<string, string>>;
}

/** The file's start, up to the first tile, and its length. */
export interface TiffHeader {
  readonly bytes: Uint8Array;
  readonly big: boolean;
  readonly fileBytes: number;
}

/** TIFF field types. */
const ASCII = 2;
const SHORT = 3;
const LONG = 4;
const DOUBLE = 12;
const LONG8 = 16;
const TYPE_BYTES: Readonly<Record<number, number>> = { [ASCII]: 1, [SHORT]: 2, [LONG]: 4, [DOUBLE]: 8, [LONG8]: 8 };

interface Entry {
  readonly tag: number;
  readonly type: number;
  readonly values: readonly number[] | Uint8Array;
}

/** Bytes around each tile: its length before, its last four bytes again after. */
export const TILE_LEADER = 4;
export const TILE_TRAILER = 4;

/** Classic TIFF has 32-bit offsets. */
const CLASSIC_BYTES_MAX = 2 ** 32 - 1;

/**
 * The header of a cloud-optimised GeoTIFF: every directory before any pixel, a note of that layout for readers that
 * know it, then the tiles of the smallest overview first and those of the full image last.
 *
 * @param big BigTIFF or not; when left out, BigTIFF where the file would pass 4 GiB
 * Source: TIFF 6.0; OGC GeoTIFF 1.1 (19-008r4); OGC Cloud Optimized GeoTIFF 1.0 (21-026); the layout note as GDAL's
 * COG driver documents it ("Header ghost area"); BigTIFF as libtiff documents it.
 */
export function tiffHeader(file: TiffDescription, big?: boolean): TiffHeader {
  if (big !== undefined) return layOut(file, big);
  const classic = layOut(file, false);
  return classic.fileBytes <= CLASSIC_BYTES_MAX ? classic : layOut(file, true);
}

function layOut(file: TiffDescription, big: boolean): TiffHeader {
  const ghost = ghostArea();
  const start = (big ? 16 : 8) + ghost.byteLength;
  const count = file.images.length;
  // The length of the directories does not depend on the offsets in them, so lay them out twice: once to learn it.
  const lengths = file.images.map((image, i) => directory(file, i, image.tileBytes.map(() => 0), 0, 0, big).byteLength);
  const places: number[] = [];
  let at = start;
  for (const length of lengths) {
    places.push(at);
    at += length;
  }
  const headerBytes = at;
  const offsets: number[][] = new Array<number[]>(count);
  for (let i = count - 1; i >= 0; i--) {
    offsets[i] = file.images[i]!.tileBytes.map((bytes) => {
      const offset = at + TILE_LEADER;
      at += TILE_LEADER + bytes + TILE_TRAILER;
      return offset;
    });
  }
  if (!big && at > CLASSIC_BYTES_MAX) return { bytes: new Uint8Array(0), big, fileBytes: at };
  const out = new Uint8Array(headerBytes);
  const view = new DataView(out.buffer);
  out.set([0x49, 0x49]);
  if (big) {
    view.setUint16(2, 43, true);
    view.setUint16(4, 8, true);
    view.setBigUint64(8, BigInt(start), true);
  } else {
    view.setUint16(2, 42, true);
    view.setUint32(4, start, true);
  }
  out.set(ghost, big ? 16 : 8);
  for (let i = 0; i < count; i++) {
    out.set(directory(file, i, offsets[i]!, places[i]!, places[i + 1] ?? 0, big), places[i]!);
  }
  return { bytes: out, big, fileBytes: at };
}

/** The note of the layout, padded to an even length; the blank at its end leaves room to take the promise back. */
function ghostArea(): Uint8Array {
  const promises =
    'LAYOUT=IFDS_BEFORE_DATA\n' +
    'BLOCK_ORDER=ROW_MAJOR\n' +
    'BLOCK_LEADER=SIZE_AS_UINT4\n' +
    'BLOCK_TRAILER=LAST_4_BYTES_REPEATED\n' +
    'KNOWN_INCOMPATIBLE_EDITION=NO\n ';
  const text = new TextEncoder().encode(`GDAL_STRUCTURAL_METADATA_SIZE=${String(promises.length).padStart(6, '0')} bytes\n${promises}`);
  const even = new Uint8Array(text.byteLength + (text.byteLength % 2));
  even.set(text);
  return even;
}

/** A directory with its values behind it, of even length. */
function directory(file: TiffDescription, index: number, offsets: readonly number[], place: number, next: number, big: boolean): Uint8Array {
  const entries = entriesOf(file, index, offsets, big);
  const entryBytes = big ? 20 : 12;
  const inlineBytes = big ? 8 : 4;
  const head = big ? 8 : 2;
  const bodyStart = head + entries.length * entryBytes + (big ? 8 : 4);
  let length = bodyStart + (bodyStart % 2);
  const spots = entries.map(({ type, values }) => {
    const bytes = values.length * TYPE_BYTES[type]!;
    if (bytes <= inlineBytes) return -1;
    const spot = length;
    length += bytes + (bytes % 2);
    return spot;
  });
  const out = new Uint8Array(length);
  const view = new DataView(out.buffer);
  if (big) view.setBigUint64(0, BigInt(entries.length), true);
  else view.setUint16(0, entries.length, true);
  entries.forEach(({ tag, type, values }, i) => {
    const at = head + i * entryBytes;
    view.setUint16(at, tag, true);
    view.setUint16(at + 2, type, true);
    if (big) view.setBigUint64(at + 4, BigInt(values.length), true);
    else view.setUint32(at + 4, values.length, true);
    const field = at + entryBytes - inlineBytes;
    const spot = spots[i]!;
    if (spot < 0) return putValues(view, field, type, values);
    if (big) view.setBigUint64(field, BigInt(place + spot), true);
    else view.setUint32(field, place + spot, true);
    putValues(view, spot, type, values);
  });
  const nextAt = head + entries.length * entryBytes;
  if (big) view.setBigUint64(nextAt, BigInt(next), true);
  else view.setUint32(nextAt, next, true);
  return out;
}

function putValues(view: DataView, start: number, type: number, values: readonly number[] | Uint8Array): void {
  for (let i = 0, at = start; i < values.length; i++, at += TYPE_BYTES[type]!) {
    const value = values[i]!;
    if (type === ASCII) view.setUint8(at, value);
    else if (type === SHORT) view.setUint16(at, value, true);
    else if (type === LONG) view.setUint32(at, value, true);
    else if (type === DOUBLE) view.setFloat64(at, value, true);
    else view.setBigUint64(at, BigInt(value), true);
  }
}

/** The tags of one image, in ascending order as TIFF asks. Overviews carry no place of their own: it is that of the full image. */
function entriesOf(file: TiffDescription, index: number, offsets: readonly number[], big: boolean): Entry[] {
  const { cols, rows, tileBytes } = file.images[index]!;
  const full = index === 0;
  const samples = file.bands.length;
  const { bytes, format, predictor } = SAMPLES[file.type];
  const entries: Entry[] = [];
  const add = (tag: number, type: number, values: readonly number[] | Uint8Array): number => entries.push({ tag, type, values });
  if (!full) add(254, LONG, [1]); // NewSubfileType: a smaller version of another image
  add(256, LONG, [cols]);
  add(257, LONG, [rows]);
  add(258, SHORT, new Array<number>(samples).fill(bytes * 8));
  add(259, SHORT, [8]); // Compression: deflate
  add(262, SHORT, [1]); // PhotometricInterpretation: black is zero
  if (full && file.description !== '') add(270, ASCII, text(file.description));
  add(277, SHORT, [samples]);
  add(284, SHORT, [1]); // PlanarConfiguration: pixel by pixel
  add(317, SHORT, [predictor]);
  add(322, SHORT, [file.side]);
  add(323, SHORT, [file.side]);
  add(324, big ? LONG8 : LONG, offsets);
  add(325, LONG, tileBytes);
  if (samples > 1) add(338, SHORT, new Array<number>(samples - 1).fill(0)); // ExtraSamples: no colour, no opacity
  add(339, SHORT, new Array<number>(samples).fill(format));
  if (full) {
    const { cellM, westM, northM } = file.grid;
    add(33550, DOUBLE, [cellM, cellM, 0]);
    add(33922, DOUBLE, [0, 0, 0, westM, northM, 0]);
    const { keys, ascii } = geoKeys(file.epsg);
    add(34735, SHORT, keys);
    add(34737, ASCII, text(ascii));
    const xml = metadataXml(file);
    if (xml !== '') add(42112, ASCII, text(xml));
  }
  if (file.noData !== null) add(42113, ASCII, text(Number.isNaN(file.noData) ? 'nan' : String(file.noData)));
  return entries;
}

/**
 * GeoTIFF keys of a UTM zone on WGS 84: projected, a cell's value holds for its area, metres.
 * Source: OGC GeoTIFF 1.1, requirements classes GeoKeyDirectoryTag, ProjectedCRSGeoKey; EPSG 326zz, 327zz.
 */
function geoKeys(epsg: number): { keys: number[]; ascii: string } {
  const zone = epsg % 100;
  const citation = `WGS 84 / UTM zone ${zone}${epsg < 32700 ? 'N' : 'S'}|`;
  const datum = 'WGS 84|';
  const keys = [
    [1024, 0, 1, 1], // GTModelType: projected
    [1025, 0, 1, 1], // GTRasterType: pixel is area
    [1026, 34737, citation.length, 0],
    [2049, 34737, datum.length, citation.length],
    [2054, 0, 1, 9102], // degrees
    [3072, 0, 1, epsg],
    [3076, 0, 1, 9001], // metres
  ];
  return { keys: [1, 1, 0, keys.length, ...keys.flat()], ascii: citation + datum };
}

/**
 * Names and units of the bands as GDAL's metadata tag (42112) holds them. GDAL escapes a value, then writes it as XML,
 * which escapes it again; and takes both off when it reads.
 */
function metadataXml({ bands, metadata }: TiffDescription): string {
  const item = (attributes: string, value: string): string => `  <Item ${attributes}>${escapeXml(escapeXml(value))}</Item>\n`;
  const items = Object.entries(metadata).map(([name, value]) => item(`name="${escapeXml(name)}"`, value));
  bands.forEach(({ name, unit }, sample) => {
    if (name) items.push(item(`name="DESCRIPTION" sample="${sample}" role="description"`, name));
    if (unit) items.push(item(`name="UNITTYPE" sample="${sample}" role="unittype"`, unit));
  });
  return items.length === 0 ? '' : `<GDALMetadata>\n${items.join('')}</GDALMetadata>\n`;
}

function escapeXml(value: string): string {
  return value.replace(/&/g, '&amp;').replace(/</g, '&lt;').replace(/>/g, '&gt;').replace(/"/g, '&quot;');
}

/** Text with the zero at its end that TIFF asks for; UTF-8 beyond its 7 bits. */
function text(value: string): Uint8Array {
  return new TextEncoder().encode(`${value}\0`);
}
