import type { Polyline } from '../geo/shapes.js';

export type LegKind = 'launch' | 'transit' | 'run-in' | 'line' | 'run-out' | 'turn' | 'home';

/** One stretch of a sortie at one speed. Positions in the survey frame [m]. */
export interface Leg {
  readonly kind: LegKind;
  /** Number of the line it belongs to or leads to; null for the way home. */
  readonly line: number | null;
  /** Two vertices or more, in the order they are run. */
  readonly path: Polyline;
  readonly lengthM: number;
  /** Speed through the water that is ordered on it [m/s]. */
  readonly speedMps: number;
}

/** One trip on one charge: from the launch point, along lines, and back. Legs join end to end. */
export interface Sortie {
  /** From 1. */
  readonly number: number;
  readonly legs: readonly Leg[];
  /** Line numbers as they are run. */
  readonly lines: readonly number[];
  readonly lengthM: number;
  /** As planned, before rehearsal: time [s] and energy [Wh], each with 95 %. */
  readonly timeS: number;
  readonly time95S: number;
  readonly energyWh: number;
  readonly energy95Wh: number;
  /** UTC second it must not leave before: until then a current or the tide is against it. Left out where it leaves as soon as it can. */
  readonly notBeforeS?: number;
}

/** A line, or a part of one, that no sortie runs, and why. */
export interface LeftOutLine {
  readonly line: number;
  readonly kind: 'current' | 'tide' | 'charge' | 'no-way' | 'keep-out';
  /** In plain words, with the figures and what to do. */
  readonly why: string;
  /** To draw: the part that is left out, [x0, y0, x1, y1] in the frame [m]. */
  readonly path: readonly number[];
  /** Through the water, and the strongest current along it at the start asked for [m/s]; NaN where the current is not why. */
  readonly boatMps: number;
  readonly currentMps: number;
}

/** plan/sorties.json. */
export interface SortiePlan {
  readonly format: 'tallow-sorties';
  readonly version: 1;
  readonly sorties: readonly Sortie[];
  /** No-go where a line is left out, or the first sortie cannot leave when asked. */
  readonly verdict: { readonly go: boolean; readonly reason: string };
  readonly leftOut: readonly LeftOutLine[];
  /** Why they are cut as they are, in plain words. */
  readonly why: readonly string[];
  readonly notes: readonly string[];
}
