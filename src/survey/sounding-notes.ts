import type { LogObservations } from '../base/observations.js';
import { formatUtc } from '../base/time.js';
import type { Crossings } from '../depths/crossings.js';
import type { CorrectionCurves } from '../depths/corrections.js';
import type { Reduction } from '../depths/reduce.js';
import { reasonCode, type Soundings } from '../depths/soundings.js';

/** What the notes are made from. */
export interface NoteGround {
  readonly observations: readonly LogObservations[];
  /** File name of each log. */
  readonly logNames: readonly string[];
  readonly soundings: Soundings;
  readonly curves: CorrectionCurves;
  readonly reduction: Reduction;
  readonly crossings: Crossings;
  /** Run of each sounding, -1 off any. Shape [n]. */
  readonly runs: Int32Array;
  /** Where the level comes from, in words. */
  readonly levelSource: string;
}

/** What is odd about the soundings and what they were reduced with, in plain words; the gravest first. */
export function soundingNotes(ground: NoteGround): string[] {
  return [...levelNotes(ground)];
}

/** Stretches of soundings without a water level, with their times. */
function levelNotes({ soundings, levelSource }: NoteGround): string[] {
  const code = reasonCode('no-water-level');
  const stretches: { startS: number; endS: number; count: number }[] = [];
  let open = false;
  for (let i = 0; i < soundings.n; i++) {
    if (soundings.ruleReason[i] !== code) {
      if (soundings.ruleReason[i] === 0) open = false;
      continue;
    }
    const timeS = soundings.timeS[i]!;
    if (!open) stretches.push({ startS: timeS, endS: timeS, count: 0 });
    open = true;
    const last = stretches[stretches.length - 1]!;
    last.endS = timeS;
    last.count++;
  }
  if (stretches.length === 0) return [];
  const total = stretches.reduce((sum, { count }) => sum + count, 0);
  const [first] = stretches;
  return [
    `No water level from ${formatUtc(first!.startS)} to ${formatUtc(first!.endS)}${stretches.length > 1 ? `, and ${stretches.length - 1} more ${stretches.length === 2 ? 'gap' : 'gaps'}` : ''} (${levelSource}): ${total} soundings are set aside there, none is reduced by a guess. Fill the gap, or choose another water level.`,
  ];
}
