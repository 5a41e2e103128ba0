import { formatUtc, parseUtc } from '../../base/time.js';
import { boundsOfRings } from '../../geo/ring.js';
import type { SortiePlan } from '../../lines/sortie.js';
import type { Concern, Mishap } from '../../rehearse/rehearsal.js';
import type { SurveySummary } from '../../survey/summary.js';
import { isAbort, startWorker } from '../work/call.js';
import type { FoundStarts, GroundRequest, GroundSettings, LinkMap, ShownRehearsal } from '../work/rehearse-messages.js';
import { linesWorker, refresh, server } from './actions.js';
import { groundSettings } from './ground.js';
import { drawnKeepOuts, polygonOf, replanDraft } from './plan.js';
import { createStore } from './store.js';
import { screen, session, survey } from './stores.js';

/** Rehearsals are made apart from lines and soundings, so that none waits for the other. */
export const rehearseWorker = startWorker('rehearse');

/** What the user would have otherwise, held until it is saved: the start, and settings by their dotted path. */
export interface Held {
  readonly startS?: number;
  readonly settings: Readonly<Record<string, unknown>>;
}

export interface RehearsalState {
  readonly sorties: SortiePlan | null;
  /** What the folder's rehearsal found. */
  readonly saved: ShownRehearsal | null;
  /** What it would find as it is held now; null where nothing is held. */
  readonly live: ShownRehearsal | null;
  readonly liveMs: number;
  readonly held: Held;
  /** Why nothing can be rehearsed on the page. */
  readonly fault: string | null;
  readonly link: LinkMap | null;
  /** The sortie looked at; null: the first. */
  readonly selected: number | null;
  /** The mishap whose outcomes are shown on the chart; null: none. */
  readonly mishap: Mishap | null;
  readonly finding: { readonly done: number; readonly detail: string } | null;
  readonly found: FoundStarts | null;
  readonly findFault: string | null;
}

export const rehearsal = createStore<RehearsalState>({ sorties: null, saved: null, live: null, liveMs: NaN, held: { settings: {} }, fault: null, link: null, selected: null, mishap: null, finding: null, found: null, findFault: null });

/** The moment the pointer is on, NaN for none, and who points. */
export const rehearseHover = createStore<{ readonly timeS: number; readonly from: 'strip' | 'chart' | 'sheet' | 'keys' }>({ timeS: NaN, from: 'strip' });

/** A place to be brought into view on the chart. */
export const placeWanted = createStore<{ readonly xM: number; readonly yM: number } | null>(null);

/** What is shown: what is held, else what the folder has. */
export function shownOf(now: RehearsalState): ShownRehearsal | null {
  return now.live ?? now.saved;
}

export function startOf(summary: SurveySummary | null): number | null {
  const text = summary?.settings.sortie.startUtc ?? null;
  if (text === null) return null;
  try {
    return parseUtc(text);
  } catch {
    return null;
  }
}

/** The start as it stands or is held. */
export function startNow(now: RehearsalState, summary: SurveySummary | null): number | null {
  return now.held.startS ?? startOf(summary);
}

