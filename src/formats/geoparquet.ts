import type { ByteSink, ByteSource } from '../base/byte-source.js';
import { UnsupportedError } from '../base/errors.js';
import { kindOf, openParquetWriter, readParquetLayout } from './parquet-columns.js';
import type { Column, ColumnInput, ColumnSpec, FixedBytes, ParquetWriteOptions } from './parquet-columns.js';
import { readParquetBytes } from './parquet-read.js';

/** Byte order, geometry type, two doubles. */
const WKB_POINT_BYTES = 21;
const GEOMETRY = 'geometry';

/** Points being written to GeoParquet as they come. */
export interface GeoParquetPointsWriter {
  /** Adds rows: the columns of the schema, and each row's longitude and latitude [deg]; a row without a place has NaN. */
  writeRows(columns: readonly ColumnInput[], lonDeg: Float64Array, latDeg: Float64Array): Promise<void>;
  /** Gives the number of rows. */
  finish(): Promise<number>;
}

/**
 * Writes columns and a place for each row as GeoParquet 1.1.0: points in well-known binary in the column `geometry`,
 * longitude first, on WGS 84 (the standard's default, OGC:CRS84, so no crs is stated).
 *
 * A row whose longitude or latitude is NaN becomes an empty point (both ordinates NaN, as the standard asks) and
 * takes no part in the box. The same input gives the same bytes.
 *
 * @param lonDeg,latDeg WGS 84 [deg], shape [n]
 * @throws RangeError for unequal lengths, a column named `geometry`, or a position outside -180..180, -90..90
 * Source: OGC GeoParquet 1.1.0, OGC 24-013.
 */
export async function writeGeoParquetPoints(
  sink: ByteSink,
  columns: readonly Column[],
  lonDeg: Float64Array,
  latDeg: Float64Array,
  options: ParquetWriteOptions = {},
): Promise<void> {
  const writer = openGeoParquetPointsWriter(sink, columns.map(({ name, data }) => kindOf(name, data)), options);
  await writer.writeRows(columns.map(({ data }) => data), lonDeg, latDeg);
  await writer.finish();
}

/** As `writeGeoParquetPoints`, for rows that come piece by piece. */
export function openGeoParquetPointsWriter(sink: ByteSink, schema: readonly ColumnSpec[], options: ParquetWriteOptions = {}): GeoParquetPointsWriter {
  const writer = openParquetWriter(sink, [...schema, { name: GEOMETRY, kind: 'bytes', width: WKB_POINT_BYTES }], options);
  const box = { west: Infinity, south: Infinity, east: -Infinity, north: -Infinity };
  return {
    async writeRows(columns, lonDeg, latDeg) {
      if (lonDeg.length !== latDeg.length) throw new RangeError(`latDeg: expected ${lonDeg.length} rows as in lonDeg, found ${latDeg.length}`);
      const points = wkbPoints(lonDeg, latDeg);
      for (let i = 0; i < lonDeg.length; i++) {
        const lon = lonDeg[i]!;
        const lat = latDeg[i]!;
        if (Number.isNaN(lon) || Number.isNaN(lat)) continue;
        if (lon < box.west) box.west = lon;
        if (lon > box.east) box.east = lon;
        if (lat < box.south) box.south = lat;
        if (lat > box.north) box.north = lat;
      }
      await writer.writeRows([...columns, points]);
    },
    finish: () => writer.finish({ geo: JSON.stringify(geoMetadata(box)) }),
  };
}

/** The `geo` value of the footer; the box is left out where there is no point. */
function geoMetadata(box: { readonly west: number; readonly south: number; readonly east: number; readonly north: number }): unknown {
  const bbox = box.west <= box.east ? { bbox: [box.west, box.south, box.east, box.north] } : {};
  return {
    version: '1.1.0',
    primary_column: GEOMETRY,
    columns: { [GEOMETRY]: { encoding: 'WKB', geometry_types: ['Point'], ...bbox } },
  };
}

/** Little-endian WKB points. OGC 06-103r4, section 8.2. */
function wkbPoints(lonDeg: Float64Array, latDeg: Float64Array): FixedBytes {
  const bytes = new Uint8Array(lonDeg.length * WKB_POINT_BYTES);
  const view = new DataView(bytes.buffer);
  for (let i = 0, at = 0; i < lonDeg.length; i++, at += WKB_POINT_BYTES) {
    let lon = lonDeg[i]!;
    let lat = latDeg[i]!;
    if (lon < -180 || lon > 180 || Math.abs(lon) === Infinity) throw new RangeError(`lonDeg[${i}] ${lon}: expected -180 to 180`);
    if (lat < -90 || lat > 90) throw new RangeError(`latDeg[${i}] ${lat}: expected -90 to 90`);
    if (Number.isNaN(lon) || Number.isNaN(lat)) lon = lat = NaN;
    bytes[at] = 1;
    bytes[at + 1] = 1;
    view.setFloat64(at + 5, lon, true);
    view.setFloat64(at + 13, lat, true);
  }
  return { bytes, width: WKB_POINT_BYTES };
}

/**
 * Reads the points of a GeoParquet file's primary column.
 *
 * @returns longitude and latitude [deg] by row; NaN for an empty or missing point
 * @throws UnsupportedError for a file without `geo` metadata, another coordinate reference system, or other geometry than points
 */
export async function readGeoParquetPoints(source: ByteSource, signal?: AbortSignal): Promise<{ lonDeg: Float64Array; latDeg: Float64Array }> {
  const layout = await readParquetLayout(source, signal);
  const column = primaryColumn(source.name, layout.metadata.geo);
  const lonDeg = new Float64Array(layout.rows).fill(NaN);
  const latDeg = new Float64Array(layout.rows).fill(NaN);
  await readParquetBytes(
    source,
    column,
    (row, bytes) => {
      if (!bytes) return;
      const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
      const little = bytes[0] === 1;
      if (bytes.byteLength !== WKB_POINT_BYTES || view.getUint32(1, little) !== 1) {
        throw new UnsupportedError(`${source.name} row ${row}: expected a two-dimensional point; other geometries are not read here`);
      }
      lonDeg[row] = view.getFloat64(5, little);
      latDeg[row] = view.getFloat64(13, little);
    },
    signal,
  );
  return { lonDeg, latDeg };
}

function primaryColumn(path: string, geo: string | undefined): string {
  if (geo === undefined) throw new UnsupportedError(`${path}: no 'geo' metadata: expected a GeoParquet file`);
  let parsed: unknown;
  try {
    parsed = JSON.parse(geo);
  } catch {
    throw new UnsupportedError(`${path}: its 'geo' metadata is not JSON: expected a GeoParquet file`);
  }
  const { primary_column: name, columns } = parsed as { primary_column?: unknown; columns?: Record<string, { encoding?: unknown; crs?: unknown }> };
  const column = typeof name === 'string' ? columns?.[name] : undefined;
  if (typeof name !== 'string' || !column) throw new UnsupportedError(`${path}: its 'geo' metadata names no primary column`);
  if (column.encoding !== 'WKB') throw new UnsupportedError(`${path}: geometry encoded as ${String(column.encoding)}: expected WKB`);
  if (column.crs !== undefined && !isLonLat(column.crs)) throw new UnsupportedError(`${path}: expected longitude and latitude on WGS 84 (OGC:CRS84)`);
  return name;
}

function isLonLat(crs: unknown): boolean {
  const id = (crs as { id?: { authority?: unknown; code?: unknown } } | null)?.id;
  return (id?.authority === 'OGC' && id.code === 'CRS84') || (id?.authority === 'EPSG' && id.code === 4326);
}
