import { contourLines } from '../depths/contour.js';
import type { ChartFrame } from './chart-frame.js';
import { pathOf, sheetLine } from './chart-paths.js';
import { FIELD_INK, fieldText, SMALL_MM } from './field-sheet-ink.js';
import type { FieldSheetInput } from './field-sheet-input.js';
import type { KeyEntry } from './field-sheet-key.js';
import { swatch } from './field-sheet-key.js';
import { formatNumber } from './figures.js';
import { textWidth } from './fonts.js';
import { isWithin } from './label-index.js';
import type { LabelIndex } from './label-index.js';
import { mm } from './svg-text.js';

/** Between places the link is asked at, in print [mm]. */
const CELL_MM = 1.5;
const { black, white } = FIELD_INK;

/**
 * The link as contours: where it ends, and where it has no more in hand than fading takes. Ticks stand on the losing side.
 */
export function drawLinkMap(chart: ChartFrame, input: FieldSheetInput, labels: LabelIndex): { readonly lines: string; readonly labels: string; readonly entries: readonly KeyEntry[] } {
  const { link } = input;
  if (link === null) return { lines: '', labels: '', entries: [{ sample: () => '', text: 'link not reckoned' }] };
  const { ground, map } = chart;
  const cols = Math.ceil((map.x1 - map.x0) / CELL_MM) + 2;
  const rows = Math.ceil((map.y1 - map.y0) / CELL_MM) + 2;
  const cellM = (CELL_MM * chart.scale) / 1000;
  const grid = { westM: ground.westM - cellM, northM: ground.northM + cellM, cellM, cols, rows };
  const values = new Float32Array(cols * rows);
  let least = Infinity;
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      const margin = link.marginDb(grid.westM + (col + 0.5) * cellM, grid.northM - (row + 0.5) * cellM);
      /* Margins past these say nothing more, and infinite ones have no contour. */
      const value = Number.isNaN(margin) ? NaN : Math.max(-200, Math.min(200, margin));
      values[row * cols + col] = value;
      if (value < least) least = value;
    }
  }
  const levels = link.allowanceDb > 0.05 ? [0, link.allowanceDb] : [0];
  const contours = contourLines({ grid, values }, { levels, minLengthM: 5 * cellM });
  const paths: string[] = [];
  const texts: string[] = [];
  const drawn = new Set<number>();
  for (let i = 0; i < contours.n; i++) {
    const isLost = contours.levelM[i] === 0;
    const text = isLost ? 'NO LINK' : 'link may fade';
    for (const points of sheetLine(chart, contours.lines[i] as Float64Array)) {
      paths.push(`<path d="${pathOf(points)}" fill="none" stroke="${black}" stroke-width="${isLost ? 0.5 : 0.3}" stroke-dasharray="${isLost ? '' : '4 1 1 1'}"/>`);
      paths.push(`<path d="${ticksAlong(points, isLost ? 2.5 : 8, isLost ? 1.4 : 1)}" fill="none" stroke="${black}" stroke-width="0.25"/>`);
      drawn.add(isLost ? 0 : 1);
      const label = labelPlace(chart, points, text, labels);
      if (label !== null) texts.push(fieldText(label[0], label[1], text, { weight: 600, anchor: 'middle', halo: white }));
    }
  }
  const allowance = formatNumber(link.allowanceDb);
  return {
    lines: paths.join(''),
    labels: texts.join(''),
    entries: [
      drawn.has(0)
        ? { sample: (box) => swatch.line(black, 0.5)(box) + `<path d="${[1, 3.5, 6].map((x) => `M${mm(box.x0 + x)} ${mm((box.y0 + box.y1) / 2)}v1.4`).join('')}" stroke="${black}" stroke-width="0.25"/>`, text: 'no link beyond (0 dB)' }
        : { sample: () => '', text: least < 0 ? 'no link anywhere here' : 'link holds all over' },
      ...(drawn.has(1) ? [{ sample: swatch.line(black, 0.3, '4 1 1 1'), text: `may fade beyond (${allowance} dB)` }] : []),
    ],
  };
}

/** Short ticks to the left hand of a line on the ground: the side with less margin, as contours run. */
function ticksAlong(points: Float64Array, everyMm: number, lengthMm: number): string {
  const parts: string[] = [];
  let toNext = everyMm / 2;
  for (let i = 2; i + 1 < points.length; i += 2) {
    const [ax, ay, bx, by] = [points[i - 2] as number, points[i - 1] as number, points[i] as number, points[i + 1] as number];
    const length = Math.hypot(bx - ax, by - ay);
    if (!(length > 0)) continue;
    const [ux, uy] = [(bx - ax) / length, (by - ay) / length];
    let along = toNext;
    for (; along <= length; along += everyMm) parts.push(`M${mm(ax + ux * along)} ${mm(ay + uy * along)}l${mm(uy * lengthMm)} ${mm(-ux * lengthMm)}`);
    toNext = along - length;
  }
  return parts.join('');
}

/** The free place on a line nearest to its middle; null where there is none, or the line is short. */
function labelPlace(chart: ChartFrame, points: Float64Array, text: string, labels: LabelIndex): readonly [number, number] | null {
  const count = points.length / 2;
  const half = textWidth(text, SMALL_MM, 600) / 2 + 0.4;
  for (let k = 0; k < count; k++) {
    const i = Math.floor(count / 2) + (k % 2 === 0 ? 1 : -1) * Math.ceil(k / 2);
    if (i < 0 || i >= count) continue;
    const [x, y] = [points[2 * i] as number, (points[2 * i + 1] as number) + 1.1];
    const box = { x0: x - half, x1: x + half, y0: y - 2.8, y1: y + 0.8 };
    if (isWithin(box, chart.map) && labels.tryTake(box)) return [x, y];
  }
  return null;
}
