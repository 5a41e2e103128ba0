import type { ColumnChunk, DecodedArray, FileMetaData, SchemaElement, SchemaTree } from 'hyparquet';
import { parquetHeader, readColumn } from 'hyparquet/src/column.js';
import { DEFAULT_PARSERS } from 'hyparquet/src/convert.js';
import { parquetMetadataAsync, parquetSchema } from 'hyparquet/src/metadata.js';
import type { ByteSource } from '../base/byte-source.js';
import { FormatError, UnsupportedError, isExpectedError } from '../base/errors.js';
import type { ColumnData, ColumnKind } from './parquet-columns.js';

/** More rows than this are taken for damage: a hundred times the largest survey we plan for. */
const ROWS_MAX = 2 ** 30;

export interface ParquetLayout {
  readonly rows: number;
  /** Top-level columns in the order of the file; `other` is a kind that we do not read (nested, dates, decimals). */
  readonly columns: readonly { readonly name: string; readonly kind: ColumnKind | 'other' }[];
  /** Text of the footer by key, e.g. `geo`. */
  readonly metadata: Readonly<Record<string, string>>;
}

export interface ParquetReadOptions {
  /** Names of the columns wanted; when left out, every column of numbers or text. */
  readonly columns?: readonly string[];
  readonly signal?: AbortSignal;
}

/**
 * What a Parquet file holds, from its footer alone.
 * @throws FormatError for a file that is no Parquet file or is cut short
 */
export async function readParquetLayout(source: ByteSource, signal?: AbortSignal): Promise<ParquetLayout> {
  const metadata = await readFooter(source, signal);
  return layoutOf(metadata);
}

/**
 * Reads columns of numbers and text from a Parquet file.
 *
 * Float columns keep their bits. A missing value is NaN in a float column and in a column of whole numbers, which
 * then comes as Float64Array; it is '' in a text column. Columns of narrow whole numbers come in the array of their
 * annotated width (UINT_8, UINT_16, UINT_32), others as Int32Array, 64-bit ones as BigInt64Array, booleans as
 * Uint8Array of 0 and 1. Reads plain, dictionary, delta (not of UINT_32) and byte-stream-split encodings, uncompressed
 * or snappy.
 *
 * @returns arrays by column name, each of shape [rows]
 * @throws FormatError for a damaged file; UnsupportedError for a column asked for that is of another kind or missing
 */
export async function readParquet(source: ByteSource, options: ParquetReadOptions = {}): Promise<Record<string, ColumnData>> {
  const { signal } = options;
  const metadata = await readFooter(source, signal);
  const layout = layoutOf(metadata);
  const wanted = options.columns ?? layout.columns.filter(({ kind }) => kind !== 'other' && kind !== 'bytes').map(({ name }) => name);
  const result: Record<string, ColumnData> = {};
  for (const name of wanted) {
    const column = layout.columns.find((each) => each.name === name);
    if (!column) {
      throw new UnsupportedError(`${source.name}: column ${name} is not in the file: found ${layout.columns.map((each) => each.name).join(', ')}`);
    }
    if (column.kind === 'other' || column.kind === 'bytes') {
      throw new UnsupportedError(`${source.name}: column ${name} is neither numbers nor text and is not read here`);
    }
    const parts = await readChunks(source, metadata, name, layout.rows, signal);
    result[name] = joinParts(column.kind, parts, layout.rows, `${source.name}: column ${name}`, source.name);
  }
  return result;
}

/**
 * Reads one column of byte strings, e.g. geometries, row by row into a callback; null is a missing value.
 * @throws as readParquet
 */
export async function readParquetBytes(
  source: ByteSource,
  name: string,
  take: (row: number, bytes: Uint8Array | null) => void,
  signal?: AbortSignal,
): Promise<number> {
  const metadata = await readFooter(source, signal);
  const layout = layoutOf(metadata);
  if (layout.columns.find((each) => each.name === name)?.kind !== 'bytes') {
    throw new UnsupportedError(`${source.name}: column ${name}: expected a column of byte strings`);
  }
  let row = 0;
  for (const part of await readChunks(source, metadata, name, layout.rows, signal)) {
    for (const value of part as (Uint8Array | null | undefined)[]) take(row++, value ?? null);
  }
  return row;
}

async function readFooter(source: ByteSource, signal: AbortSignal | undefined): Promise<FileMetaData> {
  if (source.byteLength < 12) throw damaged(source, `${source.byteLength} bytes are too few for a Parquet file`);
  try {
    const file = {
      byteLength: source.byteLength,
      slice: (start: number, end = source.byteLength) => readBuffer(source, start, end, signal),
    };
    // Geometry stays bytes: decoding to GeoJSON objects would cost more than all the rest.
    const metadata = await parquetMetadataAsync(file, { geoparquet: false });
    checkRowCounts(source, metadata);
    parquetSchema(metadata);
    return metadata;
  } catch (error) {
    throw asFormatError(source, error);
  }
}

