import type { ByteSink } from '../base/byte-source.js';
import { formatUtc } from '../base/time.js';
import { REASONS } from '../depths/soundings.js';
import { writeDxfContours } from '../formats/dxf-write.js';
import { writeGeoPackage, type GeoPackageLayer } from '../formats/geopackage-write.js';
import { utmWkt } from '../formats/utm-wkt.js';
import { pictureAuxText, worldFileText } from '../formats/world-file.js';
import { writeXyz } from '../formats/xyz-write.js';
import { cellCentre } from '../geo/raster.js';
import { shadedSurface } from '../report/chart-shaded.js';
import { formatNumber } from '../report/figures.js';
import type { ReportContour, ReportGap, ReportLine } from '../report/report-input.js';
import type { Polygon } from '../geo/shapes.js';
import type { Frame } from '../geo/frame.js';
import { findName, findSize, type FindsFile } from './finds-file.js';
import { datumCode } from './product-sources.js';
import type { PlacedSoundings } from './soundings-file.js';
import { sqlEngine } from './sql-engine.js';
import type { StepWork } from './step-graph.js';
import type { StoredSurface } from './step-surface.js';
import { depthsBelow } from '../water/depth-datum.js';

/** All that products are made of, gathered once. */
export interface HandOver {
  readonly work: StepWork;
  readonly frame: Frame;
  readonly soundings: PlacedSoundings;
  readonly surface: StoredSurface | null;
  readonly contours: readonly ReportContour[];
  readonly gaps: readonly ReportGap[];
  readonly planLines: readonly ReportLine[];
  readonly fillLines: readonly ReportLine[];
  readonly area: readonly Polygon[];
  readonly keepouts: readonly Polygon[];
  /** Time of the first and last good sounding [s]; NaN where there is none. */
  readonly span: readonly [startS: number, endS: number];
  readonly finds: FindsFile | null;
  readonly provenance: readonly string[];
}

/** A contour is a major one at every so many intervals. Common practice. */
const MAJOR_EVERY = 5;

/** The surface as S-102; null where there is none. */
export async function s102Bytes({ work, frame, soundings, surface, span }: HandOver): Promise<Uint8Array | null> {
  if (surface === null || Number.isNaN(span[0])) return null;
  const day = (timeS: number): string => formatUtc(timeS, 0).slice(0, 10).replaceAll('-', '');
  const { settings } = work;
  // The HDF5 library is read only where a file of it is made.
  const { writeS102 } = await import('../formats/s102-write.js');
  return writeS102(
    {
      frame: frame.setting, ...surface, datumCode: datumCode(work).code, issueDate: day(span[1]), firstDay: day(span[0]), lastDay: day(span[1]),
      positionUncertaintyM: medianOfGood(soundings), surveyName: `${settings.name} (not for navigation)`, authority: settings.products.authority === '' ? 'not stated' : settings.products.authority,
    },
    work.context.signal,
  );
}

/** Median horizontal uncertainty of the good soundings, 95 % [m]. */
function medianOfGood({ thuM, reason }: PlacedSoundings): number {
  const good = thuM.filter((value, i) => reason[i] === 0 && !Number.isNaN(value)).sort();
  return good.length === 0 ? NaN : (good[good.length >> 1] as number);
}

