import { DEPTH_FROM, type LogObservations } from '../base/observations.js';
import { quantile } from '../base/statistics.js';
import { formatUtc } from '../base/time.js';
import type { BottomSlopes } from '../depths/bottom-slope.js';
import type { Crossings } from '../depths/crossings.js';
import type { CorrectionCurves } from '../depths/corrections.js';
import type { Reduction } from '../depths/reduce.js';
import { mixedSounders } from '../depths/mixed-sounders.js';
import { correctionLeft } from '../depths/motion-sign.js';
import { tideScale } from '../depths/tide-scale.js';
import { unitSuspects } from '../depths/unit-suspect.js';
import { unitRemedy } from './unit-words.js';
import { reasonCode, type Soundings } from '../depths/soundings.js';
import { castsReach } from '../water/sound-cast-check.js';
import type { SoundProfile } from '../water/sound-profile.js';

/** What the notes are made from. */
export interface NoteGround {
  readonly observations: readonly LogObservations[];
  /** File name of each log. */
  readonly logNames: readonly string[];
  readonly soundings: Soundings;
  readonly curves: CorrectionCurves;
  readonly reduction: Reduction;
  readonly crossings: Crossings;
  readonly slopes: BottomSlopes;
  /** Run of each sounding, -1 off any. Shape [n]. */
  readonly runs: Int32Array;
  /** Where the level comes from, in words. */
  readonly levelSource: string;
  /** Readings of an observed level; null where there are none. */
  readonly levelReadings: { readonly timeS: Float64Array; readonly levelM: Float64Array } | null;
  /** Sound-speed casts in use. */
  readonly casts: readonly { readonly name: string; readonly profile: SoundProfile }[];
  readonly draftM: number;
}

/** What is odd about the soundings and what they were reduced with, in plain words; the gravest first. */
export function soundingNotes(ground: NoteGround): string[] {
  const units = unitNotes(ground);
  // Logs of unlike units are at odds at their crossings too: that says nothing of its own.
  return [...(units.length > 0 ? units : tideNotes(ground)), ...mixedNotes(ground), ...motionNotes(ground), ...castNotes(ground), ...draftNotes(ground), ...levelNotes(ground), ...bridgeNotes(ground)];
}

/** Logs whose depths are in feet or fathoms by what another log says of the same places. */
function unitNotes({ soundings, logNames }: NoteGround): string[] {
  return unitSuspects(soundings).map(
    ({ log, against, ratio, places, unit }) =>
      `Depths of ${logNames[log]} are ${ratio.toFixed(2)} times those of ${logNames[against]} at ${places} places both sounded: ${logNames[log]} looks to be in ${unit}, read as metres. ${unitRemedy(unit, 'log')}`,
  );
}

/** Logs with two sounders taking turns. */
function mixedNotes({ observations, logNames }: NoteGround): string[] {
  return observations.flatMap(({ pings }, log) => {
    const mixed = mixedSounders(pings);
    if (mixed === null) return [];
    const { share, apartM, ratio } = mixed;
    const unit = near(ratio, 1 / 0.3048) ? ' One of them looks to be in feet.' : near(ratio, 1.8288) ? ' One of them looks to be in fathoms.' : '';
    return [
      `${logNames[log]} mixes two sounders: in ${(100 * share).toFixed(0)} % of it depths jump to and fro between two levels ${apartM.toFixed(2)} m apart (one is ${ratio.toFixed(2)} times the other).${unit} Log one instrument, or one frequency, at a time, and take the log out until it is parted: none of its depths can be trusted.`,
    ];
  });
}

/** Units by the tide: the same places at two states of it. */
function tideNotes({ soundings, crossings, runs, reduction, levelSource }: NoteGround): string[] {
  if (!reduction.on.waterLevel || reduction.fromHeights) return [];
  const scale = tideScale({ ...soundings, line: runs }, crossings, soundings.waterLevelM);
  if (scale === null) return [];
  const seen = `Where a place was sounded at two states of the tide, depths differ by ${scale.ratio.toFixed(2)} times what the water level did (${scale.crossings} crossings): `;
  switch (scale.unit) {
    case 'depths-in-feet':
      return [`${seen}depths look to be in feet, read as metres. ${unitRemedy('feet', 'logs')}`];
    case 'depths-in-fathoms':
      return [`${seen}depths look to be in fathoms, read as metres, unless the tide at the boat has half the range it has at the gauge. ${unitRemedy('fathoms', 'logs')}`];
    case 'level-in-feet':
      return [`${seen}the water level (${levelSource}) looks to be in feet, read as metres. Name the unit in the column's head, as in water level (ft).`];
  }
}

function near(value: number, like: number): boolean {
  return Math.abs(value / like - 1) < 0.1;
}

