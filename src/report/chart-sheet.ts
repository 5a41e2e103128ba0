import { tvuLimitM } from '../depths/orders.js';
import type { Frame } from '../geo/frame.js';
import type { Polygon } from '../geo/shapes.js';
import { BORDER_MM, drawBorder } from './chart-border.js';
import { drawContours } from './chart-contours.js';
import type { ChartFrame } from './chart-frame.js';
import { boxesOverlap, chartGround, layOutChart, polygonsBox } from './chart-frame.js';
import { drawArea, drawCrossings, drawGaps, drawKeepouts, drawLand, drawPlanLines, drawTrack, FILL_STYLE, hatchDefinitions, PLAN_STYLE } from './chart-marks.js';
import { chartedSoundings, drawSoundings } from './chart-soundings.js';
import type { LegendEntry } from './chart-strip.js';
import { areaSample, drawLegend, drawRose, drawScaleBar, drawTitle, lineSample, tintEntries } from './chart-strip.js';
import { depthTints, tintBreaks } from './chart-tints.js';
import { formatMetres, formatNumber, formatScale } from './figures.js';
import { INK } from './ink.js';
import type { Box } from './label-index.js';
import { LabelIndex } from './label-index.js';
import type { ReportInput } from './report-input.js';
import { fontFaceCss } from './fonts.js';
import { mm, svgFigure, svgRect, svgText } from './svg-text.js';

export interface ChartOptions {
  /** Size of the whole sheet, border and title included [mm]; at least 120 x 100. */
  readonly widthMm: number;
  readonly heightMm: number;
  /** 1:scale; left out: the largest usual scale at which the area fits. */
  readonly scale?: number;
  /** Puts the fonts inside, for a file that stands alone. */
  readonly embedFonts?: boolean;
}

/** A drawn sheet and what its caption needs to say. */
export interface DrawnChart {
  readonly svg: string;
  /** 1:scale at the printed size; NaN where nothing could be drawn. */
  readonly scale: number;
  readonly contourIntervalM: number;
  readonly soundingsShown: number;
}

/**
 * The chart: depth tints, contours, soundings, gaps, track and limits in a graduated border, with title, legend, rose and
 * scale bar. Equal input gives equal text. Where there is no place to draw, the sheet says so.
 *
 * @throws RangeError for a sheet too small to read, or a scale not above 0
 */
