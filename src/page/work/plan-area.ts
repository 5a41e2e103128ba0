import { createFrame } from '../../geo/frame.js';
import { planLines } from '../../lines/plan-lines.js';
import type { PlannedLines, PlanRequest } from './messages.js';

/** Lines of an area, with the code the survey's own step uses, and how long that took. */
export function planArea(request: PlanRequest): PlannedLines {
  const started = performance.now();
  const plan = planLines({ area: request.area, keepouts: request.keepouts, frame: createFrame(request.frame), options: request.options });
  return { plan, tookMs: performance.now() - started };
}
