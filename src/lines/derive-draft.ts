import type { BoatModel } from '../boat/boat-model.js';
import type { DepthOverArea } from './known-depth.js';
import type { DerivedName, Sensor } from './objective.js';

/** A value before locks, with how it may be broken. */
export interface Draft {
  readonly value: number;
  readonly why: string;
  readonly source: string;
}

/** What one objective asks: only what it has a say in. */
export interface Drafts {
  readonly spacingM: Draft;
  /** Spacing where the depth is dM; null where the spacing does not follow the depth. */
  readonly spacingAtDepthM: ((depthM: number) => number) | null;
  readonly rangeM: Draft | null;
  /** The most speed over the ground; null: no limit. */
  readonly mostSpeedMps: Draft | null;
  readonly crossShare: Draft;
  /** Lines along the depth contours, across them, or as is quickest. */
  readonly lie: 'along' | 'across' | 'free';
  readonly lieWhy: string;
  readonly notes: readonly string[];
}

/** What an objective's own derivation works with. */
export interface DeriveGround {
  readonly sensor: Sensor;
  readonly depth: DepthOverArea;
  readonly boat: BoatModel | null;
  /** Values the user has locked. */
  readonly locks: Locks;
}

export type Locks = Partial<Readonly<Record<DerivedName, number>>>;

export const COMMON = 'common practice';
/** A number for a sentence: three figures at most behind small ones. */
export function short(value: number): string {
  if (Math.abs(value) >= 100) return value.toFixed(0);
  return String(Number(value.toPrecision(3)));
}