function plain(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

function change(part: Partial<RehearsalState>): void {
  rehearsal.update((now) => ({ ...now, ...part }));
}

const FILES = { sorties: '/files/plan/sorties.json', rehearsal: '/files/derived/rehearsal.json' } as const;
const held: Record<keyof typeof FILES, string> = { sorties: '', rehearsal: '' };
let seen: SurveySummary | null = null;
let reading: AbortController | null = null;

/** The version of a file, `none` where it is not there. */
async function versionOf(url: string, signal: AbortSignal): Promise<string> {
  const answer = await fetch(url, { method: 'HEAD', signal, cache: 'no-store' });
  return answer.ok ? (answer.headers.get('etag') ?? `unknown ${performance.now()}`) : 'none';
}

/** Reads sorties and rehearsal where the survey says that they are there, and what the page needs to make its own. */
export async function readRehearsal(): Promise<void> {
  const { summary, frame, loading } = survey.get();
  // The shapes come first: what is no-go is part of the ground.
  if (summary === null || frame === null || summary === seen || loading !== null) return;
  seen = summary;
  reading?.abort();
  const stop = new AbortController();
  reading = stop;
  const { signal } = stop;
  try {
    const there = summary.sorties !== null && summary.sorties.count > 0;
    const wanted = { sorties: there ? await versionOf(FILES.sorties, signal) : 'none', rehearsal: summary.rehearsal != null ? await versionOf(FILES.rehearsal, signal) : 'none' };
    if (held.sorties !== wanted.sorties) {
      const sorties = wanted.sorties === 'none' ? null : await rehearseWorker.call('loadSorties', { url: FILES.sorties }, { signal });
      held.sorties = wanted.sorties;
      change({ sorties });
    }
    if (held.rehearsal !== wanted.rehearsal) {
      const saved = wanted.rehearsal === 'none' ? null : await rehearseWorker.call('loadRehearsal', { rehearsalUrl: FILES.rehearsal, columnsUrl: '/files/derived/rehearsal.parquet', momentsUrl: '/files/derived/moments.parquet' }, { signal });
      held.rehearsal = wanted.rehearsal;
      change({ saved });
    }
    dropKept(summary);
    await keepGround(summary, signal);
  } catch (error) {
    if (signal.aborted || isAbort(error)) return;
    change({ fault: plain(error) });
  }
}

let groundKey = '';

async function keepGround(summary: SurveySummary, signal: AbortSignal): Promise<void> {
  const { frame, shapes } = survey.get();
  if (frame === null || summary.boat === null) {
    change({ fault: summary.boat === null ? 'there is no boat card yet: build it at Boat' : null });
    return;
  }
  const polygons = (which: 'shore') => shapes[which].filter((shape) => shape.kind === 'polygon').map((shape) => polygonOf(shape.parts)).filter((polygon) => polygon !== null);
  const keepouts = drawnKeepOuts(shapes.keepouts);
  // Planning needs the bottom only for keep-outs by tide that say no depth of their own.
  const depths = keepouts.some(({ said }) => said?.['byTide'] === true);
  const request: GroundRequest = { frame: frame.setting, keepouts, land: polygons('shore'), settings: groundSettings(summary.settings), depths: true };
  const [kept] = await Promise.all([rehearseWorker.call('keepGround', request, { signal }), linesWorker.call('keepGround', { ...request, depths }, { signal })]);
  change({ fault: kept.fault });
  const key = JSON.stringify([request.settings, summary.boat, JSON.stringify(request.keepouts.map(({ said }) => said)), request.land.length]);
  if (key !== groundKey) {
    groundKey = key;
    replanDraft();
    await mapLink(request.settings, signal);
  }
}

async function mapLink(settings: GroundSettings, signal: AbortSignal): Promise<void> {
  const { frame, shapes } = survey.get();
  const at = settings.sortie.base ?? settings.sortie.launch;
  if (frame === null || at === null || rehearsal.get().fault !== null) {
    change({ link: null });
    return;
  }
  const [xM, yM] = frame.toFrame(at.latDeg, at.lonDeg);
  const around = boundsOfRings([Float64Array.of(xM, yM, xM, yM), ...shapes.area.flatMap((shape) => shape.parts.slice(0, 1))]);
  // As far as the rated range carries, and all of the area.
  const reach = Math.max(2.2 * settings.link.ratedRangeM, 50);
  const box = { westM: Math.min(xM - reach, around.westM - 30), eastM: Math.max(xM + reach, around.eastM + 30), southM: Math.min(yM - reach, around.southM - 30), northM: Math.max(yM + reach, around.northM + 30) };
  change({ link: await rehearseWorker.call('linkMap', { settings, ...box }, { signal }) });
}

/** Lets go of what is held once the folder has it. */
function dropKept(summary: SurveySummary): void {
  const now = rehearsal.get();
  const start = startOf(summary);
  const fresh = summary.steps.find(({ step }) => step === 'rehearsal')?.state === 'fresh';
  if (!fresh || dragging) return;
  const stillHeld = (now.held.startS !== undefined && now.held.startS !== start) || Object.entries(now.held.settings).some(([path, value]) => JSON.stringify(settingAt(summary.settings, path)) !== JSON.stringify(value));
  if (stillHeld) return;
  change({ held: { settings: {} }, live: null });
}

function settingAt(settings: unknown, path: string): unknown {
  return path.split('.').reduce<unknown>((part, key) => (part as Record<string, unknown> | null | undefined)?.[key], settings);
}

function withSetting(settings: GroundSettings, path: string, value: unknown): GroundSettings {
  const put = (part: Record<string, unknown>, keys: readonly string[]): Record<string, unknown> => {
    const [key, ...rest] = keys as [string, ...string[]];
    return { ...part, [key]: rest.length === 0 ? value : put(part[key] as Record<string, unknown>, rest) };
  };
  return put(settings as unknown as Record<string, unknown>, path.split('.')) as unknown as GroundSettings;
}

/** The settings as they stand or are held. */
export function settingsNow(now: RehearsalState, summary: SurveySummary): GroundSettings {
  return Object.entries(now.held.settings).reduce((settings, [path, value]) => withSetting(settings, path, value), groundSettings(summary.settings));
}

let busy = false;
let wanted = false;

/** Rehearses quickly what is held; while one rehearsal is made only the latest wish waits. */
async function rehearseHeld(): Promise<void> {
  wanted = true;
  if (busy) return;
  busy = true;
  try {
    while (wanted) {
      wanted = false;
      const now = rehearsal.get();
      const { summary } = survey.get();
      const startS = startNow(now, summary);
      if (summary === null || startS === null || now.sorties === null) return;
      const answer = await rehearseWorker.call('rehearse', { settings: settingsNow(now, summary), sorties: now.sorties.sorties, startS, effort: 'quick', moments: false });
      if ('fault' in answer) change({ fault: answer.fault, live: null });
      else if (isHeld(rehearsal.get())) change({ fault: null, live: answer.shown, liveMs: answer.tookMs });
    }
  } catch (error) {
    if (!isAbort(error)) change({ fault: plain(error) });
  } finally {
    busy = false;
  }
}

function isHeld(now: RehearsalState): boolean {
  return now.held.startS !== undefined || Object.keys(now.held.settings).length > 0;
}

let dragging = false;
let settleTimer: ReturnType<typeof setTimeout> | undefined;
/** What is changed by keys or typing is saved once it rests so long [ms]. */
const SETTLE_MS = 700;

/** Another start, followed at once; kept when it is let go, or when it has rested a while. */
export function holdStart(startS: number, byPointer: boolean): void {
  if (byPointer) dragging = true;
  rehearsal.update((now) => ({ ...now, held: { ...now.held, startS } }));
  void rehearseHeld();
  clearTimeout(settleTimer);
  if (!byPointer) settleTimer = setTimeout(() => void settle(), SETTLE_MS);
}

/** Other settings, followed at once and saved together. */
export function holdSettings(settings: Readonly<Record<string, unknown>>): void {
  rehearsal.update((now) => ({ ...now, held: { ...now.held, settings: { ...now.held.settings, ...settings } } }));
  void rehearseHeld();
  clearTimeout(settleTimer);
  settleTimer = setTimeout(() => void settle(), SETTLE_MS);
}

/** Saves what is held, and has the folder rehearse it. */
export async function settle(): Promise<void> {
  dragging = false;
  clearTimeout(settleTimer);
  settleTimer = undefined;
  const { summary } = survey.get();
  const { held: wish } = rehearsal.get();
  if (summary === null) return;
  try {
    let saved = false;
    if (wish.startS !== undefined && wish.startS !== startOf(summary)) {
      await server.set('sortie.startUtc', formatUtc(Math.round(wish.startS)));
      saved = true;
    }
    for (const [path, value] of Object.entries(wish.settings)) {
      if (JSON.stringify(settingAt(summary.settings, path)) === JSON.stringify(value)) continue;
      await server.set(path, value);
      saved = true;
    }
    if (saved) await buildTo('rehearsal');
    else dropKept(summary);
  } catch (error) {
    trouble(error);
  }
}

/** Gives up what is held. */
export function letGo(): void {
  clearTimeout(settleTimer);
  dragging = false;
  change({ held: { settings: {} }, live: null });
}

function trouble(error: unknown): void {
  if (!isAbort(error)) session.update((now) => ({ ...now, trouble: plain(error) }));
}

/** Has the folder's own steps run up to one; builds still under way give way. */
export async function buildTo(step: 'sorties' | 'rehearsal'): Promise<void> {
  try {
    for (const job of session.get().jobs) if (job.verb === 'build' && (job.state === 'queued' || job.state === 'running')) await server.cancelJob(job.id);
    await server.startJob('build', step);
    session.update((now) => ({ ...now, trouble: null }));
  } catch (error) {
    trouble(error);
  }
}

interface Place {
  readonly latDeg: number;
  readonly lonDeg: number;
}

/** Places on their way to the survey: what is typed meanwhile is put together with these, not with what the survey still says. */
const placing = new Map<'launch' | 'base', Place | null>();

/** One of a place's two figures as typed, the other as it was set last. */
export function typedPlace(which: 'launch' | 'base', known: Place, part: Partial<Place>): Promise<void> {
  return setPlace(which, { ...(placing.get(which) ?? known), ...part });
}

/** Sets the launch point or the base; sorties are cut anew. Null: the base stands at the launch point. */
export async function setPlace(which: 'launch' | 'base', place: Place | null): Promise<void> {
  placing.set(which, place);
  try {
    await server.set(`sortie.${which}`, place === null ? null : { latDeg: Number(place.latDeg.toFixed(7)), lonDeg: Number(place.lonDeg.toFixed(7)) });
    screen.update((now) => ({ ...now, tool: now.tool === which ? 'look' : now.tool }));
    session.update((now) => ({ ...now, said: which === 'launch' ? 'launch point set' : place === null ? 'base at the launch point' : 'base set', trouble: null }));
    await refresh();
    if (placing.get(which) === place) placing.delete(which);
    const { summary } = survey.get();
    if (summary?.lines != null) await buildTo(startOf(summary) === null ? 'sorties' : 'rehearsal');
  } catch (error) {
    if (placing.get(which) === place) placing.delete(which);
    trouble(error);
  }
}

let finding: AbortController | null = null;

/** Looks for the best start in a span; what is found is shown, and the start is held there. */
export async function findStart(fromS: number, toS: number): Promise<void> {
  const { summary } = survey.get();
  const now = rehearsal.get();
  if (summary === null || now.sorties === null) return;
  finding?.abort();
  const stop = new AbortController();
  finding = stop;
  change({ finding: { done: 0, detail: '' }, found: null, findFault: null });
  try {
    const stepS = Math.max(600, Math.ceil((toS - fromS) / 500 / 60) * 60);
    const found = await rehearseWorker.call('findStart', { settings: settingsNow(now, summary), sorties: now.sorties.sorties, fromS, toS, stepS }, { signal: stop.signal, onProgress: (done, detail) => finding === stop && change({ finding: { done, detail } }) });
    change({ found, finding: null });
  } catch (error) {
    if (finding === stop) change({ finding: null, findFault: isAbort(error) ? null : plain(error) });
  }
}

export function stopFinding(): void {
  finding?.abort();
  finding = null;
  change({ finding: null });
}

/** The concern's place and moment, shown on chart and strip. */
export function showConcern({ timeS, xM, yM }: Pick<Concern, 'timeS' | 'xM' | 'yM'>): void {
  rehearseHover.set({ timeS, from: 'sheet' });
  if (Number.isFinite(xM) && Number.isFinite(yM)) placeWanted.set({ xM, yM });
}
