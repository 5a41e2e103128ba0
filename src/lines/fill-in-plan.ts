import { UseError } from '../base/errors.js';
import type { Frame } from '../geo/frame.js';
import { checkedPolygon } from '../geo/polygon-check.js';
import type { Polygon, Polyline } from '../geo/shapes.js';
import type { LaidLine } from './lay-lines.js';
import { fullLineOptions, timeInWords } from './line-options.js';
import type { LineOptions, LinePlan } from './line-plan.js';
import { runInOrder } from './run-lines.js';
import { createTransitNetwork } from './transit-network.js';

/** Lines to be run once more or for the first time, where the survey has gaps. */
export interface FillInRequest {
  /** Straight lines [x0, y0, x1, y1] in the frame [m]; of longer ones only the first and last vertex count. */
  readonly lines: readonly Polyline[];
  readonly keepouts: readonly Polygon[];
  readonly frame: Frame;
  readonly options: Pick<LineOptions, 'runInM' | 'runOutM' | 'speedMps'> & Partial<LineOptions>;
}

/** Fill-in lines in the order they are run; `main` holds them, numbered as they were given from 1. */
export type FillInPlan = Pick<LinePlan, 'main' | 'cross' | 'order' | 'transits' | 'lengths' | 'time' | 'why' | 'notes'>;

/**
 * Puts fill-in lines in an order with little transit, each with a run-in and run-out as far as keep-outs leave room.
 * @throws UseError for a keep-out that cannot be worked with, or a line that enters one; RangeError for options or lines
 *   that are no numbers
 */
export function fillInPlan(request: FillInRequest): FillInPlan {
  const { frame } = request;
  const options = fullLineOptions({
    spacingM: 1,
    headingDeg: null,
    crossShare: 0,
    minLengthM: 0,
    insetM: 0,
    ...request.options,
  });
  const keepouts = request.keepouts.map((polygon, i) => checkedPolygon(polygon, `keep-out ${i + 1}`, frame));
  const network = createTransitNetwork(keepouts, options.clearanceM);
  const runM = Math.max(options.runInM, options.runOutM);
  const laid = request.lines.map((line, i): LaidLine => {
    const n = line.length;
    const [ax, ay, bx, by] = [line[0] ?? NaN, line[1] ?? NaN, line[n - 2] ?? NaN, line[n - 1] ?? NaN];
    const lengthM = Math.hypot(bx - ax, by - ay);
    if (n < 4 || !(lengthM > 0)) throw new RangeError(`lines[${i}]: expected two different ends`);
    if (network.meets(ax, ay, bx, by)) {
      throw new UseError(`fill-in line ${i + 1}: enters a keep-out: expected it clear of them; make the lines again from the gaps`, {
        expected: 'clear of keep-outs',
        fix: 'make the lines again from the gaps',
      });
    }
    const ux = (bx - ax) / lengthM;
    const uy = (by - ay) / lengthM;
    return {
      ax, ay, bx, by, lengthM,
      roomAM: network.roomAlongM(ax, ay, -ux, -uy, runM),
      roomBM: network.roomAlongM(bx, by, ux, uy, runM),
    };
  });
  const run = runInOrder({ main: laid, cross: [], frame, network, options, effort: options.effort, kind: 'fill-in' });
  const notes: string[] = [];
  const lost = run.transits.filter((transit) => transit.path.length === 0);
  if (lost.length > 0) notes.push(`no way around the keep-outs to ${lost.length} of the lines: see which keep-outs close them off`);
  const why = laid.length === 0 ? [] : [`${laid.length} fill-in ${laid.length === 1 ? 'line' : 'lines'}, ${run.lengths.mainM.toFixed(0)} m, about ${timeInWords(run.time.totalS)} with transit and turns`];
  return { ...run, why, notes };
}
