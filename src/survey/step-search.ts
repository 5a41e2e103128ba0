import { UseError } from '../base/errors.js';
import { throwIfCancelled } from '../base/progress.js';
import { boatModel, modelPower } from '../boat/boat-model.js';
import { insideMask } from '../depths/gaps-mask.js';
import { sweepWidthM, type LateralRangeCurve } from '../finds/lateral-range.js';
import { lookBearingDeg } from '../finds/look-over.js';
import { measuredCurve } from '../finds/measured-curves.js';
import { nextLines, parallelLines, type NextLines, type SearchLine } from '../finds/next-lines.js';
import { remaining } from '../finds/search-chance.js';
import { addLook, chanceMap, createSearchMap, type SearchMap } from '../finds/search-map.js';
import { SIDES } from '../base/sonar.js';
import { outward } from '../imagery/sonar-track.js';
import { writeGeoJson } from '../formats/geojson-write.js';
import { writeGeoTiff } from '../formats/geotiff-write.js';
import { clipSegmentToPolygons, subtractIntervals, unionOfIntervals } from '../geo/clip-line.js';
import type { Frame } from '../geo/frame.js';
import { convexHull } from '../geo/hull.js';
import { gridCovering, type RasterGrid } from '../geo/raster.js';
import type { Polygon } from '../geo/shapes.js';
import { fillInPlan } from '../lines/fill-in-plan.js';
import { linesToGeoJson } from '../lines/plan-output.js';
import { quantile } from '../base/statistics.js';
import { makeAtomic, writeMade } from './atomic-file.js';
import { CARD_PLACE } from './boat-places.js';
import { pingRangeM, pingRuns, type LookGround } from './finds-look.js';
import { FINDS_PLACES } from './finds-places.js';
import { PLACES, isThere, placeIn } from './folder.js';
import { launchAndBase } from './launch-and-base.js';
import { readLineFeatures, readNoGo, readPlanPolygons } from './plan-files.js';
import { boxOf } from './raster-size.js';
import { waterDepthOf } from './sonar-ground.js';
import { readCard } from './step-boat.js';
import { lookGround } from './step-sightings.js';
import type { Made, Step, StepWork } from './step-graph.js';
import { PING_BREAK_S } from './step-sonar-track.js';
import type { SearchSummary } from './summary.js';
import { needFrame } from './survey-frame.js';

const CELLS_WANTED = 1_000_000;
/** Lines that could be run next: so many main headings, and no more lines than this. */
const CANDIDATES_MOST = 800;
const HEADINGS_DEG = [0, 90, 45, 135];
/** Energy and time of coming onto a line: so many boat lengths of way more (common practice). */
const TURN_M = 20;

/** The curve that is used: as set, else as measured on planted objects of that size. */
export function curveOf({ finds }: StepWork['settings']): LateralRangeCurve {
  if (finds.curve === null) return measuredCurve(finds.objectM);
  const { rangeByHeight, chance, source } = finds.curve;
  if (rangeByHeight.length !== chance.length || rangeByHeight.some((range, i) => i > 0 && range <= rangeByHeight[i - 1]!)) {
    throw new UseError('survey.json: finds.curve: expected as many chances as ranges, and ranges that rise', { path: 'finds.curve' });
  }
  return { objectM: finds.objectM, rangeByHeight, chance, source };
}

/** Where no area is drawn: the hull of the ground that the used pings reached. */
function reachedHull({ track, used, heightM }: LookGround, rangeM: number): Polygon | null {
  const ends: number[] = [];
  for (let row = 0; row < track.n; row++) {
    const [x, y, h] = [track.xM[row]!, track.yM[row]!, heightM[row]!];
    if (used[row] === 0 || !Number.isFinite(x + y) || !(h > 0) || !(rangeM > h)) continue;
    const farM = Math.sqrt(rangeM * rangeM - h * h);
    for (const side of SIDES) {
      const [east, north] = outward(side, track.gridHeadingDeg[row]!);
      ends.push(x + farM * east, y + farM * north);
    }
  }
  const outer = convexHull(Float64Array.from(ends));
  return outer.length < 6 ? null : { outer, holes: [] };
}

