import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, statSync } from 'node:fs';
import { open } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { deflateSync } from 'node:zlib';
import { createRandom } from '../src/base/random.js';
import { SIDES, type SonarHeads, type SonarSamples } from '../src/base/sonar.js';
import { formatUtc } from '../src/base/time.js';
import { createFrame } from '../src/geo/frame.js';
import { writeGeoTiff } from '../src/formats/geotiff-write.js';
import { writeSegySonar } from '../src/formats/segy-write.js';
import { emptyHeads } from '../src/formats/sonar-summary.js';
import { plainGain, withPings } from '../src/imagery/learned-gain.js';
import { stretchCorrector, type CorrectedStretch } from '../src/imagery/correct-stretch.js';
import { geocodeStretch } from '../src/imagery/geocode-stretch.js';
import { MosaicTiles } from '../src/imagery/mosaic-tiles.js';
import type { BenchResult } from './bench.js';
import { measureInTurn } from './bench.js';
import { hasProgram } from './has-program.js';
import { warpGeolocated, writeGeolocated } from './gdal-geolocation.js';

const HERE = path.dirname(fileURLToPath(import.meta.url));
const TALLOW = path.join(HERE, '..', 'bin', 'tallow.js');

/** One hour: 15 pings a second, 2 x 2048 samples to 50 m, eight lines 80 m apart at 2 m/s. */
const HOUR = { pings: 54_000, pingHz: 15, samples: 2048, rangeM: 50, soundMps: 1500, lines: 8, spacingM: 80, speedMps: 2 };
const START_S = Date.UTC(2026, 5, 17, 9) / 1000;
const CELL_M = 0.1;
const FRAME = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });

interface Place {
  readonly xM: number;
  readonly yM: number;
  readonly headingDeg: number;
}

/** Where the boat is at a ping: to and fro on lines that run to 30 deg. */
function placeAt(ping: number): Place {
  const perLine = HOUR.pings / HOUR.lines;
  const line = Math.floor(ping / perLine);
  const along = ((ping % perLine) * HOUR.speedMps) / HOUR.pingHz;
  const lengthM = (perLine * HOUR.speedMps) / HOUR.pingHz;
  const up = line % 2 === 0;
  const a = up ? along : lengthM - along;
  const rad = Math.PI / 6;
  const [x, y] = [line * HOUR.spacingM, a];
  return { xM: 500_000 + x * Math.cos(rad) + y * Math.sin(rad), yM: 5_100_000 - x * Math.sin(rad) + y * Math.cos(rad), headingDeg: up ? 30 : 210 };
}

const heightAt = (ping: number): number => 5 + 0.8 * Math.sin(ping / 400) + 0.1 * Math.sin(ping / 11);

/** Heads of the hour, and samples by stretch: speckle over a plain floor, made from a table so that the making is quick. */
function hour(): { heads: SonarHeads; samples: (start: number, end: number) => SonarSamples } {
  const n = HOUR.pings;
  const random = createRandom(41);
  const speckle = Float32Array.from({ length: 1 << 16 }, () => 0.8 * Math.sqrt(-2 * Math.log(1 - random.uniform())));
  const heads: SonarHeads = {
    ...emptyHeads(n),
    timeS: Float64Array.from({ length: n }, (_, i) => START_S + i / HOUR.pingHz),
    portSamples: new Uint32Array(n).fill(HOUR.samples),
    starboardSamples: new Uint32Array(n).fill(HOUR.samples),
    intervalS: new Float64Array(n).fill((2 * HOUR.rangeM) / HOUR.soundMps / HOUR.samples),
    frequencyHz: new Float32Array(n).fill(450_000),
  };
  const stepM = HOUR.rangeM / HOUR.samples;
  const floor = Float32Array.from({ length: HOUR.samples }, (_, i) => 3000 * ((i * stepM + 0.01) / 5) ** -1.5);
  const samples = (start: number, end: number): SonarSamples => {
    const width = HOUR.samples;
    const sides = { port: new Float32Array((end - start) * width), starboard: new Float32Array((end - start) * width) };
    for (let ping = start; ping < end; ping++) {
      const first = Math.ceil(heightAt(ping) / stepM);
      for (const side of SIDES) {
        let at = random.uint32() & 0xffff;
        const out = sides[side];
        for (let i = 0, to = (ping - start) * width; i < width; i++, to++) out[to] = Math.round((i < first ? 15 : floor[i]!) * speckle[at++ & 0xffff]!);
      }
    }
    return { n: end - start, width, ...sides };
  };
  return { heads, samples };
}

