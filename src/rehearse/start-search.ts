import type { Sortie } from '../lines/sortie.js';
import type { ConcernKind, Rehearsal, RehearsalRequest } from './rehearsal.js';

/** What `lookForStart` is given. */
export interface StartSearch {
  /** What each sortie is rehearsed with beside its start; the current is wanted from fromS to two days after toS. */
  readonly common: Omit<RehearsalRequest, 'sortie' | 'startS' | 'effort'>;
  /** In the order they are run, the battery changed between them in `swapS` [s]. */
  readonly sorties: readonly Sortie[];
  readonly swapS: number;
  /** First and last start looked at, UTC [s], and between starts [s]. */
  readonly fromS: number;
  readonly toS: number;
  readonly stepS: number;
  /** Clear of keep-outs and land on the way home [m]. */
  readonly clearanceM?: number;
}

/** One stretch of start times alike in verdict. */
export interface StartWindow {
  readonly fromS: number;
  readonly toS: number;
  readonly go: boolean;
  readonly kind: ConcernKind | null;
  readonly reason: string;
}

/** One kind of reason for a no-go: the spans of starts that it bars, and those it alone would allow. */
export interface StartLimit {
  readonly kind: ConcernKind;
  readonly bars: readonly { readonly fromS: number; readonly toS: number }[];
  readonly allows: readonly { readonly fromS: number; readonly toS: number }[];
  /** Its words at the first start that it bars. */
  readonly text: string;
}

/** How far a start is from not being a go. NaN where not known. */
export interface StartMargin {
  /** So much earlier or later it would still go [s], and why not before and after; null: no further was looked. */
  readonly earlierS: number;
  readonly laterS: number;
  readonly before: string | null;
  readonly after: string | null;
  /** Least of the sorties: energy above the reserve with the 95 % taken off [Wh], water over what is wanted [m], sun over what is wanted [deg]. */
  readonly aboveReserveWh: number;
  readonly waterM: number;
  readonly sunDeg: number;
  /** Of all sorties; time with the swaps between them. */
  readonly energyWh: number;
  readonly timeS: number;
  readonly aboveCheapestWh: number;
}

export interface BestStart {
  /** UTC [s]; null where no start in the span is a go. */
  readonly startS: number | null;
  /** Of the best start, in full; empty where there is none. */
  readonly rehearsals: readonly Rehearsal[];
  readonly windows: readonly StartWindow[];
  readonly limits: readonly StartLimit[];
  readonly margin: StartMargin | null;
  /** Where none is a go: the first start after the span that looks like one; NaN where there is none in two days. */
  readonly nextS: number;
  readonly why: string;
}