/** The area where one is drawn, else the hull of what the sonar reached. */
async function searchedGround(work: StepWork, ground: LookGround, rangeM: number): Promise<{ grid: RasterGrid; wanted: Uint8Array; polygons: readonly Polygon[]; isDrawn: boolean } | null> {
  const area = await readPlanPolygons(work.folder, work.settings, 'area');
  const isDrawn = area !== null && area.length > 0;
  const hull = isDrawn ? null : reachedHull(ground, rangeM);
  const polygons = isDrawn ? area : hull === null ? [] : [hull];
  const corners = polygons.flatMap(({ outer }) => Array.from(outer));
  const wide = boxOf(Float64Array.from(corners.filter((_, i) => i % 2 === 0)), Float64Array.from(corners.filter((_, i) => i % 2 === 1)), () => true);
  if (wide === null) return null;
  const { cellM } = work.settings.finds;
  const own = Math.max(1, Math.ceil(Math.sqrt(((wide.eastM - wide.westM) * (wide.northM - wide.southM)) / CELLS_WANTED)));
  let grid: RasterGrid;
  try {
    grid = gridCovering(wide, cellM ?? own, 16 * CELLS_WANTED);
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new UseError(`finds.cellM: ${error.message}, or null for Tallow to choose`, { path: 'finds.cellM' });
  }
  const wanted = insideMask(polygons, grid);
  const kept = insideMask(await readNoGo(work.folder, work.settings), grid);
  for (let cell = 0; cell < wanted.length; cell++) if (kept[cell] !== 0) wanted[cell] = 0;
  return { grid, wanted, polygons, isDrawn };
}

/** Adds what every used ping saw, a look each half cell of way. */
async function lookedAt(work: StepWork, ground: LookGround, map: SearchMap, curve: LateralRangeCurve): Promise<void> {
  const { pings, track, used, heightM, soundSpeedMps, gain } = ground;
  const { minRangeShare, maxRangeShare } = work.settings.imagery;
  const runs = pingRuns(track, used, pings.log, PING_BREAK_S);
  let done = 0;
  for (const { start, end, pass } of runs) {
    throwIfCancelled(work.context.signal);
    for (const side of ['port', 'starboard'] as const) {
      const samples = side === 'port' ? pings.portSamples : pings.starboardSamples;
      const pingDb = side === 'port' ? gain.portPingDb : gain.starboardPingDb;
      let [lastX, lastY] = [Infinity, Infinity];
      for (let row = start; row < end; row++) {
        const [x, y, h] = [track.xM[row]!, track.yM[row]!, heightM[row]!];
        if (used[row] === 0 || samples[row] === 0 || Number.isNaN(pingDb[row]!) || !(h > 0) || Math.hypot(x - lastX, y - lastY) < map.grid.cellM / 2) continue;
        [lastX, lastY] = [x, y];
        const rangeM = pingRangeM(pings, row, soundSpeedMps);
        if (!(rangeM > h)) continue;
        addLook(map, { xM: x, yM: y, bearingDeg: lookBearingDeg(side, track.gridHeadingDeg[row]!), heightM: h, nearM: minRangeShare * rangeM, farM: Math.min(maxRangeShare * rangeM, Math.sqrt(rangeM * rangeM - h * h)), pass: pass[side] }, curve);
      }
    }
    done += end - start;
    work.context.progress?.('search', (0.5 * done) / pings.n);
    await work.context.pause?.();
  }
}