export function drawChart(input: ReportInput, options: ChartOptions): DrawnChart {
  const { widthMm, heightMm } = options;
  const stripMm = widthMm >= 220 ? 35 : 60;
  const sheet = beginSheet(input, options, stripMm);
  if (sheet === null) return emptySheet(options);
  const { chart, frame } = sheet;
  const { summary, surface, soundings } = input;
  const labels = new LabelIndex();
  const [depthMinM, depthMaxM] = depthSpan(input);
  const intervalM = summary.contours?.intervalM ?? summary.settings.contours.intervalM;
  const breaks = tintBreaks(depthMinM, depthMaxM, intervalM);
  const figures = soundings === null ? { shown: [], svg: '' } : drawSoundings(chart, soundings, chartedSoundings(soundings, chart.scale), labels);
  const gaps = drawGaps(chart, input.gaps, 'c', labels);
  const contours = drawContours(chart, input.contours, intervalM, breaks, labels);
  const { graticule, border } = drawBorder(chart, frame);
  const inside = [
    surface === null ? svgRect(chart.map.x0, chart.map.y0, chart.map.x1 - chart.map.x0, chart.map.y1 - chart.map.y0, INK.tints[3]) : depthTints(chart, surface, breaks),
    drawLand(chart, input),
    graticule,
    contours.lines,
    input.track === null ? '' : drawTrack(chart, input.track, summary.settings.gnss.maxGapS, INK.track, 0.11),
    drawKeepouts(chart, input, 'c'),
    drawArea(chart, input),
    gaps.shapes,
    gaps.names,
    contours.labels,
    figures.svg,
  ];
  const entries: LegendEntry[] = [
    ...(surface === null ? [] : tintEntries(breaks)),
    ...(surface !== null && depthMinM < 0 ? [{ sample: areaSample(INK.drying), text: 'dries' }] : []),
    ...(surface === null ? [] : [{ sample: areaSample(INK.unsurveyed), text: 'not surveyed' }]),
    ...(touches(chart, input.shore) ? [{ sample: areaSample(INK.land, INK.ink), text: 'land' }] : []),
    ...(contours.lines === '' ? [] : [{ sample: lineSample(INK.contour, 0.28), text: `contours, every ${formatNumber(contours.intervalM, Number.isInteger(contours.intervalM) ? 0 : 2)} m` }]),
    ...(input.track === null ? [] : [{ sample: lineSample(INK.track, 0.14), text: 'track of the boat' }]),
    ...(input.area.length > 0 ? [{ sample: lineSample(INK.accent, 0.3, '1 0.8'), text: 'limit of the survey area' }] : []),
    ...(input.gaps.length > 0 ? [{ sample: areaSample('url(#c-gap)', INK.accent), text: 'gap in the survey' }] : []),
    ...(touches(chart, input.keepouts) ? [{ sample: areaSample('url(#c-keepout)', INK.accent, '2.4 0.7 0.6 0.7'), text: 'keep-out' }] : []),
  ];
  const below = chart.map.y1 + BORDER_MM.bottom + 3;
  const strip =
    widthMm >= 220
      ? [
          drawTitle(input, { x0: 2, y0: below, x1: 2 + widthMm * 0.36, y1: heightMm }, chart, widthMm),
          drawLegend(entries, { x0: widthMm * 0.38, y0: below + 1, x1: widthMm - 80, y1: heightMm - 1 }),
          drawScaleBar(chart, widthMm - 74, below + 16, 42),
          svgText(widthMm - 74, below + 22, formatScale(chart.scale), { size: 2.7 }),
          drawRose(chart, frame, input.variation, widthMm - 13, below + 13, 9.2),
        ]
      : [
          drawTitle(input, { x0: 2, y0: below, x1: widthMm - 30, y1: below + 32 }, chart, widthMm),
          drawRose(chart, frame, input.variation, widthMm - 13, below + 13, 9.2),
          drawLegend(entries, { x0: 2, y0: below + 35, x1: widthMm - 56, y1: heightMm - 1 }),
          drawScaleBar(chart, widthMm - 50, below + 41, 42),
          svgText(widthMm - 50, below + 46.5, formatScale(chart.scale), { size: 2.7 }),
        ];
  return {
    svg: finishSheet(options, chart, 'c', inside, [border, ...strip], `Chart of ${summary.settings.name}`),
    scale: chart.scale,
    contourIntervalM: contours.intervalM,
    soundingsShown: figures.shown.length,
  };
}

/** The chart as SVG text; see `drawChart`. */
export function renderChartSvg(input: ReportInput, options: ChartOptions): string {
  return drawChart(input, { embedFonts: true, ...options }).svg;
}

/** The lines sheet: lines as planned, with their numbers, the track run over them, crossings and gaps. */
export function drawLinesSheet(input: ReportInput, options: ChartOptions): DrawnChart {
  const sheet = beginSheet(input, options, 13);
  if (sheet === null) return emptySheet(options);
  const { chart, frame } = sheet;
  const labels = new LabelIndex();
  const { settings, soundings } = input.summary;
  const allowedM = Math.SQRT2 * tvuLimitM(settings.order, soundings?.depthMeanM ?? 0);
  const gaps = drawGaps(chart, input.gaps, 'l', labels);
  const { graticule, border } = drawBorder(chart, frame);
  const crossings = input.crossings === null ? '' : drawCrossings(chart, input.crossings, allowedM);
  const inside = [
    svgRect(chart.map.x0, chart.map.y0, chart.map.x1 - chart.map.x0, chart.map.y1 - chart.map.y0, INK.tints[3]),
    drawLand(chart, input),
    graticule,
    drawKeepouts(chart, input, 'l'),
    gaps.shapes,
    input.track === null ? '' : drawTrack(chart, input.track, settings.gnss.maxGapS, INK.ink, 0.14),
    drawPlanLines(chart, input.planLines, labels, PLAN_STYLE),
    drawPlanLines(chart, input.fillLines, labels, FILL_STYLE),
    drawArea(chart, input),
    crossings,
    gaps.names,
  ];
  const entries: LegendEntry[] = [
    ...(input.planLines.length > 0 ? [{ sample: lineSample(INK.accent, PLAN_STYLE.widthMm, PLAN_STYLE.dash), text: 'line as planned, with its number' }] : []),
    ...(input.fillLines.length > 0 ? [{ sample: lineSample(INK.accent, FILL_STYLE.widthMm), text: 'line that would fill a gap' }] : []),
    ...(input.track === null ? [] : [{ sample: lineSample(INK.ink, 0.14), text: 'track of the boat' }]),
    ...(input.area.length > 0 ? [{ sample: lineSample(INK.accent, 0.3, '1 0.8'), text: 'limit of the survey area' }] : []),
    ...(input.gaps.length > 0 ? [{ sample: areaSample('url(#l-gap)', INK.accent), text: 'gap in the survey' }] : []),
    ...(crossings === '' ? [] : [{ sample: ringSample(INK.paper, INK.ink), text: `crossing within ${formatMetres(allowedM)}` }, { sample: ringSample(INK.accent, INK.accent), text: `crossing over ${formatMetres(allowedM)}` }]),
    ...(touches(chart, input.keepouts) ? [{ sample: areaSample('url(#l-keepout)', INK.accent, '2.4 0.7 0.6 0.7'), text: 'keep-out' }] : []),
  ];
  const below = chart.map.y1 + BORDER_MM.bottom + 2.4;
  const { widthMm, heightMm } = options;
  const strip = [
    drawLegend(entries, { x0: 2, y0: below, x1: widthMm - 52, y1: heightMm - 0.4 }, 3.6),
    drawScaleBar(chart, widthMm - 46, below + 4, 36),
    svgText(widthMm - 46, below + 9, formatScale(chart.scale), { size: 2.4 }),
  ];
  return {
    svg: finishSheet(options, chart, 'l', inside, [border, ...strip], `Lines planned and run, ${settings.name}`),
    scale: chart.scale,
    contourIntervalM: NaN,
    soundingsShown: 0,
  };
}

