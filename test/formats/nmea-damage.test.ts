import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ByteSource } from '../../src/base/byte-source.js';
import { FormatError } from '../../src/base/errors.js';
import type { LogObservations } from '../../src/base/observations.js';
import type { ObservationChunk } from '../../src/formats/log-columns.js';
import { ObservationRows } from '../../src/formats/log-columns.js';
import { LogTally } from '../../src/formats/log-tally.js';
import { readLog } from '../../src/formats/log-reader.js';
import { NmeaLog } from '../../src/formats/nmea/nmea-log.js';
import { clock, gga, read, rejects, rmc, sentence, source } from './nmea-log-text.js';

const dpt = (depth: number): string => sentence(`SDDPT,${depth.toFixed(2)},0.0`);
const bytesOf = (text: string): Uint8Array => Uint8Array.from(text, (c) => c.charCodeAt(0));

/** Reads bytes through the NMEA reader in pieces that end at the given places. */
function inPieces(bytes: Uint8Array, ends: readonly number[], chunkRows = 1000): { observations: LogObservations; summary: unknown; chunks: number } {
  const tally = new LogTally();
  const log = new NmeaLog(tally, { noDate: null, chunkRows });
  let at = 0;
  for (const end of [...ends, bytes.length]) {
    log.feed(bytes.subarray(at, end));
    at = end;
  }
  log.finish();
  const rows = new ObservationRows();
  for (const chunk of log.ready) {
    tally.addRows(chunk);
    rows.append(chunk);
  }
  return { observations: rows.takeObservations(), summary: tally.summary('nmea'), chunks: log.ready.length };
}

/** A few kilobytes with everything in it: stamps, TAG blocks, noise, merged and cut lines, all line ends. */
function motley(): Uint8Array {
  const lines: string[] = ['', '# a comment', dpt(3.1)];
  for (let t = 0; t < 12; t++) {
    lines.push(gga(t, t * 0.001), dpt(4 + t * 0.1), rmc(t, '010526'), sentence('HEHDT,90.1,T'));
    if (t === 3) lines.push(`${gga(t).slice(0, 30)}${dpt(5)}`, `${dpt(5.5)}${dpt(5.6)}`);
    if (t === 5) lines.push('\x00\xff\x80garbage\x01', `2026-05-01T00:00:05.500Z ${dpt(6)}`, `\\c:1777593605*55\\${dpt(6.1)}`);
    if (t === 7) lines.push(dpt(7).replace('7', '8'), dpt(7).slice(0, -3), `$${'A'.repeat(1500)}`, 'x'.repeat(3000));
    if (t === 9) lines.push(sentence('PXYZA,1'), sentence(`GPGGA,${clock(2)},4610.0,N,03000.0,W,1,09,0.9,1.5,M,57.0,M,,`));
  }
  const ends = ['\r\n', '\n', '\r', '\r\n', '\n\r', '\r\r\n'];
  return bytesOf(lines.map((line, i) => line + ends[i % ends.length]).join(''));
}

