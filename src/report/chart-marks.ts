import type { ChartFrame } from './chart-frame.js';
import { pathOf, polygonsPath, sheetLine } from './chart-paths.js';
import { formatArea } from './figures.js';
import { textWidth } from './fonts.js';
import { INK } from './ink.js';
import type { LabelIndex } from './label-index.js';
import { isWithin } from './label-index.js';
import type { ReportCrossings, ReportGap, ReportInput, ReportLine, ReportTrack } from './report-input.js';
import { mm, svgText } from './svg-text.js';

/** Hatches by name; a document that holds several charts gives each its own prefix. */
export function hatchDefinitions(prefix: string): string {
  return (
    `<pattern id="${prefix}-gap" width="1.2" height="1.2" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0.6 0V1.2" stroke="${INK.accent}" stroke-width="0.18"/></pattern>` +
    `<pattern id="${prefix}-keepout" width="2.4" height="2.4" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)"><path d="M1.2 0V2.4" stroke="${INK.accent}" stroke-width="0.1"/></pattern>`
  );
}

/** Land with its coastline. */
export function drawLand(frame: ChartFrame, input: ReportInput): string {
  const data = polygonsPath(frame, input.shore);
  return data === '' ? '' : `<path d="${data}" fill="${INK.land}" fill-rule="evenodd" stroke="${INK.ink}" stroke-width="0.3" stroke-linejoin="round"/>`;
}

/** Where the boat must not go: wide hatch within a chain of dashes. */
export function drawKeepouts(frame: ChartFrame, input: ReportInput, prefix: string): string {
  const data = polygonsPath(frame, input.keepouts);
  return data === '' ? '' : `<path d="${data}" fill="url(#${prefix}-keepout)" fill-rule="evenodd" stroke="${INK.accent}" stroke-width="0.25" stroke-dasharray="2.4 0.7 0.6 0.7"/>`;
}

/** The limit of the survey. */
export function drawArea(frame: ChartFrame, input: ReportInput): string {
  const data = polygonsPath(frame, input.area);
  return data === '' ? '' : `<path d="${data}" fill="none" stroke="${INK.accent}" stroke-width="0.3" stroke-dasharray="1 0.8"/>`;
}

/** Holes in the survey, hatched, the larger ones named where there is room. */
export function drawGaps(frame: ChartFrame, gaps: readonly ReportGap[], prefix: string, labels: LabelIndex): { readonly shapes: string; readonly names: string } {
  const data = polygonsPath(frame, gaps.map((gap) => gap.polygon));
  if (data === '') return { shapes: '', names: '' };
  const names: string[] = [];
  const size = 2.2;
  for (const gap of [...gaps].sort((a, b) => b.areaM2 - a.areaM2 || a.number - b.number).slice(0, 40)) {
    const ring = gap.polygon.outer;
    let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
    for (let i = 0; i + 1 < ring.length; i += 2) {
      x0 = Math.min(x0, frame.xMm(ring[i] as number));
      x1 = Math.max(x1, frame.xMm(ring[i] as number));
      y0 = Math.min(y0, frame.yMm(ring[i + 1] as number));
      y1 = Math.max(y1, frame.yMm(ring[i + 1] as number));
    }
    const full = `gap ${gap.number}: ${formatArea(gap.areaM2)}`;
    const middle = (x0 + x1) / 2;
    search: for (const text of [full, `gap ${gap.number}`]) {
      const half = textWidth(text, size, 500) / 2 + 0.4;
      // Above, below, shifted to either side, beside, on it: where the soundings about the gap leave room.
      const [above, below, level] = [y0 - 0.9, y1 + 2.4, (y0 + y1) / 2 + 0.8];
      const shifts = [0, -half / 2, half / 2, -half, half];
      const places = [...shifts.map((by) => [middle + by, above] as const), ...shifts.map((by) => [middle + by, below] as const), [x1 + half + 0.6, level] as const, [x0 - half - 0.6, level] as const, ...shifts.map((by) => [middle + by, level] as const)];
      for (const [x, baseline] of places) {
        const box = { x0: x - half, x1: x + half, y0: baseline - 1.8, y1: baseline + 0.5 };
        if (!isWithin(box, frame.map) || !labels.tryTake(box)) continue;
        names.push(svgText(x, baseline, text, { size, weight: 500, colour: INK.accent, anchor: 'middle', halo: INK.tints[3] }));
        break search;
      }
    }
  }
  return {
    shapes: `<path d="${data}" fill="url(#${prefix}-gap)" fill-rule="evenodd" stroke="${INK.accent}" stroke-width="0.25"/>`,
    names: names.join(''),
  };
}

