import type { Frame } from '../geo/frame.js';
import type { ChartFrame } from './chart-frame.js';
import { INK } from './ink.js';
import { svgLine, svgRect, svgText } from './svg-text.js';

/** Room the border takes outside the neat line [mm]. */
export const BORDER_MM = { left: 7, top: 6.5, right: 2.4, bottom: 2.4 } as const;

const BAR_MM = 1.3;
const LABEL_MM = 2.3;

/** Steps of graduation [minutes of arc] and how many decimals of a minute their labels need. */
const STEPS_MIN = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120, 300, 600];

type Side = 'top' | 'bottom' | 'left' | 'right';

/** A place on the border where a whole step of latitude or longitude crosses it. */
interface Tick {
  /** Whole steps. */
  readonly k: number;
  /** Along the edge: x of the top and bottom edge, y of the left and right [mm]. */
  readonly atMm: number;
}

/**
 * The graduated border in degrees and minutes, WGS 84: bars black and white by turns, figures at the top and left, and thin
 * meridians and parallels through the map. Each edge is graduated on its own, so that the border is right where the frame's
 * north is not true north.
 */
export function drawBorder(chart: ChartFrame, frame: Frame): { readonly graticule: string; readonly border: string } {
  const { map } = chart;
  const edges = { top: ticksOf(chart, frame, 'top'), bottom: ticksOf(chart, frame, 'bottom'), left: ticksOf(chart, frame, 'left'), right: ticksOf(chart, frame, 'right') };
  const parts: string[] = [];
  const [x0, y0, x1, y1] = [map.x0, map.y0, map.x1, map.y1];
  parts.push(svgRect(x0 - BAR_MM, y0 - BAR_MM, x1 - x0 + 2 * BAR_MM, y1 - y0 + 2 * BAR_MM, 'none', INK.ink, 0.12));
  for (const [side, { ticks }] of Object.entries(edges) as [Side, (typeof edges)[Side]][]) parts.push(bars(chart, side, ticks));
  parts.push(svgRect(x0, y0, x1 - x0, y1 - y0, 'none', INK.ink, 0.18));
  parts.push(svgRect(x0 - BAR_MM - 0.6, y0 - BAR_MM - 0.6, x1 - x0 + 2 * BAR_MM + 1.2, y1 - y0 + 2 * BAR_MM + 1.2, 'none', INK.ink, 0.4));

  const graticule: string[] = [];
  for (const [from, to, isLon] of [['top', 'bottom', true], ['left', 'right', false]] as const) {
    const { ticks, stepMin } = edges[from];
    const every = labelEvery(ticks, stepMin);
    for (const tick of ticks) {
      if (tick.k % every !== 0) continue;
      const other = edges[to].ticks.find(({ k }) => k === tick.k);
      if (other !== undefined) {
        graticule.push(isLon ? svgLine(tick.atMm, y0, other.atMm, y1, INK.quiet, 0.06) : svgLine(x0, tick.atMm, x1, other.atMm, INK.quiet, 0.06));
      }
      const label = minutesLabel(tick.k * stepMin, stepMin * every, isLon);
      const half = label.length * LABEL_MM * 0.24;
      if (isLon) {
        if (tick.atMm - half < x0 - 1 || tick.atMm + half > x1 + 1) continue;
        parts.push(svgText(tick.atMm, y0 - BAR_MM - 1.9, label, { size: LABEL_MM, anchor: 'middle' }));
      } else {
        if (tick.atMm - half < y0 - 1 || tick.atMm + half > y1 + 1) continue;
        parts.push(svgText(x0 - BAR_MM - 1.9, tick.atMm, label, { size: LABEL_MM, anchor: 'middle', turnDeg: -90 }));
      }
    }
  }
  return { graticule: graticule.join(''), border: parts.join('\n') };
}

