import { createReadStream } from 'node:fs';
import { readFile, readdir, stat, writeFile } from 'node:fs/promises';
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import path from 'node:path';
import type { ErrorBody, JobResult, JobState, ServerState } from '../../src/server/api.js';
import type { Decision, JournalEntry, SurveySummary } from '../../src/survey/summary.js';
import type { Soundings } from '../../src/depths/soundings.js';
import type { ImageryFixture } from './imagery-fixture.js';
import type { TrialsFixture } from './trials-fixture.js';
import { applyRefs, countReasons, writeFixtureCard, writeFixtureSoundings } from './fixture.js';

const TYPES: Readonly<Record<string, string>> = { '.html': 'text/html; charset=utf-8', '.js': 'text/javascript', '.css': 'text/css', '.svg': 'image/svg+xml', '.woff2': 'font/woff2', '.woff': 'font/woff', '.json': 'application/json', '.geojson': 'application/geo+json', '.tif': 'image/tiff' };
const CSP = "default-src 'self'; worker-src 'self' blob:; img-src 'self' data: blob:";
const TOKEN = 'token-of-the-stand-in';

export interface StandIn {
  readonly url: string;
  readonly requests: { method: string; url: string; body: string }[];
  summary: SurveySummary;
  /** The next request that changes something is refused with this. */
  refuseNext: { readonly status: number; readonly error: ErrorBody } | null;
  close(): Promise<void>;
}

