import { drawBorder } from './chart-border.js';
import { drawContours } from './chart-contours.js';
import type { GroundBox } from './chart-frame.js';
import { boxesOverlap, layOutChart, polygonsBox } from './chart-frame.js';
import { drawGrid } from './chart-grid.js';
import { drawArea, drawGaps, drawKeepouts, drawLand, hatchDefinitions } from './chart-marks.js';
import { drawPanel } from './chart-panel.js';
import type { PaperChoice, PaperPlan } from './chart-paper.js';
import { planPaperChart } from './chart-plan.js';
import { chartedSoundings, drawSoundings } from './chart-soundings.js';
import { areaSample, lineSample, tintEntries, type LegendEntry } from './chart-strip.js';
import { depthTints, tintBreaks } from './chart-tints.js';
import { formatNumber, formatScale } from './figures.js';
import { INK } from './ink.js';
import { LabelIndex } from './label-index.js';
import type { ReportInput } from './report-input.js';
import { visibleText } from './safe-text.js';
import { mm, svgFigure, svgRect } from './svg-text.js';
import { TYPESET_FAMILIES, typesetPdf } from './typeset.js';
import type { Polygon } from '../geo/shapes.js';
import type { Frame } from '../geo/frame.js';

/** A chart drawn sheet by sheet, and how it was laid out. */
export interface PaperChart {
  readonly plan: PaperPlan;
  /** SVG of each sheet, a user unit a millimetre of paper. */
  readonly svgs: readonly string[];
}

/**
 * The chart for paper: tints, contours, selected soundings, grid and graticule at a true scale, on as many sheets as it takes.
 * Null where there is nothing to draw, or where it would take too many sheets.
 *
 * Signs after IHO S-4 and INT 1: upright contour figures in gaps of the line, sloping soundings with small decimetres, drying heights
 * underlined, magenta for limits and warnings.
 */
export function drawPaperChart(input: ReportInput, choice: PaperChoice, authority: string): PaperChart | null {
  const { frame } = input;
  const plan = frame === null ? null : planPaperChart(input, choice);
  if (plan === null || frame === null) return null;
  // Chosen once for all sheets, so that what two of them share is the same on both.
  const rows = input.soundings === null ? null : chartedSoundings(input.soundings, plan.scale);
  return { plan, svgs: plan.sheets.map((sheet) => drawSheet(input, frame, plan, sheet, rows, authority)) };
}

