import { createHash } from 'node:crypto';
import { readFile, readdir, writeFile } from 'node:fs/promises';
import http from 'node:http';
import net from 'node:net';
import path from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { FormatError, UseError } from '../../src/base/errors.js';
import type { ApiError, JobStarted, JobState, ServerState } from '../../src/server/api.js';
import { createLiveFeed } from '../../src/server/live-feed.js';
import { startServer } from '../../src/server/server.js';
import { ask, gate, listen, serve } from './fake-desk.js';

let site: Awaited<ReturnType<typeof serve>>;
beforeEach(async () => {
  site = await serve({ takeInBytesMax: 1_000_000, heartbeatMs: 50 });
});
afterEach(() => site.stop());

const errorOf = (answer: { text: string }): ApiError['error'] => (JSON.parse(answer.text) as ApiError).error;
const jobState = async (id: string): Promise<JobState> => JSON.parse((await site.get(`/api/jobs/${id}`)).text) as JobState;
const idOf = (answer: { text: string }): string => (JSON.parse(answer.text) as JobStarted).id;

async function ended(id: string): Promise<JobState> {
  for (;;) {
    const job = await jobState(id);
    if (job.state !== 'queued' && job.state !== 'running') return job;
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
}

describe('who may ask', () => {
  it('the Host header must be this machine with our port (DNS rebinding)', async () => {
    const { port } = new URL(site.server.url);
    for (const host of [`localhost:${port}`, `127.0.0.1:${port}`, `[::1]:${port}`, `LOCALHOST:${port}`]) expect((await site.get('/api/state', { host })).status).toBe(200);
    for (const host of [`chart.example:${port}`, 'localhost', '127.0.0.1', `127.0.0.1:${Number(port) + 1}`, `127.0.0.1.chart.example:${port}`, `localhost.:${port}`, `0.0.0.0:${port}`, `a@localhost:${port}`]) {
      for (const target of ['/', '/api/state', '/files/survey.json', '/api/absent']) {
        const answer = await site.get(target, { host });
        expect([host, target, answer.status]).toEqual([host, target, 403]);
        expect(answer.text).not.toContain(site.token);
      }
    }
    const refused = errorOf(await site.get('/api/state', { host: 'chart.example' }));
    expect(refused).toEqual({ message: 'the request names another machine', expected: `localhost:${port}`, found: 'chart.example', fix: `open http://localhost:${port}/` });
  });

  it('another origin is refused, our own is not', async () => {
    const own = site.server.url.replace(/\/$/, '');
    expect((await site.get('/api/state', { origin: own })).status).toBe(200);
    for (const origin of ['http://chart.example', 'null', own.replace('http:', 'https:'), `${own}.example`, 'http://127.0.0.1:1', '']) {
      expect([origin, (await site.get('/api/state', { origin })).status]).toEqual([origin, 403]);
      expect([origin, (await site.send('POST', '/api/undo', {}, { origin })).status]).toEqual([origin, 403]);
    }
    const { port } = new URL(own);
    expect((await site.get('/api/state', { host: `localhost:${port}`, origin: own })).status).toBe(403);
  });

  it("a browser's note that another site asks is refused, but for opening the page", async () => {
    for (const site_ of ['cross-site', 'same-site', 'nonsense']) {
      for (const target of ['/api/state', '/api/events', '/files/survey.json', '/']) expect((await site.get(target, { 'sec-fetch-site': site_ })).status).toBe(403);
      expect((await site.get('/api/state', { 'sec-fetch-site': site_, 'sec-fetch-mode': 'navigate' })).status).toBe(403);
    }
    expect((await site.get('/', { 'sec-fetch-site': 'cross-site', 'sec-fetch-mode': 'navigate' })).status).toBe(200);
    for (const site_ of ['same-origin', 'none']) expect((await site.get('/api/state', { 'sec-fetch-site': site_ })).status).toBe(200);
  });

  it('every change needs the token', async () => {
    const changes: [string, string, unknown][] = [
      ['POST', '/api/jobs', { verb: 'build' }], ['DELETE', '/api/jobs/x', undefined], ['POST', '/api/take-in?name=a.log', 'bytes'], ['POST', '/api/decisions', {}],
      ['POST', '/api/undo', {}], ['POST', '/api/redo', {}], ['PUT', '/api/plan/area', '{}'], ['PUT', '/api/settings', {}], ['PATCH', '/api/absent', {}],
    ];
    for (const [method, target, body] of changes) {
      for (const token of ['', 'x', `${site.token}x`, site.token.toLowerCase()]) {
        const answer = await site.send(method, target, body, { 'x-tallow-token': token });
        expect([method, target, answer.status]).toEqual([method, target, 403]);
        expect(errorOf(answer).fix).toBe('load the page again');
      }
    }
    expect(site.desk.calls).toEqual([]);
    expect(await readdir(site.folder)).not.toContain('.incoming');
  });

  it('tokens differ from start to start', async () => {
    const other = await serve();
    expect(other.token).not.toBe(site.token);
    expect(other.token.length).toBeGreaterThanOrEqual(43);
    await other.stop();
  });

  it('only this machine is listened to', async () => {
    await expect(startServer({ desk: site.desk, port: 0, host: '0.0.0.0', pageDir: '.' })).rejects.toThrow('host 0.0.0.0: the server answers this machine alone');
    const { port } = new URL(site.server.url);
    await expect(startServer({ desk: site.desk, port: Number(port), pageDir: '.' })).rejects.toThrow(`port ${port}: already in use by another program; choose another, or none for any free one`);
  });
});

describe('GET /api/state', () => {
  it('summary, journal, jobs, plan files, version and token; what is not a number is null', async () => {
    const state = JSON.parse((await site.get('/api/state')).text) as ServerState;
    const { version } = JSON.parse(await readFile(new URL('../../package.json', import.meta.url), 'utf8')) as { version: string };
    expect(state).toEqual({ summary: { folder: site.folder, notes: [], logs: [], frame: null, soundings: { depthMinM: null } }, journal: [], jobs: [], planFiles: ['plan/area.geojson'], serverVersion: version, token: site.token });
    expect((await site.get('/api/state')).headers['cache-control']).toBe('no-store');
  });

  it('the journal: the last 50 entries, oldest first', async () => {
    for (let k = 0; k < 60; k++) await site.desk.decide({ kind: 'undo', entry: k });
    const { journal } = JSON.parse((await site.get('/api/state')).text) as ServerState;
    expect([journal.length, journal[0]!.number, journal.at(-1)!.number]).toEqual([50, 11, 60]);
  });
});

describe('changes', () => {
  it('decisions, undo, redo, settings and plans reach the desk and are told to all pages', async () => {
    const feed = await listen(site.server.url);
    const decision = { kind: 'set-aside', soundings: [{ log: '0123456789abcdef', recordStart: 5, recordEnd: 9 }], note: 'a fish' };
    const made = await site.send('POST', '/api/decisions', decision);
    expect([made.status, JSON.parse(made.text)]).toEqual([200, { ...decision, number: 1, at: '2026-06-01T00:00:00Z' }]);
    expect(JSON.parse((await site.send('POST', '/api/undo', {})).text)).toMatchObject({ entry: { number: 1 } });
    expect(JSON.parse((await site.send('POST', '/api/redo')).text)).toEqual({ entry: null });
    expect(JSON.parse((await site.send('PUT', '/api/settings', { path: 'lines.spacingM', value: 12.5 })).text)).toEqual({ ok: true });
    const together = { what: 'Latency run applied', changes: [{ path: 'gnss.latencyS', value: 0.3 }, { path: 'uncertainty.timeS', value: 0.02 }] };
    expect(JSON.parse((await site.send('PUT', '/api/settings', together)).text)).toEqual({ ok: true });
    const area = '{"type":"FeatureCollection", "features":[ ]}\n';
    for (const type of ['application/geo+json', 'application/json', 'text/plain']) {
      expect(JSON.parse((await site.send('PUT', '/api/plan/area', area, { 'content-type': type })).text)).toEqual({ ok: true });
    }
    expect((await site.send('PUT', '/api/plan/keepouts', area)).status).toBe(200);
    expect(site.desk.calls).toEqual([
      ['decide', decision], ['set', 'lines.spacingM', 12.5],
      ['setTogether', together.what, together.changes],
      ['writePlan', 'area', area], ['writePlan', 'area', area], ['writePlan', 'area', area], ['writePlan', 'keepouts', area],
    ]);
    for (let k = 0; k < 100 && feed.events.length < 8; k++) await new Promise((resolve) => setTimeout(resolve, 10));
    const because = feed.events.filter(({ event }) => event === 'state').map(({ data }) => (data as { because: string }).because);
    expect(because).toEqual(['decision', 'decision', 'settings', 'settings', 'plan', 'plan', 'plan', 'plan']);
    feed.close();
  });

  it('a file of the water reaches the desk whole; a use there is not, a name that leads elsewhere and an empty file do not', async () => {
    const answer = await site.send('POST', '/api/water?use=level&name=gauge%20%C3%A9.csv', 'timeUtc,levelM\n');
    expect([answer.status, JSON.parse(answer.text)]).toEqual([200, { said: 'level from water/gauge é.csv.' }]);
    expect((await site.send('POST', '/api/water?use=waves&name=a.csv', 'a')).status).toBe(400);
    expect((await site.send('POST', '/api/water?use=level&name=..%2Fa.csv', 'a')).status).toBe(400);
    expect(errorOf(await site.send('POST', '/api/water?use=sound-speed&name=a.csv', '')).message).toBe('a.csv is empty');
    expect(site.desk.calls).toEqual([['takeWater', 'level', 'gauge é.csv', 'timeUtc,levelM\n']]);
  });

  it.each([
    ['POST', '/api/decisions', { kind: 'undo', entry: 1 }, 'the body does not fit: kind'],
    ['POST', '/api/decisions', { kind: 'set-aside', soundings: [] }, 'the body does not fit: soundings'],
    ['POST', '/api/decisions', { kind: 'set-aside', soundings: [{ log: 'x', recordStart: 0, recordEnd: 1 }] }, 'the body does not fit: soundings.0.log'],
    ['POST', '/api/decisions', { kind: 'set-aside', soundings: [{ log: '0123456789abcdef', recordStart: -1, recordEnd: 1 }] }, 'the body does not fit: soundings.0.recordStart'],
    ['POST', '/api/decisions', { kind: 'set-aside', soundings: [{ log: '0123456789abcdef', recordStart: 0.5, recordEnd: 1 }] }, 'the body does not fit: soundings.0.recordStart'],
    ['POST', '/api/decisions', [], 'the body does not fit'],
    ['POST', '/api/jobs', { verb: 'erase' }, 'the body does not fit: verb'],
    ['POST', '/api/jobs', { verb: 'build', upTo: 7 }, 'the body does not fit: upTo'],
    ['POST', '/api/jobs', { verb: 'build', also: 1 }, 'the body does not fit'],
    ['PUT', '/api/settings', { path: '__proto__.x', value: 1 }, 'the body does not fit: path'],
    ['PUT', '/api/settings', { path: 'a.constructor', value: 1 }, 'the body does not fit: path'],
    ['PUT', '/api/settings', { path: 'a..b', value: 1 }, 'the body does not fit: path'],
    ['PUT', '/api/settings', { path: 'a' }, 'the body does not fit: value'],
    ['PUT', '/api/settings', { what: ' ', changes: [{ path: 'a', value: 1 }] }, 'the body does not fit: what'],
    ['PUT', '/api/settings', { what: 'both', changes: [] }, 'the body does not fit: changes'],
    ['PUT', '/api/settings', { what: 'both', changes: [{ path: 'a.__proto__', value: 1 }] }, 'the body does not fit: changes.0.path'],
  ])('%s %s %j: %s', async (method, target, body, message) => {
    const answer = await site.send(method, target, body);
    expect([answer.status, errorOf(answer).message]).toEqual([400, message]);
    expect(site.desk.calls).toEqual([]);
  });

  it('what is not JSON, not JSON by its type, or holds a forbidden key is refused', async () => {
    const json = { 'content-type': 'application/json' };
    expect(errorOf(await site.send('POST', '/api/jobs', '{"verb":', json))).toMatchObject({ message: 'the body is not JSON' });
    expect(errorOf(await site.send('POST', '/api/jobs', '', json)).message).toMatch(/no body|does not fit/);
    expect((await site.send('POST', '/api/jobs', 'verb=build', { 'content-type': 'application/x-www-form-urlencoded' })).status).toBe(415);
    const poisoned = await site.send('POST', '/api/jobs', '{"verb":"build","__proto__":{"x":1}}', json);
    expect(poisoned.status).toBe(400);
    expect(site.desk.calls).toEqual([]);
  });

  it('oversized bodies: 413, and nothing reaches the desk', async () => {
    const big = JSON.stringify({ verb: 'build', pad: 'x'.repeat(1_100_000) });
    expect((await site.send('POST', '/api/jobs', big, { 'content-type': 'application/json' })).status).toBe(413);
    const plan = await site.send('PUT', '/api/plan/area', Buffer.alloc(16 * 2 ** 20 + 1, 0x20));
    expect([plan.status, errorOf(plan).message]).toEqual([413, 'the request is too large']);
    expect((await site.send('PUT', '/api/plan/area', Buffer.alloc(16 * 2 ** 20, 0x20))).status).toBe(200);
    expect(site.desk.calls).toHaveLength(1);
    expect((await site.send('PUT', '/api/plan/area')).status).toBe(400);
    expect((await site.send('PUT', '/api/plan/elsewhere', '{}')).status).toBe(404);
  });
});

describe('errors', () => {
  it('one grammar; those meant for the user with their parts, others without a stack', async () => {
    site.desk.set = () => Promise.reject(new UseError('lines.spacingM: too small', { expected: 'more than 0', found: '-1', fix: 'give a length' }));
    const use = await site.send('PUT', '/api/settings', { path: 'lines.spacingM', value: -1 });
    expect([use.status, JSON.parse(use.text)]).toEqual([400, { error: { message: 'lines.spacingM: too small', expected: 'more than 0', found: '-1', fix: 'give a length' } }]);
    site.desk.set = () => Promise.reject(new FormatError('x', 'a.json', 'a.json: broken', { expected: '{', found: '[' }));
    expect(JSON.parse((await site.send('PUT', '/api/settings', { path: 'a', value: 1 })).text)).toEqual({ error: { message: 'a.json: broken', expected: '{', found: '[' } });
    site.desk.set = () => Promise.reject(Object.assign(new Error('write'), { code: 'ENOSPC' }));
    const full = await site.send('PUT', '/api/settings', { path: 'a', value: 1 });
    expect([full.status, errorOf(full).message]).toEqual([400, expect.stringContaining('the disk is full (ENOSPC)')]);
    site.desk.set = () => Promise.reject(new TypeError('x is not a function\n    at somewhere (file.js:1:2)'));
    const fault = await site.send('PUT', '/api/settings', { path: 'a', value: 1 });
    expect([fault.status, errorOf(fault).message]).toEqual([500, 'something went wrong that was not foreseen: x is not a function']);
    expect(fault.text).not.toMatch(/at .*:\d+:\d+/);
    expect(site.logged).toHaveLength(1);
    expect(site.logged[0]).toContain('x is not a function');
    site.desk.summary = () => Promise.reject(new UseError('survey.json: damaged'));
    expect(errorOf(await site.get('/api/state')).message).toBe('survey.json: damaged');
  });

  it('an address that is not there', async () => {
    const answer = await site.get('/api/absent');
    expect([answer.status, JSON.parse(answer.text)]).toEqual([404, { error: expect.objectContaining({ message: 'there is no such file' }) as unknown }]);
    expect(JSON.parse((await site.send('POST', '/api/absent', {})).text)).toEqual({ error: { message: 'there is no such address' } });
    expect(errorOf(await site.get('/api/jobs/absent')).message).toBe('there is no such job, or it ended long ago');
  });
});

describe('jobs', () => {
  it('build and lines: progress, result, and the live feed tells both', async () => {
    const feed = await listen(site.server.url);
    const id = idOf(await site.send('POST', '/api/jobs', { verb: 'build', upTo: 'surface' }));
    const job = await ended(id);
    expect(job).toEqual({ id, verb: 'build', step: 'surface', done: 1, detail: 'half of it', state: 'done', result: { verb: 'build', build: { ran: [{ step: 'surface', seconds: 0.1 }], fresh: [], summary: expect.anything() as unknown } } });
    expect(site.desk.calls).toEqual([['build', 'surface']]);
    const lines = await ended(idOf(await site.send('POST', '/api/jobs', { verb: 'lines' })));
    expect(lines).toMatchObject({ verb: 'lines', state: 'done', result: { verb: 'lines', summary: { folder: site.folder } } });
    await feed.until(({ event, data }) => event === 'job' && (data as JobState).id === lines.id && (data as JobState).state === 'done');
    const told = feed.events.filter(({ event, data }) => event === 'job' && (data as JobState).id === id).map(({ data }) => (data as JobState).state);
    expect([told[0], told.at(-1)]).toEqual(['queued', 'done']);
    expect(feed.events.some(({ event, data }) => event === 'state' && (data as { because: string }).because === 'job')).toBe(true);
    feed.close();
  });

  it('one at a time in order; a waiting job that is cancelled never starts, a running one stops', async () => {
    const order: string[] = [];
    const gates = [gate(), gate(), gate(), gate()];
    let next = 0;
    site.desk.build = async (context) => {
      const mine = next++;
      order.push(`start ${mine}`);
      await gates[mine]!.work(context).finally(() => order.push(`end ${mine}`));
      return { ran: [], fresh: [], summary: await site.desk.summary() };
    };
    const ids: string[] = [];
    for (let k = 0; k < 4; k++) ids.push(idOf(await site.send('POST', '/api/jobs', { verb: 'build' })));
    await gates[0]!.started;
    expect((await Promise.all(ids.map(jobState))).map(({ state }) => state)).toEqual(['running', 'queued', 'queued', 'queued']);
    expect(JSON.parse((await site.send('DELETE', `/api/jobs/${ids[1]}`)).text)).toMatchObject({ id: ids[1], state: 'cancelled' });
    gates[0]!.open();
    await gates[1]!.started;
    expect((await jobState(ids[2]!)).state).toBe('running');
    await site.send('DELETE', `/api/jobs/${ids[2]}`);
    expect(await ended(ids[2]!)).toMatchObject({ state: 'cancelled' });
    await gates[2]!.started;
    gates[2]!.open();
    expect((await ended(ids[3]!)).state).toBe('done');
    expect(order).toEqual(['start 0', 'end 0', 'start 1', 'end 1', 'start 2', 'end 2']);
    expect(JSON.parse((await site.send('DELETE', `/api/jobs/${ids[3]}`)).text)).toMatchObject({ state: 'done' });
    expect((await site.send('DELETE', '/api/jobs/absent')).status).toBe(404);
  });

  it('a change asked for while a job runs waits for it, and goes before the jobs that wait', async () => {
    const order: string[] = [];
    const held = gate();
    site.desk.build = async (context) => {
      order.push('build');
      if (order.length === 1) await held.work(context);
      order.push('built');
      return { ran: [], fresh: [], summary: await site.desk.summary() };
    };
    site.desk.set = async (setting) => void order.push(`set ${setting}`);
    await site.send('POST', '/api/jobs', { verb: 'build' });
    await held.started;
    const second = idOf(await site.send('POST', '/api/jobs', { verb: 'build' }));
    const change = site.send('PUT', '/api/settings', { path: 'lines.spacingM', value: 2 });
    await new Promise((resolve) => setTimeout(resolve, 100));
    expect(order).toEqual(['build']);
    held.open();
    expect((await change).status).toBe(200);
    await ended(second);
    expect(order).toEqual(['build', 'built', 'set lines.spacingM', 'build', 'built']);
  });

  it('a failure: the message for the user, no stack, and the next job runs', async () => {
    site.desk.build = () => Promise.reject(new UseError('plan/area.geojson: there is no area', { fix: 'draw one' }));
    expect(await ended(idOf(await site.send('POST', '/api/jobs', { verb: 'build' })))).toMatchObject({ state: 'failed', error: { message: 'plan/area.geojson: there is no area', fix: 'draw one' } });
    site.desk.build = () => Promise.reject(new Error('bug\n at x (y.js:1:1)'));
    const job = await ended(idOf(await site.send('POST', '/api/jobs', { verb: 'build' })));
    expect(job).toMatchObject({ state: 'failed', error: { message: 'something went wrong that was not foreseen: bug' } });
    expect(JSON.stringify(job)).not.toContain('y.js');
    expect(site.logged).toHaveLength(1);
    expect((await ended(idOf(await site.send('POST', '/api/jobs', { verb: 'lines' })))).state).toBe('done');
  });

  it('progress: at most about ten reports a second, the last one never lost; unknown progress is null', async () => {
    const feed = await listen(site.server.url);
    site.desk.build = async (context) => {
      for (let k = 0; k <= 20_000; k++) {
        context?.progress?.('counting', k / 20_000, String(k));
        if (k % 500 === 0) await new Promise((resolve) => setTimeout(resolve, 10));
      }
      await new Promise((resolve) => setTimeout(resolve, 250));
      context?.progress?.('ending', NaN);
      await new Promise((resolve) => setTimeout(resolve, 150));
      return { ran: [], fresh: [], summary: await site.desk.summary() };
    };
    const began = performance.now();
    const job = await ended(idOf(await site.send('POST', '/api/jobs', { verb: 'build' })));
    const tenths = (performance.now() - began) / 100;
    await feed.until(({ event, data }) => event === 'job' && (data as JobState).state === 'done');
    const running = feed.events.filter(({ event, data }) => event === 'job' && (data as JobState).id === job.id && (data as JobState).state === 'running').map(({ data }) => data as JobState);
    expect(running.length).toBeGreaterThan(3);
    expect(running.length).toBeLessThanOrEqual(tenths + 2);
    expect(running.some(({ detail }) => detail === '20000')).toBe(true);
    expect(running.at(-1)).toMatchObject({ step: 'ending', done: null });
    feed.close();
  });

  it('closing: what waits is cancelled, what runs is stopped and waited for, pages are let go', async () => {
    const feed = await listen(site.server.url);
    const held = gate();
    let stopped = false;
    site.desk.build = async (context) => {
      await held.work(context).finally(() => (stopped = true));
      return { ran: [], fresh: [], summary: await site.desk.summary() };
    };
    await site.send('POST', '/api/jobs', { verb: 'build' });
    await site.send('POST', '/api/jobs', { verb: 'build' });
    await held.started;
    await site.server.close();
    expect(stopped).toBe(true);
    await feed.ended;
    const control = new AbortController();
    const other = await serve({ signal: control.signal });
    control.abort();
    await other.server.close();
    await expect(ask(other.server.url, '/')).rejects.toThrow('ECONNREFUSED');
    await other.stop();
  });
});

describe('POST /api/take-in', () => {
  const left = async (): Promise<string[]> => readdir(path.join(site.folder, '.incoming'), { recursive: true }).catch(() => []);

  it('the bytes arrive whole under the name given, and nothing is left behind', async () => {
    const bytes = Buffer.from(Array.from({ length: 300_000 }, (_, i) => (i * 31) % 251));
    let seen = '';
    site.desk.takeIn = async (paths) => {
      seen = createHash('sha256').update(await readFile(paths[0]!)).digest('hex');
      return [{ name: path.basename(paths[0]!), outcome: 'taken-in', log: null, because: '' }];
    };
    const id = idOf(await site.send('POST', '/api/take-in?name=day%201%20%C3%A9.log', bytes));
    expect(await ended(id)).toMatchObject({ verb: 'take-in', state: 'done', result: { verb: 'take-in', takenIn: [{ name: 'day 1 é.log', outcome: 'taken-in' }] } });
    expect(seen).toBe(createHash('sha256').update(bytes).digest('hex'));
    expect(await left()).toEqual([]);
  });

  it('two at one time with the same name: both arrive, each with its own bytes, taken in one after the other', async () => {
    const contents = ['first '.repeat(20_000), 'second '.repeat(20_000)];
    const ids = (await Promise.all(contents.map((text) => site.send('POST', '/api/take-in?name=same.log', text)))).map(idOf);
    expect(new Set(ids).size).toBe(2);
    for (const id of ids) expect((await ended(id)).state).toBe('done');
    const taken = site.desk.calls.map(([, names, texts]) => [names, (texts as string[])[0]]);
    expect(taken.map(([names]) => names)).toEqual([['same.log'], ['same.log']]);
    expect(new Set(taken.map(([, text]) => text))).toEqual(new Set(contents));
    expect(await left()).toEqual([]);
  });

  it.each(['', 'name=', 'name=..', 'name=.hidden', 'name=a%2Fb.log', 'name=..%2Fb.log', 'name=a%5Cb.log', 'name=C%3Ab.log', 'name=a%00.log', 'name=a%0A.log', 'name=%20a.log', `name=${'a'.repeat(201)}`, 'name=a.log&name=b.log'])(
    'refuses the name %j',
    async (query) => {
      const answer = await site.send('POST', `/api/take-in?${query}`, 'bytes');
      expect(answer.status).toBe(400);
      expect(await left()).toEqual([]);
      expect(site.desk.calls).toEqual([]);
    },
  );

  it('nothing sent: 400', async () => {
    for (const body of [undefined, '']) expect([body, (await site.send('POST', '/api/take-in?name=a.log', body)).status]).toEqual([body, 400]);
    expect(await left()).toEqual([]);
  });

  it('too large, announced or found out on the way: 413, nothing left', async () => {
    const announced = await site.send('POST', '/api/take-in?name=a.log', Buffer.alloc(1_000_001));
    expect([announced.status, errorOf(announced)]).toEqual([413, { message: 'a.log is too large', expected: 'at most 1000000 bytes', fix: 'take it in with the command line: tallow take-in' }]);
    const chunked = await site.send('POST', '/api/take-in?name=a.log', Buffer.alloc(3_000_000), { 'transfer-encoding': 'chunked' });
    expect(chunked.status).toBe(413);
    expect(await left()).toEqual([]);
    const fits = await site.send('POST', '/api/take-in?name=a.log', Buffer.alloc(1_000_000, 0x41));
    expect((await ended(idOf(fits))).state).toBe('done');
  });

  it('a sender that goes away half-way: no job, nothing left, and the server lives', async () => {
    const { port, host } = new URL(site.server.url);
    const socket = net.connect(Number(port), '127.0.0.1');
    socket.write(`POST /api/take-in?name=a.log HTTP/1.1\r\nHost: ${host}\r\nx-tallow-token: ${site.token}\r\nContent-Length: 100000\r\n\r\n${'x'.repeat(50_000)}`);
    for (let k = 0; k < 100 && (await left()).length < 2; k++) await new Promise((resolve) => setTimeout(resolve, 10));
    expect(await left()).toHaveLength(2);
    socket.destroy();
    for (let k = 0; k < 100 && (await left()).length > 0; k++) await new Promise((resolve) => setTimeout(resolve, 10));
    expect(await left()).toEqual([]);
    expect((JSON.parse((await site.get('/api/state')).text) as ServerState).jobs).toEqual([]);
    expect(site.logged).toEqual([]);
  });

  it('cancelled while it waits: never taken in, nothing left', async () => {
    const held = gate();
    site.desk.build = async (context) => {
      await held.work(context);
      return { ran: [], fresh: [], summary: await site.desk.summary() };
    };
    await site.send('POST', '/api/jobs', { verb: 'build' });
    await held.started;
    const id = idOf(await site.send('POST', '/api/take-in?name=a.log', 'bytes'));
    expect((await left()).length).toBe(2);
    await site.send('DELETE', `/api/jobs/${id}`);
    held.open();
    expect((await ended(id)).state).toBe('cancelled');
    for (let k = 0; k < 100 && (await left()).length > 0; k++) await new Promise((resolve) => setTimeout(resolve, 10));
    expect(await left()).toEqual([]);
    expect(site.desk.calls).toEqual([]);
  });
});

describe('GET /api/events', () => {
  it('headers, heartbeat, and the jobs as they stand for a page that comes later', async () => {
    await ended(idOf(await site.send('POST', '/api/jobs', { verb: 'build' })));
    const feed = await listen(site.server.url);
    await feed.until(({ event, data }) => event === 'job' && (data as JobState).state === 'done');
    for (let k = 0; k < 100 && feed.comments.length < 2; k++) await new Promise((resolve) => setTimeout(resolve, 20));
    expect(feed.comments.slice(0, 2)).toEqual(['heartbeat', 'heartbeat']);
    feed.close();
    const { hostname, port } = new URL(site.server.url);
    const headers = await new Promise<http.IncomingHttpHeaders>((resolve) => {
      const request = http.get({ hostname, port, path: '/api/events', agent: false }, (response) => {
        resolve(response.headers);
        request.destroy();
      });
    });
    expect([headers['content-type'], headers['cache-control']]).toEqual(['text/event-stream; charset=utf-8', 'no-store']);
    expect(headers['content-security-policy']).toContain("default-src 'self'");
  });

  it('a change by another program is told once it has settled; the hidden files of the server and the lock are not', async () => {
    const feed = await listen(site.server.url);
    await writeFile(path.join(site.folder, '.tallow-lock'), '1');
    await new Promise((resolve) => setTimeout(resolve, 600));
    expect(feed.events).toEqual([]);
    await writeFile(path.join(site.folder, 'plan/area.geojson'), '{}');
    await writeFile(path.join(site.folder, 'plan/area.geojson'), '{"a":1}');
    await feed.until(({ event, data }) => event === 'state' && (data as { because: string }).because === 'outside');
    await new Promise((resolve) => setTimeout(resolve, 600));
    expect(feed.events.length).toBeLessThanOrEqual(2);
    feed.close();
  });

  it('a page that takes nothing: what waits for it is the newest state of each job, however much was told', async () => {
    const feed = createLiveFeed(60_000);
    const server = http.createServer((_, response) => feed.add(response, {}, []));
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    const { port } = server.address() as net.AddressInfo;
    const socket = net.connect(port, '127.0.0.1');
    socket.write('GET / HTTP/1.1\r\nHost: x\r\n\r\n');
    await new Promise((resolve) => socket.once('data', resolve));
    socket.pause();
    const detail = 'x'.repeat(2000);
    const job = (id: string, k: number): JobState => ({ id, verb: 'build', step: String(k), done: 0.5, detail, state: 'running' });
    // First fill what the system itself buffers for the socket, then tell 200 MB more.
    const before = process.memoryUsage();
    for (let k = 0; k < 100_000; k++) {
      feed.job(job(`job${k % 3}`, k));
      if (k % 1000 === 0) await new Promise((resolve) => setImmediate(resolve));
    }
    const after = process.memoryUsage();
    expect(after.rss - before.rss).toBeLessThan(100e6);
    // When it reads again it hears the newest of each.
    let text = '';
    socket.on('data', (part) => (text += part.toString()));
    socket.resume();
    for (let k = 0; k < 300 && !['99997', '99998', '99999'].every((step) => text.includes(`"step":"${step}"`)); k++) await new Promise((resolve) => setTimeout(resolve, 10));
    for (const step of ['99997', '99998', '99999']) expect(text).toContain(`"step":"${step}"`);
    expect(text.length).toBeLessThan(100e6);
    socket.destroy();
    feed.close();
    server.close();
  });

  it('at most 64 pages', async () => {
    const feeds = [];
    for (let k = 0; k < 64; k++) feeds.push(await listen(site.server.url));
    const answer = await site.get('/api/events');
    expect([answer.status, errorOf(answer).message]).toEqual([409, '64 pages are open already']);
    for (const feed of feeds) feed.close();
  });
});
