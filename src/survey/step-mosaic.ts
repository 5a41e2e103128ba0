import { deflateSync } from 'node:zlib';
import { UseError } from '../base/errors.js';
import { median } from '../base/robust.js';
import { insideMask } from '../depths/gaps.js';
import { gridCovering, type RasterGrid } from '../geo/raster.js';
import { boxOf } from './raster-size.js';
import { writeGeoTiff } from '../formats/geotiff-write.js';
import { withPings, type SurveyGain } from '../imagery/learned-gain.js';
import { laidPings } from '../imagery/laid-pings.js';
import { chooseCell, type CellChoice } from '../imagery/mosaic-cell.js';
import { mosaicPieces, type MadePiece, type MosaicPiece } from '../imagery/mosaic-piece.js';
import { MosaicTiles } from '../imagery/mosaic-tiles.js';
import type { SonarTrack } from '../imagery/sonar-track.js';
import type { Frame } from '../geo/frame.js';
import { makeAtomic } from './atomic-file.js';
import { PLACES, placeIn } from './folder.js';
import { IMAGERY_PLACES, linePicturePlace, readGain, writeGain, writeText } from './imagery-files.js';
import { runImageryJobs } from './imagery-jobs.js';
import { learnSurveyGain, lostPings, sonarAbsorption, silentSides, starboardLouderDb, stripeStrengthDb } from './mosaic-gain.js';
import { readPlanPolygons } from './plan-files.js';
import { pingSource, sonarSound } from './sonar-ground.js';
import { bottomOf } from './step-bottom.js';
import type { Made, Step, StepWork } from './step-graph.js';
import { pingsOf, type SurveyPings } from './step-pings.js';
import { PING_BREAK_S, sonarTrackOf } from './step-sonar-track.js';
import type { MosaicSummary } from './summary.js';
import { needFrame } from './survey-frame.js';

/** Ground bins of a ping a cell. */
const BINS_A_CELL = 1.4;
/** A mosaic of more cells is not made: 2 bytes each are held. */
const CELLS_AT_MOST = 4e8;
/** Nor is a finer cell chosen than makes this many. */
const CELLS_WANTED = 1.5e8;

/** The learned gain: from this run's memory, or from its files; null where there is none. */
export async function surveyGainOf(work: StepWork): Promise<SurveyGain | null> {
  if (work.memory.has('sonar-gain')) return work.memory.get('sonar-gain') as SurveyGain | null;
  const gain = await readGain(work.folder);
  work.memory.set('sonar-gain', gain);
  return gain;
}

/** Slant range the pings reach [m]. Shape [n]. */
function rangesOf(pings: SurveyPings, soundSpeedMps: number): Float64Array {
  return Float64Array.from({ length: pings.n }, (_, row) => (soundSpeedMps / 2) * (pings.delayS[row]! + Math.max(pings.portSamples[row]!, pings.starboardSamples[row]!) * pings.intervalS[row]!));
}

/** The cell as set, else by the grain of the pings. @throws UseError where the cell set makes too large a picture */
function cellOf(work: StepWork, pings: SurveyPings, track: SonarTrack, used: Uint8Array, rangeM: number, soundSpeedMps: number): CellChoice {
  const { cellM, beamDeg } = work.settings.imagery;
  let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
  const spacings: number[] = [];
  const samples: number[] = [];
  const step = Math.max(1, Math.floor(pings.n / 20_000));
  for (let row = 0; row < pings.n; row++) {
    if (used[row] === 0) continue;
    west = Math.min(west, track.xM[row]!);
    east = Math.max(east, track.xM[row]!);
    south = Math.min(south, track.yM[row]!);
    north = Math.max(north, track.yM[row]!);
    if (row % step !== 0 || row + 1 >= pings.n || used[row + 1] === 0) continue;
    const way = Math.hypot(track.xM[row + 1]! - track.xM[row]!, track.yM[row + 1]! - track.yM[row]!);
    if (track.timeS[row + 1]! - track.timeS[row]! < PING_BREAK_S && way > 0) spacings.push(way);
    samples.push((soundSpeedMps / 2) * pings.intervalS[row]!);
  }
  const areaM2 = (east - west + 2 * rangeM) * (north - south + 2 * rangeM);
  if (cellM !== null) {
    if (areaM2 / (cellM * cellM) > CELLS_AT_MOST) throw new UseError(`imagery.cellM: cells of ${cellM} m make a picture of ${Math.round(areaM2 / (cellM * cellM) / 1e6)} million, more than ${CELLS_AT_MOST / 1e6}; choose larger cells, or null for Tallow to choose`, { path: 'imagery.cellM', found: String(cellM), fix: 'tallow imagery <folder> --set imagery.cellM=null' });
    return { cellM, why: `${cellM} m, as set` };
  }
  return chooseCell({ pingSpacingM: spacings.length === 0 ? NaN : median(spacings), footprintM: ((rangeM / 3) * beamDeg * Math.PI) / 180, sampleM: samples.length === 0 ? NaN : median(samples) }, areaM2, CELLS_WANTED);
}

