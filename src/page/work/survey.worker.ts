import type { FromWorker, ToWorker, WorkKind, WorkMessages } from './messages.js';
import { readSoundings } from './read-soundings.js';
import { readShapes } from './read-shapes.js';
import { readSurface } from './read-surface.js';
import { readCrossings } from './read-crossings.js';
import { readTrack } from './read-track.js';
import { askBoat } from './ask-boat.js';
import { derivePurpose } from './derive-purpose.js';
import type { TrialLog } from '../../boat/trial-log.js';
import { measureWindows } from './measure-windows.js';
import { readTrials } from './read-trials.js';
import { planArea } from './plan-area.js';
import { DEPTHS_FILES, depthsHandlers } from './depths-handlers.js';
import { IMAGERY_FILES, imageryHandlers } from './imagery-handlers.js';
import { REHEARSE_FILES, rehearseHandlers } from './rehearse-handlers.js';
import { tintWindow, type TintSurface } from '../chart/tint.js';

interface Job {
  readonly signal: AbortSignal;
  readonly progress: (done: number, detail: string) => void;
}

type Answer<K extends WorkKind> = { readonly response: WorkMessages[K]['response']; readonly transfer?: readonly Transferable[] };
type Handlers = { readonly [K in WorkKind]: (request: WorkMessages[K]['request'], job: Job) => Answer<K> | Promise<Answer<K>> };

let surface: TintSurface | null = null;
let trialLog: TrialLog | null = null;

const handlers: Handlers = {
  ...rehearseHandlers,
  ...depthsHandlers,
  ...imageryHandlers,
  derivePurpose: async (request, job) => ({ response: await derivePurpose(request, job.signal) }),
  loadSoundings: async ({ url }, job) => {
    const loaded = await readSoundings(url, job.signal, job.progress);
    if (loaded === null) return { response: null };
    const s = loaded.soundings;
    const columns = [s.timeS, s.xM, s.yM, s.measuredM, s.depthM, s.waterLevelM, s.tvuM, s.thuM, s.reason, s.ruleReason, s.line, s.log, s.record];
    return { response: loaded, transfer: [loaded.index, ...columns.map((column) => column.buffer as ArrayBuffer)] };
  },
  loadSurface: async ({ url }, job) => {
    surface = null;
    const read = await readSurface(url, job.signal);
    if (read === null) return { response: null };
    surface = read;
    let low = Infinity;
    let high = -Infinity;
    for (const depth of read.depthM) {
      if (depth < low) low = depth;
      if (depth > high) high = depth;
    }
    const { westM, northM, cellM, cols, rows } = read;
    return { response: { westM, northM, cellM, cols, rows, depthMinM: low, depthMaxM: high } };
  },
  tint: async (request) => {
    if (surface === null) return { response: null };
    const pixels = tintWindow(surface, request, request.dangerM, request.colours);
    const image = await createImageBitmap(new ImageData(pixels, request.widthPx, request.heightPx));
    return { response: { image }, transfer: [image] };
  },
  loadShapes: async ({ url, frame }, job) => {
    const shapes = await readShapes(url, frame, job.signal);
    if (shapes === null) return { response: null };
    return { response: shapes, transfer: shapes.shapes.flatMap((shape) => shape.parts.map((part) => part.buffer as ArrayBuffer)) };
  },
  loadTrack: async ({ url }, job) => {
    const track = await readTrack(url, job.signal);
    return { response: track, transfer: track === null ? [] : track.lines.map((line) => line.buffer as ArrayBuffer) };
  },
  loadCrossings: async ({ url }, job) => ({ response: await readCrossings(url, job.signal) }),
  askBoat: (request) => ({ response: askBoat(request) }),
  loadTrials: async ({ trialsUrl, logUrl }, job) => {
    trialLog = null;
    const loaded = await readTrials(trialsUrl, logUrl, job.signal);
    trialLog = loaded?.log ?? null;
    // The log is copied to the page: both sides need it.
    return { response: loaded, transfer: loaded === null ? [] : [loaded.groundMps.buffer as ArrayBuffer, ...loaded.track.map((line) => line.buffer as ArrayBuffer)] };
  },
  measureTrials: (request) => ({ response: trialLog === null ? null : measureWindows(trialLog, request) }),
  planLines: (request) => ({ response: planArea(request) }),
};

/** A reader's own words, said of the file and with what to do. */
function plain(kind: WorkKind, error: unknown): string {
  const said = error instanceof Error ? error.message : String(error);
  const file = { loadSoundings: 'derived/soundings.parquet', loadSurface: 'derived/surface/surface.tif', loadShapes: 'a GeoJSON file of the survey', loadTrack: 'derived/tracks.parquet', loadCrossings: 'derived/crossings.json', loadTrials: 'derived/trials.json or derived/trial-log.parquet', tint: null, askBoat: null, measureTrials: null, planLines: null, derivePurpose: null, ...REHEARSE_FILES, ...DEPTHS_FILES, ...IMAGERY_FILES }[kind];
  return file === null ? said : `${file} cannot be read: ${said}; build the survey again`;
}

const running = new Map<number, AbortController>();

function answer(message: FromWorker, transfer: readonly Transferable[] = []): void {
  (self as unknown as DedicatedWorkerGlobalScope).postMessage(message, [...transfer]);
}

async function run<K extends WorkKind>(id: number, kind: K, request: WorkMessages[K]['request']): Promise<void> {
  const stop = new AbortController();
  running.set(id, stop);
  try {
    const handler = handlers[kind] as Handlers[K];
    const { response, transfer } = await handler(request, {
      signal: stop.signal,
      progress: (done, detail) => answer({ id, progress: done, detail }),
    });
    answer({ id, done: response }, transfer ?? []);
  } catch (error) {
    answer({ id, failed: plain(kind, error), cancelled: stop.signal.aborted });
  } finally {
    running.delete(id);
  }
}

self.onmessage = (event: MessageEvent<ToWorker>) => {
  const message = event.data;
  if (message.kind === 'abort') running.get(message.id)?.abort();
  else void run(message.id, message.kind, message.request as WorkMessages[WorkKind]['request']);
};