/** The boat's own log of that hour: positions and headings, five a second. */
function nmea(): string {
  const sentence = (body: string): string => {
    let sum = 0;
    for (let i = 0; i < body.length; i++) sum ^= body.charCodeAt(i);
    return `$${body}*${sum.toString(16).toUpperCase().padStart(2, '0')}`;
  };
  const minutes = (deg: number, width: number): string => `${String(Math.floor(deg)).padStart(width, '0')}${((deg % 1) * 60).toFixed(6).padStart(9, '0')}`;
  const lines: string[] = [];
  for (let ping = 0; ping < HOUR.pings; ping += 3) {
    const { xM, yM, headingDeg } = placeAt(ping);
    const [latDeg, lonDeg] = FRAME.toGeographic(xM, yM);
    const stamp = formatUtc(Math.floor(START_S + ping / HOUR.pingHz));
    const clock = `${stamp.slice(11, 19).replaceAll(':', '')}.${((ping / HOUR.pingHz) % 1).toFixed(2).slice(2)}`;
    const place = `${minutes(latDeg, 2)},N,${minutes(-lonDeg, 3)},W`;
    lines.push(sentence(`GPRMC,${clock},A,${place},${(HOUR.speedMps / 0.514444).toFixed(2)},${headingDeg.toFixed(1)},170626,,,A`), sentence(`GPGGA,${clock},${place},4,15,0.7,2.0,M,50.0,M,1,0001`), sentence(`HEHDT,${headingDeg.toFixed(2)},T`));
  }
  return `${lines.join('\r\n')}\r\n`;
}

/** An hour of SEG-Y to a mosaic by the command line, in a folder that has taken the logs in: seconds and the most memory it held. */
async function hourToMosaic(folder: string): Promise<{ seconds: number[]; mib: number }> {
  const { heads, samples } = hour();
  const file = path.join(folder, 'hour.sgy');
  const handle = await open(file, 'w');
  let at = 0;
  await writeSegySonar({ write: async (bytes) => void (at += (await handle.write(bytes, 0, bytes.byteLength, at)).bytesWritten) }, { heads, read: samples });
  await handle.close();
  const log = path.join(folder, 'hour.nmea');
  const written = await open(log, 'w');
  await written.writeFile(nmea());
  await written.close();
  const survey = path.join(folder, 'survey');
  const tallow = (...words: string[]): void => {
    execFileSync(process.execPath, [TALLOW, ...words], { stdio: ['ignore', 'ignore', 'inherit'] });
  };
  tallow('new', survey, '--name', 'Benchmark');
  tallow('take-in', survey, log, file);
  tallow('depths', survey);
  const seconds: number[] = [];
  let mib = 0;
  for (let repeat = 0; repeat < 3; repeat++) {
    rmSync(path.join(survey, 'derived', 'imagery'), { recursive: true, force: true });
    const began = performance.now();
    const timed = hasProgram('/usr/bin/time') ? ['/usr/bin/time', '-f', '%M'] : [];
    const [program, ...words] = [...timed, process.execPath, TALLOW, 'imagery', survey, '--cell', String(CELL_M), '--json'];
    const { stderr, status } = spawnSync(program!, words, { encoding: 'utf8' });
    if (status !== 0) throw new Error(stderr);
    seconds.push((performance.now() - began) / 1000);
    mib = Math.max(mib, Number(stderr.trim().split('\n').pop()) / 1024);
  }
  return { seconds, mib };
}

