import { centroidM } from '../geo/ring.js';
import type { RehearsalColumns } from '../rehearse/rehearsal.js';
import { convergenceDeg } from '../geo/bearing.js';
import { setAndSpeed } from '../water/current-vector.js';
import type { Figure } from './document.js';
import { worstOfDay } from './field-sheet-chart.js';
import type { SheetClock } from './field-sheet-clock.js';
import { FIELD_INK, fieldText, SMALL_MM } from './field-sheet-ink.js';
import type { FieldSheetInput } from './field-sheet-input.js';
import { batteryHoldsWh, daySpan, rehearsedWith } from './field-sheet-times.js';
import { formatNumber } from './figures.js';
import { textWidth } from './fonts.js';
import { decimalsOf, multiplesIn, niceAbove, niceTimeStep } from './nice-steps.js';
import { mm, svgFigure, svgLine, svgRect } from './svg-text.js';

const { black, white, band, grey } = FIELD_INK;

/** Room at the left for names and figures, above for the sorties, below for times [mm]. */
const LEFT_MM = 33;
const TOP_MM = 9.5;
const BOTTOM_MM = 9.5;
const GAP_MM = 2.4;

/** A line of values on a panel: [n] each, NaN breaks it. */
interface Trace {
  readonly timeS: ArrayLike<number>;
  readonly value: ArrayLike<number>;
  readonly width: number;
  readonly dash?: string;
}

interface Panel {
  readonly name: string;
  readonly unit: string;
  readonly min: number;
  readonly max: number;
  readonly traces: readonly Trace[];
  /** Drawn under the traces: lower and upper edge [n]. */
  readonly bands?: readonly { readonly timeS: ArrayLike<number>; readonly low: ArrayLike<number>; readonly high: ArrayLike<number> }[];
  readonly limit?: { readonly value: number; readonly text: string };
  /** Arrows for a true direction [deg], up is north; NaN: none. */
  readonly directionDeg?: (timeS: number) => number;
}

/** What the strip could not show, in words. */
export interface FieldStrip extends Figure {
  readonly missing: readonly string[];
}

/**
 * The day against time, one panel under the other: tide, water under the boat, current with its set, battery left with its
 * 95 %, link margin. What was not given has no panel.
 */
export function drawFieldStrip(input: FieldSheetInput, clock: SheetClock, widthMm: number, panelMm: number): FieldStrip {
  const [dayStartS, dayEndS] = daySpan(input);
  const spanS = Math.max(600, dayEndS - dayStartS);
  const [fromS, toS] = [dayStartS - 0.02 * spanS, dayEndS + 0.05 * spanS];
  const { panels, missing } = panelsOf(input, fromS, toS);
  const heightMm = TOP_MM + BOTTOM_MM + panels.length * panelMm + Math.max(0, panels.length - 1) * GAP_MM;
  const [x0, x1] = [LEFT_MM, widthMm - 1];
  const [y0, y1] = [TOP_MM, heightMm - BOTTOM_MM];
  const xMm = (timeS: number): number => x0 + ((timeS - fromS) / (toS - fromS)) * (x1 - x0);
  const parts: string[] = [];

  const stepS = niceTimeStep(((toS - fromS) * 19) / (x1 - x0));
  const ticks = multiplesIn(fromS + clock.offsetS, toS + clock.offsetS, stepS).map((localS) => localS - clock.offsetS);
  panels.forEach((panel, i) => parts.push(drawPanel(panel, { x0, x1, y0: y0 + i * (panelMm + GAP_MM), y1: y0 + i * (panelMm + GAP_MM) + panelMm }, xMm, ticks)));

  for (const timeS of ticks) {
    const x = xMm(timeS);
    parts.push(svgLine(x, y1, x, y1 + 1.2, black, 0.3));
    const anchor = x > x1 - 5 ? 'end' : x < x0 + 4 ? 'start' : 'middle';
    parts.push(fieldText(x, y1 + 4.4, clock.local(timeS), { weight: 600, anchor }));
    if (!clock.isUtc) parts.push(fieldText(x, y1 + 8.3, clock.utc(timeS), { anchor }));
  }
  parts.push(fieldText(0, y1 + 4.4, clock.isUtc ? 'UTC' : `local, ${clock.zone}`, { weight: 600 }));
  if (!clock.isUtc) parts.push(fieldText(0, y1 + 8.3, 'UTC'));

  parts.push(drawSorties(input, clock, xMm, y1, x1));
  return { svg: svgFigure(widthMm, heightMm, `The day against time, ${clock.zone}`, parts), widthMm, heightMm, alt: `Against time: ${panels.map(({ name }) => name.toLowerCase()).join(', ')}`, missing };
}

