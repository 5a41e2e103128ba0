import { leastDepth, type LeastDepth } from '../../depths/select-soundings.js';
import type { FloorAnswer, LayerInfo, SurfaceLayer } from '../work/depths-messages.js';
import { isAbort } from '../work/call.js';
import { buildSoon, refresh, server, surfaceWorker, trouble } from './actions.js';
import { createStore } from './store.js';
import { screen, session, survey } from './stores.js';

const FILE = '/files/derived/surface/surface.tif';

/** What is shown of the surface, and what it was asked. */
export interface FloorState {
  /** Layer over the chart in place of the depth tints; null: the tints. */
  readonly layer: SurfaceLayer | null;
  readonly info: LayerInfo | null;
  /** Line or ring that was drawn [m]; null: none. */
  readonly line: Float64Array | null;
  readonly ring: Float64Array | null;
  readonly levelM: number;
  readonly profile: Extract<FloorAnswer, { kind: 'profile' }> | null;
  readonly inside: Extract<FloorAnswer, { kind: 'inside' }> | null;
  /** The shoalest good sounding inside the ring. */
  readonly least: LeastDepth | null;
  readonly asking: boolean;
}

export const floor = createStore<FloorState>({ layer: null, info: null, line: null, ring: null, levelM: 5, profile: null, inside: null, least: null, asking: false });

/** Shows a layer of the surface on the chart, or the depth tints again. */
export async function showLayer(layer: SurfaceLayer | null): Promise<void> {
  floor.update((now) => ({ ...now, layer, info: null }));
  if (layer === null) return;
  try {
    const info = await surfaceWorker.call('loadLayer', { url: FILE, layer });
    floor.update((now) => (now.layer === layer ? { ...now, info, layer: info === null ? null : layer } : now));
  } catch (error) {
    floor.update((now) => ({ ...now, layer: null }));
    if (!isAbort(error)) trouble(error);
  }
}

let asked = 0;

/** A line or a ring was drawn: what the surface says of it. */
export async function askDrawn(kind: 'line' | 'ring', vertices: Float64Array): Promise<void> {
  screen.update((now) => ({ ...now, tool: 'look' }));
  floor.update((now) => (kind === 'line' ? { ...now, line: vertices, profile: null } : { ...now, ring: vertices, inside: null, least: null }));
  await askAgain(kind);
}

/** Asks again of what is drawn: the surface is another, or the level. */
export async function askAgain(kind: 'line' | 'ring'): Promise<void> {
  const { line, ring, levelM } = floor.get();
  const id = ++asked;
  const drawn = kind === 'line' ? line : ring;
  if (drawn === null) return;
  floor.update((now) => ({ ...now, asking: true }));
  try {
    const answer = await surfaceWorker.call('askFloor', { url: FILE, question: kind === 'line' ? { kind: 'profile', line: drawn } : { kind: 'inside', ring: drawn, levelM } });
    if (id !== asked) return;
    const { soundings } = survey.get();
    floor.update((now) => ({
      ...now,
      asking: false,
      profile: answer?.kind === 'profile' ? answer : now.profile,
      inside: answer?.kind === 'inside' ? answer : now.inside,
      least: kind === 'ring' && soundings !== null ? leastDepth(soundings, [{ outer: drawn, holes: [] }]) : now.least,
    }));
  } catch (error) {
    floor.update((now) => ({ ...now, asking: false }));
    if (!isAbort(error)) trouble(error);
  }
}

/** Takes away what was drawn and answered. */
export function forgetDrawn(kind: 'line' | 'ring'): void {
  floor.update((now) => (kind === 'line' ? { ...now, line: null, profile: null } : { ...now, ring: null, inside: null, least: null }));
}

/** Sets one setting of the surface and makes it anew. */
export async function setSurface(path: string, value: unknown): Promise<void> {
  try {
    await server.set(path, value);
    await refresh();
    session.update((now) => ({ ...now, said: 'the surface is made anew', trouble: null }));
    buildSoon();
  } catch (error) {
    trouble(error);
  }
}

// A surface made anew is shown and asked anew.
let surface = survey.get().surface;
survey.watch(() => {
  const now = survey.get().surface;
  if (now === surface) return;
  surface = now;
  const { layer, line, ring } = floor.get();
  if (now === null) return;
  if (layer !== null) void showLayer(layer);
  if (line !== null) void askAgain('line').then(() => (ring === null ? undefined : askAgain('ring')));
  else if (ring !== null) void askAgain('ring');
});
