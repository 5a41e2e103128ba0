import { writeMade } from './atomic-file.js';
import { PLACES, placeIn } from './folder.js';
import { tooManySheets } from './chart-fit.js';
import { gatherReportInput } from './report-input.js';
import type { Made, Step } from './step-graph.js';
import type { ChartSummary } from './summary.js';

/** The chart for paper. */
export const CHART_PDF = 'products/chart.pdf';

/** How it was laid out. */
export const CHART_FIGURES = 'derived/chart.json';

export const stepChart: Step = {
  name: 'chart',
  version: 3,
  after: ['soundings', 'surface', 'contours', 'gaps'],
  settings: ['name', 'place', 'invented', 'datum', 'order', 'frame', 'heading.variationDeg', 'water', 'corrections', 'sounder.soundSpeedSetMps', 'contours', 'products.write', 'products.chart', 'products.authority'],
  files: () => [PLACES.shore, PLACES.area, PLACES.keepouts],
  extra: (work) => JSON.stringify(work.logs),
  async run(work): Promise<Made> {
    if (!work.settings.products.write.includes('chart')) return {};
    // Loaded when it is needed: setting type is the heaviest thing in the program.
    const [{ summarise }, { drawPaperChart, paperChartPdf }] = await Promise.all([import('./summarise.js'), import('../report/chart-pdf.js')]);
    const input = await gatherReportInput(work, { ...(await summarise(work)), folder: '', products: [], steps: [] });
    work.context.progress?.('chart', 0.2, 'drawing it');
    const { paper, scale } = work.settings.products.chart;
    const chart = drawPaperChart(input, { paper, scale }, work.settings.products.authority);
    const figures = async (one: ChartSummary): Promise<Made> => {
      const text = `${JSON.stringify(one, null, 2)}\n`;
      return { [CHART_FIGURES]: await writeMade(placeIn(work.folder, CHART_FIGURES), text) };
    };
    // A survey that has grown since the scale was chosen gets its report all the same; the notes say why there is no chart.
    if (chart === null) return figures({ paper: paper === 'auto' ? 'A2' : paper, scale: scale ?? NaN, sheets: 0, refused: (await tooManySheets(input, { paper, scale })) ?? '' });
    work.context.progress?.('chart', 0.5, `${chart.svgs.length === 1 ? 'one sheet' : `${chart.svgs.length} sheets`} of ${chart.plan.paper} at 1:${chart.plan.scale}`);
    const pdf = await paperChartPdf(input, chart);
    return { ...(await figures({ paper: chart.plan.paper, scale: chart.plan.scale, sheets: chart.svgs.length, refused: '' })), [CHART_PDF]: await writeMade(placeIn(work.folder, CHART_PDF), pdf) };
  },
};
