import type { ChartFrame } from './chart-frame.js';
import { formatNumber } from './figures.js';
import { textWidth } from './fonts.js';
import { INK } from './ink.js';
import type { LabelIndex } from './label-index.js';
import { multiplesIn, niceAbove } from './nice-steps.js';
import { mm, svgText } from './svg-text.js';

const LABEL_MM = 1.9;
const CROSS_MM = 1.6;
const TICK_MM = 2.4;
/** Grid lines stand at least so far apart on paper. */
const LEAST_MM = 45;

/** Grid lines of a sheet: their step on the ground [m] and how they are drawn. */
export interface DrawnGrid {
  readonly svg: string;
  readonly stepM: number;
}

/**
 * The grid of the survey frame in whole metres: a cross where lines meet, a tick inside the neat line with its figure at the foot and
 * at the right edge. Figures take their places from `labels`.
 */
export function drawGrid(chart: ChartFrame, labels: LabelIndex): DrawnGrid {
  const { map, ground, scale } = chart;
  const stepM = niceAbove((LEAST_MM * scale) / 1000);
  const east = multiplesIn(ground.westM, ground.eastM, stepM);
  const north = multiplesIn(ground.southM, ground.northM, stepM);
  const path: string[] = [];
  const texts: string[] = [];
  for (const xM of east) {
    const x = chart.xMm(xM);
    path.push(`M${mm(x)} ${mm(map.y1)}v${mm(-TICK_MM)}M${mm(x)} ${mm(map.y0)}v${mm(TICK_MM)}`);
    for (const yM of north) {
      const y = chart.yMm(yM);
      path.push(`M${mm(x - CROSS_MM)} ${mm(y)}h${mm(2 * CROSS_MM)}M${mm(x)} ${mm(y - CROSS_MM)}v${mm(2 * CROSS_MM)}`);
    }
    label(`${formatNumber(xM)} E`, x, map.y1 - TICK_MM - 0.7, 0);
  }
  for (const yM of north) {
    const y = chart.yMm(yM);
    path.push(`M${mm(map.x0)} ${mm(y)}h${mm(TICK_MM)}M${mm(map.x1)} ${mm(y)}h${mm(-TICK_MM)}`);
    label(`${formatNumber(yM)} N`, map.x1 - TICK_MM - 0.7, y, -90);
  }
  return { svg: `<path d="${path.join('')}" fill="none" stroke="${INK.ink}" stroke-width="0.1"/>${texts.join('')}`, stepM };

  function label(text: string, x: number, y: number, turnDeg: number): void {
    const half = textWidth(text, LABEL_MM) / 2 + 0.3;
    const box = turnDeg === 0 ? { x0: x - half, x1: x + half, y0: y - LABEL_MM, y1: y + 0.4 } : { x0: x - LABEL_MM, x1: x + 0.4, y0: y - half, y1: y + half };
    if (box.x0 < map.x0 + 1 || box.x1 > map.x1 - 0.4 || box.y0 < map.y0 + 1 || box.y1 > map.y1 - 0.4 || !labels.tryTake(box)) return;
    texts.push(svgText(x, y, text, { size: LABEL_MM, colour: INK.quiet, anchor: 'middle', turnDeg, halo: INK.tints[3] }));
  }
}
