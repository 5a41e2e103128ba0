import { describe, expect, it } from 'vitest';
import type { ByteSource } from '../../src/base/byte-source.js';
import { CancelledError, FormatError } from '../../src/base/errors.js';
import { readLog } from '../../src/formats/log-reader.js';
import { gga, source } from './nmea-log-text.js';

async function refusal(from: ByteSource | Uint8Array | string, name = 'day1.log'): Promise<FormatError> {
  const log = typeof from === 'string' || from instanceof Uint8Array ? source(from, name) : from;
  try {
    await readLog(log, { onChunk: () => undefined });
  } catch (error) {
    expect(error).toBeInstanceOf(FormatError);
    expect((error as FormatError).message).not.toContain('\n');
    expect((error as FormatError).message.startsWith(`${log.name}: `)).toBe(true);
    return error as FormatError;
  }
  throw new Error('it was read');
}

/** A file of `size` bytes that are all zero but for what is put at some places; counts the bytes read. */
function sparse(size: number, put: readonly (readonly [number, Uint8Array])[] = []): ByteSource & { bytesRead: number } {
  return {
    name: 'day1.log',
    byteLength: size,
    bytesRead: 0,
    read(start, end) {
      const out = new Uint8Array(Math.min(end, size) - start);
      for (const [at, bytes] of put) for (let i = 0; i < bytes.length; i++) if (at + i >= start && at + i < end) out[at + i - start] = bytes[i] as number;
      this.bytesRead += out.length;
      return Promise.resolve(out);
    },
  };
}

const lines = (n: number): Uint8Array => Uint8Array.from(Array.from({ length: n }, (_, t) => `${gga(t)}\r\n`).join(''), (c) => c.charCodeAt(0));

describe('readLog: files that are no log', () => {
  it('an empty file', async () => {
    const error = await refusal('');
    expect(error.code).toBe('empty');
    expect(error.message).toBe('day1.log: the file is empty: expected a log');
  });

  it('a photo, and other well-known kinds, by name', async () => {
    const jpeg = Uint8Array.from([0xff, 0xd8, 0xff, 0xe0, 0, 16, 0x4a, 0x46, 0x49, 0x46, 0, ...Array.from({ length: 5000 }, (_, i) => (i * 7919 + (i >> 3) * 31) % 256)]);
    expect((await refusal(jpeg, 'IMG.jpg')).message).toBe('IMG.jpg: this is a JPEG photo; expected a log: NMEA 0183, CSV or GPX track');
    expect((await refusal(Uint8Array.from([0x50, 0x4b, 3, 4, 1, 2, 3]), 'a.xlsx')).message).toContain('a zip archive');
    expect((await refusal(Uint8Array.from([0x1f, 0x8b, 8, 0, 1, 2, 3]), 'a.log.gz')).message).toContain('unpack it first');
  });

  it('UTF-16 text, with and without a byte order mark, either order', async () => {
    const text = Array.from({ length: 20 }, (_, t) => `${gga(t)}\r\n`).join('');
    const little = [...text].flatMap((c) => [c.charCodeAt(0), 0]);
    const big = [...text].flatMap((c) => [0, c.charCodeAt(0)]);
    for (const bytes of [little, big, [0xff, 0xfe, ...little], [0xfe, 0xff, ...big]]) {
      const error = await refusal(Uint8Array.from(bytes));
      expect(error.code).toBe('utf-16');
      expect(error.message).toBe('day1.log: the file is UTF-16 text: expected one byte a character; save it as plain text or UTF-8 and take it in again');
    }
  });

  it('prose', async () => {
    const error = await refusal('Dear all,\nthe boat came back wet, but the log is fine.\n');
    expect(error.code).toBe('not-a-log');
    expect(error.message).toContain('it begins with "Dear all,');
  });

  it('zeros of any size end quickly: 2 GB are looked into, not read', async () => {
    const small = await refusal(new Uint8Array(10_000));
    expect(small.code).toBe('zeros');
    const log = sparse(2_000_000_000);
    const error = await refusal(log);
    expect(error.code).toBe('zeros');
    expect(error.message).toBe('day1.log: nothing but zero bytes at its beginning and at 128 places in it: it holds no log; copy it again from the logger');
    expect(log.bytesRead).toBeLessThan(16e6);
  });

  it('random bytes of any size end quickly', async () => {
    let state = 12345;
    const random = new Uint8Array(1 << 16).map(() => (state = (Math.imul(state, 1664525) + 1013904223) >>> 0) >>> 24);
    let bytesRead = 0;
    const log: ByteSource = {
      name: 'day1.log',
      byteLength: 3_000_000_000,
      read(start, end) {
        bytesRead += end - start;
        const out = new Uint8Array(end - start);
        for (let at = 0; at < out.length; at += random.length) out.set(random.subarray(0, Math.min(random.length, out.length - at)), at);
        return Promise.resolve(out);
      },
    };
    expect((await refusal(log)).code).toBe('not-a-log');
    expect(bytesRead).toBeLessThan(16e6);
  });
});

describe('readLog: files that are a log in part', () => {
  it('sentences after megabytes of zeros are found and read', async () => {
    const log = sparse(9_000_000, [[8_000_000, lines(50)]]);
    const summary = await readLog(log, { onChunk: () => undefined });
    expect(summary.fixes).toBe(50);
  });

  it('so are they in a very long file, where they take up a good part of it', async () => {
    const block = lines(20_000);
    const log = sparse(70_000_000, [[60_000_000, block]]);
    const summary = await readLog(log, { onChunk: () => undefined });
    expect(summary.fixes).toBe(20_000);
  }, 120_000);

  it('one good sentence among rubbish is enough', async () => {
    const summary = await readLog(source(`\x00\x01\x02rubbish\r\n${gga(5)}\r\nmore rubbish`), { onChunk: () => undefined });
    expect(summary.fixes).toBe(1);
    expect(summary.rejects).toEqual([expect.objectContaining({ code: 'noise', count: 2, firstLines: [1, 3] })]);
  });
});

describe('readLog: long work', () => {
  it('tells how far it is and stops when asked', async () => {
    const bytes = lines(60_000);
    const seen: number[] = [];
    const stop = new AbortController();
    await expect(
      readLog(source(bytes), {
        onChunk: () => undefined,
        context: {
          signal: stop.signal,
          progress: (_step, done) => {
            seen.push(done);
            if (seen.length === 2) stop.abort();
          },
        },
      }),
    ).rejects.toBeInstanceOf(CancelledError);
    expect(seen).toHaveLength(2);
    expect(seen[0]).toBeCloseTo((1 << 20) / bytes.length, 6);
  });

  it('waits for whoever takes the rows, and passes on their error', async () => {
    await expect(readLog(source(lines(60_000)), { onChunk: () => Promise.reject(new Error('disk full')) })).rejects.toThrow('disk full');
    let open = 0;
    await readLog(source(lines(100_000)), {
      chunkRows: 1000,
      noDate: '2026-05-01',
      onChunk: async () => {
        expect(++open).toBe(1);
        await Promise.resolve();
        open--;
      },
    });
  });
});
