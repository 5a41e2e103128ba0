import { formatUtc } from '../../base/time.js';
import { bestStart } from '../../rehearse/best-start.js';
import { rehearseSortie } from '../../rehearse/rehearse-sortie.js';
import type { StartWindow } from '../../rehearse/rehearsal.js';
import { groundWith, rehearsalCommon } from './rehearse-ground.js';
import type { FindRequest, FoundStarts } from './rehearse-messages.js';

/** So long at most before the worker listens for a stop [ms]. */
const LISTEN_MS = 40;
/** So many of the best are rehearsed in full before it is given up. */
const MOST_FULL = 12;
const FINE_S = 60;

interface Job {
  readonly signal: AbortSignal;
  readonly progress: (done: number, detail: string) => void;
}

interface Look {
  readonly startS: number;
  readonly window: StartWindow;
  /** Energy with its 95 % [Wh]; infinite where it is no go. */
  readonly costWh: number;
}

/** The best start in a span for all sorties, run one after the other; quick rehearsals tell the windows, the best are rehearsed in full. */
export async function findStart({ settings, sorties, fromS, toS, stepS }: FindRequest, { signal, progress }: Job): Promise<FoundStarts> {
  if (!(toS >= fromS)) throw new Error('the end of the span is before its start: choose a later end');
  let listenedMs = performance.now();
  const listen = async () => {
    if (performance.now() - listenedMs < LISTEN_MS) return;
    await new Promise((resolve) => setTimeout(resolve, 0));
    listenedMs = performance.now();
    if (signal.aborted) throw new DOMException('stopped', 'AbortError');
  };
  const all = async (startS: number, effort: 'quick' | 'full'): Promise<Look> => {
    const common = rehearsalCommon(groundWith(settings, startS), settings);
    let leavesS = startS;
    let costWh = 0;
    for (const sortie of sorties) {
      const { verdict, totals } = rehearseSortie({ ...common, sortie, startS: leavesS, effort });
      await listen();
      if (!verdict.go) return { startS, window: { fromS: startS, toS: startS, go: false, kind: verdict.concerns[0]?.kind ?? null, reason: sorties.length > 1 ? `sortie ${sortie.number}: ${verdict.reason}` : verdict.reason }, costWh: Infinity };
      costWh += totals.energyWh + totals.energy95Wh;
      leavesS = totals.endS + settings.sortie.swapS;
    }
    return { startS, window: { fromS: startS, toS: startS, go: true, kind: null, reason: '' }, costWh };
  };
  const looks: Look[] = [];
  const windows: StartWindow[] = [];
  const n = Math.floor((toS - fromS) / stepS + 1e-9) + 1;
  for (let i = 0; i < n; i++) {
    const look = await all(fromS + i * stepS, 'quick');
    looks.push(look);
    progress(i / n, `${i + 1} of ${n} starts`);
    const last = windows[windows.length - 1];
    if (last !== undefined && last.go === look.window.go && last.kind === look.window.kind) windows[windows.length - 1] = { ...last, toS: look.startS };
    else windows.push(look.window);
  }
  const goes = looks.filter(({ window }) => window.go);
  const inner = looks.filter((one, i) => one.window.go && (looks[i - 1]?.window.go ?? true) && (looks[i + 1]?.window.go ?? true));
  const candidates = [...(inner.length > 0 ? inner : goes)].sort((a, b) => Math.round(a.costWh) - Math.round(b.costWh) || a.startS - b.startS).slice(0, MOST_FULL);
  const only = sorties.length === 1 ? sorties[0] : undefined;
  for (const { startS } of candidates) {
    progress(0.99, 'rehearsing the best in full');
    await new Promise((resolve) => setTimeout(resolve, 0));
    if (signal.aborted) throw new DOMException('stopped', 'AbortError');
    if (only !== undefined) {
      const common = rehearsalCommon(groundWith(settings, startS), settings);
      const best = bestStart({ ...common, sortie: only, startS }, Math.max(fromS, startS - stepS / 2), Math.min(toS, startS + stepS / 2), Math.min(FINE_S, stepS));
      if (best.startS !== null) return { startS: best.startS, windows, stepS, why: `${best.why.replace(/; \d+ of \d+ starts looked at are a go$/, '')}; ${goes.length} of ${n} starts looked at are a go` };
    } else {
      const full = await all(startS, 'full');
      if (full.window.go) return { startS, windows, stepS, why: `least energy of the starts at which all ${sorties.length} sorties are a go, ${full.costWh.toFixed(0)} Wh with its 95 %; ${goes.length} of ${n} starts looked at are a go` };
    }
  }
  const nearest = candidates[0];
  const whyNot = nearest === undefined ? '' : (await all(nearest.startS, 'full')).window.reason;
  return { startS: null, windows, stepS, why: nearest !== undefined ? `the starts that looked possible are not when rehearsed in full; at ${formatUtc(nearest.startS)}: ${whyNot}` : `no start from ${formatUtc(fromS)} to ${formatUtc(toS)} is a go` };
}
