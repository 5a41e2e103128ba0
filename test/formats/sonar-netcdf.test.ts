import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bytesSource, memorySink } from '../../src/base/byte-source.js';
import { netcdfTimes } from '../../src/formats/netcdf-time.js';
import { openSonarNetcdf } from '../../src/formats/sonar-netcdf-read.js';
import { writeSonarNetcdf } from '../../src/formats/sonar-netcdf-write.js';
import type { SonarContent } from '../../src/formats/sonar-summary.js';
import { columnsOf, madeContent, madeStretch } from './sonar-content.js';

// Files beside it and their expected values: netCDF4 1.6.2, by test/reference/sonar/netcdf_reference.py.
const PYTHON = '/usr/bin/python3';
const NETCDF4 = spawnSync(PYTHON, ['-c', 'import netCDF4']).status === 0;
const SCRIPT = fileURLToPath(new URL('../reference/sonar/netcdf_reference.py', import.meta.url));
const LAYOUTS = fileURLToPath(new URL('../reference/sonar/netcdf_layouts.py', import.meta.url));
const NCML = fileURLToPath(new URL('../../../shared/data/formats/sonar_netcdf4_convention.ncml', import.meta.url));
const FOLDER = new URL('../reference/sonar/', import.meta.url);
const reference = JSON.parse(readFileSync(new URL('netcdf4-reference.json', FOLDER), 'utf8')) as Record<string, { port: number[][]; starboard: number[][] }>;
const START = 1_778_750_042.25;

const open = (bytes: Uint8Array, options = {}): ReturnType<typeof openSonarNetcdf> => openSonarNetcdf(bytesSource('line.nc', bytes), options);
const committed = (name: string): Uint8Array => new Uint8Array(readFileSync(new URL(name, FOLDER)));
async function written(content: SonarContent): Promise<Uint8Array> {
  const sink = memorySink();
  await writeSonarNetcdf(sink, content);
  return sink.bytes();
}

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'sonar-nc-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const odd = madeContent(700, 30, (heads) => {
  heads.starboardSamples[3] = 0;
  heads.portSamples.fill(25, 500);
  heads.depthM.set([0.5, 0.7, 1.0], 10);
  heads.delayS.fill(0.0005);
  heads.headingDeg.set([359, 1], 20);
  heads.intervalS.fill(Math.fround(130.21e-6));
});

