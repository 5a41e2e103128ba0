import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bytesSource, memorySink, type ByteSource } from '../../src/base/byte-source.js';
import { parseUtc } from '../../src/base/time.js';
import { isSegy } from '../../src/formats/segy-file-head.js';
import { FORMATS } from '../../src/formats/segy-layout.js';
import { openSegySonar } from '../../src/formats/segy-read.js';
import { toIbm } from '../../src/formats/segy-samples.js';
import { readSegyText, writeSegyText } from '../../src/formats/segy-text.js';
import { writeSegySonar, type SegyWriteOptions } from '../../src/formats/segy-write.js';
import type { SonarContent } from '../../src/formats/sonar-summary.js';
import { columnsOf, madeContent, madeStretch } from './sonar-content.js';

// Expected values of the files beside it: segyio 1.8.3, by test/reference/sonar/segy_reference.py.
const PYTHON = '/usr/bin/python3';
const SEGYIO = spawnSync(PYTHON, ['-c', 'import segyio']).status === 0;
const SCRIPT = fileURLToPath(new URL('../reference/sonar/segy_reference.py', import.meta.url));
const FOLDER = new URL('../reference/sonar/', import.meta.url);
const LAKE = fileURLToPath(new URL('../../../shared/data/sonar/lake-line.segy', import.meta.url));

interface Described {
  readonly tracecount: number;
  readonly samples: number;
  readonly bin: Record<string, number>;
  readonly text: string;
  readonly traces: readonly { readonly fields: Record<string, number>; readonly samples: number[] }[];
  readonly last: { readonly fields: Record<string, number>; readonly samples: number[] };
  readonly sum: number;
}
const reference = JSON.parse(readFileSync(new URL('segyio-reference.json', FOLDER), 'utf8')) as { files: Record<string, Described> };
const bySegyio = (file: string, endian = 'big', head = ''): Described => JSON.parse(execFileSync(PYTHON, [SCRIPT, 'read', file, endian, ...(head === '' ? [] : [head])], { encoding: 'utf8', maxBuffer: 1 << 28 })) as Described;

