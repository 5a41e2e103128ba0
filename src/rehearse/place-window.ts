import { neededLevelM, waterWindows } from '../water/tide-window.js';
import type { PlaceWindow, RehearsalOptions, RehearsalRequest } from './rehearsal.js';

/** Looked at so long before and after the boat is there: a tide to either side [s]. */
const AROUND_S = 12.5 * 3600;

/**
 * When there is water enough at a place, about the time the boat is there: draft and the least water wanted.
 * @returns null where the depth, or the level at that time, is not known; a level that is not given is the datum, at all times
 */
export function placeWindow(xM: number, yM: number, timeS: number, request: Pick<RehearsalRequest, 'level' | 'bottomDepthM'>, options: Pick<RehearsalOptions, 'draftM' | 'leastWaterM'>): PlaceWindow | null {
  const { level = null, bottomDepthM = null } = request;
  const depthM = bottomDepthM?.(xM, yM) ?? NaN;
  if (!Number.isFinite(depthM) || !Number.isFinite(timeS)) return null;
  const need = { bottomDepthM: depthM, draftM: options.draftM, clearanceM: options.leastWaterM };
  const neededM = neededLevelM(need);
  const [fromS, toS] = [timeS - AROUND_S, timeS + AROUND_S];
  if (level === null) return { depthM, neededLevelM: neededM, timeS, isOpen: neededM <= 0, fromS: neededM <= 0 ? fromS : NaN, toS: neededM <= 0 ? toS : NaN, startsWithTide: false, endsWithTide: false };
  const now = level.levelsAt(Float64Array.of(timeS))[0]!;
  if (Number.isNaN(now)) return null;
  const windows = waterWindows(level, need, fromS, toS);
  const isOpen = now >= neededM;
  const window = windows.find(({ startS, endS }) => (isOpen ? startS <= timeS + 1 && endS >= timeS - 1 : startS > timeS));
  return { depthM, neededLevelM: neededM, timeS, isOpen, fromS: window?.startS ?? NaN, toS: window?.endS ?? NaN, startsWithTide: window?.startsWithTide ?? false, endsWithTide: window?.endsWithTide ?? false };
}
