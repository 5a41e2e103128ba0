import type { WorkContext } from '../base/progress.js';
import { throwIfCancelled } from '../base/progress.js';
import type { Side, SonarReader } from '../base/sonar.js';
import { SIDES } from '../base/sonar.js';

/** Places along a log that are looked into, and pings at each. */
const PLACES = 48;
const PINGS_EACH = 4;
/** A share of the samples that is worth a word. Common practice. */
const MUCH = 0.001;

interface Tally {
  pings: number;
  silent: number;
  lost: number;
  samples: number;
  missing: number;
}

/**
 * Looks into pings spread over a log for what their heads do not tell: sides that are silent throughout, pings whose samples cannot be read,
 * samples that are no numbers.
 * @returns what was found, in plain words; nothing where nothing was
 */
export async function lookAtSamples({ heads, read }: Pick<SonarReader, 'heads' | 'read'>, context: WorkContext = {}): Promise<string[]> {
  const tallies: Record<Side, Tally> = { port: emptyTally(), starboard: emptyTally() };
  const places = Math.max(1, Math.min(PLACES, Math.floor(heads.n / PINGS_EACH)));
  for (let k = 0; k < places; k++) {
    throwIfCancelled(context.signal);
    const start = Math.floor((k * heads.n) / places);
    const end = Math.min(heads.n, start + PINGS_EACH);
    const stretch = await read(start, end, context.signal);
    for (const side of SIDES) {
      const counts = side === 'port' ? heads.portSamples : heads.starboardSamples;
      for (let i = start; i < end; i++) {
        const from = (i - start) * stretch.width;
        if ((counts[i] as number) > 0) count(tallies[side], stretch[side].subarray(from, from + (counts[i] as number)));
      }
    }
  }
  return SIDES.flatMap((side) => wordsOf(side, tallies[side]));
}

function emptyTally(): Tally {
  return { pings: 0, silent: 0, lost: 0, samples: 0, missing: 0 };
}

function count(tally: Tally, samples: Float32Array): void {
  let missing = 0;
  let first = NaN;
  let isSilent = true;
  for (const value of samples) {
    if (Number.isNaN(value)) missing++;
    else if (Number.isNaN(first)) first = value;
    else if (value !== first) isSilent = false;
  }
  tally.pings++;
  if (missing === samples.length) tally.lost++;
  else {
    tally.samples += samples.length;
    tally.missing += missing;
    // A ping of one sample says nothing of whether it is silent.
    if (isSilent && samples.length - missing > 1) tally.silent++;
  }
}

function wordsOf(side: Side, { pings, silent, lost, samples, missing }: Tally): string[] {
  if (pings === 0) return [];
  const of = (n: number): string => (n === pings ? `all ${n} pings looked into` : `${n} of ${pings} pings looked into`);
  return [
    ...(silent > 0 ? [`${side}: ${of(silent)} hold one and the same value throughout: look whether that side was connected and switched on`] : []),
    ...(lost > 0 ? [`${side}: of ${of(lost)} no sample can be read: they stay empty`] : []),
    ...(missing > MUCH * samples ? [`${side}: ${((100 * missing) / samples).toFixed(1)} % of the samples looked into are no numbers: they stay empty`] : []),
  ];
}
