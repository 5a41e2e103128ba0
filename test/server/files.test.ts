import { writeFile } from 'node:fs/promises';
import net from 'node:net';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readByteRange } from '../../src/server/byte-range.js';
import { serve } from './fake-desk.js';

let site: Awaited<ReturnType<typeof serve>>;
beforeAll(async () => {
  site = await serve();
});
afterAll(() => site.stop());

describe('GET /files', () => {
  it.each([
    ['/files/survey.json', 'application/json', '{"name":"Hollin Sound"}'],
    ['/files/plan/area.geojson', 'application/geo+json', '{"type":"FeatureCollection","features":[]}'],
    ['/files/derived/surface/surface.tif', 'image/tiff', 'ABCDEFGHIJ'],
    ['/files/derived/soundings.parquet', 'application/vnd.apache.parquet', 'PAR1'],
    ['/files/derived/soundings.parquet?v=12', 'application/vnd.apache.parquet', 'PAR1'],
    ['/files/derived/link-inside', 'application/octet-stream', 'PAR1'],
    ['/files/derived/empty.csv', 'text/csv; charset=utf-8', ''],
    ['/files/products/a%20name%20with%20spaces%20%C3%A9.txt', 'text/plain; charset=utf-8', 'named'],
    ['/files/derived%2Fsoundings.parquet', 'application/vnd.apache.parquet', 'PAR1'],
  ])('%s: its bytes, type and length', async (target, type, text) => {
    const answer = await site.get(target);
    expect([answer.status, answer.headers['content-type'], answer.text]).toEqual([200, type, text]);
    expect(answer.headers['content-length']).toBe(String(Buffer.byteLength(text)));
    expect(answer.headers['accept-ranges']).toBe('bytes');
    expect(answer.headers['cache-control']).toBe('no-cache');
    expect(answer.headers['x-content-type-options']).toBe('nosniff');
  });

  it.each([
    '/files/', '/files', '/files/derived', '/files/derived/', '/files/absent.txt', '/files/derived/absent.tif', '/files/derived/surface.tif/x', '/files/survey.json/x',
    '/files/logs/raw.log', '/files/private/other.txt', '/files/journal.jsonl', '/files/derived/.hidden',
    '/files/../outside.txt', '/files/derived/../../outside.txt', '/files/derived/../logs/raw.log', '/files/derived/..%2flogs/raw.log',
    '/files/derived/%2e%2e/logs/raw.log', '/files/%2e%2e/outside.txt', '/files/derived/%2e%2e%2f%2e%2e%2foutside.txt', '/files/derived%2f..%2flogs%2fraw.log',
    '/files/derived/%252e%252e/logs/raw.log', '/files/derived/.%2e/logs/raw.log', '/files/derived/./soundings.parquet', '/files/derived//soundings.parquet',
    '/files//etc/passwd', '/files/%2fetc%2fpasswd', '/files//derived/soundings.parquet', '/files/derived/root/etc/passwd',
    '/files/derived/link-outside.txt', '/files/derived/link-to-log', '/files/derived/link-to-folder/logs/raw.log', '/files/derived/link-to-folder/survey.json', '/files/derived/loop',
    '/files/derived/soundings.parquet%00', '/files/derived/soundings.parquet%00.txt', '/files/%00', '/files/derived%00/soundings.parquet',
    '/files/derived\\..\\logs\\raw.log', '/files/derived%5c..%5clogs%5craw.log', '/files/C:/Windows/win.ini', '/files/derived/C:%5Cwin.ini', '/files/derived/soundings.parquet::$DATA',
    '/files/derived/soundings.parquet%0a', '/files/derived/%7f', '/files/DERIVED/soundings.parquet',
  ])('%s: not there', async (target) => {
    const answer = await site.get(target);
    expect([answer.status, answer.headers['content-type']]).toEqual([404, 'application/json; charset=utf-8']);
    expect(answer.text).not.toContain('secret');
    expect(answer.text).not.toContain(site.folder);
    expect(Object.keys(JSON.parse(answer.text) as object)).toEqual(['error']);
  });

  it.each(['/files/derived/%', '/files/derived/%zz', '/files/derived/%c3%28', '/files/%e0%80%af'])('%s: not well formed', async (target) => {
    const answer = await site.get(target);
    expect(answer.status).toBe(400);
    expect((JSON.parse(answer.text) as { error: { message: string } }).error.message).toBe('the address is not well formed');
  });

  it('a name longer than a file system has: not there; a longer address is refused', async () => {
    expect((await site.get(`/files/derived/${'a'.repeat(3000)}`)).status).toBe(404);
    expect((await site.get(`/files/derived/${'a'.repeat(20_000)}`)).status).toBe(400);
  });

  it('only GET and HEAD', async () => {
    for (const method of ['PUT', 'DELETE', 'POST']) expect((await site.send(method, '/files/survey.json')).status).toBe(404);
    const head = await site.send('HEAD', '/files/derived/surface/surface.tif');
    expect([head.status, head.headers['content-length'], head.text]).toEqual([200, '10', '']);
  });

  it('documents of the folder run nothing; a PDF is left to the viewer', async () => {
    const svg = await site.get('/files/products/sheet.svg');
    expect(svg.headers['content-security-policy']).toBe("default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; sandbox");
    expect((await site.get('/files/products/report.pdf')).headers['content-security-policy']).not.toContain('sandbox');
  });
});

