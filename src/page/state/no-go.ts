import type { Feature, FeatureCollection, Polygon as GeoJsonPolygon } from 'geojson';
import { shapesInFrame } from '../work/read-shapes.js';
import { refresh, server } from './actions.js';
import { areaFeatures, changeDraft, closedLonLat, isClosed, openDraft, replanDraft } from './plan.js';
import { SHAPE_FILES, screen, session, survey } from './stores.js';

/** What the boat must keep off: keep-outs, and land. */
export type NoGoFile = 'keepouts' | 'shore';

/** What may be said of a keep-out, as docs/formats.md has it. */
export const KEEP_OUT_FIELDS = ['clearanceM', 'dryingHeightM', 'depthM'] as const;
export type KeepOutField = (typeof KEEP_OUT_FIELDS)[number];

type NoGoFeature = Feature<GeoJsonPolygon>;

/** Files written on this page before the state says that they are there. */
const written = new Set<string>();

/** The shapes of the folder's file, with all that is said of them: the file itself, since what the page shows may be a moment old. */
async function standing(which: NoGoFile): Promise<NoGoFeature[]> {
  const place = SHAPE_FILES[which];
  if (survey.get().server?.planFiles.includes(place) !== true && !written.has(place)) return [];
  const answer = await fetch(`/files/${place}`, { cache: 'no-store' });
  if (!answer.ok) throw new Error(`${place}: the server answered ${answer.status}; nothing was changed`);
  return ((await answer.json()) as FeatureCollection<GeoJsonPolygon>).features;
}

let queue: Promise<void> = Promise.resolve();

/** One change after the other, each on what the one before has left. */
function change(which: NoGoFile, said: string, make: (features: NoGoFeature[]) => readonly NoGoFeature[]): Promise<void> {
  queue = queue.then(async () => {
    try {
      const collection: FeatureCollection<GeoJsonPolygon> = { type: 'FeatureCollection', features: [...make(await standing(which))] };
      await server.writePlan(which, JSON.stringify(collection));
      written.add(SHAPE_FILES[which]);
      session.update((now) => ({ ...now, said, trouble: null }));
      await refresh();
      // The lines follow at once, and are kept when the plan is saved.
      openDraft();
      changeDraft({ changed: true });
      replanDraft();
    } catch (error) {
      session.update((now) => ({ ...now, trouble: error instanceof Error ? error.message : String(error) }));
    }
  });
  return queue;
}

/** A shape drawn on the chart becomes a keep-out or land; journalled, so that Undo takes it back. */
export async function addNoGo(which: NoGoFile, vertices: Float64Array): Promise<void> {
  const { frame } = survey.get();
  screen.update((now) => ({ ...now, tool: 'look' }));
  if (frame === null || vertices.length < 6) return;
  const drawn: NoGoFeature = { type: 'Feature', properties: {}, geometry: { type: 'Polygon', coordinates: [closedLonLat(vertices, frame)] } };
  await change(which, which === 'keepouts' ? 'keep-out drawn' : 'land drawn', (features) => [...features, drawn]);
}

/** Takes one of them away. */
export async function removeNoGo(which: NoGoFile, index: number): Promise<void> {
  await change(which, which === 'keepouts' ? 'keep-out taken away' : 'land taken away', (features) => features.filter((_, i) => i !== index));
}

/** Says something of a keep-out, or no longer (null). A drying height and a depth are one thing: the other goes. */
export async function setKeepOut(index: number, field: KeepOutField, value: number | null): Promise<void> {
  await change('keepouts', 'keep-out changed', (features) => features.map((feature, i) => {
    if (i !== index) return feature;
    const properties = Object.fromEntries(Object.entries(feature.properties ?? {}).filter(([name]) => name !== field && !(value !== null && field !== 'clearanceM' && (name === 'dryingHeightM' || name === 'depthM'))));
    return { ...feature, properties: value === null ? properties : { ...properties, [field]: value } };
  }));
}

/** Adds the polygons of a GeoJSON, KML or GPX file. */
export async function readNoGoFile(which: NoGoFile, file: File): Promise<void> {
  try {
    const { frame } = survey.get();
    if (frame === null) throw new Error('This survey has no place yet: draw or read its area first.');
    const shapes = shapesInFrame(await areaFeatures(file.name, await file.text()), frame).filter((shape) => shape.kind === 'polygon' || isClosed(shape.parts[0]));
    if (shapes.length === 0) throw new Error(`${file.name}: expected at least one polygon or closed line, found none; draw it on the chart instead`);
    const read = shapes.map((shape): NoGoFeature => ({ type: 'Feature', properties: { ...shape.properties }, geometry: { type: 'Polygon', coordinates: shape.parts.map((ring) => closedLonLat(ring, frame)) } }));
    await change(which, `${read.length} read from ${file.name}`, (features) => [...features, ...read]);
  } catch (error) {
    session.update((now) => ({ ...now, trouble: error instanceof Error ? error.message : String(error) }));
  }
}
