import { gridBearingDeg } from '../geo/bearing.js';
import type { Frame } from '../geo/frame.js';
import type { SurveyLine } from '../lines/line-plan.js';
import type { RunnablePlan } from '../lines/plan-output.js';
import { UseError } from '../base/errors.js';
import { PLACES } from './folder.js';
import { readLineFeatures, type PlannedLine } from './plan-files.js';
import { linePlanFor } from './plan-lines.js';
import type { Settings } from './settings.js';

/**
 * The lines as they stand in plan/lines.geojson, run-in and run-out with them: what sorties are cut from, so that what was
 * drawn is what is run. Planned anew where the file says nothing of run-ins, as those of earlier versions.
 * @throws UseError where there are none, or the file is not what `tallow lines` writes
 */
export async function linesAsPlanned(folder: string, settings: Settings, frame: Frame): Promise<RunnablePlan> {
  const features = await readLineFeatures(folder);
  if (features === null || features.some(({ runInM, runOutM, lonLat }) => Number.isNaN(runInM) || Number.isNaN(runOutM) || lonLat.length !== 4)) return linePlanFor(folder, settings);
  return runnable(features, frame);
}

/** Fill-in lines as they stand in derived/fill-in.geojson, in the order to run them. @throws UseError where the gaps have not been looked for */
export async function fillInAsPlanned(folder: string, frame: Frame): Promise<RunnablePlan> {
  const features = await readLineFeatures(folder, PLACES.fillIn);
  if (features === null) throw new UseError(`${folder}: the gaps have not been looked for yet; find them with: tallow gaps ${folder}`, { path: PLACES.fillIn });
  return runnable(features.map((one) => ({ ...one, runInM: one.runInM || 0, runOutM: one.runOutM || 0 })), frame);
}

function runnable(features: readonly PlannedLine[], frame: Frame): RunnablePlan {
  const lines = features.map((feature): SurveyLine => {
    const [startXM, startYM] = frame.toFrame(feature.lonLat[1]!, feature.lonLat[0]!);
    const [endXM, endYM] = frame.toFrame(feature.lonLat[3]!, feature.lonLat[2]!);
    const { number, kind, order, runInM, runOutM } = feature;
    const headingDeg = Number.isFinite(feature.headingDeg) ? feature.headingDeg : gridBearingDeg(startXM, startYM, endXM, endYM);
    return { number, kind, order, startXM, startYM, endXM, endYM, headingDeg, lengthM: Math.hypot(endXM - startXM, endYM - startYM), runInM, runOutM };
  });
  const inOrder = lines.slice().sort((a, b) => a.order - b.order);
  const byNumber = lines.slice().sort((a, b) => a.number - b.number);
  return { main: byNumber.filter(({ kind }) => kind !== 'cross'), cross: byNumber.filter(({ kind }) => kind === 'cross'), order: inOrder.map(({ number }) => number), transits: [] };
}
