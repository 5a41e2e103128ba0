import { formatUtc } from '../base/time.js';
import { rehearseSortie } from './rehearse-sortie.js';
import type { BestStart, ConcernKind, Rehearsal, RehearsalRequest, StartWindow } from './rehearsal.js';

/** Starts are looked at this finely around the best of the coarse ones [s]. */
const FINE_S = 60;
/** So many of the best are rehearsed in full before it is given up. */
const MOST_FULL = 12;

interface Start {
  readonly startS: number;
  readonly go: boolean;
  readonly kind: ConcernKind | null;
  readonly reason: string;
  /** Energy with its 95 % [Wh]. */
  readonly costWh: number;
}

/**
 * The best start in a span: of those that are a go the one that costs least energy, its 95 % added, among those whose
 * neighbours are a go too where there are such, so that it does not stand on the edge of a window.
 *
 * Quick rehearsals every `stepS` tell the windows, each with the reason of its verdict; around the best it is looked more
 * finely, and the one found is rehearsed in full. Starts of one kind of reason next to each other are one window.
 *
 * @param request its startS is not used
 * @param fromS,toS first and last start looked at, UTC [s]
 * @param stepS between starts [s]
 * @throws RangeError for a span that ends before it begins, a step that is not positive, or more than 20 000 starts
 */
export function bestStart(request: RehearsalRequest, fromS: number, toS: number, stepS: number): BestStart {
  if (!(toS >= fromS)) throw new RangeError(`toS ${toS}: expected ${fromS} or later`);
  if (!(stepS > 0)) throw new RangeError(`stepS ${stepS}: expected more than 0`);
  if ((toS - fromS) / stepS > 20_000) throw new RangeError(`stepS ${stepS}: ${Math.round((toS - fromS) / stepS)} starts, 20000 at most; choose a longer step or a shorter span`);
  const known = new Map<number, Start>();
  const look = (startS: number): Start => {
    let start = known.get(startS);
    if (start === undefined) {
      const { verdict, totals } = rehearseSortie({ ...request, startS, effort: 'quick' });
      start = { startS, go: verdict.go, kind: verdict.go ? null : verdict.concerns[0]!.kind, reason: verdict.reason, costWh: totals.energyWh + totals.energy95Wh };
      known.set(startS, start);
    }
    return start;
  };
  const starts: Start[] = [];
  for (let i = 0; fromS + i * stepS <= toS + 1e-6; i++) starts.push(look(fromS + i * stepS));
  const windows = windowsOf(starts);

  const inner = starts.filter((start, i) => start.go && (starts[i - 1]?.go ?? true) && (starts[i + 1]?.go ?? true));
  const candidates = (inner.length > 0 ? inner : starts.filter((start) => start.go)).sort(cheapest);
  const tried = new Set<number>();
  let full = 0;
  for (const candidate of candidates) {
    // Minutes around it within the span, cheapest first; not past a neighbour.
    const near: Start[] = [];
    const fineS = Math.min(FINE_S, stepS);
    for (let s = -stepS + fineS; s < stepS; s += fineS) {
      const startS = candidate.startS + s;
      if (startS >= fromS && startS <= toS) near.push(look(startS));
    }
    const robust = near.filter((start, i) => start.go && near[i - 1]?.go !== false && near[i + 1]?.go !== false);
    for (const start of (robust.length > 0 ? robust : [candidate]).sort(cheapest).slice(0, 2)) {
      if (tried.has(start.startS)) continue;
      if (full >= MOST_FULL) break;
      tried.add(start.startS);
      full++;
      const rehearsal = rehearseSortie({ ...request, startS: start.startS, effort: 'full' });
      if (rehearsal.verdict.go) return { startS: start.startS, rehearsal, windows, why: whyBest(start, rehearsal, starts) };
    }
  }
  const reasons = [...new Set(windows.map((window) => window.reason))];
  return { startS: null, rehearsal: null, windows, why: candidates.length > 0 ? 'the starts that looked possible in the quick look are not when rehearsed in full: rehearse one of them to see why' : `no start from ${formatUtc(fromS)} to ${formatUtc(toS)} is a go: ${reasons.slice(0, 3).join('; ')}` };
}

function cheapest(a: Start, b: Start): number {
  // A watt-hour is nothing: the earlier of the two.
  return Math.round(a.costWh) - Math.round(b.costWh) || a.startS - b.startS;
}

/** Starts next to each other with the same kind of verdict; the reason is that of the first. */
function windowsOf(starts: readonly Start[]): StartWindow[] {
  const windows: StartWindow[] = [];
  for (const { startS, go, kind, reason } of starts) {
    const last = windows[windows.length - 1];
    if (last !== undefined && last.go === go && last.kind === kind) windows[windows.length - 1] = { ...last, toS: startS };
    else windows.push({ fromS: startS, toS: startS, go, kind, reason });
  }
  return windows;
}

function whyBest(best: Start, rehearsal: Rehearsal, starts: readonly Start[]): string {
  const goes = starts.filter((start) => start.go);
  const dearest = goes.reduce((most, start) => Math.max(most, start.costWh), best.costWh);
  const { totals } = rehearsal;
  const saves = dearest - best.costWh;
  return `${formatUtc(best.startS)}: ${totals.energyWh.toFixed(0)} ± ${totals.energy95Wh.toFixed(0)} Wh and ${(totals.timeS / 60).toFixed(0)} min${saves >= 1 ? `, ${saves.toFixed(0)} Wh less than the dearest start that is a go` : ''}; ${goes.length} of ${starts.length} starts looked at are a go`;
}
