import { compareConcerns } from './judge-sortie.js';
import { formatUtc } from '../base/time.js';
import { BEHAVIOUR_CLAUSES, laterText } from './moment-words.js';
import { OUTCOMES, type Concern, type LostLinkBehaviour, type MomentOutcomes, type Outcome, type Rehearsal } from './rehearsal.js';

const ENDS: readonly (readonly [Outcome, string])[] = [
  ['aground', 'aground'],
  ['keep-out', 'in a keep-out'],
  ['drifts', 'adrift'],
];

/**
 * A caution where what the boat is set to do on a lost link ends aground, in a keep-out or adrift at some moments: from what
 * share of them, the first of the worst kind with its place, and the behaviour that does better where there is one.
 *
 * @returns null where it ends at home or holding at every moment, or no moments were worked out
 */
export function lostLinkConcern(moments: MomentOutcomes, lostLink: LostLinkBehaviour): Concern | null {
  if (moments.n === 0) return null;
  const { outcome, timeS } = moments.outcomes[lostLink];
  const parts: string[] = [];
  let first = -1;
  let bad = 0;
  let worst = '';
  for (const [name, words] of ENDS) {
    const code = OUTCOMES.indexOf(name);
    let count = 0;
    for (const value of outcome) if (value === code) count++;
    if (count === 0) continue;
    bad += count;
    parts.push(`${words} from ${shareText(count / moments.n)}`);
    if (first < 0) [first, worst] = [outcome.indexOf(code), words];
  }
  if (first < 0) return null;
  const best = moments.ranking[0];
  const better = best === undefined || best.behaviour === lostLink || best.bad >= bad ? '' : `; set to ${BEHAVIOUR_CLAUSES[best.behaviour]} it does so from ${best.bad === 0 ? 'none' : shareText(best.bad / moments.n)}`;
  return {
    kind: 'link',
    weight: 'caution',
    text: `set to ${BEHAVIOUR_CLAUSES[lostLink]} on a lost link, the boat ends ${parts.join(' and ')} of the moments of the sortie, first at ${formatUtc(moments.timeS[first]!)}: ${worst} ${laterText(timeS[first]! - moments.timeS[first]!)}${better}`,
    timeS: moments.timeS[first]!,
    xM: moments.xM[first]!,
    yM: moments.yM[first]!,
    legIndex: -1,
  };
}

/** The rehearsal with the caution of `lostLinkConcern`, where there is one, among the concerns of its verdict. */
export function withLostLinkConcern(rehearsal: Rehearsal, moments: MomentOutcomes, lostLink: LostLinkBehaviour): Rehearsal {
  const concern = lostLinkConcern(moments, lostLink);
  if (concern === null) return rehearsal;
  const { verdict } = rehearsal;
  return { ...rehearsal, verdict: { ...verdict, concerns: [...verdict.concerns, concern].sort(compareConcerns) } };
}

function shareText(share: number): string {
  if (share < 0.01) return 'under 1 %';
  if (share > 0.99 && share < 1) return 'over 99 %';
  return `${(100 * share).toFixed(0)} %`;
}