async function written(content: SonarContent, options: SegyWriteOptions = {}): Promise<Uint8Array> {
  const sink = memorySink();
  await writeSegySonar(sink, content, options);
  return sink.bytes();
}
const open = (bytes: Uint8Array, options = {}): ReturnType<typeof openSegySonar> => openSegySonar(bytesSource('line.segy', bytes), options);

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'segy-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('openSegySonar held against segyio', () => {
  it.each(Object.entries(reference.files))('openSegySonar: %s reads as segyio read it', async (name, expected) => {
    const sonar = await open(readFileSync(new URL(name, FOLDER)));
    const { heads } = sonar;
    expect(heads.n).toBe(expected.tracecount / 2);
    const { port, starboard, width } = await sonar.read(0, heads.n);
    expect(width).toBe(expected.samples);
    for (const [i, trace] of expected.traces.entries()) {
      const ping = i >> 1;
      const got = [...(i % 2 === 0 ? port : starboard).subarray(ping * width, ping * width + width)];
      // segyio turns IBM floats into IEEE ones by rounding their 24-bit fraction: the same number but for the last bit.
      if (name.includes('ibm')) got.forEach((value, k) => expect(Math.abs(value - trace.samples[k]!)).toBeLessThanOrEqual(Math.abs(trace.samples[k]!) * 2 ** -23));
      else expect(got).toEqual(trace.samples.map(Math.fround));
      const { fields } = trace;
      expect(heads.latDeg[ping]).toBeCloseTo(fields['77']! / 100 / 3600, 12);
      expect(heads.lonDeg[ping]).toBeCloseTo(fields['73']! / 100 / 3600, 12);
      expect(heads.timeS[ping]).toBe(parseUtc('2026-05-14T09:14:00Z') + fields['165']!);
      expect(heads.intervalS[ping]).toBeCloseTo(65e-6, 15);
      expect(heads.delayS[ping]).toBe(0.003);
      expect(heads.depthM[ping]).toBe(0.5);
      expect(heads.heightM[ping]).toBe(9);
    }
  });

  it.skipIf(!existsSync(LAKE) || !SEGYIO)('openSegySonar: a recorded echo-sounder line reads as segyio reads it, sample by sample', async () => {
    const expected = bySegyio(LAKE);
    const sonar = await open(readFileSync(LAKE));
    const { heads, summary } = sonar;
    expect(heads.n).toBe(expected.tracecount);
    const { port, width } = await sonar.read(0, heads.n);
    expect(width).toBe(400);
    let wrong = 0;
    expected.traces.forEach((trace, i) => trace.samples.forEach((value, k) => (wrong += port[i * width + k] === value ? 0 : 1)));
    expect(wrong).toBe(0);
    expected.traces.forEach(({ fields }, i) => {
      expect(heads.lonDeg[i]).toBeCloseTo(fields['73']! / 1000 / 3600, 12);
      expect(heads.latDeg[i]).toBeCloseTo(fields['77']! / 1000 / 3600, 12);
      const second = parseUtc('2018-03-13T00:00:00Z') + (fields['161'] ?? 0) * 3600 + (fields['163'] ?? 0) * 60 + (fields['165'] ?? 0);
      expect(Math.floor(heads.timeS[i]!)).toBe(second);
    });
    expect(summary.notes.join(' ')).toContain('one channel only');
    expect(summary.notes.join(' ')).toContain('spread evenly');
  });

  it.skipIf(!SEGYIO).each([1, 2, 3, 5, 8])('writeSegySonar: revision 1, format %i, is read by segyio with every sample and field', async (format) => {
    const content = madeContent(5, 16, (heads) => {
      heads.intervalS.fill(65e-6);
      heads.delayS.fill(0.002);
      if (format === 8) heads.portSamples.fill(16);
    });
    const small: SonarContent = { ...content, read: (start, end) => { const s = madeStretch(content.heads, start, end); return format === 8 ? { ...s, port: s.port.map((v) => (v % 128)), starboard: s.starboard.map((v) => 0 - (v % 128)) } : s; } };
    const file = join(folder, `rev1-${format}.segy`);
    writeFileSync(file, await written(small, { revision: 1, format }));
    const got = bySegyio(file);
    const want = await small.read(0, 5);
    expect(got.tracecount).toBe(10);
    expect(got.bin).toMatchObject({ 3213: 2, 3217: 65, 3221: 16, 3225: format, 3501: 256, 3503: 1 });
    expect(got.text).toContain('SIDE-SCAN SONAR');
    for (const [i, trace] of got.traces.entries()) {
      const side = i % 2 === 0 ? want.port : want.starboard;
      trace.samples.forEach((value, k) => expect(value).toBe(side[(i >> 1) * 16 + k]));
      expect(trace.fields).toMatchObject({ 1: i + 1, 9: (i >> 1) + 1, 13: (i % 2) + 1, 71: -1000, 89: 2, 115: 16, 117: 65, 109: 2000, 215: -1000, 157: 2026, 159: 134, 161: 9, 163: 14, 167: 4 });
      expect(trace.fields['77']).toBe(Math.round(content.heads.latDeg[i >> 1]! * 3600e3));
    }
  });

  it('openSegySonar: trace header extension 1 of revision 2 at the bytes where the standard has it, its name in EBCDIC or ASCII', async () => {
    const sonar = await open(readFileSync(new URL('segy-rev2.segy', FOLDER)));
    const { heads, summary } = sonar;
    expect(heads.n).toBe(3);
    expect(summary.rejects).toEqual([]);
    for (let i = 0; i < 3; i++) {
      expect([heads.portSamples[i], heads.starboardSamples[i]]).toEqual([6, 6]);
      expect(heads.timeS[i]).toBeCloseTo(parseUtc('2026-05-14T09:14:02Z') + i + 0.123456789, 6);
      expect(heads.intervalS[i]).toBeCloseTo((64.25 + i) * 1e-6, 15);
      expect(heads.latDeg[i]).toBeCloseTo(i < 2 ? 46.012345678 + i * 1e-6 : 46, 12);
      expect(heads.lonDeg[i]).toBeCloseTo(i < 2 ? -30.012345678 : -30, 12);
    }
    const { port, starboard } = await sonar.read(0, 3);
    expect([...port]).toEqual([0, 1, 2, 3, 4, 5, 200, 201, 202, 203, 204, 205, 400, 401, 402, 403, 404, 405]);
    expect(starboard[17]).toBe(505);
  });

  it('writeSegySonar: revision 2 puts samples, nanoseconds, interval and place where others look for them', async () => {
    const content = madeContent(2, 12, (heads) => heads.timeS.fill(1_778_750_042.25));
    for (const littleEndian of [false, true]) {
      const bytes = await written(content, { littleEndian });
      const view = new DataView(bytes.buffer, 3600 + 240);
      expect(view.getFloat64(96, littleEndian)).toBe(content.heads.lonDeg[0]! * 3600);
      expect(view.getFloat64(104, littleEndian)).toBe(content.heads.latDeg[0]! * 3600);
      expect(view.getUint32(136, littleEndian)).toBe(12);
      expect(view.getInt32(140, littleEndian)).toBe(250_000_000);
      expect(view.getFloat64(144, littleEndian)).toBeCloseTo(130.21, 9);
      expect(view.getUint16(156, littleEndian)).toBe(2);
      expect(new TextDecoder().decode(bytes.subarray(3600 + 240 + 232, 3600 + 480))).toBe('SEG00001');
    }
  });

  it('toIbm: numbers through IBM floats keep 21 bits at least', async () => {
    fc.assert(fc.property(fc.double({ min: 1e-30, max: 1e30, noNaN: true }), (value) => {
      const bits = toIbm(value);
      const back = ((bits & 0xff_ffff) / 0x100_0000) * 16 ** (((bits >>> 24) & 0x7f) - 64);
      return Math.abs(back - value) <= value * 2 ** -21;
    }), { seed: 6, numRuns: 300 });
    expect(toIbm(-118.625)).toBe(0xc276_a000); // the worked example of IBM System/360 Principles of Operation, from memory
    await Promise.resolve();
  });
});