describe('readLog: damaged sentences', () => {
  it('wrong checksum is rejected and counted with its line; the rest is read', async () => {
    const { observations, summary } = await read([gga(0), gga(1).replace('46', '47'), gga(2)]);
    expect(observations.fixes.n).toBe(2);
    expect(summary.rejects).toEqual([{ code: 'checksum', reason: expect.stringContaining('checksum does not match') as string, count: 1, firstLines: [2] }]);
  });

  it('no checksum at all is accepted, with a note', async () => {
    const bare = (text: string): string => text.slice(0, -3);
    const { observations, summary } = await read([bare(gga(0)), bare(dpt(5)), bare(gga(1))]);
    expect(observations.fixes.n).toBe(2);
    expect(observations.pings.n).toBe(1);
    expect(summary.notes.join()).toContain('3 sentences have no checksum: they are used unchecked');
  });

  it('no checksum where that talker has sent one before is a sentence cut short', async () => {
    const { observations, summary } = await read([gga(0), dpt(12.34), gga(1), dpt(12.34).slice(0, 9), gga(2)]);
    expect(observations.pings.n).toBe(1);
    expect(rejects(summary)).toEqual({ 'cut-short': 1 });
  });

  it('a sentence that starts inside another ends it and is read whole', async () => {
    const { observations, summary } = await read([gga(0).slice(0, 25) + gga(1) + dpt(5), gga(2)]);
    expect([...observations.fixes.timeS]).toEqual([1, 2]);
    expect(observations.pings.n).toBe(1);
    expect(rejects(summary)).toEqual({ 'cut-short': 1 });
  });

  it('line ends may be CR, LF, CRLF or mixed; lines are counted as an editor counts them', async () => {
    for (const end of ['\r\n', '\n', '\r']) {
      const { observations, summary } = await read([gga(0), gga(1), gga(2)].join(end) + end);
      expect(observations.fixes.n).toBe(3);
      expect([...observations.fixes.record]).toEqual([0, 1, 2]);
      expect(summary.lines).toBe(3);
    }
    const { observations, summary } = await read(`${gga(0)}\r\n${gga(1)}\r${gga(2)}\n\n${gga(3)}`);
    expect([...observations.fixes.record]).toEqual([0, 1, 2, 4]);
    expect(summary.lines).toBe(5);
  });

  it('noise between and in lines costs only the sentence it is in', async () => {
    const noise = '\x00\x01\xfe$\xff!\x80\r\x00';
    const { observations } = await read(`${gga(0)}${noise}${gga(1)}\r\n${gga(2).slice(0, 20)}\x00\x00${gga(2).slice(20)}\r\n${noise}\r\n${gga(3)}`);
    expect([...observations.fixes.timeS]).toEqual([0, 1, 3]);
  });

  it('lines of any length are passed over', async () => {
    const { observations, summary } = await read(`${gga(0)}\n${'z'.repeat(3_000_000)}\n$${'9'.repeat(100_000)}\n${gga(1)}\n`);
    expect(observations.fixes.n).toBe(2);
    expect(rejects(summary)).toEqual({ 'too-long': 1, noise: 2 });
    expect([...observations.fixes.record]).toEqual([0, 3]);
  });

  it('a time of day that cannot be is rejected', async () => {
    const { summary } = await read([gga(0), sentence('GPGGA,250000.00,4610.0,N,03000.0,W,1,09,0.9,1.5,M,57.0,M,,')]);
    expect(rejects(summary)['time-range']).toBe(1);
  });
});

describe('readLog: any division into pieces gives the same', () => {
  const bytes = motley();
  const whole = inPieces(bytes, []);

  it('reads the motley log as meant', () => {
    expect(whole.observations.fixes.n).toBe(12);
    expect(whole.summary).toMatchObject({ kind: 'nmea', fixes: 12 });
  });

  it('in two pieces, parted at every byte', () => {
    for (let i = 1; i < bytes.length; i++) {
      const parted = inPieces(bytes, [i]);
      if (JSON.stringify(parted.summary) !== JSON.stringify(whole.summary)) expect(`parted at ${i}: ${JSON.stringify(parted.summary)}`).toBe(JSON.stringify(whole.summary));
      if (i % 37 === 0) expect(parted.observations).toEqual(whole.observations);
    }
  });

  it('byte by byte', () => {
    const parted = inPieces(bytes, Array.from({ length: bytes.length - 1 }, (_, i) => i + 1));
    expect(parted.summary).toEqual(whole.summary);
    expect(parted.observations).toEqual(whole.observations);
  });

  it('and any size of chunk, but for the depths that take the place of silent ones', () => {
    const log = bytesOf(Array.from({ length: 3000 }, (_, t) => [rmc(t, '010526'), dpt(5 + (t % 10)), dpt(6)].join('\n')).join('\n'));
    const one = inPieces(log, [], 1 << 30);
    for (const chunkRows of [1, 7, 100, 1000]) {
      const many = inPieces(log, [], chunkRows);
      expect(many.chunks).toBeGreaterThan(chunkRows < 1000 ? 10 : 3);
      expect(many.observations).toEqual(one.observations);
    }
  });
});

