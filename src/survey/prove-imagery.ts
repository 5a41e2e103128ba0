import { mkdtemp, rm } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import type { WorkContext } from '../base/progress.js';
import { chanceLimits95 } from '../finds/lateral-range.js';
import { readGeoTiff } from '../formats/geotiff-read.js';
import type { ColumnData } from '../formats/parquet-columns.js';
import { compareImagery, type FoundThing, type ImageryFigures, type ImageryTruth } from '../proving/compare-imagery.js';
import { compareMosaic } from '../proving/compare-mosaic.js';
import type { ErrorFigures } from '../proving/error-figures.js';
import { CURVE_PER_HA, foundCurve, type FoundPoint, type SeenThing } from '../proving/found-curve.js';
import { imageryVerdict } from '../proving/imagery-verdict.js';
import { createSideScanGround, SIDE_SCAN_GROUNDS, type SideScanGround, type SideScanGroundKind, type SideScanGroundOptions } from '../proving/side-scan-survey.js';
import type { ProvingPromise } from '../proving/verdict.js';
import { writeAtomic } from './atomic-file.js';
import { readColumnsFile } from './columns-file.js';
import { openFileSource } from './file-source.js';
import { readFinds } from './finds-file.js';
import { createFolder, placeIn } from './folder.js';
import { IMAGERY_PLACES } from './imagery-files.js';
import { defaultSettings } from './load-settings.js';
import { readManifest } from './manifest.js';
import { openDesk, type FullDesk } from './open-desk.js';
import type { SettingsInput } from './settings.js';
import { PINGS_PLACE } from './step-pings.js';
import { writeSideScans } from './write-side-scans.js';

export { pooledCurve } from '../proving/found-curve.js';

/** Kinds of ground there are. */
export const IMAGERY_GROUNDS = SIDE_SCAN_GROUNDS;

/** What one side-scan survey of the proving ground came to. */
export interface ImageryProof {
  readonly seed: number;
  readonly ground: SideScanGroundKind;
  readonly figures: ImageryFigures;
  /** How far off objects of 0.8 m and larger show in the mosaic [m]. */
  readonly mosaic: ErrorFigures;
  /** Found against false by the threshold asked for. */
  readonly curve: readonly FoundPoint[];
  readonly promises: readonly ProvingPromise[];
  readonly seconds: { readonly made: number; readonly built: number };
}

/** A survey folder of side-scan ground: its logs taken in, nothing built. */
export async function makeSideScanFolder(folder: string, ground: SideScanGround, context: WorkContext): Promise<FullDesk> {
  await createFolder(folder, ground.settings as unknown as SettingsInput);
  const desk = await openDesk(folder);
  const logs = await mkdtemp(path.join(os.tmpdir(), 'tallow-scans-'));
  try {
    await writeAtomic(path.join(logs, ground.nmea.file), ground.nmea.bytes);
    const scans = await writeSideScans(logs, ground.logs, context);
    await desk.takeIn([path.join(logs, ground.nmea.file), ...scans], context);
  } finally {
    await rm(logs, { recursive: true, force: true });
  }
  return desk;
}

/**
 * Makes a side-scan survey on one kind of ground, runs the chain over it as far as finds, and holds what stands in the
 * survey's own files against the truth.
 *
 * @param folder where to keep the survey; null: it is removed when done
 */
export async function proveImagery(folder: string | null, seed: number, kind: SideScanGroundKind, now: () => number, context: WorkContext, changes: Partial<SideScanGroundOptions> = {}): Promise<ImageryProof> {
  const temporary = folder === null ? await mkdtemp(path.join(os.tmpdir(), 'tallow-prove-')) : null;
  const target = folder ?? path.join(temporary as string, 'survey');
  try {
    const began = now();
    // Some as the one format, some as the other.
    const form = kind === 'gravel' || kind === 'mixed' ? 'nc' : 'segy';
    const ground = createSideScanGround(seed, { form, ...changes, ground: kind });
    const desk = await makeSideScanFolder(target, ground, context);
    const made = now();
    await desk.build(context, 'finds');
    const built = now();
    const figures = await figuresOf(target, ground);
    const mosaic = await mosaicFigures(target, ground);
    const curve = await curveOf(desk, ground, figures, context);
    return { seed, ground: kind, figures, mosaic, curve, promises: [...imageryVerdict(figures, mosaic, kind), ...(kind === 'plain' ? findPromises(figures, curve) : [])], seconds: { made: (made - began) / 1000, built: (built - made) / 1000 } };
  } finally {
    if (temporary !== null) await rm(temporary, { recursive: true, force: true });
  }
}

