import { UseError } from '../base/errors.js';
import type { KeepOut } from '../geo/keep-out.js';
import type { Polygon } from '../geo/shapes.js';
import { fromSweep, levelAt, stretchesAtLevels, sweepAxes, sweptRings } from './sweep.js';
import type { Levels, SweptRings } from './sweep.js';

/** A line before it is known which way it is run. */
export interface LaidLine {
  /** Ends in the frame [m]: a is the one the sweep comes to first along its bearing. */
  readonly ax: number;
  readonly ay: number;
  readonly bx: number;
  readonly by: number;
  readonly lengthM: number;
  /** Straight on past each end, this far is clear of keep-outs [m]; at most the run asked for. */
  readonly roomAM: number;
  readonly roomBM: number;
}

/** Lines laid over one group of polygons. */
export interface LaidLines {
  readonly lines: readonly LaidLine[];
  /** Stretches too short to be lines: how many, and how long together [m]. */
  readonly dropped: number;
  readonly droppedM: number;
  /** Ends whose run was shortened by a keep-out. */
  readonly shortRuns: number;
}

/** What lines are laid in: the area's polygons that touch each other, and every keep-out. */
export interface LayingGround {
  readonly group: readonly Polygon[];
  readonly keepouts: readonly KeepOut[];
  readonly insetM: number;
  /** From keep-outs, or their own where that is more [m]. */
  readonly keepoutClearanceM: number;
  readonly minLengthM: number;
  /** The longer of run-in and run-out [m]. */
  readonly runM: number;
  /** Lines reach as far as a band this far to either side meets the group [m]; 0 or left out: as far as they lie in it themselves. */
  readonly bandM?: number;
  /** The whole area, where the group is a part cut from it: the inset is kept from its edges only. */
  readonly whole?: readonly Polygon[];
}

/** More lines than this are a slip in the spacing, not a survey. */
export const MOST_LINES = 20_000;

/** A ground seen along a bearing. */
export interface SweptGround {
  readonly ground: LayingGround;
  readonly bearingDeg: number;
  readonly originXM: number;
  readonly originYM: number;
  readonly areas: readonly SweptRings[];
  readonly keepouts: readonly SweptRings[];
  readonly limits: readonly SweptRings[] | null;
  /** Extent of the group across and along, the inset taken off [m]. */
  readonly acrossMinM: number;
  readonly acrossMaxM: number;
  readonly alongMinM: number;
  readonly alongMaxM: number;
}

/** Turns a ground to a bearing [deg grid]. */
export function sweepGround(ground: LayingGround, originXM: number, originYM: number, bearingDeg: number): SweptGround {
  const axes = sweepAxes(originXM, originYM, bearingDeg);
  const areas = ground.group.map((polygon) => sweptRings(axes, [polygon]));
  let acrossMinM = Infinity;
  let acrossMaxM = -Infinity;
  let alongMinM = Infinity;
  let alongMaxM = -Infinity;
  for (const rings of areas) {
    const outer = rings[0]!;
    for (let i = 0; i < outer.length; i += 2) {
      alongMinM = Math.min(alongMinM, outer[i]!);
      alongMaxM = Math.max(alongMaxM, outer[i]!);
      acrossMinM = Math.min(acrossMinM, outer[i + 1]!);
      acrossMaxM = Math.max(acrossMaxM, outer[i + 1]!);
    }
  }
  // A part's own edges may be cuts: only its outer lines' places suffer from an inset there, by at most half a spacing.
  const inset = ground.whole === undefined ? ground.insetM : 0;
  return {
    ground,
    bearingDeg,
    originXM,
    originYM,
    areas,
    keepouts: ground.keepouts.map((polygon) => sweptRings(axes, [polygon])),
    limits: ground.whole?.map((polygon) => sweptRings(axes, [polygon])) ?? null,
    acrossMinM: acrossMinM + inset,
    acrossMaxM: acrossMaxM - inset,
    alongMinM: alongMinM + inset,
    alongMaxM: alongMaxM - inset,
  };
}

