import { UseError } from '../base/errors.js';
import { formatUtc } from '../base/time.js';
import type { KeepOut } from '../geo/keep-out.js';
import type { TideRule } from '../water/tidal-keepouts.js';
import { isTidal, keepOutsDuring, nextOpening } from '../water/tidal-keepouts.js';
import type { LinePlan, LineRequest } from './line-plan.js';
import { planLines } from './plan-lines.js';

/** Keep-outs must stay open this much longer than the lines take, and so long more: sorties go to and fro and change batteries [1], [s]. */
const LONGER = 1.5;
const MORE_S = 3600;
/** Taken where no line fits at all while they are closed [s]. */
const UNKNOWN_S = 8 * 3600;

/**
 * Lines where some keep-outs hang on the tide: lines are laid over those that stay open from the start until the last line
 * is surely done, and stop at all others. Without a start or a water level all are closed. Notes say which, and when they open.
 *
 * @param startS UTC second the boat leaves; null: not decided
 * @throws UseError, RangeError as planLines
 */
export function planLinesByTide(request: LineRequest, tide: TideRule, startS: number | null): LinePlan {
  const tidal = request.keepouts.filter(isTidal);
  if (tidal.length === 0) return planLines(request);
  const noted = (plan: LinePlan, ...notes: string[]): LinePlan => ({ ...plan, notes: [...plan.notes, ...notes] });
  const many = (list: readonly KeepOut[]): string => (list.length === 1 ? 'one keep-out by tide is' : `${list.length} keep-outs by tide are`);
  const unknown = tidal.filter((keepout) => Number.isNaN(keepout.leastDepthM));
  const unknownNote = unknown.length === 0 ? [] : [`${many(unknown)} taken as closed always: the depth on ${unknown.length === 1 ? 'it' : 'them'} is not known; give dryingHeightM or depthM`];
  if (tide.level === null || startS === null) {
    return noted(planLines(request), `${many(tidal)} taken as closed always: ${tide.level === null ? 'no water level is known (water.level)' : 'no start is decided (sortie.startUtc)'}`, ...unknownNote);
  }
  let shut: LinePlan | null = null;
  let spanS = UNKNOWN_S;
  let fault: UseError | null = null;
  try {
    shut = planLines(request);
    spanS = LONGER * shut.time.totalS + MORE_S;
  } catch (error) {
    if (!(error instanceof UseError)) throw error;
    fault = error;
  }
  const { open, closed } = keepOutsDuring(tidal, tide, startS, startS + spanS);
  const clock = (s: number): string => `${formatUtc(s).slice(11, 16)} UTC`;
  const notes = [...unknownNote];
  for (const keepout of closed.filter(({ leastDepthM }) => !Number.isNaN(leastDepthM))) {
    const opening = nextOpening(keepout, tide, startS);
    const place = `the keep-out by tide with ${keepout.leastDepthM! < 0 ? `a drying height of ${(-keepout.leastDepthM!).toFixed(1)} m` : `${keepout.leastDepthM!.toFixed(1)} m on it`}`;
    notes.push(`${place}: lines stop at it, ${opening === null ? 'it does not open in the next 25 h' : `it is open from ${clock(opening.fromS)} to ${clock(opening.toS)} only, and lines need it open for ${(spanS / 3600).toFixed(1)} h from the start`}`);
  }
  if (open.length === 0) {
    if (shut === null) throw fault!;
    return noted(shut, ...notes);
  }
  const plan = planLines({ ...request, keepouts: request.keepouts.filter((keepout) => !open.includes(keepout)) });
  return noted(plan, `lines lead over ${open.length === 1 ? 'a keep-out' : `${open.length} keep-outs`} by tide that stay${open.length === 1 ? 's' : ''} open from the start for ${(spanS / 3600).toFixed(1)} h: ${tide.needM.toFixed(2)} m of water or more`, ...notes);
}
