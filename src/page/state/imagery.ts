import { alongStroke, thinStroke, type BottomPoint } from '../waterfall/bottom-stroke.js';
import type { ColourScale } from '../waterfall/colour-scales.js';
import type { Echo } from '../waterfall/echo-place.js';
import { placeOfEcho } from '../waterfall/echo-place.js';
import { pingRunAt, pingRuns, type PingRun } from '../waterfall/ping-runs.js';
import type { WaterfallAxis, WaterfallTool } from '../waterfall/waterfall-view.js';
import { isAbort, startWorker, type WorkCaller } from '../work/call.js';
import type { LoadedPings, RasterInfo } from '../work/imagery-messages.js';
import { plural } from '../words/figures.js';
import { isSonarLog } from '../words/sonar-logs.js';
import { buildSoon, refresh, say, server, stopBuilds, trouble } from './actions.js';
import { createStore } from './store.js';
import { screen, session, survey } from './stores.js';

const PINGS = 'derived/imagery/pings.parquet';
const BOTTOM = 'derived/imagery/bottom.parquet';
const TRACK = 'derived/imagery/sonar-track.parquet';
const GAIN = 'derived/imagery/gain.parquet';
export const MOSAIC = 'derived/imagery/mosaic.tif';

/** Reads pings, paints the waterfall and the mosaic: apart, so that one does not wait for the other. */
export const pingsWorker = once('pings');
export const mosaicWorker = once('mosaic');

/** Started when it is first asked for. */
function once(name: string): () => WorkCaller {
  let started: WorkCaller | null = null;
  return () => (started ??= startWorker(name));
}

/** What of the mosaic lies under the chart: all lines, none, or one line's own picture. */
export type MosaicLayer = 'all' | 'none' | number;

/** State of the Imagery stage on this screen. */
export interface ImageryState {
  readonly pings: LoadedPings | null;
  readonly runs: readonly PingRun[];
  readonly soundSpeedMps: number;
  /** Usual level as recorded [dB]; NaN where it is not known. */
  readonly middleDb: number;
  /** Changes with the files the waterfall is made from. */
  readonly version: string;
  /** Counts up when the bottom was changed in place. */
  readonly bottomVersion: number;
  readonly loading: boolean;
  /** Index of the run in the waterfall, -1 for none. */
  readonly run: number;
  readonly axis: WaterfallAxis;
  readonly levels: 'recorded' | 'evened';
  readonly scale: ColourScale;
  readonly strongDark: boolean;
  /** Brighter by so much, and how many decibels run from the darkest to the lightest. */
  readonly gainDb: number;
  readonly contrastDb: number;
  readonly showBottom: boolean;
  readonly tool: WaterfallTool;
  /** Points of a bottom being drawn click by click. */
  readonly drawn: readonly BottomPoint[];
  readonly layer: MosaicLayer;
  readonly mosaic: RasterInfo | null;
  /** The waterfall takes most of the table. */
  readonly wide: boolean;
}

export const imagery = createStore<ImageryState>({
  pings: null, runs: [], soundSpeedMps: 1500, middleDb: NaN, version: '', bottomVersion: 0, loading: false, run: -1, axis: 'slant', levels: 'evened', scale: 'copper', strongDark: false, gainDb: 0, contrastDb: 30,
  showBottom: true, tool: 'look', drawn: [], layer: 'all', mosaic: null, wide: false,
});

/** The echo under the pointer, and who points. */
export const echoHover = createStore<{ readonly echo: Echo | null; readonly from: 'chart' | 'waterfall' | 'keys' | 'list' }>({ echo: null, from: 'chart' });

/** A ping the waterfall is to go to; counts up. `sizeM` 0: as close as it stands. */
export const echoWanted = createStore<{ readonly echo: Echo; readonly sizeM: number; readonly asked: number } | null>(null);

/** A place the chart is to go to; counts up. */
export const placeWanted6 = createStore<{ readonly xM: number; readonly yM: number; readonly sizeM: number; readonly asked: number } | null>(null);

let heldPings = '';
let heldMosaic = '';
let loading: AbortController | null = null;

/** The step that makes each file: one it has not made yet is not asked for. */
const MADE_BY: Readonly<Record<string, string>> = { [PINGS]: 'pings', [BOTTOM]: 'bottom', [TRACK]: 'sonar-track', [GAIN]: 'mosaic', [MOSAIC]: 'mosaic' };

