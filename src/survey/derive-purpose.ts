import { UseError } from '../base/errors.js';
import { convergenceDeg } from '../geo/bearing.js';
import { minimumAreaRectangle } from '../geo/hull.js';
import { boundsOfPolygons } from '../geo/ring.js';
import type { Polygon } from '../geo/shapes.js';
import { readGeoTiff } from '../formats/geotiff-read.js';
import { deriveLines } from '../lines/derive-lines.js';
import { DERIVED_LABELS, locksOf, sensorFor, valuesToSet } from '../lines/purpose-values.js';
import type { DerivedLines, DerivedName, KnownDepth, Sensor } from '../lines/objective.js';
import type { Desk } from './desk.js';
import { openFileSource } from './file-source.js';
import { insideFolder } from './folder.js';
import { readPlanPolygons } from './plan-files.js';
import type { Settings } from './settings.js';
import { boatIfAny } from './step-boat.js';
import { surveyFrame } from './survey-frame.js';

/** What looks at the bottom, as set or usual for the purpose. */
export function sensorOf(settings: Settings): Sensor {
  return sensorFor(settings.lines.purpose, settings.lines.sensor, settings.sounder);
}

async function depthOf(folder: string, settings: Settings): Promise<KnownDepth> {
  const { depthM } = settings.lines;
  if (depthM !== null) return { kind: 'number', depthM };
  const { bottom } = settings.rehearse;
  if (bottom.kind === 'constant' && bottom.depthM > 0) return { kind: 'number', depthM: bottom.depthM };
  if (bottom.kind === 'raster') {
    const source = await openFileSource(insideFolder(folder, bottom.file, 'rehearse.bottom.file'));
    try {
      const tiff = await readGeoTiff(source, { bands: [0] });
      if (tiff.kind === 'utm') return { kind: 'raster', raster: { grid: tiff.grid, values: tiff.bands[0]!.values } };
    } finally {
      await source.close();
    }
  }
  throw new UseError('lines: how deep is it? Lines for a purpose hang on the depth: add --depth METRES (lines.depthM), or an earlier survey as rehearse.bottom', { path: 'lines.depthM', fix: '--depth METRES' });
}

/** What the purpose made of the lines; null where they are the user's own. */
export interface DerivedPurpose {
  readonly derived: DerivedLines;
  /** Value, reason and source of each, a line each. */
  readonly text: readonly string[];
}

function valueText({ value, unit, locked }: DerivedLines[DerivedName]): string {
  const number = unit === '1' ? `${(100 * value).toFixed(0)} %` : `${Number(value.toFixed(2))} ${unit}`;
  return `${number}${locked ? ' (as set)' : ''}`;
}

/** What a purpose asks of the lines as the survey stands. @throws UseError where the depth is not known, or a figure is out of its limits */
async function deriveFor(folder: string, settings: Settings): Promise<{ readonly derived: DerivedLines; readonly area: readonly Polygon[] | null }> {
  const { purpose, locked } = settings.lines;
  if (purpose.kind === 'own') throw new RangeError('purpose own: expected one that lines are derived from');
  const frame = await surveyFrame(folder, settings);
  const area = frame === null ? null : await readPlanPolygons(folder, settings, 'area');
  const box = area === null || area.length === 0 ? null : boundsOfPolygons(area);
  let derived: DerivedLines;
  try {
    derived = deriveLines(purpose, sensorOf(settings), await depthOf(folder, settings), await boatIfAny(folder), {
      locks: locksOf(locked, settings.lines),
      convergenceDeg: frame === null || box === null ? 0 : convergenceDeg(frame, (box.westM + box.eastM) / 2, (box.southM + box.northM) / 2),
    });
  } catch (error) {
    throw error instanceof RangeError ? new UseError(`lines for ${purpose.kind}: ${error.message}`, { path: 'lines.purpose' }) : error;
  }
  return { derived, area };
}

