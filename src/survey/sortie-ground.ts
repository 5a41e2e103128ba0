import { UseError } from '../base/errors.js';
import { parseUtc } from '../base/time.js';
import { convergenceDeg } from '../geo/bearing.js';
import type { Frame } from '../geo/frame.js';
import { currentSpan, type CurrentSpan } from '../formats/current-file.js';
import { readDepthRaster } from '../formats/depth-raster-file.js';
import { linkFrom, type RehearsalGround } from '../rehearse/ground.js';
import type { Place } from '../rehearse/rehearsal.js';
import { sunPosition } from '../water/sun.js';
import { currentOf } from './current-files.js';
import { launchAndBase } from './launch-and-base.js';
import { readKeepOuts, readPlanPolygons } from './plan-files.js';
import type { Settings } from './settings.js';
import { needFrame } from './survey-frame.js';
import { waterLevelOf, withSurveyFile } from './water-files.js';

/** Everything about the place and the day that sorties are planned and rehearsed with. */
export interface SortieGround extends RehearsalGround {
  readonly frame: Frame;
  readonly launch: Place;
  readonly base: Place;
}

/** When the first sortie leaves, UTC [s]; null where it is not decided. @throws UseError where it cannot be read */
export function startOf(settings: Settings): number | null {
  const { startUtc } = settings.sortie;
  if (startUtc === null) return null;
  const startS = parseUtc(startUtc);
  if (!Number.isFinite(startS)) throw new UseError(`survey.json: sortie.startUtc: expected a UTC time such as 2026-06-17T08:00Z, found ${JSON.stringify(startUtc)}`, { path: 'sortie.startUtc' });
  return startS;
}

/**
 * Where no start is decided the water is taken as still: the current of no day is known.
 * @param span times the current is wanted for; about the start when left out
 * @throws UseError where there is no launch point, or a file named in the settings cannot be used
 */
export async function sortieGround(folder: string, settings: Settings, span?: CurrentSpan): Promise<SortieGround> {
  const { launch } = settings.sortie;
  if (launch === null) {
    throw new UseError(`${folder}: there is no launch point: set it with tallow lines ${folder} --launch LAT,LON, or on the page`, { path: 'sortie.launch', fix: `tallow lines ${folder} --launch LAT,LON` });
  }
  const frame = await needFrame(folder, settings);
  const places = launchAndBase(frame, settings);
  const [at, stands] = [places.launch!, places.base!];
  const convergence = convergenceDeg(frame, at.xM, at.yM);
  const land = (await readPlanPolygons(folder, settings, 'shore')) ?? [];
  const level = settings.water.level.kind === 'none' || settings.water.level.kind === 'gnss-height' ? null : await waterLevelOf(folder, settings, frame);
  const start = startOf(settings);
  const bottomDepthM = await bottomOf(folder, settings);
  return {
    frame,
    launch: at,
    base: stands,
    convergenceDeg: convergence,
    keepouts: await readKeepOuts(folder, settings, bottomDepthM),
    land,
    current: await currentOf(folder, start === null && span === undefined ? { ...settings, water: { ...settings.water, current: { kind: 'none' } } } : settings, frame, at, level, span ?? currentSpan(start ?? 0)),
    level,
    bottomDepthM,
    sunAltitudeDeg: (timeS) => sunPosition(timeS, launch.latDeg, launch.lonDeg).geometricDeg,
    link: linkFrom(stands, settings.link, land),
  };
}

/** Files in the survey folder that the ground is read from. */
export function groundFiles(settings: Settings): string[] {
  const { level, current } = settings.water;
  const { bottom } = settings.rehearse;
  return [...('file' in level ? [level.file] : level.kind === 'gauges' ? level.gauges.map(({ file }) => file) : []), ...('file' in current ? [current.file] : []), ...('file' in bottom ? [bottom.file] : [])];
}

/** The depth that is known before the survey; null where none is. @throws UseError */
export async function bottomOf(folder: string, settings: Settings): Promise<SortieGround['bottomDepthM']> {
  const { bottom } = settings.rehearse;
  if (bottom.kind === 'none') return null;
  if (bottom.kind === 'constant') return () => bottom.depthM;
  return withSurveyFile(folder, bottom.file, 'rehearse.bottom.file', readDepthRaster);
}
