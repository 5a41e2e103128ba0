import { unzlibSync } from 'fflate';
import { File as Hdf5File, Module, ready, type Dataset, type Dtype, type Entity, type Group } from 'h5wasm';
import { throwIfCancelled } from '../base/progress.js';
import { createFrame, type FrameSetting } from '../geo/frame.js';
import type { RasterGrid } from '../geo/raster.js';
import { isS102DatumCode } from './s102-datum.js';
import { S102_TEMPLATE } from './s102-template.js';

/** What S-102 holds where there is no value (clause 10, Group_F). */
export const S102_FILL = 1_000_000;

/** A surface to be handed over as S-102. Arrays [rows * cols] row-major, row 0 = north. */
export interface S102Surface {
  readonly frame: FrameSetting;
  readonly grid: RasterGrid;
  /** Below the datum, positive down [m]; NaN is no data. */
  readonly depthM: Float32Array;
  /** 95 % [m]; NaN where it is not known. */
  readonly uncertaintyM: Float32Array;
  /** Soundings in the cell; 0 where it was filled from its neighbours. */
  readonly count: Float32Array;
  /** Code of the datum in the IHO registry; see s102-datum.ts. */
  readonly datumCode: number;
  /** Day of issue and the survey's first and last day, UTC, `20260513`. */
  readonly issueDate: string;
  readonly firstDay: string;
  readonly lastDay: string;
  /** Horizontal uncertainty of the soundings, 95 % [m]; NaN where it is not known. */
  readonly positionUncertaintyM: number;
  /** What the survey is called and who made it; cut at 150 bytes. */
  readonly surveyName: string;
  readonly authority: string;
}

/** Ids of the quality records: cells with soundings in them, and cells filled between. */
const MEASURED = 1;
const FILLED = 2;
const ROWS_AT_ONCE = 128;
let made = 0;

/**
 * A surface as IHO S-102 3.0.0, in HDF5: depth and 95 % uncertainty by cell, and for each cell the record that says how it came about.
 *
 * Cells run from the south-west, west to east; the place of a value is the middle of its cell. Bounds are the cells' outer edges: in
 * degrees for the file, in the grid's own metres for the coverage. Cells without data hold 1 000 000. The survey is not held to have
 * covered the floor in full, nor to have looked for features. Equal input gives equal bytes.
 *
 * @throws RangeError for a datum code S-102 does not allow, a day not of eight figures, or arrays that do not fit the grid
 * Source: IHO S-102 edition 3.0.0, clause 10; S-100 edition 5.2.0 part 10c.
 */
export async function writeS102(surface: S102Surface, signal?: AbortSignal): Promise<Uint8Array> {
  check(surface);
  await ready;
  const name = `s102-${(made += 1)}.h5`;
  Module.FS.writeFile(name, unzlibSync(Uint8Array.from(atob(S102_TEMPLATE), (letter) => letter.charCodeAt(0))));
  try {
    const file = new Hdf5File(name, 'a');
    try {
      fillIn(file, surface, signal);
    } finally {
      file.close();
    }
    return Module.FS.readFile(name) as Uint8Array;
  } finally {
    Module.FS.unlink(name);
  }
}

function check({ grid, depthM, uncertaintyM, count, datumCode, issueDate, firstDay, lastDay }: S102Surface): void {
  if (!isS102DatumCode(datumCode)) throw new RangeError(`datumCode ${datumCode}: S-102 allows 1 to 41 and 43 to 46`);
  for (const [key, day] of Object.entries({ issueDate, firstDay, lastDay })) if (!/^\d{8}$/.test(day)) throw new RangeError(`${key} ${day}: expected year, month and day in eight figures`);
  for (const [key, values] of Object.entries({ depthM, uncertaintyM, count })) {
    if (values.length !== grid.rows * grid.cols) throw new RangeError(`${key}: expected ${grid.rows * grid.cols} cells, found ${values.length}`);
  }
}

function fillIn(file: Hdf5File, surface: S102Surface, signal: AbortSignal | undefined): void {
  const { grid, frame: setting } = surface;
  const frame = createFrame(setting);
  const [west, north, east, south] = [grid.westM, grid.northM, grid.westM + grid.cols * grid.cellM, grid.northM - grid.rows * grid.cellM];
  const spans = outcome(surface);
  put(file, 'issueDate', surface.issueDate, 'A8');
  put(file, 'horizontalCRS', frame.epsg, '<i4');
  put(file, 'verticalDatum', surface.datumCode, '<H');
  const corners = [[west, south], [west, north], [east, south], [east, north]].map(([x, y]) => frame.toGeographic(x!, y!));
  const [lats, lons] = [corners.map(([lat]) => lat), corners.map(([, lon]) => lon)];
  bounds(file, Math.min(...lons), Math.max(...lons), Math.min(...lats), Math.max(...lats));
  for (const feature of ['BathymetryCoverage', 'QualityOfBathymetryCoverage']) {
    const instance = entity<Group>(file, `${feature}/${feature}.01`);
    bounds(instance, west, east, south, north);
    put(instance, 'gridOriginLongitude', west + grid.cellM / 2, '<d');
    put(instance, 'gridOriginLatitude', south + grid.cellM / 2, '<d');
    put(instance, 'gridSpacingLongitudinal', grid.cellM, '<d');
    put(instance, 'gridSpacingLatitudinal', grid.cellM, '<d');
    put(instance, 'numPointsLongitudinal', grid.cols, '<I');
    put(instance, 'numPointsLatitudinal', grid.rows, '<I');
  }
  const values = entity<Group>(file, 'BathymetryCoverage/BathymetryCoverage.01/Group_001');
  for (const [key, value] of Object.entries(spans)) put(values, key, value, '<f');
  writeRows(file, surface, signal);
  writeRecords(file, surface);
}

