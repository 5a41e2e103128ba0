import { writeMade } from './atomic-file.js';
import { PLACES, placeIn } from './folder.js';
import { gatherReportInput } from './report-input.js';
import type { Made, Step } from './step-graph.js';

const HTML = 'products/report.html';
const PDF = 'products/report.pdf';

export const stepReport: Step = {
  name: 'report',
  version: 8,
  after: ['observations', 'tracks', 'soundings', 'instruments', 'surface', 'contours', 'gaps', 'products', 'chart', 'mosaic', 'finds', 'search'],
  settings: ['name', 'place', 'invented', 'datum', 'order', 'frame', 'time', 'gnss', 'sounder', 'heading', 'water', 'uncertainty', 'corrections', 'motion', 'cleaning', 'surface', 'contours', 'gaps', 'lines', 'sonar', 'imagery.turns'],
  files: () => [PLACES.shore, PLACES.area, PLACES.keepouts, PLACES.lines],
  extra: (work) => JSON.stringify([work.logs, work.decisions]),
  async run(work): Promise<Made> {
    // Loaded when it is needed: setting type is the heaviest thing in the program, and most verbs do not.
    const [{ summarise }, { buildReportDocument }, { documentHtml }, { documentPdf }] = await Promise.all([
      import('./summarise.js'),
      import('../report/build-document.js'),
      import('../report/html.js'),
      import('../report/pdf.js'),
    ]);
    // The report speaks of the survey, not of where the folder lies today or of its own files.
    const summary = await summarise(work);
    const input = await gatherReportInput(work, { ...summary, folder: '', products: summary.products.filter(({ path }) => path !== HTML && path !== PDF), steps: [] });
    work.context.progress?.('report', 0.2, 'setting it in type');
    const document = buildReportDocument(input);
    const html = documentHtml(document);
    work.context.progress?.('report', 0.6, 'PDF');
    const pdf = await documentPdf(document);
    return {
      [HTML]: await writeMade(placeIn(work.folder, HTML), html),
      [PDF]: await writeMade(placeIn(work.folder, PDF), pdf),
    };
  },
};
