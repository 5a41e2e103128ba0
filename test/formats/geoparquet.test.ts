import { existsSync, readFileSync } from 'node:fs';
import { Ajv } from 'ajv';
import { describe, expect, it } from 'vitest';
import { bytesSource, memorySink } from '../../src/base/byte-source.js';
import { openGeoParquetPointsWriter, readGeoParquetPoints, writeGeoParquetPoints } from '../../src/formats/geoparquet.js';
import { readParquet, readParquetLayout } from '../../src/formats/parquet-columns.js';
import { readParquetBytes } from '../../src/formats/parquet-read.js';

const SCHEMA = new URL('../../../shared/data/formats/geoparquet_1.1.0_schema.json', import.meta.url);
const EXAMPLE = new URL('../../../shared/data/formats/geoparquet_1.1.0_example.parquet', import.meta.url);

const lonDeg = Float64Array.of(-30.001, -30.002, NaN, -29.5);
const latDeg = Float64Array.of(46.01, 46.02, 46.03, 45.9);
const depthM = Float32Array.of(3.5, NaN, 4.25, 5);

async function written(lon = lonDeg, lat = latDeg, depth = depthM): Promise<Uint8Array> {
  const sink = memorySink();
  await writeGeoParquetPoints(sink, [{ name: 'depthM', data: depth }], lon, lat, { metadata: { note: 'not for navigation' } });
  return sink.bytes();
}

describe('writeGeoParquetPoints', () => {
  it('metadata: names WKB points on the default reference system, with the box of the points that have a place', async () => {
    const { metadata, rows, columns } = await readParquetLayout(bytesSource('points.parquet', await written()));
    expect(rows).toBe(4);
    expect(columns).toEqual([{ name: 'depthM', kind: 'float32' }, { name: 'geometry', kind: 'bytes' }]);
    expect(metadata.note).toBe('not for navigation');
    expect(JSON.parse(metadata.geo!)).toEqual({
      version: '1.1.0',
      primary_column: 'geometry',
      columns: { geometry: { encoding: 'WKB', geometry_types: ['Point'], bbox: [-30.002, 45.9, -29.5, 46.02] } },
    });
  });

  // OGC GeoParquet 1.1.0, schema.json of the standard.
  it.skipIf(!existsSync(SCHEMA))('metadata: valid against the schema of the standard', async () => {
    const ajv = new Ajv({ strict: false });
    ajv.addSchema({ $id: 'https://proj.org/schemas/v0.7/projjson.schema.json', type: 'object' });
    const validate = ajv.compile(JSON.parse(readFileSync(SCHEMA, 'utf8')) as object);
    for (const bytes of [await written(), await written(new Float64Array(0), new Float64Array(0), new Float32Array(0))]) {
      const { metadata } = await readParquetLayout(bytesSource('points.parquet', bytes));
      const geo = JSON.parse(metadata.geo!) as Record<string, unknown>;
      expect(validate(geo), JSON.stringify(validate.errors)).toBe(true);
      expect(validate({ ...geo, version: '9.9.9' })).toBe(false);
    }
  });

  // OGC 06-103r4 section 8.2: byte order 1, type 1, x, y. The bytes of POINT(1 2) as in the standard's layout.
  it('geometry: little-endian well-known binary, longitude first', async () => {
    const bytes = await written(Float64Array.of(1), Float64Array.of(2), Float32Array.of(0));
    const rows: (string | null)[] = [];
    await readParquetBytes(bytesSource('p', bytes), 'geometry', (_, wkb) => rows.push(wkb && Buffer.from(wkb).toString('hex')));
    expect(rows).toEqual(['0101000000000000000000f03f0000000000000040']);
  });

  it('geometry: an empty point where a row has no place', async () => {
    const { lonDeg: lon, latDeg: lat } = await readGeoParquetPoints(bytesSource('p', await written()));
    expect([...lon]).toEqual([-30.001, -30.002, NaN, -29.5]);
    expect([...lat]).toEqual([46.01, 46.02, NaN, 45.9]);
  });

  it('columns: read back beside the geometry', async () => {
    const columns = await readParquet(bytesSource('p', await written()));
    expect(columns).toEqual({ depthM });
  });

  it('positions: refused outside the globe and where lengths differ', async () => {
    await expect(written(Float64Array.of(181), Float64Array.of(0), Float32Array.of(0))).rejects.toThrow('lonDeg[0] 181: expected -180 to 180');
    await expect(written(Float64Array.of(0), Float64Array.of(-90.5), Float32Array.of(0))).rejects.toThrow('latDeg[0] -90.5: expected -90 to 90');
    await expect(written(Float64Array.of(0), Float64Array.of(Infinity), Float32Array.of(0))).rejects.toThrow(RangeError);
    await expect(written(Float64Array.of(0), Float64Array.of(0, 1), Float32Array.of(0))).rejects.toThrow('latDeg: expected 1 rows as in lonDeg, found 2');
    await expect(written(Float64Array.of(0), Float64Array.of(0), Float32Array.of(0, 1))).rejects.toThrow(RangeError);
  });

  it('columns: a second geometry column is refused', async () => {
    const sink = memorySink();
    await expect(writeGeoParquetPoints(sink, [{ name: 'geometry', data: depthM }], lonDeg, latDeg)).rejects.toThrow('names must be given and differ');
  });

  it('openGeoParquetPointsWriter: the bytes do not depend on how rows are cut into calls', async () => {
    const sink = memorySink();
    const writer = openGeoParquetPointsWriter(sink, [{ name: 'depthM', kind: 'float32' }], { metadata: { note: 'not for navigation' } });
    await writer.writeRows([depthM.slice(0, 1)], lonDeg.slice(0, 1), latDeg.slice(0, 1));
    await writer.writeRows([depthM.slice(1)], lonDeg.slice(1), latDeg.slice(1));
    expect(await writer.finish()).toBe(4);
    expect(sink.bytes()).toEqual(await written());
  });
});

describe('readGeoParquetPoints', () => {
  it('refuses a file without geo metadata', async () => {
    const { writeParquet } = await import('../../src/formats/parquet-columns.js');
    const sink = memorySink();
    await writeParquet(sink, [{ name: 'a', data: Float64Array.of(1) }]);
    await expect(readGeoParquetPoints(bytesSource('a.parquet', sink.bytes()))).rejects.toThrow("a.parquet: no 'geo' metadata: expected a GeoParquet file");
  });

  // The example file of the standard: five countries as (multi)polygons, made by another writer (OPTIONAL columns, snappy).
  it.skipIf(!existsSync(EXAMPLE))('the example of the standard: attributes are read, polygons refused', async () => {
    const source = bytesSource('example.parquet', new Uint8Array(readFileSync(EXAMPLE)));
    const layout = await readParquetLayout(source);
    expect(layout.rows).toBe(5);
    const columns = await readParquet(source, { columns: ['pop_est', 'name', 'iso_a3', 'gdp_md_est'] });
    expect(columns.name).toEqual(['Fiji', 'Tanzania', 'W. Sahara', 'Canada', 'United States of America']);
    expect(columns.iso_a3).toEqual(['FJI', 'TZA', 'ESH', 'CAN', 'USA']);
    expect([...(columns.pop_est as Float64Array)]).toEqual([889953, 58005463, 603253, 37589262, 328239523]);
    await expect(readGeoParquetPoints(source)).rejects.toThrow('expected a two-dimensional point');
    await expect(readParquet(source, { columns: ['geometry'] })).rejects.toThrow('neither numbers nor text');
    await expect(readParquet(source, { columns: ['depth'] })).rejects.toThrow('column depth is not in the file: found');
  });
});