/** Whether any of the polygons can be on the map, by their boxes: the legend explains only what is drawn. */
function touches(chart: ChartFrame, polygons: readonly Polygon[]): boolean {
  return polygons.some((polygon) => {
    const box = polygonsBox([polygon]);
    return box !== null && boxesOverlap(box, chart.ground);
  });
}

function ringSample(fill: string, stroke: string): LegendEntry['sample'] {
  return (box: Box) => `<circle cx="${mm((box.x0 + box.x1) / 2)}" cy="${mm((box.y0 + box.y1) / 2)}" r="0.8" fill="${fill}" stroke="${stroke}" stroke-width="0.15"/>`;
}

function beginSheet(input: ReportInput, options: ChartOptions, stripMm: number): { readonly chart: ChartFrame; readonly frame: Frame } | null {
  const { widthMm, heightMm, scale } = options;
  if (!(widthMm >= 120 && heightMm >= 100)) throw new RangeError(`chart of ${widthMm} x ${heightMm} mm: expected at least 120 x 100`);
  const ground = chartGround(input);
  if (input.frame === null || ground === null) return null;
  const map = { x0: BORDER_MM.left, y0: BORDER_MM.top, x1: widthMm - BORDER_MM.right, y1: heightMm - BORDER_MM.bottom - stripMm };
  return { chart: layOutChart(ground, map, scale), frame: input.frame };
}

function finishSheet(options: ChartOptions, chart: ChartFrame, prefix: string, inside: readonly string[], outside: readonly string[], name: string): string {
  const { map } = chart;
  const clip = `<clipPath id="${prefix}-map"><rect x="${mm(map.x0)}" y="${mm(map.y0)}" width="${mm(map.x1 - map.x0)}" height="${mm(map.y1 - map.y0)}"/></clipPath>`;
  return svgFigure(options.widthMm, options.heightMm, name, [
    options.embedFonts === true ? `<style>${fontFaceCss()}</style>` : '',
    `<defs>${clip}${hatchDefinitions(prefix)}</defs>`,
    `<g clip-path="url(#${prefix}-map)">`,
    ...inside,
    '</g>',
    ...outside,
  ]);
}

function emptySheet(options: ChartOptions): DrawnChart {
  const { widthMm, heightMm } = options;
  const text = 'There is nothing to draw: no area, no position and no depth.';
  const svg = svgFigure(widthMm, heightMm, text, [
    svgRect(1, 1, widthMm - 2, heightMm - 2, 'none', INK.ink, 0.3),
    svgText(widthMm / 2, heightMm / 2, text, { size: 4, anchor: 'middle', colour: INK.quiet }),
  ]);
  return { svg, scale: NaN, contourIntervalM: NaN, soundingsShown: 0 };
}

function depthSpan(input: ReportInput): [number, number] {
  const { surface, soundings } = input.summary;
  const minM = surface?.depthMinM ?? soundings?.depthMinM ?? 0;
  const maxM = surface?.depthMaxM ?? soundings?.depthMaxM ?? 10;
  return [Number.isFinite(minM) ? minM : 0, Number.isFinite(maxM) ? maxM : 10];
}
