import type { ColumnChunk, RowGroup, SchemaElement, Statistics } from 'hyparquet';
import { ByteWriter } from 'hyparquet-writer/src/bytewriter.js';
import { writePageHeader } from 'hyparquet-writer/src/datapage.js';
import { writeMetadata } from 'hyparquet-writer/src/metadata.js';
import { snappyCompress } from 'hyparquet-writer/src/snappy.js';
import type { ByteSink } from '../base/byte-source.js';
import { isFixedBytes, kindOf, rowCount } from './parquet-columns.js';
import type { Column, ColumnInput, ColumnKind, ColumnSpec } from './parquet-columns.js';

/** `PAR1`, at both ends of the file. */
const MAGIC = new Uint8Array([0x50, 0x41, 0x52, 0x31]);

/** 1 MiB of doubles a column chunk: small enough to stream, large enough that a reader's seeks do not matter. */
const ROW_GROUP_ROWS = 131_072;

/** A page's length is a signed 32-bit number in its header. */
const PAGE_BYTES_MAX = 2 ** 31 - 1;

export interface ParquetWriteOptions {
  /** Text kept in the file's footer by key, in the order given. */
  readonly metadata?: Readonly<Record<string, string>>;
  /** Rows of a row group [1..4194304]; 131072 when left out. */
  readonly rowGroupRows?: number;
}

/** A Parquet file being written from rows as they come. */
export interface ParquetWriter {
  /**
   * Adds rows: one array a column in the order of the schema, all of one length. The arrays may be used again at once.
   * How rows are cut into calls does not change the file.
   * @throws TypeError for an array of another kind than its column; RangeError for unequal lengths
   */
  writeRows(columns: readonly ColumnInput[]): Promise<void>;
  /** Writes what is left and the footer, with this metadata after that of the options. Gives the number of rows. */
  finish(metadata?: Readonly<Record<string, string>>): Promise<number>;
}

/**
 * Writes columns to a Parquet file.
 *
 * Every column is required (no nulls: no-data is NaN), plain-encoded and snappy-compressed. The same columns give
 * the same bytes: no clock, no version. Whole-number columns narrower than 32 bits are stored as INT32 annotated
 * with their true width. Float bits are kept exactly, NaN payloads and -0 included.
 *
 * @throws TypeError for a column that is no array of values; RangeError for unequal lengths or a repeated name
 * Source: Apache Parquet format 2.9.
 */
export async function writeParquet(sink: ByteSink, columns: readonly Column[], options: ParquetWriteOptions = {}): Promise<void> {
  const writer = openParquetWriter(sink, columns.map(({ name, data }) => kindOf(name, data)), options);
  await writer.writeRows(columns.map(({ data }) => data));
  await writer.finish();
}

/**
 * Opens a Parquet file for rows that come piece by piece. It holds one row group at most, whatever the length of the file.
 * The bytes equal those of `writeParquet` with the same rows and options.
 *
 * @throws RangeError for no column, a repeated or empty name, a width below 1, or rowGroupRows outside its range
 */
export function openParquetWriter(sink: ByteSink, schema: readonly ColumnSpec[], options: ParquetWriteOptions = {}): ParquetWriter {
  const { rowGroupRows = ROW_GROUP_ROWS } = options;
  checkSchema(schema, rowGroupRows);
  const elements = schema.map(schemaElement);
  const groups: RowGroup[] = [];
  let pending: ColumnInput[] | null = null;
  let pendingRows = 0;
  let rows = 0;
  let offset = 0;

  async function put(bytes: Uint8Array): Promise<void> {
    await sink.write(bytes);
    offset += bytes.byteLength;
  }

  async function writeGroup(columns: readonly ColumnInput[], start: number, end: number): Promise<void> {
    if (offset === 0) await put(MAGIC);
    const groupOffset = offset;
    const chunks: ColumnChunk[] = [];
    let plainBytes = 0;
    for (let i = 0; i < schema.length; i++) {
      const page = encodePage(schema[i]!, sliceRows(columns[i]!, start, end), end - start);
      chunks.push(chunkMetadata(elements[i]!, page, end - start, offset));
      plainBytes += page.plainBytes;
      await put(page.header);
      await put(page.body);
    }
    groups.push({
      columns: chunks,
      total_byte_size: BigInt(plainBytes),
      num_rows: BigInt(end - start),
      file_offset: BigInt(groupOffset),
      total_compressed_size: BigInt(offset - groupOffset),
    });
    rows += end - start;
  }

  return {
    async writeRows(columns) {
      const count = checkRows(schema, columns);
      let start = 0;
      while (start < count) {
        if (pendingRows === 0 && count - start >= rowGroupRows) {
          await writeGroup(columns, start, start + rowGroupRows);
          start += rowGroupRows;
          continue;
        }
        const take = Math.min(rowGroupRows - pendingRows, count - start);
        pending = columns.map((data, i) => append(pending?.[i], pendingRows, data, start, start + take, rowGroupRows));
        pendingRows += take;
        start += take;
        if (pendingRows === rowGroupRows) {
          await writeGroup(pending, 0, pendingRows);
          pendingRows = 0;
        }
      }
    },

    async finish(metadata = {}) {
      if (pending && pendingRows > 0) await writeGroup(pending, 0, pendingRows);
      pendingRows = 0;
      // A file without rows still carries one (empty) row group: readers then find every column.
      if (groups.length === 0) await writeGroup(schema.map(emptyColumn), 0, 0);
      const footer = new ByteWriter();
      writeMetadata(footer, {
        version: 2,
        created_by: 'tallow',
        schema: [{ name: 'schema', num_children: schema.length }, ...elements],
        num_rows: BigInt(rows),
        row_groups: groups,
        key_value_metadata: keyValues({ ...options.metadata, ...metadata }),
        metadata_length: 0,
      });
      await put(footer.getBytes());
      await put(MAGIC);
      return rows;
    },
  };
}