/** How the spacing follows the depth, where the purpose has it so, the depth is known as a raster, and the spacing stands as derived; null where lines are evenly spaced. */
export async function spacingByDepth(folder: string, settings: Settings): Promise<((xM: number, yM: number) => number) | null> {
  const { purpose, locked, spacingM } = settings.lines;
  if (purpose.kind === 'own' || locked.includes('spacingM')) return null;
  try {
    const { derived } = await deriveFor(folder, settings);
    return Math.abs(derived.spacingM.value - spacingM) < 0.002 ? derived.spacingAtM : null;
  } catch (error) {
    if (error instanceof UseError) return null;
    throw error;
  }
}

/** Closer than this no small boat keeps its lines apart [m]; more lines than this are more than a survey (common practice, no source). */
const CLOSE_M = 1;
const MANY_LINES = 500;

/** A word where a spacing is not one that anybody would run. */
function sanity(spacingM: number, area: readonly Polygon[]): string[] {
  if (!(spacingM > 0)) return [];
  const lines = linesAlong(spacingM, area);
  const many = lines > MANY_LINES ? `some ${lines} lines along the area` : '';
  if (spacingM < CLOSE_M) return [`${Number(spacingM.toFixed(2))} m apart${many === '' ? '' : `, ${many}`}: closer than a boat keeps its lines; use a sensor that sees more of the bottom, or another purpose, or set the spacing and lock it`];
  return many === '' ? [] : [`${many}: see whether the spacing of ${Number(spacingM.toFixed(2))} m is meant, or take a sensor that sees more of the bottom`];
}

/** More lines than this are no plan, and would take minutes to lay. */
const MOST_LINES = 2000;

/** @throws UseError where a spacing would lay thousands of lines */
function refuseTooMany(derived: DerivedLines, area: readonly Polygon[]): void {
  const { value, why } = derived.spacingM;
  const lines = linesAlong(value, area);
  if (!(lines > MOST_LINES)) return;
  throw new UseError(`lines: ${Number(value.toFixed(2))} m apart, some ${lines} lines along the area: nothing is laid (${why}); use a sensor that sees more of the bottom, another purpose, or set the spacing and lock it: --spacing METRES --lock spacing`, {
    path: 'lines.purpose', expected: `at most ${MOST_LINES} lines`, found: String(lines), fix: '--spacing METRES --lock spacing',
  });
}

/** About how many lines an area takes across its narrow side; NaN without an area. */
function linesAlong(spacingM: number, area: readonly Polygon[]): number {
  return area.length === 0 ? NaN : Math.ceil(minimumAreaRectangle(Float64Array.from(area.flatMap(({ outer }) => [...outer]))).widthM / spacingM);
}

/**
 * Derives spacing, speed, heading, cross lines and run-in from the survey's purpose and puts them into survey.json, those that
 * are locked left as they are. What stood there before is kept, and given back when the purpose is the user's own again.
 * @param typed names of lines' settings the user has just given: those stay when the others are given back
 * @throws UseError where the depth is not known, or a figure is out of its limits
 */
export async function derivePurpose(desk: Desk, typed: readonly string[] = []): Promise<DerivedPurpose | null> {
  const { folder } = desk;
  const { settings } = await desk.summary();
  const { purpose, locked } = settings.lines;
  if (purpose.kind === 'own') {
    if (settings.lines.own === null) return null;
    for (const [name, value] of Object.entries(settings.lines.own)) if (!typed.includes(name)) await desk.set(`lines.${name}`, value);
    await desk.set('lines.own', null);
    return null;
  }
  const { derived, area } = await deriveFor(folder, settings);
  refuseTooMany(derived, area ?? []);
  if (settings.lines.own === null) {
    const { spacingM, speedMps, headingDeg, crossShare, runInM, runOutM } = settings.lines;
    await desk.set('lines.own', { spacingM, speedMps, headingDeg, crossShare, runInM, runOutM });
  }
  for (const { name, value } of valuesToSet(derived, locked)) await desk.set(`lines.${name}`, value);
  const names = Object.keys(DERIVED_LABELS) as DerivedName[];
  return {
    derived,
    text: [
      ...names.filter((name) => Number.isFinite(derived[name].value)).map((name) => `  ${DERIVED_LABELS[name].padEnd(14)}${valueText(derived[name])}: ${derived[name].why}; ${derived[name].source}`),
      ...[...derived.notes, ...sanity(derived.spacingM.value, area ?? [])].map((note) => `  ! ${note}`),
    ],
  };
}
