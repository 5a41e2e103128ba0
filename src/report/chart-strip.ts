import type { Frame } from '../geo/frame.js';
import type { ChartFrame } from './chart-frame.js';
import { formatDays, formatNumber, formatOrder, formatScale, formatVariation } from './figures.js';
import { fitText, textWidth } from './fonts.js';
import { INK } from './ink.js';
import type { Box } from './label-index.js';
import { decimalsOf, niceBelow } from './nice-steps.js';
import { placeText } from './place-text.js';
import type { ReportInput } from './report-input.js';
import { mm, svgLine, svgRect, svgText } from './svg-text.js';
import { depthsBelow } from '../water/depth-datum.js';

/** One thing the legend explains: how to draw its sample in a box, and what it means. */
export interface LegendEntry {
  readonly sample: (box: Box) => string;
  readonly text: string;
}

/** The lines of a chart's title: what, where, in what, when, how good. */
export function drawTitle(input: ReportInput, box: Box, chart: ChartFrame, widthMm: number): string {
  const { settings, frame, soundings } = input.summary;
  const width = box.x1 - box.x0;
  const parts: string[] = [];
  let y = box.y0 + 4.4;
  const line = (text: string, size: number, weight: 400 | 500 | 600 = 400, colour: string = INK.ink): void => {
    parts.push(svgText(box.x0, y, fitText(text, width, size, weight), { size, weight, colour }));
    y += size * 1.36;
  };
  line(settings.name, 5.2, 600);
  y -= 1.4;
  const place = placeText(settings.place, settings.invented);
  if (place !== '') line(place, 3, 500);
  line(`Depths in metres below ${depthsBelow(settings)}`, 2.7);
  line(`${frame === null ? '' : `${frame.label} (EPSG:${frame.epsg}) · `}WGS 84${soundings === null ? '' : ` · surveyed ${formatDays(soundings.timeStartS, soundings.timeEndS)}`}`, 2.7);
  const met = soundings === null ? '' : soundings.orderMet === null ? ', uncertainty meets none' : `, uncertainty meets ${formatOrder(soundings.orderMet)}`;
  line(`S-44 ${formatOrder(settings.order)} aimed at${met}`, 2.7);
  line(`Scale ${formatScale(chart.scale)} printed ${mm(widthMm)} mm wide`, 2.7);
  y += 0.4;
  line('Not for navigation', 3.4, 600, INK.accent);
  return parts.join('\n');
}

/** The legend in columns as wide as their texts, filled column by column; texts are cut only where the box is too narrow. */
export function drawLegend(entries: readonly LegendEntry[], box: Box, rowMm = 3.7): string {
  const size = 2.3;
  const rows = Math.max(1, Math.floor((box.y1 - box.y0) / rowMm + 1e-9));
  const columns: LegendEntry[][] = [];
  for (let i = 0; i < entries.length; i += rows) columns.push(entries.slice(i, i + rows));
  const wanted = columns.map((column) => 7.2 + Math.max(...column.map(({ text }) => textWidth(text, size))) + 0.2);
  const total = wanted.reduce((sum, each) => sum + each, 0);
  const gapMm = Math.min(6, Math.max(2, (box.x1 - box.x0 - total) / Math.max(1, columns.length - 1)));
  const squeeze = Math.min(1, (box.x1 - box.x0 - gapMm * (columns.length - 1)) / total);
  const parts: string[] = [];
  let x = box.x0;
  columns.forEach((column, c) => {
    const width = (wanted[c] ?? 0) * squeeze;
    column.forEach(({ sample, text }, r) => {
      const y = box.y0 + r * rowMm;
      parts.push(sample({ x0: x, y0: y + 0.4, x1: x + 6, y1: y + 2.9 }), svgText(x + 7.2, y + 2.5, fitText(text, width - 7.2, size), { size }));
    });
    x += width + gapMm;
  });
  return parts.join('\n');
}

/** Samples: an area of a colour or hatch, and a line. */
export function areaSample(fill: string, stroke: string = INK.quiet, dash = ''): LegendEntry['sample'] {
  return (box) =>
    `<rect x="${mm(box.x0)}" y="${mm(box.y0)}" width="${mm(box.x1 - box.x0)}" height="${mm(box.y1 - box.y0)}" fill="${fill}" stroke="${stroke}" stroke-width="0.15"${dash === '' ? '' : ` stroke-dasharray="${dash}"`}/>`;
}

export function lineSample(colour: string, width: number, dash = ''): LegendEntry['sample'] {
  return (box) => svgLine(box.x0, (box.y0 + box.y1) / 2, box.x1, (box.y0 + box.y1) / 2, colour, width, dash);
}

/** The four tints with the depths between them. */
export function tintEntries(breaks: readonly [number, number, number]): LegendEntry[] {
  const text = (value: number): string => formatNumber(value, Number.isInteger(value) ? 0 : decimalsOf(0.1));
  const [a, b, c] = breaks;
  const names = [`under ${text(a)} m`, `${text(a)} to ${text(b)} m`, `${text(b)} to ${text(c)} m`, `${text(c)} m and deeper`];
  return names.map((name, i) => ({ sample: areaSample(INK.tints[i] ?? INK.paper), text: name }));
}

