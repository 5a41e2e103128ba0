import { mkdir, writeFile } from 'node:fs/promises';
import { encode } from 'fast-png';
import path from 'node:path';
import type { Side, SonarSamples } from '../../src/base/sonar.js';
import { createFrame } from '../../src/geo/frame.js';
import { gridCovering } from '../../src/geo/raster.js';
import { plainGain, withPings } from '../../src/imagery/learned-gain.js';
import { groundRangeM } from '../../src/imagery/slant-range.js';
import { outward } from '../../src/imagery/sonar-track.js';
import { waterfallPicture, type PictureGround, type PictureLook } from '../../src/imagery/waterfall-picture.js';
import { writeGeoTiff } from '../../src/formats/geotiff-write.js';
import { writeParquet, type ColumnData } from '../../src/formats/parquet-columns.js';
import { makeAtomic } from '../../src/survey/atomic-file.js';
import type { LogEntry, SearchSummary, SurveySummary } from '../../src/survey/summary.js';
import { FIXTURE_START_S } from './fixture.js';
import { seededRandom } from './seeded-random.js';

/** Side-scan pings over an invented floor, to be looked at on the page: ripples, rock, a few objects with shadows. Not a proving ground. */
export interface ImageryFixture {
  readonly summary: SurveySummary;
  readonly n: number;
  readonly columns: Readonly<Record<string, ColumnData>>;
  /** What the server answers for a stretch. */
  picture(rowStart: number, rowEnd: number, look: PictureLook): Buffer;
  readonly objects: readonly { readonly xM: number; readonly yM: number; readonly sizeM: number; readonly heightM: number }[];
}

/** What the survey says of its search. */
const SEARCHED: SearchSummary = { objectM: 0.6, areaM2: 177_000, searchedM2: 148_000, cellM: 2, chanceMean: 0.71, chanceTenth: 0.4, expectedBefore: 1.45, expectedLeft: 0.42, chanceLeft: 0.34, sweepWidthM: 40, coverage: 1.2, curveSource: 'invented', looks: 'invented', next: null, notes: [] };

/** What the survey proposes of the objects: the first twice seen, the last rejected by hand before. */
function fixtureFinds(columns: { readonly xM: Float64Array; readonly yM: Float64Array; readonly line: Int32Array; readonly timeS: Float64Array; readonly gridHeadingDeg: Float32Array; readonly heightM: Float32Array }) {
  const sightings: Record<string, unknown>[] = [];
  const finds = OBJECTS.map((object, k) => {
    const ids: string[] = [];
    for (const line of [3, 4, 5, 6]) {
      let [best, least] = [-1, Infinity];
      columns.line.forEach((one, row) => {
        const off = Math.abs((columns.xM[row] as number) - object.xM);
        if (one === line && off < least) [best, least] = [row, off];
      });
      const across = (object.yM - (columns.yM[best] as number)) * (columns.gridHeadingDeg[best] === 90 ? -1 : 1);
      if (best < 0 || Math.abs(across) > 36) continue;
      const h = columns.heightM[best] as number;
      const slant = (ground: number): number => Math.hypot(ground, h);
      const id = `s${k}-${line}`;
      ids.push(id);
      const ground = Math.abs(across);
      sightings.push({
        id, log: SONAR_SHA.slice(0, 16), side: across < 0 ? 'port' : 'starboard', record: best, timeS: columns.timeS[best], line, pass: line, byHand: false, recordStart: best - 2, recordEnd: best + 3,
        slantStartM: slant(ground - object.sizeM / 3), // The ray over its far edge meets the floor where the shadow ends.
        slantEndM: Math.hypot(ground + object.sizeM / 3, h - object.heightM), shadowEndM: slant(((ground + object.sizeM / 3) * h) / (h - object.heightM)),
        length: { value: object.sizeM, sigma: 0.2 }, width: { value: object.sizeM * 0.66, sigma: 0.1 }, height: { value: object.heightM, sigma: 0.08 }, why: 'echo 14 dB above the floor beside it; a shadow 26 dB below it', chip: `derived/finds/chips/${id}.png`,
      });
    }
    return {
      number: k + 1, id: ids[0], sightings: ids, state: k === 2 ? 'rejected' : 'proposed', name: '', description: '', history: k === 2 ? [{ number: 1, at: '2026-05-13T11:50:00Z', words: 'rejected' }] : [], place: { xM: object.xM, yM: object.yM, xx: 0.09, xy: 0.02, yy: 0.16 },
      length: { value: object.sizeM, sigma: 0.2 }, width: { value: object.sizeM * 0.66, sigma: 0.1 }, height: { value: object.heightM, sigma: 0.08 }, lines: ids.map((id) => Number(id.slice(-1))), passes: ids.length, confidence: 0.97 - 0.2 * k, byHand: false, why: 'echo 14 dB above the floor beside it; a shadow 26 dB below it',
    };
  });
  return { finds, sightings, lost: [] };
}

