import type { ApiError, Decision, ErrorBody, JobStarted, JobState, JournalEntry, ServerState, SonarAbout, StartJob, StateChanged, TOKEN_HEADER as TokenHeaderConstant, UndoResult, WaterTaken } from '../../server/api.js';

type TokenHeader = typeof TokenHeaderConstant;

/** TOKEN_HEADER of src/server/api.ts; the page takes only types from the server. */
const TOKEN_HEADER: TokenHeader = 'x-tallow-token';

/** What the server refused, in its own plain words. */
export class ServerRefusal extends Error {
  override readonly name = 'ServerRefusal';
  constructor(
    readonly status: number,
    readonly body: ErrorBody,
  ) {
    super([body.message, body.expected === undefined ? '' : `expected ${body.expected}`, body.found === undefined ? '' : `found ${body.found}`, body.fix ?? ''].filter((part) => part !== '').join('; '));
  }
}

/** The page's side of the server: one method a request. All reject with ServerRefusal or a plain "no answer" Error. */
export class ServerClient {
  #token = '';

  async state(signal?: AbortSignal): Promise<ServerState> {
    const state = (await this.#ask('GET', '/api/state', undefined, signal)) as ServerState;
    this.#token = state.token;
    return state;
  }

  sonarAbout(signal?: AbortSignal): Promise<SonarAbout> {
    return this.#ask('GET', '/api/sonar', undefined, signal) as Promise<SonarAbout>;
  }

  startJob(verb: StartJob['verb'], upTo?: string): Promise<JobStarted> {
    return this.#ask('POST', '/api/jobs', upTo === undefined ? { verb } : { verb, upTo }) as Promise<JobStarted>;
  }

  cancelJob(id: string): Promise<JobState> {
    return this.#ask('DELETE', `/api/jobs/${encodeURIComponent(id)}`) as Promise<JobState>;
  }

  decide(decision: Decision): Promise<JournalEntry> {
    return this.#ask('POST', '/api/decisions', decision) as Promise<JournalEntry>;
  }

  undo(): Promise<UndoResult> {
    return this.#ask('POST', '/api/undo', {}) as Promise<UndoResult>;
  }

  redo(): Promise<UndoResult> {
    return this.#ask('POST', '/api/redo', {}) as Promise<UndoResult>;
  }

  async writePlan(file: 'area' | 'keepouts' | 'shore', geojson: string): Promise<void> {
    await this.#ask('PUT', `/api/plan/${file}`, geojson);
  }

  /** Several settings as one decision, told in plain words. */
  async setTogether(changes: readonly { readonly path: string; readonly value: unknown }[], what: string): Promise<void> {
    await this.#ask('PUT', '/api/settings', { what, changes });
  }

  async set(path: string, value: unknown): Promise<void> {
    await this.#ask('PUT', '/api/settings', { path, value });
  }

  /** A file of the water that the survey goes by from now on. */
  async takeWater(use: 'level' | 'sound-speed', file: File): Promise<string> {
    const { said } = (await this.#ask('POST', `/api/water?use=${use}&name=${encodeURIComponent(file.name)}`, file)) as WaterTaken;
    return said;
  }

  /** Sends a log's bytes; tells how much has gone [0..1]. */
  takeIn(file: File, onProgress: (done: number) => void, signal: AbortSignal): Promise<JobStarted> {
    return new Promise((resolve, reject) => {
      const request = new XMLHttpRequest();
      request.open('POST', `/api/take-in?name=${encodeURIComponent(file.name)}`);
      request.setRequestHeader(TOKEN_HEADER, this.#token);
      request.setRequestHeader('content-type', 'application/octet-stream');
      request.upload.onprogress = (event) => onProgress(event.total > 0 ? event.loaded / event.total : 0);
      request.onload = () => {
        const body = parseJson(request.responseText);
        if (request.status < 400) resolve(body as JobStarted);
        else reject(refusal(request.status, body));
      };
      request.onerror = () => reject(noAnswer());
      request.onabort = () => reject(new DOMException('stopped', 'AbortError'));
      signal.addEventListener('abort', () => request.abort());
      request.send(file);
    });
  }

  /** Listens to what happens in the folder; returns how to stop. The browser reconnects by itself. */
  listen(on: { job(job: JobState): void; state(changed: StateChanged): void; link(up: boolean): void }): () => void {
    const events = new EventSource('/api/events');
    events.addEventListener('job', (event) => on.job(JSON.parse((event as MessageEvent<string>).data) as JobState));
    events.addEventListener('state', (event) => on.state(JSON.parse((event as MessageEvent<string>).data) as StateChanged));
    events.onopen = () => on.link(true);
    events.onerror = () => on.link(false);
    return () => events.close();
  }

  async #ask(method: string, url: string, body?: unknown, signal?: AbortSignal): Promise<unknown> {
    const headers: Record<string, string> = {};
    if (method !== 'GET') headers[TOKEN_HEADER] = this.#token;
    if (body !== undefined) headers['content-type'] = body instanceof Blob ? 'application/octet-stream' : 'application/json';
    let response: Response;
    try {
      response = await fetch(url, { method, headers, ...(body === undefined ? {} : { body: typeof body === 'string' || body instanceof Blob ? body : JSON.stringify(body) }), ...(signal === undefined ? {} : { signal }) });
    } catch (error) {
      if (signal?.aborted) throw error;
      throw noAnswer();
    }
    const parsed = parseJson(await response.text());
    if (!response.ok) throw refusal(response.status, parsed);
    return parsed;
  }
}

function parseJson(text: string): unknown {
  try {
    return JSON.parse(text) as unknown;
  } catch {
    return null;
  }
}

function refusal(status: number, body: unknown): ServerRefusal {
  const error = (body as Partial<ApiError> | null)?.error;
  return new ServerRefusal(status, error ?? { message: `the server answered ${status} without a reason` });
}

function noAnswer(): Error {
  return new Error('no answer from the survey server; is the program that opened this page still running?');
}