interface Page {
  readonly header: Uint8Array;
  readonly body: Uint8Array;
  /** Header and values before compression. */
  readonly plainBytes: number;
  readonly statistics: Statistics;
}

/** One data page: plain values, no levels since every column is required. */
function encodePage(spec: ColumnSpec, data: ColumnInput, count: number): Page {
  const values = plainValues(spec, data);
  if (values.byteLength > PAGE_BYTES_MAX) {
    throw new RangeError(`column ${spec.name}: ${values.byteLength} bytes in one row group, more than ${PAGE_BYTES_MAX}; choose fewer rowGroupRows`);
  }
  const body = snappyCompress(values);
  const header = new ByteWriter(64);
  writePageHeader(header, {
    type: 'DATA_PAGE',
    uncompressed_page_size: values.byteLength,
    compressed_page_size: body.byteLength,
    data_page_header: {
      num_values: count,
      encoding: 'PLAIN',
      definition_level_encoding: 'RLE',
      repetition_level_encoding: 'RLE',
    },
  });
  return { header: header.getBytes(), body, plainBytes: header.offset + values.byteLength, statistics: statisticsOf(data) };
}

/** The values as Parquet's plain encoding: little-endian, which every machine that runs this is. */
function plainValues(spec: ColumnSpec, data: ColumnInput): Uint8Array {
  if (isFixedBytes(data)) return prefixedBytes(data);
  if (data instanceof Uint8Array || data instanceof Uint16Array) {
    const wide = Int32Array.from(data);
    return new Uint8Array(wide.buffer);
  }
  if (ArrayBuffer.isView(data)) return new Uint8Array(data.buffer, data.byteOffset, data.byteLength);
  const encoder = new TextEncoder();
  const page = new ByteWriter(data.length * 12 + 16);
  for (const text of data) {
    if (typeof text !== 'string') throw new TypeError(`column ${spec.name}: expected strings, found ${typeof text}`);
    const bytes = encoder.encode(text);
    page.appendUint32(bytes.byteLength);
    page.appendBytes(bytes);
  }
  return page.getBytes();
}

/** BYTE_ARRAY values, each after its length in four bytes. */
function prefixedBytes({ bytes, width }: { readonly bytes: Uint8Array; readonly width: number }): Uint8Array {
  const count = bytes.length / width;
  const out = new Uint8Array(count * (4 + width));
  const view = new DataView(out.buffer);
  for (let i = 0, at = 0; i < count; i++, at += 4 + width) {
    view.setUint32(at, width, true);
    for (let j = 0; j < width; j++) out[at + 4 + j] = bytes[i * width + j]!;
  }
  return out;
}

/**
 * Least and greatest value of a page's numbers. NaN takes no part; a zero bound is -0 below and +0 above, so that
 * readers that tell them apart miss nothing (parquet.thrift, ColumnOrder, TYPE_ORDER).
 */
function statisticsOf(data: ColumnInput): Statistics {
  if (isFixedBytes(data) || Array.isArray(data)) return { null_count: 0n };
  if (data instanceof BigInt64Array) {
    if (data.length === 0) return { null_count: 0n };
    let least = data[0]!;
    let greatest = data[0]!;
    for (const value of data) {
      if (value < least) least = value;
      if (value > greatest) greatest = value;
    }
    return { null_count: 0n, min_value: least, max_value: greatest };
  }
  const numbers = data as Float64Array;
  let least = Infinity;
  let greatest = -Infinity;
  for (let i = 0; i < numbers.length; i++) {
    const value = numbers[i]!;
    if (value < least) least = value;
    if (value > greatest) greatest = value;
  }
  // Nothing but NaN, or nothing at all.
  if (!(least <= greatest)) return { null_count: 0n };
  const real = data instanceof Float64Array || data instanceof Float32Array;
  if (real && least === 0) least = -0;
  if (real && greatest === 0) greatest = 0;
  return { null_count: 0n, min_value: least, max_value: greatest };
}

function chunkMetadata(element: SchemaElement, page: Page, count: number, pageOffset: number): ColumnChunk {
  return {
    file_offset: BigInt(pageOffset),
    meta_data: {
      type: element.type!,
      encodings: ['PLAIN', 'RLE'],
      path_in_schema: [element.name],
      codec: 'SNAPPY',
      num_values: BigInt(count),
      total_uncompressed_size: BigInt(page.plainBytes),
      total_compressed_size: BigInt(page.header.byteLength + page.body.byteLength),
      data_page_offset: BigInt(pageOffset),
      statistics: page.statistics,
    },
  };
}