/** Straight lines over the ground, cut to the area and clear of keep-outs, on the planned heading and at right angles and slantwise to it. */
function candidateLines(grid: RasterGrid, polygons: readonly Polygon[], nogo: readonly Polygon[], clearM: number, headingDeg: number, spacingM: number, leastM: number): SearchLine[] {
  for (let apartM = spacingM; ; apartM *= 1.5) {
    const lines = HEADINGS_DEG.flatMap((turn) => parallelLines(grid, headingDeg + turn, apartM)).flatMap((line): SearchLine[] => {
      const { ax, ay, bx, by } = line;
      const lengthM = Math.hypot(bx - ax, by - ay);
      const [ux, uy] = [(bx - ax) / lengthM, (by - ay) / lengthM];
      // Lines beside it at that distance stand for a keep-out's reach.
      const closed = unionOfIntervals(
        [-clearM, 0, clearM].flatMap((off) => clipSegmentToPolygons(nogo, ax + off * uy, ay - off * ux, bx + off * uy, by - off * ux)).map((at, k) => at + (k % 2 === 0 ? -clearM : clearM)),
      );
      const free = subtractIntervals(clipSegmentToPolygons(polygons, ax, ay, bx, by), closed);
      const parts: SearchLine[] = [];
      for (let k = 0; k + 1 < free.length; k += 2) {
        if (free[k + 1]! - free[k]! >= leastM) parts.push({ ax: ax + free[k]! * ux, ay: ay + free[k]! * uy, bx: ax + free[k + 1]! * ux, by: ay + free[k + 1]! * uy });
      }
      return parts;
    });
    if (lines.length <= CANDIDATES_MOST) return lines;
  }
}

interface Proposed {
  readonly next: NextLines;
  readonly budgetWh: number;
}

/** The next lines for the battery at hand; in words what keeps them from being proposed. */
async function propose(work: StepWork, ground: LookGround, map: SearchMap, wanted: Uint8Array, polygons: readonly Polygon[], curve: LateralRangeCurve, usual: { readonly heightM: number; readonly rangeM: number }, frame: Frame): Promise<Proposed | string> {
  const { settings, folder } = work;
  const { finds, lines, sortie, imagery } = settings;
  if (finds.nextLines === 0) return '';
  if (!(await isThere(placeIn(folder, CARD_PLACE)))) return 'no lines to run next: there is no boat card yet, so what the battery carries is not known';
  let model;
  try {
    model = boatModel(await readCard(folder));
  } catch (error) {
    if (!(error instanceof UseError)) throw error;
    return `no lines to run next: ${error.message}`;
  }
  const budgetWh = model.batteryWh * (finds.nextBatteryShare ?? sortie.batteryShare) * (1 - sortie.reserveShare);
  const speedMps = lines.speedMps;
  const whPerM = modelPower(model, speedMps).powerW / speedMps / 3600;
  const planned = await readLineFeatures(folder);
  const headingDeg = planned?.find(({ kind }) => kind === 'main')?.headingDeg ?? lines.headingDeg ?? 0;
  const sweepM = sweepWidthM(curve, usual.heightM, usual.rangeM);
  if (!(sweepM > 0)) return `no lines to run next: objects of ${finds.objectM} m are not seen from ${usual.heightM.toFixed(1)} m above the floor`;
  const nogo = await readNoGo(folder, settings);
  const water = await waterDepthOf(work, frame);
  const { draftM } = settings.sonar;
  const levelM = water === null ? 0 : water.levelsAt(Float64Array.of(ground.track.timeS[ground.track.n >> 1]!))[0]!;
  const next = nextLines({
    map,
    rule: finds.looks,
    curve,
    wanted,
    perM2: finds.priorPerHa / 1e4,
    candidates: candidateLines(map.grid, polygons, nogo, lines.keepoutM ?? sortie.clearanceM, headingDeg, Math.max(2, sweepM / 4), Math.max(lines.minLengthM, usual.rangeM / 2)),
    heightAtM: (xM, yM) => {
      const depthM = water === null ? NaN : water.depthAt(xM, yM) + levelM - draftM;
      return depthM > 0 ? depthM : usual.heightM;
    },
    nearM: imagery.minRangeShare * usual.rangeM,
    farM: imagery.maxRangeShare * usual.rangeM,
    launch: launchAndBase(frame, settings).launch ?? null,
    whPerM,
    sPerM: 1 / speedMps,
    turnWh: TURN_M * whPerM,
    turnS: TURN_M / speedMps,
    budgetWh,
    most: finds.nextLines,
  });
  return { next, budgetWh };
}

