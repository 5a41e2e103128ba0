import type { LogObservations } from '../base/observations.js';
import { formatUtc } from '../base/time.js';
import type { Crossings } from '../depths/crossings.js';
import type { CorrectionCurves } from '../depths/corrections.js';
import type { Reduction } from '../depths/reduce.js';
import { mixedSounders } from '../depths/mixed-sounders.js';
import { correctionLeft } from '../depths/motion-sign.js';
import { unitSuspects } from '../depths/unit-suspect.js';
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
  return [...unitNotes(ground), ...mixedNotes(ground), ...motionNotes(ground), ...levelNotes(ground)];
}

/** Logs whose depths are in feet or fathoms by what another log says of the same places. */
function unitNotes({ soundings, logNames }: NoteGround): string[] {
  return unitSuspects(soundings).map(
    ({ log, against, ratio, places, unit }) =>
      `Depths of ${logNames[log]} are ${ratio.toFixed(2)} times those of ${logNames[against]} at ${places} places both sounded: ${unit === 'feet' ? `${logNames[log]} looks to be in feet` : `${logNames[log]} looks to be in fathoms, or ${logNames[against]} in feet`}. Name the unit in the column's head, as in depth (ft), and take the log in again.`,
  );
}

/** Logs with two sounders taking turns. */
function mixedNotes({ observations, logNames }: NoteGround): string[] {
  return observations.flatMap(({ pings }, log) => {
    const mixed = mixedSounders(pings);
    if (mixed === null) return [];
    return [
      `${logNames[log]} mixes two sounders: in ${(100 * mixed.share).toFixed(0)} % of it depths take turns between two levels ${mixed.apartM.toFixed(2)} m apart (ratio ${mixed.ratio.toFixed(2)}). Log one instrument, or one frequency, at a time; until then none of its depths can be trusted.`,
    ];
  });
}

/** Motion that is applied the wrong way round, or that the depths do not show. */
function motionNotes({ soundings, curves, reduction, runs }: NoteGround): string[] {
  const { basis, on } = reduction;
  const notes: string[] = [];
  const judge = (name: string, setting: string, sensed: Float32Array, addedM: ArrayLike<number>, applied: boolean): void => {
    if (sensed.every(Number.isNaN)) return;
    const { verdict, share } = correctionLeft(soundings, addedM, runs, applied);
    if (verdict === 'wrong-sign') notes.push(`${name} has the wrong sign: along the lines the depths move with it ${share.toFixed(1)} times over after it was taken off. Set ${setting} the other way.`);
    if (verdict === 'not-felt') notes.push(`${name} is not felt in the depths: they move by all that was taken off, as if the boat did not. Look at the sensor's clock and place, or switch the correction off.`);
  };
  if (!reduction.fromHeights) judge('Heave', 'motion.heavePositive', basis.heaveM, curves.heaveM, on.heave);
  // What changes sign with the angle: arms, and on a slope the leaning beam.
  const byRoll = oddPart(reduction, curves, 'roll');
  const byPitch = oddPart(reduction, curves, 'pitch');
  judge('Roll', 'motion.rollPositive', basis.rollDeg, byRoll, on.leverArms);
  judge('Pitch', 'motion.pitchPositive', basis.pitchDeg, byPitch, on.leverArms);
  return notes;
}

/** The part of the depth correction that goes with the sign of one angle, to first order [m]. */
function oddPart({ basis }: Reduction, curves: CorrectionCurves, angle: 'roll' | 'pitch'): Float64Array {
  const [mine, other] = angle === 'roll' ? [basis.rollDeg, basis.pitchDeg] : [basis.pitchDeg, basis.rollDeg];
  // Least squares of the lever arm's vertical part on both angles tells them apart.
  let [aa, ab, bb, ay, by] = [0, 0, 0, 0, 0];
  for (let i = 0; i < mine.length; i++) {
    const [a, b, y] = [mine[i]!, other[i]!, curves.leverArmM[i]!];
    if (!Number.isFinite(a + y)) continue;
    const c = Number.isFinite(b) ? b : 0;
    aa += a * a;
    ab += a * c;
    bb += c * c;
    ay += a * y;
    by += c * y;
  }
  const determinant = aa * bb - ab * ab;
  const slope = determinant > 1e-9 * aa * bb && bb > 0 ? (ay * bb - by * ab) / determinant : aa > 0 ? ay / aa : 0;
  return Float64Array.from(mine, (value) => slope * value);
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
