import type { Box } from '../geo/ring.js';
import type { RehearsalRequest } from './rehearsal.js';
import type { WaterMotion } from './water-motion.js';

/** Drift and depth of water sampled once on grids, so that thousands of ways through them cost little. */
export interface SeaCache {
  /** Drift of the boat with current and leeway, along x and y [m/s], into out [2]; 0 where it is not known. */
  driftInto(xM: number, yM: number, timeS: number, out: Float64Array): void;
  /** Depth below datum less draft [m]; NaN where it is not known. */
  depthLessDraftM(xM: number, yM: number): number;
  /** Level above datum [m]; 0 where none was given. */
  levelM(timeS: number): number;
  /** Lowest level in the span. */
  readonly lowestLevelM: number;
  readonly notes: readonly string[];
}

/** At most so many places a side for the current, for depths; between times of the current and of the level [s]. */
const CURRENT_SIDE = 16;
const DEPTH_SIDE = 160;
const LEAST_DEPTH_CELL_M = 4;
const CURRENT_STEP_S = 600;
const LEVEL_STEP_S = 120;

/** Samples the sea of a request over a box and a span of times. What is beyond what is known is held at the last known. */
export function createSeaCache(request: RehearsalRequest, water: WaterMotion, box: Box, fromS: number, toS: number, draftM: number): SeaCache {
  const notes: string[] = [];
  const drift = sampleDrift(request, water, box, fromS, toS, notes);
  const depth = request.bottomDepthM == null ? null : sampleDepths(request.bottomDepthM, box, draftM);
  const times = Float64Array.from({ length: Math.ceil((toS - fromS) / LEVEL_STEP_S) + 2 }, (_, i) => fromS + i * LEVEL_STEP_S);
  const levels = request.level?.levelsAt(times) ?? new Float64Array(times.length);
  if (holdLast(levels)) notes.push('the water level is not known to the end of what was followed: the last known was held');
  let lowestLevelM = Infinity;
  for (const level of levels) lowestLevelM = Math.min(lowestLevelM, level);
  return {
    driftInto: drift,
    depthLessDraftM: depth ?? (() => NaN),
    levelM(timeS) {
      const at = Math.max(0, Math.min(levels.length - 1.000001, (timeS - fromS) / LEVEL_STEP_S));
      const i = Math.floor(at);
      return levels[i]! + (levels[i + 1]! - levels[i]!) * (at - i);
    },
    lowestLevelM,
    notes,
  };
}

/** Fills NaN with the value before it, or after where there is none before; true where there was any. */
function holdLast(values: Float64Array): boolean {
  let held = false;
  let last = values.find((value) => !Number.isNaN(value)) ?? 0;
  for (let i = 0; i < values.length; i++) {
    if (Number.isNaN(values[i]!)) {
      values[i] = last;
      held = true;
    } else last = values[i]!;
  }
  return held;
}

