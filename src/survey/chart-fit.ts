import { UseError } from '../base/errors.js';
import type { ChartedGround } from '../report/chart-frame.js';
import type { PaperChoice } from '../report/chart-paper.js';
import { readPlanPolygons } from './plan-files.js';
import type { Settings } from './settings.js';
import type { StepWork } from './step-graph.js';
import { surfaceOf } from './step-surface.js';
import { surveyFrame } from './survey-frame.js';

/** What is said of a chart that would take too many sheets, with the scales that fit; null where it fits. */
export async function tooManySheets(ground: ChartedGround, choice: PaperChoice): Promise<string | null> {
  const [{ fittingScales, planPaperChart }, { chartGround }, { MOST_SHEETS }] = await Promise.all([import('../report/chart-plan.js'), import('../report/chart-frame.js'), import('../report/chart-paper.js')]);
  if (choice.scale === null || chartGround(ground) === null || planPaperChart(ground, choice) !== null) return null;
  const fits = fittingScales(ground, choice);
  return `at 1:${choice.scale} on ${choice.paper === 'auto' ? 'A2' : choice.paper} the chart would take more than ${MOST_SHEETS} sheets; scales that fit: ${fits.map(({ paper, scale }) => `1:${scale} and smaller on ${paper}`).join(', ')}`;
}

/**
 * Refuses settings by which the chart would take too many sheets, before they are stored. Where nothing is built yet the area
 * alone is looked at.
 * @throws UseError with the scales that fit
 */
export async function refuseTooManySheets(work: StepWork, settings: Settings): Promise<void> {
  const { chart, write } = settings.products;
  if (chart.scale === null || !write.includes('chart')) return;
  const frame = await surveyFrame(work.folder, settings, work.logs);
  if (frame === null) return;
  const said = await tooManySheets({ area: (await readPlanPolygons(work.folder, settings, 'area')) ?? [], surface: await surfaceOf(work), soundings: null, track: null, planLines: [] }, chart);
  if (said !== null) throw new UseError(`products.chart: ${said}; nothing is changed`, { path: 'products.chart.scale', found: String(chart.scale) });
}
