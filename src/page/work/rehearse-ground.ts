import { bytesSource } from '../../base/byte-source.js';
import type { BoatModel } from '../../boat/boat-model.js';
import { boatModel } from '../../boat/boat-model.js';
import { parseCurrentCsv } from '../../formats/current-csv.js';
import { parseCurrentJson } from '../../formats/current-json.js';
import { guessCsvMapping } from '../../formats/csv/csv-mapping.js';
import { readCsvTable } from '../../formats/csv/csv-table.js';
import { readGeoTiff } from '../../formats/geotiff-read.js';
import { convergenceDeg } from '../../geo/bearing.js';
import { createFrame, type Frame } from '../../geo/frame.js';
import { rasterValueAt } from '../../geo/raster.js';
import { linkFrom, rehearsalSetting, type RehearsalGround } from '../../rehearse/ground.js';
import type { Place, RehearsalRequest } from '../../rehearse/rehearsal.js';
import { constantCurrent, type CurrentField } from '../../water/current-field.js';
import { currentFromParsed, type ParsedCurrent } from '../../water/current-parsed.js';
import { currentFromRaster, type CurrentRaster } from '../../water/current-raster.js';
import { velocityFromSet } from '../../water/current-vector.js';
import { constantLevel, seriesLevel, type WaterLevel } from '../../water/level.js';
import { sunPosition } from '../../water/sun.js';
import { predictTide, type TideConstituent } from '../../water/tide.js';
import { cardFromJson } from '../words/card-json.js';
import type { GroundRequest, GroundSettings, KeptGround } from './rehearse-messages.js';

/** Readings of the water level further apart than this are not joined [s]: as the survey's own steps have it. */
const LEVEL_GAP_S = 2 * 3600 + 1;
const TIFF = /\.tiff?$/i;
/** A stream table is laid through this much time about the start [s]. */
const AROUND_S = 3 * 86_400;

/** Everything about the place and the day, as src/survey/sortie-ground.ts makes it from the folder. */
export interface Ground extends RehearsalGround {
  readonly frame: Frame;
  readonly launch: Place;
  readonly base: Place;
  readonly boat: BoatModel;
}

/** What was read of files, until it is read again. */
interface Files {
  readonly request: GroundRequest;
  readonly frame: Frame;
  readonly boat: BoatModel;
  readonly level: WaterLevel | null;
  readonly parsedCurrent: ParsedCurrent | null;
  readonly rasterCurrent: CurrentRaster | null;
  readonly bottom: ((xM: number, yM: number) => number) | null;
}

let kept: Files | null = null;
let fault = 'the boat and the water have not been read yet';

async function fetchFile(place: string, signal: AbortSignal): Promise<Response> {
  const answer = await fetch(`/files/${place}`, { signal, cache: 'no-cache' });
  if (!answer.ok) throw new Error(answer.status === 404 ? `${place}: there is no such file in the survey folder; build the survey, or change the settings` : `${place}: the server answered ${answer.status}`);
  return answer;
}

/** Reads what sorties and rehearsals rest on. A fault is told, not thrown: the page goes on without. */
export async function keepGround(request: GroundRequest, signal: AbortSignal): Promise<KeptGround> {
  kept = null;
  try {
    const { settings } = request;
    const { level, current } = settings.water;
    const { bottom } = settings.rehearse;
    const boat = boatModel(cardFromJson(await (await fetchFile('boat/card.json', signal)).text()));
    kept = {
      request,
      frame: createFrame(request.frame),
      boat,
      level: await readLevel(level, signal),
      parsedCurrent: current.kind === 'file' && !TIFF.test(current.file) ? await readCurrent(current.file, signal) : null,
      rasterCurrent: current.kind === 'file' && TIFF.test(current.file) ? await readCurrentRaster(current.file, signal) : null,
      bottom: bottom.kind === 'raster' && request.depths ? await readBottom(bottom.file, signal) : null,
    };
    return { fault: null, standIns: boat.standIns };
  } catch (error) {
    if (signal.aborted) throw error;
    fault = error instanceof Error ? error.message : String(error);
    return { fault, standIns: [] };
  }
}

async function readLevel(level: GroundSettings['water']['level'], signal: AbortSignal): Promise<WaterLevel | null> {
  switch (level.kind) {
    case 'none':
      return null;
    case 'constant':
      return constantLevel(level.levelM);
    case 'series': {
      const bytes = new Uint8Array(await (await fetchFile(level.file, signal)).arrayBuffer());
      const mapping = guessCsvMapping(bytes.subarray(0, 1 << 16));
      const table = mapping === null ? null : await readCsvTable(bytesSource(level.file, bytes), mapping);
      const levels = table?.columns.waterLevel;
      if (table?.timeS == null || levels === undefined) throw new Error(`${level.file}: expected a CSV with time and water level, found something else; see docs/formats.md`);
      return seriesLevel(table.timeS, levels, LEVEL_GAP_S);
    }
    case 'constituents': {
      const tide = (await (await fetchFile(level.file, signal)).json()) as { meanLevelM?: number; constituents: readonly TideConstituent[] };
      return predictTide(tide.constituents, tide.meanLevelM ?? 0);
    }
  }
}

