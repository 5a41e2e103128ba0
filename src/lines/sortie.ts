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
}

/** plan/sorties.json. */
export interface SortiePlan {
  readonly format: 'tallow-sorties';
  readonly version: 1;
  readonly sorties: readonly Sortie[];
  /** Why they are cut as they are, in plain words. */
  readonly why: readonly string[];
  readonly notes: readonly string[];
}
