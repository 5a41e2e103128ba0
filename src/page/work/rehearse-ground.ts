import { bytesSource, type ByteSource } from '../../base/byte-source.js';
import type { BoatModel } from '../../boat/boat-model.js';
import { boatModel } from '../../boat/boat-model.js';
import { currentOfSetting, currentSpan, readCurrentFile, type CurrentFile, type CurrentSpan } from '../../formats/current-file.js';
import { readDepthRaster } from '../../formats/depth-raster-file.js';
import { readLevelSeries, readTideJson } from '../../formats/water-level-file.js';
import { convergenceDeg } from '../../geo/bearing.js';
import type { KeepOut } from '../../geo/keep-out.js';
import { keepOutsOf } from '../../geo/keep-out-properties.js';
import { createFrame, type Frame } from '../../geo/frame.js';
import { linkFrom, rehearsalSetting, type RehearsalGround } from '../../rehearse/ground.js';
import type { Place, RehearsalRequest } from '../../rehearse/rehearsal.js';
import { constantLevel, type WaterLevel } from '../../water/level.js';
import { gaugesLevel } from '../../water/level-at-boat.js';
import { sunPosition } from '../../water/sun.js';
import { cardFromJson } from '../words/card-json.js';
import type { GroundRequest, GroundSettings, KeptGround } from './rehearse-messages.js';

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
  readonly current: CurrentFile | null;
  readonly bottom: ((xM: number, yM: number) => number) | null;
  readonly keepouts: readonly KeepOut[];
}

let kept: Files | null = null;
let fault = 'the boat and the water have not been read yet';

async function fetchFile(place: string, signal: AbortSignal): Promise<Response> {
  const answer = await fetch(`/files/${place}`, { signal, cache: 'no-cache' });
  if (!answer.ok) throw new Error(answer.status === 404 ? `${place}: there is no such file in the survey folder; build the survey, or change the settings` : `${place}: the server answered ${answer.status}`);
  return answer;
}

async function fetchSource(place: string, signal: AbortSignal): Promise<ByteSource> {
  return bytesSource(place, new Uint8Array(await (await fetchFile(place, signal)).arrayBuffer()));
}

/** Reads what sorties and rehearsals rest on. A fault is told, not thrown: the page goes on without. */
export async function keepGround(request: GroundRequest, signal: AbortSignal): Promise<KeptGround> {
  kept = null;
  try {
    const { settings } = request;
    const { level, current } = settings.water;
    const { bottom } = settings.rehearse;
    const boat = boatModel(cardFromJson(await (await fetchFile('boat/card.json', signal)).text()));
    const raster = bottom.kind === 'raster' && request.depths ? await readDepthRaster(await fetchSource(bottom.file, signal)) : null;
    kept = {
      request,
      frame: createFrame(request.frame),
      boat,
      level: await readLevel(level, signal),
      current: current.kind === 'file' ? await readCurrentFile(await fetchSource(current.file, signal)) : null,
      bottom: raster,
      keepouts: keepOutsOf(request.keepouts, bottom.kind === 'constant' ? () => bottom.depthM : raster),
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
    case 'series':
      return readLevelSeries(await fetchSource(level.file, signal));
    case 'constituents':
      return readTideJson(await (await fetchFile(level.file, signal)).text(), level.file);
    case 'gnss-height':
      return null;
    case 'gauges': {
      const gauges = await Promise.all(
        level.gauges.map(async (gauge) => ({
          ...gauge,
          name: gauge.file,
          level: gauge.file.toLowerCase().endsWith('.json') ? readTideJson(await (await fetchFile(gauge.file, signal)).text(), gauge.file) : await readLevelSeries(await fetchSource(gauge.file, signal)),
          xM: NaN,
          yM: NaN,
        })),
      );
      return gaugesLevel(gauges);
    }
  }
}

/** Water level and bottom as they are kept, for lines; null where they are not known, or not read yet. */
export function waterKept(): { readonly level: WaterLevel | null; readonly bottomDepthM: ((xM: number, yM: number) => number) | null } {
  if (kept === null) return { level: null, bottomDepthM: null };
  const { bottom } = kept.request.settings.rehearse;
  return { level: kept.level, bottomDepthM: bottom.kind === 'constant' ? () => bottom.depthM : kept.bottom };
}

let made: { readonly key: string; readonly files: Files; readonly ground: Ground } | null = null;

/**
 * The ground as it is with these settings, from the files that are kept; the same is given again for the same settings.
 * @throws Error in plain words where it cannot be made
 */
export function groundWith(settings: GroundSettings, startS: number, span: CurrentSpan = currentSpan(startS)): Ground {
  if (kept === null) throw new Error(fault);
  const key = JSON.stringify([settings.sortie.launch, settings.sortie.base, settings.water.current, settings.link, settings.rehearse.bottom, settings.water.current.kind === 'file' ? span : 0]);
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
    keepouts: files.keepouts,
    land: request.land,
    convergenceDeg: convergence,
    current: currentOfSetting(settings.water.current, files.current, { convergenceDeg: convergence, epsg: frame.epsg, level: files.level, span }),
    level: files.level,
    bottomDepthM: bottom.kind === 'constant' ? () => bottom.depthM : bottom.kind === 'raster' ? files.bottom : null,
    sunAltitudeDeg: (timeS) => sunPosition(timeS, launch.latDeg, launch.lonDeg).geometricDeg,
    link: linkFrom(stands, settings.link, request.land),
  };
  made = { key, files, ground };
  return ground;
}

/** What a rehearsal is given beside the sortie and the start. */
export function rehearsalCommon(ground: Ground, settings: GroundSettings): Omit<RehearsalRequest, 'sortie' | 'startS'> {
  return { boat: ground.boat, ...rehearsalSetting(ground, settings) };
}
