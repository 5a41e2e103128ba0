import type { FindAct } from '../../finds/decide-finds.js';
import type { FindShown, FindsFile, SightingShown } from '../work/finds-messages.js';
import type { LoadedShapes } from '../work/messages.js';
import type { RasterInfo } from '../work/imagery-messages.js';
import { isAbort } from '../work/call.js';
import { pingRunAt } from '../waterfall/ping-runs.js';
import { goToEcho, imagery, mosaicWorker, placeWanted6 } from './imagery.js';
import { buildSoon, linesWorker, refresh, say, server, stopBuilds, trouble } from './actions.js';
import { createStore } from './store.js';
import { screen, survey } from './stores.js';

const FINDS = 'derived/finds/finds.json';
const SEARCH_MAP = 'derived/finds/search.tif';
const NEXT_LINES = 'derived/finds/next-lines.geojson';

/** What of the search lies over the mosaic. */
export type SearchLayer = 'none' | 'chance' | 'remains' | 'looks';

export const FINDS_PARTS = ['finds', 'search'] as const;
export type FindsPart = (typeof FINDS_PARTS)[number];

/** State of the Finds stage on this screen. */
export interface FindsState {
  readonly part: FindsPart;
  /** Ranked as the survey ranks them, with what this screen decided since. */
  readonly finds: readonly FindShown[];
  readonly sightings: ReadonlyMap<string, SightingShown>;
  readonly lost: readonly string[];
  readonly searchMap: RasterInfo | null;
  readonly nextLines: LoadedShapes['shapes'];
  readonly layer: SearchLayer;
  readonly selected: string | null;
  /** Finds ticked to be joined. */
  readonly ticked: readonly string[];
  readonly showRejected: boolean;
  readonly loaded: boolean;
}

export const finds = createStore<FindsState>({ part: 'finds', finds: [], sightings: new Map(), lost: [], searchMap: null, nextLines: [], layer: 'none', selected: null, ticked: [], showRejected: false, loaded: false });

/** The find pointed at on the chart or in the list; null for none. */
export const findHover = createStore<string | null>(null);

const held = new Map<string, string>();

async function json<T>(path: string, version: string): Promise<T | null> {
  const answer = await fetch(`/files/${path}?v=${version}`);
  if (answer.status === 404) return null;
  if (!answer.ok) throw new Error(`${path}: the server answered ${answer.status}`);
  return (await answer.json()) as T;
}

/** What is decided here and not yet in the files, by find. */
interface Shown {
  entry: number | null;
  readonly find: string;
  readonly change: Partial<Pick<FindShown, 'state' | 'name' | 'description'>>;
}
let shown: Shown[] = [];
let asLoaded: readonly FindShown[] = [];

function dressed(): readonly FindShown[] {
  return asLoaded.map((find) => shown.filter((one) => one.find === find.id || find.sightings.includes(one.find)).reduce((now, { change }) => ({ ...now, ...change }), find));
}

/** Reads what the Finds stage shows, where it is another than what is held. */
export async function loadFinds(): Promise<void> {
  const { summary, frame } = survey.get();
  if (summary === null || frame === null) return;
  const made = (step: string): boolean => summary.steps.some((one) => one.step === step && one.state !== 'missing');
  try {
    const version = async (path: string, step: string): Promise<string> => {
      if (!made(step)) return 'none';
      const answer = await fetch(`/files/${path}`, { method: 'HEAD', cache: 'no-store' });
      return answer.status === 404 ? 'none' : (answer.headers.get('etag') ?? 'unknown').replace(/[^0-9a-z]/gi, '');
    };
    const places = [[FINDS, 'finds'], [SEARCH_MAP, 'search'], [NEXT_LINES, 'search']] as const;
    const versions = await Promise.all(places.map(([path, step]) => version(path, step)));
    const changed = places.map(([path], k) => held.get(path) !== versions[k]);
    const [findsV, mapV, linesV] = versions as [string, string, string];
    if (changed[0]) {
      const file = findsV === 'none' ? null : await json<FindsFile>(FINDS, findsV);
      asLoaded = file?.finds ?? [];
      // What was decided here is in the file now, or was undone.
      const fresh = summary.steps.some((one) => one.step === 'finds' && one.state === 'fresh');
      if (fresh) shown = shown.filter(({ entry }) => entry === null);
      finds.update((now) => ({ ...now, finds: dressed(), sightings: new Map((file?.sightings ?? []).map((one) => [one.id, one])), lost: file?.lost ?? [], selected: keptId(now.selected), ticked: now.ticked.filter((id) => asLoaded.some((one) => one.id === id)), loaded: true }));
    }
    if (changed[1]) {
      const searchMap = mapV === 'none' ? null : await mosaicWorker().call('openRaster', { url: `/files/${SEARCH_MAP}?v=${mapV}` });
      finds.update((now) => ({ ...now, searchMap }));
    }
    if (changed[2]) {
      const { frame: setting } = summary;
      const lines = linesV === 'none' || setting === null ? null : await linesWorker.call('loadShapes', { url: `/files/${NEXT_LINES}?v=${linesV}`, frame: { kind: 'utm', zone: setting.zone, hemisphere: setting.hemisphere } });
      finds.update((now) => ({ ...now, nextLines: lines?.shapes ?? [] }));
    }
    places.forEach(([path], k) => held.set(path, versions[k] as string));
  } catch (error) {
    if (!isAbort(error)) trouble(error);
  }
}

