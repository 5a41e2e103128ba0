import type { Sortie } from '../lines/sortie.js';
import { OUTCOMES, type LinkOutlook, type LostStretch, type MomentOutcomes, type RehearsalColumns, type RehearsalOptions } from './rehearsal.js';

/** Margin that keeps the link 95 times of 100 where nothing else is said: 1.645 times one sigma of 5 dB. */
export const USUAL_ALLOWANCE_DB = 1.6448536 * 5;

/** `adrift` and worse. */
export const BADLY = OUTCOMES.indexOf('drifts');

type LinkColumns = Pick<RehearsalColumns, 'n' | 'timeS' | 'xM' | 'yM' | 'legIndex' | 'linkMarginDb'>;

/**
 * How long and where the link is expected to be lost along a run, and when the boat does what it is set to do about it.
 *
 * Between two rows the margin counts as that of the later one. What comes of it is put in by `withOutcomes`.
 *
 * @param allowanceDb margin below which the link may be lost [dB]
 * @returns null where the margin is known nowhere
 */
export function linkOutlook(columns: LinkColumns, sortie: Sortie, options: RehearsalOptions, allowanceDb: number): LinkOutlook | null {
  const { n, timeS, linkMarginDb } = columns;
  const { leastLinkDb, lostLink, lostLinkAfterS } = options;
  let leastDb = NaN;
  let [lostS, unsureS] = [0, 0];
  const stretches: LostStretch[] = [];
  let from = -1;
  let least = Infinity;
  const close = (to: number): void => {
    if (from < 0) return;
    stretches.push({ fromS: timeS[from]!, toS: timeS[to]!, xM: columns.xM[from]!, yM: columns.yM[from]!, legIndex: columns.legIndex[from]!, leastDb: least });
    [from, least] = [-1, Infinity];
  };
  for (let i = 0; i < n; i++) {
    const margin = linkMarginDb[i]!;
    if (!Number.isNaN(margin) && !(leastDb <= margin)) leastDb = margin;
    const stepS = i === 0 ? 0 : timeS[i]! - timeS[i - 1]!;
    if (margin < leastLinkDb + allowanceDb) unsureS += stepS;
    if (margin < leastLinkDb) {
      if (from < 0) from = Math.max(0, i - 1);
      lostS += stepS;
      least = Math.min(least, margin);
    } else close(Math.max(0, i - 1));
  }
  close(n - 1);
  if (Number.isNaN(leastDb)) return null;
  const allS = Math.max(1e-9, timeS[n - 1]! - timeS[0]!);
  const longest = stretches.reduce<LostStretch | null>((most, next) => (most === null || next.toS - next.fromS > most.toS - most.fromS ? next : most), null);
  const acts = stretches.find(({ fromS, toS }) => toS - fromS >= lostLinkAfterS);
  const actsS = acts === undefined ? NaN : acts.fromS + lostLinkAfterS;
  return {
    leastDb,
    lostS,
    lostShare: lostS / allS,
    unsureS,
    unsureShare: unsureS / allS,
    stretches,
    longest,
    actsS,
    linesBefore: acts === undefined ? 1 : linesRunBy(columns, sortie, actsS),
    behaviour: lostLink,
    outcome: null,
    moments: 0,
    bad: 0,
  };
}

/** The outlook with what comes of the set behaviour, and the moments from which the link may be lost. */
export function withOutcomes(outlook: LinkOutlook, moments: MomentOutcomes, maybeLost: readonly number[]): LinkOutlook {
  const ends = moments.outcomes[outlook.behaviour].outcome;
  let worst = -1;
  let bad = 0;
  for (const i of maybeLost) {
    worst = Math.max(worst, ends[i]!);
    if (ends[i]! >= BADLY) bad++;
  }
  return { ...outlook, outcome: worst < 0 ? null : OUTCOMES[worst]!, moments: maybeLost.length, bad };
}

/** Moments at which the link may be lost: its margin is below the least by less than `allowanceDb` in hand. */
export function momentsMaybeLost(moments: MomentOutcomes, linkMarginDb: (xM: number, yM: number) => number, options: RehearsalOptions, allowanceDb: number): number[] {
  const found: number[] = [];
  for (let i = 0; i < moments.n; i++) if (linkMarginDb(moments.xM[i]!, moments.yM[i]!) < options.leastLinkDb + allowanceDb) found.push(i);
  return found;
}

/** Share of the length of a sortie's lines that is run by a time. */
function linesRunBy({ n, timeS, xM, yM, legIndex }: LinkColumns, sortie: Sortie, byS: number): number {
  const allM = sortie.legs.reduce((sum, leg) => sum + (leg.kind === 'line' ? leg.lengthM : 0), 0);
  if (!(allM > 0)) return 0;
  let runM = 0;
  for (let i = 1; i < n && timeS[i]! <= byS; i++) if (sortie.legs[legIndex[i]!]?.kind === 'line') runM += Math.hypot(xM[i]! - xM[i - 1]!, yM[i]! - yM[i - 1]!);
  return Math.min(1, runM / allM);
}