const FRAME = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
const [X0, Y0] = FRAME.toFrame(46.0355, -29.9688);
export const SONAR_SHA = 'a3c9e1f7024b6d58a3c9e1f7024b6d58a3c9e1f7024b6d58a3c9e1f7024b6d58';
const SAMPLES = 512;
const RANGE_M = 40;
const SOUND_MPS = 1500;
const RATE_HZ = 5;
const SPEED_MPS = 1.6;
const OBJECTS = [
  { xM: X0 + 180, yM: Y0 + 96, sizeM: 1.4, heightM: 0.9 },
  { xM: X0 + 331, yM: Y0 + 142, sizeM: 2.2, heightM: 0.7 },
  { xM: X0 + 420, yM: Y0 + 76, sizeM: 1.1, heightM: 1.1 },
] as const;

/** Echo strength of the invented floor [dB against the usual]. */
function floorDb(xM: number, yM: number): number {
  const [u, v] = [xM - X0, yM - Y0];
  const rock = 9 / (1 + Math.exp(-(6 - Math.hypot(u - 300, (v - 190) * 1.4) / 12))) - 1.2;
  const rough = rock > 2 ? 3.2 * Math.sin(u * 0.9 + 2 * Math.sin(v * 0.7)) * Math.sin(v * 1.1 + u * 0.3) : 0;
  const ripples = u < 240 ? 2.4 * Math.sin((u * 0.35 + v * 0.94) * 4.2) : 0.4 * Math.sin(u * 0.31) * Math.sin(v * 0.23);
  return rock + rough + ripples;
}