function checkRowCounts(source: ByteSource, metadata: FileMetaData): void {
  let rows = 0;
  for (const group of metadata.row_groups) {
    const groupRows = Number(group.num_rows);
    if (!(groupRows >= 0)) throw damaged(source, `a row group of ${group.num_rows} rows`);
    rows += groupRows;
    for (const { meta_data } of group.columns) {
      if (!meta_data) throw damaged(source, 'a column chunk without metadata');
      const size = Number(meta_data.total_compressed_size);
      const start = chunkStart(meta_data);
      if (!(size >= 0 && start >= 4 && start + size <= source.byteLength)) {
        throw damaged(source, `column ${meta_data.path_in_schema.join('.')} lies at bytes ${start} to ${start + size}, outside the file`);
      }
    }
  }
  if (rows > ROWS_MAX) throw damaged(source, `${rows} rows, more than ${ROWS_MAX}`);
  if (rows !== Number(metadata.num_rows)) throw damaged(source, `row groups hold ${rows} rows, the footer says ${metadata.num_rows}`);
}

function chunkStart(meta: NonNullable<ColumnChunk['meta_data']>): number {
  const data = Number(meta.data_page_offset);
  const dictionary = meta.dictionary_page_offset ? Number(meta.dictionary_page_offset) : data;
  return Math.min(data, dictionary);
}

function layoutOf(metadata: FileMetaData): ParquetLayout {
  return {
    rows: Number(metadata.num_rows),
    columns: parquetSchema(metadata).children.map(({ element, children }) => ({
      name: element.name,
      kind: children.length > 0 || element.repetition_type === 'REPEATED' ? 'other' : kindOfElement(element),
    })),
    metadata: Object.fromEntries((metadata.key_value_metadata ?? []).map(({ key, value }) => [key, value ?? ''])),
  };
}

function kindOfElement({ type, converted_type, logical_type }: SchemaElement): ColumnKind | 'other' {
  const annotation = converted_type ?? (logical_type?.type === 'INTEGER' ? `${logical_type.isSigned ? '' : 'U'}INT_${logical_type.bitWidth}` : logical_type?.type);
  switch (`${type} ${annotation ?? ''}`.trim()) {
    case 'DOUBLE': return 'float64';
    case 'FLOAT': return 'float32';
    case 'INT32':
    case 'INT32 INT_32':
    case 'INT32 INT_16':
    case 'INT32 INT_8': return 'int32';
    case 'INT32 UINT_32': return 'uint32';
    case 'INT32 UINT_16': return 'uint16';
    case 'INT32 UINT_8': return 'uint8';
    case 'BOOLEAN': return 'uint8';
    case 'INT64':
    case 'INT64 INT_64': return 'int64';
    case 'BYTE_ARRAY UTF8':
    case 'BYTE_ARRAY STRING': return 'text';
    case 'BYTE_ARRAY': return 'bytes';
    default: return 'other';
  }
}

async function readChunks(source: ByteSource, metadata: FileMetaData, name: string, rows: number, signal: AbortSignal | undefined): Promise<DecodedArray[]> {
  const tree: SchemaTree = parquetSchema(metadata);
  const child = tree.children.find(({ element }) => element.name === name)!;
  const parts: DecodedArray[] = [];
  let seen = 0;
  for (const group of metadata.row_groups) {
    const groupRows = Number(group.num_rows);
    const meta = group.columns.find((chunk) => chunk.meta_data?.path_in_schema[0] === name)?.meta_data;
    if (!meta) throw damaged(source, `column ${name} is missing from a row group`);
    if (groupRows === 0) continue;
    if (meta.encodings.includes('DELTA_BINARY_PACKED') && kindOfElement(child.element) === 'uint32') {
      // Writers differ in how they wrap values from 2^31 on, and a wrong number would not show.
      throw new UnsupportedError(`${source.name}: column ${name}: unsigned 32-bit numbers in delta encoding are not read here; write it again with plain or dictionary encoding`);
    }
    const start = chunkStart(meta);
    const buffer = await readBuffer(source, start, start + Number(meta.total_compressed_size), signal);
    try {
      checkPages(source, name, buffer, groupRows);
      const { data } = readColumn(
        { view: new DataView(buffer), offset: 0 },
        { groupStart: 0, selectStart: 0, selectEnd: groupRows, groupRows },
        {
          pathInSchema: [name],
          type: meta.type,
          element: child.element,
          schemaPath: [tree, child],
          codec: meta.codec,
          parsers: DEFAULT_PARSERS,
          utf8: false,
        },
      );
      let count = 0;
      for (const part of data) count += part.length;
      if (count !== groupRows) throw damaged(source, `column ${name}: expected ${groupRows} values in a row group, found ${count}`);
      parts.push(...data);
      seen += count;
    } catch (error) {
      throw asFormatError(source, error, start);
    }
  }
  if (seen !== rows) throw damaged(source, `column ${name}: expected ${rows} values, found ${seen}`);
  return parts;
}

