import type { Feature, FeatureCollection, Polygon as GeoJsonPolygon } from 'geojson';
import { UseError } from '../../base/errors.js';
import { parseUtc } from '../../base/time.js';
import { keepOutProperties, type DrawnKeepOut } from '../../geo/keep-out-properties.js';
import { createFrame, frameSettingFor, type Frame } from '../../geo/frame.js';
import { orientedPolygon } from '../../geo/ring.js';
import type { Polygon } from '../../geo/shapes.js';
import { shapesInFrame } from '../work/read-shapes.js';
import { isAbort } from '../work/call.js';
import type { PlanRequest } from '../work/messages.js';
import { linesWorker, makeLines, server } from './actions.js';
import { groundSettings } from './ground.js';
import { derive, overridden, purposeOf, savePurpose } from './purpose.js';
import { session, survey, type PlanDraft, type PlanOptions } from './stores.js';

const FALLBACK: PlanOptions = { spacingM: 20, headingDeg: null, crossShare: 0.05, runInM: 5, runOutM: 5, speedMps: 1.5 };

/** The plan as the folder has it, ready to be changed. */
export function openDraft(): PlanDraft {
  const now = session.get().plan;
  if (now !== null) return now;
  const { shapes, summary } = survey.get();
  const set = summary?.settings.lines;
  const draft: PlanDraft = {
    area: shapes.area.filter((shape) => shape.kind === 'polygon').map((shape) => shape.parts),
    options: set === undefined ? FALLBACK : { spacingM: set.spacingM, headingDeg: set.headingDeg, crossShare: set.crossShare, runInM: set.runInM, runOutM: set.runOutM, speedMps: set.speedMps },
    purpose: purposeOf(set),
    planned: null,
    changed: false,
    fault: null,
    where: [],
  };
  session.update((state) => ({ ...state, plan: draft }));
  if (draft.area.length > 0) void replan('full');
  if (draft.purpose.purpose.kind !== 'own') void derive(false);
  return draft;
}

/** Drops what was not saved. */
export function closeDraft(): void {
  session.update((now) => ({ ...now, plan: null }));
}

/** Part of the draft changed, where there is one. */
export function changeDraft(part: Partial<PlanDraft>): void {
  session.update((now) => (now.plan === null ? now : { ...now, plan: { ...now.plan, ...part } }));
}

export function setDraftArea(area: PlanDraft['area'], settled: boolean): void {
  openDraft();
  changeDraft({ area, changed: true });
  void replan(settled ? 'full' : 'drag');
}

export function setDraftOption<K extends keyof PlanOptions>(key: K, value: PlanOptions[K]): void {
  const draft = openDraft();
  changeDraft({ options: { ...draft.options, [key]: value }, changed: true });
  overridden(key);
  void replan('full');
}

let busy = false;
let wanted: 'drag' | 'full' | null = null;

/** Plans the lines of the draft in the worker; while one plan is made, only the latest wish waits. */
export async function replan(effort: 'drag' | 'full'): Promise<void> {
  wanted = effort;
  if (busy) return;
  busy = true;
  try {
    while (wanted !== null) {
      const now: 'drag' | 'full' = wanted;
      wanted = null;
      const draft = session.get().plan;
      const request = draft === null ? null : planRequest(draft, now);
      if (request === null) {
        changeDraft({ planned: null, fault: null, where: [] });
        continue;
      }
      try {
        const planned = await linesWorker.call('planLines', request);
        if ('fault' in planned) changeDraft({ planned: null, fault: planned.fault, where: planned.where });
        else changeDraft({ planned, fault: null, where: [] });
      } catch (error) {
        if (!isAbort(error)) changeDraft({ planned: null, where: [], fault: error instanceof Error ? error.message : String(error) });
      }
    }
  } finally {
    busy = false;
  }
}

/** A ring as pure rooms want it: without the first vertex repeated at its end. */
export function openRing(ring: Float64Array): Float64Array {
  const n = ring.length;
  return n >= 4 && ring[0] === ring[n - 2] && ring[1] === ring[n - 1] ? ring.slice(0, n - 2) : ring;
}

