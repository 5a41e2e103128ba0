import type { RunLine } from './proving-survey.js';

/** A circle the boat keeps out of [m]. */
export interface Circle {
  readonly xM: number;
  readonly yM: number;
  readonly radiusM: number;
}

/** A way to go, as close points, with the speed wanted at each. Shape of every column: [n]. */
export interface BoatPath {
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** Distance from the start along the points [m]. */
  readonly alongM: Float64Array;
  readonly speedMps: Float64Array;
}

const STEP_M = 0.25;
const TURN_SHARE = 0.75;

/**
 * The way from a launch point over lines in their order and back: straight on the lines, curves between them that leave
 * one line and join the next in its direction, arcs around circles that must be kept clear of, corners rounded over 3 m.
 *
 * @throws RangeError where there are no lines, or one has fewer than two vertices, no length or no speed
 */
export function buildBoatPath(lines: readonly RunLine[], launch: { readonly xM: number; readonly yM: number }, keepClear: readonly Circle[]): BoatPath {
  if (lines.length === 0) throw new RangeError('lines: expected one at least');
  const points: number[] = [];
  const speeds: number[] = [];
  const add = (x: number, y: number, speed: number): void => {
    points.push(x, y);
    speeds.push(speed);
  };
  let at = [launch.xM, launch.yM] as [number, number];
  let direction: [number, number] | null = null;
  const curveTo = (x: number, y: number, next: [number, number] | null, speed: number): void => {
    const far = Math.hypot(x - at[0], y - at[1]);
    if (far < 1e-9) return;
    const reach = Math.min(15, far * 0.67);
    const toward: [number, number] = [(x - at[0]) / far, (y - at[1]) / far];
    const leave = direction ?? toward;
    const join = next ?? toward;
    const bx = at[0] + leave[0] * reach;
    const by = at[1] + leave[1] * reach;
    const cx = x - join[0] * reach;
    const cy = y - join[1] * reach;
    const pieces = Math.max(8, Math.ceil((far + 2 * reach) / STEP_M));
    for (let i = 0; i < pieces; i++) {
      const t = i / pieces;
      const s = 1 - t;
      add(
        s * s * s * at[0] + 3 * s * s * t * bx + 3 * s * t * t * cx + t * t * t * x,
        s * s * s * at[1] + 3 * s * s * t * by + 3 * s * t * t * cy + t * t * t * y,
        speed,
      );
    }
  };
  for (const [index, line] of lines.entries()) {
    const { path, speedMps } = line;
    if (!(speedMps > 0)) throw new RangeError(`lines[${index}].speedMps ${speedMps}: expected more than 0`);
    const vertices = path.length / 2;
    if (!(Number.isInteger(vertices) && vertices >= 2)) throw new RangeError(`lines[${index}].path: ${path.length} numbers; expected two vertices at least, x and y of each`);
    let joined = false;
    for (let k = 0; k + 1 < vertices; k++) {
      const ax = path[2 * k]!;
      const ay = path[2 * k + 1]!;
      const bx = path[2 * k + 2]!;
      const by = path[2 * k + 3]!;
      const length = Math.hypot(bx - ax, by - ay);
      if (!(length > 0)) continue;
      const unit: [number, number] = [(bx - ax) / length, (by - ay) / length];
      if (!joined) {
        curveTo(ax, ay, unit, speedMps * TURN_SHARE);
        joined = true;
      }
      const pieces = Math.max(1, Math.round(length / STEP_M));
      for (let i = 0; i < pieces; i++) add(ax + ((bx - ax) * i) / pieces, ay + ((by - ay) * i) / pieces, speedMps);
      at = [bx, by];
      direction = unit;
    }
    if (!joined) throw new RangeError(`lines[${index}].path: expected some length`);
  }
  curveTo(launch.xM, launch.yM, null, lines[lines.length - 1]!.speedMps * TURN_SHARE);
  add(launch.xM, launch.yM, lines[lines.length - 1]!.speedMps * TURN_SHARE);

  let x: Float64Array = Float64Array.from({ length: speeds.length }, (_, i) => points[2 * i]!);
  let y: Float64Array = Float64Array.from({ length: speeds.length }, (_, i) => points[2 * i + 1]!);
  let speedMps: Float64Array = Float64Array.from(speeds);
  for (const circle of keepClear) ({ x, y, speedMps } = goAround(x, y, speedMps, circle));
  x = roundOff(x);
  y = roundOff(y);
  const alongM = new Float64Array(x.length);
  for (let i = 1; i < x.length; i++) alongM[i] = alongM[i - 1]! + Math.hypot(x[i]! - x[i - 1]!, y[i]! - y[i - 1]!);
  return { xM: x, yM: y, alongM, speedMps };
}

/** Puts the shorter arc of a circle in place of each run of points inside it; leaves a path alone that begins or ends inside. */
function goAround(x: Float64Array, y: Float64Array, speed: Float64Array, circle: Circle): { x: Float64Array; y: Float64Array; speedMps: Float64Array } {
  const { xM, yM, radiusM } = circle;
  const inside = (i: number): boolean => (x[i]! - xM) ** 2 + (y[i]! - yM) ** 2 < radiusM * radiusM;
  const outX: number[] = [];
  const outY: number[] = [];
  const outSpeed: number[] = [];
  let i = 0;
  while (i < x.length) {
    if (!inside(i)) {
      outX.push(x[i]!);
      outY.push(y[i]!);
      outSpeed.push(speed[i]!);
      i++;
      continue;
    }
    let end = i;
    while (end < x.length && inside(end)) end++;
    if (i === 0 || end === x.length) {
      for (; i < end; i++) {
        outX.push(x[i]!);
        outY.push(y[i]!);
        outSpeed.push(speed[i]!);
      }
      continue;
    }
    const from = Math.atan2(y[i - 1]! - yM, x[i - 1]! - xM);
    let turn = Math.atan2(y[end]! - yM, x[end]! - xM) - from;
    if (turn > Math.PI) turn -= 2 * Math.PI;
    if (turn < -Math.PI) turn += 2 * Math.PI;
    const pieces = Math.max(1, Math.ceil((Math.abs(turn) * radiusM) / STEP_M));
    for (let k = 0; k <= pieces; k++) {
      const angle = from + (turn * k) / pieces;
      outX.push(xM + radiusM * Math.cos(angle));
      outY.push(yM + radiusM * Math.sin(angle));
      outSpeed.push(speed[i]!);
    }
    i = end;
  }
  return { x: Float64Array.from(outX), y: Float64Array.from(outY), speedMps: Float64Array.from(outSpeed) };
}

/** Running mean over 13 points, 3 m; the ends stay. */
function roundOff(values: Float64Array): Float64Array {
  const n = values.length;
  return values.map((_, i) => {
    const reach = Math.min(6, i, n - 1 - i);
    let sum = 0;
    for (let k = i - reach; k <= i + reach; k++) sum += values[k]!;
    return sum / (2 * reach + 1);
  });
}
