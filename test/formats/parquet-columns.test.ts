import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { parquetReadObjects } from 'hyparquet';
import { describe, expect, it } from 'vitest';
import { bytesSource, memorySink } from '../../src/base/byte-source.js';
import { FormatError } from '../../src/base/errors.js';
import { openParquetWriter, readParquet, readParquetLayout, writeParquet } from '../../src/formats/parquet-columns.js';
import type { Column, ColumnData } from '../../src/formats/parquet-columns.js';

async function written(columns: readonly Column[], rowGroupRows?: number): Promise<Uint8Array> {
  const sink = memorySink();
  await writeParquet(sink, columns, rowGroupRows === undefined ? {} : { rowGroupRows });
  return sink.bytes();
}

const read = (bytes: Uint8Array) => readParquet(bytesSource('table.parquet', bytes));

/** Every kind of column with the values where it could go wrong. */
const EVERY: readonly Column[] = [
  { name: 'float64', data: Float64Array.of(NaN, -0, 0, Infinity, -Infinity, Number.MIN_VALUE, Number.MAX_VALUE, 0.1) },
  { name: 'float32', data: Float32Array.of(NaN, -0, 0, Infinity, -Infinity, 1.401298464324817e-45, 3.4028234663852886e38, 0.1) },
  { name: 'int32', data: Int32Array.of(0, -1, 1, 2 ** 31 - 1, -(2 ** 31), 7, 8, 9) },
  { name: 'uint32', data: Uint32Array.of(0, 1, 2 ** 31, 2 ** 32 - 1, 4, 5, 6, 7) },
  { name: 'uint16', data: Uint16Array.of(0, 1, 2 ** 15, 2 ** 16 - 1, 4, 5, 6, 7) },
  { name: 'uint8', data: Uint8Array.of(0, 1, 127, 128, 255, 5, 6, 7) },
  { name: 'int64', data: BigInt64Array.of(0n, -1n, 2n ** 63n - 1n, -(2n ** 63n), 4n, 5n, 6n, 7n) },
  { name: 'text', data: ['', 'a', 'Hollin Sound', '42° 30′ N', '\u{1F30A}', 'line\nbreak', '"', '\0'] },
];

function bitsOf(data: ColumnData): unknown {
  return ArrayBuffer.isView(data) ? [data.constructor.name, Buffer.from(data.buffer, data.byteOffset, data.byteLength).toString('hex')] : data;
}

function take(data: Column['data'], start: number, end: number): ColumnData {
  return (data as Float64Array).slice(start, end);
}

