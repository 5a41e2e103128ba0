import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bytesSource, memorySink } from '../../src/base/byte-source.js';
import { parseUtc } from '../../src/base/time.js';
import { openImageStrip, writeImageStrip } from '../../src/formats/image-strip.js';
import { layoutFaults, type RecordLayout } from '../../src/formats/record-layout.js';
import { openRecordLayout } from '../../src/formats/record-layout-read.js';
import { layoutSchema } from '../../src/survey/sonar-layout-schema.js';
import { madeContent, madeStretch } from './sonar-content.js';

// Files and expected values: Python's struct, numpy and GDAL, by test/reference/sonar/layout_reference.py.
const FOLDER = new URL('../reference/sonar/', import.meta.url);
const committed = (name: string): Uint8Array => new Uint8Array(readFileSync(new URL(name, FOLDER)));
const reference = JSON.parse(readFileSync(new URL('layout-reference.json', FOLDER), 'utf8')) as {
  'both-sides.rec': { timeS: number; latDeg: number; lonDeg: number; headingDeg: number; heightM: number | null; port: number[]; starboard: number[] }[];
  'one-side.rec': { port: number[]; starboard?: number[] }[];
  strip: number[][];
};

const BOTH: RecordLayout = layoutSchema.parse({
  name: 'both sides',
  files: ['.rec'],
  byteOrder: 'little',
  fileHeaderBytes: 64,
  sync: 'a55a',
  recordBytes: { field: 'length' },
  fields: [
    { name: 'kind', at: 2, type: 'uint16' }, { name: 'length', at: 4, type: 'uint32' }, { name: 'time', at: 8, type: 'uint64' }, { name: 'lat', at: 16, type: 'int32' }, { name: 'lon', at: 20, type: 'int32' },
    { name: 'heading', at: 24, type: 'int16' }, { name: 'height', at: 26, type: 'int16' }, { name: 'range', at: 28, type: 'float32' }, { name: 'port', at: 32, type: 'uint16' }, { name: 'starboard', at: 34, type: 'uint16' },
  ],
  only: [{ field: 'kind', equals: 1 }],
  samples: [{ side: 'port', at: 36, type: 'uint16', count: { field: 'port' }, reversed: true }, { side: 'starboard', at: 'after', type: 'uint16', count: { field: 'starboard' } }],
  time: { field: 'time', unit: 'us', since: '1970-01-01T00:00:00Z' },
  latDeg: { field: 'lat', scale: 1e-7 },
  lonDeg: { field: 'lon', scale: 1e-7 },
  headingDeg: { field: 'heading', scale: 0.01 },
  heightM: { field: 'height', scale: 0.01, none: -32768 },
  rangeM: { field: 'range' },
  frequencyHz: { value: 450_000 },
});
const ONE: RecordLayout = layoutSchema.parse({
  name: 'one side',
  files: ['.rec'],
  byteOrder: 'big',
  recordBytes: 92,
  fields: [
    { name: 'ping', at: 0, type: 'uint32' }, { name: 'side', at: 4, type: 'uint16' }, { name: 'year', at: 6, type: 'uint16' }, { name: 'month', at: 8, type: 'uint16' }, { name: 'day', at: 10, type: 'uint16' }, { name: 'hour', at: 12, type: 'uint16' },
    { name: 'minute', at: 14, type: 'uint16' }, { name: 'second', at: 16, type: 'uint16' }, { name: 'ms', at: 18, type: 'uint16' }, { name: 'interval', at: 20, type: 'float64' },
  ],
  samples: [{ side: { field: 'side', port: 0, starboard: 1 }, at: 28, type: 'float32', count: 16, scale: 2, add: 1 }],
  time: { year: 'year', month: 'month', day: 'day', hour: 'hour', minute: 'minute', second: 'second', fraction: { field: 'ms', unit: 'ms' } },
  ping: 'ping',
  intervalS: { field: 'interval' },
});

const open = (bytes: Uint8Array, layout: RecordLayout): ReturnType<typeof openRecordLayout> => openRecordLayout(bytesSource('line.rec', bytes), layout);

