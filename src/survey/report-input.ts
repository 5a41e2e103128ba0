import { readFile, stat } from 'node:fs/promises';
import type { Polyline } from '../geo/shapes.js';
import type { Frame } from '../geo/frame.js';
import { readGeoJsonArea } from '../formats/geojson-read.js';
import { polygonsFromLonLat } from '../geo/area-polygons.js';
import { contourLines } from '../depths/contour.js';
import { palettePng } from '../report/png.js';
import type { ReportContour, ReportCrossings, ReportGap, ReportInput, ReportLine, ReportMade, ReportSource } from '../report/report-input.js';
import { readGeoTiffOverview } from '../formats/geotiff-overview.js';
import { hashFile, openFileSource } from './file-source.js';
import { PLACES, isThere, placeIn, readTextIfThere } from './folder.js';
import { IMAGERY_PLACES } from './imagery-files.js';
import { magneticVariationDeg, VARIATION_MODEL } from './magnetic-variation.js';
import { readLineFeatures, readPlanPolygons } from './plan-files.js';
import { findsOf } from './step-finds.js';
import { soundingsOf } from './step-soundings.js';
import { surfaceOf } from './step-surface.js';
import { trackOf } from './step-tracks.js';
import { madePlace, type MadeRecord, type StepWork } from './step-graph.js';
import { formatUtcDate } from '../base/time.js';
import type { SurveySummary } from './summary.js';
import { surveyFrame } from './survey-frame.js';
import { levelReadings, waterFilesOf } from './water-files.js';

/** Version of the program, for the report. */
export async function programVersion(): Promise<string> {
  const text = await readFile(new URL('../../package.json', import.meta.url), 'utf8');
  return (JSON.parse(text) as { version: string }).version;
}

function toFrameLine(lonLat: readonly number[], frame: Frame): Polyline {
  const line = new Float64Array(lonLat.length);
  for (let i = 0; i < lonLat.length; i += 2) [line[i], line[i + 1]] = frame.toFrame(lonLat[i + 1] as number, lonLat[i] as number);
  return line;
}

export async function planLines(folder: string, frame: Frame): Promise<ReportLine[]> {
  const lines = (await readLineFeatures(folder)) ?? [];
  return lines.map(({ number, kind, headingDeg, lengthM, lonLat }) => ({ number, kind, headingDeg, lengthM, line: toFrameLine(lonLat, frame) }));
}

interface FeatureFile {
  readonly features: readonly { readonly geometry: { readonly coordinates: readonly (readonly number[])[] }; readonly properties: Record<string, unknown> }[];
}

async function featuresOf(folder: string, place: string): Promise<FeatureFile['features']> {
  const text = await readTextIfThere(placeIn(folder, place));
  return text === null ? [] : (JSON.parse(text) as FeatureFile).features;
}

export async function fillLines(folder: string, frame: Frame): Promise<ReportLine[]> {
  return (await featuresOf(folder, PLACES.fillIn)).map(({ geometry, properties }) => ({
    number: Number(properties['number']),
    kind: 'fill-in',
    headingDeg: Number(properties['headingDeg'] ?? NaN),
    lengthM: Number(properties['lengthM'] ?? NaN),
    line: toFrameLine(geometry.coordinates.flatMap((position) => [position[0] as number, position[1] as number]), frame),
  }));
}

export async function gapsOf(folder: string, frame: Frame): Promise<ReportGap[]> {
  const features = await featuresOf(folder, PLACES.gaps);
  return features.map((feature, index) => {
    const { polygons } = readGeoJsonArea(JSON.stringify({ type: 'FeatureCollection', features: [feature] }), PLACES.gaps);
    const polygon = polygonsFromLonLat(polygons, frame, `gap ${index + 1}`)[0]!;
    return { number: Number(feature.properties['number']), areaM2: Number(feature.properties['areaM2']), widthM: Number(feature.properties['widthM'] ?? NaN), polygon };
  });
}

async function madeOf(folder: string, steps: readonly string[]): Promise<ReportMade[]> {
  const made: ReportMade[] = [];
  for (const step of steps) {
    const text = await readTextIfThere(placeIn(folder, madePlace(step)));
    if (text === null) continue;
    const record = JSON.parse(text) as MadeRecord;
    made.push({
      step,
      version: String(record.version),
      inputs: Object.entries(record.inputs).filter(([, sha256]) => sha256 !== 'none').map(([path, sha256]) => ({ path, sha256 })),
      outputs: Object.entries(record.outputs).map(([path, { sha256 }]) => ({ path, sha256 })),
    });
  }
  return made;
}

async function sourcesOf(work: StepWork): Promise<ReportSource[]> {
  const { level } = work.settings.water;
  const named: [string, string][] = [
    ['area', PLACES.area],
    ['keep-outs', PLACES.keepouts],
    ['shore', PLACES.shore],
    ['lines as planned', PLACES.lines],
    ...waterFilesOf(work.settings).map(([setting, file]): [string, string] => [
      setting.startsWith('water.soundSpeed') ? 'sound-speed profile' : setting.endsWith('separation.file') ? 'separation model' : level.kind === 'constituents' || file.toLowerCase().endsWith('.json') ? 'tidal constituents' : 'water level series',
      file,
    ]),
    ['settings', PLACES.settings],
  ];
  const sources: ReportSource[] = [];
  for (const [role, place] of named) {
    const file = placeIn(work.folder, place);
    if (!(await isThere(file))) continue;
    sources.push({ role, path: place, bytes: (await stat(file)).size, sha256: await hashFile(file) });
  }
  return sources;
}