/** One line of the hour, corrected: the same pings for both. */
function correctedLine(): { stretch: CorrectedStretch; track: { timeS: Float64Array; xM: Float64Array; yM: Float64Array; gridHeadingDeg: Float32Array }; heightM: Float32Array } {
  const { heads, samples } = hour();
  const n = HOUR.pings / HOUR.lines / 3;
  const places = Array.from({ length: n }, (_, i) => placeAt(i));
  const track = { timeS: heads.timeS.slice(0, n), xM: Float64Array.from(places, ({ xM }) => xM), yM: Float64Array.from(places, ({ yM }) => yM), gridHeadingDeg: Float32Array.from(places, ({ headingDeg }) => headingDeg) };
  const heightM = Float32Array.from({ length: n }, (_, i) => heightAt(i));
  const level = { portSlope: new Float32Array(n), starboardSlope: new Float32Array(n) };
  const stretch = stretchCorrector(heads, { heightM }, level, withPings(plainGain(), n), { soundSpeedMps: HOUR.soundMps, binM: CELL_M / 1.4, maxGroundM: HOUR.rangeM })(samples(0, n), 0);
  // A plain gain: levels about 60 dB are brought to what a byte holds.
  for (const side of SIDES) for (let i = 0; i < stretch[side].length; i++) stretch[side][i]! -= 90;
  return { stretch, track, heightM };
}

/**
 * Side-scan pings to a mosaic: an hour of SEG-Y by the command line, and corrected pings onto cells against gdalwarp with
 * geolocation arrays, both to a deflated GeoTIFF. GDAL reads its pings and places from files, made before its time is taken.
 */
export async function run(): Promise<BenchResult[]> {
  const folder = mkdtempSync(path.join(tmpdir(), 'imagery-'));
  const results: BenchResult[] = [];
  try {
    const { stretch, track, heightM } = correctedLine();
    const options = { cellM: CELL_M, beamRad: Math.PI / 180, minGroundM: 0, maxGroundM: HOUR.rangeM, breakS: 1 };
    const ours = async (): Promise<void> => {
      const tiles = new MosaicTiles(CELL_M, 'best');
      tiles.add(geocodeStretch(stretch, 0, track, heightM, () => true, options)!);
      const handle = await open(path.join(folder, 'ours.tif'), 'w');
      let at = 0;
      await writeGeoTiff(
        { write: async (bytes) => void (at += (await handle.write(bytes, 0, bytes.byteLength, at)).bytesWritten) },
        { grid: tiles.grid()!, epsg: 32626, type: 'uint8', noData: 0, bands: [{ name: 'level', values: (rowStart, rowEnd) => tiles.rows(rowStart, rowEnd) }] },
        { deflateLevel: 1, deflate: (bytes, level) => deflateSync(bytes, { level }) },
      );
      await handle.close();
    };
    const { grid } = geocodeStretch(stretch, 0, track, heightM, () => true, options)!;
    const peer = hasProgram('gdalwarp')
      ? [
          (file: string) => (): void => warpGeolocated(folder, [file], 'theirs.tif', 32626, CELL_M, { westM: grid.westM, southM: grid.northM - grid.rows * CELL_M, eastM: grid.westM + grid.cols * CELL_M, northM: grid.northM }),
        ].map((make) => make(writeGeolocated(folder, 'line', stretch, 0, track, 32626)))
      : [];
    const [own, theirs] = await measureInTurn([ours, ...peer]);
    const ratio = theirs ? theirs.median / own!.median : null;
    results.push({ name: `geocodeStretch and writeGeoTiff: ${stretch.n} corrected pings of 2 x ${stretch.width} bins to ${CELL_M} m cells with overviews`, ours: { ...own!, unit: 's' }, peer: theirs ? { name: 'gdalwarp -geoloc -r near, two threads, no overviews', ...theirs } : null, ratio, budget: 'at least 3 times faster', met: ratio !== null && ratio >= 3 });
    if (existsSync(path.join(HERE, '..', 'dist', 'cli', 'main.js'))) {
      const { seconds, mib } = await hourToMosaic(folder);
      const sorted = seconds.slice().sort((a, b) => a - b);
      const bytes = statSync(path.join(folder, 'hour.sgy')).size;
      results.push({ name: `tallow imagery: one hour of SEG-Y (${HOUR.pings} pings, 2 x ${HOUR.samples} samples, ${Math.round(bytes / 2 ** 20)} MiB) to a ${CELL_M} m mosaic`, ours: { median: sorted[1]!, min: sorted[0]!, max: sorted[2]!, unit: 's' }, peer: null, ratio: null, budget: 'under 20 s', met: sorted[1]! < 20 });
      results.push({ name: 'tallow imagery: most memory of that hour [MiB]', ours: { median: mib, min: mib, max: mib, unit: 's' }, peer: null, ratio: null, budget: 'under 1536 MiB', met: mib < 1536 });
    }
    return results;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
