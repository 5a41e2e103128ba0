import type { LaidLine, LaidLines, SweptGround } from './lay-lines.js';
import { layLines, spreadLevels, sweepGround } from './lay-lines.js';

/** Cross lines over one group, and how many main lines they meet. */
export interface CrossLines {
  readonly lines: readonly LaidLine[];
  readonly crossed: number;
}

/** Cross lines laid beyond the evenly spread ones, at most. */
const MOST_EXTRA = 12;

/**
 * Lines square to the main lines, evenly spread along them: at least the share of their length that is asked for, and
 * so many that they meet every main line where that takes only a few more. Where even ones miss main lines (a bent
 * area), more are laid where each meets the most of those, as long as it meets three or all that are left.
 *
 * Source of the practice: IHO C-13 (cross lines over all main lines); the share is common practice, 5 % or more.
 *
 * @param main the group seen along its main lines, and the lines laid there
 */
export function layCrossLines(main: SweptGround, mainLines: LaidLines, share: number): CrossLines {
  let mainM = 0;
  for (const line of mainLines.lines) mainM += line.lengthM;
  if (share === 0 || mainM === 0) return { lines: [], crossed: 0 };
  // Along the main lines is across the cross lines: to the right of (bearing - 90) lies bearing.
  const swept = sweepGround(main.ground, main.originXM, main.originYM, main.bearingDeg - 90);
  const loM = swept.acrossMinM;
  const hiM = swept.acrossMaxM;
  if (!(hiM > loM)) return { lines: [], crossed: 0 };
  const wantedM = share * mainM;
  const lengthOf = (lines: readonly LaidLine[]): number => lines.reduce((sum, line) => sum + line.lengthM, 0);

  const widthM = Math.max(main.acrossMaxM - main.acrossMinM, 1e-9);
  const most = Math.max(8, Math.ceil((4 * wantedM) / widthM) + 8);
  let count = Math.max(1, Math.floor(wantedM / widthM));
  let lines = layLines(swept, spreadLevels(loM, hiM, count)).lines;
  while (lengthOf(lines) < wantedM * (1 - 1e-9) && count < most) {
    count++;
    lines = layLines(swept, spreadLevels(loM, hiM, count)).lines;
  }
  let best = { lines, met: metBy(mainLines.lines, lines) };
  for (let extra = 1; extra <= 2 && countOf(best.met) < mainLines.lines.length; extra++) {
    const more = layLines(swept, spreadLevels(loM, hiM, count + extra)).lines;
    const met = metBy(mainLines.lines, more);
    if (countOf(met) === mainLines.lines.length && lengthOf(more) >= wantedM * (1 - 1e-9)) best = { lines: more, met };
  }
  const all = best.lines.slice();
  let crossed = countOf(best.met);
  for (let extra = 0; extra < MOST_EXTRA && crossed < mainLines.lines.length; extra++) {
    const left = mainLines.lines.filter((_, i) => best.met[i] === 0);
    const more = layLines(swept, { startM: bestStab(swept, left), stepM: 1, count: 1 }).lines;
    const useful = more.filter((line) => {
      const gain = countOf(metBy(left, [line]));
      return gain >= Math.min(3, left.length) && 2 * gain >= countOf(metBy(mainLines.lines, [line]));
    });
    if (useful.length === 0) break;
    all.push(...useful);
    const nowMet = metBy(mainLines.lines, useful);
    for (let i = 0; i < nowMet.length; i++) if (nowMet[i] === 1) best.met[i] = 1;
    crossed = countOf(best.met);
  }
  return { lines: all, crossed };
}

function countOf(flags: Uint8Array): number {
  let count = 0;
  for (const flag of flags) count += flag;
  return count;
}

/** 1 for each main line that some cross line meets. */
export function metBy(main: readonly LaidLine[], cross: readonly LaidLine[]): Uint8Array {
  const met = new Uint8Array(main.length);
  main.forEach((line, i) => {
    const ux = (line.bx - line.ax) / line.lengthM;
    const uy = (line.by - line.ay) / line.lengthM;
    for (const other of cross) {
      // In the main line's own axes: along, and the two ends' sides.
      const sideA = ux * (other.ay - line.ay) - uy * (other.ax - line.ax);
      const sideB = ux * (other.by - line.ay) - uy * (other.bx - line.ax);
      if (sideA > 0 === sideB > 0 && Math.abs(sideA) > 1e-6 && Math.abs(sideB) > 1e-6) continue;
      const along = ux * (other.ax - line.ax) + uy * (other.ay - line.ay);
      if (along >= -1e-6 && along <= line.lengthM + 1e-6) {
        met[i] = 1;
        break;
      }
    }
  });
  return met;
}

/** The level across that most of the lines reach over: their spans' point of greatest depth, in the middle of it. */
function bestStab(swept: SweptGround, lines: readonly LaidLine[]): number {
  const bearingRad = (swept.bearingDeg * Math.PI) / 180;
  const vx = Math.cos(bearingRad);
  const vy = -Math.sin(bearingRad);
  const across = (x: number, y: number): number => (x - swept.originXM) * vx + (y - swept.originYM) * vy;
  const events: [number, number][] = [];
  for (const line of lines) {
    const p = across(line.ax, line.ay);
    const q = across(line.bx, line.by);
    events.push([Math.min(p, q), 1], [Math.max(p, q), -1]);
  }
  events.sort((a, b) => a[0] - b[0] || b[1] - a[1]);
  let depth = 0;
  let deepest = 0;
  let at = 0;
  events.forEach(([position, step], i) => {
    depth += step;
    if (depth > deepest) {
      deepest = depth;
      at = (position + (events[i + 1]?.[0] ?? position)) / 2;
    }
  });
  return at;
}