async function writePicture(work: StepWork, place: string, frame: Frame, grid: RasterGrid, tiles: MosaicTiles, description: string): Promise<{ sha256: string; bytes: number }> {
  return makeAtomic(placeIn(work.folder, place), async (sink) => {
    await writeGeoTiff(
      sink,
      {
        grid,
        epsg: frame.epsg,
        type: 'uint8',
        noData: 0,
        bands: [{ name: 'level', unit: '1', values: (rowStart, rowEnd) => tiles.rows(rowStart, rowEnd), overview: 'mean' }],
        description,
        metadata: { scale: 'level 128: the usual return of the floor at that angle; 4 steps a dB; 0: no data' },
      },
      { deflateLevel: 1, deflate: (bytes, level) => deflateSync(bytes, { level }), ...(work.context.signal === undefined ? {} : { signal: work.context.signal }) },
    );
  });
}

/** Share of the survey area that has a level, by sample places a metre or so apart; null without an area. */
async function areaShareOf(work: StepWork, tiles: MosaicTiles, grid: RasterGrid): Promise<number | null> {
  const area = await readPlanPolygons(work.folder, work.settings, 'area');
  if (area === null || area.length === 0) return null;
  const corners = area.flatMap(({ outer }) => Array.from(outer));
  const box = boxOf(Float64Array.from(corners.filter((_, i) => i % 2 === 0)), Float64Array.from(corners.filter((_, i) => i % 2 === 1)), () => true);
  if (box === null) return null;
  const stepM = Math.max(grid.cellM, Math.sqrt(((box.eastM - box.westM) * (box.northM - box.southM)) / 1e6));
  const coarse = gridCovering(box, stepM);
  const inside = insideMask(area, coarse);
  let [all, filled] = [0, 0];
  for (let row = 0; row < coarse.rows; row++) {
    const y = coarse.northM - (row + 0.5) * stepM;
    const r = Math.floor((grid.northM - y) / grid.cellM);
    const levels = r >= 0 && r < grid.rows ? tiles.rows(r, r + 1) : null;
    for (let col = 0; col < coarse.cols; col++) {
      if (inside[row * coarse.cols + col] === 0) continue;
      all++;
      const c = Math.floor((coarse.westM + (col + 0.5) * stepM - grid.westM) / grid.cellM);
      if (levels !== null && c >= 0 && c < grid.cols && levels[c] !== 0) filled++;
    }
  }
  return all === 0 ? null : filled / all;
}

