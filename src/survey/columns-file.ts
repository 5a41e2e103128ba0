import { readParquet, type ColumnData } from '../formats/parquet-columns.js';
import { openFileSource } from './file-source.js';

/** The columns of a Parquet file; all of them where none are named. @throws UseError where it is not there, FormatError where it is damaged */
export async function readColumnsFile(file: string, columns?: readonly string[]): Promise<Record<string, ColumnData>> {
  const source = await openFileSource(file);
  try {
    return await readParquet(source, columns === undefined ? {} : { columns });
  } finally {
    await source.close();
  }
}