/** A find that was joined or parted goes on under the find that holds its first sighting. */
function keptId(id: string | null): string | null {
  return id === null ? null : (asLoaded.find((one) => one.id === id || one.sightings.includes(id))?.id ?? null);
}

const SAID: Readonly<Record<FindAct['action'], string>> = { mark: 'marked as a find', confirm: 'confirmed', reject: 'rejected', propose: 'put back among the proposed', describe: 'described', join: 'joined', part: 'parted' };

/** Decides on a find: shown at once where it can be, one line of the journal, undone as one. */
export async function decideFind(act: FindAct): Promise<boolean> {
  const change: Shown['change'] | null =
    act.action === 'confirm' ? { state: 'confirmed' } : act.action === 'reject' ? { state: 'rejected' } : act.action === 'propose' ? { state: 'proposed' } : act.action === 'describe' ? { ...(act.name === undefined ? {} : { name: act.name }), ...(act.description === undefined ? {} : { description: act.description }) } : null;
  const mine: Shown | null = change === null || !('find' in act) ? null : { entry: null, find: act.find, change };
  if (mine !== null) {
    shown = [...shown, mine];
    finds.update((now) => ({ ...now, finds: dressed() }));
  }
  try {
    await stopBuilds();
    const entry = await server.decide({ kind: 'find', ...act });
    if (mine !== null) mine.entry = entry.number;
    await refresh();
    say(SAID[act.action]);
    if (act.action === 'join') finds.update((now) => ({ ...now, ticked: [] }));
    buildSoon();
    return true;
  } catch (error) {
    shown = shown.filter((one) => one !== mine);
    finds.update((now) => ({ ...now, finds: dressed() }));
    trouble(error);
    return false;
  }
}

// An undo of what this screen decided shows at once.
survey.watch(() => {
  const { journal } = survey.get();
  const last = journal[journal.length - 1];
  if (last?.kind !== 'undo' || !shown.some(({ entry }) => entry === last.entry)) return;
  shown = shown.filter(({ entry }) => entry !== last.entry);
  finds.update((now) => ({ ...now, finds: dressed() }));
});

/** Finds in the order of the list. */
export function listed({ finds: all, showRejected }: Pick<FindsState, 'finds' | 'showRejected'>): readonly FindShown[] {
  return showRejected ? all : all.filter(({ state }) => state !== 'rejected');
}

/** Chooses a find: the chart and the waterfall go to it, the waterfall to the given sighting or the nearest look. */
export function selectFind(id: string | null, sighting?: string, from: 'list' | 'chart' = 'list'): void {
  finds.update((now) => ({ ...now, selected: id }));
  const state = finds.get();
  const find = state.finds.find((one) => one.id === id);
  if (find === undefined) return;
  const seen = (sighting === undefined ? find.sightings : [sighting]).flatMap((one) => state.sightings.get(one) ?? []);
  const best = seen[0];
  const sizeM = Math.max(0.8, find.length.value ?? 0, find.width.value ?? 0);
  const row = best === undefined ? -1 : rowOf(best);
  if (best !== undefined && row >= 0) goToEcho({ row, side: best.side, slantM: (best.slantStartM + best.slantEndM) / 2 }, sizeM, 'chart');
  if (from === 'list') placeWanted6.set({ xM: find.place.xM, yM: find.place.yM, sizeM, asked: (placeWanted6.get()?.asked ?? 0) + 1 });
}

/** Row of the pings of a sighting's middle, -1 where it is not there. */
export function rowOf(sighting: Pick<SightingShown, 'log' | 'record'>): number {
  const { pings, runs } = imagery.get();
  const { summary } = survey.get();
  const log = summary?.logs.findIndex(({ sha256 }) => sha256.startsWith(sighting.log)) ?? -1;
  if (pings === null || log < 0) return -1;
  for (const run of runs) {
    if (run.log !== log) continue;
    const at = run.rowStart + (sighting.record - (pings.record[run.rowStart] as number));
    if (at >= run.rowStart && at < run.rowEnd && pings.record[at] === sighting.record) return pingRunAt(runs, at) >= 0 ? at : -1;
  }
  for (let row = 0; row < pings.n; row++) if (pings.log[row] === log && pings.record[row] === sighting.record) return row;
  return -1;
}

/** Goes to the next or the previous find of the list that is still proposed, or to any. */
export function stepFind(by: 1 | -1, onlyProposed = false): void {
  const state = finds.get();
  const all = listed(state);
  const from = all.findIndex(({ id }) => id === state.selected);
  for (let k = 1; k <= all.length; k++) {
    const at = (((from < 0 && by < 0 ? 0 : from) + by * k) % all.length + all.length) % all.length;
    const find = all[at];
    if (find !== undefined && (!onlyProposed || find.state === 'proposed')) return selectFind(find.id);
  }
}

// Read when the stage is looked at, and whenever the survey was read anew.
let seen: object | null = null;
const look = (): void => {
  const { server: state, frame } = survey.get();
  if (screen.get().stage !== 'finds' || state === null || frame === null || state === seen) return;
  seen = state;
  void loadFinds();
};
survey.watch(look);
screen.watch(look);
