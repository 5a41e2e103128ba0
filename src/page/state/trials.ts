import type { BoatCard } from '../../boat/boat-card.js';
import { trialWindow } from '../../boat/find-window.js';
import type { Trial, TrialKind } from '../../boat/trial-log.js';
import type { SurveySummary } from '../../survey/summary.js';
import type { Plot, PlotWanted } from '../plots/plot.js';
import { KIND_WORDS, trialName } from '../words/trials.js';
import { isAbort, startWorker, type WorkCaller } from '../work/call.js';
import type { LoadedShapes, TrialEdit } from '../work/messages.js';
import type { LoadedTrials } from '../work/read-trials.js';
import { server } from './actions.js';
import { boat, readCard } from './boat.js';
import { createStore } from './store.js';
import { session, survey } from './stores.js';

/** Started when there are trials to read: most surveys' first page needs none. */
let started: WorkCaller | null = null;
function trialsWorker(): WorkCaller {
  started ??= startWorker('trials');
  return started;
}

export const TRIALS_FILE = 'derived/trials.json';
const LOG_FILE = 'derived/trial-log.parquet';
const PLAN_FILE = 'boat/trial-plan.geojson';
const PLAN_PAPER = 'products/trial-plan.pdf';

/** The trials of the survey as they stand on the page. */
export interface TrialsState {
  readonly loaded: LoadedTrials | null;
  readonly error: string | null;
  /** The trials with the user's corrections, also those the folder's step has not made yet. */
  readonly shown: readonly Trial[];
  /** Posted, but not in the file yet; and at the end the one under the user's hand. */
  readonly edits: readonly TrialEdit[];
  readonly held: TrialEdit | null;
  /** The card the corrected windows give; null while it is the folder's own. */
  readonly card: BoatCard | null;
  /** The card before the last correction, to tell what changed; null where nothing is to be told. */
  readonly before: BoatCard | null;
  /** What the last correction was, in plain words. */
  readonly lastEdit: string;
  readonly selected: string | null;
  /** A span chosen on the strip to make a trial of. */
  readonly span: { readonly startS: number; readonly endS: number } | null;
  /** Ids lit because the figure at hand comes from them. */
  readonly lit: readonly string[];
  readonly plotsOf: readonly PlotWanted[];
  readonly plots: readonly Plot[];
  /** Planned manoeuvres in the frame. */
  readonly plan: LoadedShapes['shapes'];
  readonly planPoints: readonly { readonly xM: number; readonly yM: number; readonly label: string }[];
  /** Whether the plan can be printed. */
  readonly planPaper: boolean;
  readonly tab: 'trials' | 'card' | 'ask';
  /** What the strip shows. */
  readonly strip: 'log' | 'curves';
}

export const trials = createStore<TrialsState>({ loaded: null, error: null, shown: [], edits: [], held: null, card: null, before: null, lastEdit: '', selected: null, span: null, lit: [], plotsOf: [], plots: [], plan: [], planPoints: [], planPaper: false, tab: 'card', strip: 'log' });

/** The trial and the moment of the log under the pointer, and who points. */
export const trialHover = createStore<{ readonly id: string | null; readonly timeS: number; readonly from: 'chart' | 'strip' | 'sheet' }>({ id: null, timeS: NaN, from: 'chart' });

/** Moments of the strip's window that the sheet and the chart ask for. */
export const stripWanted = createStore<{ readonly startS: number; readonly endS: number; readonly always: boolean } | null>(null);

/** Trials the chart is to show: large, or only where they are not in view. */
export const chartWanted = createStore<{ readonly trials: readonly string[]; readonly always: boolean } | null>(null);

/** Strip and chart show a trial large. */
export function lookCloser(trial: Trial): void {
  stripWanted.set({ startS: trial.startS, endS: trial.endS, always: true });
  chartWanted.set({ trials: [trial.id], always: true });
}

let heldSummary: SurveySummary | null = null;
let heldVersions = '';
let reading: AbortController | null = null;

async function versionOf(path: string, signal: AbortSignal): Promise<string | null> {
  const answer = await fetch(`/files/${path}`, { method: 'HEAD', signal, cache: 'no-store' });
  if (!answer.ok) return null;
  return answer.headers.get('etag') ?? String(performance.now());
}

/** Whether the folder can hold trials at all: then their files are asked for. */
function mayHaveTrials(summary: SurveySummary): boolean {
  const { boat: card } = summary;
  if (card === null) return false;
  return card.trials === undefined ? card.figures.trials > 0 : card.trials !== null;
}