/**
 * Looks at every page header of a column chunk before anything is decoded, so that damage cannot ask for memory
 * or time out of proportion to the file. Snappy copies at most 64 bytes for 2, so its output is at most 32 times its input.
 */
function checkPages(source: ByteSource, name: string, buffer: ArrayBuffer, groupRows: number): void {
  const reader = { view: new DataView(buffer), offset: 0 };
  let count = 0;
  while (count < groupRows) {
    if (reader.offset >= buffer.byteLength) throw damaged(source, `column ${name}: expected ${groupRows} values in a row group, found ${count}`);
    const header = parquetHeader(reader);
    const { compressed_page_size: packed, uncompressed_page_size: plain } = header;
    if (!(packed >= 0 && reader.offset + packed <= buffer.byteLength)) throw damaged(source, `column ${name}: a page of ${packed} bytes runs past its chunk`);
    if (!(plain >= 0 && plain <= packed * 32 + 64)) throw damaged(source, `column ${name}: a page of ${packed} bytes claims to hold ${plain}`);
    const values = header.data_page_header?.num_values ?? header.data_page_header_v2?.num_values;
    if (values !== undefined) {
      if (!(values >= 0 && count + values <= groupRows)) throw damaged(source, `column ${name}: a page of ${values} values in a row group of ${groupRows}`);
      count += values;
    } else if (header.dictionary_page_header) {
      const entries = header.dictionary_page_header.num_values;
      if (!(entries >= 0 && entries <= plain)) throw damaged(source, `column ${name}: a dictionary of ${entries} values in ${plain} bytes`);
    }
    reader.offset += packed;
  }
}

/** One array of the column's kind from the decoded pages. */
function joinParts(kind: ColumnKind, parts: readonly DecodedArray[], rows: number, where: string, path: string): ColumnData {
  if (kind === 'text') {
    const texts = new Array<string>(rows);
    let at = 0;
    for (const part of parts) for (const value of part as (string | null | undefined)[]) texts[at++] = value ?? '';
    return texts;
  }
  if (kind === 'int64') {
    const longs = new BigInt64Array(rows);
    fill(parts, (part, at) => {
      if (part instanceof BigInt64Array) return longs.set(part, at);
      for (let i = 0; i < part.length; i++) {
        const value: unknown = part[i];
        if (typeof value !== 'bigint') throw new UnsupportedError(`${where}: a 64-bit column with missing values is not read here`);
        longs[at + i] = value;
      }
    });
    return longs;
  }
  const missing = parts.some((part) => Array.isArray(part) && part.some((value) => value === null || value === undefined));
  const target = newNumbers(missing && kind !== 'float32' ? 'float64' : kind, rows);
  fill(parts, (part, at) => {
    if (ArrayBuffer.isView(part) && !(part instanceof BigInt64Array) && !(part instanceof BigUint64Array)) return target.set(part, at);
    for (let i = 0; i < part.length; i++) {
      const value: unknown = part[i];
      if (value === null || value === undefined) target[at + i] = NaN;
      else if (typeof value === 'number') target[at + i] = value;
      else if (typeof value === 'boolean') target[at + i] = value ? 1 : 0;
      else throw new FormatError('parquet', path, `${where}: expected numbers, found ${typeof value}`);
    }
  });
  return target;
}

function fill(parts: readonly DecodedArray[], put: (part: DecodedArray, at: number) => void): void {
  let at = 0;
  for (const part of parts) {
    put(part, at);
    at += part.length;
  }
}

function newNumbers(kind: ColumnKind, rows: number): Float64Array | Float32Array | Int32Array | Uint32Array | Uint16Array | Uint8Array {
  switch (kind) {
    case 'float32': return new Float32Array(rows);
    case 'int32': return new Int32Array(rows);
    case 'uint32': return new Uint32Array(rows);
    case 'uint16': return new Uint16Array(rows);
    case 'uint8': return new Uint8Array(rows);
    default: return new Float64Array(rows);
  }
}

async function readBuffer(source: ByteSource, start: number, end: number, signal: AbortSignal | undefined): Promise<ArrayBuffer> {
  const bytes = await source.read(start, end, signal);
  if (bytes.byteLength !== end - start) throw damaged(source, `expected ${end - start} bytes at ${start}, found ${bytes.byteLength}`);
  // The decoder makes views from offset 0 of the buffer, and may alias it: hand it a copy of its own.
  return bytes.slice().buffer as ArrayBuffer;
}

function damaged(source: ByteSource, what: string): FormatError {
  return new FormatError('parquet', source.name, `${source.name}: not a sound Parquet file: ${what}; make it again or take it from a copy`);
}

function asFormatError(source: ByteSource, error: unknown, byteOffset?: number): Error {
  if (isExpectedError(error) || (error instanceof Error && error.name === 'AbortError')) return error;
  const what = error instanceof Error ? error.message : String(error);
  const detail = byteOffset === undefined ? {} : { byteOffset };
  return new FormatError('parquet', source.name, `${source.name}: not a sound Parquet file: ${what}; make it again or take it from a copy`, detail);
}