describe('writeSegySonar and openSegySonar', () => {
  it.each(Object.keys(FORMATS).map(Number))('revision 2, format %i: heads and samples come back exactly, in both byte orders', async (format) => {
    const content = madeContent(7, 12, (heads) => {
      heads.starboardSamples[3] = 0;
      heads.portSamples[4] = 9;
      heads.delayS.fill(0.00123456);
      heads.latDeg[5] = NaN;
      heads.lonDeg[5] = NaN;
      heads.headingDeg[6] = NaN;
    });
    const fit = (v: number): number => (format === 8 || format === 16 ? v % 100 : v);
    const small: SonarContent = { ...content, read: (start, end) => { const s = madeStretch(content.heads, start, end); return { ...s, port: s.port.map(fit), starboard: s.starboard.map(fit) }; } };
    for (const littleEndian of [false, true]) {
      const sonar = await open(await written(small, { format, littleEndian }));
      const [got, want] = [columnsOf(sonar.heads), columnsOf(content.heads)];
      for (const [key, column] of Object.entries(want)) {
        if (['latDeg', 'lonDeg', 'intervalS'].includes(key)) column.forEach((value, i) => (Number.isNaN(value) ? expect(got[key]![i]).toBeNaN() : expect(Math.abs(got[key]![i]! - value)).toBeLessThan(1e-12)));
        else expect(got[key], key).toEqual(column);
      }
      const want7 = await small.read(2, 6);
      const got7 = await sonar.read(2, 6);
      expect(got7.width).toBe(want7.width);
      expect([...got7.port]).toEqual([...want7.port]);
      expect([...got7.starboard]).toEqual([...want7.starboard]);
      expect(sonar.summary).toMatchObject({ kind: 'segy', pings: 7, fixes: 6, counts: { 'port traces': 7, 'starboard traces': 6 }, rejects: [] });
    }
  });

  it('revision 1 keeps times to the microsecond, positions to 1.5 cm, heading to 0.01 degrees', async () => {
    const content = madeContent(40, 4, (heads) => heads.intervalS.fill(100e-6));
    const { heads } = await open(await written(content, { revision: 1 }));
    for (let i = 0; i < 40; i++) {
      expect(Math.abs(heads.timeS[i]! - content.heads.timeS[i]!)).toBeLessThan(1e-6);
      expect(Math.abs(heads.latDeg[i]! - content.heads.latDeg[i]!) * 111_320).toBeLessThan(0.0156);
      expect(heads.headingDeg[i]).toBe(123.5);
      expect(heads.frequencyHz[i]).toBe(450_000);
      expect(heads.depthM[i]).toBe(0.75);
    }
  });

  it('writeSegySonar: refuses what revision 1 cannot hold, and counts samples held at a limit', async () => {
    await expect(written(madeContent(2, 4), { revision: 1 })).rejects.toThrow('revision 1 holds whole microseconds');
    await expect(written(madeContent(2, 4), { revision: 1, format: 11 })).rejects.toThrow(RangeError);
    const result = await writeSegySonar(memorySink(), madeContent(2, 4), { format: 8 });
    expect(result.held).toBeGreaterThan(0);
  });

  it('readSegyText: EBCDIC and ASCII both ways', () => {
    const line = 'ABC xyz 0189 <(+|&!$*);-/,%_>?`:#@\'="~^[]{}\\';
    for (const ebcdic of [false, true]) expect(readSegyText(writeSegyText([line], ebcdic))[0]).toBe(`C 1 ${line}`);
  });
});

