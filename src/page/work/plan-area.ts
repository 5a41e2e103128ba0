import { UseError } from '../../base/errors.js';
import { parseUtc } from '../../base/time.js';
import { createFrame } from '../../geo/frame.js';
import { keepOutsOf } from '../../geo/keep-out-properties.js';
import { pointInPolygons } from '../../geo/ring.js';
import type { LineOptions } from '../../lines/line-plan.js';
import { planLinesByTide } from '../../lines/tidal-plan.js';
import type { PlannedLines, PlanRequest } from './messages.js';
import { sortiesOfDraft } from './plan-sorties-draft.js';
import { spacingKept } from './derive-purpose.js';
import { groundWith, waterKept } from './rehearse-ground.js';
import type { LinesFault } from './rehearse-messages.js';

/** Lines of an area and their sorties, with the code the survey's own steps use, and how long that took. */
export function planArea(request: PlanRequest): PlannedLines | LinesFault {
  const started = performance.now();
  try {
    const { level, bottomDepthM } = waterKept();
    const spacingAtM = request.byDepth ? spacingKept(request.options.spacingM) : null;
    const lines = { area: request.area, keepouts: keepOutsOf(request.keepouts, bottomDepthM), frame: createFrame(request.frame), options: { ...request.options, spacingAtM, ...dayOf(request) } };
    const plan = planLinesByTide(lines, { level, needM: request.tide.needM }, request.tide.startS);
    const linesMs = performance.now() - started;
    const sorties = request.settings === null ? null : sortiesOfDraft(plan, request.settings, request.options.effort ?? 'full');
    return { plan, linesMs, sorties, tookMs: performance.now() - started };
  } catch (error) {
    if (!(error instanceof UseError)) throw error;
    return { fault: error.message, where: error.what.where ?? [] };
  }
}

/** Boat, launch point and current that the folder's own lines are ordered with; nothing while dragging, or where they are not known. */
function dayOf({ settings, options }: PlanRequest): Partial<LineOptions> {
  if (settings === null || options.effort === 'drag') return {};
  const { sortie, water, lines } = settings;
  const startS = sortie.startUtc === null ? null : parseUtc(sortie.startUtc);
  try {
    const { boat, launch, current, keepouts, land } = groundWith(settings, startS ?? 0);
    // What is wrong with it is told with the sorties; lines are there all the same.
    if (pointInPolygons([...keepouts, ...land], launch.xM, launch.yM)) return {};
    return {
      launch,
      boat: lines.speedMps > boat.topSpeedMps ? null : boat,
      ...(startS === null || water.current.kind === 'none' ? {} : { current, startS }),
      ...(sortie.clearanceM > 0 ? { clearanceM: Math.max(sortie.clearanceM, options.insetM) } : {}),
    };
  } catch {
    // Why sorties cannot be planned is told with them.
    return {};
  }
}
