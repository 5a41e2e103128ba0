import type { Polygon, Polyline, Ring } from '../geo/shapes.js';

/** `GP`, version 0. */
const MAGIC = [0x47, 0x50, 0];
const LITTLE_ENDIAN = 1;
const ENVELOPE_XY = 2;
const [WKB_LINE, WKB_POLYGON] = [2, 3];

/** West, east, south, north of what has been written [m]. */
export interface Extent {
  minX: number;
  maxX: number;
  minY: number;
  maxY: number;
}

export function emptyExtent(): Extent {
  return { minX: Infinity, maxX: -Infinity, minY: Infinity, maxY: -Infinity };
}

/** A point: a point is its own envelope, so its header carries none (GeoPackage 1.3, clause 2.1.3). */
export function pointBlob(xM: number, yM: number, srs: number): Uint8Array {
  const bytes = new Uint8Array(29);
  const view = new DataView(bytes.buffer);
  bytes.set(MAGIC);
  bytes[3] = LITTLE_ENDIAN;
  view.setInt32(4, srs, true);
  bytes[8] = 1;
  view.setUint32(9, 1, true);
  view.setFloat64(13, xM, true);
  view.setFloat64(21, yM, true);
  return bytes;
}

/** A line, with its envelope. */
export function lineBlob(line: Polyline, srs: number): { readonly blob: Uint8Array; readonly extent: Extent } {
  const { bytes, view, extent, at } = begin(9 + line.length * 8, line, srs, WKB_LINE);
  view.setUint32(at, line.length / 2, true);
  points(view, at + 4, line);
  return { blob: bytes, extent };
}

/** A polygon, rings closed, with its envelope. */
export function polygonBlob({ outer, holes }: Polygon, srs: number): { readonly blob: Uint8Array; readonly extent: Extent } {
  const rings = [outer, ...holes].map(closed);
  const { bytes, view, extent, at } = begin(9 + rings.reduce((sum, ring) => sum + 4 + ring.length * 8, 0), outer, srs, WKB_POLYGON);
  view.setUint32(at, rings.length, true);
  let to = at + 4;
  for (const ring of rings) {
    view.setUint32(to, ring.length / 2, true);
    to = points(view, to + 4, ring);
  }
  return { blob: bytes, extent };
}

function closed(ring: Ring): Float64Array {
  const out = new Float64Array(ring.length + 2);
  out.set(ring);
  out[ring.length] = ring[0] ?? NaN;
  out[ring.length + 1] = ring[1] ?? NaN;
  return out;
}

/** Header with envelope, byte order and type; gives where the body starts. */
function begin(bodyBytes: number, vertices: Float64Array, srs: number, type: number): { bytes: Uint8Array; view: DataView; extent: Extent; at: number } {
  const bytes = new Uint8Array(40 + bodyBytes);
  const view = new DataView(bytes.buffer);
  const extent = emptyExtent();
  for (let i = 0; i + 1 < vertices.length; i += 2) widen(extent, vertices[i] as number, vertices[i + 1] as number);
  bytes.set(MAGIC);
  bytes[3] = LITTLE_ENDIAN | ENVELOPE_XY;
  view.setInt32(4, srs, true);
  [extent.minX, extent.maxX, extent.minY, extent.maxY].forEach((value, i) => view.setFloat64(8 + 8 * i, value, true));
  bytes[40] = 1;
  view.setUint32(41, type, true);
  return { bytes, view, extent, at: 45 };
}

function points(view: DataView, at: number, vertices: Float64Array): number {
  for (let i = 0; i < vertices.length; i++) view.setFloat64(at + 8 * i, vertices[i] as number, true);
  return at + 8 * vertices.length;
}

export function widen(extent: Extent, xM: number, yM: number): void {
  if (xM < extent.minX) extent.minX = xM;
  if (xM > extent.maxX) extent.maxX = xM;
  if (yM < extent.minY) extent.minY = yM;
  if (yM > extent.maxY) extent.maxY = yM;
}