/** An edge this share of a spacing further than half of it is no reason for another line: corners are not that exact. */
const SLACK = 0.01;

/**
 * Even levels a spacing apart, centred so that what is left over is shared by both edges: the outer lines lie at most
 * half a spacing and a hundredth from the edge (or from the inset).
 * @param slack share of a spacing an edge may lie further off
 * @returns null where the inset leaves nothing
 * @throws UseError for more than MOST_LINES
 */
export function evenLevels(loM: number, hiM: number, spacingM: number, slack = SLACK): Levels | null {
  const widthM = hiM - loM;
  if (!(widthM > 0)) return null;
  const count = Math.max(1, Math.ceil(widthM / spacingM - 2 * slack));
  if (count > MOST_LINES) {
    throw new UseError(
      `line spacing: ${spacingM} m gives ${count} lines over ${widthM.toFixed(0)} m: expected at most ${MOST_LINES}; choose a wider spacing or a smaller area`,
      { expected: `at most ${MOST_LINES} lines`, found: String(count), fix: 'choose a wider spacing or a smaller area' },
    );
  }
  return { startM: (loM + hiM) / 2 - ((count - 1) * spacingM) / 2, stepM: spacingM, count };
}

/** Levels that split an extent into `count` equal parts, one in the middle of each: evenly spread. */
export function spreadLevels(loM: number, hiM: number, count: number): Levels {
  const stepM = (hiM - loM) / count;
  return { startM: loM + stepM / 2, stepM, count };
}

/** Lays lines at levels: stretches long enough, in order across and then along. */
export function layLines(swept: SweptGround, levels: Levels): LaidLines {
  const { ground } = swept;
  const axes = sweepAxes(swept.originXM, swept.originYM, swept.bearingDeg);
  const { usable, blocked } = stretchesAtLevels(swept.areas, swept.keepouts, levels, {
    insetM: ground.insetM,
    clearancesM: ground.keepouts.map((keepout) => Math.max(ground.keepoutClearanceM, keepout.clearanceM ?? 0)),
    bandM: ground.bandM ?? 0,
    limits: swept.limits,
  });
  const lines: LaidLine[] = [];
  let dropped = 0;
  let droppedM = 0;
  let shortRuns = 0;
  usable.forEach((stretches, k) => {
    const across = levelAt(levels, k);
    for (let i = 0; i < stretches.length; i += 2) {
      const start = stretches[i]!;
      const end = stretches[i + 1]!;
      if (end - start < ground.minLengthM || end - start < 1e-6) {
        dropped++;
        droppedM += end - start;
        continue;
      }
      const roomAM = roomBeyond(blocked[k]!, start, -1, ground.runM);
      const roomBM = roomBeyond(blocked[k]!, end, 1, ground.runM);
      if (roomAM < ground.runM) shortRuns++;
      if (roomBM < ground.runM) shortRuns++;
      const [ax, ay] = fromSweep(axes, start, across);
      const [bx, by] = fromSweep(axes, end, across);
      lines.push({ ax, ay, bx, by, lengthM: end - start, roomAM, roomBM });
    }
  });
  return { lines, dropped, droppedM, shortRuns };
}

/** How far one can go on from a point along a level before a blocked stretch, at most `mostM`. */
function roomBeyond(blocked: readonly number[], fromM: number, sense: 1 | -1, mostM: number): number {
  let room = mostM;
  for (let i = 0; i < blocked.length; i += 2) {
    const start = blocked[i]!;
    const end = blocked[i + 1]!;
    if (sense > 0 && start >= fromM - 1e-9) room = Math.min(room, Math.max(0, start - fromM));
    if (sense < 0 && end <= fromM + 1e-9) room = Math.min(room, Math.max(0, fromM - end));
  }
  return room;
}
