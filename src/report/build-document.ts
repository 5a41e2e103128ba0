import { chartGround } from './chart-frame.js';
import { drawChart } from './chart-sheet.js';
import type { Block, ReportDocument } from './document.js';
import { formatNumber, formatScale } from './figures.js';
import type { ReportInput } from './report-input.js';
import { findsSection } from './section-finds.js';
import { goodSection } from './section-good.js';
import { imagerySection } from './section-imagery.js';
import { howSection } from './section-how.js';
import { cautionsSection, depthsSection, sourcesSection } from './section-record.js';
import { placeText } from './place-text.js';
import { summarySection, titleFacts } from './section-summary.js';
import { lineRuns } from './line-coverage.js';
import { linesSection, noChart, surveyedSection } from './section-surveyed.js';

/** Sheets on A4 with their margins: what fits beside caption and footer [mm]. */
const LANDSCAPE = { widthMm: 267, heightMm: 172 } as const;
const PORTRAIT = { widthMm: 180, heightMm: 252 } as const;

/** Inputs do not change: the HTML and the PDF of one input are set from blocks made once. */
const built = new WeakMap<ReportInput, ReportDocument>();

/** The whole report as blocks. */
export function buildReportDocument(input: ReportInput): ReportDocument {
  const held = built.get(input);
  if (held !== undefined) return held;
  const document = makeDocument(input);
  built.set(input, document);
  return document;
}

function makeDocument(input: ReportInput): ReportDocument {
  const { settings, soundings } = input.summary;
  const last = soundings === null || !Number.isFinite(soundings.timeEndS) ? null : new Date(soundings.timeEndS * 1000);
  const runs = lineRuns(input.planLines, input.soundings, settings.gnss.maxGapS);
  return {
    title: settings.name,
    subtitle: placeText(settings.place, settings.invented),
    facts: titleFacts(input),
    date: last === null ? null : [last.getUTCFullYear(), last.getUTCMonth() + 1, last.getUTCDate()],
    blocks: [
      ...summarySection(input),
      ...surveyedSection(input, runs),
      ...cautionsSection(),
      ...chartSection(input),
      ...linesSection(input, runs),
      ...howSection(input),
      ...goodSection(input),
      ...depthsSection(input),
      ...imagerySection(input),
      ...findsSection(input),
      ...sourcesSection(input),
    ],
  };
}

function chartSection(input: ReportInput): Block[] {
  const ground = chartGround(input);
  if (input.frame === null || ground === null) return noChart();
  const landscape = ground.eastM - ground.westM >= ground.northM - ground.southM;
  const size = landscape ? LANDSCAPE : PORTRAIT;
  const { svg, scale, contourIntervalM, soundingsShown } = drawChart(input, size);
  const contours = input.contours.length === 0 ? '' : ` Contours every ${formatNumber(contourIntervalM, Number.isInteger(contourIntervalM) ? 0 : 2)} m.`;
  const soundings = soundingsShown === 0 ? '' : ` ${formatNumber(soundingsShown)} soundings are shown, each the shoalest of its surroundings, rounded to the shoal side.`;
  const caption = `Chart, ${formatScale(scale)} printed ${size.widthMm} mm wide; frame north up.${contours}${soundings} Not for navigation.`;
  return [{ kind: 'sheet', figure: { svg, ...size, alt: `Chart of ${input.summary.settings.name}` }, landscape, caption }];
}
