/**
 * Columns of typed arrays in Parquet files: what a column may be, and the two ways through.
 * The writing is in parquet-write.ts, the reading in parquet-read.ts.
 *
 * Source: Apache Parquet format 2.9 (parquet.thrift, Encodings.md, LogicalTypes.md).
 */

/** Rows of one fixed number of bytes each, e.g. points in well-known binary. Shape of bytes: [n * width]. */
export interface FixedBytes {
  readonly bytes: Uint8Array;
  readonly width: number;
}

/** A column's values, one a row. Shape: [n]. */
export type ColumnData =
  | Float64Array
  | Float32Array
  | Int32Array
  | Uint32Array
  | Uint16Array
  | Uint8Array
  | BigInt64Array
  | readonly string[];

/** What may be written as a column. */
export type ColumnInput = ColumnData | FixedBytes;

export interface Column {
  readonly name: string;
  readonly data: ColumnInput;
}

export type ColumnKind = 'float64' | 'float32' | 'int32' | 'uint32' | 'uint16' | 'uint8' | 'int64' | 'text' | 'bytes';

/** A column as a file declares it. `width` is for kind `bytes` alone: bytes a row. */
export interface ColumnSpec {
  readonly name: string;
  readonly kind: ColumnKind;
  readonly width?: number;
}

/**
 * The kind of a column's values.
 * @throws TypeError for anything that is not one of ColumnInput
 */
export function kindOf(name: string, data: unknown): ColumnSpec {
  if (data instanceof Float64Array) return { name, kind: 'float64' };
  if (data instanceof Float32Array) return { name, kind: 'float32' };
  if (data instanceof Int32Array) return { name, kind: 'int32' };
  if (data instanceof Uint32Array) return { name, kind: 'uint32' };
  if (data instanceof Uint16Array) return { name, kind: 'uint16' };
  if (data instanceof Uint8Array) return { name, kind: 'uint8' };
  if (data instanceof BigInt64Array) return { name, kind: 'int64' };
  if (Array.isArray(data)) return { name, kind: 'text' };
  if (isFixedBytes(data)) return { name, kind: 'bytes', width: data.width };
  throw new TypeError(`column ${name}: expected a typed array or an array of strings, found ${Object.prototype.toString.call(data)}`);
}

export function isFixedBytes(data: unknown): data is FixedBytes {
  return typeof data === 'object' && data !== null && 'width' in data && 'bytes' in data && data.bytes instanceof Uint8Array;
}

/** How many rows a column's values fill. */
export function rowCount(data: ColumnInput): number {
  return isFixedBytes(data) ? data.bytes.length / data.width : data.length;
}

export { openParquetWriter, writeParquet } from './parquet-write.js';
export type { ParquetWriteOptions, ParquetWriter } from './parquet-write.js';
export { readParquet, readParquetLayout } from './parquet-read.js';
export type { ParquetLayout, ParquetReadOptions } from './parquet-read.js';
