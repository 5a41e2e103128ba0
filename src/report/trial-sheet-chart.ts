import { trialPathM } from '../boat/trial-plan-features.js';
import type { PlannedTrial } from '../boat/trial-plan-shape.js';
import type { Polygon } from '../geo/shapes.js';
import { BORDER_MM, drawBorder } from './chart-border.js';
import { boxesOverlap, layOutChart, polygonsBox, type ChartFrame, type GroundBox } from './chart-frame.js';
import { hatchDefinitions } from './chart-marks.js';
import { pathOf, polygonsPath, sheetLine } from './chart-paths.js';
import { areaSample, drawRose, drawScaleBar, lineSample, type LegendEntry } from './chart-strip.js';
import { formatScale } from './figures.js';
import { textWidth } from './fonts.js';
import { INK } from './ink.js';
import { isWithin, LabelIndex, type Box } from './label-index.js';
import { mm, svgFigure, svgLine, svgRect, svgText } from './svg-text.js';
import type { TrialSheetInput } from './trial-sheet-input.js';

/** Trials drawn as one mark: on one line, or from one place. */
interface Mark {
  /** On the sheet [mm]; circles to both sides from one approach are two. */
  readonly lines: readonly Float64Array[];
  readonly numbers: number[];
  readonly style: 'run' | 'turn' | 'weave';
  /** An arrow at the start as well. */
  readonly bothWays: boolean;
}

const STRIP_MM = 25;
const NUMBER_MM = 3.3;
const LINE_MM = { run: 0.55, turn: 0.4, weave: 0.4 } as const;
/** Lines that lie within this of each other are one on paper [m]. */
const SAME_M = 1.5;
/** Water so much wider than what is run in it is not all shown. */
const WIDE = 2.2;

/**
 * The water with the trials numbered in the order to run them, within a graduated border, with scale, rose and legend.
 * @throws RangeError for a sheet smaller than 120 x 100 mm
 */
