import type { Frame } from '../geo/frame.js';
import type { ChartFrame } from './chart-frame.js';
import type { PaperPlan } from './chart-paper.js';
import type { LegendEntry } from './chart-strip.js';
import { drawLegend, drawRose, drawScaleBar, trueNorthDeg } from './chart-strip.js';
import { formatDays, formatMetres, formatNumber, formatOrder, formatScale, formatUncertainty, formatVariation } from './figures.js';
import { fitText, textWidth, type SheetWeight } from './fonts.js';
import { INK } from './ink.js';
import type { Box } from './label-index.js';
import { placeText } from './place-text.js';
import type { ReportInput } from './report-input.js';
import { levelWords, soundWords } from './water-words.js';
import { svgLine, svgRect, svgText } from './svg-text.js';
import { depthsBelow } from '../water/depth-datum.js';

/** What the panel says beside the chart. */
export interface PanelWords {
  readonly authority: string;
  readonly contourIntervalM: number;
  readonly gridStepM: number;
}

/** The words beside a chart, from the top down: what, at which scale, in what, when, how good, from what; then key, bar and rose. */
export function drawPanel(input: ReportInput, frame: Frame, chart: ChartFrame, plan: PaperPlan, sheet: PaperPlan['sheets'][number], entries: readonly LegendEntry[], words: PanelWords): string {
  const { panel: box } = plan;
  const { settings, soundings } = input.summary;
  const width = box.x1 - box.x0;
  const parts: string[] = [];
  let y = box.y0;
  const say = (text: string, size: number, weight: SheetWeight = 400, colour: string = INK.ink): void => {
    for (const line of wrapped(text, width, size, weight)) {
      y += size * 1.28;
      parts.push(svgText(box.x0, y, line, { size, weight, colour }));
    }
  };
  const head = (text: string): void => {
    y += 2.2;
    parts.push(svgLine(box.x0, y, box.x1, y, INK.ink, 0.12));
    y += 0.6;
    say(text, 2.2, 500, INK.quiet);
  };
  say(settings.name, 5.4, 600);
  const place = placeText(settings.place, settings.invented);
  if (place !== '') say(place, 2.7, 500);
  y += 1;
  say('NOT FOR NAVIGATION', 4.2, 600, INK.accent);
  y += 0.6;
  say(`Scale ${formatScale(plan.scale)}`, 4.2, 600);
  say(`on ${plan.paper}, printed at 100 %${plan.sheets.length > 1 ? `; sheet ${sheet.number} of ${plan.sheets.length}` : ''}`, 2.4);

  head('Depths and positions');
  say(`Depths in metres and decimetres below ${depthsBelow(settings)}, rounded to the shoal side. Underlined figures dry: heights above it.`, 2.4);
  say(`WGS 84, ${frame.label} (EPSG:${frame.epsg}), grid every ${formatNumber(words.gridStepM)} m; border in degrees and minutes.`, 2.4);
  head('Survey');
  if (soundings === null) say('Nothing was measured yet.', 2.4);
  else {
    say(`Surveyed ${formatDays(soundings.timeStartS, soundings.timeEndS)}. IHO S-44 ed. 6.1.0: ${formatOrder(settings.order)} aimed at; ${soundings.orderMet === null ? 'the uncertainty of the soundings meets no order' : `the uncertainty of the soundings meets ${formatOrder(soundings.orderMet)}`}.`, 2.4);
    say(`Uncertainty 95 %, median of the soundings: depth ${formatUncertainty(soundings.tvuMedianM)}, place ${formatUncertainty(soundings.thuMedianM, 1)}.`, 2.4);
    if (soundings.crossings !== null) say(`Where lines cross: ${formatNumber(soundings.crossings.count)} differences, mean ${formatMetres(soundings.crossings.meanM)}, 95 % within ${formatMetres(soundings.crossings.p95M)}.`, 2.4);
    if (input.gaps.length > 0) say(`${gapWords(input.gaps.length, Math.min(input.gaps.length, input.summary.gaps?.weakCount ?? 0), formatOrder(settings.order))}; between lines depths are filled in.`, 2.4, 400, INK.accent);
  }
  head('Sources');
  const { logs } = input.summary;
  say(`${formatNumber(soundings?.good ?? 0)} good soundings of ${formatNumber(soundings?.total ?? 0)} in ${logs.length === 1 ? 'one log' : `${logs.length} logs`}. Water level: ${levelWords(settings.water.level)}${settings.corrections.waterLevel ? '' : ', NOT APPLIED'}. Sound speed: ${soundWords(settings.water, settings.sounder)}${settings.corrections.soundSpeed ? '' : ', NOT APPLIED'}.`, 2.4);
  say(`${words.authority === '' ? '' : `${words.authority}. `}Made by ${input.versions.map(({ name, version }) => `${name} ${version}`).join(', ')}.`, 2.4);

  head('Key');
  y += 0.8;
  const keyRows = Math.ceil(entries.length / 2) * 3.7;
  parts.push(drawLegend(entries, { x0: box.x0, y0: y, x1: box.x1, y1: y + keyRows + 0.2 }));
  y += keyRows + 4.6;
  parts.push(drawScaleBar(chart, box.x0 + 2, y, width - 10));

  /* Rose and index from the foot upwards, where there is room for them. */
  const radius = 9;
  const roseTop = box.y1 - 2 * radius - 8.5;
  if (y + 3 < roseTop) {
    parts.push(drawRose(chart, frame, input.variation, box.x0 + radius + 3, box.y1 - radius - 4.5, radius));
    const turn = trueNorthDeg(chart, frame);
    const beside = [`Grid north is`, `${formatNumber(Math.abs(turn), 2)}° ${turn < 0 ? 'E' : 'W'} of true.`, ...(input.variation === null ? [] : [`Variation`, formatVariation(input.variation.variationDeg), input.variation.date, input.variation.source])];
    beside.forEach((text, i) => parts.push(svgText(box.x0 + 2 * radius + 8, roseTop + 6 + i * 3, fitText(text, width - 2 * radius - 8, 2.2), { size: 2.2, colour: INK.quiet })));
    if (plan.sheets.length > 1 && y + 24 < roseTop) parts.push(indexDiagram(plan, sheet.number, { x0: box.x0, y0: y + 4, x1: box.x1, y1: roseTop - 3 }));
  }
  return parts.join('\n');
}

