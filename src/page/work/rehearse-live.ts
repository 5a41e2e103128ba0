import { rehearseFully } from '../../rehearse/rehearse-fully.js';
import { rehearseSortie } from '../../rehearse/rehearse-sortie.js';
import { groundWith, rehearsalCommon } from './rehearse-ground.js';
import type { LiveAnswer, LiveRequest, ShownSortie } from './rehearse-messages.js';

/** Rehearses sorties with the code the survey's own step uses, and says how long it took. */
export function rehearseLive({ settings, sorties, startS, effort, moments }: LiveRequest): LiveAnswer {
  const began = performance.now();
  try {
    const ground = groundWith(settings, startS);
    const common = rehearsalCommon(ground, settings);
    let leavesS = startS;
    const shown = sorties.map((sortie): ShownSortie => {
      const request = { ...common, sortie, startS: Math.max(leavesS, sortie.notBeforeS ?? leavesS), effort };
      const full = moments && effort === 'full' ? rehearseFully(request, { clearanceM: settings.sortie.clearanceM }) : null;
      const done = full?.rehearsal ?? rehearseSortie(request);
      leavesS = (Number.isFinite(done.totals.endS) ? done.totals.endS : leavesS) + settings.sortie.swapS;
      const { verdict, totals, legs, lines, track95M, stopped, columns } = done;
      return { number: sortie.number, verdict, totals, legs, lines, track95M, stopped, columns, moments: full?.moments ?? null };
    });
    return {
      shown: { from: effort, sorties: shown, standIns: ground.boat.standIns, current: ground.current.source, lostLink: settings.rehearse.lostLink, linkWhy: ground.link.why, linkAllowanceDb: ground.link.allowanceDb },
      tookMs: performance.now() - began,
    };
  } catch (error) {
    return { fault: error instanceof Error ? error.message : String(error) };
  }
}
