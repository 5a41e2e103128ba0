import { UseError } from '../base/errors.js';
import { writeAtomic } from './atomic-file.js';
import { PLACES, placeIn } from './folder.js';
import { gatherReportInput } from './report-input.js';
import type { Made, Step } from './step-graph.js';

/** The chart for paper. */
export const CHART_PDF = 'products/chart.pdf';

export const stepChart: Step = {
  name: 'chart',
  version: 1,
  after: ['soundings', 'surface', 'contours', 'gaps'],
  settings: ['name', 'place', 'invented', 'datum', 'order', 'frame', 'heading.variationDeg', 'water', 'contours', 'products.write', 'products.chart', 'products.authority'],
  files: () => [PLACES.shore, PLACES.area, PLACES.keepouts],
  extra: (work) => JSON.stringify(work.logs),
  async run(work): Promise<Made> {
    if (!work.settings.products.write.includes('chart')) return {};
    // Loaded when it is needed: setting type is the heaviest thing in the program.
    const [{ summarise }, { drawPaperChart, nextScale, paperChartPdf }, { chartGround }] = await Promise.all([import('./summarise.js'), import('../report/chart-pdf.js'), import('../report/chart-frame.js')]);
    const input = await gatherReportInput(work, { ...(await summarise(work)), folder: '', products: [], steps: [] });
    work.context.progress?.('chart', 0.2, 'drawing it');
    const { paper, scale } = work.settings.products.chart;
    const chart = drawPaperChart(input, { paper, scale }, work.settings.products.authority);
    if (chart === null) {
      if (chartGround(input) === null) return {};
      throw new UseError(`products.chart: at 1:${scale} on ${paper === 'auto' ? 'A2' : paper} the area takes more than 40 sheets; choose a smaller scale: tallow report FOLDER --scale ${nextScale(input, { paper, scale })}`, { path: 'products.chart.scale', found: String(scale) });
    }
    work.context.progress?.('chart', 0.5, `${chart.svgs.length === 1 ? 'one sheet' : `${chart.svgs.length} sheets`} of ${chart.plan.paper} at 1:${chart.plan.scale}`);
    const pdf = await paperChartPdf(input, chart);
    return { [CHART_PDF]: { sha256: await writeAtomic(placeIn(work.folder, CHART_PDF), pdf), bytes: pdf.byteLength } };
  },
};