async function readCurrent(file: string, signal: AbortSignal): Promise<ParsedCurrent> {
  const text = await (await fetchFile(file, signal)).text();
  return /^\s*\{/.test(text.replace(/^\uFEFF/, '')) ? parseCurrentJson(text, file) : parseCurrentCsv(text, file);
}

async function readCurrentRaster(file: string, signal: AbortSignal): Promise<CurrentRaster> {
  const tiff = await readGeoTiff(bytesSource(file, new Uint8Array(await (await fetchFile(file, signal)).arrayBuffer())));
  const [east, north] = tiff.bands;
  if (tiff.kind !== 'utm' || east === undefined || north === undefined) throw new Error(`${file}: expected a raster in the survey's frame with two bands, the current towards east and towards north in m/s; project it first`);
  return { grid: tiff.grid, frames: [{ timeS: null, eastMps: east.values, northMps: north.values }], axes: 'true' };
}

async function readBottom(file: string, signal: AbortSignal): Promise<Files['bottom']> {
  const tiff = await readGeoTiff(bytesSource(file, new Uint8Array(await (await fetchFile(file, signal)).arrayBuffer())));
  if (tiff.kind !== 'utm') throw new Error(`${file}: expected a raster in a UTM frame, as products/surface.tif is, found one in degrees; project it first`);
  return rasterValueAt({ grid: tiff.grid, values: tiff.bands[0]?.values ?? new Float32Array(0) });
}

let made: { readonly key: string; readonly files: Files; readonly ground: Ground } | null = null;

/**
 * The ground as it is with these settings, from the files that are kept; the same is given again for the same settings.
 * @throws Error in plain words where it cannot be made
 */
export function groundWith(settings: GroundSettings, startS: number): Ground {
  if (kept === null) throw new Error(fault);
  const spanDay = settings.water.current.kind === 'file' ? Math.floor(startS / 86_400) : 0;
  const key = JSON.stringify([settings.sortie.launch, settings.sortie.base, settings.water.current, settings.link, settings.rehearse.bottom, spanDay]);
  if (made !== null && made.key === key && made.files === kept) return made.ground;
  const files = kept;
  const { frame, request } = files;
  const { launch, base } = settings.sortie;
  if (launch === null) throw new Error('no launch point is set: set one at Lines');
  const place = (at: { readonly latDeg: number; readonly lonDeg: number }): Place => {
    const [xM, yM] = frame.toFrame(at.latDeg, at.lonDeg);
    return { xM, yM };
  };
  const at = place(launch);
  const stands = place(base ?? launch);
  const convergence = convergenceDeg(frame, at.xM, at.yM);
  const { bottom } = settings.rehearse;
  const ground: Ground = {
    frame,
    launch: at,
    base: stands,
    boat: files.boat,
    keepouts: request.keepouts,
    land: request.land,
    convergenceDeg: convergence,
    current: currentOf(settings, files, convergence, startS),
    level: files.level,
    bottomDepthM: bottom.kind === 'constant' ? () => bottom.depthM : bottom.kind === 'raster' ? files.bottom : null,
    sunAltitudeDeg: (timeS) => sunPosition(timeS, launch.latDeg, launch.lonDeg).geometricDeg,
    link: linkFrom(stands, settings.link, request.land),
  };
  made = { key, files, ground };
  return ground;
}

function currentOf(settings: GroundSettings, files: Files, convergence: number, startS: number): CurrentField {
  const { current } = settings.water;
  if (current.kind === 'none') return constantCurrent(0, 0, 0, 'no current is reckoned with');
  if (current.kind === 'constant') {
    const [xMps, yMps] = velocityFromSet(current.speedMps, current.setDeg, convergence);
    return constantCurrent(xMps, yMps, current.sigmaMps, `${current.speedMps} m/s towards ${current.setDeg} degrees, as set`);
  }
  if (files.rasterCurrent !== null) return currentFromRaster(files.rasterCurrent, { convergenceDeg: convergence, source: current.file });
  if (files.parsedCurrent === null) throw new Error(`${current.file}: not read`);
  return currentFromParsed(files.parsedCurrent, { convergenceDeg: convergence, startS: startS - AROUND_S, endS: startS + AROUND_S, source: current.file, ...(files.level === null ? {} : { level: files.level }) });
}

/** What a rehearsal is given beside the sortie and the start. */
export function rehearsalCommon(ground: Ground, settings: GroundSettings): Omit<RehearsalRequest, 'sortie' | 'startS'> {
  return { boat: ground.boat, ...rehearsalSetting(ground, settings) };
}
