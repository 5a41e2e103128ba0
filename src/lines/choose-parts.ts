import { foldBearingDeg } from '../geo/bearing.js';
import { ringsOf } from '../geo/ring.js';
import { decompose } from './cells.js';
import type { LaidPart, LaidPlan, PlanGround } from './lay-plan.js';
import { layPlan, onOneBearing } from './lay-plan.js';
import type { FullLineOptions } from './line-options.js';
import { headingInWords, timeInWords } from './line-options.js';
import { runInOrder } from './run-lines.js';

/** Cells with headings of their own must save this share of the time: one set of lines is simpler to run. */
const WORTH_PARTING = 0.01;

/** Every cut is tried on every corner: beyond this many it would take minutes. */
const MOST_CORNERS = 5000;

/** The parts lines are laid over, laid. */
export interface ChosenParts {
  readonly laid: LaidPlan;
  readonly parts: readonly LaidPart[];
  /** Of the part with the most lines, grid [deg]. */
  readonly bearingDeg: number;
  /** Why there are parts, or why none were looked for; null where all simply lies on one bearing. */
  readonly why: string | null;
}

/** One bearing for the whole area, or cells with bearings of their own where those, laid and put in order, take less time. */
export function chooseParts(ground: PlanGround, bearingDeg: number, options: FullLineOptions): ChosenParts {
  const whole = onOneBearing(ground, bearingDeg);
  const one: ChosenParts = { laid: layPlan(ground, whole, options), parts: whole, bearingDeg, why: null };
  if (!options.cells || options.spacingAtM !== null || options.headingDeg !== null || options.effort === 'drag' || one.laid.main.length === 0) return one;
  const corners = ground.grounds.reduce((sum, { group }) => sum + ringsOf(group).reduce((all, ring) => all + ring.length / 2, 0), 0);
  if (corners > MOST_CORNERS) return { ...one, why: `one heading for all: cells are looked for up to ${MOST_CORNERS} corners, the outline has ${corners}; thin it out to have them` };
  const cells = decompose(ground.grounds, {
    originXM: ground.originXM,
    originYM: ground.originYM,
    spacingM: options.spacingM,
    speedMps: options.speedMps,
    turnS: options.turnS,
    effort: options.effort,
  });
  if (cells.length === ground.grounds.length) return one;
  const timeOf = (laid: LaidPlan): number =>
    runInOrder({ main: laid.main, cross: laid.cross, frame: ground.frame, network: ground.network, options, effort: 'settle' }).time.totalS;
  const laid = layPlan(ground, cells, options);
  const savedS = timeOf(one.laid) - timeOf(laid);
  if (!(savedS > WORTH_PARTING * timeOf(one.laid))) return one;
  const counted = cells.map((cell) => ({ cell, lines: layPlan(ground, [cell], { ...options, crossShare: 0 }).main.length }));
  const most = counted.reduce((a, b) => (b.lines > a.lines ? b : a));
  const headings = counted.map(({ cell, lines }) => `${headingInWords(foldBearingDeg(cell.bearingDeg + ground.convergenceDeg))} (${lines} ${lines === 1 ? 'line' : 'lines'})`);
  return {
    laid,
    parts: cells,
    bearingDeg: most.cell.bearingDeg,
    why: `${cells.length} cells with headings of their own, ${headings.join(', ')}: about ${timeInWords(savedS)} less than one heading for all`,
  };
}
