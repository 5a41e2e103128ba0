import { pointInPolygon, polygonAreaM2 } from '../geo/ring.js';
import { polylineLengthM } from '../geo/segment.js';
import type { Polygon } from '../geo/shapes.js';
import type { ChartFrame, GroundBox } from './chart-frame.js';
import { boxesOverlap, layOutChart, polygonsBox } from './chart-frame.js';
import { pathOf, polygonsPath, sheetLine } from './chart-paths.js';
import { trueNorthDeg } from './chart-strip.js';
import type { Figure } from './document.js';
import { drawFieldBorder, FIELD_BORDER_MM } from './field-sheet-border.js';
import type { SheetClock } from './field-sheet-clock.js';
import { FIELD_INK, fieldText, SMALL_MM } from './field-sheet-ink.js';
import type { FieldSheetInput } from './field-sheet-input.js';
import { drawKey, drawNorth, drawScale, KEY_MM, swatch } from './field-sheet-key.js';
import type { KeyEntry } from './field-sheet-key.js';
import { drawLinkMap } from './field-sheet-link.js';
import { formatNumber, formatScale } from './figures.js';
import { textWidth } from './fonts.js';
import { isWithin, LabelIndex } from './label-index.js';
import type { Box } from './label-index.js';
import { mm, svgFigure, svgRect } from './svg-text.js';
import { OUTCOMES } from '../rehearse/rehearsal.js';
import type { Place, WorstMoment } from '../rehearse/rehearsal.js';

const { black, white, land, grey } = FIELD_INK;

/** A line as a sortie runs it. */
export interface RunLine {
  /** Place in the run order of the day, from 1. */
  readonly order: number;
  readonly sortie: number;
  readonly number: number;
  readonly path: Float64Array;
}

/** Lines as they are run, sortie after sortie. */
export function runLines(input: FieldSheetInput): RunLine[] {
  return input.sorties
    .flatMap(({ sortie }) => sortie.legs.filter((leg) => leg.kind === 'line' && leg.path.length >= 4).map((leg) => ({ sortie: sortie.number, number: leg.line ?? 0, path: leg.path })))
    .map((line, i) => ({ ...line, order: i + 1 }));
}

/** The worst moment of the day: the worst outcome first, then as the rehearsal ranks it. */
export function worstOfDay(input: FieldSheetInput): WorstMoment | null {
  let worst: WorstMoment | null = null;
  for (const { moments } of input.sorties) {
    const next = moments?.worst ?? null;
    if (next !== null && (worst === null || OUTCOMES.indexOf(next.outcome) > OUTCOMES.indexOf(worst.outcome))) worst = next;
  }
  return worst;
}

/**
 * The field chart: land, keep-outs, lines with their place in the run order, ways between them, launch, base, worst moment,
 * and where the link ends. Black, white and grey; no type under 9 pt.
 * @throws RangeError for a sheet under 100 x 60 mm
 */
