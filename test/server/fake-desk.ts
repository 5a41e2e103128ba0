import { mkdir, mkdtemp, readFile, rm, symlink, writeFile } from 'node:fs/promises';
import http from 'node:http';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { WorkContext } from '../../src/base/progress.js';
import { throwIfCancelled } from '../../src/base/progress.js';
import { startServer } from '../../src/server/server.js';
import type { RunningServer, ServerOptions } from '../../src/server/server.js';
import type { ServerState } from '../../src/server/api.js';
import type { Desk } from '../../src/survey/desk.js';
import type { Decision, JournalEntry, SurveySummary } from '../../src/survey/summary.js';

/** A survey folder with a file in each place, links that lead astray, and a page. */
export async function makeFolders(): Promise<{ folder: string; pageDir: string; remove: () => Promise<void> }> {
  const base = await mkdtemp(path.join(tmpdir(), 'tallow-server-'));
  const folder = path.join(base, 'survey');
  const pageDir = path.join(base, 'page');
  for (const place of ['plan', 'water', 'boat', 'derived/surface', 'products', 'logs', 'private']) await mkdir(path.join(folder, place), { recursive: true });
  await mkdir(path.join(pageDir, 'assets'), { recursive: true });
  const put = (place: string, text: string): Promise<void> => writeFile(path.join(folder, place), text);
  await put('survey.json', '{"name":"Hollin Sound"}');
  await put('plan/area.geojson', '{"type":"FeatureCollection","features":[]}');
  await put('derived/surface/surface.tif', 'ABCDEFGHIJ');
  await put('derived/soundings.parquet', 'PAR1');
  await put('derived/empty.csv', '');
  await put('products/a name with spaces é.txt', 'named');
  await put('products/sheet.svg', '<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>');
  await put('products/report.pdf', '%PDF-');
  await put('logs/raw.log', 'secret raw log');
  await put('private/other.txt', 'secret in the folder');
  await put('journal.jsonl', 'secret journal');
  await put('derived/.hidden', 'secret hidden');
  await writeFile(path.join(base, 'outside.txt'), 'secret outside');
  await symlink(path.join(base, 'outside.txt'), path.join(folder, 'derived/link-outside.txt'));
  await symlink(path.join(folder, 'logs/raw.log'), path.join(folder, 'derived/link-to-log'));
  await symlink(folder, path.join(folder, 'derived/link-to-folder'));
  await symlink(path.join(folder, 'derived/soundings.parquet'), path.join(folder, 'derived/link-inside'));
  await symlink('/', path.join(folder, 'derived/root'));
  await symlink('loop', path.join(folder, 'derived/loop'));
  await writeFile(path.join(pageDir, 'index.html'), '<!doctype html><title>Chart table</title>');
  await writeFile(path.join(pageDir, 'assets/index-abc123.js'), 'export {};');
  return { folder, pageDir, remove: () => rm(base, { recursive: true, force: true }) };
}

/** A desk that keeps what it was asked, and whose long work is steered by the test. */
export interface FakeDesk extends Desk {
  readonly calls: unknown[][];
  build: Desk['build'];
  takeIn: Desk['takeIn'];
  set: Desk['set'];
  summary: Desk['summary'];
}

export function makeDesk(folder: string): FakeDesk {
  const calls: unknown[][] = [];
  const entries: JournalEntry[] = [];
  const summary = { folder, notes: [], logs: [], frame: null, soundings: { depthMinM: NaN } } as unknown as SurveySummary;
  const note = (decision: Decision): JournalEntry => {
    const entry = { ...decision, number: entries.length + 1, at: '2026-06-01T00:00:00Z' };
    entries.push(entry);
    return entry;
  };
  return {
    folder,
    calls,
    summary: async () => summary,
    journal: async () => entries,
    async takeIn(paths, context) {
      throwIfCancelled(context?.signal);
      const contents = await Promise.all(paths.map((file) => readFile(file, 'utf8')));
      calls.push(['takeIn', paths.map((file) => path.basename(file)), contents]);
      return paths.map((file) => ({ name: path.basename(file), outcome: 'taken-in' as const, log: null, because: '' }));
    },
    async build(context, upTo) {
      calls.push(['build', upTo]);
      context?.progress?.('surface', 0.5, 'half of it');
      return { ran: [{ step: 'surface', seconds: 0.1 }], fresh: [], summary };
    },
    async decide(decision) {
      calls.push(['decide', decision]);
      return note(decision);
    },
    undo: async () => entries.at(-1) ?? null,
    redo: async () => null,
    async set(setting, value) {
      calls.push(['set', setting, value]);
    },
    async takeWater(use, name, bytes) {
      calls.push(['takeWater', use, name, Buffer.from(bytes).toString()]);
      return `${use} from water/${name}.`;
    },
    async setTogether(changes, what) {
      calls.push(['setTogether', what, changes]);
    },
    async instrumentSheet() {
      calls.push(['instrumentSheet']);
      return 'products/instrument-checks.pdf';
    },
    async writePlan(file, geojson) {
      calls.push(['writePlan', file, geojson]);
    },
    async planLines(context) {
      calls.push(['planLines']);
      context?.progress?.('lines', NaN);
      return summary;
    },
  };
}

