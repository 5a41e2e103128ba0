import KDBush from 'kdbush';
import type { JobState, JournalEntry, ServerState } from '../../server/api.js';
import { createFrame, type FrameSetting } from '../../geo/frame.js';
import type { Soundings } from '../../depths/soundings.js';
import { actWords } from '../../finds/decide-finds.js';
import { NO_ROWS } from '../select/rows.js';
import { isAbort, startWorker } from '../work/call.js';
import { clock, count } from '../words/figures.js';
import { settingWords } from '../words/rehearse.js';
import { KIND_WORDS } from '../words/trials.js';
import { ServerClient } from './server-client.js';
import { ShownDecisions } from './shown-decisions.js';
import { SHAPE_FILES, crossingHover, hover, session, survey, type ShapeFile, type SurveyState } from './stores.js';

export const server = new ServerClient();
export const soundingsWorker = startWorker('soundings');
export const surfaceWorker = startWorker('surface');
export const linesWorker = startWorker('lines');

/** Decisions over soundings that the screen shows ahead of the build. */
export const shownDecisions = new ShownDecisions();

function plain(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

export function trouble(error: unknown): void {
  if (!isAbort(error)) session.update((now) => ({ ...now, trouble: plain(error) }));
}

export function say(said: string): void {
  session.update((now) => ({ ...now, said, trouble: null }));
}

let refreshing: AbortController | null = null;

/** Fetches the state, and the files that changed since. A later call takes the place of one still under way. */
export async function refresh(): Promise<void> {
  refreshing?.abort();
  const stop = new AbortController();
  refreshing = stop;
  const { signal } = stop;
  try {
    const state = await server.state(signal);
    if (signal.aborted) return;
    const { summary, journal, jobs } = state;
    const setting: FrameSetting | null = summary.frame === null ? null : { kind: 'utm', zone: summary.frame.zone, hemisphere: summary.frame.hemisphere };
    const before = survey.get();
    const frame = setting === null ? (before.startPlace === null ? null : before.frame) : before.frame?.epsg === summary.frame?.epsg && before.frame !== null ? before.frame : createFrame(setting);
    survey.set({ ...before, server: state, summary, journal, frame, error: null, loading: frame === null ? null : before.loading });
    session.update((now) => ({ ...now, jobs }));
    for (const job of jobs) if (job.state === 'done' && takeIns.has(job.id)) onJob(job);
    await loadFiles(setting, state, signal);
  } catch (error) {
    if (signal.aborted || isAbort(error)) return;
    survey.update((now) => ({ ...now, error: plain(error), loading: null }));
  }
}

const SOUNDINGS = 'derived/soundings.parquet';
const SURFACE = 'derived/surface/surface.tif';
const TRACK = 'derived/tracks.parquet';
const CROSSINGS = 'derived/crossings.json';

/** The version of each file, `none` where it is not there; a file that the state says is not there is not asked for. */
async function versionsOf(paths: readonly string[], { summary, planFiles }: ServerState, signal: AbortSignal): Promise<string[]> {
  const trackMade = summary.steps.some((step) => step.step === 'tracks' && step.state !== 'missing');
  const never = new Set<string>([
    ...(summary.soundings === null ? [SOUNDINGS, CROSSINGS] : []),
    ...(trackMade ? [] : [TRACK]),
    ...(summary.surface === null ? [SURFACE] : []),
    ...(summary.contours === null ? [SHAPE_FILES.contours] : []),
    ...(summary.gaps === null ? [SHAPE_FILES.gaps, SHAPE_FILES.fillIn] : []),
    ...(summary.rehearsal === null ? [SHAPE_FILES.rehearsedHoles] : []),
    ...paths.filter((path) => path.startsWith('plan/') && !planFiles.includes(path)),
  ]);
  return Promise.all(
    paths.map(async (path) => {
      if (never.has(path)) return 'none';
      const answer = await fetch(`/files/${path}`, { method: 'HEAD', signal, cache: 'no-store' });
      if (answer.status === 404) return 'none';
      return answer.headers.get('etag') ?? `unknown ${performance.now()}`;
    }),
  );
}

/** What is held of the files, by path: the version it is of. */
let held: ReadonlyMap<string, string> = new Map();
let heldFrame = '';

async function loadFiles(setting: FrameSetting | null, state: ServerState, signal: AbortSignal): Promise<void> {
  if (setting === null) return;
  const shapeNames = Object.keys(SHAPE_FILES) as ShapeFile[];
  const paths = [SOUNDINGS, SURFACE, TRACK, CROSSINGS, ...shapeNames.map((name) => SHAPE_FILES[name])];
  const versions = new Map((await versionsOf(paths, state, signal)).map((version, i) => [paths[i] as string, version]));
  const frameKey = `${setting.zone}${setting.hemisphere}`;
  const work: Promise<void>[] = [];
  /** Reads a file whose version is not the one held; `show` takes null where it is not there. */
  const load = <T>(path: string, read: (url: string) => Promise<T | null>, show: (loaded: T | null) => void) => {
    if (heldFrame === frameKey && held.get(path) === versions.get(path)) return;
    work.push(
      (versions.get(path) === 'none' ? Promise.resolve(null) : read(`/files/${path}`)).then((loaded) => {
        if (!signal.aborted) show(loaded);
      }),
    );
  };
  const keep = (change: Partial<SurveyState>) => survey.update((now) => ({ ...now, ...change }));
  for (const name of shapeNames) {
    load(SHAPE_FILES[name], (url) => linesWorker.call('loadShapes', { url, frame: setting }, { signal }), (loaded) => survey.update((now) => ({ ...now, shapes: { ...now.shapes, [name]: loaded?.shapes ?? [] } })));
  }
  load(TRACK, (url) => linesWorker.call('loadTrack', { url }, { signal }), (loaded) => keep({ track: loaded?.lines ?? null }));
  load(CROSSINGS, (url) => linesWorker.call('loadCrossings', { url }, { signal }), (crossings) => {
    crossingHover.set(-1);
    keep({ crossings });
  });
  load(SURFACE, (url) => surfaceWorker.call('loadSurface', { url }, { signal }), (surface) => keep({ surface }));
  load(SOUNDINGS, (url) => soundingsWorker.call('loadSoundings', { url }, { signal }), (loaded) => {
    // The same soundings built anew keep what is pointed at and selected.
    if (!sameSoundings(survey.get().soundings, loaded?.soundings ?? null)) {
      hover.set({ row: -1, from: 'chart' });
      session.update((now) => ({ ...now, selection: NO_ROWS }));
    }
    if (loaded !== null) shownDecisions.loaded(loaded.soundings, state.summary.steps.some(({ step, state: made }) => step === 'soundings' && made === 'fresh'));
    const index = loaded === null || loaded.soundings.n === 0 ? null : KDBush.from(loaded.index);
    survey.update((now) => ({ ...now, soundings: loaded?.soundings ?? null, index, reasonVersion: now.reasonVersion + 1 }));
  });
  const results = await Promise.allSettled(work);
  if (signal.aborted) return;
  const failed = results.find((result) => result.status === 'rejected');
  if (failed === undefined) {
    held = versions;
    heldFrame = frameKey;
  }
  survey.update((now) => ({ ...now, loading: null, error: failed === undefined ? null : plain(failed.reason) }));
}

/** Whether soundings are the same, row by row, so that a row number means the same in both. */
function sameSoundings(a: Soundings | null, b: Soundings | null): boolean {
  if (a === null || b === null || a.n !== b.n) return false;
  for (let i = 0; i < a.n; i++) if (a.record[i] !== b.record[i] || a.log[i] !== b.log[i]) return false;
  return true;
}

/** Starts to listen; returns how to stop. */
export function follow(): () => void {
  return server.listen({
    job: (job) => onJob(job),
    state: () => void refresh(),
    link: (up) => {
      const was = survey.get().linkUp;
      if (was !== up) survey.update((now) => ({ ...now, linkUp: up }));
      if (up && !was) void refresh();
    },
  });
}

const takeIns = new Set<string>();

function onJob(job: JobState): void {
  session.update((now) => ({ ...now, jobs: [...now.jobs.filter((other) => other.id !== job.id), job] }));
  if (job.state === 'failed') session.update((now) => ({ ...now, trouble: [job.error.message, job.error.fix].filter(Boolean).join('; ') }));
  if (job.state === 'done' && job.result.verb === 'take-in') {
    const { takenIn } = job.result;
    session.update((now) => ({ ...now, takenIn }));
    say(takenIn.map((one) => `${one.name}: ${one.outcome === 'taken-in' ? 'taken in' : one.because}`).join('; '));
    if (takeIns.delete(job.id) && takenIn.some((one) => one.outcome === 'taken-in')) void build();
  }
  if (job.state === 'done' && job.result.verb === 'build') say('the survey is built');
  if (job.state === 'done' && job.result.verb === 'instrument-sheet') say(`${job.result.file} is there to be printed`);
}

/** The job at hand, if there is one. */
export function runningJob(jobs: readonly JobState[]): JobState | null {
  return jobs.find((job) => job.state === 'running') ?? jobs.find((job) => job.state === 'queued') ?? null;
}

export async function build(): Promise<void> {
  try {
    const running = session.get().jobs.filter((job) => job.verb === 'build' && (job.state === 'queued' || job.state === 'running'));
    for (const job of running) await server.cancelJob(job.id);
    await server.startJob('build');
    session.update((now) => ({ ...now, trouble: null }));
  } catch (error) {
    trouble(error);
  }
}

export async function makeLines(): Promise<void> {
  try {
    await server.startJob('lines');
  } catch (error) {
    trouble(error);
  }
}

export async function cancel(job: JobState): Promise<void> {
  try {
    await server.cancelJob(job.id);
    say('stopped; nothing that was finished before is lost');
  } catch (error) {
    trouble(error);
  }
}

let upload: AbortController | null = null;

/** Sends logs one after the other; each is taken in as it arrives, and the survey is built after the last. */
export async function takeIn(files: readonly File[]): Promise<void> {
  for (const file of files) {
    upload = new AbortController();
    session.update((now) => ({ ...now, upload: { name: file.name, done: 0 }, trouble: null, takenIn: [] }));
    try {
      const { id } = await server.takeIn(file, (done) => session.update((now) => ({ ...now, upload: { name: file.name, done } })), upload.signal);
      takeIns.add(id);
      // A small log may have been taken in before this answer came.
      const ended = session.get().jobs.find((job) => job.id === id && job.state === 'done');
      if (ended !== undefined) onJob(ended);
    } catch (error) {
      trouble(error);
      break;
    } finally {
      session.update((now) => ({ ...now, upload: null }));
    }
  }
}

export function cancelUpload(): void {
  upload?.abort();
}

let rebuildTimer: ReturnType<typeof setTimeout> | undefined;

/** Builds once the user has stopped deciding for a moment. */
export function buildSoon(): void {
  clearTimeout(rebuildTimer);
  rebuildTimer = setTimeout(() => void build(), 900);
}

/** What stands in the journal and what can be redone: undo and redo entries name the entry they are about. */
export function standing(journal: readonly JournalEntry[]): { readonly last: JournalEntry | null; readonly redoable: JournalEntry | null } {
  const byNumber = new Map(journal.map((entry) => [entry.number, entry]));
  const done: JournalEntry[] = [];
  const undone: JournalEntry[] = [];
  for (const entry of journal) {
    if (entry.kind === 'undo') {
      const at = done.findIndex((one) => one.number === entry.entry);
      const target = byNumber.get(entry.entry);
      if (at >= 0) done.splice(at, 1);
      if (target !== undefined) undone.push(target);
    } else if (entry.kind === 'redo') {
      const at = undone.findIndex((one) => one.number === entry.entry);
      const target = byNumber.get(entry.entry);
      if (at >= 0) undone.splice(at, 1);
      if (target !== undefined) done.push(target);
    } else {
      done.push(entry);
      undone.length = 0;
    }
  }
  return { last: done[done.length - 1] ?? null, redoable: undone[undone.length - 1] ?? null };
}

/** What a decision was, in a few words. */
export function entryWords(entry: JournalEntry): string {
  switch (entry.kind) {
    case 'set-aside':
    case 'restore': {
      const ranges = entry.soundings.length;
      return `${entry.kind === 'set-aside' ? 'set aside' : 'restored'} ${ranges === 1 ? 'one run of soundings' : `${count(ranges)} runs of soundings`}${entry.note === undefined || entry.note === '' ? '' : `: ${entry.note}`}`;
    }
    case 'trial':
      return `${KIND_WORDS[entry.trialKind].long} at ${clock(entry.startS)} ${{ move: 'corrected', add: 'added', drop: 'dropped' }[entry.change]}`;
    case 'find':
      return entry.action === 'mark' ? 'a find marked by hand' : `find ${actWords(entry)}`;
    case 'bottom':
      return 'the bottom of the side-scan drawn by hand';
    case 'hypothesis':
      return `depth of ${entry.depthM.toFixed(2)} m chosen`;
    case 'settings':
      if (entry.path === 'boat.hand') return 'figures of the boat entered by hand';
      return settingWords(entry.path, entry.from, entry.to) ?? ([entry.from, entry.to].some((value) => typeof value === 'object' && value !== null) ? `${entry.path} changed` : `${entry.path} from ${JSON.stringify(entry.from)} to ${JSON.stringify(entry.to)}`);
    case 'settings-together':
      return entry.what;
    case 'file':
      return `${entry.path} changed`;
    default:
      return entry.kind;
  }
}

/** Tells all views that `soundings.reason` was changed in place. */
export function reasonsChanged(): void {
  survey.update((now) => ({ ...now, reasonVersion: now.reasonVersion + 1 }));
}

/** Stops builds that a decision makes out of date, so that the decision is written at once. */
export async function stopBuilds(): Promise<void> {
  clearTimeout(rebuildTimer);
  const running = session.get().jobs.filter((job) => job.verb === 'build' && (job.state === 'queued' || job.state === 'running'));
  for (const job of running) await server.cancelJob(job.id).catch(() => undefined);
}

export async function undo(redo = false): Promise<void> {
  const { soundings, journal } = survey.get();
  const { last, redoable } = standing(journal);
  // What this screen decided itself is taken back at once; the server's answer follows.
  const shown = soundings === null ? null : redo ? shownDecisions.firstUndone(redoable?.number ?? null) : shownDecisions.last(last?.number ?? null);
  if (soundings !== null && shown !== null) {
    shownDecisions[redo ? 'redo' : 'undo'](soundings, shown);
    reasonsChanged();
  }
  const takeBack = () => {
    const now = survey.get().soundings;
    if (now === null || shown === null) return;
    shownDecisions[redo ? 'undo' : 'redo'](now, shown);
    reasonsChanged();
  };
  try {
    if (shown !== null) await stopBuilds();
    const { entry } = redo ? await server.redo() : await server.undo();
    const about = entry?.kind === 'undo' || entry?.kind === 'redo' ? entry.entry : entry?.number;
    if (shown !== null && shown.entry !== null && about !== shown.entry) takeBack();
    if (entry === null) {
      say(redo ? 'nothing to redo' : 'nothing to undo');
      return;
    }
    await refresh();
    say(redo ? 'redone' : 'undone');
    const undone = survey.get().journal.find(({ number }) => number === about);
    // A window of a trial is nothing to the soundings: the card alone is made again.
    if (undone?.kind === 'trial') await server.startJob('build', 'boat');
    else buildSoon();
  } catch (error) {
    takeBack();
    trouble(error);
  }
}
