import { mkdir, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { contours } from 'd3-contour';
import { createFrame } from '../../src/geo/frame.js';
import { gridCovering } from '../../src/geo/raster.js';
import { seededRandom } from './seeded-random.js';
import type { Soundings } from '../../src/depths/soundings.js';
import { reasonCode } from '../../src/depths/soundings.js';
import { writeGeoTiff } from '../../src/formats/geotiff-write.js';
import { writeParquet } from '../../src/formats/parquet-columns.js';
import { makeAtomic } from '../../src/survey/atomic-file.js';
import { placeSoundings, writeSoundingsFile } from '../../src/survey/soundings-file.js';
import { settingsSchema, type Settings } from '../../src/survey/settings.js';
import type { BoatCard } from '../../src/boat/boat-card.js';
import { makeCard } from '../../src/boat/make-card.js';
import type { BoatSummary, LogEntry, SoundingRef, SurveySummary } from '../../src/survey/summary.js';

/** An invented survey in the open ocean, made to be looked at: bank, deeps, a shore, a gap, spikes. Not a proving ground. */
export interface FixtureOptions {
  /** Soundings a second; 5 gives some 40 000. */
  readonly rateHz?: number;
  readonly seed?: number;
}

export interface Fixture {
  readonly folder: string;
  readonly soundings: Soundings;
  readonly summary: SurveySummary;
}

const FRAME = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
export const FIXTURE_START_S = Date.UTC(2026, 4, 13, 9, 14) / 1000;
const SPACING_M = 15;
const SHA = '5d1f0c2b7a9e4f3388d6c1e0b4a7f9125d1f0c2b7a9e4f3388d6c1e0b4a7f912';

const SETTINGS = settingsSchema.parse({ format: 'tallow-survey', version: 2, name: 'Hollin Sound', place: 'ferry approach', invented: true, datum: 'chart datum', frame: { kind: 'utm', zone: 26, hemisphere: 'north' }, lines: { spacingM: SPACING_M, headingDeg: 90 }, sounder: { draftM: 0.2 }, water: { level: { kind: 'constant', levelM: 1 } } });

/** The invented bottom, positive down [m]. */
function depthAt(xM: number, yM: number): number {
  const u = xM / 620;
  const v = yM / 330;
  const bank = 6.5 * Math.exp(-((u - 0.36) ** 2) / 0.05 - (v - 0.18) ** 2 / 0.06);
  const knoll = 3.6 * Math.exp(-((u - 0.72) ** 2) / 0.006 - (v - 0.66) ** 2 / 0.02);
  const shelf = 9 / (1 + Math.exp(-(v - 1.12) * 16));
  return 11.9 + 1.4 * Math.sin(u * 5 + v * 2) + 0.5 * Math.sin(u * 17 - v * 9) - bank - knoll - shelf + 0.9 * u;
}

export async function makeFixture(folder: string, options: FixtureOptions = {}): Promise<Fixture> {
  const { rateHz = 5, seed = 7 } = options;
  const random = seededRandom(seed);
  const [x0, y0] = FRAME.toFrame(46.0355, -29.9688);
  const lonLat = (x: number, y: number): [number, number] => {
    const [lat, lon] = FRAME.toGeographic(x0 + x, y0 + y);
    return [lon, lat];
  };
  const area = [[20, 10], [600, -8], [640, 120], [608, 300], [260, 318], [40, 285]] as const;
  const inside = (x: number, y: number): boolean => {
    let within = false;
    for (let i = 0, j = area.length - 1; i < area.length; j = i++) {
      const [xi, yi] = area[i] as readonly [number, number];
      const [xj, yj] = area[j] as readonly [number, number];
      if (yi > y !== yj > y && x < xi + ((y - yi) / (yj - yi)) * (xj - xi)) within = !within;
    }
    return within;
  };
  const gap = { west: 395, east: 468, south: 96, north: 128 };
  const inGap = (x: number, y: number) => x > gap.west && x < gap.east && y > gap.south && y < gap.north;

  const time: number[] = [];
  const px: number[] = [];
  const py: number[] = [];
  const depth: number[] = [];
  const reason: number[] = [];
  const line: number[] = [];
  const levelAt = (t: number) => 1.45 - 0.9 * Math.cos(((t - FIXTURE_START_S) / 22_357) * Math.PI) + 0.4;
  let t = FIXTURE_START_S;
  const planned: { number: number; kind: string; order: number; from: [number, number]; to: [number, number] }[] = [];
  const run = (number: number, kind: string, from: [number, number], to: [number, number]) => {
    planned.push({ number, kind, order: planned.length + 1, from, to });
    const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
    const n = Math.round((length / 1.6) * rateHz);
    let wander = 0;
    for (let k = 0; k <= n; k++) {
      wander = wander * (1 - 0.02 / rateHz) + (random() - 0.5) * (0.35 / Math.sqrt(rateHz));
      const f = k / n;
      const across = [-(to[1] - from[1]) / length, (to[0] - from[0]) / length] as const;
      const x = from[0] + f * (to[0] - from[0]) + across[0] * wander;
      const y = from[1] + f * (to[1] - from[1]) + across[1] * wander;
      t += 1 / rateHz;
      if (inGap(x, y)) continue;
      let d = depthAt(x, y) + (random() + random() - 1) * 0.07;
      let why = 0;
      const luck = random();
      if (luck < 0.0045) {
        d -= 1.5 + random() * 5;
        why = reasonCode('outlier');
      } else if (luck < 0.006) {
        d *= 2;
        why = reasonCode('double-echo');
      } else if (luck < 0.0065) why = reasonCode('position-jump');
      time.push(t);
      px.push(x0 + x + (why === reasonCode('position-jump') ? (random() - 0.5) * 60 : 0));
      py.push(y0 + y);
      depth.push(d);
      reason.push(why);
      line.push(number);
    }
    t += 14;
  };
  let number = 1;
  for (let y = 0; y <= 312; y += SPACING_M) {
    let west = Infinity;
    let east = -Infinity;
    for (let x = 0; x <= 660; x += 1) if (inside(x, y)) {
      west = Math.min(west, x);
      east = Math.max(east, x);
    }
    if (!(east - west > 30)) continue;
    if (number % 2 === 1) run(number, 'main', [west - 5, y], [east + 5, y]);
    else run(number, 'main', [east + 5, y], [west - 5, y]);
    number++;
  }
  const mainLines = number - 1;
  run(number++, 'cross', [170, 302], [185, 8]);
  run(number++, 'cross', [500, 0], [515, 300]);

  const n = time.length;
  const soundings: Soundings = {
    n,
    timeS: Float64Array.from(time),
    xM: Float64Array.from(px),
    yM: Float64Array.from(py),
    measuredM: Float32Array.from(depth, (d, i) => d + levelAt(time[i] as number) - 0.2),
    depthM: Float32Array.from(depth),
    waterLevelM: Float32Array.from(time, levelAt),
    tvuM: Float32Array.from(depth, (d) => Math.hypot(0.12, 0.008 * d)),
    thuM: new Float32Array(n).fill(0.62),
    reason: Uint8Array.from(reason),
    ruleReason: Uint8Array.from(reason),
    line: Int32Array.from(line),
    log: new Uint16Array(n),
    record: Uint32Array.from({ length: n }, (_, i) => 3 * i + 2),
  };

  for (const sub of ['plan', 'derived/surface', 'products', 'logs', 'boat', 'water']) await mkdir(path.join(folder, sub), { recursive: true });
  await writeFixtureSoundings(folder, soundings);
  await writeFixtureTrack(folder, soundings);
  await writeFile(path.join(folder, 'derived/crossings.json'), JSON.stringify(fixtureCrossings(planned, (x, y) => [x0 + x, y0 + y])));

  const grid = gridCovering({ westM: x0 - 10, southM: y0 - 25, eastM: x0 + 660, northM: y0 + 345 }, 1);
  const depthM = new Float32Array(grid.cols * grid.rows).fill(NaN);
  const uncertaintyM = new Float32Array(depthM.length).fill(NaN);
  const countOf = new Float32Array(depthM.length).fill(NaN);
  for (let row = 0; row < grid.rows; row++) {
    for (let col = 0; col < grid.cols; col++) {
      const x = grid.westM + (col + 0.5) * grid.cellM - x0;
      const y = grid.northM - (row + 0.5) * grid.cellM - y0;
      if (!inside(x, y) || inGap(x, y)) continue;
      const cell = row * grid.cols + col;
      depthM[cell] = depthAt(x, y);
      uncertaintyM[cell] = 0.14;
      countOf[cell] = Math.abs(((y % SPACING_M) + SPACING_M) % SPACING_M) < 1 ? 4 : 0;
    }
  }
  await makeAtomic(path.join(folder, 'derived/surface/surface.tif'), async (sink) => {
    await writeGeoTiff(sink, { grid, epsg: FRAME.epsg, bands: [{ name: 'depth', unit: 'm', values: depthM }, { name: 'uncertainty 95 %', unit: 'm', values: uncertaintyM }, { name: 'count', unit: '1', values: countOf }] });
  });

  // Contours of the whole invented bottom, cut to the area afterwards point by point.
  const values = Array.from({ length: grid.cols * grid.rows }, (_, cell) => depthAt(grid.westM + ((cell % grid.cols) + 0.5) - x0, grid.northM - (Math.floor(cell / grid.cols) + 0.5) - y0));
  const contourFeatures: unknown[] = [];
  const maker = contours().size([grid.cols, grid.rows]);
  for (const level of Array.from({ length: 16 }, (_, k) => ({ value: k + 1, ...maker.contour(values, k + 1) }))) {
    for (const polygon of level.coordinates) {
      for (const ring of polygon) {
        let piece: [number, number][] = [];
        const end = () => {
          if (piece.length > 3) contourFeatures.push({ type: 'Feature', properties: { depthM: level.value }, geometry: { type: 'LineString', coordinates: piece } });
          piece = [];
        };
        for (const [c, r] of ring as [number, number][]) {
          const x = grid.westM + c - x0;
          const y = grid.northM - r - y0;
          if (inside(x, y) && !inGap(x, y)) piece.push(lonLat(x, y));
          else end();
        }
        end();
      }
    }
  }
  const collection = (features: readonly unknown[]) => JSON.stringify({ type: 'FeatureCollection', features });
  const polygon = (ring: readonly (readonly [number, number])[], properties: object) => ({ type: 'Feature', properties, geometry: { type: 'Polygon', coordinates: [[...ring, ring[0] as readonly [number, number]].map(([x, y]) => lonLat(x, y))] } });
  await writeFile(path.join(folder, 'derived/contours.geojson'), collection(contourFeatures));
  await writeFile(path.join(folder, 'plan/area.geojson'), collection([polygon(area, { name: 'area' })]));
  await writeFile(path.join(folder, 'plan/keepouts.geojson'), collection([polygon([[548, 30], [574, 26], [580, 52], [556, 58]], { name: 'moorings' })]));
  const shoreY = (x: number) => 352 + 14 * Math.sin(x / 61) + 9 * Math.sin(x / 23 + 1) - (x > 380 ? 12 * Math.exp(-(((x - 450) / 60) ** 2)) : 0);
  const shore: [number, number][] = [];
  for (let x = -500; x <= 1300; x += 6) shore.push([x, shoreY(x)]);
  shore.push([1300, 900], [-500, 900]);
  await writeFile(path.join(folder, 'plan/shore.geojson'), collection([polygon(shore, { name: 'north shore' })]));
  const gapRing: [number, number][] = [[gap.west, gap.south], [gap.east, gap.south], [gap.east, gap.north], [gap.west, gap.north]];
  const gapAreaM2 = (gap.east - gap.west) * (gap.north - gap.south);
  await writeFile(path.join(folder, 'derived/gaps.geojson'), collection([polygon(gapRing, { number: 1, areaM2: gapAreaM2, widthM: gap.north - gap.south })]));
  await writeFile(
    path.join(folder, 'derived/fill-in.geojson'),
    collection([105, 120].map((y, k) => ({ type: 'Feature', properties: { number: 101 + k, kind: 'fill-in', lengthM: 83 }, geometry: { type: 'LineString', coordinates: [lonLat(gap.west - 5, y), lonLat(gap.east + 5, y)] } }))),
  );
  await writeFile(
    path.join(folder, 'plan/lines.geojson'),
    collection(planned.map((one) => ({ type: 'Feature', properties: { number: one.number, kind: one.kind, order: one.order, headingDeg: 90, lengthM: Math.hypot(one.to[0] - one.from[0], one.to[1] - one.from[1]) }, geometry: { type: 'LineString', coordinates: [lonLat(...one.from), lonLat(...one.to)] } }))),
  );
  await writeFixtureCard(folder, SETTINGS);
  await writeFile(path.join(folder, 'products/report.html'), '<!doctype html><title>Report</title><h1>Report of an invented survey</h1>');

  const summary = fixtureSummary(folder, SETTINGS, soundings, planned, mainLines, gapAreaM2);
  return { folder, soundings, summary };
}

export async function writeFixtureSoundings(folder: string, soundings: Soundings): Promise<void> {
  await writeSoundingsFile(path.join(folder, 'derived/soundings.parquet'), placeSoundings(soundings, FRAME));
}

/** The track at the times of the soundings; where a sounding's position jumped, the track jumps. */
async function writeFixtureTrack(folder: string, { n, timeS, xM, yM, ruleReason }: Soundings): Promise<void> {
  const columns = [
    { name: 'timeS', data: timeS },
    { name: 'xM', data: xM },
    { name: 'yM', data: yM },
    { name: 'jump', data: Uint8Array.from({ length: n }, (_, i) => Number(ruleReason[i] === reasonCode('position-jump'))) },
  ];
  await makeAtomic(path.join(folder, 'derived/tracks.parquet'), (sink) => writeParquet(sink, columns));
}

/** Where the two cross lines meet the others; one of them off by more than anything claims. */
function fixtureCrossings(planned: readonly { number: number; kind: string; from: [number, number]; to: [number, number] }[], place: (x: number, y: number) => [number, number]): unknown {
  const points: Record<string, number>[] = [];
  for (const cross of planned.filter((one) => one.kind === 'cross')) {
    for (const main of planned.filter((one) => one.kind === 'main')) {
      const y = main.from[1];
      const share = (y - cross.from[1]) / (cross.to[1] - cross.from[1]);
      if (share < 0 || share > 1) continue;
      const [xM, yM] = place(cross.from[0] + share * (cross.to[0] - cross.from[0]), y);
      points.push({ xM, yM, differenceM: points.length === 4 ? 0.62 : 0.02, lineA: main.number, lineB: cross.number });
    }
  }
  return { pairs: [], points };
}

/** The boat card of some settings, as the survey's own step writes it; and its figures for the summary. */
export async function writeFixtureCard(folder: string, settings: Settings): Promise<BoatSummary> {
  const card = makeCard(settings.boat);
  await mkdir(path.join(folder, 'boat'), { recursive: true });
  await writeFile(path.join(folder, 'boat/card.json'), JSON.stringify(card, null, 2));
  return fixtureBoatSummary(card);
}

export function fixtureBoatSummary(card: BoatCard): BoatSummary {
  const count = (source: string) => Object.values(card.figures).filter((figure) => figure?.source === source).length;
  return { name: card.name, figures: { trials: count('trials'), hand: count('hand'), default: count('default') }, missing: card.missing.length, refused: card.refused.length, topSpeed: card.figures.topSpeed, trials: null };
}

/** Sets aside or restores the soundings of some records, as the survey's own step does. */
export function applyRefs(soundings: Soundings, kind: 'set-aside' | 'restore', refs: readonly SoundingRef[]): void {
  for (const ref of refs) {
    if (ref.log !== SHA.slice(0, 16)) continue;
    for (let i = 0; i < soundings.n; i++) {
      const record = soundings.record[i] as number;
      if (record >= ref.recordStart && record < ref.recordEnd) soundings.reason[i] = kind === 'set-aside' ? reasonCode('by-hand') : 0;
    }
  }
}

const NAMES = ['good', 'no-position', 'position-jump', 'no-depth', 'depth-gate', 'repeated', 'double-echo', 'slope-gate', 'outlier', 'no-water-level', 'by-hand'];

export function countReasons(soundings: Soundings): { good: number; setAside: Record<string, number> } {
  const setAside: Record<string, number> = {};
  let good = 0;
  for (let i = 0; i < soundings.n; i++) {
    const code = soundings.reason[i] as number;
    if (code === 0) good++;
    else setAside[NAMES[code] as string] = (setAside[NAMES[code] as string] ?? 0) + 1;
  }
  return { good, setAside };
}

function fixtureSummary(folder: string, settings: Settings, soundings: Soundings, planned: readonly { kind: string; from: [number, number]; to: [number, number] }[], mainLines: number, gapAreaM2: number): SurveySummary {
  const { good, setAside } = countReasons(soundings);
  const length = (kind: string) => planned.filter((one) => one.kind === kind).reduce((sum, one) => sum + Math.hypot(one.to[0] - one.from[0], one.to[1] - one.from[1]), 0);
  const start = soundings.timeS[0] as number;
  const end = soundings.timeS[soundings.n - 1] as number;
  const log: LogEntry = {
    file: 'run-01.nmea', sha256: SHA, bytes: 8_431_220, takenInAt: '2026-05-13T11:40:00Z', kind: 'nmea', lines: soundings.n * 3 + 40,
    counts: { GGA: soundings.n, RMC: soundings.n, DPT: soundings.n },
    rejects: [{ code: 'checksum', reason: 'the checksum does not match', count: 12, firstLines: [812, 4410, 9007] }, { code: 'cut', reason: 'cut short: no end of line', count: 1, firstLines: [soundings.n * 3 + 40] }],
    notes: [], fixes: soundings.n, pings: soundings.n, timeStartS: start, timeEndS: end, bbox: null, depthMinM: 2, depthMaxM: 24,
  };
  return {
    folder, settings,
    frame: { label: FRAME.label, epsg: FRAME.epsg, zone: 26, hemisphere: 'north' },
    area: { areaM2: 177_000, polygons: 1 },
    lines: { main: mainLines, cross: 2, mainLengthM: length('main'), crossLengthM: length('cross'), transitLengthM: 420, headingDeg: 90, spacingM: SPACING_M, timeS: 7600 },
    logs: [log],
    soundings: {
      total: soundings.n, good, setAside, timeStartS: start, timeEndS: end, trackLengthM: length('main') + length('cross'), depthMinM: 3.1, depthMaxM: 14.1, depthMeanM: 10.4,
      tvuMedianM: 0.14, tvuP90M: 0.17, thuMedianM: 0.62, thuP90M: 0.7, orderShare: { exclusive: 0.2, special: 0.96, '1a': 0.999, '1b': 0.999, '2': 1 }, orderMet: '1a',
      crossings: { count: 42, meanM: 0.02, p95M: 0.11 }, waterLevelMinM: 0.95, waterLevelMaxM: 1.6, corrections: [], notes: [],
    },
    surface: { cellM: 1, cols: 670, rows: 370, cellsMeasured: 21_000, cellsFilled: 154_000, depthMinM: 3.1, depthMaxM: 14.1, uncertaintyMedianM: 0.14 },
    contours: { count: 40, lengthM: 9000, intervalM: 1 },
    sorties: null,
    rehearsal: null,
    instruments: null,
    gaps: { count: 1, areaM2: gapAreaM2, coveredShare: 0.987, largestM2: gapAreaM2, reachM: 8.3, fillLines: 2, fillLengthM: 166, fillTimeS: 166 / 1.5 + 16 },
    imagery: null,
    boat: fixtureBoatSummary(makeCard(settings.boat)),
    products: [{ path: 'products/report.html', bytes: 2310, sha256: SHA }],
    steps: ['boat', 'observations', 'tracks', 'soundings', 'surface', 'contours', 'gaps', 'report'].map((step) => ({ step, state: 'fresh' as const, because: '' })),
    decisions: { count: 0, last: null },
    notes: ['The tide turned at 10:40. Crossings after it sit 4 cm deep: the gauge lags by about 6 minutes.'],
  };
}

/** A survey folder with nothing in it yet. */
export function emptySummary(folder: string): SurveySummary {
  const settings = settingsSchema.parse({ format: 'tallow-survey', version: 2, name: 'New survey' });
  return {
    folder, settings, frame: null, area: null, lines: null, logs: [], soundings: null, surface: null, contours: null, gaps: null, sorties: null, rehearsal: null, instruments: null,
    boat: null, imagery: null, products: [],
    steps: ['observations', 'soundings', 'surface', 'contours', 'gaps', 'report'].map((step) => ({ step, state: 'missing' as const, because: 'no logs yet' })),
    decisions: { count: 0, last: null }, notes: [],
  };
}