export const stepMosaic: Step = {
  name: 'mosaic',
  version: 5,
  after: ['sonar-track'],
  settings: ['imagery', 'sonar', 'water.soundSpeed', 'sounder.soundSpeedSetMps', 'frame', 'name'],
  files: () => [PLACES.area],
  async run(work): Promise<Made> {
    const pings = await pingsOf(work);
    const track = await sonarTrackOf(work);
    const nothing = (): Made => {
      work.memory.set('sonar-gain', null);
      return {};
    };
    if (pings.n === 0 || track === null) return nothing();
    const { imagery, name } = work.settings;
    const frame = await needFrame(work.folder, work.settings, work.logs);
    const { heightM } = await bottomOf(work);
    const { speedMps } = await sonarSound(work, pings);
    const used = laidPings(track, imagery.turns, PING_BREAK_S);
    const use = (row: number): boolean => used[row] === 1;
    const usedCount = used.reduce((sum, each) => sum + each, 0);
    if (usedCount === 0) return nothing();
    const source = pingSource(work, pings);
    // The latest look is the one laid last, so pieces go by time, whatever log they are of.
    const pieces = mosaicPieces(track, use, [0, ...source.logs.map(({ rowEnd }) => rowEnd)], PING_BREAK_S).sort((a, b) => track.timeS[a.start]! - track.timeS[b.start]! || a.start - b.start);
    const { timeS, portSamples, starboardSamples, intervalS, delayS } = pings;
    const timing = { timeS, portSamples, starboardSamples, intervalS, delayS };
    const absorption = sonarAbsorption(work, pings, heightM);
    work.context.progress?.('mosaic', 0.02, 'learning what the floor\'s echo usually is');
    const { learned, scaleDb, notes: levelNotes } = await learnSurveyGain(work, source, timing, heightM, track, pieces, { soundSpeedMps: speedMps, spreadingDb: imagery.spreadingDb, absorptionDbPerKm: absorption.dbPerKm });
    const gain = withPings(learned, pings.n);
    gain.portPingDb.set(scaleDb);
    gain.starboardPingDb.set(scaleDb);

    const ranges = rangesOf(pings, speedMps).filter((_, row) => used[row] === 1);
    let rangeM = 0;
    for (const range of ranges) if (range > rangeM) rangeM = range;
    const { cellM, why } = cellOf(work, pings, track, used, rangeM, speedMps);
    const maxGroundM = imagery.maxRangeShare * rangeM;
    const tiles = new MosaicTiles(cellM, imagery.blend);
    const byLine = new Map<number, { left: number; tiles: MosaicTiles }>();
    if (imagery.perLine) for (const { line } of pieces) byLine.set(line, { left: (byLine.get(line)?.left ?? 0) + 1, tiles: new MosaicTiles(cellM, 'best') });
    const made: Record<string, { sha256: string; bytes: number }> = {};
    let done = 0;
    await runImageryJobs<MadePiece>(
      {
        kind: 'mosaic',
        source,
        work: {
          pings: timing,
          heightM,
          track,
          gain: learned,
          scaleDb,
          destripe: imagery.destripe,
          used,
          correct: { soundSpeedMps: speedMps, binM: cellM / BINS_A_CELL, maxGroundM },
          geocode: { cellM, beamRad: (imagery.beamDeg * Math.PI) / 180, minGroundM: imagery.minRangeShare * rangeM, maxGroundM, breakS: PING_BREAK_S },
        },
      },
      pieces,
      async ({ layer, portPingDb, starboardPingDb }, index) => {
        const { start, end, line } = pieces[index] as MosaicPiece;
        gain.portPingDb.set(portPingDb, start);
        gain.starboardPingDb.set(starboardPingDb, start);
        if (layer !== null) tiles.add(layer);
        const own = byLine.get(line);
        if (own !== undefined) {
          if (layer !== null) own.tiles.add(layer);
          own.left--;
          const grid = own.left === 0 ? own.tiles.grid() : null;
          if (own.left === 0) byLine.delete(line);
          if (grid !== null) made[linePicturePlace(line)] = await writePicture(work, linePicturePlace(line), frame, grid, own.tiles, `${name}: side-scan picture of line ${line}. Not for navigation.`);
        }
        done += end - start;
        work.context.progress?.('mosaic', 0.05 + (0.75 * done) / usedCount, `${done} of ${usedCount} pings`);
      },
      work.context,
    );
    const grid = tiles.grid();
    work.memory.set('sonar-gain', gain);
    Object.assign(made, await writeGain(work.folder, gain));
    if (grid === null) return made;
    if (grid.cols * grid.rows > 2 ** 32) throw new UseError('imagery.cellM: the lines lie too far apart for one picture of cells so small; choose larger cells', { path: 'imagery.cellM' });
    work.context.progress?.('mosaic', 0.85, 'writing the picture');
    made[IMAGERY_PLACES.mosaic] = await writePicture(work, IMAGERY_PLACES.mosaic, frame, grid, tiles, `${name}: side-scan mosaic, levels against the usual return of the floor. Not for navigation.`);
    const figures: MosaicSummary = {
      cellM,
      cellWhy: why,
      cols: grid.cols,
      rows: grid.rows,
      pingsUsed: usedCount,
      pings: pings.n,
      pingsLost: lostPings(gain.portPingDb, gain.starboardPingDb, used),
      lines: [...new Set(pieces.map(({ line }) => line))].filter((line) => line >= 0).sort((a, b) => a - b),
      filledM2: tiles.filled() * cellM * cellM,
      areaShare: await areaShareOf(work, tiles, grid),
      rangeM,
      blend: imagery.blend,
      gain: { spreadingDb: learned.spreadingDb, absorptionDbPerKm: learned.absorptionDbPerKm, pings: learned.pings, starboardLouderDb: starboardLouderDb(learned), stripesDb: stripeStrengthDb(gain.portPingDb, gain.starboardPingDb, scaleDb, used) },
      silent: silentSides(learned),
      notes: [...(absorption.note === null ? [] : [absorption.note]), ...levelNotes],
    };
    return { ...made, [IMAGERY_PLACES.mosaicFigures]: await writeText(work.folder, IMAGERY_PLACES.mosaicFigures, figures) };
  },
};
