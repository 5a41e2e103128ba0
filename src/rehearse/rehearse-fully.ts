import { withLinkVerdict } from './judge-link.js';
import { rehearseSortie } from './rehearse-sortie.js';
import type { MomentOutcomes, Rehearsal, RehearsalRequest, WorstMomentOptions } from './rehearsal.js';
import { worstMoments } from './worst-moments.js';

/** A sortie rehearsed in full with what comes of mishaps, and the verdict that knows it. */
export function rehearseFully(request: RehearsalRequest, asked: WorstMomentOptions = {}): { readonly rehearsal: Rehearsal; readonly moments: MomentOutcomes } {
  const whole = { ...request, effort: 'full' } as const;
  const rehearsal = rehearseSortie(whole);
  const moments = worstMoments(rehearsal, whole, { ...(request.options?.lostLink === undefined ? {} : { lostLink: request.options.lostLink }), ...asked });
  return { rehearsal: withLinkVerdict(rehearsal, moments, whole), moments };
}
