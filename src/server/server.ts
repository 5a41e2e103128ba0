import { randomBytes } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import type { AddressInfo } from 'node:net';
import Fastify from 'fastify';
import type { FastifyReply } from 'fastify';
import { UseError } from '../base/errors.js';
import type { Desk } from '../survey/desk.js';
import { openPingPictures } from '../survey/ping-pictures.js';
import type { ApiError, StateChanged } from './api.js';
import { SECURITY_HEADERS, guardRequest } from './guard.js';
import { createJobQueue } from './job-queue.js';
import { createLiveFeed } from './live-feed.js';
import { RequestError, answerFor } from './request-error.js';
import { addRoutes } from './routes.js';
import { sweepIncoming } from './take-in-upload.js';
import { watchFolder } from './watch-folder.js';

const LOOPBACK = ['127.0.0.1', '::1', 'localhost'];
const TAKE_IN_BYTES_MAX = 4 * 2 ** 30;
/** After a change of our own, what the watch on the folder reports is ours [ms]. */
const OWN_CHANGE_MS = 1500;

export interface ServerOptions {
  readonly desk: Desk;
  /** 0 for any free one. */
  readonly port: number;
  /** An address of this machine itself; 127.0.0.1 when left out. */
  readonly host?: string;
  /** The built page: index.html and assets/. */
  readonly pageDir: string;
  /** Aborting it closes the server. */
  readonly signal?: AbortSignal;
  /** Largest log that may be sent [bytes]; 4 GiB when left out. */
  readonly takeInBytesMax?: number;
  readonly heartbeatMs?: number;
  /** Told of errors that are faults of ours, with their stack, for the terminal. */
  readonly log?: (text: string) => void;
}

export interface RunningServer {
  /** e.g. `http://127.0.0.1:41234/` */
  readonly url: string;
  /** Cancels jobs, waits for what runs, ends every connection. */
  close(): Promise<void>;
}

/**
 * Serves one survey folder and the page to this machine.
 * @throws UseError for a host that is not this machine, or a port that is taken
 */
export async function startServer(options: ServerOptions): Promise<RunningServer> {
  const { desk, port, host = '127.0.0.1', pageDir, signal, log = () => {} } = options;
  if (!LOOPBACK.includes(host)) {
    throw new UseError(`host ${host}: the server answers this machine alone: expected ${LOOPBACK.join(', ')}`, { found: host, expected: LOOPBACK.join(', ') });
  }
  const token = randomBytes(32).toString('base64url');
  const unforeseen = (error: unknown): void => log(error instanceof Error ? (error.stack ?? error.message) : String(error));
  const feed = createLiveFeed(options.heartbeatMs);
  let ownChangeUntil = 0;
  const changed = (because: StateChanged['because']): void => {
    ownChangeUntil = performance.now() + OWN_CHANGE_MS;
    feed.state({ because });
  };
  const jobs = createJobQueue((job) => {
    feed.job(job);
    if (job.state !== 'queued' && job.state !== 'running') changed('job');
  }, unforeseen);

  const answerError = (reply: FastifyReply, error: unknown): FastifyReply => {
    const { status, body, foreseen } = answerFor(error);
    if (!foreseen) unforeseen(error);
    return reply.code(status).headers({ ...SECURITY_HEADERS, 'cache-control': 'no-store' }).type('application/json').send({ error: body } satisfies ApiError);
  };

  const app = Fastify({
    logger: false,
    bodyLimit: 2 ** 20,
    forceCloseConnections: true,
    exposeHeadRoutes: false,
    return503OnClosing: false,
    routerOptions: { maxParamLength: 4096 },
    frameworkErrors: (error, _, reply) => void answerError(reply as FastifyReply, error),
    clientErrorHandler: (error, socket) => {
      if (error.code === 'ECONNRESET' || !socket.writable) return void socket.destroy();
      const body = JSON.stringify({ error: { message: 'the request is not well formed HTTP' } } satisfies ApiError);
      socket.end(`HTTP/1.1 400 Bad Request\r\nContent-Type: application/json\r\nContent-Length: ${Buffer.byteLength(body)}\r\nConnection: close\r\n\r\n${body}`);
    },
  });
  app.setErrorHandler((error, _, reply) => answerError(reply, error));
  app.setNotFoundHandler(() => {
    throw new RequestError(404, 'there is no such address');
  });
  app.addHook('onRequest', async (request, reply) => {
    void reply.headers(SECURITY_HEADERS);
    guardRequest({ method: request.method, url: request.raw.url ?? '/', headers: request.headers }, boundPort(), token);
    if (request.raw.url?.startsWith('/api/')) void reply.header('cache-control', 'no-store');
  });
  const boundPort = (): number => (app.server.address() as AddressInfo | null)?.port ?? port;

  const pictures = openPingPictures(desk.folder);
  addRoutes(app, { desk, pictures, jobs, feed, token, version: await ownVersion(), pageDir, takeInBytesMax: options.takeInBytesMax ?? TAKE_IN_BYTES_MAX, changed });
  await sweepIncoming(desk.folder, Date.now());
  try {
    await app.listen({ port, host });
  } catch (error) {
    feed.close();
    await app.close();
    const code = (error as NodeJS.ErrnoException).code;
    if (code !== 'EADDRINUSE' && code !== 'EACCES') throw error;
    throw new UseError(`port ${port}: ${code === 'EACCES' ? 'not allowed for this user' : 'already in use by another program'}; choose another, or none for any free one`, { found: String(port) });
  }
  const unwatch = watchFolder(desk.folder, () => feed.state({ because: 'outside' }), () => jobs.busy() || performance.now() < ownChangeUntil);

  let closing: Promise<void> | null = null;
  const close = (): Promise<void> =>
    (closing ??= (async () => {
      unwatch();
      await jobs.close();
      feed.close();
      await app.close();
      await pictures.close();
    })());
  if (signal?.aborted) await close();
  else signal?.addEventListener('abort', () => void close(), { once: true });
  return { url: `http://${host === '::1' ? '[::1]' : host}:${boundPort()}/`, close };
}

/** The package's version, two folders up from src/server as from dist/server. */
async function ownVersion(): Promise<string> {
  const text = await readFile(new URL('../../package.json', import.meta.url), 'utf8');
  return (JSON.parse(text) as { version: string }).version;
}
