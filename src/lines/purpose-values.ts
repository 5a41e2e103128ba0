import type { DerivedLines, DerivedName, Objective, Sensor } from './objective.js';
import { derivedLineOptions } from './derive-lines.js';

/** A survey echo sounder's rate where it is not said [Hz]; common practice for shallow water. */
const USUAL_PING_HZ = 10;

/** Values of a survey's lines that a purpose derives and a crew may lock. */
export const LOCKABLE = ['spacingM', 'speedMps', 'headingDeg', 'crossShare', 'runInM', 'runOutM'] as const;
export type Lockable = (typeof LOCKABLE)[number];

/** What a derived value is called. */
export const DERIVED_LABELS: Readonly<Record<DerivedName, string>> = { spacingM: 'Spacing', rangeM: 'Range', speedMps: 'Speed', headingDeg: 'Heading', crossShare: 'Cross lines', runInM: 'Run-in', runOutM: 'Run-out' };

/** What looks at the bottom: as set, else the echo sounder, or a usual side-scan for pictures and objects. */
export function sensorFor(purpose: Pick<Objective, 'kind'>, sensor: Sensor | null, sounder: { readonly beamWidthDeg: number; readonly draftM: number; readonly soundSpeedSetMps: number }): Sensor {
  if (sensor !== null) return sensor;
  if (purpose.kind === 'imagery' || purpose.kind === 'objects') return { kind: 'side-scan', beamDeg: 1, mostRangeM: 50, heightM: null, draftM: sounder.draftM, soundMps: sounder.soundSpeedSetMps };
  return { kind: 'single-beam', beamDeg: sounder.beamWidthDeg, pingHz: USUAL_PING_HZ, draftM: sounder.draftM };
}

/** The locked values as `deriveLines` takes them; a heading that is free (null) locks nothing. */
export function locksOf(locked: readonly Lockable[], lines: Readonly<Record<Lockable, number | null>>): Partial<Record<Lockable, number>> {
  return Object.fromEntries(locked.flatMap((name): [string, number][] => (lines[name] === null ? [] : [[name, lines[name]]])));
}

/**
 * What derived values are written as into a survey's lines: to a thousandth, since more says nothing and people read them;
 * locked ones, and those the purpose asks nothing of, left out. A heading of null is the one that takes least time.
 */
export function valuesToSet(derived: DerivedLines, locked: readonly Lockable[]): { readonly name: Lockable; readonly value: number | null }[] {
  const options = derivedLineOptions(derived);
  return LOCKABLE.flatMap((name) => {
    const value = options[name];
    if (value === undefined || locked.includes(name) || (typeof value === 'number' && !Number.isFinite(value))) return [];
    return [{ name, value: value === null ? null : Math.round(value * 1000) / 1000 }];
  });
}