describe('writeParquet and readParquet', () => {
  it('round trip: every kind keeps its bits and its kind, at 0 to 8 rows and row groups of 1 to 9', async () => {
    for (let rows = 0; rows <= 8; rows++) {
      for (const groupRows of [1, 2, 3, 8, 9]) {
        const columns = EVERY.map(({ name, data }) => ({ name, data: take(data, 0, rows) }));
        const result = await read(await written(columns, groupRows));
        expect(Object.keys(result)).toEqual(EVERY.map(({ name }) => name));
        for (const { name, data } of columns) expect([rows, groupRows, name, bitsOf(result[name]!)]).toEqual([rows, groupRows, name, bitsOf(data)]);
      }
    }
  });

  it('round trip: the payload of a NaN is kept', async () => {
    const bits = BigUint64Array.of(0x7ff8000000000001n, 0xfff8dead0000beefn, 0x7ff0000000000001n);
    const { x } = await read(await written([{ name: 'x', data: new Float64Array(bits.buffer) }]));
    expect(new BigUint64Array((x as Float64Array).buffer)).toEqual(bits);
  });

  it('round trip: any doubles in row groups of any size (property)', async () => {
    await fc.assert(
      fc.asyncProperty(fc.float64Array({ maxLength: 200 }), fc.integer({ min: 1, max: 210 }), async (data, groupRows) => {
        const { x } = await read(await written([{ name: 'x', data }], groupRows));
        expect(bitsOf(x!)).toEqual(bitsOf(data));
      }),
      { seed: 20261125, numRuns: 100 },
    );
  });

  it('bytes: the same for the same columns, and for a view at an odd place in a larger buffer', async () => {
    const all = Float64Array.from({ length: 50 }, (_, i) => Math.sin(i));
    const one = await written([{ name: 'x', data: all.slice(7, 40) }]);
    expect(await written([{ name: 'x', data: all.slice(7, 40) }])).toEqual(one);
    expect(await written([{ name: 'x', data: all.subarray(7, 40) }])).toEqual(one);
  });

  it('openParquetWriter: the bytes do not depend on how rows are cut into calls (property)', async () => {
    const rows = 60;
    const columns: Column[] = [
      { name: 'x', data: Float64Array.from({ length: rows }, (_, i) => i / 3) },
      { name: 'n', data: Uint8Array.from({ length: rows }, (_, i) => i % 5) },
      { name: 'l', data: BigInt64Array.from({ length: rows }, (_, i) => BigInt(i)) },
      { name: 't', data: Array.from({ length: rows }, (_, i) => `line ${i}`) },
      { name: 'b', data: { bytes: Uint8Array.from({ length: rows * 3 }, (_, i) => i), width: 3 } },
    ];
    await fc.assert(
      fc.asyncProperty(fc.array(fc.integer({ min: 0, max: rows }), { maxLength: 12 }), fc.integer({ min: 1, max: 70 }), async (cuts, rowGroupRows) => {
        const sink = memorySink();
        const schema = columns.map(({ name }, i) => ({ name, kind: (['float64', 'uint8', 'int64', 'text', 'bytes'] as const)[i]!, ...(i === 4 ? { width: 3 } : {}) }));
        const writer = openParquetWriter(sink, schema, { rowGroupRows });
        const edges = [0, ...cuts.sort((a, b) => a - b), rows];
        for (let k = 1; k < edges.length; k++) {
          const start = edges[k - 1]!;
          const end = edges[k]!;
          const piece = columns.map(({ data }, i) => (i === 4 ? { bytes: Uint8Array.from({ length: (end - start) * 3 }, (_, j) => start * 3 + j), width: 3 } : take(data, start, end)));
          await writer.writeRows(piece);
          for (const each of piece) if (each instanceof Float64Array) each.fill(-1); // the caller may use its arrays again
        }
        expect(await writer.finish()).toBe(rows);
        expect(sink.bytes()).toEqual(await written(columns, rowGroupRows));
      }),
      { seed: 20261125, numRuns: 60 },
    );
  });

  it('openParquetWriter: holds one row group, whatever comes through', async () => {
    let largest = 0;
    let total = 0;
    const sink = { write: (bytes: Uint8Array) => { largest = Math.max(largest, bytes.byteLength); total += bytes.byteLength; return Promise.resolve(); } };
    const writer = openParquetWriter(sink, [{ name: 'x', kind: 'float64' }], { rowGroupRows: 1000 });
    const piece = Float64Array.from({ length: 333 }, (_, i) => Math.sin(i * 1.7));
    for (let k = 0; k < 300; k++) {
      await writer.writeRows([piece]);
      expect(total).toBeGreaterThanOrEqual(Math.floor(((k + 1) * 333) / 1000) * 1000);
    }
    await writer.finish();
    expect(largest).toBeLessThan(60_000);
  });

  // hyparquet's own row reader does not share our page walk or our joining of chunks.
  it('another reader: hyparquet gives the same rows', async () => {
    const bytes = await written(EVERY.filter(({ name }) => name !== 'text'), 3);
    const file = bytes.slice().buffer;
    const rows = await parquetReadObjects({ file });
    expect(rows).toHaveLength(8);
    rows.forEach((row, i) => {
      for (const { name, data } of EVERY) if (name !== 'text') expect([name, i, row[name] as unknown]).toEqual([name, i, (data as Float64Array)[i]]);
    });
  });

  it('statistics: NaN takes no part, zero bounds carry the sign that misses nothing', async () => {
    const { parquetMetadata } = await import('hyparquet');
    const stats = async (data: ColumnData) => parquetMetadata(await written([{ name: 'x', data }])).row_groups[0]!.columns[0]!.meta_data!.statistics!;
    expect(await stats(Float64Array.of(3, NaN, -2))).toMatchObject({ min_value: -2, max_value: 3, null_count: 0n });
    expect((await stats(Float64Array.of(0, 5))).min_value).toBe(-0);
    expect((await stats(Float64Array.of(-0, -5))).max_value).toBe(0);
    expect((await stats(Float64Array.of(NaN, NaN))).min_value).toBeUndefined();
    expect(await stats(Float64Array.of(Infinity))).toMatchObject({ min_value: Infinity, max_value: Infinity });
    expect(await stats(Float64Array.of(-Infinity, NaN))).toMatchObject({ min_value: -Infinity, max_value: -Infinity });
    expect(await stats(Uint8Array.of(3, 200))).toMatchObject({ min_value: 3, max_value: 200 });
    expect(await stats(BigInt64Array.of(-5n, 7n))).toMatchObject({ min_value: -5n, max_value: 7n });
  });

  it('metadata: kept in order, and a chosen set of columns is read', async () => {
    const sink = memorySink();
    await writeParquet(sink, EVERY, { metadata: { made: 'by a test', 'ключ': 'значение' } });
    const source = bytesSource('t', sink.bytes());
    const layout = await readParquetLayout(source);
    expect(layout.metadata).toEqual({ made: 'by a test', 'ключ': 'значение' });
    expect(layout.columns.map(({ name, kind }) => [name, kind])).toEqual(EVERY.map(({ name }) => [name, name]));
    expect(await readParquet(source, { columns: ['uint8'] })).toEqual({ uint8: EVERY[5]!.data });
  });

  it('the caller: unequal lengths, repeated names, wrong kinds and odd row groups are refused', async () => {
    const x = Float64Array.of(1);
    await expect(written([])).rejects.toThrow('columns: expected at least one');
    await expect(written([{ name: 'x', data: x }, { name: 'y', data: new Float64Array(2) }])).rejects.toThrow('column y: expected 1 rows as in x, found 2');
    await expect(written([{ name: 'x', data: x }, { name: 'x', data: x }])).rejects.toThrow('column "x": names must be given and differ');
    await expect(written([{ name: 'x', data: new Int16Array(1) as unknown as Int32Array }])).rejects.toThrow(TypeError);
    await expect(written([{ name: 'x', data: [1] as unknown as string[] }])).rejects.toThrow('column x: expected strings, found number');
    await expect(written([{ name: 'x', data: x }], 0)).rejects.toThrow('rowGroupRows 0');
    const writer = openParquetWriter(memorySink(), [{ name: 'x', kind: 'float32' }]);
    await expect(writer.writeRows([x])).rejects.toThrow('column x: expected float32, found float64');
  });
});