/** Least and greatest of what is written; the fill value where there is none. */
function outcome({ depthM, uncertaintyM }: S102Surface): Readonly<Record<string, number>> {
  const span = (cells: Float32Array): [number, number] => {
    let [low, high] = [Infinity, -Infinity];
    for (let i = 0; i < cells.length; i++) {
      const value = cells[i] as number;
      if (Number.isNaN(value) || Number.isNaN(depthM[i] as number)) continue;
      if (value < low) low = value;
      if (value > high) high = value;
    }
    return low <= high ? [low, high] : [S102_FILL, S102_FILL];
  };
  const [minimumDepth, maximumDepth] = span(depthM);
  const [minimumUncertainty, maximumUncertainty] = span(uncertaintyM);
  return { minimumDepth, maximumDepth, minimumUncertainty, maximumUncertainty };
}

function bounds(at: Group, west: number, east: number, south: number, north: number): void {
  put(at, 'westBoundLongitude', west, '<f');
  put(at, 'eastBoundLongitude', east, '<f');
  put(at, 'southBoundLatitude', south, '<f');
  put(at, 'northBoundLatitude', north, '<f');
}

function put(at: Group, name: string, value: string | number, dtype: Dtype): void {
  at.create_attribute(name, value, [], dtype);
}

function entity<T extends Entity>(file: Hdf5File, place: string): T {
  const found = file.get(place);
  if (found === null) throw new Error(`${place}: missing from the S-102 template`);
  return found as T;
}

/** Both grids, south row first, a band of rows at a time. */
function writeRows(file: Hdf5File, { grid, depthM, uncertaintyM, count }: S102Surface, signal: AbortSignal | undefined): void {
  const { rows, cols } = grid;
  const cells = entity<Dataset>(file, 'BathymetryCoverage/BathymetryCoverage.01/Group_001/values');
  const ids = entity<Dataset>(file, 'QualityOfBathymetryCoverage/QualityOfBathymetryCoverage.01/Group_001/values');
  cells.resize([rows, cols]);
  ids.resize([rows, cols]);
  for (let rowStart = 0; rowStart < rows; rowStart += ROWS_AT_ONCE) {
    throwIfCancelled(signal);
    const n = Math.min(ROWS_AT_ONCE, rows - rowStart);
    const band = new Float32Array(n * cols * 2);
    const records = new Uint32Array(n * cols);
    for (let row = 0; row < n; row++) {
      let from = (rows - 1 - rowStart - row) * cols;
      for (let cell = row * cols; cell < (row + 1) * cols; cell++, from++) {
        const depth = depthM[from] as number;
        const uncertainty = uncertaintyM[from] as number;
        const isData = !Number.isNaN(depth);
        band[2 * cell] = isData ? depth : S102_FILL;
        band[2 * cell + 1] = isData && !Number.isNaN(uncertainty) ? uncertainty : S102_FILL;
        records[cell] = !isData ? 0 : (count[from] as number) > 0 ? MEASURED : FILLED;
      }
    }
    writeBlock(cells, new Uint8Array(band.buffer), [rowStart, 0], [n, cols]);
    writeBlock(ids, new Uint8Array(records.buffer), [rowStart, 0], [n, cols]);
  }
}

/** Bytes as the file holds them, little-endian: the library's own way with compounds builds each cell apart. */
function writeBlock(dataset: Dataset, bytes: Uint8Array, start: readonly number[], count: readonly number[]): void {
  const at = Module._malloc(bytes.byteLength);
  if (at === 0) throw new RangeError(`no memory for ${bytes.byteLength} bytes of HDF5`);
  try {
    Module.HEAPU8.set(bytes, at);
    const failed = Module.set_dataset_data(dataset.file_id, dataset.path, count.map(BigInt), start.map(BigInt), count.map(() => 1n), BigInt(at));
    if (failed !== 0) throw new Error(`${dataset.path}: HDF5 did not write it (${failed})`);
  } finally {
    Module._free(at);
  }
}

/** Bytes of one record: id, three flags, horizontal uncertainty, two days of 8, two texts of 150. */
const RECORD_BYTES = 4 + 3 + 4 + 16 + 300;
const TEXT_BYTES = 150;

function writeRecords(file: Hdf5File, surface: S102Surface): void {
  const table = entity<Dataset>(file, 'QualityOfBathymetryCoverage/featureAttributeTable');
  const rows = [
    { id: MEASURED, name: surface.surveyName },
    { id: FILLED, name: `Filled between soundings: ${surface.surveyName}` },
  ];
  table.resize([rows.length]);
  const bytes = new Uint8Array(rows.length * RECORD_BYTES);
  const view = new DataView(bytes.buffer);
  rows.forEach(({ id, name }, row) => {
    const at = row * RECORD_BYTES;
    view.setUint32(at, id, true);
    /* Assessed; neither full coverage nor soundings in every cell are claimed. */
    bytes.set([1, 0, 0], at + 4);
    view.setFloat32(at + 7, Number.isNaN(surface.positionUncertaintyM) ? S102_FILL : surface.positionUncertaintyM, true);
    bytes.set(cut(surface.firstDay, 8), at + 11);
    bytes.set(cut(surface.lastDay, 8), at + 19);
    bytes.set(cut(name, TEXT_BYTES), at + 27);
    bytes.set(cut(surface.authority, TEXT_BYTES), at + 27 + TEXT_BYTES);
  });
  writeBlock(table, bytes, [0], [rows.length]);
}

/** A text in ASCII, no longer than there is room: letters outside it stand as `?`. */
function cut(text: string, bytes: number): Uint8Array {
  return new TextEncoder().encode(text.replace(/[^\x20-\x7e]/gu, '?').slice(0, bytes));
}
