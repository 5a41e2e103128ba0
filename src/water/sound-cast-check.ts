import { UseError } from '../base/errors.js';
import { createSoundProfile, mostApartMps, type SoundProfile } from './sound-profile.js';
import { absoluteSalinity, depthFromPressure, soundSpeedMackenzie, soundSpeedTeos10, soundSpeedUnesco } from './sound-speed.js';

/** How temperature and salinity become sound speed. */
export type SoundFormula = 'teos10' | 'unesco' | 'mackenzie';

/** Columns of one cast as its file has them, in SI; any may be absent. Shape of every column: [n]; NaN where a cell is empty. */
export interface CastColumns {
  readonly depth?: Float64Array | undefined;
  readonly pressure?: Float64Array | undefined;
  readonly soundSpeed?: Float64Array | undefined;
  readonly waterTemperature?: Float64Array | undefined;
  readonly salinity?: Float64Array | undefined;
}

/** A profile made of a file, and what had to be done to it, in words. */
export interface CheckedCast {
  readonly profile: SoundProfile;
  readonly notes: readonly string[];
}

/** Ways down and up that differ by more than this where they overlap are said to [m/s]. Common practice: half a metre a second is 3 mm at 10 m. */
const OVERLAP_MPS = 0.5;

/**
 * A profile from a cast as it was logged: the way down, speeds from temperature and salinity where the file has those.
 *
 * A cast that starts at the bottom is turned over; of a cast down and up again the way down is used. Both are said.
 *
 * @param name of the file, for messages
 * @throws UseError where a column is missing, depths are heights or all one, or numbers are of another unit than named
 */
export function checkedCast(columns: CastColumns, formula: SoundFormula, latDeg: number, name: string): CheckedCast {
  const notes: string[] = [];
  const fault = (what: string): UseError => new UseError(`${name}: ${what}`, { path: 'water.soundSpeed' });
  const { depth, pressure, soundSpeed, waterTemperature, salinity } = columns;
  const depths = depth ?? (pressure === undefined ? undefined : pressure.map((one) => depthFromPressure(one, latDeg)));
  if (depths === undefined) throw fault('no column for depth or pressure: expected depth with sound speed, or depth or pressure with temperature and salinity; name the columns as docs/formats.md says');
  if (soundSpeed === undefined && (waterTemperature === undefined || salinity === undefined)) {
    throw fault(`no column for ${waterTemperature === undefined ? 'sound speed, nor for temperature and salinity' : 'salinity beside the temperature (0 throughout in fresh water)'}; name the columns as docs/formats.md says`);
  }
  const speedAt = (row: number): number => {
    if (soundSpeed !== undefined) return soundSpeed[row]!;
    const [t, s] = [waterTemperature![row]!, salinity![row]!];
    // A decibar is a metre of sea water to 1 %, which is 0.02 m/s at 100 m.
    const p = pressure?.[row] ?? depths[row]! * 1.008;
    if (formula === 'teos10') return soundSpeedTeos10(t, absoluteSalinity(s), p);
    if (formula === 'unesco') return soundSpeedUnesco(t * 1.00024, s, p);
    return soundSpeedMackenzie(t, s, depths[row]!);
  };
  if (soundSpeed === undefined) checkWater(waterTemperature!, salinity!, formula, fault);
  const rows = Array.from(depths.keys()).filter((row) => Number.isFinite(depths[row]!) && Number.isFinite(speedAt(row)));
  if (rows.length === 0) throw fault('no row has both a depth and a speed of sound');
  if (rows.every((row) => depths[row]! <= 0) && rows.some((row) => depths[row]! < 0)) {
    throw fault(`every depth is below 0 (down to ${least(rows, depths)} m): these are heights; write depths positive down`);
  }
  const speeds = rows.map(speedAt);
  checkSpeeds(speeds, fault);
  // An empty stretch of equal depths at either end is the probe waiting.
  const deepest = rows.reduce((best, row, i) => (depths[row]! > depths[rows[best]!]! ? i : best), 0);
  const down = monotone(rows.slice(0, deepest + 1), depths);
  const up = monotone(rows.slice(deepest).reverse(), depths);
  const turned = down.length < up.length && depths[down[0]!]! > depths[up[0]!]!;
  if (turned) notes.push(`${name}: the cast runs from the bottom up; it was turned over.`);
  else if (up.length > 2 && down.length > 2) {
    const apart = apartMps(down, up, depths, speedAt);
    notes.push(`${name}: the cast goes down and up again; the way down is used${apart > OVERLAP_MPS ? `, which differs from the way up by ${apart.toFixed(1)} m/s: look at the probe` : ''}.`);
  }
  const used = turned ? up : down;
  return { profile: createSoundProfile(used.map((row) => depths[row]!), used.map(speedAt)), notes };
}

/**
 * Rows at which another cast starts in a file of several: depth leaps back by more than half of the way come, and goes on the
 * same way as before. A cast down and up again turns round instead, and is one.
 */
export function castStarts(depth: Float64Array): Set<number> {
  const rows = Array.from(depth.keys()).filter((row) => Number.isFinite(depth[row]!));
  const starts = new Set<number>();
  let start = 0;
  for (let i = 2; i + 1 < rows.length; i++) {
    const at = (k: number): number => depth[rows[k]!]!;
    const way = Math.sign(at(start + 1) - at(start));
    if (i < start + 2 || way === 0) continue;
    const come = way * (at(i - 1) - at(start));
    if (come > 0 && way * (at(i - 1) - at(i)) > come / 2 && way * (at(i + 1) - at(i)) > 0) {
      starts.add(rows[i]!);
      start = i;
    }
  }
  return starts;
}