// Files written by DuckDB 1.5.6 (test/reference/parquet/make.mjs): nulls, dictionaries, delta and byte-stream-split encodings.
describe.each(['v1', 'v2'])('readParquet: a file by DuckDB, parquet %s', (version) => {
  const bytes = new Uint8Array(readFileSync(new URL(`../reference/parquet/duckdb-${version}.parquet`, import.meta.url)));
  const rows = Array.from({ length: 1000 }, (_, i) => i);

  it('every kind, with missing values as NaN and empty text', async () => {
    const { columns } = await readParquetLayout(bytesSource('t', bytes));
    const names = columns.map(({ name }) => name).filter((name) => name !== 'day' && (name !== 'u32' || version === 'v1'));
    expect(await readParquet(bytesSource('t', bytes), { columns: names })).toEqual({
      f64: Float64Array.from(rows, (i) => i * 0.25),
      f32_missing: Float32Array.from(rows, (i) => (i % 5 === 0 ? NaN : i * 0.5)),
      i32: Int32Array.from(rows, (i) => i * 1000 - 7),
      ...(version === 'v1' ? { u32: Uint32Array.from(rows, (i) => 4294967295 - i) } : {}),
      u16: Uint16Array.from(rows, (i) => i % 3),
      u8: Uint8Array.from(rows, (i) => Math.floor(i / 100)),
      i64: BigInt64Array.from(rows, (i) => BigInt(i) * 3000000000n),
      i32_missing: Float64Array.from(rows, (i) => (i % 4 === 0 ? NaN : i)),
      flag: Uint8Array.from(rows, (i) => (i % 2 === 0 ? 1 : 0)),
      text: rows.map((i) => `mark ${i % 10}`),
      text_unique: rows.map((i) => `${i}-${i * 7919}`),
    });
  });

  // That DuckDB stores 4294967295 as itself, where the standard asks for 32-bit arithmetic (Encodings.md, DELTA_BINARY_PACKED).
  if (version === 'v2') {
    it('unsigned 32-bit numbers in delta encoding: refused rather than read wrongly', async () => {
      await expect(read(bytes)).rejects.toThrow('column u32: unsigned 32-bit numbers in delta encoding are not read here');
    });
  }

  it('a date column is named as one that is not read', async () => {
    const layout = await readParquetLayout(bytesSource('t', bytes));
    expect(layout.columns.at(-1)).toEqual({ name: 'day', kind: 'other' });
    await expect(readParquet(bytesSource('t', bytes), { columns: ['day'] })).rejects.toThrow('neither numbers nor text');
  });

  it('one byte changed (seeded sample): read or refused with an error of ours', async () => {
    let state = 20261125;
    for (let k = 0; k < 400; k++) {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      const damaged = bytes.slice();
      damaged[state % bytes.length]! ^= 1 + ((state >>> 16) % 255);
      await read(damaged).catch((error: unknown) => expect((error as Error).name, String(error)).toMatch(/^(FormatError|UnsupportedError)$/));
    }
  });
});

describe('readParquet: damaged files', () => {
  it('cut short at every byte: refused with a FormatError', async () => {
    const bytes = await written(EVERY, 4);
    for (let end = 0; end < bytes.length; end++) await expect(read(bytes.subarray(0, end)), `cut at ${end}`).rejects.toThrow(FormatError);
  });

  it('one byte changed: either read with the right number of rows or refused with an error of ours, and soon', async () => {
    const bytes = await written(EVERY, 4);
    let refused = 0;
    for (let at = 0; at < bytes.length; at++) {
      for (const flip of [0xff, 0x01, 0x80]) {
        const damaged = bytes.slice();
        damaged[at]! ^= flip;
        try {
          for (const data of Object.values(await read(damaged))) expect(data.length).toBeLessThanOrEqual(8);
        } catch (error) {
          refused++;
          expect((error as Error).name, `byte ${at} xor ${flip}: ${String(error)}`).toMatch(/^(FormatError|UnsupportedError)$/);
        }
      }
    }
    expect(refused).toBeGreaterThan(500);
  }, 60_000);

  it('message: says which file and what to do', async () => {
    await expect(read(new Uint8Array(100))).rejects.toThrow('table.parquet: not a sound Parquet file: parquet file invalid (footer != PAR1); make it again or take it from a copy');
  });
});