export function drawFieldChart(input: FieldSheetInput, clock: SheetClock, widthMm: number, heightMm: number): Figure & { readonly scale: number } {
  if (!(widthMm >= 100 && heightMm >= 60)) throw new RangeError(`field chart of ${widthMm} x ${heightMm} mm: expected at least 100 x 60`);
  const map = { x0: FIELD_BORDER_MM.left, y0: FIELD_BORDER_MM.top, x1: widthMm - FIELD_BORDER_MM.right, y1: heightMm - FIELD_BORDER_MM.bottom - KEY_MM };
  const chart = layOutChart(groundOf(input), map);
  const labels = new LabelIndex();
  const lines = runLines(input);
  const border = drawFieldBorder(chart, input.frame);
  const marks = drawMarks(chart, input, clock, labels);
  const runs = drawRuns(chart, input, lines, labels);
  const link = drawLinkMap(chart, input, labels);
  const keepouts = drawKeepouts(chart, input.keepouts, labels);
  const landPath = polygonsPath(chart, input.shore);
  const areaPath = polygonsPath(chart, input.area);
  const inside = [
    svgRect(map.x0, map.y0, map.x1 - map.x0, map.y1 - map.y0, white),
    landPath === '' ? '' : `<path d="${landPath}" fill="${land}" fill-rule="evenodd" stroke="${black}" stroke-width="0.4" stroke-linejoin="round"/>`,
    border.crosses,
    areaPath === '' ? '' : `<path d="${areaPath}" fill="none" stroke="${grey}" stroke-width="0.35" stroke-dasharray="2 1"/>`,
    link.lines,
    keepouts.shapes,
    runs.lines,
    runs.labels,
    keepouts.names,
    link.labels,
    marks,
  ];
  const entries: KeyEntry[] = [
    { sample: swatch.line(black, 0.6), text: 'line; ringed: its turn' },
    { sample: swatch.line(black, 0.3, '0.3 0.9', 'round'), text: 'way between' },
    ...(areaPath === '' ? [] : [{ sample: swatch.line(grey, 0.35, '2 1'), text: 'survey area' }]),
    ...(onMap(chart, input.keepouts) ? [{ sample: swatch.area('url(#f-keepout)', 0.5), text: 'keep-out' }] : []),
    ...(onMap(chart, input.shore) ? [{ sample: swatch.area(land, 0.4), text: 'land' }] : []),
    ...link.entries,
  ];
  const keyTop = map.y1 + FIELD_BORDER_MM.bottom + 1.6;
  const clip = `<clipPath id="f-map"><rect x="${mm(map.x0)}" y="${mm(map.y0)}" width="${mm(map.x1 - map.x0)}" height="${mm(map.y1 - map.y0)}"/></clipPath>`;
  const hatch = `<pattern id="f-keepout" width="2" height="2" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 1H2M1 0V2" stroke="${black}" stroke-width="0.18"/></pattern>`;
  const svg = svgFigure(widthMm, heightMm, `Field chart of ${input.name}`, [
    `<defs>${clip}${hatch}</defs>`,
    `<g clip-path="url(#f-map)">`,
    ...inside,
    '</g>',
    border.frame,
    drawKey(entries, { x0: map.x0, y0: keyTop, x1: widthMm - 60, y1: heightMm }),
    drawScale(chart, widthMm - 54, keyTop + 5, 36),
    fieldText(widthMm - 54, keyTop + 11, formatScale(chart.scale), { weight: 600 }),
    drawNorth(widthMm - 6, keyTop + 5.8, trueNorthDeg(chart, input.frame)),
  ]);
  return { svg, widthMm, heightMm, scale: chart.scale, alt: `Chart of ${input.name}, ${formatScale(chart.scale)}: ${lines.length} lines in ${input.sorties.length === 1 ? 'one sortie' : `${input.sorties.length} sorties`}` };
}

/** Area, lines, ways, launch and base; a base far off (over twice as far as the rest is wide) is left outside. */
function groundOf(input: FieldSheetInput): GroundBox {
  let box = polygonsBox(input.area);
  const take = (xM: number, yM: number): void => {
    if (!Number.isFinite(xM) || !Number.isFinite(yM)) return;
    box = box === null
      ? { westM: xM, eastM: xM, southM: yM, northM: yM }
      : { westM: Math.min(box.westM, xM), eastM: Math.max(box.eastM, xM), southM: Math.min(box.southM, yM), northM: Math.max(box.northM, yM) };
  };
  for (const { sortie } of input.sorties) for (const { path } of sortie.legs) for (let i = 0; i + 1 < path.length; i += 2) take(path[i] as number, path[i + 1] as number);
  take(input.launch.xM, input.launch.yM);
  const own = box as GroundBox | null;
  if (own === null) throw new RangeError('field chart: no area, no sortie and no launch point: nothing to draw');
  if (input.base !== null) {
    const across = Math.max(own.eastM - own.westM, own.northM - own.southM, 50);
    const { xM, yM } = input.base;
    if (xM > own.westM - across && xM < own.eastM + across && yM > own.southM - across && yM < own.northM + across) take(xM, yM);
  }
  return box as unknown as GroundBox;
}

function onMap(chart: ChartFrame, polygons: readonly Polygon[]): boolean {
  return polygons.some((polygon) => {
    const box = polygonsBox([polygon]);
    return box !== null && boxesOverlap(box, chart.ground);
  });
}

