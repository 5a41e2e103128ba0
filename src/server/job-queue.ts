import { randomBytes } from 'node:crypto';
import { CancelledError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import type { ErrorBody, JobResult, JobState, JobVerb } from './api.js';
import { RequestError, answerFor } from './request-error.js';

/** Between two reports of progress of a job [ms]. */
const REPORT_EVERY_MS = 100;
/** Ended jobs kept to be asked about. */
const KEPT = 20;
const WAITING_MAX = 200;

interface Job {
  state: JobState;
  readonly control: AbortController;
  readonly work: (context: WorkContext) => Promise<JobResult>;
  /** Called once, when the job has ended in whatever way. */
  readonly ended: () => void | Promise<void>;
  reportedAt: number;
  timer: NodeJS.Timeout | null;
}

export interface NewJob {
  readonly verb: JobVerb;
  readonly work: (context: WorkContext) => Promise<JobResult>;
  readonly ended?: () => void | Promise<void>;
}

/** Jobs, one at a time in the order they were asked for, and changes between them. */
export interface JobQueue {
  /** @throws RequestError 409 where too many wait or the server is closing */
  add(job: NewJob): JobState;
  /** @throws RequestError 404 */
  get(id: string): JobState;
  /** Asks a job to stop; one that waits never starts, one that has ended stays as it is. @throws RequestError 404 */
  cancel(id: string): JobState;
  /** Runs a short change as soon as no job runs, before those that wait. @throws RequestError 409 where the server is closing; what the work throws */
  between<T>(work: () => Promise<T>): Promise<T>;
  /** Oldest first. */
  list(): JobState[];
  /** Whether anything runs or waits. */
  busy(): boolean;
  /** Cancels all and waits for what runs. */
  close(): Promise<void>;
}

/**
 * @param report told each change of a job: a change of state at once, progress at most ten times a second
 * @param unforeseen told errors that are faults of ours
 */
export function createJobQueue(report: (job: JobState) => void, unforeseen: (error: unknown) => void): JobQueue {
  const jobs = new Map<string, Job>();
  const waiting: Job[] = [];
  const changes: (() => Promise<void>)[] = [];
  let running: Promise<void> | null = null;
  let closing = false;

  const find = (id: string): Job => {
    const job = jobs.get(id);
    if (!job) throw new RequestError(404, 'there is no such job, or it ended long ago', { found: id.slice(0, 100) });
    return job;
  };

  function publish(job: Job): void {
    if (job.timer) clearTimeout(job.timer);
    job.timer = null;
    job.reportedAt = performance.now();
    report(job.state);
  }

  function publishSoon(job: Job): void {
    const waited = performance.now() - job.reportedAt;
    if (waited >= REPORT_EVERY_MS) publish(job);
    else job.timer ??= setTimeout(() => publish(job), REPORT_EVERY_MS - waited).unref();
  }

  async function end(job: Job, state: JobState): Promise<void> {
    try {
      await job.ended();
    } catch (error) {
      unforeseen(error);
    }
    job.state = state;
    publish(job);
    forgetOld();
  }

  function forgetOld(): void {
    const over = [...jobs.values()].filter(({ state }) => state.state !== 'queued' && state.state !== 'running');
    for (const { state } of over.slice(0, Math.max(0, over.length - KEPT))) jobs.delete(state.id);
  }

  async function run(job: Job): Promise<void> {
    const { id, verb } = job.state;
    const about = () => ({ id, verb, step: job.state.step, done: job.state.done, detail: job.state.detail });
    job.state = { ...about(), state: 'running' };
    publish(job);
    const progress = (step: string, done: number, detail = ''): void => {
      if (job.state.state !== 'running') return;
      job.state = { id, verb, step, done: Number.isFinite(done) ? Math.min(1, Math.max(0, done)) : null, detail, state: 'running' };
      publishSoon(job);
    };
    try {
      const result = await job.work({ progress, signal: job.control.signal });
      await end(job, { ...about(), done: 1, state: 'done', result });
    } catch (error) {
      if (error instanceof CancelledError || job.control.signal.aborted) return end(job, { ...about(), state: 'cancelled' });
      const { body, foreseen } = answerFor(error);
      if (!foreseen) unforeseen(error);
      await end(job, { ...about(), state: 'failed', error: body satisfies ErrorBody });
    }
  }

  function startNext(): void {
    if (running) return;
    const change = changes.shift();
    const job = change ? undefined : waiting.shift();
    if (!change && !job) return;
    running = (change ? change() : run(job!)).finally(() => {
      running = null;
      startNext();
    });
  }

  function cancel(job: Job): JobState {
    const at = waiting.indexOf(job);
    if (at >= 0) {
      waiting.splice(at, 1);
      job.state = { ...job.state, state: 'cancelled' } as JobState;
      void end(job, job.state);
    }
    job.control.abort();
    return job.state;
  }

  return {
    add({ verb, work, ended = () => {} }) {
      if (closing) throw new RequestError(409, 'the server is closing');
      if (waiting.length >= WAITING_MAX) throw new RequestError(409, `${WAITING_MAX} jobs are waiting already`, { fix: 'wait for some to end' });
      const id = randomBytes(9).toString('base64url');
      const job: Job = {
        state: { id, verb, step: '', done: null, detail: '', state: 'queued' },
        control: new AbortController(),
        work,
        ended,
        reportedAt: -Infinity,
        timer: null,
      };
      jobs.set(id, job);
      waiting.push(job);
      publish(job);
      // Not before the answer with the id is on its way.
      setImmediate(startNext);
      return job.state;
    },
    between(work) {
      if (closing) throw new RequestError(409, 'the server is closing');
      return new Promise((resolve, reject) => {
        changes.push(() => work().then(resolve, reject));
        startNext();
      });
    },
    get: (id) => find(id).state,
    cancel: (id) => cancel(find(id)),
    list: () => [...jobs.values()].map(({ state }) => state),
    busy: () => running !== null || waiting.length > 0,
    async close() {
      closing = true;
      for (const job of [...jobs.values()]) if (job.state.state === 'queued' || job.state.state === 'running') cancel(job);
      while (running) await running;
    },
  };
}
