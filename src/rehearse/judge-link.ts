import { formatUtc } from '../base/time.js';
import { legName } from './leg-words.js';
import { BADLY, momentsMaybeLost, USUAL_ALLOWANCE_DB, withOutcomes } from './link-outlook.js';
import { BEHAVIOUR_CLAUSES, BEHAVIOUR_WORDS, belowText, laterText, shareText, spanText } from './moment-words.js';
import { OUTCOMES, type Concern, type LinkOutlook, type LostLinkBehaviour, type MomentOutcomes, type Outcome, type Rehearsal, type RehearsalOptions, type RehearsalRequest } from './rehearsal.js';
import { checkedOptions } from './rehearsal-options.js';
import { compareConcerns, verdictOf } from './verdict.js';

const ENDS: readonly (readonly [Outcome, string])[] = [
  ['aground', 'aground'],
  ['keep-out', 'in a keep-out'],
  ['drifts', 'adrift'],
];
/** Of behaviours that end equally well the one told first: it comes home, and by the way that is known. */
const PREFERRED: readonly LostLinkBehaviour[] = ['safe-lane', 'back-along-track', 'straight-home', 'hold', 'carry-on'];

/**
 * What the link has to say to the verdict before mishaps are looked at: how long and where it is expected to be lost.
 * A loss shorter than the boat waits before it acts is a caution, a longer one a condition, or a no-go where that is wanted.
 */
export function linkConcern(link: LinkOutlook | null, request: RehearsalRequest, options: RehearsalOptions): Concern | null {
  if (link === null || link.longest === null) return null;
  const first = link.stretches[0]!;
  const foreseen = Number.isFinite(link.actsS);
  const weight = !foreseen ? 'caution' : options.linkLostIsNoGo ? 'no-go' : 'condition';
  return about(first, weight, `${lossText(link, request, options)}${foreseen ? `; ${actText(link, null)}` : `; the boat waits ${spanText(options.lostLinkAfterS)} before it does anything about it`}`);
}

/**
 * The rehearsal with what is to be expected of the link in its verdict, now that it is known what comes of a lost link.
 *
 * The rule: (1) where the link may be lost (its margin keeps it less than 95 times of 100) and what the boat is set to do ends
 * adrift, in a keep-out or aground, it is a no-go; (2) where it is expected to be lost for longer than the boat waits, and that
 * ends well, it is a go with conditions, or a no-go where `linkLostIsNoGo`; (3) where only a fault can lose the link and the set
 * behaviour would end badly, that is a caution.
 */
export function withLinkVerdict(rehearsal: Rehearsal, moments: MomentOutcomes, request: RehearsalRequest): Rehearsal {
  const options = checkedOptions(request);
  const { lostLink } = options;
  const allowanceDb = request.linkAllowanceDb ?? USUAL_ALLOWANCE_DB;
  const maybe = rehearsal.link === null || request.linkMarginDb == null ? [] : momentsMaybeLost(moments, request.linkMarginDb, options, allowanceDb);
  const link = rehearsal.link === null ? null : withOutcomes(rehearsal.link, moments, maybe);
  const concerns = rehearsal.verdict.concerns.filter(({ kind }) => kind !== 'link');
  const seen = linkConcern(link, request, options);
  const ends = moments.n === 0 ? null : moments.outcomes[lostLink].outcome;
  if (ends !== null && link !== null && link.bad > 0) {
    const where = `where the link may be lost, below ${(options.leastLinkDb + allowanceDb).toFixed(0)} dB,`;
    concerns.push(badEnding(moments, lostLink, maybe, 'no-go', where, 'of those moments', true));
  } else if (ends !== null && ends.some((end) => end >= BADLY)) {
    const all = Array.from({ length: moments.n }, (_, i) => i);
    concerns.push(badEnding(moments, lostLink, all, 'caution', link === null ? 'on a lost link' : 'should a fault drop the link where it is good,', 'of the moments of the sortie', false));
  }
  if (seen !== null && link !== null) {
    const foreseen = Number.isFinite(link.actsS);
    concerns.push(foreseen ? { ...seen, text: `${lossText(link, request, options)}; ${actText(link, moments)}${link.bad > 0 ? '' : `; ${remedyText(link, moments)}`}` } : seen);
  }
  if (concerns.length === rehearsal.verdict.concerns.length && concerns.every((one) => rehearsal.verdict.concerns.includes(one))) return link === null ? rehearsal : { ...rehearsal, link };
  concerns.sort(compareConcerns);
  return { ...rehearsal, link, verdict: verdictOf({ ...rehearsal, link }, request, options, concerns, rehearsal.verdict.chanceHome) };
}