/** The chosen lines as features, in the order they were chosen, each with what it adds. */
function nextText(next: NextLines, nogo: readonly Polygon[], frame: Frame, settings: StepWork['settings']): string {
  const { runInM, runOutM, speedMps } = settings.lines;
  const plan = fillInPlan({ lines: next.lines.map(({ ax, ay, bx, by }) => Float64Array.of(ax, ay, bx, by)), keepouts: nogo, frame, options: { runInM, runOutM, speedMps } });
  return writeGeoJson(
    linesToGeoJson(plan, frame).map((feature) => {
      const line = next.lines[Number(feature.properties['number']) - 1];
      return line === undefined ? feature : { ...feature, properties: { ...feature.properties, rank: next.lines.indexOf(line) + 1, foundMore: Number(line.gain.toPrecision(4)), energyWh: Number(line.wh.toFixed(2)) } };
    }),
  );
}

const RULE_WORDS = {
  independent: 'every look counts, misses multiplied: true only where looks fail for reasons of their own',
  'by-aspect': 'of looks from one eighth of the compass only the best counts; misses from different directions are multiplied',
  best: 'only the best look counts: what hides an object hides it from all sides',
} as const;

export const stepSearch: Step = {
  name: 'search',
  version: 4,
  after: ['bottom', 'sonar-track', 'mosaic', 'surface', 'boat'],
  settings: ['finds', 'imagery.minRangeShare', 'imagery.maxRangeShare', 'imagery.turns', 'imagery.beamDeg', 'lines.keepoutM', 'lines.minLengthM', 'lines.speedMps', 'lines.headingDeg', 'lines.runInM', 'lines.runOutM', 'sortie.batteryShare', 'sortie.reserveShare', 'sortie.clearanceM', 'sortie.launch', 'sonar', 'water', 'sounder.soundSpeedSetMps', 'frame', 'name'],
  files: () => [PLACES.area, PLACES.keepouts, PLACES.shore, PLACES.lines, CARD_PLACE],
  async run(work): Promise<Made> {
    const ground = await lookGround(work);
    if (ground === null) return {};
    const { settings, folder } = work;
    const { finds } = settings;
    const frame = await needFrame(folder, settings, work.logs);
    const rows = Array.from({ length: ground.pings.n }, (_, row) => row).filter((row) => ground.used[row] === 1 && ground.heightM[row]! > 0);
    if (rows.length === 0) return {};
    const usual = { heightM: quantile(rows.map((row) => ground.heightM[row]!), 0.5), rangeM: quantile(rows.map((row) => pingRangeM(ground.pings, row, ground.soundSpeedMps)), 0.5) };
    const place = await searchedGround(work, ground, usual.rangeM);
    if (place === null) return {};
    const { grid, wanted, polygons, isDrawn } = place;
    const curve = curveOf(settings);
    const map = createSearchMap(grid);
    await lookedAt(work, ground, map, curve);
    const chance = chanceMap(map, finds.looks);
    const cellM2 = grid.cellM * grid.cellM;
    const bands = { looks: new Float32Array(chance.length).fill(NaN), chance: new Float32Array(chance.length).fill(NaN), remains: new Float32Array(chance.length).fill(NaN) };
    let [cells, searched, sum] = [0, 0, 0];
    const found: number[] = [];
    for (let cell = 0; cell < chance.length; cell++) {
      if (wanted[cell] === 0) continue;
      cells++;
      sum += chance[cell]!;
      bands.looks[cell] = map.looks[cell]!;
      bands.chance[cell] = chance[cell]!;
      bands.remains[cell] = remaining(finds.priorPerHa, chance[cell]!).atLeastOne;
      if (map.looks[cell]! === 0) continue;
      searched++;
      found.push(chance[cell]!);
    }
    const areaM2 = cells * cellM2;
    const mean = cells === 0 ? 0 : sum / cells;
    const all = remaining((finds.priorPerHa * areaM2) / 1e4, mean);
    work.context.progress?.('search', 0.6, 'lines that would raise the chance most');
    const proposed = await propose(work, ground, map, wanted, polygons, curve, usual, frame);
    const made: Record<string, { sha256: string; bytes: number }> = {};
    made[FINDS_PLACES.searchMap] = await makeAtomic(placeIn(folder, FINDS_PLACES.searchMap), async (sink) => {
      await writeGeoTiff(sink, {
        grid,
        epsg: frame.epsg,
        bands: [
          { name: 'looks', unit: '1', values: bands.looks },
          { name: 'chance found', unit: '1', values: bands.chance },
          { name: 'chance one remains in a hectare', unit: '1', values: bands.remains },
        ],
        description: `${settings.name}: search for objects of ${finds.objectM} m. Not for navigation.`,
        metadata: { curve: curve.source, looks: RULE_WORDS[finds.looks] },
      });
    });
    const put = async (name: string, text: string): Promise<void> => {
      made[name] = await writeMade(placeIn(folder, name), text);
    };
    const notes: string[] = isDrawn ? [] : ['no area is drawn: this is of the hull of what the sonar reached; draw the area, and what of it was missed is said'];
    const sweepM = sweepWidthM(curve, usual.heightM, usual.rangeM);
    let next: SearchSummary['next'] = null;
    if (typeof proposed === 'string') {
      if (proposed !== '') notes.push(proposed);
    } else {
      const { next: lines, budgetWh } = proposed;
      next = { lines: lines.lines.length, lengthM: lines.lines.reduce((length, { ax, ay, bx, by }) => length + Math.hypot(bx - ax, by - ay), 0), timeS: lines.totalS, energyWh: lines.totalWh, budgetWh, chanceAfter: lines.chanceAfter, expectedAfter: lines.after };
      if (lines.lines.length === 0) notes.push('no line to run next fits the battery, or none would raise the chance');
      else if (settings.sortie.launch === null) notes.push('there is no launch point: the ways to the next lines and home are not in their energy');
      try {
        await put(FINDS_PLACES.nextLines, nextText(lines, await readNoGo(folder, settings), frame, settings));
      } catch (error) {
        if (!(error instanceof UseError)) throw error;
        notes.push(`the next lines are not drawn: ${error.message}`);
      }
    }
    const summary: SearchSummary = {
      objectM: finds.objectM,
      areaM2,
      searchedM2: searched * cellM2,
      cellM: grid.cellM,
      chanceMean: mean,
      chanceTenth: found.length === 0 ? 0 : quantile(found, 0.1),
      expectedBefore: (finds.priorPerHa * areaM2) / 1e4,
      expectedLeft: all.expected,
      chanceLeft: all.atLeastOne,
      sweepWidthM: sweepM,
      coverage: areaM2 === 0 ? 0 : (sweepM * trackLengthM(ground)) / areaM2,
      curveSource: curve.source,
      looks: RULE_WORDS[finds.looks],
      next,
      notes,
    };
    await put(FINDS_PLACES.search, `${JSON.stringify(summary, null, 2)}\n`);
    return made;
  },
};

/** Way of the sonar over the pings that are used [m]. */
function trackLengthM({ track, used, pings }: LookGround): number {
  let sum = 0;
  for (const { start, end } of pingRuns(track, used, pings.log, PING_BREAK_S)) {
    let before = -1;
    for (let row = start; row < end; row++) {
      if (used[row] === 0 || Number.isNaN(track.xM[row]!)) continue;
      if (before >= 0) sum += Math.hypot(track.xM[row]! - track.xM[before]!, track.yM[row]! - track.yM[before]!);
      before = row;
    }
  }
  return sum;
}
