import { stat } from 'node:fs/promises';
import path from 'node:path';
import { UseError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import type { FloorRasters } from '../depths/volumes.js';
import { readAreaFile } from '../formats/area-file.js';
import { readGeoTiff, type UtmGeoTiff } from '../formats/geotiff-read.js';
import { writeGeoTiff } from '../formats/geotiff-write.js';
import { writeGeoJson } from '../formats/geojson-write.js';
import type { GeoFeature } from '../geo/features.js';
import { polygonsFromLonLat } from '../geo/area-polygons.js';
import type { Polygon } from '../geo/shapes.js';
import type { Raster } from '../geo/raster.js';
import { askChange, askLeast, askProfile, askRoughness, askSelection, askVolume, type AskedFloor, type ChangeReply, type LeastReply, type ProfileReply, type RoughnessReply, type SelectionReply, type VolumeReply } from './ask-floor.js';
import { makeAtomic, writeAtomic } from './atomic-file.js';
import { hashFile, openFileSource } from './file-source.js';
import { PLACES, placeIn, readSettings } from './folder.js';
import { stepWork } from './open-desk.js';
import type { Settings } from './settings.js';
import { soundingsOf } from './step-soundings.js';
import { surfaceOf } from './step-surface.js';
import { summarise } from './summarise.js';
import { needFrame } from './survey-frame.js';
import { depthsBelow } from '../water/depth-datum.js';

/** A question to the floor of a survey. Places are latitude and longitude. */
export type FloorQuestion = { readonly within: string | null } & (
  | { readonly topic: 'volume'; readonly levelM: number | null; readonly design: string | null; readonly intervalM: number | null }
  | { readonly topic: 'change'; readonly since: string }
  | { readonly topic: 'slope' | 'rugosity' }
  | { readonly topic: 'profile'; readonly places: readonly { readonly latDeg: number; readonly lonDeg: number }[] }
  | { readonly topic: 'soundings'; readonly scale: number; readonly apartMm: number }
  | { readonly topic: 'least' }
);

export type FloorReply = VolumeReply | ChangeReply | RoughnessReply | ProfileReply | SelectionReply | LeastReply;

/** The answer, and what was written for it. */
export interface FloorAnswer {
  readonly reply: FloorReply;
  readonly files: readonly string[];
}

/**
 * Answers a question from a survey's surface and soundings, which must be built. Rasters, profiles and selections are written
 * under products/, each with a record under derived/asked/ of what it was made from.
 *
 * @throws UseError where there is no surface, a file is of another frame, or nothing lies where it is asked for; FormatError
 */
export async function askFolder(folder: string, question: FloorQuestion, context: WorkContext): Promise<FloorAnswer> {
  const work = await stepWork(folder, context);
  const surface = await surfaceOf(work);
  if (surface === null) throw new UseError(`${folder}: there is no surface to ask yet; make it with: tallow depths ${folder}`, { path: folder });
  const frame = await needFrame(folder, work.settings, work.logs);
  const within = question.within === null ? null : await polygonsOf(question.within, frame);
  const asked: AskedFloor = {
    floor: { depth: { grid: surface.grid, values: surface.depthM }, uncertainty: { grid: surface.grid, values: surface.uncertaintyM } },
    soundings: await soundingsOf(work),
    frame,
    datum: depthsBelow(work.settings),
    within,
  };
  context.progress?.('ask', 0.4, question.topic);
  const files: string[] = [];
  const inputs: string[] = [PLACES.surface, PLACES.soundings];
  const record = async (place: string, others: readonly string[]): Promise<void> => {
    const from: Record<string, string> = {};
    for (const one of inputs) from[one] = await hashFile(placeIn(folder, one));
    for (const file of others) from[path.basename(file)] = await hashFile(file);
    await writeAtomic(placeIn(folder, `derived/asked/${path.basename(place)}.made.json`), `${JSON.stringify({ step: 'ask', version: 1, question: { ...question, within: question.within === null ? null : path.basename(question.within) }, inputs: from, outputs: { [place]: await hashFile(placeIn(folder, place)) } }, null, 2)}\n`);
    files.push(place);
  };
  const outside = question.within === null ? [] : [question.within];
  const rasters = async (place: string, bands: readonly { name: string; unit: string; values: Float32Array }[], words: string, others: readonly string[]): Promise<void> => {
    await makeAtomic(placeIn(folder, place), async (sink) => {
      await writeGeoTiff(sink, { grid: surface.grid, epsg: frame.epsg, bands: [...bands], description: `${work.settings.name}: ${words}. Not for navigation.` }, { deflateLevel: 4 });
    });
    await record(place, [...outside, ...others]);
  };
  switch (question.topic) {
    case 'volume': {
      if ((question.levelM === null) === (question.design === null)) throw new UseError('volume: against what? Give either --level METRES (below the datum, positive down) or --design FILE, a GeoTIFF of depths', { path: '--level' });
      const design = question.design === null ? null : await bandsOf(question.design, frame.epsg, '--design');
      const reply = askVolume(asked, design === null ? { levelM: question.levelM! } : { design: { grid: design.grid, values: design.bands[0]!.values }, name: path.basename(question.design!) }, question.intervalM);
      if (reply.steps.length > 0) {
        const place = 'products/volume-by-level.csv';
        const rows = reply.steps.map((row) => [row.levelM, row.deeperM2, row.belowM3, row.belowHalf95M3].map((value) => value.toFixed(2)).join(','));
        await writeAtomic(placeIn(folder, place), ['levelM,deeperM2,belowM3,belowHalf95M3', ...rows, ''].join('\r\n'));
        await record(place, outside);
      }
      return { reply, files };
    }
    case 'change': {
      const { floor, name, files: used, notes } = await earlierOf(question.since, frame.epsg, work.settings);
      const { reply, rasters: made } = askChange(asked, floor, name, notes);
      await rasters('products/change.tif', [{ name: 'change, deeper positive', unit: 'm', values: made.change.values }, { name: 'uncertainty 95 %', unit: 'm', values: made.uncertainty.values }, { name: 'beyond chance', unit: '1', values: made.significant.values }], `change of depth since ${name}`, used);
      return { reply, files };
    }
    case 'slope':
    case 'rugosity': {
      const { reply, rasters: made } = askRoughness(asked, question.topic);
      await rasters(`products/${question.topic}.tif`, made.map(({ name, unit, raster }: { name: string; unit: string; raster: Raster }) => ({ name, unit, values: raster.values })), question.topic, []);
      return { reply, files };
    }
    case 'profile': {
      if (question.places.length < 2) throw new UseError('profile: expected two places or more: --line LAT,LON/LAT,LON', { path: '--line' });
      const line = Float64Array.from(question.places.flatMap(({ latDeg, lonDeg }) => frame.toFrame(latDeg, lonDeg)));
      const { reply, csv } = askProfile(asked, line);
      await writeAtomic(placeIn(folder, 'products/profile.csv'), csv);
      await record('products/profile.csv', []);
      return { reply, files };
    }
    case 'soundings': {
      const { reply, rows } = askSelection(asked, question.scale, question.apartMm);
      const { soundings } = asked;
      const features = [...rows].map((row): GeoFeature => {
        const [latDeg, lonDeg] = frame.toGeographic(soundings.xM[row]!, soundings.yM[row]!);
        return { shape: { kind: 'point', lonDeg, latDeg }, properties: { depthM: Number(soundings.depthM[row]!.toFixed(2)), tvuM: Number(soundings.tvuM[row]!.toFixed(2)), line: soundings.line[row]! } };
      });
      await writeAtomic(placeIn(folder, 'products/selected-soundings.geojson'), writeGeoJson(features));
      await record('products/selected-soundings.geojson', outside);
      return { reply, files };
    }
    case 'least':
      return { reply: askLeast(asked), files };
  }
}

async function polygonsOf(file: string, frame: AskedFloor['frame']): Promise<readonly Polygon[]> {
  const source = await openFileSource(file);
  try {
    const { polygons } = await readAreaFile(source);
    return polygonsFromLonLat(polygons, frame, path.basename(file));
  } finally {
    await source.close();
  }
}

async function bandsOf(file: string, epsg: number, option: string): Promise<UtmGeoTiff> {
  const source = await openFileSource(file);
  try {
    const tiff = await readGeoTiff(source);
    if (tiff.kind !== 'utm' || tiff.epsg !== epsg) throw new UseError(`${option} ${path.basename(file)}: expected a GeoTIFF in the survey's frame, EPSG:${epsg}, found EPSG:${tiff.epsg}; project it to that frame first`, { path: option });
    return tiff;
  } finally {
    await source.close();
  }
}

/** An earlier survey: a survey folder with a surface, or a GeoTIFF of depth and its 95 % uncertainty. */
async function earlierOf(place: string, epsg: number, settings: Settings): Promise<{ floor: FloorRasters; name: string; files: readonly string[]; notes: readonly string[] }> {
  const there = await stat(place).catch(() => null);
  const file = there?.isDirectory() === true ? placeIn(place, PLACES.surface) : place;
  if (there?.isDirectory() === true && (await stat(file).catch(() => null)) === null) throw new UseError(`--since ${place}: there is no surface in that folder; make it with: tallow depths ${place}`, { path: '--since' });
  const tiff = await bandsOf(file, epsg, '--since');
  const [depth, uncertainty] = tiff.bands;
  if (uncertainty === undefined) throw new UseError(`--since ${path.basename(file)}: expected a second band with the uncertainty, 95 %, found one band; without it nothing can be said of significance`, { path: '--since' });
  return { floor: { depth: { grid: tiff.grid, values: depth!.values }, uncertainty: { grid: tiff.grid, values: uncertainty.values } }, name: path.basename(place.replace(/[/\\]+$/, '')), files: [file], notes: there?.isDirectory() === true ? await unlikeNotes(place, settings) : [] };
}

/** What of two surveys is unlike, so that a change may not be one of the floor. */
async function unlikeNotes(place: string, now: Settings): Promise<string[]> {
  const then = await readSettings(place);
  const notes: string[] = [];
  if (then.datum !== now.datum) notes.push(`The datums have different names: ${then.datum} then, ${now.datum} now. Where they are not the same level, the step between them is in every figure; give both surveys the same datum.`);
  const off = [[then, 'then'] as const, [now, 'now'] as const].filter(([one]) => one.water.level.kind === 'none' || !one.corrections.waterLevel).map(([, when]) => when);
  if (off.length > 0) notes.push(`No water level is taken off ${off.join(' and ')}: the water's height on the day is in every figure.`);
  const stale = (await summarise(await stepWork(place, {}))).steps.find(({ step }) => step === 'surface');
  if (stale !== undefined && stale.state !== 'fresh') notes.push(`The surface of ${path.basename(place)} is older than its settings, logs or decisions: build it first with tallow depths ${place}.`);
  return notes;
}