export async function addImagery(folder: string, summary: SurveySummary): Promise<ImageryFixture> {
  const random = seededRandom(11);
  const rows: { t: number; x: number; y: number; heading: number; line: number }[] = [];
  let t = FIXTURE_START_S + 30;
  [60, 110, 160, 210].forEach((y, k) => {
    const east = k % 2 === 0;
    for (let x = 40; x <= 600; x += SPEED_MPS / RATE_HZ) rows.push({ t: (t += 1 / RATE_HZ), x: X0 + (east ? x : 640 - x), y: Y0 + y + 0.6 * Math.sin(x / 40), heading: east ? 90 : 270, line: k + 3 });
    for (let s = 0; s < 60; s++) rows.push({ t: (t += 1 / RATE_HZ), x: X0 + (east ? 600 : 40), y: Y0 + y + (50 * s) / 60, heading: 0, line: -1 });
  });
  const n = rows.length;
  const height = (k: number): number => 7.5 + 1.2 * Math.sin(k / 300);
  const columns = {
    timeS: Float64Array.from(rows, ({ t: at }) => at),
    log: new Uint16Array(n).fill(1),
    record: Uint32Array.from({ length: n }, (_, k) => k),
    portSamples: new Uint32Array(n).fill(SAMPLES),
    starboardSamples: new Uint32Array(n).fill(SAMPLES),
    intervalS: new Float64Array(n).fill((2 * RANGE_M) / SOUND_MPS / SAMPLES),
    delayS: new Float64Array(n),
    xM: Float64Array.from(rows, ({ x }) => x),
    yM: Float64Array.from(rows, ({ y }) => y),
    headingDeg: Float32Array.from(rows, ({ heading }) => heading),
    gridHeadingDeg: Float32Array.from(rows, ({ heading }) => heading),
    courseDeg: Float32Array.from(rows, ({ heading }) => heading),
    speedMps: new Float32Array(n).fill(SPEED_MPS),
    sigmaM: new Float32Array(n).fill(0.2),
    headingSigmaDeg: new Float32Array(n).fill(0.5),
    line: Int32Array.from(rows, ({ line }) => line),
    fault: Uint8Array.from(rows, ({ line }) => (line < 0 ? 4 : 0)),
    portSlope: new Float32Array(n),
    starboardSlope: new Float32Array(n),
    // A stretch of the second line where the bottom was not heard, and is carried on too high.
    heightM: Float32Array.from(rows, ({ line }, k) => (line === 4 && k % 1810 > 600 && k % 1810 < 700 ? height(k) - 1.6 : height(k))),
    heightSigmaM: new Float32Array(n).fill(0.05),
    confidence: new Float32Array(n).fill(0.9),
    source: Uint8Array.from(rows, ({ line }, k) => (line === 4 && k % 1810 > 600 && k % 1810 < 700 ? 2 : 1)),
  } satisfies Record<string, ColumnData>;
  await mkdir(path.join(folder, 'derived/imagery/lines'), { recursive: true });
  const write = (name: string, names: readonly (keyof typeof columns)[]) => makeAtomic(path.join(folder, 'derived/imagery', name), (sink) => writeParquet(sink, names.map((one) => ({ name: one, data: columns[one] }))));
  await write('pings.parquet', ['timeS', 'log', 'record', 'portSamples', 'starboardSamples', 'intervalS', 'delayS']);
  await write('bottom.parquet', ['heightM', 'heightSigmaM', 'confidence', 'source']);
  await write('gain.parquet', ['portSlope']);
  await write('sonar-track.parquet', ['timeS', 'xM', 'yM', 'headingDeg', 'courseDeg', 'speedMps', 'sigmaM', 'headingSigmaDeg', 'line', 'fault', 'gridHeadingDeg', 'portSlope', 'starboardSlope']);
  const grid = gridCovering({ westM: X0 + 20, southM: Y0 + 15, eastM: X0 + 620, northM: Y0 + 252 }, 0.25);
  const mosaic = (north: number, south: number) =>
    Uint8Array.from({ length: grid.cols * grid.rows }, (_, cell) => {
      const [x, y] = [grid.westM + ((cell % grid.cols) + 0.5) * grid.cellM, grid.northM - (Math.floor(cell / grid.cols) + 0.5) * grid.cellM];
      if (y > north || y < south) return 0;
      return Math.max(1, Math.min(255, Math.round(128 + 4 * (floorDb(x, y) + 1.5 * (random() - 0.5)))));
    });
  const put = (name: string, values: Uint8Array) => makeAtomic(path.join(folder, 'derived/imagery', name), async (sink) => void (await writeGeoTiff(sink, { grid, epsg: FRAME.epsg, noData: 0, bands: [{ name: 'level', values }] })));
  await put('mosaic.tif', mosaic(Y0 + 250, Y0 + 20));
  await put('lines/line-004.tif', mosaic(Y0 + 150, Y0 + 70));
  await writeFile(path.join(folder, 'derived/imagery/mosaic.json'), '{}');

  await mkdir(path.join(folder, 'derived/finds/chips'), { recursive: true });
  const found = fixtureFinds(columns);
  await writeFile(path.join(folder, 'derived/finds/finds.json'), JSON.stringify(found));
  for (const { id } of found.sightings) await writeFile(path.join(folder, `derived/finds/chips/${String(id)}.png`), encode({ width: 96, height: 64, channels: 1, depth: 8, data: Uint8Array.from({ length: 96 * 64 }, (_, k) => (Math.hypot((k % 96) - 44, Math.floor(k / 96) - 32) < 7 ? 240 : Math.abs(Math.floor(k / 96) - 32) < 6 && k % 96 > 44 && k % 96 < 80 ? 12 : 90 + 40 * random())) }));
  const searched = gridCovering({ westM: X0 + 10, southM: Y0 - 10, eastM: X0 + 640, northM: Y0 + 320 }, 2);
  const chance = Float32Array.from({ length: searched.cols * searched.rows }, (_, cell) => {
    const y = searched.northM - (Math.floor(cell / searched.cols) + 0.5) * 2 - Y0;
    return Math.max(...[60, 110, 160, 210].map((line) => (Math.abs(y - line) < 4 ? 0.1 : Math.abs(y - line) < 36 ? 0.92 : 0)));
  });
  await makeAtomic(path.join(folder, 'derived/finds/search.tif'), async (sink) => void (await writeGeoTiff(sink, { grid: searched, epsg: FRAME.epsg, bands: [{ name: 'looks', values: chance.map((one) => Math.round(one * 2)) }, { name: 'chance', values: chance }, { name: 'remains', values: chance.map((one) => 1 - one) }] })));
  const lonLat = (x: number, y: number): [number, number] => {
    const [lat, lon] = FRAME.toGeographic(X0 + x, Y0 + y);
    return [lon, lat];
  };
  await writeFile(path.join(folder, 'derived/finds/next-lines.geojson'), JSON.stringify({ type: 'FeatureCollection', features: [260, 285].map((y, k) => ({ type: 'Feature', properties: { number: 201 + k, lengthM: 560 }, geometry: { type: 'LineString', coordinates: [lonLat(40, y), lonLat(600, y)] } })) }));

  const truth = Float32Array.from({ length: n }, (_, k) => height(k));
  const sample = (row: number, side: Side, i: number): number => {
    const slant = ((i + 0.5) / SAMPLES) * RANGE_M;
    const noise = 0.6 + 0.8 * random();
    const spread = 10 ** (-(30 * Math.log10(Math.max(slant, 0.1))) / 20) * 3e5;
    const ground = groundRangeM(slant, truth[row] as number);
    if (!(ground > 0)) return (slant < 0.35 ? 0.2 : 4e-4 * slant ** 1.5) * spread * noise;
    const [east, north] = outward(side, columns.gridHeadingDeg[row] as number);
    const x = (columns.xM[row] as number) + east * ground;
    const y = (columns.yM[row] as number) + north * ground;
    let level = floorDb(x, y);
    for (const object of OBJECTS) {
      const [dx, dy] = [x - object.xM, y - object.yM];
      const away = dx * east + dy * north;
      const aside = Math.abs(dx * north - dy * east);
      if (aside > object.sizeM / 2) continue;
      const far = ground - away;
      const shadow = (object.heightM / Math.max(0.5, (truth[row] as number) - object.heightM)) * far;
      if (Math.abs(away) < object.sizeM / 3) level += 14;
      else if (away > 0 && away < shadow) level -= 26;
    }
    return spread * noise * 10 ** (level / 20);
  };
  const samplesOf = (start: number, end: number): SonarSamples => {
    const of = (side: Side) => Float32Array.from({ length: (end - start) * SAMPLES }, (_, k) => sample(start + Math.floor(k / SAMPLES), side, k % SAMPLES));
    return { n: end - start, width: SAMPLES, port: of('port'), starboard: of('starboard') };
  };
  const gain = withPings(plainGain(), n);
  const ground: PictureGround = { soundSpeedMps: SOUND_MPS, pings: columns, bottom: { heightM: columns.heightM }, track: columns, gain: { ...gain, portPingDb: gain.portPingDb.fill(110), starboardPingDb: gain.starboardPingDb.fill(110) } };

  const log: LogEntry = {
    file: 'run-01.sgy', sha256: SONAR_SHA, bytes: n * 4096, takenInAt: '2026-05-13T11:41:00Z', kind: 'segy', lines: 2 * n, counts: { traces: 2 * n }, rejects: [], notes: [],
    fixes: 0, pings: n, timeStartS: rows[0]?.t ?? 0, timeEndS: rows[n - 1]?.t ?? 0, bbox: null, depthMinM: NaN, depthMaxM: NaN,
  };
  const parts = {
    bottom: { pings: n, tracked: n - 99, bridged: 99, byHand: 0, depthSurface: 0, none: 0, heightMinM: 6.3, heightMedianM: 7.5, heightMaxM: 8.7, soundSpeedMps: SOUND_MPS, soundSpeedFrom: 'the water\u2019s' },
    clock: { offsetS: 0.4, uncertainty95S: 0.15, known: true, how: 'from the bottom against the depths', biasM: 0.02 },
    mosaic: { cellM: 0.25, cellWhy: 'A quarter of a metre: two samples across, and no finer than pings lie apart along the line.', cols: grid.cols, rows: grid.rows, pingsUsed: n - 240, pings: n, lines: [3, 4, 5, 6], filledM2: 138_000, areaShare: 0.78, rangeM: RANGE_M, blend: 'best', gain: { spreadingDb: 30, absorptionDbPerKm: 0, pings: n, starboardLouderDb: 0, stripesDb: 0 }, notes: [] },
  };
  const steps = ['pings', 'bottom', 'sonar-track', 'mosaic', 'finds', 'search'].map((step) => ({ step, state: 'fresh' as const, because: '' }));
  return {
    n,
    columns,
    objects: OBJECTS,
    summary: { ...summary, logs: [...summary.logs, log], steps: [...summary.steps, ...steps], imagery: parts, finds: { proposed: 2, confirmed: 0, rejected: 1, sightings: 4, objectM: 0.6, objectHeightM: 0.3, falsePerHa: 1, lookedM2: 8000, notes: [] }, search: SEARCHED, settings: { ...summary.settings, imagery: { ...summary.settings.imagery, perLine: true } } } as SurveySummary,
    picture(start, end, look) {
      const drawn = waterfallPicture(samplesOf(start, end), start, { ...ground, bottom: { heightM: columns.heightM } }, look);
      const out = Buffer.alloc(drawn.rows * drawn.width * 4);
      [...drawn.port, ...drawn.starboard].forEach((level, k) => out.writeInt16LE(Number.isNaN(level) ? -32_768 : Math.round(Math.max(-320, Math.min(320, level)) * 100), 2 * k));
      return out;
    },
  };
}
