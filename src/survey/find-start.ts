import { rehearsalSetting } from '../rehearse/ground.js';
import { UseError } from '../base/errors.js';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import { formatUtc, parseUtc } from '../base/time.js';
import { boatModel } from '../boat/boat-model.js';
import { bestStart } from '../rehearse/best-start.js';
import { rehearseSortie } from '../rehearse/rehearse-sortie.js';
import type { RehearsalRequest, StartWindow } from '../rehearse/rehearsal.js';
import type { Sortie } from '../lines/sortie.js';
import type { Desk } from './desk.js';
import { sortieGround } from './sortie-ground.js';
import { readCard } from './step-boat.js';
import { readSorties } from './step-sorties.js';

/** A start that was found, and what was looked at. */
export interface FoundStart {
  readonly startS: number | null;
  readonly windows: readonly StartWindow[];
  readonly why: string;
}

/** Starts are looked at this far apart, and no more of them than this [s]. */
const STEP_S = 600;
const MOST_STARTS = 1000;

/** `FROM/TO` as two UTC times. @throws UseError saying what was expected */
export function spanOf(text: string, option: string): { fromS: number; toS: number } {
  const [fromS = NaN, toS = NaN, ...rest] = text.split('/').map((part) => parseUtc(part.trim()));
  if (rest.length > 0 || !(toS >= fromS)) {
    throw new UseError(`${option}: expected FROM/TO, two UTC times, the later second, such as 2026-06-17T04:00Z/2026-06-18T22:00Z, found ${JSON.stringify(text)}`);
  }
  return { fromS, toS };
}

/**
 * The best start in a span for all sorties of a survey; where there is one it is kept in survey.json.
 * @throws UseError where there are no sorties, or the span cannot be read
 */
export async function findStart(desk: Desk, text: string, context: WorkContext): Promise<{ readonly found: FoundStart; readonly text: string[] }> {
  const { fromS, toS } = spanOf(text, '--best');
  const { folder } = desk;
  // Sorties are cut for a start; that of the middle of the span stands until the best is known.
  const { summary } = await desk.build(context, 'sorties');
  if (summary.sorties?.fault != null) {
    await desk.set('sortie.startUtc', formatUtc(Math.round(fromS)));
    const again = await desk.build(context, 'sorties');
    if (again.summary.sorties?.fault != null) throw new UseError(again.summary.sorties.fault.message);
  }
  const settings = (await desk.summary()).settings;
  const plan = await readSorties(folder);
  if (plan === null || plan.sorties.length === 0) throw new UseError(`${folder}: there are no sorties: plan lines and set a launch point first, with tallow lines ${folder} --launch LAT,LON`);
  const ground = await sortieGround(folder, settings, { startS: fromS, endS: toS + 2 * 86_400 });
  const boat = boatModel(await readCard(folder));
  const common = { ...rehearsalSetting(ground, settings), boat };
  const found = bestFor(plan.sorties, common, settings.sortie.swapS, fromS, toS, (share) => {
    throwIfCancelled(context.signal);
    context.progress?.('looking for a start', share);
  });
  if (found.startS !== null) await desk.set('sortie.startUtc', formatUtc(Math.round(found.startS)));
  const clock = (timeS: number): string => formatUtc(timeS).slice(0, 16).replace('T', ' ');
  return {
    found,
    text: [
      found.startS === null ? `No start found: ${found.why}` : `Best start: ${clock(found.startS)} UTC: ${found.why}`,
      ...found.windows.slice(0, 24).map(({ fromS: from, toS: to, go, reason }) => `  ${clock(from)} to ${clock(to)}  ${go ? 'go' : `no-go: ${reason}`}`),
      ...(found.windows.length > 24 ? [`  and ${found.windows.length - 24} more, with --json`] : []),
    ],
  };
}

/** The best start for sorties run one after the other. */
function bestFor(sorties: readonly Sortie[], common: Omit<RehearsalRequest, 'sortie' | 'startS'>, swapS: number, fromS: number, toS: number, progress: (share: number) => void): FoundStart {
  const stepS = Math.max(STEP_S, Math.ceil((toS - fromS) / MOST_STARTS / 60) * 60);
  if (sorties.length === 1) {
    const { startS, windows, why } = bestStart({ ...common, sortie: sorties[0]!, startS: fromS }, fromS, toS, stepS);
    return { startS, windows, why };
  }
  const all = (startS: number, effort: 'quick' | 'full'): { go: boolean; window: StartWindow; costWh: number } => {
    let leavesS = startS;
    let costWh = 0;
    for (const sortie of sorties) {
      const { verdict, totals } = rehearseSortie({ ...common, sortie, startS: leavesS, effort });
      if (!verdict.go) return { go: false, window: { fromS: startS, toS: startS, go: false, kind: verdict.concerns[0]?.kind ?? null, reason: `sortie ${sortie.number}: ${verdict.reason}` }, costWh: Infinity };
      costWh += totals.energyWh + totals.energy95Wh;
      leavesS = totals.endS + swapS;
    }
    return { go: true, window: { fromS: startS, toS: startS, go: true, kind: null, reason: '' }, costWh };
  };
  const looked: (ReturnType<typeof all> & { readonly startS: number })[] = [];
  const windows: StartWindow[] = [];
  for (let startS = fromS; startS <= toS; startS += stepS) {
    progress((startS - fromS) / Math.max(stepS, toS - fromS));
    const one = all(startS, 'quick');
    looked.push({ ...one, startS });
    const last = windows[windows.length - 1];
    if (last !== undefined && last.go === one.go && last.kind === one.window.kind) windows[windows.length - 1] = { ...last, toS: startS };
    else windows.push(one.window);
  }
  const inner = looked.filter((one, i) => one.go && (looked[i - 1]?.go ?? true) && (looked[i + 1]?.go ?? true));
  const candidates = (inner.length > 0 ? inner : looked.filter(({ go }) => go)).sort((a, b) => Math.round(a.costWh) - Math.round(b.costWh) || a.startS - b.startS);
  const best = candidates.slice(0, 12).find(({ startS }) => all(startS, 'full').go);
  if (best !== undefined) return { startS: best.startS, windows, why: `least energy of the starts at which all ${sorties.length} sorties are a go, ${best.costWh.toFixed(0)} Wh with its 95 %` };
  return { startS: null, windows, why: candidates.length > 0 ? 'the starts that looked possible in the quick look are not when rehearsed in full: rehearse one of them with --start to see why' : `no start from ${formatUtc(fromS)} to ${formatUtc(toS)} is a go` };
}