/** How long, how much of the sortie, the longest stretch and where. */
function lossText(link: LinkOutlook, { sortie }: RehearsalRequest, options: RehearsalOptions): string {
  const { stretches, longest } = link;
  const first = stretches[0]!;
  const where = ({ legIndex, fromS }: { legIndex: number; fromS: number }): string => `${legName(sortie, legIndex)} at ${formatUtc(fromS)}`;
  const many = stretches.length === 1 ? `, from ${where(first)}` : ` in ${stretches.length} stretches, the first from ${where(first)}, the longest ${spanText(longest!.toS - longest!.fromS)}${longest === first ? '' : ` from ${where(longest!)}`}`;
  return `the link is expected to be lost for ${spanText(link.lostS)}, ${shareText(link.lostShare)} of the sortie${many}; at worst ${belowText(link.leastDb, options.leastLinkDb, 0)} dB`;
}

/** What the boat does at the first loss that lasts, and what becomes of the survey. */
function actText(link: LinkOutlook, moments: MomentOutcomes | null): string {
  const { behaviour, actsS, linesBefore } = link;
  const at = formatUtc(actsS);
  if (behaviour === 'carry-on') return 'there the boat carries on by itself and no order reaches it';
  const run = `with ${shareText(linesBefore)} of its lines run`;
  const moment = moments === null ? -1 : moments.timeS.findIndex((timeS) => timeS >= actsS - 1e-6);
  const ends = moment < 0 ? null : moments!.outcomes[behaviour];
  const home = ends !== null && OUTCOMES[ends.outcome[moment]!] === 'home' ? `, at home at ${formatUtc(ends.timeS[moment]!)}` : '';
  return behaviour === 'hold' ? `at ${at}, ${run}, the boat holds its place and waits there for a link` : `at ${at}, ${run}, the boat breaks off and ${BEHAVIOUR_WORDS[behaviour]}${home}`;
}

/** What has to be seen to before it goes. */
function remedyText(link: LinkOutlook, moments: MomentOutcomes): string {
  if (link.behaviour === 'carry-on') return 'keep it in sight or follow it with a crewed boat, agree when it is overdue, and try before launch that it is set so';
  const carries = moments.n > 0 && moments.outcomes['carry-on'].outcome.every((end) => end < BADLY);
  return `to run all lines stand the base nearer or raise its antenna${carries ? ', or set it to carry on, which ends at home from every moment' : ''}; else plan for what is run until then`;
}

function badEnding(moments: MomentOutcomes, lostLink: LostLinkBehaviour, among: readonly number[], weight: Concern['weight'], where: string, ofWhat: string, advise: boolean): Concern {
  const { outcome, timeS } = moments.outcomes[lostLink];
  const parts: string[] = [];
  let first = -1;
  let worst = '';
  let bad = 0;
  for (const [name, words] of ENDS) {
    const code = OUTCOMES.indexOf(name);
    const these = among.filter((i) => outcome[i] === code);
    if (these.length === 0) continue;
    bad += these.length;
    parts.push(`${words} from ${shareText(these.length / among.length)}`);
    if (first < 0) [first, worst] = [these[0]!, words];
  }
  const others = PREFERRED.filter((behaviour) => behaviour !== lostLink).map((behaviour) => ({ behaviour, bad: among.filter((i) => moments.outcomes[behaviour].outcome[i]! >= BADLY).length }));
  const best = others.reduce((least, next) => (next.bad < least.bad ? next : least));
  const better = best.bad >= bad ? (advise ? '; no other behaviour does better: stand the base nearer, or raise its antenna' : '') : `; set to ${BEHAVIOUR_CLAUSES[best.behaviour]} it does so from ${best.bad === 0 ? 'none' : shareText(best.bad / among.length)}`;
  return about(
    { fromS: moments.timeS[first]!, xM: moments.xM[first]!, yM: moments.yM[first]!, legIndex: -1 },
    weight,
    `${where} the boat is set to ${BEHAVIOUR_CLAUSES[lostLink]}, and ends ${parts.join(' and ')} ${ofWhat}, first at ${formatUtc(moments.timeS[first]!)}: ${worst} ${laterText(timeS[first]! - moments.timeS[first]!)}${better}`,
  );
}

function about({ fromS, xM, yM, legIndex }: { readonly fromS: number; readonly xM: number; readonly yM: number; readonly legIndex: number }, weight: Concern['weight'], text: string): Concern {
  return { kind: 'link', weight, text, timeS: fromS, xM, yM, legIndex };
}