/** Hatch within a heavy edge, named where there is room. */
function drawKeepouts(chart: ChartFrame, keepouts: readonly Polygon[], labels: LabelIndex): { readonly shapes: string; readonly names: string } {
  const data = polygonsPath(chart, keepouts);
  if (data === '') return { shapes: '', names: '' };
  const names: string[] = [];
  for (const polygon of keepouts) {
    const box = polygonsBox([polygon]);
    if (box === null) continue;
    const half = textWidth('KEEP OUT', SMALL_MM, 600) / 2;
    const centre = (chart.xMm(box.westM) + chart.xMm(box.eastM)) / 2;
    const middle = (chart.yMm(box.northM) + chart.yMm(box.southM)) / 2 + 1.1;
    const [west, east] = [chart.xMm(box.westM) - half - 1, chart.xMm(box.eastM) + half + 1];
    const places: readonly (readonly [number, number])[] = [[centre, chart.yMm(box.northM) - 1.2], [centre, chart.yMm(box.southM) + 3.6], [east, middle], [west, middle], [centre, middle], [east, middle - 4], [west, middle - 4], [east, middle + 4], [west, middle + 4]];
    for (const [x, y] of places) {
      const place = { x0: x - half, x1: x + half, y0: y - 2.6, y1: y + 0.6 };
      if (!isWithin(place, chart.map) || !labels.tryTake(place)) continue;
      names.push(fieldText(x, y, 'KEEP OUT', { weight: 600, anchor: 'middle', halo: white }));
      break;
    }
  }
  return {
    shapes: `<path d="${data}" fill="${white}" fill-rule="evenodd"/><path d="${data}" fill="url(#f-keepout)" fill-rule="evenodd" stroke="${black}" stroke-width="0.5" stroke-linejoin="round"/>`,
    names: names.join(''),
  };
}

/** Lines heavy, ways between them dotted, arrows the way they run, and their places in the run order. */
function drawRuns(chart: ChartFrame, input: FieldSheetInput, lines: readonly RunLine[], labels: LabelIndex): { readonly lines: string; readonly labels: string } {
  const run = new Set(lines.map(({ number }) => number));
  const idle = input.lines.filter((line) => !run.has(line.number)).flatMap((line) => sheetLine(chart, [line.startXM, line.startYM, line.endXM, line.endYM]).map((points) => pathOf(points)));
  const ways = input.sorties.flatMap(({ sortie }) => sortie.legs.filter((leg) => leg.kind !== 'line').flatMap((leg) => sheetLine(chart, leg.path).map((points) => pathOf(points))));
  const heavy = lines.flatMap(({ path }) => sheetLine(chart, path).map((points) => pathOf(points)));
  const arrows: string[] = [];
  const closed = [...input.keepouts, ...input.shore];
  const metres = chart.scale / 1000;
  const texts: string[] = [];
  /* Between neighbouring lines in print: the area over the lines' length. Where that is little, lines are thin and few are named. */
  const lengthM = lines.reduce((sum, { path }) => sum + polylineLengthM(path), 0);
  const apartMm = input.area.length === 0 ? 10 : input.area.reduce((sum, polygon) => sum + polygonAreaM2(polygon), 0) / Math.max(1, lengthM) / metres;
  const widthMm = Math.max(0.22, Math.min(0.6, 0.22 * apartMm));
  const isDense = apartMm < 2.6;
  /* First and last of each sortie take their places first. */
  const isEnd = (i: number): boolean => lines[i - 1]?.sortie !== lines[i]?.sortie || lines[i + 1]?.sortie !== lines[i]?.sortie;
  const sequence = lines.map((_, i) => i).sort((a, b) => Number(isEnd(b)) - Number(isEnd(a)) || a - b);
  for (const i of sequence) {
    const { path, order } = lines[i] as RunLine;
    if (isDense && !isEnd(i) && order % 5 !== 0) continue;
    const [ax, ay] = [chart.xMm(path[0] as number), chart.yMm(path[1] as number)];
    const [bx, by] = [chart.xMm(path[path.length - 2] as number), chart.yMm(path[path.length - 1] as number)];
    const length = Math.hypot(bx - ax, by - ay);
    if (!(length > 0)) continue;
    const [ux, uy] = [(bx - ax) / length, (by - ay) / length];
    if (length > 8) {
      const [x, y] = [ax + ux * length * 0.62, ay + uy * length * 0.62];
      arrows.push(`<path d="M${mm(x + 1.5 * ux)} ${mm(y + 1.5 * uy)}L${mm(x - 1.1 * ux - 1.1 * uy)} ${mm(y - 1.1 * uy + 1.1 * ux)}L${mm(x - 1.1 * ux + 1.1 * uy)} ${mm(y - 1.1 * uy - 1.1 * ux)}Z"/>`);
    }
    const text = String(order);
    const radius = Math.max(2.1, textWidth(text, SMALL_MM, 600) / 2 + 0.7);
    /* At the start, else drawn back along the way or in along the line, never far from the start. */
    for (const along of [-radius - 0.4, radius + 0.6, ...(isDense ? [] : [3 * radius + 1.4, -3 * radius - 1.2])]) {
      if (along > 0.45 * length) continue;
      const [x, y] = [ax + ux * along, ay + uy * along];
      const box = { x0: x - radius, x1: x + radius, y0: y - radius, y1: y + radius };
      const [xM, yM] = [path[0] as number, path[1] as number];
      const isIn = along < 0 && closed.some((polygon) => pointInPolygon(polygon, xM + along * metres * ux, yM - along * metres * uy));
      if (isIn || !isWithin(box, chart.map) || !labels.tryTake(box)) continue;
      texts.push(`<circle cx="${mm(x)}" cy="${mm(y)}" r="${mm(radius)}" fill="${white}" stroke="${black}" stroke-width="0.25"/>${fieldText(x, y + SMALL_MM * 0.36, text, { weight: 600, anchor: 'middle' })}`);
      break;
    }
  }
  const path = (data: readonly string[], attributes: string): string => (data.length === 0 ? '' : `<path d="${data.join('')}" fill="none" ${attributes}/>`);
  return {
    lines:
      path(idle, `stroke="${grey}" stroke-width="0.2"`) +
      path(ways, `stroke="${black}" stroke-width="0.3" stroke-dasharray="0.3 0.9" stroke-linecap="round"`) +
      path(heavy, `stroke="${black}" stroke-width="${mm(widthMm)}"`) +
      (arrows.length === 0 ? '' : `<g fill="${black}">${arrows.join('')}</g>`),
    labels: texts.join(''),
  };
}

