import type { Frame } from '../geo/frame.js';
import type { ChartFrame } from './chart-frame.js';
import { FIELD_INK, fieldText, SMALL_MM } from './field-sheet-ink.js';
import { textWidth } from './fonts.js';
import { mm, svgLine, svgRect } from './svg-text.js';

/** Room the border takes outside the neat line [mm]. */
export const FIELD_BORDER_MM = { left: 6, top: 5.6, right: 1, bottom: 1 } as const;

/** Steps of graduation [minutes of arc]. */
const STEPS_MIN = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120, 300];
const TICK_MM = 2;

const { black, white } = FIELD_INK;

/** A whole step of latitude or longitude: its angle [minutes] and where it meets the two edges [mm]. */
interface Graduation {
  readonly angleMin: number;
  readonly firstMm: number;
  readonly secondMm: number;
}

/**
 * Grid ticks in degrees and minutes, WGS 84, on every edge, figures at the top and left, small crosses where meridians and
 * parallels meet. Each edge is graduated on its own, straight between its corners: within 0.1 mm on a chart of ground up to
 * 20 km across.
 */
export function drawFieldBorder(chart: ChartFrame, frame: Frame): { readonly crosses: string; readonly frame: string } {
  const { map, ground } = chart;
  const corner = (west: boolean, north: boolean): [number, number] => frame.toGeographic(west ? ground.westM : ground.eastM, north ? ground.northM : ground.southM);
  const [nw, ne, sw, se] = [corner(true, true), corner(false, true), corner(true, false), corner(false, false)];
  const lon = graduate([nw[1], ne[1]], [sw[1], se[1]], map.x0, map.x1, 34);
  const lat = graduate([nw[0], sw[0]], [ne[0], se[0]], map.y0, map.y1, 24);
  const parts = [svgRect(map.x0, map.y0, map.x1 - map.x0, map.y1 - map.y0, 'none', black, 0.5)];
  for (const { angleMin, firstMm, secondMm } of lon.marks) {
    parts.push(svgLine(firstMm, map.y0, firstMm, map.y0 + TICK_MM, black, 0.3), svgLine(secondMm, map.y1 - TICK_MM, secondMm, map.y1, black, 0.3));
    const text = angleText(angleMin, lon.stepMin, angleMin < 0 ? 'W' : 'E');
    const half = textWidth(text, SMALL_MM) / 2;
    if (firstMm - half > map.x0 - 2 && firstMm + half < map.x1 + 0.5) parts.push(fieldText(firstMm, map.y0 - 1.4, text, { anchor: 'middle' }));
  }
  for (const { angleMin, firstMm, secondMm } of lat.marks) {
    parts.push(svgLine(map.x0, firstMm, map.x0 + TICK_MM, firstMm, black, 0.3), svgLine(map.x1 - TICK_MM, secondMm, map.x1, secondMm, black, 0.3));
    const text = angleText(angleMin, lat.stepMin, angleMin < 0 ? 'S' : 'N');
    const half = textWidth(text, SMALL_MM) / 2;
    if (firstMm - half > map.y0 - 0.5 && firstMm + half < map.y1 + 0.5) parts.push(fieldText(map.x0 - 1.4, firstMm, text, { anchor: 'middle', turnDeg: -90 }));
  }
  const crosses = lat.marks.flatMap((parallel) =>
    lon.marks.map((meridian) => {
      const [xM, yM] = frame.toFrame(parallel.angleMin / 60, meridian.angleMin / 60);
      const [x, y] = [chart.xMm(xM), chart.yMm(yM)];
      return `M${mm(x - 1.2)} ${mm(y)}H${mm(x + 1.2)}M${mm(x)} ${mm(y - 1.2)}V${mm(y + 1.2)}`;
    }),
  );
  return { crosses: crosses.length === 0 ? '' : `<path d="${crosses.join('')}" fill="none" stroke="${white}" stroke-width="0.6"/><path d="${crosses.join('')}" fill="none" stroke="${black}" stroke-width="0.15"/>`, frame: parts.join('\n') };
}

function graduate(first: readonly [number, number], second: readonly [number, number], fromMm: number, toMm: number, apartMm: number): { readonly marks: Graduation[]; readonly stepMin: number } {
  const [a, b] = [first[0] * 60, first[1] * 60];
  const lengthMm = toMm - fromMm;
  const stepMin = STEPS_MIN.find((step) => (step / Math.abs(b - a)) * lengthMm >= apartMm) ?? 600;
  const at = (edge: readonly [number, number], angleMin: number): number => fromMm + ((angleMin - edge[0] * 60) / ((edge[1] - edge[0]) * 60)) * lengthMm;
  const marks: Graduation[] = [];
  for (let k = Math.ceil(Math.min(a, b) / stepMin); k <= Math.floor(Math.max(a, b) / stepMin) && marks.length < 100; k++) {
    marks.push({ angleMin: k * stepMin, firstMm: at(first, k * stepMin), secondMm: Math.max(fromMm, Math.min(toMm, at(second, k * stepMin))) });
  }
  return { marks, stepMin };
}

/** `46°02.20′ N`, with the decimals the step needs. */
function angleText(angleMin: number, stepMin: number, side: string): string {
  const decimals = stepMin >= 1 ? 0 : Math.min(3, Math.ceil(-Math.log10(stepMin) - 1e-9));
  const scale = 10 ** decimals;
  const total = Math.round(Math.abs(angleMin) * scale);
  const degrees = Math.floor(total / (60 * scale));
  const minutes = ((total - degrees * 60 * scale) / scale).toFixed(decimals).padStart(decimals > 0 ? decimals + 3 : 2, '0');
  return `${degrees}°${minutes}′ ${side}`;
}