/** Speaks the server's contract for the page's tests, over a fixture folder, with work that takes a moment and can fail. */
export async function startStandIn(folder: string, first: SurveySummary, soundings: Soundings | null, options: { pageDir: string; port?: number; stepMs?: number; trials?: TrialsFixture; imagery?: ImageryFixture }): Promise<StandIn> {
  const { stepMs = 60, pageDir } = options;
  const journal: JournalEntry[] = [];
  const jobs: JobState[] = [];
  const listeners = new Set<ServerResponse>();
  const cancelled = new Set<string>();
  const ruled = soundings === null ? null : soundings.reason.slice();
  let jobNumber = 0;
  /** Jobs under way: none is left writing to a folder that is taken away. */
  const working = new Set<Promise<void>>();
  const requests: StandIn['requests'] = [];
  const tell = (event: string, data: unknown) => {
    for (const listener of listeners) listener.write(`event: ${event}\ndata: ${JSON.stringify(data)}\n\n`);
  };
  const put = (job: JobState) => {
    const at = jobs.findIndex((one) => one.id === job.id);
    if (at < 0) jobs.push(job);
    else jobs[at] = job;
    tell('job', job);
  };
  const standing = (): JournalEntry[] => {
    const out: JournalEntry[] = [];
    for (const entry of journal) {
      if (entry.kind === 'undo') out.splice(out.findIndex((one) => one.number === entry.entry), 1);
      else if (entry.kind === 'redo') out.push(journal.find((one) => one.number === entry.entry) as JournalEntry);
      else out.push(entry);
    }
    return out;
  };
  const isStaleAfter = (step: string, entry: JournalEntry): boolean => {
    const about = entry.kind === 'undo' || entry.kind === 'redo' ? journal.find((one) => one.number === entry.entry) : entry;
    const ofBoat = about?.kind === 'trial' || (about?.kind === 'settings' && about.path.startsWith('boat.'));
    return step !== 'observations' && ofBoat === (step === 'boat');
  };
  const append = (decision: Decision): JournalEntry => {
    const entry = { ...decision, number: journal.length + 1, at: '2026-05-13T12:00:00Z' } as JournalEntry;
    journal.push(entry);
    const stand = standing();
    self.summary = { ...self.summary, decisions: { count: stand.length, last: null }, steps: self.summary.steps.map((step) => (isStaleAfter(step.step, entry) ? { ...step, state: 'stale', because: 'logs or decisions changed' } : step)) };
    tell('state', { because: 'decision' });
    return entry;
  };
  const pause = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms));
  const run = async (verb: JobState['verb'], result: () => Promise<JobResult>): Promise<string> => {
    const id = `job-${++jobNumber}`;
    put({ id, verb, step: '', done: null, detail: '', state: 'queued' });
    const work = (async () => {
      for (const [k, step] of ['observations', 'soundings', 'surface', 'contours', 'report'].entries()) {
        if (cancelled.has(id)) {
          put({ id, verb, step, done: null, detail: '', state: 'cancelled' });
          return;
        }
        put({ id, verb, step, done: k / 5, detail: `step ${k + 1} of 5`, state: 'running' });
        await pause(stepMs);
      }
      put({ id, verb, step: '', done: 1, detail: '', state: 'done', result: await result() });
      tell('state', { because: 'job' });
    })().finally(() => working.delete(work));
    working.add(work);
    return id;
  };
  const writeBoat = () => (options.trials === undefined ? writeFixtureCard(folder, self.summary.settings) : options.trials.write(folder, self.summary.settings, standing()));
  const rebuild = async (): Promise<JobResult> => {
    if (soundings !== null && ruled !== null) {
      soundings.reason.set(ruled);
      for (const entry of standing()) if (entry.kind === 'set-aside' || entry.kind === 'restore') applyRefs(soundings, entry.kind, entry.soundings);
      await writeFixtureSoundings(folder, soundings);
      const { good, setAside } = countReasons(soundings);
      if (self.summary.soundings !== null) self.summary = { ...self.summary, soundings: { ...self.summary.soundings, good, setAside } };
    }
    const boat = await writeBoat();
    self.summary = { ...self.summary, boat, steps: self.summary.steps.map((step) => ({ ...step, state: 'fresh', because: '' })) };
    return { verb: 'build', build: { ran: [{ step: 'soundings', seconds: 0.1 }], fresh: [], summary: self.summary } };
  };

  /** Changes a setting; gives what it was. */
  const setSetting = (dotted: string, value: unknown): unknown => {
    const settings = structuredClone(self.summary.settings) as Record<string, unknown>;
    const keys = dotted.split('.');
    let at = settings;
    for (const key of keys.slice(0, -1)) at = at[key] as Record<string, unknown>;
    const from = at[keys.at(-1) as string];
    at[keys.at(-1) as string] = value;
    self.summary = { ...self.summary, settings: settings as never };
    return from;
  };
  const makeCardAgain = async (): Promise<JobResult> => {
    self.summary = { ...self.summary, boat: await writeBoat(), steps: self.summary.steps.map((step) => (step.step === 'boat' ? { ...step, state: 'fresh', because: '' } : step)) };
    return { verb: 'build', build: { ran: [{ step: 'boat', seconds: 0.01 }], fresh: [], summary: self.summary } };
  };

  const handle = async (request: IncomingMessage, response: ServerResponse): Promise<void> => {
    const url = new URL(request.url ?? '/', 'http://127.0.0.1');
    const method = request.method ?? 'GET';
    response.setHeader('content-security-policy', CSP);
    const send = (status: number, body: unknown) => {
      response.writeHead(status, { 'content-type': 'application/json' });
      response.end(JSON.stringify(body, (_key, value: unknown) => (typeof value === 'number' && !Number.isFinite(value) ? null : value)));
    };
    const chunks: Buffer[] = [];
    for await (const chunk of request) chunks.push(chunk as Buffer);
    const body = Buffer.concat(chunks).toString('utf8');
    if (method !== 'GET' && method !== 'HEAD') {
      requests.push({ method, url: request.url ?? '', body: body.slice(0, 20_000) });
      if (request.headers['x-tallow-token'] !== TOKEN) {
        send(403, { error: { message: 'the token is missing or wrong', fix: 'reload the page' } });
        return;
      }
      if (self.refuseNext !== null) {
        const { status, error } = self.refuseNext;
        self.refuseNext = null;
        send(status, { error });
        return;
      }
    }
    if (url.pathname === '/api/state') {
      const planFiles = (await readdir(path.join(folder, 'plan')).catch(() => [])).map((name) => `plan/${name}`);
      const state: ServerState = { summary: self.summary, planFiles, journal: journal.slice(-50), jobs, serverVersion: 'stand-in', token: TOKEN };
      send(200, state);
    } else if (url.pathname === '/api/sonar') send(200, { soundSpeedMps: 1500, pings: options.imagery?.n ?? 0, middleDb: 50 });
    else if (url.pathname === '/api/sonar/picture' && options.imagery !== undefined) {
      const number = (name: string) => Number(url.searchParams.get(name));
      response.writeHead(200, { 'content-type': 'application/octet-stream' });
      response.end(options.imagery.picture(number('from'), number('to'), { axis: url.searchParams.get('axis') as 'slant', levels: url.searchParams.get('levels') as 'evened', width: number('width'), rangeM: number('range'), step: number('step') }));
    } else if (url.pathname === '/api/events') {
      response.writeHead(200, { 'content-type': 'text/event-stream', 'cache-control': 'no-store' });
      response.write(': here\n\n');
      listeners.add(response);
      request.on('close', () => listeners.delete(response));
      response.on('close', () => listeners.delete(response));
    } else if (url.pathname === '/api/jobs') {
      const { verb, upTo } = JSON.parse(body) as { verb: 'build' | 'lines'; upTo?: string };
      send(202, { id: await run(verb, upTo === 'boat' ? makeCardAgain : verb === 'build' ? rebuild : async () => ({ verb: 'lines', summary: self.summary })) });
    } else if (url.pathname.startsWith('/api/jobs/')) {
      const id = url.pathname.slice(10);
      cancelled.add(id);
      send(200, jobs.find((job) => job.id === id));
    } else if (url.pathname === '/api/take-in') {
      const name = url.searchParams.get('name') ?? '';
      const good = body.startsWith('$');
      send(202, {
        id: await run('take-in', async () => {
          const log = { ...(self.summary.logs[0] ?? ({ rejects: [], notes: [], counts: {}, kind: 'nmea', lines: 3, fixes: 1, pings: 1, timeStartS: 0, timeEndS: 1, bbox: null, depthMinM: 1, depthMaxM: 2, takenInAt: '' } as never)), file: name, bytes: body.length, sha256: 'f'.repeat(64), rejects: [{ code: 'checksum', reason: 'the checksum does not match', count: 2, firstLines: [3, 9] }] };
          if (good) self.summary = { ...self.summary, logs: [...self.summary.logs, log] };
          return { verb: 'take-in', takenIn: [good ? { name, outcome: 'taken-in', log, because: '' } : { name, outcome: 'refused', log: null, because: `${name} line 1: expected an NMEA sentence or a CSV header, found "${body.slice(0, 12)}"; nothing was taken in` }] };
        }),
      });
    } else if (url.pathname === '/api/decisions') send(200, append(JSON.parse(body) as Decision));
    else if (url.pathname === '/api/undo') {
      const last = standing().at(-1);
      if (last?.kind === 'settings') setSetting(last.path, last.from);
      send(200, { entry: last === undefined ? null : append({ kind: 'undo', entry: last.number }) });
    } else if (url.pathname === '/api/redo') {
      const undone = new Set(standing().map((entry) => entry.number));
      const last = [...journal].reverse().find((entry) => entry.kind !== 'undo' && entry.kind !== 'redo' && !undone.has(entry.number));
      send(200, { entry: last === undefined ? null : append({ kind: 'redo', entry: last.number }) });
    } else if (url.pathname.startsWith('/api/plan/')) {
      await writeFile(path.join(folder, 'plan', `${url.pathname.slice(10)}.geojson`), body);
      self.summary = { ...self.summary, area: { areaM2: 1, polygons: 1 }, frame: self.summary.frame ?? { label: 'UTM 26 N', epsg: 32626, zone: 26, hemisphere: 'north' } };
      append({ kind: 'file', path: `${url.pathname.slice(5)}.geojson`, fromSha256: null, toSha256: 'a'.repeat(64) });
      send(200, { ok: true });
    } else if (url.pathname === '/api/settings') {
      const { path: dotted, value } = JSON.parse(body) as { path: string; value: unknown };
      const from = setSetting(dotted, value);
      append({ kind: 'settings', path: dotted, from, to: value });
      send(200, { ok: true });
    } else if (url.pathname.startsWith('/files/')) await sendFile(path.join(folder, decodeURIComponent(url.pathname.slice(7))), request, response);
    else await sendFile(path.join(pageDir, url.pathname === '/' ? 'index.html' : url.pathname), request, response);
  };

  const server = createServer((request, response) => {
    handle(request, response).catch((error: unknown) => {
      if (!response.headersSent) response.writeHead(500, { 'content-type': 'application/json' });
      response.end(JSON.stringify({ error: { message: String(error) } }));
    });
  });
  await new Promise<void>((resolve) => server.listen(options.port ?? 0, '127.0.0.1', resolve));
  const self: StandIn = {
    url: `http://127.0.0.1:${(server.address() as AddressInfo).port}/`,
    requests,
    summary: first,
    refuseNext: null,
    close: async () => {
      await new Promise<void>((resolve) => {
        for (const listener of listeners) listener.end();
        server.close(() => resolve());
        server.closeAllConnections();
      });
      await Promise.allSettled([...working]);
    },
  };
  return self;
}