/** Motion that is applied the wrong way round, or that the depths do not show. */
function motionNotes(ground: NoteGround): string[] {
  const { soundings, curves, reduction, runs, slopes } = ground;
  const { basis, on } = reduction;
  const notes: string[] = [];
  const judge = (name: string, setting: string, depthM: ArrayLike<number>, addedM: ArrayLike<number>, applied: boolean): void => {
    const { verdict, share, sigma } = correctionLeft({ ...soundings, depthM }, addedM, runs, applied);
    const moved = `${share.toFixed(1)} ± ${(1.96 * sigma).toFixed(1)} times as much as was corrected for`;
    if (verdict === 'wrong-sign') notes.push(`${name} has the wrong sign: along the lines depths still move ${moved}; twice would be a sign turned round. Turn ${setting} round in survey.json.`);
    if (verdict === 'not-felt') notes.push(`${name} does not fit the depths: along the lines they still move ${moved}. Look at ${setting}, at motion.latencyS and at how the sensor is mounted${name === 'Heave' ? '; where the sounder corrects for heave itself, switch off corrections.heave' : ''}.`);
  };
  const known = (column: Float32Array): boolean => column.some((value) => !Number.isNaN(value));
  if (!reduction.fromHeights && known(basis.heaveM)) judge('Heave', 'motion.heavePositive', soundings.depthM, curves.heaveM, on.heave);
  if (!on.leverArms || !on.beamTilt) return notes;
  // On a slope a beam that leans meets the floor deeper or shoaler; the slope across comes from the lines beside.
  const { along, across } = slopes;
  const tilted = (slope: Float32Array, shiftM: Float32Array): Float64Array => Float64Array.from(shiftM, (shift, i) => (slope[i]! * shift || 0));
  const byPitchM = tilted(along, curves.beamTiltAlongM);
  const byRollM = tilted(across, curves.beamTiltAcrossM);
  const levelled = Float64Array.from(soundings.depthM, (depth, i) => depth - byPitchM[i]! - byRollM[i]!);
  if (known(basis.rollDeg)) judge('Roll', 'motion.rollPositive', levelled, oddPart(reduction, curves, 'roll').map((arm, i) => arm - byRollM[i]!), true);
  if (known(basis.pitchDeg)) judge('Pitch', 'motion.pitchPositive', levelled, oddPart(reduction, curves, 'pitch').map((arm, i) => arm - byPitchM[i]!), true);
  return notes;
}

/** The part of the lever arms' depth that goes with the sign of one angle, to first order [m]. */
function oddPart({ basis }: Reduction, curves: CorrectionCurves, angle: 'roll' | 'pitch'): Float64Array {
  const [mine, other] = angle === 'roll' ? [basis.rollDeg, basis.pitchDeg] : [basis.pitchDeg, basis.rollDeg];
  // Least squares on both angles tells them apart.
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

/** Readings of a level further apart than this, and than so many usual intervals, are a gap that is bridged [s]. */
const BRIDGE_S = 1800;
const BRIDGE_INTERVALS = 4;

/** Gaps of an observed level short enough to be bridged by a curve, with soundings inside. */
function bridgeNotes({ soundings, levelReadings, levelSource }: NoteGround): string[] {
  if (levelReadings === null) return [];
  const times = levelReadings.timeS.filter((time, i) => Number.isFinite(time) && Number.isFinite(levelReadings.levelM[i]!)).sort();
  if (times.length < 3) return [];
  const usualS = quantile(Float64Array.from({ length: times.length - 1 }, (_, i) => times[i + 1]! - times[i]!), 0.5);
  const bridges: string[] = [];
  for (let i = 1; i < times.length; i++) {
    const [startS, endS] = [times[i - 1]!, times[i]!];
    if (endS - startS <= Math.max(BRIDGE_S, BRIDGE_INTERVALS * usualS)) continue;
    let count = 0;
    for (let k = 0; k < soundings.n; k++) if (soundings.reason[k] === 0 && soundings.timeS[k]! > startS && soundings.timeS[k]! < endS) count++;
    if (count > 0) bridges.push(`from ${formatUtc(startS)} to ${formatUtc(endS)} (${count} soundings)`);
  }
  if (bridges.length === 0) return [];
  return [`The water level (${levelSource}) has no reading ${bridges.join(', nor ')}: a curve between the readings on either side is used there, where readings are ${usualS < 90 ? `${usualS.toFixed(0)} s` : `${(usualS / 60).toFixed(0)} min`} apart otherwise. Fill the gap with another gauge's readings or a prediction.`];
}

/** A log's own draft further from the setting than this is said: what a tape tells on a small boat. Common practice [m]. */
const DRAFT_APART_M = 0.05;

/** A draft that was never given, and one that a log's sounder was told and the settings were not. */
function draftNotes({ observations, logNames, reduction, draftM }: NoteGround): string[] {
  if (reduction.fromHeights || !reduction.on.draft) return [];
  const notes: string[] = [];
  let belowTransducer = 0;
  for (const [log, { pings }] of observations.entries()) {
    const told: number[] = [];
    for (let i = 0; i < pings.n; i++) {
      if (pings.from[i] === DEPTH_FROM.transducer) belowTransducer++;
      if (pings.offsetM[i]! > 0) told.push(pings.offsetM[i]!);
    }
    if (told.length === 0) continue;
    const toldM = quantile(Float64Array.from(told), 0.5);
    if (Math.abs(toldM - draftM) > DRAFT_APART_M) notes.push(`${logNames[log]} says that its transducer is ${toldM.toFixed(2)} m below the water, the draft set is ${draftM.toFixed(2)} m: the setting is used. Measure it, and set sounder.draftM to what is true.`);
  }
  if (notes.length === 0 && draftM === 0 && belowTransducer > 0) notes.push('No draft is given: depths logged below the transducer are too shoal by it. Measure from the water to the transducer\'s face and set sounder.draftM, or make a bar check.');
  return notes;
}

/** Casts that do not fit the depths that were sounded. */
function castNotes({ soundings, reduction, casts, draftM }: NoteGround): string[] {
  const depths = Float64Array.from(reduction.basis.belowTransducerM).filter((below, i) => soundings.reason[i] === 0 && below > 0);
  // Past the deepest few, which may be wrong echoes.
  return depths.length === 0 ? [] : castsReach(casts, quantile(depths, 0.995) + draftM);
}