describe('openRecordLayout', () => {
  it('both sides in a record, lengths that change, other records between: every field and sample as packed', async () => {
    const { heads, summary, read } = await open(committed('both-sides.rec'), BOTH);
    const expected = reference['both-sides.rec'];
    expect(heads.n).toBe(expected.length);
    const { port, starboard, width } = await read(0, heads.n);
    for (const [i, ping] of expected.entries()) {
      expect(heads.timeS[i]).toBeCloseTo(ping.timeS, 6);
      expect(heads.latDeg[i]).toBeCloseTo(ping.latDeg, 9);
      expect(heads.lonDeg[i]).toBeCloseTo(ping.lonDeg, 9);
      expect(heads.headingDeg[i]).toBeCloseTo(ping.headingDeg, 4);
      if (ping.heightM === null) expect(heads.heightM[i]).toBeNaN();
      else expect(heads.heightM[i]).toBe(ping.heightM);
      expect(heads.intervalS[i]).toBeCloseTo((2 * 30.5) / 1500 / ping.starboard.length, 12);
      expect([...port.subarray(i * width, i * width + ping.port.length)]).toEqual(ping.port);
      expect([...starboard.subarray(i * width, i * width + ping.starboard.length)]).toEqual(ping.starboard);
      expect(port[i * width + ping.port.length]).toBeNaN();
    }
    expect(summary).toMatchObject({ kind: 'sonar-layout', counts: { records: 15, 'records of other kinds': 3, 'port records': 12, 'starboard records': 12 } });
  });

  it('one side a record, big-endian, joined by ping number, date in parts', async () => {
    const { heads, summary, read } = await open(committed('one-side.rec'), ONE);
    const expected = reference['one-side.rec'];
    expect(heads.n).toBe(6);
    expect([...heads.starboardSamples]).toEqual([16, 16, 16, 0, 16, 16]);
    const { port, starboard } = await read(0, 6);
    for (const [i, ping] of expected.entries()) {
      expect(heads.timeS[i]).toBeCloseTo(parseUtc('2026-05-14T09:14:02.125Z') + i, 6);
      expect(heads.intervalS[i]).toBe(64e-6);
      ping.port.forEach((value, k) => expect(port[i * 16 + k]).toBeCloseTo(value * 2 + 1, 4));
      ping.starboard?.forEach((value, k) => expect(starboard[i * 16 + k]).toBeCloseTo(value * 2 + 1, 4));
    }
    expect(summary.notes.join('; ')).toContain('1 of 6 pings have one side only');
  });

  it('a record claims 4 GB: reading goes on at the next sync', async () => {
    const bytes = committed('both-sides.rec');
    new DataView(bytes.buffer).setUint32(64 + 4, 0xffff_ffff, true);
    const { heads, summary } = await open(bytes, BOTH);
    expect(heads.n).toBe(11);
    expect(summary.rejects[0]).toMatchObject({ code: 'lost-bytes', count: 1 });
  });

  it('wrong byte order, zeros, a wrong layout: told in plain words', async () => {
    await expect(open(committed('both-sides.rec'), { ...BOTH, byteOrder: 'big' })).rejects.toThrow(/look at byteOrder, fileHeaderBytes, sync and recordBytes/);
    await expect(open(new Uint8Array(10_000), BOTH)).rejects.toThrow(/no ping found by the layout/);
    await expect(open(committed('both-sides.rec'), { ...BOTH, ping: 'pong' })).rejects.toThrow(/there is no field "pong"/);
    await expect(open(committed('both-sides.rec'), { ...BOTH, only: [{ field: 'kind', equals: 99 }] })).rejects.toThrow(/though 15 records are/);
    expect(layoutSchema.safeParse({ ...BOTH, byteOrder: 'middle' }).success).toBe(false);
  });

  it('a layout is data: names that would be code, or mean something to the language, are names', async () => {
    const rename = (name: string): RecordLayout => JSON.parse(JSON.stringify(BOTH).replaceAll('"height"', JSON.stringify(name))) as RecordLayout;
    for (const name of ['a;globalThis.broken=1;b', 'x"];globalThis.broken=1;//', '${globalThis.broken=1}', '__proto__', 'constructor', 'toString', '\u2028', '😀']) {
      const { heads } = await open(committed('both-sides.rec'), rename(name));
      expect(heads.heightM[0], name).toBe(reference['both-sides.rec'][0]!.heightM);
    }
    expect('broken' in globalThis).toBe(false);
    expect(({} as Record<string, unknown>)['heightM']).toBeUndefined();
  });

  it('layoutFaults: overlaps, what lies beyond the record, fields twice, times that are none', () => {
    const field = (name: string, at: number, type: 'uint16' | 'uint32' = 'uint16'): RecordLayout['fields'][number] => ({ name, at, type });
    expect(layoutFaults(BOTH)).toEqual([]);
    expect(layoutFaults(ONE)).toEqual([]);
    expect(layoutFaults({ ...ONE, fields: [...ONE.fields, field('late', 2)] })).toEqual(['field "ping" (bytes 0 to 3) and field "late" (bytes 2 to 3) overlap']);
    expect(layoutFaults({ ...ONE, fields: [...ONE.fields, field('beyond', 91)] }).join()).toContain('field "beyond" (bytes 91 to 92) lies beyond the end of a record of 92 bytes');
    expect(layoutFaults({ ...ONE, fields: [...ONE.fields, field('ping', 400)] }).join()).toContain('two fields have the same name, "ping"');
    expect(layoutFaults({ ...ONE, samples: [{ ...ONE.samples[0]!, count: 17 }] })).toEqual(['samples[0] (bytes 28 to 95) lies beyond the end of a record of 92 bytes']);
    expect(layoutFaults({ ...ONE, samples: [{ ...ONE.samples[0]!, at: 24 }] }).join()).toContain('overlap');
    expect(layoutFaults({ ...ONE, recordBytes: 0 })).toEqual(['recordBytes is 0: a record has one byte at least']);
    expect(layoutFaults({ ...BOTH, time: { field: 'time', unit: 'us', since: 'last week' } })).toEqual(['since "last week" is no time such as 1970-01-01T00:00:00Z']);
  });

  it('any part of a layout replaced by anything: refused in words, or read; never run, never a crash', async () => {
    const leaves: (readonly (string | number)[])[] = [];
    const visit = (value: unknown, path: readonly (string | number)[]): void => {
      leaves.push(path);
      if (typeof value === 'object' && value !== null) for (const [key, one] of Object.entries(value)) visit(one, [...path, Array.isArray(value) ? Number(key) : key]);
    };
    visit(BOTH, []);
    const junk = fc.oneof(fc.integer(), fc.double(), fc.string({ maxLength: 12 }), fc.constantFrom(null, true, [], {}, -1, 0, 1e9, 'after', '__proto__', 'process.exit(1)', { field: 'port' }, { field: 'length', times: 1e99 }, { value: 0 }));
    let read = 0;
    await fc.assert(
      fc.asyncProperty(fc.array(fc.tuple(fc.nat({ max: leaves.length - 1 }), junk), { minLength: 1, maxLength: 2 }), async (changes) => {
        const layout = JSON.parse(JSON.stringify(BOTH)) as Record<string, unknown>;
        for (const [which, value] of changes) {
          const path = leaves[which]!;
          const parent = path.slice(0, -1).reduce<unknown>((at, key) => (typeof at === 'object' && at !== null ? (at as Record<string | number, unknown>)[key] : undefined), layout);
          if (path.length > 0 && typeof parent === 'object' && parent !== null) Object.defineProperty(parent, path.at(-1)!, { value, enumerable: true, configurable: true, writable: true });
        }
        const parsed = layoutSchema.safeParse(layout);
        if (!parsed.success) return;
        read++;
        try {
          const sonar = await open(committed('both-sides.rec'), parsed.data);
          await sonar.read(0, sonar.heads.n);
        } catch (error) {
          expect(['FormatError', 'UseError', 'UnsupportedError']).toContain((error as Error).name);
        }
      }),
      { seed: 6, numRuns: 1200 },
    );
    expect(read).toBeGreaterThan(50);
  });

  it('truncated anywhere, bytes flipped: no crash, no hang, the rest is read', async () => {
    const good = committed('both-sides.rec');
    await fc.assert(
      fc.asyncProperty(fc.array(fc.tuple(fc.nat({ max: good.length - 1 }), fc.nat({ max: 255 })), { maxLength: 20 }), fc.nat({ max: good.length }), async (flips, length) => {
        const bytes = good.slice(0, length);
        for (const [where, value] of flips) bytes[where] = value;
        try {
          const sonar = await open(bytes, BOTH);
          await sonar.read(0, sonar.heads.n);
        } catch (error) {
          expect((error as Error).name).toBe('FormatError');
        }
      }),
      { seed: 6, numRuns: 300 },
    );
  });
});