describe('GET /files: ranges (RFC 9110 section 14)', () => {
  const whole = 'ABCDEFGHIJ';
  it.each([
    ['bytes=0-0', 206, 'A', 'bytes 0-0/10'],
    ['bytes=2-4', 206, 'CDE', 'bytes 2-4/10'],
    ['bytes=7-', 206, 'HIJ', 'bytes 7-9/10'],
    ['bytes=-3', 206, 'HIJ', 'bytes 7-9/10'],
    ['bytes=-99', 206, whole, 'bytes 0-9/10'],
    ['bytes=8-99', 206, 'IJ', 'bytes 8-9/10'],
    ['bytes=0-', 206, whole, 'bytes 0-9/10'],
    ['Bytes = 1-2', 206, 'BC', 'bytes 1-2/10'],
    ['bytes=1-2,', 206, 'BC', 'bytes 1-2/10'],
    ['bytes=0-1,4-5', 200, whole, undefined],
    ['lines=1-2', 200, whole, undefined],
    ['bytes=10-', 416, null, 'bytes */10'],
    ['bytes=10-20', 416, null, 'bytes */10'],
    ['bytes=-0', 416, null, 'bytes */10'],
    ['bytes=4-2', 416, null, 'bytes */10'],
    ['bytes=-', 416, null, 'bytes */10'],
    ['bytes=', 416, null, 'bytes */10'],
    ['bytes=a-b', 416, null, 'bytes */10'],
    ['bytes=1', 416, null, 'bytes */10'],
    ['bytes=1-2-3', 416, null, 'bytes */10'],
    ['bytes=-1-2', 416, null, 'bytes */10'],
    ['nonsense', 416, null, 'bytes */10'],
    ['bytes=99999999999999999999-', 416, null, 'bytes */10'],
    ['bytes=1-99999999999999999999', 206, 'BCDEFGHIJ', 'bytes 1-9/10'],
  ])('%s', async (range, status, text, contentRange) => {
    const answer = await site.get('/files/derived/surface/surface.tif', { range });
    expect([answer.status, answer.headers['content-range']]).toEqual([status, contentRange]);
    if (text !== null) expect([answer.text, answer.headers['content-length']]).toEqual([text, String(text.length)]);
    else expect(JSON.parse(answer.text)).toMatchObject({ error: { message: 'the file has no such range' } });
  });

  it('an empty file has no range', async () => {
    expect((await site.get('/files/derived/empty.csv', { range: 'bytes=0-' })).status).toBe(416);
    expect(readByteRange('bytes=-1', 0)).toEqual({ kind: 'none' });
  });

  it('every stretch of a file equals the same stretch of its bytes', async () => {
    for (let start = 0; start < 10; start++) {
      for (let last = start; last < 12; last++) {
        const { text } = await site.get('/files/derived/surface/surface.tif', { range: `bytes=${start}-${last}` });
        expect(text).toBe(whole.slice(start, last + 1));
      }
    }
  });

  it('HEAD with a range says what GET would send', async () => {
    const answer = await site.send('HEAD', '/files/derived/surface/surface.tif', undefined, { range: 'bytes=2-4' });
    expect([answer.status, answer.headers['content-range'], answer.headers['content-length'], answer.text]).toEqual([206, 'bytes 2-4/10', '3', '']);
  });
});

