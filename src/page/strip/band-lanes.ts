import type { Trial, TrialKind } from '../../boat/trial-log.js';

/** Lanes of the strip from the top: kinds that run within each other do not share one. */
const LANES: readonly { readonly title: string; readonly kinds: readonly TrialKind[] }[] = [
  { title: 'runs', kinds: ['steady-run'] },
  { title: 'legs', kinds: ['straight-leg'] },
  { title: 'others', kinds: ['standing-start', 'coast-down', 'stop-astern', 'turning-circle', 'spin', 'zig-zag'] },
];

/** The lane of each trial, from 0, and what the lanes are called; a lane without trials is left out. */
export function bandLanes(trials: readonly Trial[]): { readonly lane: Int32Array; readonly titles: readonly string[] } {
  const used = LANES.filter(({ kinds }) => trials.some(({ kind }) => kinds.includes(kind)));
  return { lane: Int32Array.from(trials, ({ kind }) => used.findIndex(({ kinds }) => kinds.includes(kind))), titles: used.map(({ title }) => title) };
}