function panelsOf(input: FieldSheetInput, fromS: number, toS: number): { readonly panels: Panel[]; readonly missing: string[] } {
  const panels: Panel[] = [];
  const missing: string[] = [];
  const options = rehearsedWith(input);
  const runs = input.sorties.map(({ rehearsal }) => rehearsal.columns);
  const anyFinite = (pick: (columns: RehearsalColumns) => ArrayLike<number>): boolean => runs.some((columns) => Array.from(pick(columns)).some((value) => Number.isFinite(value)));
  const times = Float64Array.from({ length: 361 }, (_, i) => fromS + ((toS - fromS) * i) / 360);

  const levels = input.level?.levelsAt(times) ?? new Float64Array(0);
  if (levels.some((value) => Number.isFinite(value))) {
    const [low, high] = extent([levels]);
    panels.push({ name: 'Tide', unit: 'm', min: low, max: Math.max(high, low + 0.2), traces: [{ timeS: times, value: levels, width: 0.5 }] });
  } else missing.push('tide');
  if (anyFinite((columns) => columns.waterUnderM)) {
    const [low, high] = extent(runs.map((columns) => columns.waterUnderM));
    panels.push({
      name: 'Water under', unit: 'm', min: Math.min(0, low), max: Math.max(low + 1.12 * (high - low), 1.05 * high, options.leastWaterM * 2),
      traces: runs.map((columns) => ({ timeS: columns.timeS, value: columns.waterUnderM, width: 0.4 })),
      limit: { value: options.leastWaterM, text: `least ${formatNumber(options.leastWaterM, 1)} m` },
    });
  } else missing.push('water under the boat');

  const [cx, cy] = input.area.length > 0 ? centroidM(input.area) : [input.launch.xM, input.launch.yM];
  const turn = convergenceDeg(input.frame, cx, cy);
  const out = new Float64Array(3);
  const currentAt = (timeS: number): { readonly speedMps: number; readonly setDeg: number } => {
    input.current.at(cx, cy, timeS, out);
    return setAndSpeed(out[0] as number, out[1] as number, turn);
  };
  const speeds = times.map((timeS) => currentAt(timeS).speedMps);
  const isStill = input.current.maxMps === 0;
  if (!isStill && (speeds.some((value) => Number.isFinite(value)) || anyFinite((columns) => columns.currentMps))) {
    const [, high] = extent([speeds, ...runs.map((columns) => columns.currentMps)]);
    panels.push({
      name: 'Current', unit: 'm/s', min: 0, max: Math.max(0.1, high),
      traces: [{ timeS: times, value: speeds, width: 0.2 }, ...runs.map((columns) => ({ timeS: columns.timeS, value: columns.currentMps, width: 0.5 }))],
      directionDeg: (timeS) => {
        const { speedMps, setDeg } = currentAt(timeS);
        return speedMps > 0.01 ? setDeg : NaN;
      },
    });
  } else missing.push(isStill ? 'current (none is reckoned with: the water is taken as still)' : 'current');

  const holdsWh = batteryHoldsWh(input);
  const halfHolds = input.boat.battery95Wh * options.batteryShare;
  const left = (columns: RehearsalColumns, sign: -1 | 0 | 1): Float64Array =>
    columns.energyWh.map((used, i) => (100 * (holdsWh - used + sign * Math.hypot(columns.energy95Wh[i] as number, halfHolds))) / holdsWh);
  if (runs.some((columns) => columns.n > 1)) {
    const [low] = extent(runs.map((columns) => left(columns, -1)));
    panels.push({
      name: 'Battery', unit: '%', min: Math.max(-100, Math.min(0, low)), max: 100,
      traces: runs.map((columns) => ({ timeS: columns.timeS, value: left(columns, 0), width: 0.5 })),
      bands: runs.map((columns) => ({ timeS: columns.timeS, low: left(columns, -1), high: left(columns, 1) })),
      limit: { value: 100 * options.reserveShare, text: `reserve ${formatNumber(100 * options.reserveShare)} %` },
    });
  }
  if (anyFinite((columns) => columns.linkMarginDb)) {
    const [low, high] = extent(runs.map((columns) => columns.linkMarginDb));
    panels.push({
      name: 'Link', unit: 'dB', min: Math.max(-60, Math.min(0, low)), max: Math.min(60, Math.max(high, 10)),
      traces: runs.map((columns) => ({ timeS: columns.timeS, value: columns.linkMarginDb, width: 0.4 })),
      limit: { value: options.leastLinkDb, text: 'lost below' },
    });
  } else missing.push('link margin');
  return { panels, missing };
}