async function figuresOf(folder: string, ground: SideScanGround): Promise<ImageryFigures> {
  const pings = await readColumnsFile(placeIn(folder, PINGS_PLACE), ['log', 'record']);
  const bottom = await readColumnsFile(placeIn(folder, IMAGERY_PLACES.bottom), ['heightM']);
  const track = await readColumnsFile(placeIn(folder, IMAGERY_PLACES.track), ['xM', 'yM', 'headingDeg', 'fault', 'line']);
  const numbers = (columns: Readonly<Record<string, ColumnData>>, name: string): ArrayLike<number> => columns[name] as unknown as ArrayLike<number>;
  const rows = {
    n: pings['log']!.length,
    log: numbers(pings, 'log'),
    record: numbers(pings, 'record'),
    heightM: numbers(bottom, 'heightM'),
    xM: numbers(track, 'xM'),
    yM: numbers(track, 'yM'),
    headingDeg: numbers(track, 'headingDeg'),
    fault: numbers(track, 'fault'),
    line: numbers(track, 'line'),
  };
  const { logs } = await readManifest(folder);
  return compareImagery(truthOf(ground), logs.map(({ file }) => file), rows, await findsOf(folder), ground.sonar.rangeM);
}

function truthOf(ground: SideScanGround): ImageryTruth {
  return { pings: ground.truth.pings, objects: ground.objects, looks: ground.truth.looks };
}

/** Looks the survey over once more for the weakest candidates of the curve, and leaves it as it was. */
async function curveOf(desk: FullDesk, ground: SideScanGround, figures: ImageryFigures, context: WorkContext): Promise<FoundPoint[]> {
  if (figures.false === null) return [];
  const { falsePerHa } = (await desk.summary()).settings.finds;
  await desk.set('finds.falsePerHa', CURVE_PER_HA[CURVE_PER_HA.length - 1]);
  await desk.build(context, 'finds');
  const { sightings } = (await readFinds(desk.folder))!;
  const { logs } = await readManifest(desk.folder);
  const scan = logs.find(({ file }) => file.endsWith(ground.logs[0]!.file))!;
  const seen = sightings.filter(({ log }) => scan.sha256.startsWith(log)).map(({ record, side, place: { xM, yM }, falsePerHa: each }): SeenThing => ({ log: 0, record, side, xM, yM, falsePerHa: each }));
  await desk.set('finds.falsePerHa', falsePerHa);
  await desk.build(context, 'finds');
  return foundCurve(truthOf(ground), seen, figures.false, ground.sonar.rangeM);
}

/** What is promised of finds on plain ground with default settings. One survey has few looks: it fails where even their 95 % limit falls short. */
function findPromises({ false: wrong }: ImageryFigures, curve: readonly FoundPoint[]): ProvingPromise[] {
  const usualPerHa = defaultSettings({ name: 'usual' }).finds.falsePerHa;
  const usual = curve.find(({ askedPerHa }) => askedPerHa === usualPerHa);
  if (wrong === null || usual === undefined) return [];
  const { count, of, share } = usual.clearLooks;
  return [
    { what: 'clear looks at objects of 0.5 m and larger that found them', limit: 'at least 90 %, as far as so few can tell', found: share, unit: 'share', met: of === 0 || chanceLimits95(count, of)[1] >= 0.9 },
    { what: 'finds of no object', limit: 'at most 2 a hectare looked over', found: wrong.perLookedHa, unit: 'perHa', met: wrong.perLookedHa <= 2 },
  ];
}

async function mosaicFigures(folder: string, ground: SideScanGround): Promise<ErrorFigures> {
  const source = await openFileSource(placeIn(folder, IMAGERY_PLACES.mosaic));
  try {
    const tiff = await readGeoTiff(source, { bands: [0] });
    if (tiff.kind !== 'utm') throw new RangeError('mosaic.tif: expected a raster in the survey\'s frame');
    return compareMosaic({ grid: tiff.grid, values: tiff.bands[0]!.values }, ground.objects);
  } finally {
    await source.close();
  }
}

/** Finds as they stand in the folder; null where there is no such file. */
async function findsOf(folder: string): Promise<FoundThing[] | null> {
  const file = await readFinds(folder);
  if (file === null) return null;
  return file.finds.filter(({ state }) => state !== 'rejected').map(({ place, height }) => ({ ...place, heightM: height.value, heightSigmaM: height.sigma }));
}