/** Reads trials, log and plan when the survey says that something changed. */
export async function readTrialFiles(): Promise<void> {
  const { summary, frame } = survey.get();
  if (summary === null || summary === heldSummary) return;
  heldSummary = summary;
  reading?.abort();
  const stop = new AbortController();
  reading = stop;
  const { signal } = stop;
  try {
    void readPlan(summary, signal);
    if (!mayHaveTrials(summary)) {
      heldVersions = '';
      if (trials.get().loaded !== null || trials.get().error !== null) trials.update((now) => ({ ...now, loaded: null, shown: [], edits: [], held: null, card: null, before: null, selected: null, span: null, lit: [], plots: [], error: null }));
      return;
    }
    const versions = (await Promise.all([versionOf(TRIALS_FILE, signal), versionOf(LOG_FILE, signal)])).join(' ');
    if (signal.aborted || frame === null) return;
    if (versions === heldVersions) {
      // A fresh card holds all that was decided: an edit still waiting was undone before it was built.
      const fresh = summary.steps.find(({ step }) => step === 'boat')?.state === 'fresh';
      if (fresh && trials.get().edits.length > 0 && trials.get().held === null) {
        trials.update((now) => ({ ...now, edits: [], shown: now.loaded?.file.trials ?? [], card: null }));
        void measureAgain();
      }
      return;
    }
    const loaded = await trialsWorker().call('loadTrials', { trialsUrl: `/files/${TRIALS_FILE}`, logUrl: `/files/${LOG_FILE}` }, { signal });
    if (signal.aborted) return;
    heldVersions = versions;
    // The card is read anew with the trials it is made from, so that no figure jumps back in between.
    await readCard();
    // What was undone has nothing to tell.
    const last = survey.get().journal.at(-1)?.kind;
    const told = last === 'undo' || last === 'redo' ? { before: null, lastEdit: '' } : {};
    trials.update((now) => ({ ...now, ...told, loaded, error: null, shown: loaded?.file.trials ?? [], edits: [], card: null, selected: loaded?.file.trials.some(({ id }) => id === now.selected) === true ? now.selected : null, lit: now.lit.filter((id) => loaded?.file.trials.some((trial) => trial.id === id) === true) }));
    void measureAgain();
  } catch (error) {
    if (!signal.aborted && !isAbort(error)) trials.update((now) => ({ ...now, error: error instanceof Error ? error.message : String(error) }));
  }
}

async function readPlan(summary: SurveySummary, signal: AbortSignal): Promise<void> {
  try {
    const { frame } = survey.get();
    const planPaper = summary.products.some(({ path }) => path === PLAN_PAPER);
    const answer = frame === null || summary.boat === null || !planPaper ? null : await fetch(`/files/${PLAN_FILE}`, { signal, cache: 'no-cache' });
    if (answer === null || !answer.ok || frame === null) {
      trials.update((now) => ({ ...now, plan: [], planPoints: [], planPaper }));
      return;
    }
    const collection = (await answer.json()) as GeoJSON.FeatureCollection;
    const { shapesInFrame } = await import('../work/read-shapes.js');
    const planPoints = collection.features.flatMap(({ geometry, properties }) => {
      if (geometry.type !== 'Point') return [];
      const [lonDeg, latDeg] = geometry.coordinates as [number, number];
      const [xM, yM] = frame.toFrame(latDeg, lonDeg);
      return [{ xM, yM, label: String(properties?.['label'] ?? properties?.['number'] ?? '') }];
    });
    if (!signal.aborted) trials.update((now) => ({ ...now, plan: shapesInFrame(collection, frame), planPoints, planPaper }));
  } catch (error) {
    if (!signal.aborted && !isAbort(error)) trials.update((now) => ({ ...now, error: `${PLAN_FILE} cannot be read: ${error instanceof Error ? error.message : String(error)}` }));
  }
}

let busy = false;
let wanted = false;

