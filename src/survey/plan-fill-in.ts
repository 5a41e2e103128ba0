import { UseError } from '../base/errors.js';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import { boatModel } from '../boat/boat-model.js';
import type { Sortie, SortiePlan } from '../lines/sortie.js';
import { writeAtomic } from './atomic-file.js';
import { placeIn } from './folder.js';
import { writeRoutes } from './make-brief.js';
import { fillInAsPlanned } from './planned-lines.js';
import type { Settings } from './settings.js';
import { sortieGround, startOf } from './sortie-ground.js';
import { readCard } from './step-boat.js';
import { rehearseAll, type RehearsedSortie } from './step-rehearsal.js';
import { sortiesOver, sortiesText } from './step-sorties.js';

/** The sorties that fill the gaps. */
export const FILL_IN_SORTIES = 'plan/fill-in-sorties.json';

/** One sortie over fill-in lines, as planned and, where a start is set, as rehearsed. */
export interface FillInSortie {
  readonly number: number;
  readonly lines: readonly number[];
  readonly lengthM: number;
  readonly timeS: number;
  readonly time95S: number;
  readonly energyWh: number;
  readonly energy95Wh: number;
  /** Null where no start is set: only a start can be rehearsed. */
  readonly verdict: { readonly go: boolean; readonly reason: string } | null;
}

export interface FillInTrip {
  readonly sorties: readonly FillInSortie[];
  readonly plan: Pick<SortiePlan, 'verdict' | 'leftOut' | 'why' | 'notes'>;
  readonly files: readonly string[];
}

/**
 * Plans the fill-in lines as sorties from the launch point: in the order that takes least time from there in the current of the
 * start, on the charges there are, rehearsed where a start is set. Written beside the survey's own plan, which stays as it is.
 *
 * @throws UseError where there are no fill-in lines, no launch point, or no card of the boat
 */
export async function planFillIn(folder: string, settings: Settings, context: WorkContext): Promise<FillInTrip> {
  const ground = await sortieGround(folder, settings);
  const lines = await fillInAsPlanned(folder, ground.frame);
  if (lines.order.length === 0) throw new UseError(`${folder}: there is no gap to fill: no sortie is needed`, { path: 'gaps' });
  context.progress?.('fill-in sorties', 0.2, `${lines.order.length} lines`);
  const plan = await sortiesOver(folder, settings, ground, lines);
  throwIfCancelled(context.signal);
  const startS = startOf(settings);
  const rehearsed: readonly RehearsedSortie[] = startS === null ? [] : rehearseAll(plan.sorties, ground, settings, boatModel(await readCard(folder)), startS, (done) => context.progress?.('rehearsing', 0.4 + 0.5 * done));
  await writeAtomic(placeIn(folder, FILL_IN_SORTIES), sortiesText(plan));
  const routes = await writeRoutes(folder, settings, plan.sorties.map((sortie, i) => ({ sortie, rehearsal: rehearsed[i]?.rehearsal ?? null })), ground.frame, 'fill-in-sortie');
  return {
    sorties: plan.sorties.map((sortie: Sortie, i): FillInSortie => {
      const verdict = rehearsed[i]?.rehearsal.verdict;
      const { number, lines: run, lengthM, timeS, time95S, energyWh, energy95Wh } = sortie;
      return { number, lines: run, lengthM, timeS, time95S, energyWh, energy95Wh, verdict: verdict === undefined ? null : { go: verdict.go, reason: verdict.reason } };
    }),
    plan: { verdict: plan.verdict, leftOut: plan.leftOut, why: plan.why, notes: plan.notes },
    files: [FILL_IN_SORTIES, ...routes],
  };
}