function drawPanel(panel: Panel, box: { readonly x0: number; readonly x1: number; readonly y0: number; readonly y1: number }, xMm: (timeS: number) => number, ticks: readonly number[]): string {
  const { x0, x1, y0, y1 } = box;
  const span = Math.max(1e-6, panel.max - panel.min);
  const step = niceAbove(span / Math.max(1.4, (y1 - y0) / 5.2));
  const low = Math.floor(panel.min / step + 1e-9) * step;
  const high = Math.max(low + step, Math.ceil(panel.max / step - 1e-9) * step);
  const yMm = (value: number): number => y1 - ((Math.max(low, Math.min(high, value)) - low) / (high - low)) * (y1 - y0);
  const parts: string[] = [svgRect(x0, y0, x1 - x0, y1 - y0, white)];
  for (const each of panel.bands ?? []) {
    const upper = traceOf(each.timeS, each.high, xMm, yMm);
    const lower = traceOf(each.timeS, each.low, xMm, yMm);
    const points = [...(upper[0] ?? []), ...[...(lower[0] ?? [])].reverse()];
    if (points.length > 3) parts.push(`<path d="M${points.map(([x, y]) => `${mm(x)} ${mm(y)}`).join('L')}Z" fill="${band}"/>`);
  }
  for (const timeS of ticks) parts.push(svgLine(xMm(timeS), y0, xMm(timeS), y1, grey, 0.12));
  for (const value of multiplesIn(low, high, step)) {
    const y = yMm(value);
    parts.push(svgLine(x0, y, x1, y, grey, 0.12));
    parts.push(fieldText(x0 - 1.2, Math.max(y0 + 2.4, Math.min(y1, y + 1.1)), formatNumber(value, decimalsOf(step)), { anchor: 'end' }));
  }
  for (const trace of panel.traces) {
    const data = traceOf(trace.timeS, trace.value, xMm, yMm).map((run) => `M${run.map(([x, y]) => `${mm(x)} ${mm(y)}`).join('L')}`);
    if (data.length > 0) parts.push(`<path d="${data.join('')}" fill="none" stroke="${black}" stroke-width="${trace.width}" stroke-linejoin="round"${trace.dash === undefined ? '' : ` stroke-dasharray="${trace.dash}"`}/>`);
  }
  if (panel.limit !== undefined && panel.limit.value >= low && panel.limit.value <= high) {
    const y = yMm(panel.limit.value);
    parts.push(svgLine(x0, y, x1, y, black, 0.35, '1.6 1'));
  }
  if (panel.directionDeg !== undefined) {
    for (let x = x0 + 6; x < x1 - 4; x += 14) {
      const timeS = ((x - x0) / (x1 - x0)) * (timeOf(xMm, x1) - timeOf(xMm, x0)) + timeOf(xMm, x0);
      const set = panel.directionDeg(timeS);
      if (Number.isFinite(set)) parts.push(arrow(x, (y0 + y1) / 2, set));
    }
  }
  parts.push(svgRect(x0, y0, x1 - x0, y1 - y0, 'none', black, 0.3));
  const middle = (y0 + y1) / 2;
  const unit = panel.directionDeg === undefined ? panel.unit : `${panel.unit}, sets to`;
  // What the dashed line is stands beside the panel, where no curve crosses it.
  const limit = panel.limit;
  const top = limit === undefined ? middle - 0.3 : middle - 2.1;
  parts.push(fieldText(0, top, panel.name, { size: 3.6, weight: 600 }), fieldText(0, top + 3.8, unit));
  if (limit !== undefined) parts.push(svgLine(0, top + 6.5, 4.2, top + 6.5, black, 0.35, '1.6 1'), fieldText(5.2, top + 7.6, limit.text));
  return parts.join('');
}

/** The time at a place: the axis is straight. */
function timeOf(xMm: (timeS: number) => number, x: number): number {
  const [a, b] = [xMm(0), xMm(1e9)];
  return ((x - a) / (b - a)) * 1e9;
}

function arrow(x: number, y: number, directionDeg: number): string {
  return `<g transform="rotate(${mm(directionDeg)} ${mm(x)} ${mm(y)})"><path d="M${mm(x)} ${mm(y + 2.6)}V${mm(y - 1.4)}" stroke="${white}" stroke-width="1.1"/><path d="M${mm(x)} ${mm(y + 2.6)}V${mm(y - 1)}" stroke="${black}" stroke-width="0.4"/><path d="M${mm(x)} ${mm(y - 2.8)}L${mm(x + 1.1)} ${mm(y - 0.6)}L${mm(x - 1.1)} ${mm(y - 0.6)}Z" fill="${black}" stroke="${white}" stroke-width="0.15"/></g>`;
}