/** Has the worker measure the windows as they stand; while one answer is made only the latest waits. */
async function measureAgain(): Promise<void> {
  wanted = true;
  if (busy) return;
  busy = true;
  try {
    while (wanted) {
      wanted = false;
      const { loaded, edits, held, plotsOf } = trials.get();
      const { summary } = survey.get();
      if (loaded === null || summary === null) return;
      const all = held === null ? edits : [...edits, held];
      if (all.length === 0 && plotsOf.length === 0) {
        trials.update((now) => ({ ...now, card: null, plots: [], shown: loaded.file.trials }));
        continue;
      }
      const measured = await trialsWorker().call('measureTrials', { boat: summary.settings.boat, lines: loaded.file.lines, trials: [...loaded.file.trials, ...loaded.file.dropped.filter(({ id }) => all.some((edit) => edit.trial === id))].filter(({ id }) => keeps(id, loaded, all)), edits: all, plots: plotsOf });
      if (measured === null || trials.get().loaded !== loaded) continue;
      trials.update((now) => ({ ...now, card: all.length === 0 ? null : measured.card, plots: measured.plots, error: null }));
    }
  } catch (error) {
    if (!isAbort(error)) trials.update((now) => ({ ...now, error: error instanceof Error ? error.message : String(error) }));
  } finally {
    busy = false;
  }
}

/** A dropped trial takes part only where an edit brings it back. */
function keeps(id: string, loaded: LoadedTrials, edits: readonly TrialEdit[]): boolean {
  return !loaded.file.dropped.some((trial) => trial.id === id) || edits.some((edit) => edit.trial === id && edit.change !== 'drop');
}

/** The trials with the edits done, as the worker does them. */
function withEdits(loaded: LoadedTrials, edits: readonly TrialEdit[]): readonly Trial[] {
  if (edits.length === 0) return loaded.file.trials;
  const byId = new Map(loaded.file.trials.map((trial) => [trial.id, trial]));
  for (const { change, trial: id, trialKind, startS, endS } of edits) {
    if (change === 'drop') byId.delete(id);
    else {
      const before = byId.get(id) ?? loaded.file.dropped.find((trial) => trial.id === id);
      const window = windowOrNull(loaded, trialKind, startS, endS);
      if (window !== null) byId.set(id, { ...window, id, series: before?.kind === trialKind ? before.series : window.series });
    }
  }
  return [...byId.values()].sort((a, b) => a.startS - b.startS || a.kind.localeCompare(b.kind) || a.id.localeCompare(b.id));
}