async function versionOf(path: string): Promise<string> {
  const made = survey.get().summary?.steps.find(({ step }) => step === MADE_BY[path]);
  if (made?.state === 'missing') return 'none';
  const answer = await fetch(`/files/${path}`, { method: 'HEAD', cache: 'no-store' });
  return answer.status === 404 ? 'none' : (answer.headers.get('etag') ?? 'unknown').replace(/[^0-9a-z]/gi, '');
}

/** Reads what the Imagery and Finds stages show, where it is another than what is held. */
export async function loadImagery(): Promise<void> {
  const { summary } = survey.get();
  if (summary === null || !summary.logs.some(isSonarLog)) {
    heldPings = heldMosaic = '';
    if (imagery.get().pings !== null) imagery.update((now) => ({ ...now, pings: null, runs: [], run: -1, mosaic: null }));
    return;
  }
  loading?.abort();
  const stop = new AbortController();
  loading = stop;
  try {
    const [pingsV, bottomV, trackV, gainV, mosaicV] = (await Promise.all([PINGS, BOTTOM, TRACK, GAIN, MOSAIC].map(versionOf))) as [string, string, string, string, string];
    if (stop.signal.aborted) return;
    const key = `${pingsV}-${bottomV}-${trackV}-${gainV}`;
    const work: Promise<void>[] = [];
    if (mosaicV !== heldMosaic) work.push(openMosaic(mosaicV, stop.signal));
    if (key !== heldPings) work.push(readAll(key, pingsV, bottomV, trackV, stop.signal));
    await Promise.all(work);
  } catch (error) {
    if (!stop.signal.aborted && !isAbort(error)) trouble(error);
  } finally {
    if (loading === stop) imagery.update((now) => (now.loading ? { ...now, loading: false } : now));
  }
}

async function readAll(key: string, pingsV: string, bottomV: string, trackV: string, signal: AbortSignal): Promise<void> {
  imagery.update((now) => ({ ...now, loading: true }));
  const [pings, about] = await Promise.all([
    pingsV === 'none' ? null : pingsWorker().call('loadPings', { pingsUrl: `/files/${PINGS}?v=${pingsV}`, bottomUrl: `/files/${BOTTOM}?v=${bottomV}`, trackUrl: `/files/${TRACK}?v=${trackV}` }, { signal }),
    server.sonarAbout(signal),
  ]);
  if (signal.aborted) return;
  heldPings = key;
  const runs = pings === null ? [] : pingRuns(pings, about.soundSpeedMps);
  const before = imagery.get();
  const at = before.runs[before.run];
  const kept = at === undefined ? -1 : pingRunAt(runs, at.rowStart);
  const first = runs.findIndex(({ line }) => line >= 0);
  imagery.update((now) => ({ ...now, pings, runs, soundSpeedMps: about.soundSpeedMps, middleDb: about.middleDb ?? NaN, version: key, bottomVersion: now.bottomVersion + 1, run: kept >= 0 ? kept : first >= 0 ? first : runs.length > 0 ? 0 : -1 }));
}

async function openMosaic(version: string, signal: AbortSignal): Promise<void> {
  const { layer } = imagery.get();
  const path = layerPath(layer);
  const layerVersion = path === null || path === MOSAIC ? version : await versionOf(path);
  const mosaic = path === null || layerVersion === 'none' ? null : await mosaicWorker().call('openRaster', { url: `/files/${path}?v=${layerVersion}` }, { signal });
  if (signal.aborted) return;
  heldMosaic = version;
  imagery.update((now) => (now.layer === layer ? { ...now, mosaic } : now));
}

function layerPath(layer: MosaicLayer): string | null {
  return layer === 'none' ? null : layer === 'all' ? MOSAIC : `derived/imagery/lines/line-${String(layer).padStart(3, '0')}.tif`;
}

/** Shows another layer under the chart. */
export async function showMosaic(layer: MosaicLayer): Promise<void> {
  imagery.update((now) => ({ ...now, layer, ...(layer === 'none' ? { mosaic: null } : {}) }));
  heldMosaic = '';
  await loadImagery();
}

/** Shows the run before or after, or one of them. */
export function showRun(run: number): void {
  imagery.update((now) => (run >= 0 && run < now.runs.length && run !== now.run ? { ...now, run, drawn: [] } : now));
}