describe('GET /files: asking again (RFC 9110 section 13)', () => {
  it('the same tag: 304; another after a change, and a part only of what the asker has', async () => {
    const target = '/files/derived/changing.txt';
    const place = path.join(site.folder, 'derived/changing.txt');
    await writeFile(place, 'first');
    const first = await site.get(target);
    const etag = first.headers.etag!;
    expect(etag).toMatch(/^"[0-9a-f]+-[0-9a-f]+"$/);
    for (const header of [etag, `W/${etag}`, `"other", ${etag}`, '*']) {
      const again = await site.get(target, { 'if-none-match': header });
      expect([again.status, again.text]).toEqual([304, '']);
    }
    expect((await site.get(target, { 'if-none-match': '"other"' })).status).toBe(200);
    expect((await site.get(target, { range: 'bytes=0-1', 'if-range': etag })).text).toBe('fi');
    await writeFile(place, 'other');
    const changed = await site.get(target, { 'if-none-match': etag });
    expect([changed.status, changed.text]).toEqual([200, 'other']);
    expect((await site.get(target, { range: 'bytes=0-1', 'if-range': etag })).text).toBe('other');
  });
});

describe('the page', () => {
  it('/: the built page with its security headers', async () => {
    const answer = await site.get('/');
    expect([answer.status, answer.headers['content-type'], answer.headers['cache-control']]).toEqual([200, 'text/html; charset=utf-8', 'no-cache']);
    expect(answer.headers['content-security-policy']).toBe(
      "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self' blob:; img-src 'self' data: blob:; object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    );
    expect(answer.headers['access-control-allow-origin']).toBeUndefined();
  });

  it('assets are kept by the browser, since their names carry a hash', async () => {
    const answer = await site.get('/assets/index-abc123.js');
    expect([answer.status, answer.headers['content-type'], answer.headers['cache-control']]).toEqual([200, 'text/javascript; charset=utf-8', 'public, max-age=31536000, immutable']);
  });

  it.each(['/../survey/logs/raw.log', '/%2e%2e/survey/survey.json', '/assets/..%2f..%2foutside.txt', '/absent.js', '/assets', '//', '/.env'])('%s: not there', async (target) => {
    const answer = await site.get(target);
    expect(answer.status).toBe(404);
    expect(answer.text).not.toContain('secret');
  });

  it('a page that was not built: says how', async () => {
    const other = await serve({ pageDir: path.join(site.folder, 'absent') });
    const answer = await other.get('/');
    expect([answer.status, JSON.parse(answer.text)]).toEqual([404, { error: { message: 'the page has not been built', fix: 'run: npm run build' } }]);
    await other.stop();
  });
});

describe('the router', () => {
  /** Bytes over a socket, answer until it closes. */
  function raw(bytes: Buffer): Promise<string> {
    const { port } = new URL(site.server.url);
    return new Promise((resolve) => {
      const socket = net.connect(Number(port), '127.0.0.1');
      let text = '';
      socket.on('data', (part) => (text += part.toString('latin1')));
      socket.on('error', () => resolve(text));
      socket.on('close', () => resolve(text));
      socket.write(bytes);
    });
  }

  it('odd bytes in the path (seeded): always an answer below 500, no secret, no stack, and the server lives', async () => {
    const { host } = new URL(site.server.url);
    let state = 20261125;
    const next = (n: number): number => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return (state >>> 8) % n;
    };
    const pieces = ['/', '..', '.', '%2e', '%2f', '%5c', '%00', '%', '%zz', 'files', 'derived', 'logs', 'raw.log', 'api', 'state', 'jobs', 'events?x', 'é', '\\', ':', ';', '?', '#', '%ff%fe', '*', '//', '%u002e', ' ', '\t'];
    const seen = new Map<string, number>();
    for (let k = 0; k < 600; k++) {
      const parts = Array.from({ length: 1 + next(7) }, () => (next(4) === 0 ? String.fromCharCode(33 + next(222)) : pieces[next(pieces.length)]!));
      const target = `/${parts.join('')}`.replace(/^\/api\/events\?x/, '/api/event');
      const answer = await raw(Buffer.from(`GET ${target} HTTP/1.1\r\nHost: ${host}\r\nConnection: close\r\n\r\n`, 'latin1'));
      const status = /^HTTP\/1\.1 (\d{3}) /.exec(answer)?.[1] ?? 'none';
      seen.set(status, (seen.get(status) ?? 0) + 1);
      expect(['200', '400', '404'], `${JSON.stringify(target)}: ${answer.slice(0, 300)}`).toContain(status);
      expect(answer).not.toMatch(/secret|\n\s+at .*:\d+:\d+/);
    }
    expect(seen.get('404')).toBeGreaterThan(100);
    expect((await site.get('/api/state')).status).toBe(200);
    expect(site.logged).toEqual([]);
  });

  it('what is not HTTP: 400 in our words', async () => {
    expect(await raw(Buffer.from('\u0016\u0003\u0001 nonsense\r\n\r\n', 'latin1'))).toMatch(/^HTTP\/1\.1 400 Bad Request[^]*"message":"the request is not well formed HTTP"/);
  });
});
