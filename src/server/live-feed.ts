import type { ServerResponse } from 'node:http';
import type { JobState, StateChanged } from './api.js';
import { RequestError } from './request-error.js';

const HEARTBEAT_MS = 15_000;
/** Pages that listen at one time. */
const LISTENERS_MAX = 64;
/** A listener that takes nothing for this long is let go [ms]. */
const STUCK_MS = 60_000;

interface Listener {
  readonly response: ServerResponse;
  /** The socket's buffer is full: what comes now waits, the newest of each kind alone. */
  blockedSince: number | null;
  readonly waiting: Map<string, string>;
}

/** Server-Sent Events to every page that listens. */
export interface LiveFeed {
  /** Adds a listener whose headers are written; it first hears of these jobs. @throws RequestError 409 where there are too many */
  add(response: ServerResponse, headers: Readonly<Record<string, string>>, jobs: readonly JobState[]): void;
  job(job: JobState): void;
  state(changed: StateChanged): void;
  listeners(): number;
  close(): void;
}

/**
 * A slow listener costs no memory: while its connection takes nothing, only the newest state of each job waits for it.
 *
 * @param heartbeatMs between comments that keep the connection alive [ms]
 * Source: HTML Living Standard, section 9.2 (server-sent events).
 */
export function createLiveFeed(heartbeatMs = HEARTBEAT_MS): LiveFeed {
  const listeners = new Set<Listener>();
  const heartbeat = setInterval(() => {
    const now = performance.now();
    for (const listener of listeners) {
      if (listener.blockedSince === null) write(listener, ': heartbeat\n\n');
      else if (now - listener.blockedSince > STUCK_MS) listener.response.destroy();
    }
  }, heartbeatMs);
  heartbeat.unref();

  function write(listener: Listener, text: string): void {
    if (!listener.response.write(text)) listener.blockedSince = performance.now();
  }

  function send(listener: Listener, key: string, text: string): void {
    if (listener.blockedSince === null) return write(listener, text);
    // Moved to the end, so that what waits is told in the order it last changed.
    listener.waiting.delete(key);
    listener.waiting.set(key, text);
  }

  function drained(listener: Listener): void {
    listener.blockedSince = null;
    for (const [key, text] of listener.waiting) {
      if (listener.blockedSince !== null) return;
      listener.waiting.delete(key);
      write(listener, text);
    }
  }

  const toAll = (key: string, text: string): void => {
    for (const listener of listeners) send(listener, key, text);
  };

  return {
    add(response, headers, jobs) {
      if (listeners.size >= LISTENERS_MAX) throw new RequestError(409, `${LISTENERS_MAX} pages are open already`, { fix: 'close some' });
      const listener: Listener = { response, blockedSince: null, waiting: new Map() };
      response.on('close', () => listeners.delete(listener));
      response.on('error', () => listeners.delete(listener));
      response.on('drain', () => drained(listener));
      response.writeHead(200, { ...headers, 'content-type': 'text/event-stream; charset=utf-8', 'cache-control': 'no-store' });
      response.flushHeaders();
      listeners.add(listener);
      write(listener, 'retry: 2000\n\n');
      for (const job of jobs) send(listener, `job ${job.id}`, event('job', job));
    },
    job: (job) => toAll(`job ${job.id}`, event('job', job)),
    state: (changed) => toAll('state', event('state', changed)),
    listeners: () => listeners.size,
    close() {
      clearInterval(heartbeat);
      for (const { response } of listeners) response.end();
      listeners.clear();
    },
  };
}

/** JSON has no line breaks of its own, so one data line holds it. */
function event(name: string, data: unknown): string {
  return `event: ${name}\ndata: ${JSON.stringify(data)}\n\n`;
}
