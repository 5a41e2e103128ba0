import { contours as d3contours } from 'd3-contour';
import { createFrame } from '../../src/geo/frame.js';
import type { Polygon } from '../../src/geo/shapes.js';
import type { ReportContour, ReportInput, ReportLine } from '../../src/report/report-input.js';
import { settingsSchema } from '../../src/survey/settings.js';
import type { SettingsInput } from '../../src/survey/settings.js';
import { REASONS } from '../../src/depths/soundings.js';
import { orderStanding } from '../../src/depths/orders.js';

/** A small seeded generator (mulberry32, public domain). */
export function seeded(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

const WEST_M = 270_600;
const SOUTH_M = 5_101_500;
const START_S = Date.UTC(2026, 4, 13, 9, 14, 0) / 1000;

/** Depth of the invented sea floor [m] at metres east and north of the corner, in an area `size` wide. */
function depthAt(x: number, y: number, size: number): number {
  const u = x / size;
  const v = y / (size * 0.65);
  const slope = 13 - 12 * Math.max(0, v - 0.72) * 3.4;
  const bank = 8 * Math.exp(-(((u - 0.62) / 0.13) ** 2) - ((v - 0.18) / 0.2) ** 2);
  const rock = 5 * Math.exp(-(((u - 0.74) / 0.04) ** 2) - ((v - 0.56) / 0.06) ** 2);
  const ripple = 0.5 * Math.sin(u * 17) * Math.cos(v * 11);
  return Math.max(-1.2, slope - bank - rock + ripple);
}

export interface SampleOptions {
  readonly name?: string;
  readonly place?: string;
  /** East-west size of the ground [m]. */
  readonly sizeM?: number;
  readonly cellM?: number;
  readonly spacingM?: number;
  /** Soundings a metre of line. */
  readonly soundingsPerM?: number;
  readonly settings?: Partial<SettingsInput>;
  readonly portrait?: boolean;
}

/** A whole survey of an invented place: everything a report can show. Equal options give equal input. */
export function sampleInput(options: SampleOptions = {}): ReportInput {
  const { sizeM = 430, cellM = 1, spacingM = 16, soundingsPerM = 4, portrait = false } = options;
  const random = seeded(20260513);
  const gauss = (): number => random() + random() + random() + random() - 2;
  const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
  const widthM = sizeM;
  const heightM = sizeM * (portrait ? 1.5 : 0.65);
  const depth = (x: number, y: number): number => (portrait ? depthAt((y / heightM) * widthM, (x / widthM) * widthM * 0.65, widthM) : depthAt(x, y, widthM));
  const at = (u: number, v: number): [number, number] => [WEST_M + u * widthM, SOUTH_M + v * heightM];
  const ring = (points: readonly (readonly [number, number])[]): Float64Array => Float64Array.from(points.flatMap(([u, v]) => at(u, v)));
  const area: Polygon[] = [{ outer: ring([[0.1, 0.1], [0.88, 0.08], [0.94, 0.4], [0.88, 0.76], [0.4, 0.8], [0.12, 0.72]]), holes: [] }];
  const shore: Polygon[] = [{ outer: ring([[-0.4, 0.9], [0.1, 0.95], [0.3, 0.93], [0.5, 0.86], [0.62, 0.85], [0.75, 0.92], [1.4, 0.9], [1.4, 1.6], [-0.4, 1.6]]), holes: [] }];
  const keepouts: Polygon[] = [{ outer: ring([[0.2, 0.55], [0.25, 0.55], [0.25, 0.63], [0.2, 0.63]]), holes: [] }];

  const planLines: ReportLine[] = [];
  const mains = Math.floor((0.62 * heightM) / spacingM);
  for (let i = 0; i < mains; i++) {
    const v = 0.12 + (i * spacingM) / heightM;
    const ends = i % 2 === 0 ? [at(0.13, v), at(0.88, v)] : [at(0.88, v), at(0.13, v)];
    planLines.push({ number: i + 1, kind: 'main', headingDeg: i % 2 === 0 ? 90 : 270, lengthM: 0.75 * widthM, line: Float64Array.from(ends.flat()) });
  }
  for (let i = 0; i < 3; i++) {
    const u = 0.3 + 0.2 * i;
    const ends = i % 2 === 0 ? [at(u, 0.11), at(u, 0.74)] : [at(u, 0.74), at(u, 0.11)];
    planLines.push({ number: mains + i + 1, kind: 'cross', headingDeg: i % 2 === 0 ? 0 : 180, lengthM: 0.63 * heightM, line: Float64Array.from(ends.flat()) });
  }

  const columns = { timeS: [] as number[], xM: [] as number[], yM: [] as number[], depth: [] as number[], level: [] as number[], reason: [] as number[], line: [] as number[] };
  const track = { timeS: [] as number[], xM: [] as number[], yM: [] as number[] };
  let timeS = START_S;
  let skipGap = 0;
  for (const plan of planLines) {
    if (plan.number === 7) timeS += 2400;
    const [ax, ay, bx, by] = plan.line as unknown as [number, number, number, number];
    const length = Math.hypot(bx - ax, by - ay);
    const steps = Math.max(2, Math.round(length * soundingsPerM));
    let wander = 0;
    for (let k = 0; k <= steps; k++) {
      wander = wander * 0.985 + gauss() * 0.06;
      const s = k / steps;
      const x = ax + s * (bx - ax) - ((by - ay) / length) * wander;
      const y = ay + s * (by - ay) + ((bx - ax) / length) * wander;
      timeS += length / steps / 1.5;
      if (k % Math.max(1, soundingsPerM) === 0) {
        track.timeS.push(timeS);
        track.xM.push(x);
        track.yM.push(y);
      }
      if (plan.number === 6 && s > 0.45 && s < 0.6) {
        skipGap += 1;
        continue;
      }
      const level = 1.1 + 0.9 * Math.sin((timeS - START_S) / 9000);
      const die = random();
      const reason = die < 0.006 ? 8 : die < 0.008 ? 6 : die < 0.0085 ? 3 : die < 0.0088 ? 7 : 0;
      const truth = depth(x - WEST_M, y - SOUTH_M);
      columns.timeS.push(timeS);
      columns.xM.push(x);
      columns.yM.push(y);
      columns.depth.push(reason === 3 ? NaN : reason === 6 ? truth * 2 + 0.3 : reason === 8 ? truth * (0.2 + 0.6 * random()) : truth + gauss() * 0.05);
      columns.level.push(level);
      columns.reason.push(reason);
      columns.line.push(plan.number);
    }
    timeS += 20;
  }
  const n = columns.timeS.length;
  if (skipGap === 0 && mains >= 6) throw new Error('the sample has no gap');

  const grid = { westM: WEST_M, northM: SOUTH_M + heightM, cellM, cols: Math.round(widthM / cellM), rows: Math.round(heightM / cellM) };
  const cells = grid.cols * grid.rows;
  const surface = { grid, depthM: new Float32Array(cells).fill(NaN), uncertaintyM: new Float32Array(cells).fill(NaN), count: new Float32Array(cells) };
  const full = new Float64Array(cells);
  for (let row = 0; row < grid.rows; row++) {
    for (let col = 0; col < grid.cols; col++) {
      const x = (col + 0.5) * cellM;
      const y = heightM - (row + 0.5) * cellM;
      const i = row * grid.cols + col;
      full[i] = depth(x, y);
      const u = x / widthM;
      const v = y / heightM;
      const inGap = u > 0.44 && u < 0.61 && Math.abs(v - (0.12 + (5 * spacingM) / heightM)) < spacingM / heightM / 1.4;
      if (u < 0.1 || u > 0.92 || v < 0.09 || v > 0.79 || inGap) continue;
      surface.depthM[i] = full[i] as number;
      surface.uncertaintyM[i] = 0.1 + 0.01 * (full[i] as number);
      surface.count[i] = (row * cellM) % spacingM < 2 ? 5 : 0;
    }
  }
  const intervalM = options.settings?.contours?.intervalM ?? 1;
  const contours = sampleContours(full, surface.depthM, grid, intervalM);

  const good = columns.reason.map((reason) => reason === 0);
  const depths = columns.depth.filter((_, i) => good[i]);
  const tvu = Float32Array.from(columns.depth, (d) => 0.1 + 0.008 * Math.abs(Number.isNaN(d) ? 0 : d) + 0.02 * random() ** 2);
  const thu = Float32Array.from(columns.depth, () => 2.2 + 0.6 * random());
  const setAside: Record<string, number> = {};
  for (const code of columns.reason) if (code !== 0) setAside[REASONS[code]?.name ?? '?'] = (setAside[REASONS[code]?.name ?? '?'] ?? 0) + 1;
  const standing = orderStanding({ n, depthM: columns.depth, tvuM: tvu, thuM: thu, reason: columns.reason });
  const settings = settingsSchema.parse({
    format: 'tallow-survey',
    version: 2,
    name: options.name ?? 'Hollin Sound, ferry approach',
    place: options.place ?? 'Hollin Sound',
    invented: true,
    datum: 'chart datum',
    sounder: { draftM: 0.18, transducer: { forwardM: 0.1, downM: 0.18 }, latencyS: 0.12 },
    gnss: { latencyS: 0.2, antenna: { forwardM: -0.2, downM: -0.5 } },
    water: { level: { kind: 'series', file: 'water/level.csv' }, soundSpeed: { kind: 'profile', file: 'water/sound-speed.csv' } },
    ...options.settings,
  });
  const gapAt = 0.12 + (5 * spacingM) / heightM;
  const gapHalf = spacingM / heightM / 1.4;
  const gaps = mains < 6 ? [] : [{ number: 1, areaM2: 0.17 * widthM * 2 * gapHalf * heightM, widthM: 2 * gapHalf * heightM, polygon: { outer: ring([[0.44, gapAt - gapHalf], [0.61, gapAt - gapHalf], [0.61, gapAt + gapHalf], [0.44, gapAt + gapHalf]]), holes: [] } }];
  const points = planLines.filter((l) => l.kind === 'cross').flatMap((cross) => planLines.filter((l) => l.kind === 'main').map((main) => ({ xM: cross.line[0] as number, yM: main.line[1] as number, differenceM: 0.02 + gauss() * 0.06, lineA: cross.number, lineB: main.number })));
  const sorted = (values: Float32Array): Float32Array => values.filter((_, i) => good[i]).sort();
  const quantile = (values: Float32Array, q: number): number => sorted(values)[Math.floor(q * (depths.length - 1))] as number;
  const sha = (digit: string): string => digit.repeat(64);
  return {
    frame,
    summary: {
      folder: '/surveys/hollin-sound',
      settings,
      frame: { label: frame.label, epsg: frame.epsg, zone: 26, hemisphere: 'north' },
      area: { areaM2: 0.52 * widthM * heightM, polygons: 1 },
      lines: { main: mains, cross: 3, mainLengthM: mains * 0.75 * widthM, crossLengthM: 3 * 0.63 * heightM, transitLengthM: mains * spacingM, headingDeg: 90, spacingM, timeS: (mains * 0.75 * widthM + 3 * 0.63 * heightM) / 1.5 },
      logs: [
        { file: '2026-05-13-morning.log', sha256: sha('a'), bytes: 4_812_345, takenInAt: '2026-05-13T12:02:11Z', kind: 'nmea', lines: 91_234, counts: { GGA: 7250, RMC: 7250, DPT: 36_120 }, rejects: [{ code: 'checksum', reason: 'checksum does not match', count: 41, firstLines: [812, 9120, 22_001] }, { code: 'truncated', reason: 'sentence cut short', count: 3, firstLines: [91_233] }], notes: ['the clock of this log runs 0.4 s late against GNSS time'], fixes: 7250, pings: 36_120, timeStartS: START_S, timeEndS: START_S + 4000, bbox: null, depthMinM: 0.4, depthMaxM: 14.2 },
        { file: '2026-05-13-second.log', sha256: sha('b'), bytes: 2_312_345, takenInAt: '2026-05-13T12:02:14Z', kind: 'nmea', lines: 41_234, counts: { GGA: 3250, DPT: 16_120 }, rejects: [], notes: [], fixes: 3250, pings: 16_120, timeStartS: START_S + 4000, timeEndS: timeS, bbox: null, depthMinM: 0.4, depthMaxM: 14.2 },
      ],
      soundings: {
        total: n,
        good: depths.length,
        setAside,
        timeStartS: columns.timeS[0] as number,
        timeEndS: columns.timeS[n - 1] as number,
        trackLengthM: planLines.reduce((sum, line) => sum + line.lengthM, 0) * 1.04,
        depthMinM: depths.reduce((a, b) => Math.min(a, b)),
        depthMaxM: depths.reduce((a, b) => Math.max(a, b)),
        depthMeanM: depths.reduce((a, b) => a + b, 0) / depths.length,
        tvuMedianM: quantile(tvu, 0.5),
        tvuP90M: quantile(tvu, 0.9),
        thuMedianM: quantile(thu, 0.5),
        thuP90M: quantile(thu, 0.9),
        orderShare: standing.share,
        orderMet: standing.met,
        crossings: { count: points.length, meanM: 0.02, p95M: 0.11 },
        waterLevelMinM: 1.1,
        waterLevelMaxM: 2.0,
        corrections: [],
        notes: [],
      },
      instruments: null,
      surface: { cellM, cols: grid.cols, rows: grid.rows, cellsMeasured: Math.round(cells * 0.1), cellsFilled: Math.round(cells * 0.42), depthMinM: surface.depthM.reduce((a, b) => (b < a ? b : a), 99), depthMaxM: surface.depthM.reduce((a, b) => (b > a ? b : a), -99), uncertaintyMedianM: 0.21 },
      contours: { count: contours.length, lengthM: 8123, intervalM },
      gaps: { count: gaps.length, areaM2: gaps[0]?.areaM2 ?? 0, coveredShare: 0.983, largestM2: gaps[0]?.areaM2 ?? 0, reachM: 9.6, fillLines: gaps.length, fillLengthM: gaps.length * 74, fillTimeS: gaps.length * 60 },
      imagery: null,
      boat: null,
      sorties: null,
      rehearsal: null,
      products: [{ path: 'products/surface.tif', bytes: 812_331, sha256: sha('c') }, { path: 'products/soundings.csv', bytes: 5_812_331, sha256: sha('d') }],
      steps: [{ step: 'tracks', state: 'fresh', because: '' }, { step: 'soundings', state: 'fresh', because: '' }],
      decisions: { count: 2, last: 'set aside 3 soundings by hand' },
      notes: ['The water level turned at 10:40; crossings after it sit 4 cm deep: the gauge lags by about 6 minutes.'],
    },
    soundings: {
      n,
      timeS: Float64Array.from(columns.timeS),
      xM: Float64Array.from(columns.xM),
      yM: Float64Array.from(columns.yM),
      measuredM: Float32Array.from(columns.depth, (d, i) => d + (columns.level[i] as number)),
      depthM: Float32Array.from(columns.depth),
      waterLevelM: Float32Array.from(columns.level),
      tvuM: tvu,
      thuM: thu,
      reason: Uint8Array.from(columns.reason),
      ruleReason: Uint8Array.from(columns.reason),
      line: Int32Array.from(columns.line),
      log: new Uint16Array(n),
      record: Uint32Array.from(columns.timeS, (_, i) => i),
    },
    track: { n: track.timeS.length, timeS: Float64Array.from(track.timeS), xM: Float64Array.from(track.xM), yM: Float64Array.from(track.yM) },
    surface,
    contours,
    gaps,
    area,
    keepouts,
    shore,
    planLines,
    fillLines: gaps.length === 0 ? [] : [{ number: 1, kind: 'fill-in', headingDeg: 90, lengthM: 74, line: Float64Array.from([...at(0.44, gapAt), ...at(0.61, gapAt)]) }],
    crossings: {
      points,
      pairs: planLines.filter((l) => l.kind === 'cross').map((cross) => ({ lineA: cross.number, lineB: 1, count: mains, meanM: 0.02, p95M: 0.11 })),
    },
    waterLevel: {
      timeS: Float64Array.from({ length: 60 }, (_, i) => START_S - 600 + i * 360),
      levelM: Float64Array.from({ length: 60 }, (_, i) => 1.1 + 0.9 * Math.sin((i * 360 - 600) / 9000)),
      label: 'observed series water/level.csv',
    },
    variation: { variationDeg: -9.1, date: '2026-05-13', source: 'World Magnetic Model 2025' },
    sources: [
      { role: 'settings', path: 'survey.json', bytes: 2123, sha256: sha('1') },
      { role: 'area', path: 'plan/area.geojson', bytes: 812, sha256: sha('2') },
      { role: 'water level series', path: 'water/level.csv', bytes: 4123, sha256: sha('3') },
      { role: 'sound-speed profile', path: 'water/sound-speed.csv', bytes: 312, sha256: sha('4') },
    ],
    made: [
      { step: 'tracks', version: '1', inputs: [{ path: 'logs/2026-05-13-morning.log', sha256: sha('a') }], outputs: [{ path: 'derived/tracks.parquet', sha256: sha('5') }] },
      { step: 'soundings', version: '1', inputs: [{ path: 'derived/tracks.parquet', sha256: sha('5') }], outputs: [{ path: 'derived/soundings.parquet', sha256: sha('6') }] },
    ],
    versions: [{ name: 'tallow', version: '0.1.0' }, { name: 'proj4', version: '2.22.0' }],
  };
}

/** A survey folder with nothing in it yet. */
export function emptyInput(): ReportInput {
  const sample = sampleInput({ sizeM: 200, spacingM: 10, cellM: 5, soundingsPerM: 1 });
  return {
    ...sample,
    frame: null,
    summary: { ...sample.summary, frame: null, area: null, lines: null, logs: [], soundings: null, surface: null, contours: null, gaps: null, products: [], steps: [], decisions: { count: 0, last: null }, notes: [] },
    soundings: null,
    track: null,
    surface: null,
    contours: [],
    gaps: [],
    area: [],
    keepouts: [],
    shore: [],
    planLines: [],
    fillLines: [],
    crossings: null,
    waterLevel: null,
    variation: null,
    sources: [],
    made: [],
    versions: [],
  };
}

/** Contour lines of the whole ground by d3-contour, kept where the surface holds depths. */
function sampleContours(full: Float64Array, known: Float32Array, grid: ReportInput['surface'] extends infer S ? (S extends { grid: infer G } ? G : never) : never, intervalM: number): ReportContour[] {
  const maker = d3contours().size([grid.cols, grid.rows]).smooth(true);
  const out: ReportContour[] = [];
  for (let depthM = 0; depthM < 16; depthM += intervalM) {
    for (const polygon of maker.contour(Array.from(full), depthM).coordinates) {
      for (const ring of polygon) {
        let run: number[] = [];
        const end = (): void => {
          if (run.length >= 4) out.push({ depthM, line: Float64Array.from(run) });
          run = [];
        };
        for (const [u, v] of ring as [number, number][]) {
          const col = Math.min(grid.cols - 1, Math.floor(u));
          const row = Math.min(grid.rows - 1, Math.floor(v));
          if (u <= 0.6 || v <= 0.6 || u >= grid.cols - 0.6 || v >= grid.rows - 0.6 || Number.isNaN(known[row * grid.cols + col])) end();
          else run.push(grid.westM + u * grid.cellM, grid.northM - v * grid.cellM);
        }
        end();
      }
    }
  }
  return out;
}