function sampleDrift(request: RehearsalRequest, water: WaterMotion, box: Box, fromS: number, toS: number, notes: string[]): SeaCache['driftInto'] {
  const seen = new Float64Array(5);
  const knownTo = Math.max(fromS, Math.min(toS, request.current.endS));
  if (knownTo < toS) notes.push('the current is not known to the end of what was followed: the last known was held');
  const steady = request.current.startS === -Infinity && request.current.endS === Infinity && typeof request.wind !== 'function';
  const probe = (x: number, y: number, timeS: number): [number, number] => {
    water(x, y, timeS, seen);
    return [seen[3]!, seen[4]!];
  };
  // The same at the corners and in the middle, now and later: the same everywhere.
  const corners = [[box.westM, box.southM], [box.eastM, box.southM], [box.westM, box.northM], [box.eastM, box.northM], [(box.westM + box.eastM) / 2, (box.southM + box.northM) / 2]] as const;
  const alike = [0, 0.31, 0.77].every((share) => {
    const found = corners.map(([x, y]) => probe(x, y, fromS + share * (knownTo - fromS)));
    return found.every(([x, y]) => Math.abs(x - found[0]![0]) < 1e-6 && Math.abs(y - found[0]![1]) < 1e-6);
  });
  const side = alike ? 1 : CURRENT_SIDE;
  const always = alike && steady && [0.31, 0.77].every((share) => {
    const [x, y] = probe(...corners[4], fromS + share * (toS - fromS));
    const first = probe(...corners[4], fromS);
    return x === first[0] && y === first[1];
  });
  const count = always ? 1 : Math.max(1, Math.ceil((knownTo - fromS) / CURRENT_STEP_S)) + 1;
  const stepS = count > 1 ? (knownTo - fromS) / (count - 1) : 1;
  const cellX = side > 1 ? (box.eastM - box.westM) / (side - 1) : 1;
  const cellY = side > 1 ? (box.northM - box.southM) / (side - 1) : 1;
  // [time][row][column][x, y]
  const values = new Float64Array(count * side * side * 2);
  let unknown = false;
  for (let t = 0, k = 0; t < count; t++) {
    for (let row = 0; row < side; row++) {
      for (let col = 0; col < side; col++, k += 2) {
        water(side > 1 ? box.westM + col * cellX : corners[4][0], side > 1 ? box.southM + row * cellY : corners[4][1], fromS + t * stepS, seen);
        unknown ||= Number.isNaN(seen[3]!);
        values[k] = Number.isNaN(seen[3]!) ? 0 : seen[3]!;
        values[k + 1] = Number.isNaN(seen[4]!) ? 0 : seen[4]!;
      }
    }
  }
  if (unknown) notes.push('the current is not known everywhere the boat might come: taken as none there');
  if (always) {
    const [x, y] = [values[0]!, values[1]!];
    return (_x, _y, _t, out) => {
      out[0] = x;
      out[1] = y;
    };
  }
  const slab = side * side * 2;
  return (xM, yM, timeS, out) => {
    const atT = count > 1 ? Math.max(0, Math.min(count - 1.000001, (timeS - fromS) / stepS)) : 0;
    const t = Math.floor(atT);
    const shareT = count > 1 ? atT - t : 0;
    const base = t * slab;
    const next = count > 1 ? slab : 0;
    if (side === 1) {
      out[0] = values[base]! + (values[base + next]! - values[base]!) * shareT;
      out[1] = values[base + 1]! + (values[base + next + 1]! - values[base + 1]!) * shareT;
      return;
    }
    const atX = Math.max(0, Math.min(side - 1.000001, (xM - box.westM) / cellX));
    const atY = Math.max(0, Math.min(side - 1.000001, (yM - box.southM) / cellY));
    const col = Math.floor(atX);
    const row = Math.floor(atY);
    const sx = atX - col;
    const sy = atY - row;
    const k = base + (row * side + col) * 2;
    for (let part = 0; part < 2; part++) {
      const i = k + part;
      const now = (values[i]! * (1 - sx) + values[i + 2]! * sx) * (1 - sy) + (values[i + 2 * side]! * (1 - sx) + values[i + 2 * side + 2]! * sx) * sy;
      const j = i + next;
      const then = (values[j]! * (1 - sx) + values[j + 2]! * sx) * (1 - sy) + (values[j + 2 * side]! * (1 - sx) + values[j + 2 * side + 2]! * sx) * sy;
      out[part] = now + (then - now) * shareT;
    }
  };
}

function sampleDepths(bottomDepthM: (xM: number, yM: number) => number, box: Box, draftM: number): SeaCache['depthLessDraftM'] {
  const cell = Math.max(LEAST_DEPTH_CELL_M, Math.max(box.eastM - box.westM, box.northM - box.southM) / DEPTH_SIDE);
  const cols = Math.ceil((box.eastM - box.westM) / cell) + 2;
  const rows = Math.ceil((box.northM - box.southM) / cell) + 2;
  const values = new Float32Array(cols * rows);
  for (let row = 0; row < rows; row++) for (let col = 0; col < cols; col++) values[row * cols + col] = bottomDepthM(box.westM + col * cell, box.southM + row * cell) - draftM;
  return (xM, yM) => {
    const atX = (xM - box.westM) / cell;
    const atY = (yM - box.southM) / cell;
    if (!(atX >= 0 && atY >= 0 && atX < cols - 1 && atY < rows - 1)) return NaN;
    const col = Math.floor(atX);
    const row = Math.floor(atY);
    const sx = atX - col;
    const sy = atY - row;
    const k = row * cols + col;
    return (values[k]! * (1 - sx) + values[k + 1]! * sx) * (1 - sy) + (values[k + cols]! * (1 - sx) + values[k + cols + 1]! * sx) * sy;
  };
}
