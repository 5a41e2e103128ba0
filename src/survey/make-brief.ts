import { readFile } from 'node:fs/promises';
import { rehearsalSetting } from '../rehearse/ground.js';
import { UseError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import { boatModel } from '../boat/boat-model.js';
import { writeGeoJson } from '../formats/geojson-write.js';
import { writeGpx } from '../formats/gpx-route-write.js';
import type { Route } from '../formats/route.js';
import { writeRouteCsv } from '../formats/route-csv.js';
import { writeRouteKml } from '../formats/route-kml.js';
import { writeRouteNmea } from '../formats/route-nmea.js';
import { readRouteTemplate, type RouteTemplate } from '../formats/route-template.js';
import { writeRtz } from '../formats/rtz-write.js';
import { windowAbout } from '../rehearse/best-start.js';
import type { Sortie } from '../lines/sortie.js';
import type { Rehearsal } from '../rehearse/rehearsal.js';
import type { StartWindow } from '../rehearse/start-search.js';
import type { GeoFeature } from '../geo/features.js';
import { writeAtomic } from './atomic-file.js';
import { insideFolder, placeIn } from './folder.js';
import { readPlanPolygons } from './plan-files.js';
import { linesAsPlanned } from './planned-lines.js';
import type { Settings } from './settings.js';

import { sortieRoute } from './sortie-route.js';
import { readCard } from './step-boat.js';
import { rehearsalOf, type RehearsedSortie } from './step-rehearsal.js';

/** The field sheet's place. */
export const FIELD_SHEET = 'products/field-sheet.pdf';

/** When a sortie could leave is looked at so far to either side of its start, this often [s]. */
const WINDOW_S = 6 * 3600;
const WINDOW_STEP_S = 600;

/** Files of a brief. */
export interface Brief {
  readonly files: readonly string[];
  readonly go: boolean;
}

/** A route as lines and points for a map. */
function routeFeatures(route: Route): GeoFeature[] {
  const path = Float64Array.from(route.waypoints.flatMap(({ latDeg, lonDeg }) => [lonDeg, latDeg]));
  return [
    { shape: { kind: 'line', path }, properties: { name: route.name } },
    ...route.waypoints.map(({ latDeg, lonDeg, name, kind, line, speedMps, timeS }, i): GeoFeature => ({ shape: { kind: 'point', latDeg, lonDeg }, properties: { number: i + 1, name, kind, line, speedMps, timeS } })),
  ];
}

async function templateOf(folder: string, settings: Settings): Promise<{ readonly template: RouteTemplate; readonly extension: string } | null> {
  const { template } = settings.brief;
  if (template === null) return null;
  const file = insideFolder(folder, template, 'brief.template');
  const text = await readFile(file, 'utf8').catch((error: NodeJS.ErrnoException) => {
    throw new UseError(`${template}: ${error.code === 'ENOENT' ? 'there is no such file in the survey folder; put it there, or change brief.template' : error.message}`, { path: 'brief.template' });
  });
  const name = template.replace(/^.*\//, '').replace(/\.(template|tpl|txt)$/i, '');
  return { template: readRouteTemplate(text, template), extension: /\.[A-Za-z0-9]{1,8}$/.exec(name)?.[0].slice(1) ?? 'txt' };
}

/** Writes the routes of every sortie in every open format, and in the user's own where there is a template. */
export async function writeRoutes(folder: string, settings: Settings, done: readonly { readonly sortie: Sortie; readonly rehearsal: Rehearsal | null }[], frame: Parameters<typeof sortieRoute>[2], stemName = 'sortie'): Promise<string[]> {
  const own = await templateOf(folder, settings);
  const files: string[] = [];
  const put = async (place: string, text: string): Promise<void> => {
    await writeAtomic(placeIn(folder, place), text);
    files.push(place);
  };
  for (const { sortie, rehearsal } of done) {
    const legs = rehearsal !== null && rehearsal.legs.length === sortie.legs.length ? rehearsal.legs : null;
    const route = sortieRoute(sortie, legs, frame, `${settings.name} ${stemName.replaceAll('-', ' ')} ${sortie.number}`, settings.rehearse.toleranceM, settings.rehearse.acceptanceM);
    const stem = `plan/routes/${stemName}-${sortie.number}`;
    await put(`${stem}.gpx`, writeGpx({ name: route.name, description: route.description, routes: [{ name: route.name, points: route.waypoints.map(({ latDeg, lonDeg, name }) => ({ latDeg, lonDeg, name })) }] }));
    await put(`${stem}.kml`, writeRouteKml(route));
    await put(`${stem}.geojson`, writeGeoJson(routeFeatures(route)));
    await put(`${stem}.rtz`, writeRtz(route));
    await put(`${stem}.csv`, writeRouteCsv(route));
    await put(`${stem}.nmea`, writeRouteNmea(route));
    if (own !== null) await put(`${stem}-own.${own.extension}`, own.template.fill(route));
  }
  return files;
}

/**
 * The field sheet as PDF and the routes of every sortie.
 * @throws UseError where there is nothing rehearsed yet
 */
export async function makeBrief(folder: string, settings: Settings, context: WorkContext): Promise<Brief> {
  const made = await rehearsalOf({ folder, settings, context });
  if (made === null) {
    throw new UseError(`${folder}: there is no rehearsal yet: plan sorties with tallow lines ${folder} --launch LAT,LON, and rehearse them with tallow rehearse ${folder} --start UTC`, { fix: `tallow rehearse ${folder} --start UTC` });
  }
  const { ground, done } = made;
  const routes = await writeRoutes(folder, settings, done, ground.frame);
  context.progress?.('field sheet', 0.5, 'setting it in type');
  const [{ fieldSheet }, { fieldSheetPdf }] = await Promise.all([import('../report/field-sheet.js'), import('../report/field-sheet-pdf.js')]);
  const plan = await linesAsPlanned(folder, settings, ground.frame);
  const card = await readCard(folder);
  const common = { ...rehearsalSetting(ground, settings), boat: boatModel(card) };
  /** When each sortie by itself could leave, the others left as they are. */
  const windowsAbout = ({ sortie, rehearsal: { totals } }: RehearsedSortie): StartWindow[] => {
    const window = windowAbout({ common, sorties: [sortie], swapS: settings.sortie.swapS, fromS: totals.startS - WINDOW_S, toS: totals.startS + WINDOW_S, stepS: WINDOW_STEP_S }, totals.startS);
    return window === null ? [] : [window];
  };
  const sheet = fieldSheet({
    name: settings.name,
    place: settings.place,
    invented: settings.invented,
    datum: settings.datum,
    frame: ground.frame,
    area: (await readPlanPolygons(folder, settings, 'area')) ?? [],
    keepouts: ground.keepouts,
    shore: ground.land,
    lines: [...plan.cross, ...plan.main],
    launch: ground.launch,
    base: ground.base,
    sorties: done.map((one) => ({ ...one, windows: windowsAbout(one) })),
    boat: boatModel(card),
    boatName: card.name,
    options: rehearsalSetting(ground, settings).options ?? {},
    lostLink: settings.rehearse.lostLink,
    level: ground.level,
    current: ground.current,
    link: ground.link,
    contacts: settings.brief.contacts,
    emergency: settings.brief.emergency,
    utcOffsetH: settings.brief.utcOffsetH,
    routeFiles: routes,
  });
  await writeAtomic(placeIn(folder, FIELD_SHEET), await fieldSheetPdf(sheet));
  return { files: [FIELD_SHEET, ...routes], go: done.every(({ rehearsal }) => rehearsal.verdict.go) };
}
