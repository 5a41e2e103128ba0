import type { HandOver } from './hand-over.js';
import { readPlanPolygons } from './plan-files.js';
import { provenanceLines, surveyedSpan } from './product-sources.js';
import { contoursOf, fillLines, gapsOf, planLines } from './report-input.js';
import type { StepWork } from './step-graph.js';
import { findsOf } from './step-finds.js';
import { soundingsOf } from './step-soundings.js';
import { surfaceOf } from './step-surface.js';
import { surveyFrame } from './survey-frame.js';

/** All that products are made of; null where the survey has no frame yet. */
export async function gatherHandOver(work: StepWork): Promise<HandOver | null> {
  const { folder, settings } = work;
  const frame = await surveyFrame(folder, settings, work.logs);
  if (frame === null) return null;
  const soundings = await soundingsOf(work);
  const surface = await surfaceOf(work);
  const span = surveyedSpan(soundings);
  const polygons = async (file: 'area' | 'keepouts') => (await readPlanPolygons(folder, settings, file)) ?? [];
  return {
    work, frame, soundings, surface, span,
    finds: await findsOf(work),
    contours: contoursOf(work, surface),
    gaps: await gapsOf(folder, frame),
    planLines: await planLines(folder, frame),
    fillLines: await fillLines(folder, frame),
    area: await polygons('area'),
    keepouts: await polygons('keepouts'),
    provenance: await provenanceLines(work, frame, span),
  };
}
