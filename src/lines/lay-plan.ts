import type { Frame } from '../geo/frame.js';
import { layCrossLines } from './cross-lines.js';
import { levelsByDepth, PLACES_DRAGGED, type SpacingAt } from './depth-levels.js';
import type { LaidLine, LaidLines, LayingGround, SweptGround } from './lay-lines.js';
import { evenLevels, layLines, sweepGround } from './lay-lines.js';
import type { TransitNetwork } from './transit-network.js';

/** What a plan is laid in, checked and ready. */
export interface PlanGround {
  readonly grounds: readonly LayingGround[];
  /** Centre of the area: lines are laid about it [m]. */
  readonly originXM: number;
  readonly originYM: number;
  /** Of the frame there: true heading less grid bearing [deg]. */
  readonly convergenceDeg: number;
  readonly frame: Frame;
  readonly network: TransitNetwork;
}

/** An edge so far off is still covered: what rounding and the millimetre of a cut take [1 of a spacing]. */
const COVERING_SLACK = 2e-4;

const NOTHING: LaidLines = { lines: [], dropped: 0, droppedM: 0, shortRuns: 0 };

/** Lays main lines on a bearing over every group; groups in order, lines in order across. */
export function mainLinesAt(
  grounds: readonly LayingGround[],
  originXM: number,
  originYM: number,
  bearingDeg: number,
  spacingM: number,
  spacingAt: SpacingAt | null = null,
  mostPlaces?: number,
): { readonly swept: SweptGround; readonly laid: LaidLines }[] {
  return grounds.map((ground) => {
    const swept = sweepGround(ground, originXM, originYM, bearingDeg);
    if (spacingAt !== null) {
      const levels = levelsByDepth(swept, spacingAt, spacingM, mostPlaces);
      if (levels === null) return { swept, laid: NOTHING };
      const values = levels.valuesM!;
      const widestM = values.reduce((most, value, k) => (k === 0 ? most : Math.max(most, value - values[k - 1]!)), spacingM);
      return { swept, laid: layLines({ ...swept, ground: { ...ground, bandM: (ground.bandM ?? 0) > 0 ? widestM / 2 : 0 } }, levels) };
    }
    const levels = evenLevels(swept.acrossMinM, swept.acrossMaxM, spacingM, (ground.bandM ?? 0) > 0 ? COVERING_SLACK : undefined);
    return { swept, laid: levels === null ? NOTHING : layLines(swept, levels) };
  });
}

/** Main and cross lines of every group together, with what was left out. */
export interface LaidPlan {
  readonly main: readonly LaidLine[];
  readonly cross: readonly LaidLine[];
  readonly dropped: number;
  readonly droppedM: number;
  readonly shortRuns: number;
  /** Main lines some cross line meets. */
  readonly crossed: number;
}

/** A part of the area and the bearing its lines lie on [deg grid]. */
export interface LaidPart {
  readonly ground: LayingGround;
  readonly bearingDeg: number;
}

/** Every group on one bearing. */
export function onOneBearing(ground: PlanGround, bearingDeg: number): LaidPart[] {
  return ground.grounds.map((part) => ({ ground: part, bearingDeg }));
}

/** Lays main and cross lines over parts, each on its bearing. */
export function layPlan(ground: PlanGround, parts: readonly LaidPart[], options: { readonly spacingM: number; readonly crossShare: number; readonly spacingAtM?: SpacingAt | null; readonly effort?: 'drag' | 'full' }): LaidPlan {
  const main: LaidLine[] = [];
  const cross: LaidLine[] = [];
  let dropped = 0;
  let droppedM = 0;
  let shortRuns = 0;
  let crossed = 0;
  for (const part of parts) {
    for (const group of mainLinesAt([part.ground], ground.originXM, ground.originYM, part.bearingDeg, options.spacingM, options.spacingAtM ?? null, options.effort === 'drag' ? PLACES_DRAGGED : undefined)) {
      main.push(...group.laid.lines);
      dropped += group.laid.dropped;
      droppedM += group.laid.droppedM;
      shortRuns += group.laid.shortRuns;
      const crossing = layCrossLines(group.swept, group.laid, options.crossShare);
      cross.push(...crossing.lines);
      crossed += crossing.crossed;
    }
  }
  return { main, cross, dropped, droppedM, shortRuns, crossed };
}