export function polygonOf(rings: readonly Float64Array[]): Polygon | null {
  const [outer, ...holes] = rings.map(openRing);
  return outer === undefined || outer.length < 6 ? null : orientedPolygon({ outer, holes });
}

/** Polygons of the chart with what is said of each; one whose properties make no sense is closed always. */
export function drawnKeepOuts(shapes: readonly { readonly kind: string; readonly parts: readonly Float64Array[]; readonly properties: Readonly<Record<string, unknown>> }[]): DrawnKeepOut[] {
  return shapes.flatMap(({ kind, parts, properties }): DrawnKeepOut[] => {
    const polygon = kind === 'polygon' ? polygonOf(parts) : null;
    if (polygon === null) return [];
    try {
      return [{ ...polygon, said: keepOutProperties(properties, 'plan/keepouts.geojson') }];
    } catch (error) {
      if (!(error instanceof UseError)) throw error;
      return [polygon];
    }
  });
}

function planRequest(draft: PlanDraft, effort: 'drag' | 'full'): PlanRequest | null {
  const { frame, shapes, summary } = survey.get();
  const area = draft.area.map(polygonOf).filter((polygon) => polygon !== null);
  if (frame === null || area.length === 0) return null;
  const set = summary?.settings.lines;
  return {
    frame: frame.setting,
    area,
    // Land is no-go as well, as it is where the folder's own lines are planned.
    keepouts: [...drawnKeepOuts(shapes.keepouts), ...drawnKeepOuts(shapes.shore).map(({ outer, holes }) => ({ outer, holes }))],
    options: { ...draft.options, minLengthM: set?.minLengthM ?? 5, insetM: set?.insetM ?? 0, keepoutM: set?.keepoutM ?? summary?.settings.sortie.clearanceM ?? 2, cells: set?.cells ?? false, edges: set?.edges ?? 'cut', effort },
    tide: { startS: summary === null || summary.settings.sortie.startUtc === null ? null : parseUtc(summary.settings.sortie.startUtc), needM: summary === null ? 0 : summary.settings.rehearse.draftM + summary.settings.rehearse.leastWaterM },
    byDepth: draft.purpose.purpose.kind !== 'own' && !draft.purpose.locked.includes('spacingM'),
    settings: summary === null || summary.settings.sortie.launch === null || summary.boat === null ? null : { ...groundSettings(summary.settings), lines: { ...summary.settings.lines, speedMps: draft.options.speedMps } },
  };
}

/** Plans the draft anew where there is one: the launch point, the boat or the water has changed. */
export function replanDraft(): void {
  if (session.get().plan !== null) void replan('full');
}

/** The draft's area as GeoJSON in WGS 84. */
export function areaGeoJson(area: PlanDraft['area'], frame: Frame): FeatureCollection<GeoJsonPolygon> {
  return {
    type: 'FeatureCollection',
    features: area.map((rings): Feature<GeoJsonPolygon> => ({
      type: 'Feature',
      properties: {},
      geometry: { type: 'Polygon', coordinates: rings.map((ring) => closed(lonLat(ring, frame))) },
    })),
  };
}

/** Vertices in WGS 84, to a tenth of a millimetre on the ground. */
export function lonLat(line: Float64Array, frame: Frame): [number, number][] {
  const out: [number, number][] = [];
  for (let i = 0; i + 1 < line.length; i += 2) {
    const [latDeg, lonDeg] = frame.toGeographic(line[i] as number, line[i + 1] as number);
    out.push([Number(lonDeg.toFixed(9)), Number(latDeg.toFixed(9))]);
  }
  return out;
}

/** A ring of the frame in WGS 84, closed. */
export function closedLonLat(ring: Float64Array, frame: Frame): [number, number][] {
  return closed(lonLat(ring, frame));
}

function closed(positions: [number, number][]): [number, number][] {
  const first = positions[0];
  const last = positions[positions.length - 1];
  if (first === undefined || last === undefined || (first[0] === last[0] && first[1] === last[1])) return positions;
  return [...positions, first];
}