describe('openSonarNetcdf held against netCDF4', () => {
  it('lists of samples with real and imaginary parts, starboard first, positions at times of their own', async () => {
    const expected = reference['netcdf4-lists.nc']!;
    const { heads, summary, read } = await open(committed('netcdf4-lists.nc'));
    expect(heads.n).toBe(8);
    const { port, starboard, width } = await read(0, 8);
    for (let i = 0; i < 8; i++) {
      expect(heads.portSamples[i]).toBe(expected.port[i]!.length);
      expect(heads.starboardSamples[i]).toBe(expected.starboard[i]!.length);
      // Two float32 parts: a modulus good to a few parts in ten million.
      expected.port[i]!.forEach((value, k) => expect(Math.abs(port[i * width + k]! - value)).toBeLessThan(3e-7 * value));
      expected.starboard[i]!.forEach((value, k) => expect(Math.abs(starboard[i * width + k]! - value)).toBeLessThan(3e-7 * value));
      expect(heads.timeS[i]).toBeCloseTo(START + 0.125 * i, 6);
      expect(heads.latDeg[i]).toBeCloseTo(46 + 1e-5 * (1 + 0.125 * i), 11);
      expect(heads.lonDeg[i]).toBeCloseTo(-30 - 2e-5 * (1 + 0.125 * i), 11);
      // Half a degree clockwise a ping and 1.25 steps of 0.1 s: 355 at -0.5 s, through north.
      expect(heads.headingDeg[i]).toBeCloseTo((360 + 1.25 * i) % 360, 3);
      expect(heads.depthM[i]).toBeCloseTo(0.5 - 0.01 * (5 + 1.25 * i), 5);
      expect(heads.frequencyHz[i]).toBe(460_000);
      expect(heads.delayS[i]).toBeCloseTo(1e-3, 9);
      expect(heads.intervalS[i]).toBeCloseTo(64e-6, 11);
    }
    expect(summary).toMatchObject({ kind: 'sonar-netcdf', pings: 8, fixes: 8 });
  });

  it('a beam group a side: sides by the direction of the beam, pings joined in time, decibels as amplitudes', async () => {
    const expected = reference['netcdf4-groups.nc']!;
    const { heads, read } = await open(committed('netcdf4-groups.nc'));
    expect(heads.n).toBe(7);
    expect([...heads.portSamples]).toEqual([7, 7, 7, 7, 7, 7, 0]);
    expect([...heads.starboardSamples]).toEqual([7, 7, 0, 7, 7, 7, 7]);
    const { port, starboard } = await read(0, 7);
    for (let i = 0; i < 7; i++) {
      expect(heads.timeS[i]).toBeCloseTo(START + 0.1 * i, 5);
      if (i < 6) expected.port[i]!.forEach((value, k) => expect(Math.abs(port[i * 7 + k]! - value)).toBeLessThan(1e-6 * value + 1e-9));
      const row = [0, 1, -1, 2, 3, 4, 5][i]!;
      if (row >= 0) expected.starboard[row]!.forEach((value, k) => expect(Math.abs(starboard[i * 7 + k]! - value)).toBeLessThan(1e-6 * value + 1e-9));
    }
  });

  it.skipIf(!NETCDF4)('writeSonarNetcdf: netCDF4 reads every ping and sample', async () => {
    const file = join(folder, 'ours.nc');
    writeFileSync(file, await written(odd));
    const got = JSON.parse(execFileSync(PYTHON, [SCRIPT, 'read', file], { encoding: 'utf8', maxBuffer: 1 << 28 })) as Record<string, number[]> & { lists: number[][][]; beams: string[]; ping_time: string[]; dimension: number };
    const { heads } = odd;
    expect(got.beams).toEqual(['port', 'starboard']);
    expect(got.dimension).toBe(700);
    expect(got['conversion']).toBe(1);
    const want = madeStretch(heads, 0, 700);
    for (let i = 0; i < 700; i++) {
      expect(got.lists[i]![0]).toEqual([...want.port.subarray(i * 30, i * 30 + heads.portSamples[i]!)]);
      expect(got.lists[i]![1]).toEqual([...want.starboard.subarray(i * 30, i * 30 + heads.starboardSamples[i]!)]);
      expect(Math.abs(Number(BigInt(got.ping_time[i]!) - 11_644_473_600_000_000_000n) / 1e9 - heads.timeS[i]!)).toBeLessThan(1e-6);
      expect(got['latitude']![i]).toBe(heads.latDeg[i]);
      expect(got['sample_interval']![i]).toBe(heads.intervalS[i]);
      expect(got['transducer_offset_z']![0]! - got['vertical_offset']![i]!).toBeCloseTo(heads.depthM[i]!, 6);
    }
    expect(got['transmit_type']).toEqual(Array<number>(700).fill(0));
    expect(got['beam_direction_y']!.slice(0, 2)).toEqual([-1, 1]);
  });

  it.skipIf(!NETCDF4 || !existsSync(NCML))('writeSonarNetcdf: has every mandatory group, variable, type, dimension and attribute of the convention', async () => {
    const file = join(folder, 'checked.nc');
    writeFileSync(file, await written(odd));
    expect(JSON.parse(execFileSync(PYTHON, [SCRIPT, 'check', file, NCML], { encoding: 'utf8' }))).toEqual([]);
  });
});