function drawSheet(input: ReportInput, frame: Frame, plan: PaperPlan, sheet: PaperPlan['sheets'][number], rows: Uint32Array | null, authority: string): string {
  const { summary, surface, soundings } = input;
  const chart = layOutChart(sheet.ground, plan.map, plan.scale);
  const { map } = chart;
  const labels = new LabelIndex();
  const [lowM, highM] = [summary.surface?.depthMinM ?? summary.soundings?.depthMinM ?? 0, summary.surface?.depthMaxM ?? summary.soundings?.depthMaxM ?? 10];
  const intervalM = summary.contours?.intervalM ?? summary.settings.contours.intervalM;
  const breaks = tintBreaks(lowM, highM, intervalM);
  // Soundings come first: a figure that is selected gives way to no name.
  const figures = soundings === null || rows === null ? '' : drawSoundings(chart, soundings, rows, labels).svg;
  const grid = drawGrid(chart, labels);
  const gaps = drawGaps(chart, input.gaps, 'p', labels);
  const contours = drawContours(chart, input.contours, intervalM, breaks, labels);
  const { graticule, border } = drawBorder(chart, frame);
  const mapRect = `x="${mm(map.x0)}" y="${mm(map.y0)}" width="${mm(map.x1 - map.x0)}" height="${mm(map.y1 - map.y0)}"`;
  const inside = [
    surface === null ? svgRect(map.x0, map.y0, map.x1 - map.x0, map.y1 - map.y0, INK.tints[3]) : depthTints(chart, surface, breaks),
    drawLand(chart, input), graticule, contours.lines, drawKeepouts(chart, input, 'p'), drawArea(chart, input), gaps.shapes, grid.svg, gaps.names, contours.labels, figures,
  ];
  const on = (polygons: readonly Polygon[]): boolean => polygons.some((polygon) => boxesOverlap(polygonsBox([polygon]) as GroundBox, chart.ground));
  const entries: LegendEntry[] = [
    ...(surface === null ? [] : tintEntries(breaks)),
    ...(surface !== null && lowM < 0 ? [{ sample: areaSample(INK.drying), text: 'dries' }] : []),
    ...(surface === null ? [] : [{ sample: areaSample(INK.unsurveyed), text: 'not surveyed' }]),
    ...(on(input.shore) ? [{ sample: areaSample(INK.land, INK.ink), text: 'land' }] : []),
    ...(contours.lines === '' ? [] : [{ sample: lineSample(INK.contour, 0.28), text: `contours, every ${formatNumber(contours.intervalM, Number.isInteger(contours.intervalM) ? 0 : 2)} m` }]),
    ...(input.area.length > 0 ? [{ sample: lineSample(INK.accent, 0.3, '1 0.8'), text: 'limit of survey' }] : []),
    ...(input.gaps.length > 0 ? [{ sample: areaSample('url(#p-gap)', INK.accent), text: 'gap' }] : []),
    ...(on(input.keepouts) ? [{ sample: areaSample('url(#p-keepout)', INK.accent, '2.4 0.7 0.6 0.7'), text: 'keep-out' }] : []),
  ];
  return svgFigure(plan.widthMm, plan.heightMm, `Chart of ${summary.settings.name}`, [
    `<defs><clipPath id="p-map"><rect ${mapRect}/></clipPath>${hatchDefinitions('p')}</defs>`,
    '<g clip-path="url(#p-map)">', ...inside, '</g>',
    border,
    drawPanel(input, frame, chart, plan, sheet, entries, { authority, contourIntervalM: contours.intervalM, gridStepM: grid.stepM }),
  ]);
}

/** The typesetter's program: a page a sheet, the drawing as large as the paper. */
const PROGRAM = String.raw`
#let data = json("chart.json")
#set document(title: data.title, date: if data.date == none { none } else { datetime(year: data.date.at(0), month: data.date.at(1), day: data.date.at(2)) })
#set text(font: data.families, lang: "en")
#for sheet in data.sheets {
  page(width: data.widthMm * 1mm, height: data.heightMm * 1mm, margin: 0mm)[#image(sheet.svg, width: data.widthMm * 1mm, height: data.heightMm * 1mm, alt: sheet.alt)]
}
`;

/** A chart as PDF/A-2a at its true scale, fonts inside. Equal charts give equal bytes. */
export function paperChartPdf(input: ReportInput, { plan, svgs }: PaperChart): Promise<Uint8Array> {
  const { settings, soundings } = input.summary;
  const last = soundings === null || !Number.isFinite(soundings.timeEndS) ? null : new Date(soundings.timeEndS * 1000);
  return typesetPdf({
    what: 'the chart',
    workspace: 'tallow-chart',
    program: PROGRAM,
    archival: last !== null,
    ready({ give, letters }) {
      const sheets = svgs.map((svg, i) => {
        give(`sheet-${i + 1}.svg`, letters(svg));
        return { svg: `sheet-${i + 1}.svg`, alt: letters(visibleText(`Chart of ${settings.name}, ${formatScale(plan.scale)}, sheet ${i + 1} of ${svgs.length}; not for navigation`)) };
      });
      const date = last === null ? null : [last.getUTCFullYear(), last.getUTCMonth() + 1, last.getUTCDate()];
      give('chart.json', JSON.stringify({ title: letters(visibleText(`${settings.name}: chart ${formatScale(plan.scale)}, not for navigation`)), date, widthMm: plan.widthMm, heightMm: plan.heightMm, families: TYPESET_FAMILIES, sheets }));
    },
  });
}
