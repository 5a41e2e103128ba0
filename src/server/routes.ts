import { readdir } from 'node:fs/promises';
import path from 'node:path';
import type { FastifyInstance } from 'fastify';
import type { Readable } from 'node:stream';
import type { Desk } from '../survey/desk.js';
import type { PingPictures } from '../survey/ping-pictures.js';
import type { Done, JobResult, JobStarted, JobState, JournalEntry, ServerState, SonarAbout, StateChanged, UndoResult, WaterTaken } from './api.js';
import { SECURITY_HEADERS } from './guard.js';
import type { JobQueue } from './job-queue.js';
import type { LiveFeed } from './live-feed.js';
import { parseChangeSetting, parseDecision, parsePictureWanted, parseStartJob, parseWaterUse } from './request-bodies.js';
import { RequestError } from './request-error.js';
import { openSafeFile } from './safe-file.js';
import { sendFile } from './send-file.js';
import { checkLogName, receiveFile } from './take-in-upload.js';

/** What of the survey folder may be fetched. Raw logs may not: they are read through what is derived from them. */
const SHARED = ['survey.json', 'plan', 'water', 'boat', 'derived', 'products'];
const JOURNAL_SHOWN = 50;
const PLAN_BYTES_MAX = 16 * 2 ** 20;
const WATER_BYTES_MAX = 64 * 2 ** 20;
const DECISION_BYTES_MAX = 16 * 2 ** 20;

export interface RouteParts {
  readonly desk: Desk;
  readonly pictures: PingPictures;
  readonly jobs: JobQueue;
  readonly feed: LiveFeed;
  readonly token: string;
  readonly version: string;
  readonly pageDir: string;
  readonly takeInBytesMax: number;
  /** Told of each change made through a request. */
  readonly changed: (because: StateChanged['because']) => void;
}

/** Every address the server answers, as api.ts lists them. */
export function addRoutes(app: FastifyInstance, parts: RouteParts): void {
  addQuestions(app, parts);
  addJobs(app, parts);
  addChanges(app, parts);
  addTakeIn(app, parts);
  addWater(app, parts);
  addFiles(app, parts);
}

function addQuestions(app: FastifyInstance, { desk, pictures, jobs, feed, token, version }: RouteParts): void {
  app.get('/api/state', async (): Promise<ServerState> => {
    const [summary, journal, planFiles] = await Promise.all([desk.summary(), desk.journal(), planFilesIn(desk.folder)]);
    return { summary, journal: journal.slice(-JOURNAL_SHOWN), jobs: jobs.list(), planFiles, serverVersion: version, token };
  });
  app.get('/api/sonar', async (): Promise<SonarAbout> => pictures.about());
  app.get('/api/sonar/picture', async (request, reply) => {
    const levels = await pictures.picture(parsePictureWanted(request.query));
    return reply.type('application/octet-stream').send(levels);
  });
  app.get('/api/events', (request, reply) => {
    feed.add(reply.raw, SECURITY_HEADERS, jobs.list());
    reply.hijack();
    request.raw.socket.setNoDelay(true);
  });
}

async function planFilesIn(folder: string): Promise<string[]> {
  const names = await readdir(path.join(folder, 'plan')).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return [];
    throw error;
  });
  return names.filter((name) => /^[^.].*\.geojson$/.test(name)).sort().map((name) => `plan/${name}`);
}

function addJobs(app: FastifyInstance, { desk, jobs }: RouteParts): void {
  app.post('/api/jobs', async (request): Promise<JobStarted> => {
    const { verb, upTo } = parseStartJob(request.body);
    const { id } = jobs.add({
      verb,
      work: async (context): Promise<JobResult> => {
        if (verb === 'build') return { verb, build: await desk.build(context, upTo) };
        if (verb === 'lines') return { verb, summary: await desk.planLines(context) };
        return { verb, file: await desk.instrumentSheet(context) };
      },
    });
    return { id };
  });
  app.get<{ Params: { id: string } }>('/api/jobs/:id', async (request): Promise<JobState> => jobs.get(request.params.id));
  app.delete<{ Params: { id: string } }>('/api/jobs/:id', async (request): Promise<JobState> => jobs.cancel(request.params.id));
}