/** Contours for the report: of this run, or drawn again from the surface with the same settings. */
export function contoursOf(work: StepWork, surface: Awaited<ReturnType<typeof surfaceOf>>): ReportContour[] {
  if (surface === null) return [];
  const held = work.memory.get('contours') as ReturnType<typeof contourLines> | undefined;
  const { intervalM, smooth } = work.settings.contours;
  const contours = held ?? contourLines({ grid: surface.grid, values: surface.depthM }, { intervalM, smooth, minLengthM: 4 * surface.grid.cellM });
  return contours.lines.map((line, i) => ({ depthM: contours.levelM[i] as number, line }));
}

/** Columns of the mosaic's picture in the report, at least where it has them: 0.1 mm each in print. */
const PICTURE_COLS = 900;
/** Paper, and greys from black to nearly white: speckle hides the steps between them. */
const GREYS = 15;
const INKS = ['#ffffff', ...Array.from({ length: GREYS }, (_, step) => `#${Math.round((step * 238) / (GREYS - 1)).toString(16).padStart(2, '0').repeat(3)}`)];
/** Levels of the mosaic from black to white: 12 dB to either side of 128. */
const [BLACK, WHITE] = [80, 176];

/** The mosaic as a picture for print; null where there is none. */
async function mosaicForReport(work: StepWork): Promise<ReportInput['mosaic']> {
  const place = placeIn(work.folder, IMAGERY_PLACES.mosaic);
  if (!(await isThere(place))) return null;
  const source = await openFileSource(place);
  try {
    const { grid, values, fullCellM } = await readGeoTiffOverview(source, PICTURE_COLS, work.context.signal);
    const pixels = Uint8Array.from(values, (level) => (level === 0 ? 0 : 1 + Math.min(GREYS - 1, Math.max(0, Math.round(((level - BLACK) * (GREYS - 1)) / (WHITE - BLACK))))));
    return { png: palettePng(pixels, grid.cols, grid.rows, INKS), cols: grid.cols, rows: grid.rows, cellM: grid.cellM, cellFullM: fullCellM };
  } finally {
    await source.close();
  }
}

/** Finds with their pictures; null where there is no side-scan log. */
async function findsForReport(work: StepWork): Promise<ReportInput['finds']> {
  const file = await findsOf(work);
  if (file === null) return null;
  const chips = new Map<string, Uint8Array>();
  for (const { chip } of file.sightings) if (chip !== null && (await isThere(placeIn(work.folder, chip)))) chips.set(chip, await readFile(placeIn(work.folder, chip)));
  return { file, chips };
}

/** Everything the report is made of, read from the folder or from this run's memory. */
export async function gatherReportInput(work: StepWork, summary: SurveySummary): Promise<ReportInput> {
  const { folder, settings } = work;
  const frame = await surveyFrame(folder, settings, work.logs);
  const polygons = async (file: 'area' | 'keepouts' | 'shore') => (await readPlanPolygons(folder, settings, file)) ?? [];
  const soundings = frame === null ? null : await soundingsOf(work);
  const surface = frame === null ? null : await surfaceOf(work);
  const crossingsText = await readTextIfThere(placeIn(folder, PLACES.crossings));
  const first = summary.soundings === null || !(summary.soundings.total > 0) ? NaN : summary.soundings.timeStartS;
  const middle = surface === null || frame === null ? null : frame.toGeographic(surface.grid.westM + (surface.grid.cols * surface.grid.cellM) / 2, surface.grid.northM - (surface.grid.rows * surface.grid.cellM) / 2);
  const variationDeg = settings.heading.variationDeg ?? (middle === null ? null : magneticVariationDeg(middle[0], middle[1], first));
  return {
    summary,
    frame,
    soundings,
    track: frame === null ? null : await trackOf(work),
    surface,
    contours: contoursOf(work, surface),
    gaps: frame === null ? [] : await gapsOf(folder, frame),
    area: await polygons('area'),
    keepouts: await polygons('keepouts'),
    shore: await polygons('shore'),
    planLines: frame === null ? [] : await planLines(folder, frame),
    fillLines: frame === null ? [] : await fillLines(folder, frame),
    crossings: crossingsText === null ? null : (JSON.parse(crossingsText) as ReportCrossings),
    mosaic: await mosaicForReport(work),
    finds: await findsForReport(work),
    waterLevel: await levelReadings(folder, settings),
    variation: variationDeg === null || !Number.isFinite(first) ? null : { variationDeg, date: formatUtcDate(first), source: settings.heading.variationDeg === null ? VARIATION_MODEL : 'set by hand' },
    sources: await sourcesOf(work),
    made: await madeOf(folder, ['observations', 'tracks', 'soundings', 'surface', 'contours', 'gaps', 'pings', 'bottom', 'sonar-track', 'mosaic', 'sightings', 'finds', 'search', 'products']),
    versions: [{ name: 'tallow', version: await programVersion() }],
  };
}