/** Launch, base and worst moment, each with its name beside it. */
function drawMarks(chart: ChartFrame, input: FieldSheetInput, clock: SheetClock, labels: LabelIndex): string {
  const parts: string[] = [];
  const put = (place: Place, name: string, draw: (x: number, y: number) => string): void => {
    const [x, y] = [chart.xMm(place.xM), chart.yMm(place.yM)];
    if (!(x >= chart.map.x0 && x <= chart.map.x1 && y >= chart.map.y0 && y <= chart.map.y1)) return;
    labels.take({ x0: x - 2.4, x1: x + 2.4, y0: y - 2.4, y1: y + 2.4 });
    parts.push(draw(x, y));
    const size = 3.6;
    const width = textWidth(name, size, 600);
    const places: readonly [number, number][] = [[x + 3.2, y + 1.3], [x - 3.2 - width, y + 1.3], [x - width / 2, y - 3.4], [x - width / 2, y + 6]];
    const boxOf = ([left, base]: readonly [number, number]): Box => ({ x0: left - 0.4, x1: left + width + 0.4, y0: base - 2.9, y1: base + 0.8 });
    const chosen = places.find((each) => isWithin(boxOf(each), chart.map) && labels.isFree(boxOf(each))) ?? places.find((each) => isWithin(boxOf(each), chart.map));
    if (chosen === undefined) return;
    labels.take(boxOf(chosen));
    parts.push(fieldText(chosen[0], chosen[1], name, { size, weight: 600, halo: white }));
  };
  put(input.launch, 'Launch', (x, y) => `<path d="M${mm(x)} ${mm(y - 2.4)}L${mm(x + 2.1)} ${mm(y + 1.3)}L${mm(x - 2.1)} ${mm(y + 1.3)}Z" fill="${black}" stroke="${white}" stroke-width="0.3"/>`);
  if (input.base !== null) put(input.base, 'Base', (x, y) => `<circle cx="${mm(x)}" cy="${mm(y)}" r="1.9" fill="${white}" stroke="${black}" stroke-width="0.5"/><circle cx="${mm(x)}" cy="${mm(y)}" r="0.75" fill="${black}"/>`);
  const worst = worstOfDay(input);
  if (worst !== null) {
    put(worst, `Worst ${clock.local(worst.timeS)}`, (x, y) => `<circle cx="${mm(x)}" cy="${mm(y)}" r="2.4" fill="${white}" stroke="${black}" stroke-width="0.5"/><path d="M${mm(x - 1.4)} ${mm(y - 1.4)}L${mm(x + 1.4)} ${mm(y + 1.4)}M${mm(x - 1.4)} ${mm(y + 1.4)}L${mm(x + 1.4)} ${mm(y - 1.4)}" stroke="${black}" stroke-width="0.7"/>`);
  }
  return parts.join('');
}

/** What the caption under the chart says of the base where it is not on it. */
export function baseElsewhere(input: FieldSheetInput): string {
  if (input.base === null) return '';
  const own = groundOf(input);
  const { xM, yM } = input.base;
  if (xM >= own.westM && xM <= own.eastM && yM >= own.southM && yM <= own.northM) return '';
  return `The base lies off the chart, ${formatNumber(Math.hypot(xM - input.launch.xM, yM - input.launch.yM))} m from the launch point.`;
}