describe('readLog: nothing but FormatError', () => {
  const bytes = motley().slice(0, 3500);

  /** Reads through the front door; the only error allowed is a FormatError with a one-line message. */
  async function survives(data: Uint8Array): Promise<number> {
    let rows = 0;
    try {
      await readLog(source(data), { onChunk: (chunk: ObservationChunk) => void (rows += chunk.fixes?.n ?? 0) });
    } catch (error) {
      expect(error).toBeInstanceOf(FormatError);
      expect((error as Error).message).not.toContain('\n');
    }
    return rows;
  }

  it('truncated at every byte', async () => {
    let last = 0;
    for (let i = 0; i <= bytes.length; i++) {
      const rows = await survives(bytes.subarray(0, i));
      expect(rows).toBeGreaterThanOrEqual(last); // what was whole before stays whole
      last = rows;
    }
    expect(last).toBeGreaterThan(5);
  });

  it('with any one bit flipped loses at most the sentences it touches', async () => {
    const log = bytesOf(Array.from({ length: 30 }, (_, t) => `${gga(t)}\r\n`).join(''));
    for (let i = 0; i < log.length; i++) {
      const flipped = log.slice();
      flipped[i] = (flipped[i] as number) ^ (1 << i % 8);
      // A line end that becomes something else joins nothing: the next `$` starts afresh.
      expect(await survives(flipped), `byte ${i}`).toBeGreaterThanOrEqual(28);
    }
  });

  it('with random bytes overwritten, inserted and removed', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.record({ at: fc.nat(3400), del: fc.nat(20), add: fc.uint8Array({ maxLength: 20 }) }), { maxLength: 20 }),
        async (edits) => {
          let data: number[] = [...bytes];
          for (const { at, del, add } of edits) data = [...data.slice(0, at), ...add, ...data.slice(at + del)];
          await survives(Uint8Array.from(data));
        },
      ),
      { seed: 20260503, numRuns: 400 },
    );
  });

  it('random bytes, random sentence-like text', async () => {
    await fc.assert(fc.asyncProperty(fc.uint8Array({ maxLength: 5000 }), survives2), { seed: 20260504, numRuns: 300 });
    const alphabet = fc.constantFrom('$GPGGA,', '$GPRMC,', '$SDDBT,', '$IIXDR,', '$GPZDA,', '!', '$', '*', '*00', ',', '.', '-', '1', '120000', '4610.0,N,03000.0,W', 'A', 'M', 'f', '\\', '\\c:1*', '\r', '\n', ' ', '2026-05-01T', '12:00:00', '[', '\x00');
    await fc.assert(fc.asyncProperty(fc.array(alphabet, { maxLength: 300 }), async (parts) => survives2(bytesOf(parts.join('')))), { seed: 20260505, numRuns: 1500 });
  });

  async function survives2(data: Uint8Array): Promise<void> {
    await survives(data);
    inPieces(data, []);
  }
});

describe('readLog: memory', () => {
  it('does not grow with the log: chunks come while it is read', async () => {
    const block = bytesOf(Array.from({ length: 5000 }, () => `${dpt(5)}\r\n`).join(''));
    // 60 MB made as it is read: a position every 5000 depths.
    let made = 0;
    const n = 600;
    const head = gga(0).length + 2;
    const size = head + block.length;
    const log: ByteSource = {
      name: 'long.log',
      byteLength: n * size,
      read(start, end) {
        const out = new Uint8Array(Math.min(end, n * size) - start);
        for (let at = start; at < start + out.length; ) {
          const k = Math.floor(at / size);
          const within = at - k * size;
          const from = within < head ? bytesOf(`${gga(k)}\r\n`).subarray(within) : block.subarray(within - head);
          const part = from.subarray(0, start + out.length - at);
          out.set(part, at - start);
          at += part.length;
        }
        made += out.length;
        return Promise.resolve(out);
      },
    };
    let largest = 0;
    let rows = 0;
    const summary = await readLog(log, {
      noDate: '2026-05-01',
      onChunk: (chunk) => {
        largest = Math.max(largest, chunk.pings?.n ?? 0);
        rows += chunk.pings?.n ?? 0;
      },
    });
    expect(rows).toBe(n * 5000);
    expect(summary.pings).toBe(n * 5000);
    expect(largest).toBeLessThan(300_000);
    expect(made).toBeGreaterThanOrEqual(log.byteLength);
  });

  it('is bounded where no clock ever runs', async () => {
    const block = bytesOf(Array.from({ length: 20_000 }, () => `${dpt(5)}\r\n`).join(''));
    const tally = new LogTally();
    const log = new NmeaLog(tally, { noDate: null, chunkRows: 1000 });
    for (let k = 0; k < 50; k++) log.feed(block);
    log.finish();
    expect(tally.rejected('no-time')).toBe(1_000_000);
  });
});
