import { boatModel, type BoatModel } from '../../boat/boat-model.js';
import { convergenceDeg } from '../../geo/bearing.js';
import { createFrame } from '../../geo/frame.js';
import { deriveLines } from '../../lines/derive-lines.js';
import type { KnownDepth } from '../../lines/objective.js';
import { locksOf, sensorFor, valuesToSet } from '../../lines/purpose-values.js';
import { cardFromJson } from '../words/card-json.js';
import type { DerivedForPage, PurposeRequest } from './purpose-messages.js';
import { readSurface } from './read-surface.js';

async function depthOf({ depthM, bottom }: PurposeRequest, signal: AbortSignal): Promise<{ known: KnownDepth; words: string } | null> {
  if (depthM !== null) return { known: { kind: 'number', depthM }, words: `${depthM} m, as set here` };
  if (bottom.kind === 'constant' && bottom.depthM > 0) return { known: { kind: 'number', depthM: bottom.depthM }, words: `${bottom.depthM} m, as the rehearsal reckons with` };
  if (bottom.kind !== 'raster') return null;
  const read = await readSurface(`/files/${bottom.file}`, signal);
  if (read === null) return null;
  const { westM, northM, cellM, cols, rows, depthM: values } = read;
  return { known: { kind: 'raster', raster: { grid: { westM, northM, cellM, cols, rows }, values } }, words: `the earlier survey ${bottom.file}` };
}

/** The boat as its card has it; null where there is none, or it lacks what lines hang on. */
async function boatOf(signal: AbortSignal): Promise<BoatModel | null> {
  const answer = await fetch('/files/boat/card.json', { signal, cache: 'no-cache' });
  if (!answer.ok) return null;
  try {
    return boatModel(cardFromJson(await answer.text()));
  } catch {
    return null;
  }
}

/** How the spacing follows the depth, as derived last. */
let keptSpacing: { readonly spacingM: number; readonly spacingAtM: (xM: number, yM: number) => number } | null = null;

/** How the spacing follows the depth where it stands as derived last; null where lines are evenly spaced. */
export function spacingKept(spacingM: number): ((xM: number, yM: number) => number) | null {
  return keptSpacing !== null && Math.abs(keptSpacing.spacingM - spacingM) < 0.002 ? keptSpacing.spacingAtM : null;
}

/** What a purpose makes of sensor, depth and boat, by the code the survey's own command uses; what is missing is told in words. */
export async function derivePurpose(request: PurposeRequest, signal: AbortSignal): Promise<DerivedForPage | { readonly fault: string }> {
  keptSpacing = null;
  const depth = await depthOf(request, signal);
  if (depth === null) return { fault: 'How deep is it? Give a depth to plan for, or set an earlier survey as the bottom.' };
  const sensor = sensorFor(request.purpose, request.sensor, request.sounder);
  const { at } = request;
  try {
    const derived = deriveLines(request.purpose, sensor, depth.known, await boatOf(signal), {
      locks: locksOf(request.locked, request.lines),
      convergenceDeg: at === null ? 0 : convergenceDeg(createFrame(request.frame), at.xM, at.yM),
    });
    if (derived.spacingAtM !== null) keptSpacing = { spacingM: derived.spacingM.value, spacingAtM: derived.spacingAtM };
    const { spacingM, rangeM, speedMps, headingDeg, crossShare, runInM, runOutM, notes } = derived;
    const values = { spacingM, rangeM, speedMps, headingDeg, crossShare, runInM, runOutM };
    return { values, toSet: valuesToSet(derived, request.locked), sensor, depth: depth.words, byDepth: derived.spacingAtM !== null, notes };
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    return { fault: error.message };
  }
}