/** Where this sheet lies among the others. */
function indexDiagram(plan: PaperPlan, number: number, box: Box): string {
  const cell = Math.min((box.x1 - box.x0) / plan.cols, (box.y1 - box.y0) / plan.rows, 9);
  return plan.sheets
    .map((sheet) => {
      const [x, y] = [box.x0 + sheet.col * cell, box.y0 + sheet.row * cell];
      const own = sheet.number === number;
      return svgRect(x, y, cell, cell, own ? INK.tints[1] : INK.paper, INK.ink, 0.15) + svgText(x + cell / 2, y + cell / 2 + 0.9, String(sheet.number), { size: Math.min(2.6, cell * 0.4), anchor: 'middle', weight: own ? 600 : 400 });
    })
    .join('');
}

/** A text in lines no wider than there is room; a word too long for one is cut. */
function wrapped(text: string, width: number, size: number, weight: SheetWeight): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (line === '' || textWidth(longer, size, weight) <= width) line = longer;
    else {
      lines.push(line);
      line = word;
    }
  }
  return [...lines, line].map((each) => fitText(each, width, size, weight));
}

/** Gaps that are holes, and those that are sounded but not well enough. */
function gapWords(gaps: number, weak: number, order: string): string {
  const holes = gaps - weak;
  const many = (count: number): string => (count === 1 ? '1 gap is' : `${count} gaps are`);
  return [...(holes > 0 ? [`${many(holes)} not surveyed`] : []), ...(weak > 0 ? [`${many(weak)} sounded, but not to ${order}`] : [])].join(', ');
}