/** What two casts of a survey say against each other, in words; none where nothing is odd. */
export function castsDiffer(casts: readonly { readonly name: string; readonly timeS: number; readonly profile: SoundProfile }[]): string[] {
  const notes: string[] = [];
  const sorted = [...casts].sort((a, b) => a.timeS - b.timeS);
  for (let i = 1; i < sorted.length; i++) {
    const [one, two] = [sorted[i - 1]!, sorted[i]!];
    if (!(two.timeS - one.timeS < SAME_CAST_S)) continue;
    const most = mostApartMps(one.profile, two.profile);
    if (most > OVERLAP_MPS) notes.push(`Sound-speed casts ${one.name} and ${two.name} were taken within ten minutes and differ by ${most.toFixed(1)} m/s: one of them is wrong, or the water changes from place to place.`);
  }
  return notes;
}

/** Casts deeper than so many times what was sounded, or that end so far above it, are said. Common practice. */
const DEEPER_SHARE = 3;
const SHORT_SHARE = 0.67;
const SHORT_M = 2;

/** Casts that end far above the deepest soundings or far below them, in words; none where they fit. */
export function castsReach(casts: readonly { readonly name: string; readonly profile: SoundProfile }[], deepestM: number): string[] {
  const real = casts.filter(({ profile }) => profile.depthM.length > 1);
  const deep = real.filter(({ profile }) => profile.depthM.at(-1)! > DEEPER_SHARE * deepestM);
  const short = real.filter(({ profile }) => profile.depthM.at(-1)! < SHORT_SHARE * deepestM && profile.depthM.at(-1)! < deepestM - SHORT_M);
  const end = ({ name, profile }: (typeof real)[number]): string => `${name} reaches down to ${profile.depthM.at(-1)!.toFixed(1)} m`;
  return [
    ...deep.map((cast) => `Sound-speed cast ${end(cast)}, where nothing deeper than ${deepestM.toFixed(1)} m was sounded: it is of another place, or its depths are not in metres; name the unit in the column's head, as in depth (ft).`),
    // One that reaches deep enough serves for all.
    ...(short.length === real.length ? short.map((cast) => `Sound-speed cast ${end(cast)}, and soundings go to ${deepestM.toFixed(1)} m: below it the last speed is used. Take a cast to the bottom; if it was, its depths are not in metres: name the unit in the column's head, as in depth (ft).`) : []),
  ];
}

/** Two casts nearer in time than this are of one water [s]. */
const SAME_CAST_S = 600;

function checkWater(temperatureC: Float64Array, salinity: Float64Array, formula: SoundFormula, fault: (what: string) => UseError): void {
  const warmest = temperatureC.reduce((most, one) => (one > most ? one : most), -Infinity);
  const saltiest = salinity.reduce((most, one) => (one > most ? one : most), -Infinity);
  const freshest = salinity.reduce((least, one) => (one < least ? one : least), Infinity);
  if (warmest > 45) throw fault(`temperatures up to ${warmest.toFixed(1)} deg C: expected less than 45; if they are in Fahrenheit or kelvin, say so in the column's name: temperature (deg F)`);
  if (saltiest > 45 || freshest < 0) throw fault(`salinities from ${freshest.toFixed(2)} to ${saltiest.toFixed(2)}: expected 0 to 45; is this conductivity?`);
  if (formula === 'mackenzie' && freshest < 25) throw fault(`salinity down to ${freshest.toFixed(1)}: the formula chosen holds from 30 to 40; set water.soundSpeed.formula to teos10`);
}

/** @throws UseError that names the unit the numbers look like */
function checkSpeeds(speeds: readonly number[], fault: (what: string) => UseError): void {
  const middle = [...speeds].sort((a, b) => a - b)[speeds.length >> 1]!;
  if (middle >= 1350 && middle <= 1650) {
    const odd = speeds.find((speed) => speed < 1350 || speed > 1650);
    if (odd !== undefined) throw fault(`a sound speed of ${odd} m/s among others near ${middle.toFixed(0)}: take the row out`);
    return;
  }
  const units: readonly [number, string][] = [[0.3048, 'feet a second: name the column sound speed (ft/s)'], [1852 / 3600, 'knots: name the column sound speed (kn)'], [1000, 'kilometres a second: write metres a second'], [1 / 3.6, 'kilometres an hour: name the column sound speed (km/h)']];
  const like = units.find(([factor]) => middle * factor >= 1350 && middle * factor <= 1650);
  throw fault(`sound speeds near ${middle.toPrecision(5)}: expected 1350 to 1650 m/s${like === undefined ? '' : `; they look like ${like[1]}`}`);
}

function least(rows: readonly number[], depths: Float64Array): number {
  return rows.reduce((low, row) => Math.min(low, depths[row]!), Infinity);
}

/** Rows that go deeper than every row before them. */
function monotone(rows: readonly number[], depths: Float64Array): number[] {
  const kept: number[] = [];
  for (const row of rows) if (kept.length === 0 || depths[row]! > depths[kept[kept.length - 1]!]!) kept.push(row);
  return kept;
}

/** Largest difference of speed between two ways where both have depths [m/s]. */
function apartMps(down: readonly number[], up: readonly number[], depths: Float64Array, speedAt: (row: number) => number): number {
  const other = createSoundProfile(up.map((row) => depths[row]!), up.map(speedAt));
  const top = depths[up[0]!]!;
  return down.reduce((most, row) => (depths[row]! < top ? most : Math.max(most, Math.abs(speedAt(row) - other.speedAt(depths[row]!)))), 0);
}