const ELEMENTS: Readonly<Record<ColumnKind, Pick<SchemaElement, 'type' | 'converted_type' | 'logical_type'>>> = {
  float64: { type: 'DOUBLE' },
  float32: { type: 'FLOAT' },
  int32: { type: 'INT32' },
  uint32: { type: 'INT32', converted_type: 'UINT_32' },
  uint16: { type: 'INT32', converted_type: 'UINT_16' },
  uint8: { type: 'INT32', converted_type: 'UINT_8' },
  int64: { type: 'INT64' },
  text: { type: 'BYTE_ARRAY', converted_type: 'UTF8', logical_type: { type: 'STRING' } },
  bytes: { type: 'BYTE_ARRAY' },
};

function schemaElement({ name, kind }: ColumnSpec): SchemaElement {
  return { name, repetition_type: 'REQUIRED', ...ELEMENTS[kind] };
}

function keyValues(metadata: Readonly<Record<string, string>>): { key: string; value: string }[] | undefined {
  const entries = Object.entries(metadata);
  return entries.length === 0 ? undefined : entries.map(([key, value]) => ({ key, value }));
}

function checkSchema(schema: readonly ColumnSpec[], rowGroupRows: number): void {
  if (schema.length === 0) throw new RangeError('columns: expected at least one');
  if (!Number.isInteger(rowGroupRows) || rowGroupRows < 1 || rowGroupRows > 2 ** 22) {
    throw new RangeError(`rowGroupRows ${rowGroupRows}: expected a whole number from 1 to ${2 ** 22}`);
  }
  const seen = new Set<string>();
  for (const { name, kind, width } of schema) {
    if (name === '' || seen.has(name)) throw new RangeError(`column ${JSON.stringify(name)}: names must be given and differ`);
    seen.add(name);
    if (kind === 'bytes' && !(Number.isInteger(width) && width! > 0)) throw new RangeError(`column ${name}: width ${width}: expected a whole number above 0`);
  }
}

function checkRows(schema: readonly ColumnSpec[], columns: readonly ColumnInput[]): number {
  if (columns.length !== schema.length) throw new RangeError(`columns: expected ${schema.length}, found ${columns.length}`);
  const count = rowCount(columns[0]!);
  for (let i = 0; i < schema.length; i++) {
    const { name, kind, width } = schema[i]!;
    const found = kindOf(name, columns[i]);
    if (found.kind !== kind || found.width !== width) throw new TypeError(`column ${name}: expected ${kind}, found ${found.kind}`);
    const rows = rowCount(columns[i]!);
    if (rows !== count || !Number.isInteger(rows)) throw new RangeError(`column ${name}: expected ${count} rows as in ${schema[0]!.name}, found ${rows}`);
  }
  return count;
}

function emptyColumn({ kind, width = 1 }: ColumnSpec): ColumnInput {
  return newColumn(kind, 0, width);
}

function newColumn(kind: ColumnKind, rows: number, width: number): ColumnInput {
  switch (kind) {
    case 'float64': return new Float64Array(rows);
    case 'float32': return new Float32Array(rows);
    case 'int32': return new Int32Array(rows);
    case 'uint32': return new Uint32Array(rows);
    case 'uint16': return new Uint16Array(rows);
    case 'uint8': return new Uint8Array(rows);
    case 'int64': return new BigInt64Array(rows);
    case 'text': return [];
    case 'bytes': return { bytes: new Uint8Array(rows * width), width };
  }
}

function sliceRows(data: ColumnInput, start: number, end: number): ColumnInput {
  if (isFixedBytes(data)) return { bytes: data.bytes.subarray(start * data.width, end * data.width), width: data.width };
  return ArrayBuffer.isView(data) ? data.subarray(start, end) : data.slice(start, end);
}

/** Copies rows [start, end) of data behind the first `rows` of held, which grows up to a row group. */
function append(held: ColumnInput | undefined, rows: number, data: ColumnInput, start: number, end: number, rowsMax: number): ColumnInput {
  const part = sliceRows(data, start, end);
  const needed = rows + end - start;
  if (Array.isArray(part)) {
    const texts = (held as string[] | undefined) ?? [];
    texts.length = rows;
    for (const text of part as readonly string[]) texts.push(text);
    return texts;
  }
  let target = held;
  if (!target || rowCount(target) < needed) {
    const { kind, width = 1 } = kindOf('', part);
    target = newColumn(kind, Math.min(rowsMax, Math.max(needed, rows * 2, 1024)), width);
    if (held) setRows(target, held, 0);
  }
  setRows(target, part, rows);
  return target;
}

function setRows(target: ColumnInput, part: ColumnInput, row: number): void {
  if (isFixedBytes(target) && isFixedBytes(part)) target.bytes.set(part.bytes, row * target.width);
  else if (target instanceof BigInt64Array) target.set(part as BigInt64Array, row);
  else (target as Float64Array).set(part as Float64Array, row);
}