/** A scale bar of four parts, at most so long. */
export function drawScaleBar(chart: ChartFrame, x: number, y: number, maxMm: number): string {
  const lengthM = niceBelow((maxMm * chart.scale) / 1000);
  if (!Number.isFinite(lengthM)) return '';
  const lengthMm = (lengthM * 1000) / chart.scale;
  const pieces = String(lengthM).replace(/[.0]/g, '').startsWith('5') ? 5 : 4;
  const parts = [svgRect(x, y, lengthMm, 1.2, INK.paper, INK.ink, 0.15)];
  for (let i = 0; i < pieces; i += 2) parts.push(svgRect(x + (i * lengthMm) / pieces, y, lengthMm / pieces, 1.2, INK.ink));
  const unit = lengthM >= 2000 ? 'km' : 'm';
  const shown = (share: number): string => {
    const value = (lengthM * share) / (unit === 'km' ? 1000 : 1);
    return formatNumber(value, Number.isInteger(value) ? 0 : value < 1 ? 2 : 1);
  };
  parts.push(svgText(x, y - 0.9, '0', { size: 2.4, anchor: 'middle' }));
  if (pieces === 4) parts.push(svgText(x + lengthMm / 2, y - 0.9, shown(0.5), { size: 2.4, anchor: 'middle' }));
  parts.push(svgText(x + lengthMm, y - 0.9, `${shown(1)} ${unit}`, { size: 2.4, anchor: 'middle' }));
  return parts.join('');
}

/** Where true north lies on the sheet, clockwise from its top edge [deg]: the convergence of the frame's meridians. */
export function trueNorthDeg(chart: ChartFrame, frame: Frame): number {
  const { ground } = chart;
  const xM = (ground.westM + ground.eastM) / 2;
  const yM = (ground.southM + ground.northM) / 2;
  const [latDeg, lonDeg] = frame.toGeographic(xM, yM);
  const [xNorthM, yNorthM] = frame.toFrame(latDeg + 0.001, lonDeg);
  return (Math.atan2(xNorthM - xM, yNorthM - yM) * 180) / Math.PI;
}

/** A rose: a circle graduated every ten degrees from true north, and an arrow to magnetic north where the variation is known. */
export function drawRose(chart: ChartFrame, frame: Frame, variation: ReportInput['variation'], cx: number, cy: number, radius: number): string {
  const north = trueNorthDeg(chart, frame);
  const at = (bearingDeg: number, r: number): [number, number] => {
    const angle = ((north + bearingDeg) * Math.PI) / 180;
    return [cx + r * Math.sin(angle), cy - r * Math.cos(angle)];
  };
  const parts = [
    `<circle cx="${mm(cx)}" cy="${mm(cy)}" r="${mm(radius)}" fill="none" stroke="${INK.accent}" stroke-width="0.15"/>`,
    `<circle cx="${mm(cx)}" cy="${mm(cy)}" r="${mm(radius - 1.1)}" fill="none" stroke="${INK.accent}" stroke-width="0.1"/>`,
  ];
  for (let bearing = 0; bearing < 360; bearing += 10) {
    const [x1, y1] = at(bearing, radius);
    const [x2, y2] = at(bearing, radius - (bearing % 90 === 0 ? 2.2 : bearing % 30 === 0 ? 1.7 : 1.1));
    parts.push(svgLine(x1, y1, x2, y2, INK.accent, bearing % 30 === 0 ? 0.16 : 0.1));
  }
  const [tipX, tipY] = at(0, radius + 2.6);
  const [leftX, leftY] = at(-7, radius);
  const [rightX, rightY] = at(7, radius);
  parts.push(`<path d="M${mm(tipX)} ${mm(tipY)}L${mm(rightX)} ${mm(rightY)}L${mm(leftX)} ${mm(leftY)}Z" fill="${INK.accent}"/>`);
  if (variation !== null && Number.isFinite(variation.variationDeg)) {
    const [endX, endY] = at(variation.variationDeg, radius - 2.4);
    const [fromX, fromY] = at(variation.variationDeg + 180, radius - 2.4);
    const [barbX, barbY] = at(variation.variationDeg + 9, radius - 4.4);
    parts.push(svgLine(fromX, fromY, endX, endY, INK.accent, 0.2), svgLine(endX, endY, barbX, barbY, INK.accent, 0.2));
    const text = `var ${formatVariation(variation.variationDeg)} (${variation.date.slice(0, 4)})`;
    parts.push(svgText(cx, cy + radius + 3, text, { size: 2.3, weight: 500, colour: INK.accent, anchor: 'middle' }));
  } else {
    parts.push(svgText(cx, cy + radius + 3, 'true north', { size: 2.3, colour: INK.accent, anchor: 'middle' }));
  }
  return parts.join('');
}