/** Where the boat went. The line breaks at jumps and where time stands open for over `maxGapS`. */
export function drawTrack(frame: ChartFrame, track: ReportTrack, maxGapS: number, colour: string, widthMm: number): string {
  const data: string[] = [];
  let run: number[] = [];
  const end = (): void => {
    for (const points of sheetLine(frame, run)) data.push(pathOf(points));
    run = [];
  };
  let lastS = NaN;
  for (let i = 0; i < track.n; i++) {
    const x = track.xM[i] as number;
    const y = track.yM[i] as number;
    const timeS = track.timeS[i] as number;
    if (track.jump?.[i] === 1 || !Number.isFinite(x) || !Number.isFinite(y)) continue;
    if (run.length > 0 && !(timeS - lastS <= maxGapS && timeS >= lastS)) end();
    run.push(x, y);
    lastS = timeS;
  }
  end();
  return data.length === 0 ? '' : `<path d="${data.join('')}" fill="none" stroke="${colour}" stroke-width="${mm(widthMm)}" stroke-linejoin="round"/>`;
}

/** How a kind of planned line is drawn. */
export interface LineStyle {
  readonly widthMm: number;
  readonly dash: string;
  readonly numbered: boolean;
}

export const PLAN_STYLE: LineStyle = { widthMm: 0.16, dash: '1.6 0.9', numbered: true };
export const FILL_STYLE: LineStyle = { widthMm: 0.45, dash: '', numbered: false };

/** Planned lines, with their numbers at an end where there is room. */
export function drawPlanLines(frame: ChartFrame, lines: readonly ReportLine[], labels: LabelIndex, style: LineStyle): string {
  const data: string[] = [];
  const texts: string[] = [];
  const size = 2;
  for (const line of lines) {
    for (const points of sheetLine(frame, line.line)) data.push(pathOf(points));
    if (!style.numbered || line.line.length < 4) continue;
    const text = String(line.number);
    const half = textWidth(text, size, 500) / 2 + 0.3;
    const count = line.line.length;
    const ends = [[0, 2], [count - 2, count - 4]] as const;
    for (const [at, before] of ends) {
      const x = frame.xMm(line.line[at] as number);
      const y = frame.yMm(line.line[at + 1] as number);
      const dx = x - frame.xMm(line.line[before] as number);
      const dy = y - frame.yMm(line.line[before + 1] as number);
      const length = Math.hypot(dx, dy) || 1;
      const cx = x + (dx / length) * (half + 0.9);
      const cy = y + (dy / length) * 1.9;
      const box = { x0: cx - half, x1: cx + half, y0: cy - 0.9, y1: cy + 0.9 };
      if (!isWithin(box, frame.map) || !labels.tryTake(box)) continue;
      texts.push(svgText(cx, cy + size * 0.35, text, { size, weight: 500, colour: INK.accent, anchor: 'middle' }));
      break;
    }
  }
  return data.length === 0 ? '' : `<path d="${data.join('')}" fill="none" stroke="${INK.accent}" stroke-width="${style.widthMm}"${style.dash === '' ? '' : ` stroke-dasharray="${style.dash}"`}/>${texts.join('')}`;
}

/** Places where lines cross: a ring as wide as the difference is large, from 0.7 mm; filled where it is over `allowedM`. */
export function drawCrossings(frame: ChartFrame, crossings: ReportCrossings, allowedM: number): string {
  return crossings.points
    .map(({ xM, yM, differenceM }) => {
      const x = frame.xMm(xM);
      const y = frame.yMm(yM);
      if (!Number.isFinite(differenceM) || !(x > frame.map.x0 && x < frame.map.x1 && y > frame.map.y0 && y < frame.map.y1)) return '';
      const over = Math.abs(differenceM) > allowedM;
      const radius = Math.min(2, 0.35 + (Math.abs(differenceM) / allowedM) * 0.5);
      return `<circle cx="${mm(x)}" cy="${mm(y)}" r="${mm(radius)}" fill="${over ? INK.accent : INK.paper}" stroke="${over ? INK.accent : INK.ink}" stroke-width="0.15"/>`;
    })
    .join('');
}
