import { CORRECTIONS, isOn, type CorrectionCurves, type CorrectionSwitches } from '../depths/corrections.js';
import type { Column } from '../formats/parquet-columns.js';
import { writeParquet } from '../formats/parquet-write.js';
import { makeAtomic } from './atomic-file.js';

/** What the metadata `corrections` of derived/corrections.parquet says of each column, in their order, as JSON. */
export interface CorrectionColumnInfo {
  readonly column: string;
  readonly label: string;
  readonly unit: 'm';
  /** false: not applied; the column holds what it would have come to. */
  readonly on: boolean;
  readonly horizontal: boolean;
}

/** Labels and switches of the columns; where depths hang on the antenna's height, the water level's column holds that. */
export function correctionColumns(on: CorrectionSwitches, fromHeights: boolean): CorrectionColumnInfo[] {
  return CORRECTIONS.map(({ column, label, horizontal }) => ({
    column,
    label: fromHeights && column === 'waterLevelM' ? 'antenna above datum (GNSS height)' : label,
    unit: 'm',
    on: isOn(on, column),
    horizontal,
  }));
}

/**
 * Writes derived/corrections.parquet: one row a sounding, in the order of derived/soundings.parquet. The measured depth and
 * the vertical columns that are on add up to the depth.
 */
export function writeCorrectionsFile(target: string, timeS: Float64Array, curves: CorrectionCurves, on: CorrectionSwitches, fromHeights: boolean): Promise<{ sha256: string; bytes: number }> {
  const columns: Column[] = [{ name: 'timeS', data: timeS }, ...CORRECTIONS.map(({ column }) => ({ name: column, data: curves[column] }))];
  return makeAtomic(target, (sink) => writeParquet(sink, columns, { metadata: { corrections: JSON.stringify(correctionColumns(on, fromHeights)), caution: 'not for navigation' } }));
}