async function sendFile(file: string, request: IncomingMessage, response: ServerResponse): Promise<void> {
  const facts = await stat(file).catch(() => null);
  if (facts === null || !facts.isFile()) {
    response.writeHead(404, { 'content-type': 'application/json' });
    response.end(JSON.stringify({ error: { message: `${path.basename(file)} is not there` } }));
    return;
  }
  const range = /^bytes=(\d+)-(\d*)$/.exec(request.headers.range ?? '');
  if (range !== null && request.method !== 'HEAD') {
    const [start, end] = [Number(range[1]), Math.min(facts.size, range[2] === '' ? facts.size : Number(range[2]) + 1)];
    response.writeHead(206, { 'content-type': 'application/octet-stream', 'content-length': Math.max(0, end - start), 'content-range': `bytes ${start}-${end - 1}/${facts.size}` });
    createReadStream(file, { start, end: end - 1 }).pipe(response);
    return;
  }
  response.writeHead(200, { 'content-type': TYPES[path.extname(file)] ?? 'application/octet-stream', 'content-length': facts.size, etag: `"${facts.size}-${facts.mtimeMs}"`, 'cache-control': 'no-cache' });
  if (request.method === 'HEAD') response.end();
  else if (facts.size < 1e6) response.end(await readFile(file));
  else createReadStream(file).pipe(response);
}