describe('openImageStrip', () => {
  it.each(['strip.png', 'strip.tif'])('%s: rows, sides and navigation as GDAL wrote them', async (name) => {
    const { heads, read, summary } = await openImageStrip(bytesSource(name, committed(name)), bytesSource('strip.csv', committed('strip.csv')));
    expect(heads.n).toBe(9);
    const { port, starboard } = await read(0, 9);
    for (const [i, row] of reference.strip.entries()) {
      expect([...port.subarray(i * 20, i * 20 + 20)]).toEqual(row.slice(0, 20).reverse());
      expect([...starboard.subarray(i * 20, i * 20 + 20)]).toEqual(row.slice(20));
      expect(heads.timeS[i]).toBe(parseUtc('2026-05-14T09:14:00.5Z') + i);
      expect(heads.latDeg[i]).toBeCloseTo(46 + 1e-5 * i, 9);
      expect(heads.headingDeg[i]).toBe(90 + i);
      expect(heads.intervalS[i]).toBeCloseTo((2 * 25.5) / 1500 / 20, 12);
    }
    expect(summary).toMatchObject({ kind: 'sonar-image', pings: 9, fixes: 9 });
  });

  it('writeImageStrip: comes back sample by sample', async () => {
    const content = madeContent(300, 16);
    const [image, csv] = [memorySink(), memorySink()];
    await writeImageStrip(image, csv, content);
    const { heads, read } = await openImageStrip(bytesSource('a.png', image.bytes()), bytesSource('a.csv', csv.bytes()));
    const want = madeStretch(content.heads, 290, 300);
    const got = await read(290, 300);
    expect([...got.port]).toEqual([...want.port]);
    expect([...got.starboard]).toEqual([...want.starboard]);
    expect(heads.timeS[299]).toBeCloseTo(content.heads.timeS[299]!, 5);
    expect(heads.intervalS[0]).toBeCloseTo(130.21e-6, 9);
  });

  it('a CSV of another length, without times, a damaged or huge image: told in plain words', async () => {
    const image = committed('strip.png');
    const csv = new TextDecoder().decode(committed('strip.csv'));
    const text = (content: string): ReturnType<typeof bytesSource> => bytesSource('strip.csv', new TextEncoder().encode(content));
    const shorter = await openImageStrip(bytesSource('strip.png', image), text(csv.split('\n').slice(0, 6).join('\n')));
    expect(shorter.heads.n).toBe(5);
    expect(shorter.summary.rejects[0]).toMatchObject({ code: 'rows-differ', count: 4 });
    await expect(openImageStrip(bytesSource('strip.png', image), text('a,b\n1,2\n'))).rejects.toThrow(/expected a column "time"/);
    await expect(openImageStrip(bytesSource('strip.png', image.slice(0, 300)), text(csv))).rejects.toThrow(/not a sound image/);
    const huge = image.slice();
    new DataView(huge.buffer).setUint32(16, 0xffff_ffff);
    await expect(openImageStrip(bytesSource('strip.png', huge), text(csv))).rejects.toThrow(/more than .* that are read at once/);
  });
});