/** Above the panels: which sortie is out when, battery swaps between; through the panels: turn-back-by and the worst moment. */
function drawSorties(input: FieldSheetInput, clock: SheetClock, xMm: (timeS: number) => number, bottom: number, rightMm: number): string {
  const parts: string[] = [];
  const many = input.sorties.length > 1;
  let lastEnd = NaN;
  const swaps: number[] = [];
  const taken: [number, number][] = [];
  const take = (from: number, to: number): boolean => {
    if (taken.some(([a, b]) => from < b + 1.5 && to > a - 1.5)) return false;
    taken.push([from, to]);
    return true;
  };
  for (const { sortie, rehearsal } of input.sorties) {
    const [a, b] = [xMm(rehearsal.totals.startS), xMm(Math.max(rehearsal.totals.startS, rehearsal.totals.endS))];
    parts.push(`<path d="M${mm(a)} ${mm(TOP_MM - 0.8)}V${mm(TOP_MM - 2.4)}H${mm(b)}V${mm(TOP_MM - 0.8)}" fill="none" stroke="${black}" stroke-width="0.4"/>`);
    const name = [`sortie ${sortie.number}`, String(sortie.number)].find((text) => textWidth(text, SMALL_MM, 600) < b - a - 1);
    if (name !== undefined && many) parts.push(fieldText(a, 2.7, name, { weight: 600 }));
    if (Number.isFinite(lastEnd)) {
      parts.push(svgRect(lastEnd, TOP_MM - 2.4, Math.max(0.6, a - lastEnd), 1.6, black));
      swaps.push((lastEnd + a) / 2);
    }
    lastEnd = b;
  }
  const marks: { readonly x: number; readonly text: string; readonly dash: string }[] = [];
  if (input.sorties.length <= 4) {
    for (const { moments, rehearsal } of input.sorties) if (moments !== null && moments.turnBackByS <= rehearsal.totals.endS) marks.push({ x: xMm(moments.turnBackByS), text: many ? 'turn back by' : `turn back by ${clock.local(moments.turnBackByS, 'down')}`, dash: '' });
  }
  const worst = worstOfDay(input);
  if (worst !== null) marks.push({ x: xMm(worst.timeS), text: 'worst moment', dash: '0.6 0.8' });
  marks.sort((p, q) => p.x - q.x);
  for (const { x, text, dash } of marks) {
    parts.push(svgLine(x, TOP_MM - 2.4, x, bottom, black, dash === '' ? 0.5 : 0.45, dash));
    const width = textWidth(text, SMALL_MM, 500);
    const left = Math.max(LEFT_MM, Math.min(rightMm - width, x - width / 2));
    if (!take(left, left + width)) continue;
    parts.push(fieldText(left, many ? 6.4 : 5.8, text, { weight: 500, halo: white }));
  }
  for (const x of swaps) if (take(x - 3.2, x + 3.2)) parts.push(fieldText(x, 6.4, 'swap', { anchor: 'middle' }));
  return parts.join('');
}

/** Runs of points no finer than print shows: in each 0.25 mm the least and the greatest, in order of time. */
function traceOf(timeS: ArrayLike<number>, value: ArrayLike<number>, xMm: (timeS: number) => number, yMm: (value: number) => number): [number, number][][] {
  const runs: [number, number][][] = [];
  let run: [number, number][] = [];
  let column = NaN;
  let [low, high, x] = [NaN, NaN, NaN];
  let rising = true;
  const flush = (): void => {
    if (Number.isNaN(column)) return;
    const [first, second] = rising ? [low, high] : [high, low];
    run.push([x, yMm(first)]);
    if (second !== first) run.push([x, yMm(second)]);
    column = NaN;
  };
  const end = (): void => {
    flush();
    if (run.length > 1) runs.push(run);
    run = [];
  };
  for (let i = 0; i < timeS.length; i++) {
    const here = value[i] as number;
    if (!Number.isFinite(here)) {
      end();
      continue;
    }
    const at = xMm(timeS[i] as number);
    const next = Math.round(at * 4);
    if (next !== column) {
      flush();
      [column, low, high, x, rising] = [next, here, here, at, true];
      continue;
    }
    if (here < low) [low, rising] = [here, false];
    if (here > high) [high, rising] = [here, true];
  }
  end();
  return runs;
}

function extent(columns: readonly ArrayLike<number>[]): [number, number] {
  let [low, high] = [Infinity, -Infinity];
  for (const column of columns) {
    for (let i = 0; i < column.length; i++) {
      const value = column[i] as number;
      if (!Number.isFinite(value)) continue;
      if (value < low) low = value;
      if (value > high) high = value;
    }
  }
  return low <= high ? [low, high] : [0, 1];
}
