import { UseError } from '../base/errors.js';
import { frameSettingForArea } from '../geo/area-polygons.js';
import { createFrame, frameSettingFor, type Frame } from '../geo/frame.js';
import { readPlanLonLat } from './plan-files.js';
import { readManifest } from './manifest.js';
import type { Settings } from './settings.js';
import type { LogEntry } from './summary.js';

/** The survey's frame where it is known: as set, else the zone of the area, else that of the first log with positions. */
export async function surveyFrame(folder: string, settings: Settings, logs?: readonly LogEntry[]): Promise<Frame | null> {
  if (settings.frame !== null) return createFrame(settings.frame);
  const area = await readPlanLonLat(folder, 'area');
  if (area !== null && area.length > 0) return createFrame(frameSettingForArea(area, 'area'));
  const placed = (logs ?? (await readManifest(folder)).logs).find((log) => log.bbox !== null);
  if (placed === undefined || placed.bbox === null) return null;
  const { south, west, north, east } = placed.bbox;
  return createFrame(frameSettingFor((south + north) / 2, (west + east) / 2));
}

/** The survey's frame. @throws UseError where neither area nor position is known */
export async function needFrame(folder: string, settings: Settings, logs?: readonly LogEntry[]): Promise<Frame> {
  const frame = await surveyFrame(folder, settings, logs);
  if (frame === null) {
    throw new UseError(`${folder}: no area and no log with positions yet, so the survey's frame is not known; put an area in (tallow lines ${folder} --area FILE) or take in a log with positions (tallow take-in ${folder} FILE)`, { path: folder });
  }
  return frame;
}