/** Where whole steps cross one edge. The step leaves bars of 6 to 15 mm. */
function ticksOf(chart: ChartFrame, frame: Frame, side: Side): { readonly ticks: Tick[]; readonly stepMin: number } {
  const { map, ground } = chart;
  const isLon = side === 'top' || side === 'bottom';
  const lengthMm = isLon ? map.x1 - map.x0 : map.y1 - map.y0;
  const angleAt = (share: number): number => {
    const xM = isLon ? ground.westM + share * (ground.eastM - ground.westM) : side === 'left' ? ground.westM : ground.eastM;
    const yM = isLon ? (side === 'top' ? ground.northM : ground.southM) : ground.northM - share * (ground.northM - ground.southM);
    return frame.toGeographic(xM, yM)[isLon ? 1 : 0] * 60;
  };
  const [start, end] = [angleAt(0), angleAt(1)];
  /* The step is taken from the top and left alone, so that opposite edges agree. */
  const [from, to] = isLon ? [frame.toGeographic(ground.westM, ground.northM)[1], frame.toGeographic(ground.eastM, ground.northM)[1]] : [frame.toGeographic(ground.westM, ground.northM)[0], frame.toGeographic(ground.westM, ground.southM)[0]];
  const stepMin = STEPS_MIN.find((step) => (step / Math.abs((to - from) * 60)) * lengthMm >= 6) ?? 600;
  const ticks: Tick[] = [];
  const [low, high] = [Math.min(start, end), Math.max(start, end)];
  for (let k = Math.ceil(low / stepMin); k <= Math.floor(high / stepMin) && ticks.length < 1000; k++) {
    let [a, b] = [0, 1];
    let [fa, fb] = [start, end];
    let share = 0.5;
    for (let turn = 0; turn < 12; turn++) {
      share = fb === fa ? a : a + ((k * stepMin - fa) / (fb - fa)) * (b - a);
      const value = angleAt(share);
      if (Math.abs(value - k * stepMin) < stepMin * 1e-7) break;
      if (value < k * stepMin === start < end) [a, fa] = [share, value];
      else [b, fb] = [share, value];
    }
    ticks.push({ k, atMm: (isLon ? map.x0 : map.y0) + share * lengthMm });
  }
  ticks.sort((p, q) => p.atMm - q.atMm);
  return { ticks, stepMin };
}

/** Black bars between an even step and the next; the first and last bars run to the corners. */
function bars(chart: ChartFrame, side: Side, ticks: readonly Tick[]): string {
  const { map } = chart;
  const isLon = side === 'top' || side === 'bottom';
  const [low, high] = isLon ? [map.x0, map.x1] : [map.y0, map.y1];
  const first = ticks[0];
  const last = ticks[ticks.length - 1];
  if (first === undefined || last === undefined) return '';
  const stops = [{ k: first.k + (ticks.length > 1 && (ticks[1] as Tick).k < first.k ? 1 : -1), atMm: low }, ...ticks, { k: last.k, atMm: high }];
  const parts: string[] = [];
  for (let i = 0; i + 1 < stops.length; i++) {
    const [a, b] = [stops[i] as Tick, stops[i + 1] as Tick];
    /* A bar is named by its lower end: alike on opposite edges, whichever way the angle runs. */
    const name = i + 2 === stops.length ? a.k - (ticks.length > 1 && last.k < (ticks[ticks.length - 2] as Tick).k ? 1 : 0) : Math.min(a.k, b.k);
    if (Math.abs(name) % 2 === 1 || b.atMm - a.atMm < 0.01) continue;
    const length = b.atMm - a.atMm;
    if (side === 'top') parts.push(svgRect(a.atMm, map.y0 - BAR_MM, length, BAR_MM, INK.ink));
    else if (side === 'bottom') parts.push(svgRect(a.atMm, map.y1, length, BAR_MM, INK.ink));
    else if (side === 'left') parts.push(svgRect(map.x0 - BAR_MM, a.atMm, BAR_MM, length, INK.ink));
    else parts.push(svgRect(map.x1, a.atMm, BAR_MM, length, INK.ink));
  }
  return parts.join('');
}

/** Every how many steps a figure stands: on round minutes, 24 mm apart, or 17 mm where that would leave fewer than two. */
function labelEvery(ticks: readonly Tick[], stepMin: number): number {
  if (ticks.length < 2) return 1;
  const spacing = ((ticks[ticks.length - 1] as Tick).atMm - (ticks[0] as Tick).atMm) / (ticks.length - 1);
  const rounds = STEPS_MIN.map((step) => step / stepMin).filter((every) => every > 0.999 && Math.abs(every - Math.round(every)) < 1e-6).map(Math.round);
  for (const leastMm of [24, 17]) {
    const every = rounds.find((each) => each * spacing >= leastMm);
    if (every !== undefined && ticks.filter(({ k }) => k % every === 0).length >= 2) return every;
  }
  return rounds.find((each) => each * spacing >= 17) ?? 1;
}

/** `46°02.20′ N`, with the decimals the step needs. */
function minutesLabel(angleMin: number, stepMin: number, isLon: boolean): string {
  const decimals = stepMin >= 1 ? 0 : Math.min(3, Math.ceil(-Math.log10(stepMin) - 1e-9));
  const scale = 10 ** decimals;
  const total = Math.round(Math.abs(angleMin) * scale);
  const degrees = Math.floor(total / (60 * scale));
  const minutes = ((total - degrees * 60 * scale) / scale).toFixed(decimals).padStart(decimals > 0 ? decimals + 3 : 2, '0');
  const side = isLon ? (angleMin < 0 ? 'W' : 'E') : angleMin < 0 ? 'S' : 'N';
  return `${degrees}°${minutes}′ ${side}`;
}