describe('writeSonarNetcdf and openSonarNetcdf', () => {
  it('heads and samples come back, the same bytes twice', async () => {
    const bytes = await written(odd);
    expect(Buffer.compare(bytes, await written(odd))).toBe(0);
    const sonar = await open(bytes);
    const [got, want] = [columnsOf(sonar.heads), columnsOf(odd.heads)];
    for (const key of Object.keys(want)) {
      const tolerance = ({ timeS: 1e-9, delayS: 1e-10, depthM: 1e-6, headingDeg: 1e-4, lonDeg: 1e-12, latDeg: 1e-12 } as Record<string, number>)[key] ?? 0;
      want[key]!.forEach((value, i) => expect(Math.abs(got[key]![i]! - value), `${key} ${i}`).toBeLessThanOrEqual(tolerance));
    }
    const [a, b] = [await sonar.read(490, 510), madeStretch(odd.heads, 490, 510)];
    expect([...a.port]).toEqual([...b.port]);
    expect([...a.starboard]).toEqual([...b.starboard]);
    await sonar.close();
  });

  it.skipIf(!NETCDF4).each(['packed', 'latest', 'small'])('lists laid out otherwise (%s) are read sample by sample', async (kind) => {
    const [from, to] = [join(folder, 'plain.nc'), join(folder, `${kind}.nc`)];
    writeFileSync(from, await written(odd));
    execFileSync(PYTHON, [LAYOUTS, from, to, kind]);
    const sonar = await open(new Uint8Array(readFileSync(to)));
    expect([...sonar.heads.portSamples]).toEqual([...odd.heads.portSamples]);
    expect([...sonar.heads.starboardSamples]).toEqual([...odd.heads.starboardSamples]);
    const [got, want] = [await sonar.read(0, 700), madeStretch(odd.heads, 0, 700)];
    expect([...got.port]).toEqual([...want.port]);
    expect([...got.starboard]).toEqual([...want.starboard]);
    await sonar.close();
  });

  it.skipIf(!NETCDF4)('samples of some pings overwritten: those are lost, all others are there', async () => {
    const [from, to] = [join(folder, 'sound.nc'), join(folder, 'damaged.nc')];
    writeFileSync(from, await written(odd));
    execFileSync(PYTHON, [LAYOUTS, from, to, 'damaged']);
    const sonar = await open(new Uint8Array(readFileSync(to)));
    const [got, want] = [await sonar.read(0, 700), madeStretch(odd.heads, 0, 700)];
    let lost = 0;
    for (let i = 0; i < want.port.length; i++) {
      if (Number.isNaN(got.port[i]) && !Number.isNaN(want.port[i])) lost++;
      else if (!Number.isNaN(want.port[i])) expect(got.port[i]).toBe(want.port[i]);
    }
    expect(got.port[4 * 30]).toBeNaN();
    // A collection of 4096 bytes holds some thirty lists of 30 samples, of both sides.
    expect(lost).toBeGreaterThanOrEqual(30);
    expect(lost).toBeLessThan(40 * 30);
    await sonar.close();
  });

  it('netcdfTimes: units of the convention and of CF', () => {
    expect(netcdfTimes('nanoseconds since 1601-01-01 00:00:00Z', [11_644_473_600_000_000_000n])![0]).toBe(0);
    expect(netcdfTimes('seconds since 1970-01-01', [1.5])![0]).toBe(1.5);
    expect(netcdfTimes('days since 2000-01-01 00:00:00', [1])![0]).toBe(946_771_200);
    expect(netcdfTimes('furlongs', [1])).toBeNull();
    expect(netcdfTimes('nanoseconds since 1601-01-01 00:00:00Z', [0xffff_ffff_ffff_fffen])![0]).toBeNaN();
  });

  it('another HDF5 file, text, zeros, a file cut short: refused in plain words', async () => {
    await expect(open(new TextEncoder().encode('not a file of that kind'))).rejects.toThrow(/expected a SONAR-netCDF4 file/);
    await expect(open(new Uint8Array(5000))).rejects.toThrow(/expected a SONAR-netCDF4 file/);
    const bytes = committed('netcdf4-lists.nc');
    for (const length of [100, 2000, bytes.length >> 1]) await expect(open(bytes.slice(0, length))).rejects.toThrow(new RegExp(`the file ends after ${length} of ${bytes.length} bytes, .* copy it again`));
  });

  it('a file that lacks its end is read as far as it goes', async () => {
    const bytes = await written(odd);
    const sonar = await open(bytes.slice(0, bytes.length - 3000));
    expect(sonar.heads.n).toBe(700);
    expect(sonar.summary.rejects[0]).toMatchObject({ code: 'cut-short', reason: `the file ends after ${bytes.length - 3000} of ${bytes.length} bytes: what lies before is read` });
    const [got, want] = [await sonar.read(0, 600), madeStretch(odd.heads, 0, 600)];
    expect([...got.port]).toEqual([...want.port]);
    await sonar.close();
  });

  it('any bytes flipped: no crash, no hang', async () => {
    const good = committed('netcdf4-lists.nc');
    await fc.assert(
      fc.asyncProperty(fc.array(fc.tuple(fc.nat({ max: good.length - 1 }), fc.nat({ max: 255 })), { minLength: 1, maxLength: 30 }), async (flips) => {
        const bytes = good.slice();
        for (const [where, value] of flips) bytes[where] = value;
        try {
          const sonar = await open(bytes);
          await sonar.read(0, Math.min(4, sonar.heads.n));
          await sonar.close();
        } catch (error) {
          expect(['FormatError', 'UnsupportedError', 'RangeError']).toContain((error as Error).name);
        }
      }),
      { seed: 6, numRuns: 150 },
    );
  });
});
