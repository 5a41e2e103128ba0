import { UseError } from '../../base/errors.js';
import { createFrame } from '../../geo/frame.js';
import { planLines } from '../../lines/plan-lines.js';
import type { PlannedLines, PlanRequest } from './messages.js';
import { sortiesOfDraft } from './plan-sorties-draft.js';
import type { LinesFault } from './rehearse-messages.js';

/** Lines of an area and their sorties, with the code the survey's own steps use, and how long that took. */
export function planArea(request: PlanRequest): PlannedLines | LinesFault {
  const started = performance.now();
  try {
    const plan = planLines({ area: request.area, keepouts: request.keepouts, frame: createFrame(request.frame), options: request.options });
    const linesMs = performance.now() - started;
    const sorties = request.settings === null ? null : sortiesOfDraft(plan, request.settings);
    return { plan, linesMs, sorties, tookMs: performance.now() - started };
  } catch (error) {
    if (!(error instanceof UseError)) throw error;
    return { fault: error.message, where: error.what.where ?? [] };
  }
}
