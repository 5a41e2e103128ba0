import type { Pen } from './pen.js';
import { niceSteps } from './strip-svg.js';
import { fixed } from '../words/figures.js';

/** One curve against speed with its 95 %. Shape of the columns: [n]; NaN is a break. */
export interface CurvePanel {
  readonly title: string;
  readonly unit: string;
  readonly value: Float64Array;
  readonly half95: Float64Array;
}

export interface PanelPicture {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly speedMps: Float64Array;
  readonly panels: readonly CurvePanel[];
  /** The speed asked for, and the one that goes furthest; NaN for none [m/s]. */
  readonly askedMps: number;
  readonly bestMps: number;
  /** Curves that rest on defaults are dashed. */
  readonly dashed: boolean;
  readonly colours: { readonly ink: string; readonly quiet: string; readonly hairline: string; readonly magenta: string; readonly band: string };
}

const MARGIN = { left: 46, right: 22, top: 24, bottom: 24 };

/** Where speed falls in a panel, and back: panels share the width evenly. */
export function panelScale(picture: Pick<PanelPicture, 'widthPx' | 'speedMps' | 'panels'>, k: number): { readonly left: number; readonly right: number; readonly x: (speedMps: number) => number; readonly speedAt: (x: number) => number } {
  const width = picture.widthPx / picture.panels.length;
  const left = k * width + MARGIN.left;
  const right = (k + 1) * width - MARGIN.right;
  const top = picture.speedMps[picture.speedMps.length - 1] ?? 1;
  return { left, right, x: (speedMps) => left + (speedMps / top) * (right - left), speedAt: (x) => ((x - left) / (right - left)) * top };
}

/** Draws curves side by side against speed through the water: band of 95 %, the speed asked for, the speed that goes furthest. */
export function drawPanels(pen: Pen, picture: PanelPicture): void {
  const { speedMps, panels, heightPx, colours, askedMps, bestMps } = picture;
  const n = speedMps.length;
  const top = MARGIN.top;
  const bottom = heightPx - MARGIN.bottom;
  panels.forEach((panel, k) => {
    const { left, right, x } = panelScale(picture, k);
    // Near rest the curves run away: the scale is that of the slowest speed worth running, a tenth of top speed.
    let high = 0;
    for (let i = Math.floor(n / 10); i < n; i++) if (Number.isFinite(panel.value[i])) high = Math.max(high, (panel.value[i] as number) + (Number.isFinite(panel.half95[i]) ? (panel.half95[i] as number) : 0));
    if (!(high > 0)) high = 1;
    high *= 1.06;
    const y = (value: number) => bottom - (Math.min(high, Math.max(0, value)) / high) * (bottom - top);
    pen.text(`${panel.title}, ${panel.unit}`, left - 40, 14, colours.quiet, { weight: 600 });
    for (const step of niceSteps(0, high, 3)) {
      pen.line([[left, y(step)], [right, y(step)]], colours.hairline, 1);
      pen.text(fixed(step, step < 1 && step > 0 ? 1 : 0), left - 6, y(step) + 4.5, colours.quiet, { align: 'end' });
    }
    const steps = niceSteps(0, speedMps[n - 1] ?? 1, 4);
    steps.forEach((step, at) => {
      pen.line([[x(step), bottom], [x(step), bottom + 4]], colours.ink, 1);
      pen.text(at === steps.length - 1 ? `${step} m/s` : String(step), x(step), heightPx - 6, colours.quiet, { align: at === 0 ? 'start' : 'middle' });
    });
    for (const [from, to] of runs(panel.value)) {
      const up: [number, number][] = [];
      const down: [number, number][] = [];
      const curve: [number, number][] = [];
      for (let i = from; i < to; i++) {
        const [px, value, half] = [x(speedMps[i] as number), panel.value[i] as number, panel.half95[i] as number];
        curve.push([px, y(value)]);
        if (!Number.isFinite(half)) continue;
        up.push([px, y(value + half)]);
        down.unshift([px, y(value - half)]);
      }
      if (up.length > 1) pen.fill([...up, ...down], colours.band, 0.2);
      if (curve.length > 1) pen.line(curve, colours.ink, 1.6, picture.dashed ? [7, 4] : undefined);
    }
    pen.line([[left, bottom], [right, bottom]], colours.ink, 1);
    if (Number.isFinite(bestMps)) pen.line([[x(bestMps), top], [x(bestMps), bottom]], colours.quiet, 1.2, [2, 3]);
    if (!Number.isFinite(askedMps)) return;
    pen.line([[x(askedMps), top - 2], [x(askedMps), bottom]], colours.magenta, 1.5);
    const value = valueAt(speedMps, panel.value, askedMps);
    if (Number.isFinite(value)) pen.dot(x(askedMps), y(value), 4, colours.magenta);
  });
}

/** Runs of numbers, half open. */
function runs(values: Float64Array): [number, number][] {
  const out: [number, number][] = [];
  for (let i = 0; i < values.length; i++) {
    if (!Number.isFinite(values[i])) continue;
    const from = i;
    while (i < values.length && Number.isFinite(values[i])) i++;
    out.push([from, i]);
  }
  return out;
}

/** A curve's value at a speed, straight between its points; NaN outside or next to a break. */
export function valueAt(speedMps: Float64Array, values: Float64Array, atMps: number): number {
  for (let i = 1; i < speedMps.length; i++) {
    const [a, b] = [speedMps[i - 1] as number, speedMps[i] as number];
    if (atMps < a || atMps > b) continue;
    const share = b === a ? 0 : (atMps - a) / (b - a);
    return (values[i - 1] as number) * (1 - share) + (values[i] as number) * share;
  }
  return NaN;
}