/** The next run on a line, around the end to the first. */
export function stepRun(by: 1 | -1): void {
  const { runs, run } = imagery.get();
  for (let k = 1; k <= runs.length; k++) {
    const at = (((run + by * k) % runs.length) + runs.length) % runs.length;
    if ((runs[at]?.line ?? -1) >= 0) return showRun(at);
  }
}

/** Goes to an echo in the waterfall, on whatever run it lies; and on the chart. */
export function goToEcho(echo: Echo, sizeM = 0, from: 'list' | 'chart' = 'list'): void {
  const { pings, runs } = imagery.get();
  if (pings === null) return;
  showRun(pingRunAt(runs, echo.row));
  echoHover.set({ echo, from });
  echoWanted.set({ echo, sizeM, asked: (echoWanted.get()?.asked ?? 0) + 1 });
  const place = from === 'chart' ? null : placeOfEcho(pings, echo);
  if (place !== null) placeWanted6.set({ ...place, sizeM, asked: (placeWanted6.get()?.asked ?? 0) + 1 });
}

/** Bottoms drawn on this screen that the files do not hold yet, by the journal's entry, with what they changed. */
interface ShownBottom {
  readonly entry: number | null;
  readonly version: string;
  readonly rows: readonly number[];
  readonly before: readonly (readonly [number, number])[];
}
let shown: ShownBottom[] = [];

const BY_HAND = 3;

/**
 * Draws the bottom by hand: shown at once, written as one line of the journal, undone as one.
 * @param points rows of the pings and slant ranges, of one run
 */
export async function drawBottomByHand(points: readonly BottomPoint[]): Promise<void> {
  const { pings, version } = imagery.get();
  const { summary } = survey.get();
  const thin = thinStroke(points.filter(({ slantM }) => slantM > 0));
  const first = thin[0];
  if (pings === null || summary === null || first === undefined) return;
  const log = summary.logs[pings.log[first.row] as number];
  if (log === undefined) return;
  const rows: number[] = [];
  const before: [number, number][] = [];
  alongStroke(thin, (row, slantM) => {
    rows.push(row);
    before.push([pings.firstEchoM[row] as number, pings.source[row] as number]);
    pings.firstEchoM[row] = slantM;
    pings.source[row] = BY_HAND;
  });
  const change: ShownBottom = { entry: null, version, rows, before };
  imagery.update((now) => ({ ...now, drawn: [], bottomVersion: now.bottomVersion + 1 }));
  say(`the bottom drawn by hand over ${plural(rows.length, 'ping')}`);
  try {
    await stopBuilds();
    const entry = await server.decide({ kind: 'bottom', log: log.sha256.slice(0, 16), points: thin.map(({ row, slantM }) => ({ record: pings.record[row] as number, slantM: Math.round(slantM * 1000) / 1000 })) });
    shown = [...shown.filter((one) => one.version === version), { ...change, entry: entry.number }];
    await refresh();
    buildSoon();
  } catch (error) {
    takeBack(change);
    trouble(error);
  }
}

function takeBack({ rows, before, version }: ShownBottom): void {
  const { pings, version: now } = imagery.get();
  if (pings === null || now !== version) return;
  rows.forEach((row, k) => {
    const [slantM, source] = before[k] as readonly [number, number];
    pings.firstEchoM[row] = slantM;
    pings.source[row] = source;
  });
  imagery.update((state) => ({ ...state, bottomVersion: state.bottomVersion + 1 }));
}

// An undo of what this screen drew shows at once; the build that follows has the last word.
survey.watch(() => {
  const { journal } = survey.get();
  const last = journal[journal.length - 1];
  const top = shown[shown.length - 1];
  if (last?.kind !== 'undo' || top === undefined || top.entry !== last.entry) return;
  shown = shown.slice(0, -1);
  takeBack(top);
});

/** Sets one setting of the imagery; what rests on it is made anew. */
export async function setImagery(path: string, value: unknown, words: string): Promise<void> {
  try {
    await server.set(path, value);
    await refresh();
    session.update((now) => ({ ...now, said: words, trouble: null }));
    buildSoon();
  } catch (error) {
    trouble(error);
  }
}

// Read when the stage is first looked at, and whenever the survey was read anew.
let seen: object | null = null;
const look = (): void => {
  const { stage } = screen.get();
  const { server: state } = survey.get();
  if ((stage !== 'imagery' && stage !== 'finds') || state === null || state === seen) return;
  seen = state;
  void loadImagery();
};
survey.watch(look);
screen.watch(look);
