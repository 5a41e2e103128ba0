import type { Sortie } from '../lines/sortie.js';

/** A leg as it is told: `line 12`, `the turn to line 7 (leg 5)`. */
export function legName(sortie: Sortie, legIndex: number): string {
  const leg = sortie.legs[legIndex];
  if (leg === undefined) return 'no leg';
  if (leg.kind === 'line') return `line ${leg.line}`;
  if (leg.kind === 'home' || leg.line === null) return `the way home (leg ${legIndex + 1})`;
  return `the ${leg.kind === 'launch' ? 'way out' : leg.kind} ${leg.kind === 'run-out' ? 'of' : 'to'} line ${leg.line} (leg ${legIndex + 1})`;
}