describe('openSegySonar: damaged and odd files', () => {
  const HEAD = 3600;
  const content = madeContent(30, 20, (heads) => heads.intervalS.fill(50e-6));
  const TRACE = 240 + 40;
  let good: Uint8Array;
  beforeAll(async () => {
    good = await written(content, { revision: 1 });
  });

  it('a file cut short keeps every trace and the samples that are there', async () => {
    const sonar = await open(good.slice(0, HEAD + 41 * TRACE + 240 + 10));
    expect(sonar.heads.n).toBe(21);
    expect(sonar.heads.starboardSamples[20]).toBe(5);
    expect(sonar.summary.rejects[0]).toMatchObject({ code: 'cut-short', count: 1 });
    expect((await sonar.read(20, 21)).starboard[4]).toBe((await content.read(20, 21)).starboard[4]);
  });

  it('bytes missing in the middle: reading goes on at the next trace, the loss is counted', async () => {
    const cut = new Uint8Array([...good.subarray(0, HEAD + 10 * TRACE + 100), ...good.subarray(HEAD + 10 * TRACE + 180)]);
    const sonar = await open(cut);
    expect(sonar.summary.rejects.map(({ code }) => code)).toEqual(['lost-bytes']);
    expect(sonar.heads.n).toBeGreaterThanOrEqual(29);
    expect(sonar.heads.timeS[sonar.heads.n - 1]).toBeCloseTo(content.heads.timeS[29]!, 5);
  });

  it('one trace claims 4 GB: it is read with the file\'s own length', async () => {
    const bytes = await written(madeContent(30, 20, (heads) => (heads.portSamples[29] = 19)));
    const view = new DataView(bytes.buffer);
    const at = HEAD + 14 * (720 + 40) + 240 + 136;
    view.setUint32(at, 0xffff_ffff);
    const sonar = await open(bytes);
    expect(sonar.heads.n).toBeGreaterThanOrEqual(29);
    expect(sonar.summary.rejects.length).toBeGreaterThan(0);
    expect(Math.max(...sonar.heads.portSamples)).toBe(20);
  });

  it('the file and every trace claim 4 GB: traces are as long as the way to the next', async () => {
    const whole = madeContent(30, 20);
    const bytes = await written(whole);
    const view = new DataView(bytes.buffer);
    view.setUint32(3268, 0xffff_ffff);
    for (let i = 0; i < 60; i++) view.setUint32(HEAD + i * 760 + 240 + 136, 0xffff_ffff);
    const sonar = await open(bytes);
    expect([...sonar.heads.starboardSamples]).toEqual(Array<number>(30).fill(20));
    expect(sonar.summary.rejects).toEqual([{ code: 'false-length', reason: 'traces that claim 4294967295 samples each, though the next begins after 20: those are taken', count: 60, firstLines: [1, 2, 3, 4, 5] }]);
    expect([...(await sonar.read(29, 30)).port]).toEqual([...(await whole.read(29, 30)).port]);
    const claims = (await written(madeContent(1, 20))).slice(0, HEAD + 760);
    new DataView(claims.buffer).setUint32(HEAD + 240 + 136, 0xffff_ffff);
    await expect(open(claims)).rejects.toThrow(/claims 4294967295 samples/);
  });

  it('every trace of revision 1 claims 65 535 samples, in a file shorter and longer than one of that length', async () => {
    for (const [pings, samples] of [[30, 20], [300, 500]] as const) {
      const long = madeContent(pings, samples, (heads) => heads.intervalS.fill(50e-6));
      const bytes = await written(long, { revision: 1 });
      const view = new DataView(bytes.buffer);
      view.setUint16(3220, 65_535);
      for (let i = 0; i < 2 * pings; i++) view.setUint16(HEAD + i * (240 + 2 * samples) + 114, 65_535);
      const { heads, summary } = await open(bytes);
      expect(heads.n).toBe(pings);
      expect([...heads.portSamples]).toEqual(Array<number>(pings).fill(samples));
      expect(summary.rejects.map(({ code, count }) => [code, count])).toEqual([['false-length', 2 * pings]]);
    }
  });

  it('extensions without number, traces beyond the end: told, and read without them', async () => {
    const bytes = good.slice();
    const view = new DataView(bytes.buffer);
    bytes[3500] = 2;
    view.setInt32(3506, 0x7fff_ffff);
    view.setBigUint64(3520, 1n << 40n);
    const { heads, summary } = await open(bytes);
    expect(heads.n).toBe(30);
    expect(summary.rejects).toEqual([]);
    expect(summary.notes.join('; ')).toContain('claims 2147483647 extensions of each trace header');
    expect(summary.notes.join('; ')).toContain('traces begin at byte 1099511627776, but ends at');
  });

  it('a piece of the file that stands there twice: each ping once, the rest counted', async () => {
    const twice = new Uint8Array([...good.subarray(0, HEAD + 40 * TRACE), ...good.subarray(HEAD + 20 * TRACE, HEAD + 40 * TRACE), ...good.subarray(HEAD + 40 * TRACE)]);
    const { heads, summary } = await open(twice);
    const once = await open(good);
    expect([...heads.timeS]).toEqual([...once.heads.timeS]);
    expect(summary.rejects).toEqual([{ code: 'repeated', reason: 'pings that stand there a second time, with the same record number and time: the first of each is used', count: 10, firstLines: [21] }]);
    const numberless = good.slice();
    for (let i = 0; i < 60; i++) new DataView(numberless.buffer).setInt32(HEAD + i * TRACE + 8, 1);
    expect((await open(numberless)).heads.n).toBe(30);
  });

  it('samples that are infinite or no numbers are no data', async () => {
    const bytes = await written(madeContent(3, 20, (heads) => heads.intervalS.fill(50e-6)), { revision: 1, format: 5 });
    const view = new DataView(bytes.buffer);
    for (const [k, value] of [Infinity, -Infinity, NaN].entries()) view.setFloat32(HEAD + 240 + 4 * k, value);
    const { port } = await (await open(bytes)).read(0, 1);
    expect([...port.subarray(0, 4)]).toEqual([NaN, NaN, NaN, 21]);
  });

  it('channels that change their numbers on the way: both sides before and after', async () => {
    const bytes = good.slice();
    const view = new DataView(bytes.buffer);
    for (let i = 30; i < 60; i++) view.setInt32(HEAD + i * TRACE + 12, (i % 2) + 3);
    const { heads, summary, read } = await open(bytes);
    expect(heads.n).toBe(30);
    expect(summary.counts).toEqual({ 'port traces': 30, 'starboard traces': 30 });
    expect(summary.notes.join('; ')).toContain('from trace 31 on there are records without channels 1 and 2: of those, 3 is taken as port, 4 as starboard');
    expect([...(await read(20, 21)).starboard]).toEqual([...(await content.read(20, 21)).starboard]);
  });

  it('wrong byte order: little-endian without the mark is noticed and read', async () => {
    const bytes = await written(content, { littleEndian: true });
    bytes.fill(0, 3296, 3300);
    const { heads } = await open(bytes);
    expect([...heads.timeS]).toEqual([...content.heads.timeS]);
  });

  it('a side that stops midway, a range that changes: both kept and told', async () => {
    const { summary, heads } = await open(await written(madeContent(30, 20, (h) => { h.starboardSamples.fill(0, 15, 20); h.portSamples.fill(30, 10); })));
    expect(heads.starboardSamples[16]).toBe(0);
    expect(heads.portSamples[10]).toBe(30);
    expect(summary.notes.join('; ')).toContain('5 of 30 pings have one side only');
    expect(summary.notes.join('; ')).toContain('changes 1 time');
  });

  it('no positions, no times: told in plain words', async () => {
    const { summary } = await open(await written(madeContent(5, 20, (h) => { h.latDeg.fill(NaN); h.timeS.fill(NaN); })));
    expect(summary.fixes).toBe(0);
    expect(summary.bbox).toBeNull();
    expect(summary.notes.join('; ')).toContain('no positions in the records');
    expect(summary.notes.join('; ')).toContain('no ping carries a time');
  });

  it.each([[3, 'samples reach to 0.045 m'], [60_000, 'samples reach to'], [0, 'no time between samples']])('an interval of %i us is told', async (us, words) => {
    const { summary } = await open(await written(madeContent(5, us > 100 ? 200 : 20, (h) => h.intervalS.fill(us / 1e6 || NaN))));
    expect(summary.notes.join('; ')).toContain(words);
    const mended = await open(await written(madeContent(5, 200, (h) => h.intervalS.fill(us / 1e6 || NaN))), { sampleIntervalUs: 65 });
    expect(mended.heads.intervalS[0]).toBeCloseTo(65e-6, 12);
  });

  it('zeros and text named .segy are refused in plain words', async () => {
    await expect(open(new Uint8Array(100_000))).rejects.toThrow(/expected the headers of a SEG-Y file/);
    await expect(open(new TextEncoder().encode('$GPGGA,091402.00,4600.7,N,03000.1,W,1,08,1.0,2.0,M,,M,,*5A\r\n'.repeat(200)))).rejects.toThrow(/expected the headers of a SEG-Y file/);
    await expect(open(new Uint8Array(3000))).rejects.toThrow(/ends within its headers/);
    expect(isSegy(good)).toBe(true);
    expect(isSegy(new Uint8Array(100_000))).toBe(false);
    await expect(open(good.slice(0, 3600))).rejects.toThrow(/no whole trace/);
  });

  it('channels: as the user says, and told where there are more than two', async () => {
    const { heads } = await open(good, { channels: { port: 2, starboard: 1 } });
    expect(heads.portSamples[0]).toBe(20);
    const swapped = await open(good, { channels: { port: 2, starboard: null } });
    expect(swapped.heads.starboardSamples[0]).toBe(0);
    expect((await swapped.read(0, 1)).port[0]).toBe(1000);
    const four = good.slice();
    const view = new DataView(four.buffer);
    for (let i = 0; i < 60; i++) {
      view.setInt32(HEAD + i * TRACE + 12, (i % 4) + 1);
      view.setInt32(HEAD + i * TRACE + 8, (i >> 2) + 1);
    }
    const result = await open(four);
    expect(result.heads.n).toBe(15);
    expect(result.summary.counts['traces of other channels']).toBe(30);
    expect(result.summary.notes.join(' ')).toContain('1 is taken as port, 2 as starboard');
  });

  it('any bytes flipped, dropped or doubled: no crash, no hang, no more pings than bytes allow', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(fc.tuple(fc.nat({ max: good.length - 1 }), fc.nat({ max: 255 })), { minLength: 1, maxLength: 40 }), fc.nat({ max: good.length - 1 }), fc.nat({ max: 500 }), async (flips, at, length) => {
        const bytes = good.slice();
        for (const [where, value] of flips) bytes[where] = value;
        const damaged = length % 2 === 0 ? new Uint8Array([...bytes.subarray(0, at), ...bytes.subarray(at + length)]) : new Uint8Array([...bytes.subarray(0, at), ...bytes.subarray(Math.max(0, at - length))]);
        let read = 0;
        const source: ByteSource = { ...bytesSource('x.segy', damaged), read: (start, end) => { read += Math.max(0, Math.min(end, damaged.length) - start); return Promise.resolve(damaged.subarray(start, Math.min(end, damaged.length))); } };
        try {
          const sonar = await openSegySonar(source);
          expect(sonar.heads.n).toBeLessThanOrEqual(damaged.length / 240);
          await sonar.read(0, Math.min(sonar.heads.n, 5));
        } catch (error) {
          expect(['FormatError', 'UnsupportedError']).toContain((error as Error).name);
        }
        expect(read).toBeLessThan(damaged.length * 200);
      }),
      { seed: 6, numRuns: 300 },
    );
  });

  it('truncated at any byte: refused or read, never more than there is', async () => {
    for (let length = 0; length < good.length; length += length < 3590 ? 509 : 37) {
      try {
        const sonar = await open(good.slice(0, length));
        expect(sonar.heads.n).toBeGreaterThan(0);
        await sonar.read(sonar.heads.n - 1, sonar.heads.n);
      } catch (error) {
        expect((error as Error).name).toBe('FormatError');
        expect(length).toBeLessThan(3600 + 280);
      }
    }
  });
});