function addChanges(app: FastifyInstance, { desk, jobs, changed }: RouteParts): void {
  app.post('/api/decisions', { bodyLimit: DECISION_BYTES_MAX }, async (request): Promise<JournalEntry> => {
    const decision = parseDecision(request.body);
    const entry = await jobs.between(() => desk.decide(decision));
    changed('decision');
    return entry;
  });
  for (const verb of ['undo', 'redo'] as const) {
    app.post(`/api/${verb}`, async (): Promise<UndoResult> => {
      const entry = await jobs.between(() => desk[verb]());
      if (entry) changed('decision');
      return { entry };
    });
  }
  app.put('/api/settings', async (request): Promise<Done> => {
    const asked = parseChangeSetting(request.body);
    await jobs.between(() => ('changes' in asked ? desk.setTogether(asked.changes, asked.what) : desk.set(asked.path, asked.value)));
    changed('settings');
    return { ok: true };
  });
  // A plan is handed on as it was written, so it is not parsed here.
  void app.register(async (plans) => {
    plans.removeAllContentTypeParsers();
    plans.addContentTypeParser('*', { parseAs: 'string', bodyLimit: PLAN_BYTES_MAX }, (_, body, done) => done(null, body));
    for (const file of ['area', 'keepouts', 'shore'] as const) {
      plans.put(`/api/plan/${file}`, { bodyLimit: PLAN_BYTES_MAX }, async (request): Promise<Done> => {
        if (typeof request.body !== 'string' || request.body === '') throw new RequestError(400, 'the request has no body', { expected: 'GeoJSON' });
        const text = request.body;
        await jobs.between(() => desk.writePlan(file, text));
        changed('plan');
        return { ok: true };
      });
    }
  });
}

function addWater(app: FastifyInstance, { desk, jobs, changed }: RouteParts): void {
  void app.register(async (files) => {
    files.removeAllContentTypeParsers();
    files.addContentTypeParser('*', { parseAs: 'buffer', bodyLimit: WATER_BYTES_MAX }, (_, body, done) => done(null, body));
    files.post<{ Querystring: { use?: unknown; name?: unknown } }>('/api/water', { bodyLimit: WATER_BYTES_MAX }, async (request): Promise<WaterTaken> => {
      const name = checkLogName(request.query.name);
      const use = parseWaterUse(request.query.use);
      if (!Buffer.isBuffer(request.body) || request.body.byteLength === 0) throw new RequestError(400, `${name} is empty`);
      const bytes = request.body;
      const said = await jobs.between(() => desk.takeWater(use, name, bytes));
      changed('settings');
      return { said };
    });
  });
}

function addTakeIn(app: FastifyInstance, { desk, jobs, takeInBytesMax }: RouteParts): void {
  void app.register(async (uploads) => {
    uploads.removeAllContentTypeParsers();
    uploads.addContentTypeParser('*', (_, body, done) => done(null, body));
    uploads.post<{ Querystring: { name?: unknown } }>('/api/take-in', { bodyLimit: Number.MAX_SAFE_INTEGER }, async (request): Promise<JobStarted> => {
      const name = checkLogName(request.query.name);
      if (request.body === undefined || request.body === null) throw new RequestError(400, `${name} is empty`);
      const announced = request.headers['content-length'];
      const arrived = await receiveFile(desk.folder, name, request.body as Readable, announced === undefined ? undefined : Number(announced), takeInBytesMax);
      try {
        const { id } = jobs.add({
          verb: 'take-in',
          work: async (context): Promise<JobResult> => ({ verb: 'take-in', takenIn: await desk.takeIn([arrived.path], context) }),
          ended: arrived.discard,
        });
        return { id };
      } catch (error) {
        await arrived.discard();
        throw error;
      }
    });
  });
}

function addFiles(app: FastifyInstance, { desk, pageDir }: RouteParts): void {
  app.route({
    method: ['GET', 'HEAD'],
    url: '/files/*',
    handler: async (request, reply) => {
      const encoded = pathOf(request.raw.url).slice('/files/'.length);
      const file = await openSafeFile(desk.folder, encoded, SHARED);
      void reply.headers(documentHeaders(encoded));
      return sendFile(request, reply, file, encoded, 'no-cache');
    },
  });
  app.route({
    method: ['GET', 'HEAD'],
    url: '/*',
    handler: async (request, reply) => {
      const asked = pathOf(request.raw.url);
      const encoded = asked === '/' ? 'index.html' : asked.slice(1);
      const file = await openSafeFile(pageDir, encoded).catch((error: unknown) => {
        if (encoded !== 'index.html') throw error;
        throw new RequestError(404, 'the page has not been built', { fix: 'run: npm run build' });
      });
      // Names under assets/ carry a hash of their content.
      return sendFile(request, reply, file, encoded, encoded.startsWith('assets/') ? 'public, max-age=31536000, immutable' : 'no-cache');
    },
  });
}

function pathOf(url = '/'): string {
  return url.split(/[?#]/, 1)[0]!;
}

/** What the folder holds may come from elsewhere: as a document of its own it runs nothing and reaches nothing. */
function documentHeaders(encoded: string): Record<string, string> {
  const ending = path.posix.extname(encoded).toLowerCase();
  if (ending === '.pdf') return {};
  return { 'content-security-policy': "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; sandbox" };
}