/** Work that goes on until it is let go or cancelled. */
export function gate(): { work: (context?: WorkContext) => Promise<void>; open: () => void; started: Promise<void> } {
  let open = (): void => {};
  let begin = (): void => {};
  const started = new Promise<void>((resolve) => (begin = resolve));
  const opened = new Promise<void>((resolve) => (open = resolve));
  return {
    started,
    open,
    async work(context) {
      begin();
      await Promise.race([opened, new Promise<void>((resolve) => context?.signal?.addEventListener('abort', () => resolve()))]);
      throwIfCancelled(context?.signal);
    },
  };
}

export interface Answer {
  readonly status: number;
  readonly headers: http.IncomingHttpHeaders;
  readonly bytes: Buffer;
  readonly text: string;
}

export interface Ask {
  readonly method?: string;
  readonly headers?: http.OutgoingHttpHeaders;
  readonly body?: string | Buffer;
}

/** One request over a real socket, the path sent exactly as given. */
export function ask(url: string, target: string, { method = 'GET', headers = {}, body }: Ask = {}): Promise<Answer> {
  const { hostname, port } = new URL(url);
  return new Promise((resolve, reject) => {
    const request = http.request({ hostname: hostname.replace(/^\[|\]$/g, ''), port, path: target, method, headers, agent: false }, (response) => {
      const parts: Buffer[] = [];
      response.on('data', (part: Buffer) => parts.push(part));
      response.on('error', reject);
      response.on('end', () => {
        const bytes = Buffer.concat(parts);
        resolve({ status: response.statusCode!, headers: response.headers, bytes, text: bytes.toString('utf8') });
      });
    });
    request.on('error', reject);
    request.end(body);
  });
}

/** A server over a fake desk, and requests that carry its token. */
export async function serve(options: Partial<ServerOptions> & { desk?: FakeDesk } = {}): Promise<{
  server: RunningServer;
  desk: FakeDesk;
  folder: string;
  token: string;
  logged: string[];
  get: (target: string, headers?: http.OutgoingHttpHeaders) => Promise<Answer>;
  send: (method: string, target: string, body?: unknown, headers?: http.OutgoingHttpHeaders) => Promise<Answer>;
  stop: () => Promise<void>;
}> {
  const { folder, pageDir, remove } = await makeFolders();
  const desk = options.desk ?? makeDesk(folder);
  const logged: string[] = [];
  const server = await startServer({ port: 0, pageDir, log: (text) => logged.push(text), ...options, desk });
  const token = (JSON.parse((await ask(server.url, '/api/state')).text) as ServerState).token;
  return {
    server,
    desk,
    folder,
    token,
    logged,
    get: (target, headers = {}) => ask(server.url, target, { headers }),
    send: (method, target, body, headers = {}) => {
      const raw = body === undefined || typeof body === 'string' || Buffer.isBuffer(body);
      const payload = raw ? (body as string | Buffer | undefined) : JSON.stringify(body);
      return ask(server.url, target, {
        method,
        headers: { 'x-tallow-token': token, ...(payload === undefined ? {} : { 'content-type': raw ? 'application/octet-stream' : 'application/json' }), ...headers },
        ...(payload === undefined ? {} : { body: payload }),
      });
    },
    stop: async () => {
      await server.close();
      await remove();
    },
  };
}

export interface FeedEvent {
  readonly event: string;
  readonly data: unknown;
}

/** Listens to the live feed; `until` waits for an event that fits. */
export async function listen(url: string): Promise<{ events: FeedEvent[]; comments: string[]; until: (fits: (event: FeedEvent) => boolean) => Promise<FeedEvent>; ended: Promise<void>; close: () => void }> {
  const events: FeedEvent[] = [];
  const comments: string[] = [];
  const waiting: { fits: (event: FeedEvent) => boolean; resolve: (event: FeedEvent) => void }[] = [];
  const { hostname, port } = new URL(url);
  const response = await new Promise<http.IncomingMessage>((resolve, reject) => {
    const request = http.get({ hostname, port, path: '/api/events', agent: false }, resolve);
    request.on('error', reject);
  });
  let text = '';
  response.setEncoding('utf8');
  response.on('data', (part: string) => {
    text += part;
    const blocks = text.split('\n\n');
    text = blocks.pop()!;
    for (const block of blocks) {
      if (block.startsWith(':')) comments.push(block.slice(1).trim());
      const match = /^event: (.*)\ndata: (.*)$/.exec(block);
      if (!match) continue;
      const event = { event: match[1]!, data: JSON.parse(match[2]!) as unknown };
      events.push(event);
      for (const each of [...waiting]) {
        if (!each.fits(event)) continue;
        waiting.splice(waiting.indexOf(each), 1);
        each.resolve(event);
      }
    }
  });
  const ended = new Promise<void>((resolve) => {
    response.on('close', () => resolve());
    response.on('error', () => resolve());
  });
  return {
    events,
    comments,
    ended,
    close: () => response.destroy(),
    until: (fits) => {
      const already = events.find(fits);
      return already ? Promise.resolve(already) : new Promise((resolve) => waiting.push({ fits, resolve }));
    },
  };
}
