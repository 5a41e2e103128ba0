import type { Palette } from '../chart/palette.js';
import type { Trial } from '../../boat/trial-log.js';
import { trialLabel } from '../words/trials.js';
import { fixed } from '../words/figures.js';
import type { Pen } from './pen.js';
import { timeSteps } from './strip-svg.js';
import type { TimeScale } from './time-scale.js';
import type { StripPanel } from './trial-panels.js';

/** What the strip is to show; lengths in pixels. */
export interface TrialStripPicture {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly window: readonly [number, number];
  readonly scale: TimeScale;
  readonly panels: readonly StripPanel[];
  readonly trials: readonly Trial[];
  readonly lane: Int32Array;
  readonly laneTitles: readonly string[];
  readonly selected: string | null;
  readonly lit: readonly string[];
}

export const STRIP_LEFT = 58;
const RIGHT = 14;
const LANE_PX = 19;
const AXIS_PX = 24;
const BETWEEN_PX = 16;

/** Where things stand on the strip. */
export interface StripLayout {
  readonly left: number;
  readonly right: number;
  readonly lanesBottom: number;
  readonly bottom: number;
  x(timeS: number): number;
  timeAt(x: number): number;
  laneTop(lane: number): number;
  panelBox(k: number): readonly [number, number];
}

export function stripLayout({ widthPx, heightPx, window, scale, panels, laneTitles }: TrialStripPicture): StripLayout {
  const left = STRIP_LEFT;
  const right = widthPx - RIGHT;
  const [start, end] = [scale.toStrip(window[0]), scale.toStrip(window[1])];
  const lanesBottom = 4 + Math.max(1, laneTitles.length) * LANE_PX;
  const bottom = heightPx - AXIS_PX;
  const count = Math.max(1, panels.length);
  // Speed has twice the room of the others.
  const shares = panels.map(({ title }) => (title === 'speed' ? 1.7 : 1));
  const total = shares.reduce((sum, share) => sum + share, 0) || 1;
  const room = bottom - lanesBottom - BETWEEN_PX * count;
  const tops: (readonly [number, number])[] = [];
  let at = lanesBottom + BETWEEN_PX;
  for (const share of shares) {
    const height = (room * share) / total;
    tops.push([at, at + height]);
    at += height + BETWEEN_PX;
  }
  return {
    left,
    right,
    lanesBottom,
    bottom,
    x: (timeS) => left + ((scale.toStrip(timeS) - start) / (end - start)) * (right - left),
    timeAt: (x) => scale.toTime(start + ((x - left) / (right - left)) * (end - start)),
    laneTop: (lane) => 3 + lane * LANE_PX,
    panelBox: (k) => tops[k] ?? [lanesBottom, bottom],
  };
}

/** Axes and curves; the slow part, drawn when the window changes. */
export function drawStripCurves(pen: Pen, picture: TrialStripPicture, palette: Palette): void {
  const layout = stripLayout(picture);
  const { window, panels, scale, heightPx } = picture;
  const pixels = layout.right - layout.left;
  panels.forEach((panel, k) => {
    const [top, bottom] = layout.panelBox(k);
    const y = (value: number) => bottom - ((Math.max(panel.low, Math.min(panel.high, value)) - panel.low) / (panel.high - panel.low)) * (bottom - top);
    for (const step of panel.steps) {
      pen.line([[layout.left, y(step)], [layout.right, y(step)]], palette.hairline, 1);
      if (bottom - top > 30 || step === panel.steps[0] || step === panel.steps[panel.steps.length - 1]) pen.text(fixed(step, step !== 0 && Math.abs(step) < 1 ? 1 : 0), layout.left - 6, y(step) + 4, palette.quiet, { align: 'end', size: 12 });
    }
    for (const curve of panel.curves) {
      let points: [number, number][] = [];
      const end = () => {
        if (curve.style === 'dots') for (const [px, py] of points) pen.dot(px, py, 0.9, palette.ink);
        else if (points.length > 1) pen.line(points, curve.style === 'dashed' ? palette.waterLevel : palette.ink, curve.style === 'dashed' ? 1.2 : 1.1, curve.style === 'dashed' ? [5, 3] : undefined);
        points = [];
      };
      curve.pyramid.trace(window[0], window[1], pixels, layout.x, { point: (px, value) => px >= layout.left - 2 && px <= layout.right + 2 && points.push([Math.min(layout.right, Math.max(layout.left, px)), y(value)]), gap: end });
      end();
    }
    const names = panel.curves.length > 1 ? ` · ${panel.curves.map(({ name, style }) => (style === 'dashed' ? `dashed: ${name}` : name)).join(' · ')}` : '';
    pen.text(`${panel.title}, ${panel.unit}${names}`, layout.left, top - 4, palette.quiet, { size: 12, weight: 600 });
  });
  picture.laneTitles.forEach((title, k) => pen.text(title, layout.left - 6, layout.laneTop(k) + 13, palette.quiet, { align: 'end', size: 12 }));
  pen.line([[layout.left, layout.bottom], [layout.right, layout.bottom]], palette.ink, 1);
  const span = window[1] - window[0];
  let last = -Infinity;
  for (const t of timeSteps(window[0], window[1], (pixels / 95) * (span / Math.max(1e-9, scale.toStrip(window[1]) - scale.toStrip(window[0]))))) {
    const x = layout.x(t);
    if (scale.inPause(t) || x - last < 66 || x > layout.right - 4) continue;
    last = x;
    pen.line([[x, layout.bottom], [x, layout.bottom + 5]], palette.ink, 1);
    pen.text(new Date(t * 1000).toISOString().slice(11, span < 600 ? 19 : 16), x, heightPx - 5, palette.quiet, { align: 'middle' });
  }
  for (const pause of scale.pauses) {
    const [from, to] = [layout.x(pause.startS), layout.x(pause.endS)];
    if (to < layout.left || from > layout.right) continue;
    const middle = (from + to) / 2;
    for (const side of [-1, 1]) pen.line([[middle + side * 4 - 4, layout.bottom + 6], [middle + side * 4 + 4, layout.bottom - 6]], palette.quiet, 1.2);
  }
}