/** Everything with a place as one GeoPackage. */
export async function geoPackageBytes(over: HandOver): Promise<Uint8Array> {
  const { work, frame, soundings, span } = over;
  const names = REASONS.map(({ name }) => name);
  const found = (over.finds?.finds ?? []).filter(({ state }) => state !== 'rejected');
  const files = work.logs.map(({ file }) => file);
  const lineRow = ({ number, kind, headingDeg, lengthM }: ReportLine) => [number, kind, headingDeg, lengthM];
  const lineColumns = [['number', 'INTEGER'], ['kind', 'TEXT'], ['heading_deg', 'REAL'], ['length_m', 'REAL']] as const;
  const numbered = (polygons: readonly Polygon[]) => polygons.map((shape, i) => ({ shape, row: [i + 1] }));
  const below = `metres below ${depthsBelow(work.settings)}, positive down; not for navigation`;
  const layers: GeoPackageLayer[] = [
    {
      kind: 'POINT', name: 'soundings', title: 'Soundings', description: `Every sounding that has a place; those set aside keep their reason. Depths in ${below}. tvu_m and thu_m: 95 %.`,
      columns: [['time_utc', 'DATETIME'], ['depth_m', 'REAL'], ['tvu_m', 'REAL'], ['thu_m', 'REAL'], ['good', 'BOOLEAN'], ['reason', 'TEXT'], ['line', 'INTEGER'], ['log', 'TEXT'], ['record', 'INTEGER']],
      n: soundings.n, xM: soundings.xM, yM: soundings.yM,
      row: (i) => {
        const reason = soundings.reason[i] as number;
        const line = soundings.line[i] as number;
        return [
          formatUtc(soundings.timeS[i] as number, 3), shown(soundings.depthM[i]), shown(soundings.tvuM[i]), shown(soundings.thuM[i]), reason === 0 ? 1 : 0, reason === 0 ? null : (names[reason] ?? null),
          line < 0 ? null : line, files[soundings.log[i] as number] ?? null, soundings.record[i] as number,
        ];
      },
    },
    {
      kind: 'LINESTRING', name: 'contours', title: 'Depth contours', description: `Depths in ${below}.`, columns: [['depth_m', 'REAL'], ['major', 'BOOLEAN']],
      features: over.contours.map(({ depthM, line }) => ({ shape: line, row: [depthM, isMajor(depthM, majorM(work)) ? 1 : 0] })),
    },
    {
      kind: 'POLYGON', name: 'gaps', title: 'Gaps', description: 'Unsurveyed holes in the area, largest first.', columns: [['number', 'INTEGER'], ['area_m2', 'REAL'], ['width_m', 'REAL']],
      features: over.gaps.map(({ number, areaM2, widthM, polygon }) => ({ shape: polygon, row: [number, areaM2, widthM] })),
    },
    { kind: 'LINESTRING', name: 'planned_lines', title: 'Lines as planned', description: 'Main and cross lines.', columns: lineColumns, features: over.planLines.map((line) => ({ shape: line.line, row: lineRow(line) })) },
    { kind: 'LINESTRING', name: 'fill_in_lines', title: 'Fill-in lines', description: 'Lines that fill the gaps.', columns: lineColumns, features: over.fillLines.map((line) => ({ shape: line.line, row: lineRow(line) })) },
    { kind: 'POLYGON', name: 'area', title: 'Survey area', description: 'Limit of the survey.', columns: [['number', 'INTEGER']], features: numbered(over.area) },
    { kind: 'POLYGON', name: 'keep_outs', title: 'Keep-outs', description: 'Where the boat must not go.', columns: [['number', 'INTEGER']], features: numbered(over.keepouts) },
    {
      kind: 'POINT', name: 'finds', title: 'Finds', description: 'Things located on the bottom, those rejected left out; kind is their state, thu_m the longest half-axis of the 95 % ellipse. Lifting or disturbing anything is for licensed people under local rules.',
      columns: [['number', 'INTEGER'], ['kind', 'TEXT'], ['depth_m', 'REAL'], ['length_m', 'REAL'], ['width_m', 'REAL'], ['height_m', 'REAL'], ['thu_m', 'REAL'], ['time_utc', 'DATETIME'], ['remark', 'TEXT']],
      n: found.length, xM: found.map(({ place }) => place.xM), yM: found.map(({ place }) => place.yM),
      row: (i) => {
        const find = found[i]!;
        const seen = over.finds?.sightings.find(({ id }) => id === find.sightings[0]);
        const known = (value: number): number | null => (Number.isFinite(value) ? shown(value) : null);
        return [find.number, find.state, null, known(find.length.value), known(find.width.value), known(find.height.value), shown(findSize(find).major95M), seen === undefined ? null : formatUtc(seen.timeS, 3), [findName(find), find.description, find.why].filter((part) => part !== '').join(': ')];
      },
    },
  ];
  return writeGeoPackage(await sqlEngine(), { frame: frame.setting, layers, timeS: Number.isNaN(span[1]) ? 0 : span[1], provenance: over.provenance.join('\n') }, work.context.signal);
}

/** A depth in single precision as it is meant: to the millimetre. */
function shown(value: number | undefined): number {
  return Math.round((value ?? NaN) * 1000) / 1000;
}

function majorM(work: StepWork): number {
  return MAJOR_EVERY * work.settings.contours.intervalM;
}

function isMajor(depthM: number, everyM: number): boolean {
  return Math.abs(depthM / everyM - Math.round(depthM / everyM)) < 1e-6;
}

/** Contours as DXF. */
export function writeContoursDxf({ work, contours, provenance }: HandOver, sink: ByteSink): Promise<void> {
  return writeDxfContours(sink, { depthM: contours.map(({ depthM }) => depthM), lines: contours.map(({ line }) => line), majorM: majorM(work), remarks: [...provenance, 'Elevation is minus depth.'] });
}

/** Good soundings as plain text. */
export function writeSoundingsXyz({ soundings: { n, xM, yM, depthM, reason } }: HandOver, sink: ByteSink): Promise<number> {
  return writeXyz(sink, n, (i) => [xM[i] as number, yM[i] as number], (i) => (reason[i] === 0 ? (depthM[i] as number) : NaN));
}

/** The surface's cells that hold a depth, as plain text, from the north-west row by row. */
export function writeSurfaceXyz({ grid, depthM }: StoredSurface, sink: ByteSink): Promise<number> {
  return writeXyz(sink, depthM.length, (i) => cellCentre(grid, Math.floor(i / grid.cols), i % grid.cols), (i) => depthM[i] as number);
}

/** What the .xyz files do not say. */
export function xyzReadme({ provenance, surface }: HandOver): string {
  return [
    ...provenance,
    '',
    'Each line of soundings.xyz and surface.xyz: east north depth, metres, parted by a space.',
    'Depth is positive down; a negative depth dries. soundings.xyz holds the good soundings in time order.',
    ...(surface === null ? [] : [`surface.xyz holds the middles of the surface's cells of ${formatNumber(surface.grid.cellM, 2)} m, those filled between soundings included.`]),
    '',
  ].join('\r\n');
}

/** The surface as a picture with the files that place it, by name. */
export function shadedFiles({ work, frame, provenance }: HandOver, surface: StoredSurface): Readonly<Record<string, Uint8Array | string>> {
  const { png, stretch, breaks } = shadedSurface(surface, work.settings.contours.intervalM, { Title: work.settings.name, Description: provenance.join(' ') });
  return {
    'surface-shaded.png': png,
    'surface-shaded.pgw': worldFileText(surface.grid),
    'surface-shaded.prj': utmWkt(frame.setting),
    'surface-shaded.png.aux.xml': pictureAuxText(frame.setting, { caution: 'not for navigation', description: provenance.join(' '), light: `from the north-west, 45 degrees up; heights stretched ${stretch} times for the light alone`, tints: `change at ${breaks.join(', ')} m` }),
  };
}
