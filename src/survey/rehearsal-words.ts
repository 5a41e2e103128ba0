import { formatUtc } from '../base/time.js';
import { formatCounted } from '../report/figures.js';
import { BEHAVIOUR_WORDS, MISHAP_CLAUSES, shareText, spanText, TURN_BACK_WORDS, verdictWord } from '../rehearse/moment-words.js';
import type { LinkOutlook, LostLinkBehaviour, PlaceWindow, TurnBack, Verdict, WorstMoment } from '../rehearse/rehearsal.js';

/** Time of day, UTC, with the date where it is not that of `dayS`. */
export function clockOf(timeS: number, dayS?: number): string {
  if (!Number.isFinite(timeS)) return '--:--';
  const text = formatUtc(timeS);
  return dayS === undefined || text.slice(0, 10) === formatUtc(dayS).slice(0, 10) ? text.slice(11, 16) : text.slice(0, 16).replace('T', ' ');
}

/** The worst moment in words. */
export function worstInWords({ mishap, timeS, reason }: WorstMoment): string {
  return `at ${clockOf(timeS)} UTC, if ${MISHAP_CLAUSES[mishap]}, ${reason}`;
}

/** The verdict of one sortie: `go`, `go with conditions`, `NO-GO`. */
export function verdictInWords(verdict: Verdict): string {
  const word = verdictWord([verdict]);
  return word === 'NO-GO' ? word : word.toLowerCase();
}

/** What is to be expected of the link, and what comes of it. */
export function linkInWords(link: LinkOutlook, allowanceDb: number): string {
  const weakest = `${link.leastDb.toFixed(0).replace(/^-0$/, '0')} dB at the weakest`;
  const unsure = link.unsureS === 0 ? `better than 95 of 100 all the way (${allowanceDb.toFixed(0)} dB)` : `less than 95 of 100 sure (${allowanceDb.toFixed(0)} dB) for ${shareText(link.unsureShare)} of the sortie`;
  const lost = link.longest === null ? '' : `, expected to be lost for ${spanText(link.lostS)} (${shareText(link.lostShare)}), ${spanText(link.longest.toS - link.longest.fromS)} at the longest`;
  const then = link.outcome === null ? '' : link.bad === 0 ? `; where it may be lost it ${BEHAVIOUR_WORDS[link.behaviour]}, which ends well from everywhere` : `; where it may be lost it ${BEHAVIOUR_WORDS[link.behaviour]}, which ends badly from ${shareText(link.bad / link.moments)}`;
  return `${weakest}, ${unsure}${lost}${then}`;
}

/** When there is water enough at a place. */
export function windowInWords(window: PlaceWindow): string {
  const { isOpen, fromS, toS, startsWithTide, endsWithTide, timeS } = window;
  const needs = `a level of ${window.neededLevelM.toFixed(1)} m is needed`;
  if (!Number.isFinite(fromS)) return `too little water at ${clockOf(timeS)} UTC and for 12 h after; ${needs}`;
  if (isOpen && !startsWithTide && !endsWithTide) return `water enough at all states of the tide looked at (${needs})`;
  const from = startsWithTide ? `from ${clockOf(fromS, timeS)}` : '';
  const to = endsWithTide ? `until ${clockOf(toS, timeS)}` : '';
  const span = [from, to].filter((part) => part !== '').join(' ');
  return isOpen ? `water enough ${span} UTC (${needs})` : `too little water at ${clockOf(timeS)} UTC; enough ${span} UTC (${needs})`;
}

/** The last time to turn for home. */
export function turnBackInWords({ timeS, limit, wayHomeS }: TurnBack, startS: number): string {
  if (!Number.isFinite(timeS)) return `not even from the start does it get home with its reserve: ${TURN_BACK_WORDS[limit]}`;
  return `${clockOf(timeS, startS)} UTC to be home with the reserve, whatever is done by then; what sets it: ${TURN_BACK_WORDS[limit]} (the longest way home takes ${spanText(wayHomeS)})`;
}

/** Behaviours on a lost link from best to worst. */
export function rankingInWords(ranking: readonly { readonly behaviour: LostLinkBehaviour; readonly bad: number }[], set: string): string {
  const well = ranking.filter(({ bad }) => bad === 0).map(({ behaviour }) => behaviour);
  const rest = ranking.filter(({ bad }) => bad > 0).map(({ behaviour, bad }) => `${behaviour} from ${formatCounted(bad, 'moment')}`);
  const parts = [...(well.length === 0 ? [] : [`${well.join(', ')} ${well.length === 1 ? 'ends' : 'end'} well from every moment`]), ...(rest.length === 0 ? [] : [`badly: ${rest.join(', ')}`])];
  return `set to ${set} (${BEHAVIOUR_WORDS[set as LostLinkBehaviour] ?? set}); ${parts.join('; ')}`;
}
