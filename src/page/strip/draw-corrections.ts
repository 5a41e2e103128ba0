import type { Palette } from '../chart/palette.js';
import { signed } from '../words/figures.js';
import type { CorrectionCurve } from '../work/depths-messages.js';
import type { CurvePyramid } from './curve-pyramid.js';
import type { Pen } from './pen.js';
import { timeSteps } from './strip-svg.js';
import type { TimeScale } from './time-scale.js';

/** A correction with what draws it at any zoom. */
export interface DrawnCurve {
  readonly curve: CorrectionCurve;
  readonly pyramid: CurvePyramid;
}

export interface CorrectionsPicture {
  readonly widthPx: number;
  readonly heightPx: number;
  /** UTC [s]. */
  readonly window: readonly [number, number];
  readonly scale: TimeScale;
  readonly curves: readonly DrawnCurve[];
}

const LEFT = 54;
/** Where lanes are low, names stand beside them. */
const LEFT_NAMED = 268;
const LOW_PX = 34;
const RIGHT = 14;
const TOP = 4;
const AXIS_PX = 24;
/** A lane is never scaled finer than this, so that a constant stays a straight line [m]. */
const LEAST_SPAN_M = 0.02;

export interface CorrectionsLayout {
  readonly left: number;
  readonly right: number;
  readonly bottom: number;
  readonly laneHeight: number;
  x(timeS: number): number;
  timeAt(x: number): number;
  laneTop(k: number): number;
}

export function correctionsLayout({ widthPx, heightPx, window, scale, curves }: CorrectionsPicture): CorrectionsLayout {
  const [start, end] = [scale.toStrip(window[0]), scale.toStrip(window[1])];
  const right = widthPx - RIGHT;
  const bottom = heightPx - AXIS_PX;
  const laneHeight = (bottom - TOP) / Math.max(1, curves.length);
  const left = laneHeight <= LOW_PX ? LEFT_NAMED : LEFT;
  return {
    left,
    right,
    bottom,
    laneHeight,
    x: (timeS) => left + ((scale.toStrip(timeS) - start) / (end - start)) * (right - left),
    timeAt: (x) => scale.toTime(start + ((x - left) / (right - left)) * (end - start)),
    laneTop: (k) => TOP + k * laneHeight,
  };
}

/** One lane for each correction, each on a scale of its own; dashed where it is not applied. */
export function drawCorrections(pen: Pen, picture: CorrectionsPicture, palette: Palette): void {
  const { curves, window, scale, heightPx } = picture;
  const layout = correctionsLayout(picture);
  const pixels = layout.right - layout.left;
  curves.forEach(({ curve, pyramid }, k) => {
    const top = layout.laneTop(k);
    const bottom = top + layout.laneHeight;
    const colour = curve.on ? palette.ink : palette.quiet;
    if (k > 0) pen.line([[4, top], [layout.right, top]], palette.hairline, 1);
    const middle = (curve.leastM + curve.mostM) / 2;
    const half = Math.max(LEAST_SPAN_M / 2, (curve.mostM - curve.leastM) / 2);
    const [low, high] = [middle - half, middle + half];
    const narrow = layout.laneHeight <= LOW_PX;
    const room = narrow ? 3 : 16;
    const y = (value: number) => top + room + ((value - low) / (high - low)) * (layout.laneHeight - room - 4);
    if (low < 0 && high > 0) pen.line([[layout.left, y(0)], [layout.right, y(0)]], palette.hairline, 1);
    let points: [number, number][] = [];
    const end = () => {
      if (points.length > 1) pen.line(points, colour, 1.2, curve.on ? undefined : [5, 3]);
      points = [];
    };
    if (!pyramid.empty) pyramid.trace(window[0], window[1], pixels, layout.x, { point: (px, value) => px >= layout.left - 2 && px <= layout.right + 2 && points.push([Math.min(layout.right, Math.max(layout.left, px)), y(value)]), gap: end });
    end();
    const range = curve.mostM - curve.leastM < 0.005 ? signed(curve.mostM, 2) : `${signed(curve.leastM, 2)} to ${signed(curve.mostM, 2)}`;
    const name = `${curve.label}${narrow ? `, ${range} m` : ''}${curve.on ? '' : ' (not applied)'}`;
    if (narrow) pen.text(name, layout.left - 8, (top + bottom) / 2 + 4, colour, { size: 12, weight: 600, align: 'end' });
    else pen.text(name, layout.left + 4, top + 12, colour, { size: 12, weight: 600 });
    if (!narrow) {
      pen.text(signed(low, 2), layout.left - 6, y(low) + 4, palette.quiet, { align: 'end', size: 12 });
      pen.text(signed(high, 2), layout.left - 6, Math.min(bottom - 2, y(high) + 4), palette.quiet, { align: 'end', size: 12 });
    }
  });
  if (layout.laneHeight > LOW_PX) pen.text('m', 4, 14, palette.quiet, { size: 12 });
  pen.line([[layout.left, layout.bottom], [layout.right, layout.bottom]], palette.ink, 1);
  const span = window[1] - window[0];
  let last = -Infinity;
  for (const t of timeSteps(window[0], window[1], (pixels / 95) * (span / Math.max(1e-9, scale.toStrip(window[1]) - scale.toStrip(window[0]))))) {
    const x = layout.x(t);
    if (scale.inPause(t) || x - last < 66 || x < layout.left + 20 || x > layout.right - 20) continue;
    last = x;
    pen.line([[x, layout.bottom], [x, layout.bottom + 5]], palette.ink, 1);
    pen.text(new Date(t * 1000).toISOString().slice(11, span < 600 ? 19 : 16), x, heightPx - 5, palette.quiet, { align: 'middle' });
  }
}