/** A window that holds fewer than two rows of the log, in a gap, is none. */
function windowOrNull({ log }: LoadedTrials, kind: TrialKind, startS: number, endS: number): Trial | null {
  try {
    return trialWindow(log, kind, startS, endS, 'hand');
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
}

/** A window under the user's hand: every figure follows; null lets go without a change. */
export function hold(edit: TrialEdit | null): void {
  const now = trials.get();
  if (now.loaded === null) return;
  if (edit !== null && edit.change !== 'drop' && windowOrNull(now.loaded, edit.trialKind, edit.startS, edit.endS) === null) return;
  const all = edit === null ? now.edits : [...now.edits, edit];
  const before = now.held === null && edit !== null ? (now.card ?? boat.get().card) : now.before;
  trials.set({ ...now, held: edit, shown: withEdits(now.loaded, all), before: edit === null && now.held !== null ? null : before, lastEdit: edit === null ? '' : editWords(edit, now) });
  void measureAgain();
}

/** Posts what the user wants of a trial; the folder's own step then makes the card. */
export async function settle(edit: TrialEdit): Promise<void> {
  const now = trials.get();
  if (now.loaded === null) return;
  if (edit.change !== 'drop' && windowOrNull(now.loaded, edit.trialKind, edit.startS, edit.endS) === null) {
    hold(null);
    session.update((state) => ({ ...state, trouble: 'there are no positions in that window: nothing can be told from it' }));
    return;
  }
  const before = now.held === null ? (now.card ?? boat.get().card) : now.before;
  const edits = [...now.edits, edit];
  const lastEdit = editWords(edit, now);
  trials.set({ ...now, edits, held: null, shown: withEdits(now.loaded, edits), before, lastEdit, span: null, selected: edit.change === 'drop' ? (now.selected === edit.trial ? null : now.selected) : edit.trial });
  if (edit.change !== 'drop') wantPlots();
  void measureAgain();
  try {
    await server.decide({ kind: 'trial', ...edit });
    session.update((state) => ({ ...state, said: lastEdit, trouble: null }));
    buildSoon();
  } catch (error) {
    trials.update((state) => (state.loaded === null ? state : { ...state, edits: state.edits.filter((one) => one !== edit), shown: withEdits(state.loaded, state.edits.filter((one) => one !== edit)), before: null, lastEdit: '' }));
    void measureAgain();
    if (!isAbort(error)) session.update((state) => ({ ...state, trouble: error instanceof Error ? error.message : String(error) }));
  }
}

let buildTimer: ReturnType<typeof setTimeout> | undefined;

/** Makes the card once the user has stopped correcting for a moment. */
function buildSoon(): void {
  clearTimeout(buildTimer);
  buildTimer = setTimeout(() => {
    server.startJob('build', 'boat').catch((error: unknown) => session.update((state) => ({ ...state, trouble: error instanceof Error ? error.message : String(error) })));
  }, 700);
}

function editWords(edit: TrialEdit, now: TrialsState): string {
  const trial = now.shown.find(({ id }) => id === edit.trial) ?? now.loaded?.file.dropped.find(({ id }) => id === edit.trial);
  if (edit.change === 'add') return now.loaded?.file.dropped.some(({ id }) => id === edit.trial) === true ? `${KIND_WORDS[edit.trialKind].long} restored` : `${KIND_WORDS[edit.trialKind].long} added`;
  const name = trial === undefined ? edit.trial : trialName(trial, now.shown);
  if (edit.change === 'drop') return `${name} dropped`;
  return trial !== undefined && trial.kind !== edit.trialKind ? `${name} is now a ${KIND_WORDS[edit.trialKind].long}` : `${name} moved`;
}

export function moveTrial(trial: Trial, change: { readonly startS?: number; readonly endS?: number; readonly kind?: TrialKind }): TrialEdit {
  return { change: 'move', trial: trial.id, trialKind: change.kind ?? trial.kind, startS: change.startS ?? trial.startS, endS: change.endS ?? trial.endS };
}

export function dropTrial(trial: Trial): Promise<void> {
  return settle({ change: 'drop', trial: trial.id, trialKind: trial.kind, startS: trial.startS, endS: trial.endS });
}

export function restoreTrial(trial: Trial): Promise<void> {
  return settle({ change: 'add', trial: trial.id, trialKind: trial.kind, startS: trial.startS, endS: trial.endS });
}

/** Makes a trial of a span; its name is the kind and the start second, the next free one. */
export function addTrial(kind: TrialKind, span: { readonly startS: number; readonly endS: number }): Promise<void> {
  const { loaded, shown } = trials.get();
  const taken = new Set([...shown, ...(loaded?.file.dropped ?? [])].map(({ id }) => id));
  let second = Math.floor(span.startS);
  while (taken.has(`${kind}@${second}`)) second++;
  return settle({ change: 'add', trial: `${kind}@${second}`, trialKind: kind, ...span });
}

/** Chooses a trial; from sheet and chart the strip shows it large enough to be corrected. */
export function selectTrial(id: string | null, from: 'chart' | 'strip' | 'sheet'): void {
  const now = trials.get();
  const trial = now.shown.find((one) => one.id === id) ?? null;
  trials.set({ ...now, selected: trial?.id ?? null, lit: [], span: null, tab: trial !== null ? 'trials' : now.tab, strip: trial !== null ? 'log' : now.strip, ...(now.held === null ? { before: null, lastEdit: '' } : {}) });
  wantPlots();
  if (trial !== null && from !== 'strip') stripWanted.set({ startS: trial.startS, endS: trial.endS, always: from === 'sheet' });
}

/** Lights the trials a figure comes from. */
export function lightTrials(ids: readonly string[]): void {
  const now = trials.get();
  const plotsOf = now.plotsOf.filter(({ kind }) => kind !== 'trial');
  trials.set({ ...now, lit: ids, selected: null, strip: 'log', plotsOf, plots: plotsOf.length === 0 ? [] : now.plots });
  const lit = now.shown.filter(({ id }) => ids.includes(id));
  if (lit.length > 0) stripWanted.set({ startS: Math.min(...lit.map(({ startS }) => startS)), endS: Math.max(...lit.map(({ endS }) => endS)), always: false });
  if (lit.length > 0) chartWanted.set({ trials: ids, always: false });
}

export function showPlots(plotsOf: readonly PlotWanted[]): void {
  trials.update((now) => ({ ...now, plotsOf, plots: plotsOf.length === 0 ? [] : now.plots }));
  void measureAgain();
}

/** Plots follow the trial at hand. */
function wantPlots(): void {
  const { selected } = trials.get();
  showPlots(selected === null ? [] : [{ kind: 'trial', trial: selected }]);
}

export function showTab(tab: TrialsState['tab']): void {
  trials.update((now) => ({ ...now, tab }));
}

/** What the last correction changed is no longer told. */
export function forgetChanges(): void {
  trials.update((now) => ({ ...now, before: null, lastEdit: '' }));
}