/** Line styles that tell kinds of trials apart on strip and chart. */
export const KIND_DASH: Readonly<Record<Trial['kind'], readonly number[]>> = {
  'steady-run': [],
  'straight-leg': [9, 3, 2, 3],
  'standing-start': [2, 2],
  'coast-down': [1.5, 4],
  'stop-astern': [6, 3],
  'turning-circle': [],
  spin: [3, 2],
  'zig-zag': [8, 3],
};

/** The bands of the trials; the quick part, drawn while a window is dragged. */
export function drawStripBands(pen: Pen, picture: TrialStripPicture, palette: Palette, onAccent: string, measure: (text: string) => number): void {
  const layout = stripLayout(picture);
  const { trials, lane, selected, lit } = picture;
  const order = trials.map((_, i) => i).sort((a, b) => rank(trials[a] as Trial) - rank(trials[b] as Trial));
  function rank(trial: Trial): number {
    return trial.id === selected ? 2 : lit.includes(trial.id) ? 1 : 0;
  }
  for (const i of order) {
    const trial = trials[i] as Trial;
    const from = Math.max(layout.left, layout.x(trial.startS));
    const to = Math.min(layout.right, layout.x(trial.endS));
    if (to < layout.left || from > layout.right || to <= from) continue;
    const chosen = trial.id === selected;
    const isLit = lit.includes(trial.id);
    const top = layout.laneTop(lane[i] as number);
    const bottom = top + LANE_PX - 3;
    const wide = Math.max(2, to - from);
    const box: [number, number][] = [[from, top], [from + wide, top], [from + wide, bottom], [from, bottom]];
    if (chosen || isLit) pen.fill([[from, layout.lanesBottom], [from + wide, layout.lanesBottom], [from + wide, layout.bottom], [from, layout.bottom]], chosen ? palette.magenta : palette.band, chosen ? 0.09 : 0.13);
    pen.fill(box, palette.paper, 1);
    if (chosen) pen.fill(box, palette.magenta, 1);
    else pen.fill(box, isLit ? palette.magenta : palette.band, isLit ? 0.22 : 0.16);
    const stroke = chosen || isLit ? palette.magenta : palette.ink;
    if (wide > 3) pen.line([...box, box[0] as [number, number]], stroke, isLit ? 1.8 : 1, KIND_DASH[trial.kind].length === 0 ? undefined : KIND_DASH[trial.kind]);
    if (trial.refused !== '' && wide > 6) pen.line([[from, bottom], [from + wide, top]], stroke, 1);
    const text = trialLabel(trial, trials);
    const short = text.replace(/^.* /, '');
    for (const one of [text, short]) {
      if (measure(one) + 8 > wide) continue;
      pen.text(one, from + wide / 2, top + 13, chosen ? onAccent : palette.ink, { align: 'middle', size: 12, weight: chosen ? 600 : 500 });
      break;
    }
  }
}

/** The band under a place of the strip, else the shortest trial that lasts then; null for none. */
export function trialUnder(picture: TrialStripPicture, x: number, y: number): Trial | null {
  const layout = stripLayout(picture);
  const { trials, lane } = picture;
  let best: Trial | null = null;
  const reach = 2;
  trials.forEach((trial, i) => {
    if (layout.x(trial.startS) - reach > x || layout.x(trial.endS) + reach < x) return;
    if (y <= layout.lanesBottom) {
      const top = layout.laneTop(lane[i] as number);
      if (y < top || y > top + LANE_PX) return;
    }
    if (best === null || trial.endS - trial.startS < best.endS - best.startS) best = trial;
  });
  return best;
}
