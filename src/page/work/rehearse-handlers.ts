import { readRehearsal, readSorties } from './read-rehearsal.js';
import { keepGround } from './rehearse-ground.js';
import { mapLink } from './rehearse-link.js';
import { rehearseLive } from './rehearse-live.js';
import type { RehearseMessages } from './rehearse-messages.js';
import { findStart } from './rehearse-start.js';

interface Job {
  readonly signal: AbortSignal;
  readonly progress: (done: number, detail: string) => void;
}

type Answer<K extends keyof RehearseMessages> = { readonly response: RehearseMessages[K]['response'] };
type Handlers = { readonly [K in keyof RehearseMessages]: (request: RehearseMessages[K]['request'], job: Job) => Answer<K> | Promise<Answer<K>> };

/** What the worker does about sorties and rehearsals. */
export const rehearseHandlers: Handlers = {
  loadSorties: async ({ url }, job) => ({ response: await readSorties(url, job.signal) }),
  loadRehearsal: async (request, job) => ({ response: await readRehearsal(request, job.signal) }),
  keepGround: async (request, job) => ({ response: await keepGround(request, job.signal) }),
  rehearse: (request) => ({ response: rehearseLive(request) }),
  findStart: async (request, job) => ({ response: await findStart(request, job) }),
  linkMap: (request) => ({ response: mapLink(request) }),
};

/** The file a message is about, for what is said where it cannot be read. */
export const REHEARSE_FILES: Readonly<Record<keyof RehearseMessages, string | null>> = { loadSorties: 'plan/sorties.json', loadRehearsal: 'derived/rehearsal.json, .parquet or derived/moments.parquet', keepGround: null, rehearse: null, findStart: null, linkMap: null };