/** Saves area and settings to the folder and has the folder's own step make the lines. */
export async function savePlan(): Promise<void> {
  const draft = session.get().plan;
  const { frame, summary } = survey.get();
  if (draft === null || frame === null || draft.area.length === 0) return;
  try {
    await server.writePlan('area', JSON.stringify(areaGeoJson(draft.area, frame)));
    const set = summary?.settings.lines;
    await savePurpose(draft.purpose, set);
    for (const key of Object.keys(draft.options) as (keyof PlanOptions)[]) {
      if (set?.[key] !== draft.options[key]) await server.set(`lines.${key}`, draft.options[key]);
    }
    changeDraft({ changed: false });
    session.update((now) => ({ ...now, said: 'plan saved', trouble: null }));
    await makeLines();
  } catch (error) {
    if (!isAbort(error)) session.update((now) => ({ ...now, trouble: error instanceof Error ? error.message : String(error) }));
  }
}

/** Opens an empty chart at a place, for a survey that has none yet. */
export function startAt(latDeg: number, lonDeg: number): void {
  if (survey.get().frame !== null) return;
  survey.update((now) => ({ ...now, frame: createFrame(frameSettingFor(latDeg, lonDeg)), startPlace: { latDeg, lonDeg } }));
}

/** Reads an area from a GeoJSON, KML or GPX file of the user's. Closed lines count as areas. */
export async function readAreaFile(file: File): Promise<void> {
  try {
    const text = await file.text();
    const collection = await areaFeatures(file.name, text);
    const first = firstPosition(collection);
    if (first === null) throw new Error(`${file.name}: expected at least one polygon or closed line, found none; draw the area on the chart instead`);
    startAt(first[1], first[0]);
    const { frame } = survey.get();
    if (frame === null) return;
    const shapes = shapesInFrame(collection, frame);
    const area = shapes
      .filter((shape) => shape.kind === 'polygon' || isClosed(shape.parts[0]))
      .map((shape) => shape.parts);
    if (area.length === 0) throw new Error(`${file.name}: expected at least one polygon or closed line, found ${shapes.length} open ${shapes.length === 1 ? 'line' : 'lines'}; close it, or draw the area on the chart`);
    openDraft();
    setDraftArea(area, true);
    session.update((now) => ({ ...now, trouble: null, said: `area read from ${file.name}` }));
  } catch (error) {
    session.update((now) => ({ ...now, trouble: error instanceof Error ? error.message : String(error) }));
  }
}

/** Whether a line ends where it began, within a metre. */
export function isClosed(line: Float64Array | undefined): boolean {
  if (line === undefined || line.length < 8) return false;
  return Math.hypot((line[0] as number) - (line[line.length - 2] as number), (line[1] as number) - (line[line.length - 1] as number)) < 1;
}

function firstPosition(collection: FeatureCollection): readonly [number, number] | null {
  const text = JSON.stringify(collection.features.map((feature) => (feature.geometry as { coordinates?: unknown } | null)?.coordinates ?? null));
  const found = /\[(-?[\d.eE+-]+),(-?[\d.eE+-]+)/.exec(text);
  return found === null ? null : [Number(found[1]), Number(found[2])];
}

/** The features of a GeoJSON, KML or GPX text. */
export async function areaFeatures(name: string, text: string): Promise<FeatureCollection> {
  const kind = name.toLowerCase().replace(/^.*\./, '');
  if (kind === 'kml' || kind === 'gpx') {
    const [{ default: GeoJSON }, { default: Reader }] = await Promise.all([import('ol/format/GeoJSON.js'), kind === 'kml' ? import('ol/format/KML.js') : import('ol/format/GPX.js')]);
    const features = new Reader().readFeatures(text);
    return new GeoJSON().writeFeaturesObject(features) as FeatureCollection;
  }
  let parsed: unknown;
  try {
    parsed = JSON.parse(text);
  } catch {
    throw new Error(`${name}: expected GeoJSON, KML or GPX, found neither; an area can also be drawn on the chart`);
  }
  const shape = parsed as { type?: string };
  if (shape.type === 'FeatureCollection') return parsed as FeatureCollection;
  if (shape.type === 'Feature') return { type: 'FeatureCollection', features: [parsed as Feature] };
  return { type: 'FeatureCollection', features: [{ type: 'Feature', properties: {}, geometry: parsed as GeoJsonPolygon }] };
}