export function drawTrialChart(input: TrialSheetInput, widthMm: number, heightMm: number): { readonly svg: string; readonly scale: number } {
  if (!(widthMm >= 120 && heightMm >= 100)) throw new RangeError(`chart of ${widthMm} x ${heightMm} mm: expected at least 120 x 100`);
  const map = { x0: BORDER_MM.left, y0: BORDER_MM.top, x1: widthMm - BORDER_MM.right, y1: heightMm - BORDER_MM.bottom - STRIP_MM };
  const chart = layOutChart(groundOf(input), map);
  const keepouts = input.keepouts.filter((polygon) => !input.shore.includes(polygon));
  const { graticule, border } = drawBorder(chart, input.frame);
  const marks = marksOf(input, chart);
  const labels = new LabelIndex();
  const land = polygonsPath(chart, input.shore);
  const water = polygonsPath(chart, input.water);
  const barred = polygonsPath(chart, keepouts);
  const inside = [
    svgRect(map.x0, map.y0, map.x1 - map.x0, map.y1 - map.y0, INK.unsurveyed),
    `<path d="${water}" fill="${INK.tints[3]}" fill-rule="evenodd"/>`,
    graticule,
    `<path d="${water}" fill="none" stroke="${INK.accent}" stroke-width="0.3" stroke-dasharray="1 0.8"/>`,
    land === '' ? '' : `<path d="${land}" fill="${INK.land}" fill-rule="evenodd" stroke="${INK.ink}" stroke-width="0.3" stroke-linejoin="round"/>`,
    barred === '' ? '' : `<path d="${barred}" fill="url(#t-keepout)" fill-rule="evenodd" stroke="${INK.accent}" stroke-width="0.25" stroke-dasharray="2.4 0.7 0.6 0.7"/>`,
    rangeRing(input, chart),
    ...marks.map(drawMark),
    ...places(input, chart, labels),
    ...drawNumbers(marks, chart, labels),
  ];
  const kinds = new Set(input.plan.trials.map(({ kind }) => kind));
  const entries: LegendEntry[] = [
    { sample: sampleLine(true, LINE_MM.run), text: 'run there and back, with its numbers' },
    ...(kinds.has('turning-circle') ? [{ sample: circleSample, text: 'approach and turning circle' }] : []),
    ...(kinds.has('spin') ? [{ sample: spinSample, text: 'spins on the spot' }] : []),
    ...(kinds.has('zig-zag') ? [{ sample: weaveSample, text: 'zig-zag' }] : []),
    ...(input.launch === null ? [] : [{ sample: (box: Box) => launchMark((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2), text: 'launch' }]),
    ...(input.base === null ? [] : [{ sample: (box: Box) => baseMark((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2), text: 'base, and how far its link carries' }]),
    { sample: lineSample(INK.accent, 0.3, '1 0.8'), text: 'limit of the water' },
    ...(touches(chart, keepouts) ? [{ sample: areaSample('url(#t-keepout)', INK.accent, '2.4 0.7 0.6 0.7'), text: 'keep-out' }] : []),
    ...(touches(chart, input.shore) ? [{ sample: areaSample(INK.land, INK.ink), text: 'land' }] : []),
  ];
  const below = map.y1 + BORDER_MM.bottom + 3;
  const clip = `<clipPath id="t-map"><rect x="${mm(map.x0)}" y="${mm(map.y0)}" width="${mm(map.x1 - map.x0)}" height="${mm(map.y1 - map.y0)}"/></clipPath>`;
  const svg = svgFigure(widthMm, heightMm, `Chart of the trials, ${input.name}`, [
    `<defs>${clip}${hatchDefinitions('t')}</defs>`,
    '<g clip-path="url(#t-map)">',
    ...inside,
    '</g>',
    border,
    ...drawEntries(entries, 2, below),
    drawScaleBar(chart, widthMm - 70, below + 6, 40),
    svgText(widthMm - 70, below + 11.5, formatScale(chart.scale), { size: 2.7 }),
    drawRose(chart, input.frame, input.variation, widthMm - 12, below + 10.5, 7.6),
  ]);
  return { svg, scale: chart.scale };
}

const LEGEND_MM = 2.8;
const LEGEND_ROWS = 5;

/** The legend in columns of five, in type large enough for sunlight. */
function drawEntries(entries: readonly LegendEntry[], x0: number, y0: number): string[] {
  const parts: string[] = [];
  let x = x0;
  for (let i = 0; i < entries.length; i += LEGEND_ROWS) {
    const column = entries.slice(i, i + LEGEND_ROWS);
    column.forEach(({ sample, text }, row) => {
      const y = y0 + row * 4.3;
      parts.push(sample({ x0: x, y0: y + 0.4, x1: x + 6, y1: y + 2.9 }), svgText(x + 7.4, y + 2.65, text, { size: LEGEND_MM }));
    });
    x += 11 + Math.max(...column.map(({ text }) => textWidth(text, LEGEND_MM)));
  }
  return parts;
}

/** All the water, or, where it is much wider, what the trials take of it. */
function groundOf(input: TrialSheetInput): GroundBox {
  const xs: number[] = [];
  const ys: number[] = [];
  for (const trial of input.plan.trials) trialPathM(trial).forEach((value, i) => (i % 2 === 0 ? xs : ys).push(value));
  for (const place of [input.launch, input.base]) {
    if (place === null) continue;
    xs.push(place.xM);
    ys.push(place.yM);
  }
  const all = polygonsBox(input.water) ?? { westM: 0, southM: 0, eastM: 100, northM: 100 };
  if (xs.length === 0) return all;
  const run = { westM: Math.min(...xs), eastM: Math.max(...xs), southM: Math.min(...ys), northM: Math.max(...ys) };
  const room = 0.12 * Math.max(run.eastM - run.westM, run.northM - run.southM, 50);
  const near = { westM: run.westM - room, eastM: run.eastM + room, southM: run.southM - room, northM: run.northM + room };
  const wide = Math.max((all.eastM - all.westM) / (near.eastM - near.westM), (all.northM - all.southM) / (near.northM - near.southM)) > WIDE;
  if (wide) return near;
  return { westM: Math.min(all.westM, run.westM), eastM: Math.max(all.eastM, run.eastM), southM: Math.min(all.southM, run.southM), northM: Math.max(all.northM, run.northM) };
}

/** Trials on one line under one mark, the longest drawn; circles from one place likewise. */
function marksOf(input: TrialSheetInput, chart: ChartFrame): Mark[] {
  const groups: { trials: PlannedTrial[]; style: Mark['style'] }[] = [];
  for (const trial of input.plan.trials) {
    if (trialPathM(trial).length === 0) continue;
    const style = trial.kind === 'zig-zag' ? 'weave' : Number.isFinite(trial.centreXM) ? 'turn' : 'run';
    const known = groups.find((group) => group.style === style && (style === 'run' ? onOneLine(group.trials, trial) : style === 'turn' && sameApproach(group.trials[0]!, trial)));
    if (known === undefined) groups.push({ trials: [trial], style });
    else known.trials.push(trial);
  }
  return groups.flatMap(({ trials, style }): Mark[] => {
    const longest = trials.reduce((a, b) => (spanM(b) > spanM(a) ? b : a));
    const paths = style === 'turn' ? trials.map(trialPathM) : [style === 'weave' ? weaveOf(longest) : trialPathM(longest)];
    const lines = paths.flatMap((path) => sheetLine(chart, path));
    return lines.length === 0 ? [] : [{ lines, numbers: trials.map(({ number }) => number), style, bothWays: style === 'run' && longest.reciprocal }];
  });
}

function spanM(trial: PlannedTrial): number {
  const { path } = trial;
  return path.length >= 4 ? Math.hypot(path[2]! - path[0]!, path[3]! - path[1]!) : 0;
}

/** Whether a trial lies on the longest line of a group, or the other way about. */
function onOneLine(group: readonly PlannedTrial[], trial: PlannedTrial): boolean {
  const longest = group.reduce((a, b) => (spanM(b) > spanM(a) ? b : a));
  const [long, short] = spanM(longest) >= spanM(trial) ? [longest.path, trial.path] : [trial.path, longest.path];
  const dx = long[2]! - long[0]!;
  const dy = long[3]! - long[1]!;
  const length = Math.hypot(dx, dy);
  return [0, 2].every((i) => {
    const px = short[i]! - long[0]!;
    const py = short[i + 1]! - long[1]!;
    const along = (px * dx + py * dy) / length;
    return Math.abs(px * dy - py * dx) / length < SAME_M && along > -SAME_M && along < length + SAME_M;
  });
}

function sameApproach(a: PlannedTrial, b: PlannedTrial): boolean {
  if (a.kind !== b.kind || a.path.length < 4 || b.path.length < 4) return false;
  return [0, 2].every((i) => Math.hypot(a.path[i]! - b.path[i]!, a.path[i + 1]! - b.path[i + 1]!) < SAME_M);
}

/** A zig-zag as a weave about its line after the run-up; how wide it is drawn says nothing of the boat. */
function weaveOf(trial: PlannedTrial): Float64Array {
  const [ax, ay, bx, by] = trial.path as unknown as [number, number, number, number];
  const length = Math.hypot(bx - ax, by - ay);
  const [ux, uy] = [(bx - ax) / length, (by - ay) / length];
  const out = [ax, ay];
  const turns = 6;
  for (let k = 0; k <= 8 * turns; k++) {
    const along = trial.runUpM + ((length - trial.runUpM) * k) / (8 * turns);
    const aside = 3.5 * Math.sin((Math.PI * k) / 8);
    out.push(ax + along * ux + aside * uy, ay + along * uy - aside * ux);
  }
  return Float64Array.from(out);
}

function drawMark(mark: Mark): string {
  const { lines, style, bothWays } = mark;
  const width = LINE_MM[style];
  const data = lines.map((points) => pathOf(points)).join('');
  // The arrow of a circle stands where its first quarter ends, so that the side shows.
  const heads = lines.flatMap((points) => (style === 'turn' ? [arrow(points, quarterOf(points), width)] : [arrow(points, points.length - 2, width), ...(bothWays ? [arrow(points, 0, width)] : [])]));
  return `<path d="${data}" fill="none" stroke="${INK.tints[3]}" stroke-width="${mm(width + 0.7)}" stroke-linejoin="round"/><path d="${data}" fill="none" stroke="${INK.ink}" stroke-width="${width}" stroke-linejoin="round"/>${heads.join('')}`;
}

/** The vertex where a quarter of the turn is done; the first of a round without an approach counts so too. */
function quarterOf(points: ArrayLike<number>): number {
  const vertices = points.length / 2;
  return 2 * Math.max(1, Math.round(1 + (vertices - 2) / 4));
}

/** An arrowhead at a vertex, in the direction the line comes to it. */
function arrow(points: ArrayLike<number>, at: number, width: number): string {
  const from = at === 0 ? 2 : at - 2;
  const x = points[at]!;
  const y = points[at + 1]!;
  const length = Math.hypot(x - points[from]!, y - points[from + 1]!) || 1;
  const [ux, uy] = [(x - points[from]!) / length, (y - points[from + 1]!) / length];
  const [long, half] = width === LINE_MM.turn ? [1.5, 0.6] : [1.6 + 2 * width, 0.55 + width];
  return `<path d="M${mm(x)} ${mm(y)}L${mm(x - long * ux - half * uy)} ${mm(y - long * uy + half * ux)}L${mm(x - long * ux + half * uy)} ${mm(y - long * uy - half * ux)}Z" fill="${INK.ink}"/>`;
}

type Place = { readonly x: number; readonly y: number; readonly fromX: number; readonly fromY: number; readonly gapMm: number };

/** A pill farther off than this has a line to its mark [mm]. */
const NEAR_MM = 1;

/** Numbers in a pill beside each mark, where there is room. */
function drawNumbers(marks: readonly Mark[], chart: ChartFrame, labels: LabelIndex): string[] {
  // Small marks first: long ones have more places to choose from.
  const order = [...marks].sort((a, b) => extent(a) - extent(b));
  return order.map(({ lines, numbers }) => {
    const text = numberSpans(numbers);
    const half = textWidth(text, NUMBER_MM, 600) / 2 + 1.1;
    const tall = NUMBER_MM * 0.5 + 0.75;
    const candidates: Place[] = [];
    for (const gapMm of [0.9, 2.6, 5, 9]) {
      for (const share of [0.5, 0.3, 0.7, 0.15, 0.85, 0.02, 0.98]) {
        for (const points of lines) {
          const { x, y, nx, ny } = placeOn(points, share);
          const clearMm = gapMm + Math.abs(nx) * half + Math.abs(ny) * tall;
          for (const side of [-1, 1]) candidates.push({ x: x + side * clearMm * nx, y: y + side * clearMm * ny, fromX: x, fromY: y, gapMm });
        }
      }
    }
    const boxAt = ({ x, y }: Place): Box => ({ x0: x - half, x1: x + half, y0: y - tall, y1: y + tall });
    const isOpen = (at: Place): boolean => isWithin(boxAt(at), chart.map) && labels.isFree(boxAt(at)) && [0.1, 0.3, 0.5, 0.7].every((share) => labels.isFree(dot(at.fromX + share * (at.x - at.fromX), at.fromY + share * (at.y - at.fromY))));
    const good = candidates.find((at) => isOpen(at) && marks.every((mark) => mark.lines.every((points) => !crosses(points, boxAt(at))))) ?? candidates.find(isOpen) ?? candidates[0]!;
    const box = boxAt(good);
    labels.take(box);
    const leader = good.gapMm > NEAR_MM ? svgLine(good.fromX, good.fromY, good.x, good.y, INK.ink, 0.2) : '';
    return `${leader}<rect x="${mm(box.x0)}" y="${mm(box.y0)}" width="${mm(2 * half)}" height="${mm(2 * tall)}" rx="${mm(tall)}" fill="${INK.paper}" stroke="${INK.ink}" stroke-width="0.25"/>${svgText(good.x, good.y + NUMBER_MM * 0.35, text, { size: NUMBER_MM, weight: 600, anchor: 'middle' })}`;
  });
}

function dot(x: number, y: number): Box {
  return { x0: x - 0.1, x1: x + 0.1, y0: y - 0.1, y1: y + 0.1 };
}

/** Length of a mark's first line [mm]. */
function extent({ lines }: Mark): number {
  const points = lines[0]!;
  let length = 0;
  for (let i = 2; i < points.length; i += 2) length += Math.hypot(points[i]! - points[i - 2]!, points[i + 1]! - points[i - 1]!);
  return length;
}

/** `2, 4–8`: three and more in a row as a span. */
export function numberSpans(numbers: readonly number[]): string {
  const parts: string[] = [];
  for (let i = 0; i < numbers.length; ) {
    let end = i;
    while (end + 1 < numbers.length && numbers[end + 1] === numbers[end]! + 1) end++;
    if (end - i >= 2) parts.push(`${numbers[i]}–${numbers[end]}`);
    else for (let k = i; k <= end; k++) parts.push(String(numbers[k]));
    i = end + 1;
  }
  return parts.join(', ');
}

/** A place at a share of a line's length, and the normal there. */
function placeOn(points: ArrayLike<number>, share: number): { x: number; y: number; nx: number; ny: number } {
  let total = 0;
  for (let i = 2; i < points.length; i += 2) total += Math.hypot(points[i]! - points[i - 2]!, points[i + 1]! - points[i - 1]!);
  let left = share * total;
  for (let i = 2; i < points.length; i += 2) {
    const dx = points[i]! - points[i - 2]!;
    const dy = points[i + 1]! - points[i - 1]!;
    const length = Math.hypot(dx, dy);
    if (left <= length || i + 2 >= points.length) {
      const t = length > 0 ? Math.min(1, left / length) : 0;
      return { x: points[i - 2]! + t * dx, y: points[i - 1]! + t * dy, nx: length > 0 ? -dy / length : 1, ny: length > 0 ? dx / length : 0 };
    }
    left -= length;
  }
  return { x: points[0]!, y: points[1]!, nx: 1, ny: 0 };
}

/** Whether a line comes through a box, looked at every 0.7 mm. */
function crosses(points: ArrayLike<number>, box: Box): boolean {
  for (let i = 2; i < points.length; i += 2) {
    const dx = points[i]! - points[i - 2]!;
    const dy = points[i + 1]! - points[i - 1]!;
    const n = Math.max(1, Math.ceil(Math.hypot(dx, dy) / 0.7));
    for (let k = 0; k <= n; k++) {
      const x = points[i - 2]! + (dx * k) / n;
      const y = points[i - 1]! + (dy * k) / n;
      if (x > box.x0 - 0.4 && x < box.x1 + 0.4 && y > box.y0 - 0.4 && y < box.y1 + 0.4) return true;
    }
  }
  return false;
}

function places(input: TrialSheetInput, chart: ChartFrame, labels: LabelIndex): string[] {
  const at = (place: { readonly xM: number; readonly yM: number } | null, draw: (x: number, y: number) => string): string => {
    if (place === null) return '';
    const [x, y] = [chart.xMm(place.xM), chart.yMm(place.yM)];
    labels.take({ x0: x - 2.2, x1: x + 2.2, y0: y - 2.2, y1: y + 2.2 });
    return draw(x, y);
  };
  return [at(input.launch, launchMark), at(input.base, baseMark)];
}

function launchMark(x: number, y: number): string {
  return `<path d="M${mm(x)} ${mm(y - 1.5)}L${mm(x + 1.5)} ${mm(y + 1.2)}L${mm(x - 1.5)} ${mm(y + 1.2)}Z" fill="${INK.paper}" stroke="${INK.ink}" stroke-width="0.4" stroke-linejoin="round"/>`;
}

function baseMark(x: number, y: number): string {
  return `<rect x="${mm(x - 1.2)}" y="${mm(y - 1.2)}" width="2.4" height="2.4" fill="${INK.ink}" stroke="${INK.paper}" stroke-width="0.3"/>`;
}

function rangeRing(input: TrialSheetInput, chart: ChartFrame): string {
  if (input.base === null) return '';
  const radius = (input.base.rangeM * 1000) / chart.scale;
  return `<circle cx="${mm(chart.xMm(input.base.xM))}" cy="${mm(chart.yMm(input.base.yM))}" r="${mm(radius)}" fill="none" stroke="${INK.quiet}" stroke-width="0.25" stroke-dasharray="0.4 1"/>`;
}

function sampleLine(bothWays: boolean, width: number): LegendEntry['sample'] {
  return (box) => {
    const y = (box.y0 + box.y1) / 2;
    return drawMark({ lines: [Float64Array.of(box.x0, y, box.x1, y)], numbers: [], style: width === LINE_MM.run ? 'run' : 'weave', bothWays });
  };
}

const spinSample: LegendEntry['sample'] = (box) => `<circle cx="${mm((box.x0 + box.x1) / 2)}" cy="${mm((box.y0 + box.y1) / 2)}" r="0.9" fill="none" stroke="${INK.ink}" stroke-width="${LINE_MM.turn}"/>`;

const circleSample: LegendEntry['sample'] = (box) => {
  const y = (box.y0 + box.y1) / 2 - 1.1;
  return `<path d="M${mm(box.x0)} ${mm(y)}H${mm(box.x1 - 1.6)}A1.15 1.15 0 1 1 ${mm(box.x1 - 1.7)} ${mm(y + 0.01)}" fill="none" stroke="${INK.ink}" stroke-width="${LINE_MM.turn}"/>`;
};

const weaveSample: LegendEntry['sample'] = (box) => {
  const y = (box.y0 + box.y1) / 2;
  const points = Array.from({ length: 13 }, (_, i) => `${i === 0 ? 'M' : 'L'}${mm(box.x0 + ((box.x1 - box.x0) * i) / 12)} ${mm(y + 0.7 * Math.sin((Math.PI * i) / 2))}`);
  return `<path d="${points.join('')}" fill="none" stroke="${INK.ink}" stroke-width="${LINE_MM.weave}" stroke-linejoin="round"/>`;
};

function touches(chart: ChartFrame, polygons: readonly Polygon[]): boolean {
  return polygons.some((polygon) => {
    const box = polygonsBox([polygon]);
    return box !== null && boxesOverlap(box, chart.ground);
  });
}
