import type { BoatModel } from '../boat/boat-model.js';
import { wrap360Deg } from '../geo/bearing.js';
import type { Draft, Drafts, DeriveGround, Locks } from './derive-draft.js';
import { COMMON, short } from './derive-draft.js';
import type { DerivedLines, DerivedName, DerivedValue, KnownDepth, Objective, Sensor } from './objective.js';
import type { LineOptions } from './line-plan.js';
import type { DepthOverArea } from './known-depth.js';
import { depthOverArea } from './known-depth.js';
import { deriveDepths } from './objective-depths.js';
import { deriveImagery, deriveObjects } from './objective-imagery.js';

/** Share of top speed a survey is run at where nothing else limits it: what is left steers and holds against a current. */
const CRUISE_SHARE = 0.75;
/** Where no boat is known [m/s], [m]. */
const CRUISE_MPS = 1.5;
const RUN_IN_M = 5;

const UNITS: Readonly<Record<DerivedName, string>> = { spacingM: 'm', rangeM: 'm', speedMps: 'm/s', headingDeg: 'deg true', crossShare: '1', runInM: 'm', runOutM: 'm' };

/**
 * Line spacing, range, speed, heading and the rest from what the survey is for, what looks at the bottom, the depth and the
 * boat, each with its reason. A locked value stays as it is set, what hangs on it follows it, and a note says what it breaks.
 *
 * Depth is taken at its worst over the area: the shallowest for what a beam covers, the deepest for what must be reached.
 *
 * @param boat null where there is no card yet: usual figures then
 * @param more locks: values set by the user; convergenceDeg: true heading less grid bearing at the area (default 0)
 * @throws RangeError for figures out of their limits
 */
export function deriveLines(
  objective: Objective,
  sensor: Sensor,
  depth: KnownDepth,
  boat: BoatModel | null,
  more: { readonly locks?: Locks; readonly convergenceDeg?: number } = {},
): DerivedLines {
  const locks = more.locks ?? {};
  checkSensor(sensor);
  const ground: DeriveGround = { sensor, depth: depthOverArea(depth), boat, locks };
  if (Number.isNaN(ground.depth.shallowestM)) throw new RangeError('depth: none of it is a number below the surface: expected at least one');
  const drafts = draftFor(objective, ground);
  const notes = [...drafts.notes];
  const settle = (name: DerivedName, draft: Draft, breaks?: (locked: number) => string | null): DerivedValue => {
    const lock = locks[name];
    const unit = UNITS[name];
    if (lock === undefined) return { value: draft.value, unit, why: draft.why, source: draft.source, locked: false };
    if (!Number.isFinite(lock)) throw new RangeError(`${name} ${lock}: expected a number to lock`);
    const broken = breaks?.(lock) ?? null;
    if (broken !== null) notes.push(broken);
    return { value: lock, unit, why: `as set; the objective by itself: ${draft.why}`, source: draft.source, locked: true };
  };
  const most = drafts.mostSpeedMps;
  const spacing = drafts.spacingM;
  const spacingAtDepth = drafts.spacingAtDepthM;
  const at = ground.depth.at;
  return {
    spacingM: settle('spacingM', spacing, (locked) =>
      locked > spacing.value * 1.001 ? `spacing ${short(locked)} m as set is wider than ${short(spacing.value)} m: ${spacing.why}` : null,
    ),
    rangeM: settle('rangeM', drafts.rangeM ?? { value: NaN, why: 'this objective sets no range', source: COMMON }),
    speedMps: settle('speedMps', cruise(most, boat), (locked) =>
      most !== null && locked > most.value * 1.001 ? `speed ${short(locked)} m/s as set is more than ${short(most.value)} m/s: ${most.why}` : null,
    ),
    headingDeg: settle('headingDeg', heading(drafts, ground.depth, more.convergenceDeg ?? 0)),
    crossShare: settle('crossShare', drafts.crossShare, (locked) =>
      locked < drafts.crossShare.value - 1e-9 ? `cross lines ${(locked * 100).toFixed(1)} % as set are fewer than ${(drafts.crossShare.value * 100).toFixed(0)} %: ${drafts.crossShare.why}` : null,
    ),
    runInM: settle('runInM', {
      value: boat === null ? RUN_IN_M : Math.ceil(boat.settleM),
      why: boat === null ? `${RUN_IN_M} m, usual for the class: trials give the boat's own` : `the boat is within its track error ${boat.settleM.toFixed(1)} m after a turn`,
      source: boat === null ? COMMON : 'boat card',
    }),
    runOutM: settle('runOutM', { value: 0, why: 'the sensor looks down or to the sides: the line ends where the last echo is from', source: COMMON }),
    spacingAtM: spacingAtDepth === null || at === null || locks.spacingM !== undefined ? null : (xM, yM) => spacingAtDepth(at(xM, yM)),
    notes,
  };
}

/** The values as options for `planLines`; heading null where the objective asks for none. */
export function derivedLineOptions(derived: DerivedLines): Pick<LineOptions, 'spacingM' | 'headingDeg' | 'speedMps' | 'crossShare' | 'runInM' | 'runOutM'> {
  const heading = derived.headingDeg.value;
  return {
    spacingM: derived.spacingM.value,
    headingDeg: Number.isNaN(heading) ? null : heading,
    speedMps: derived.speedMps.value,
    crossShare: derived.crossShare.value,
    runInM: derived.runInM.value,
    runOutM: derived.runOutM.value,
  };
}

function draftFor(objective: Objective, ground: DeriveGround): Drafts {
  switch (objective.kind) {
    case 'depths-order':
    case 'depths-scale':
      return deriveDepths(objective, ground);
    case 'imagery':
      return deriveImagery(objective, ground);
    case 'objects':
      return deriveObjects(objective, ground);
    case 'vegetation':
      return deriveVegetation(objective, ground);
    case 'gaps':
      if (!(objective.spacingM > 0)) throw new RangeError(`spacingM ${objective.spacingM}: expected more than 0`);
      return plain(objective.spacingM, 'as the survey whose gaps they fill');
    case 'own':
      return plain(NaN, 'the lines are the user\'s own');
  }
}

function plain(spacingM: number, why: string): Drafts {
  return {
    spacingM: { value: spacingM, why, source: COMMON },
    spacingAtDepthM: null,
    rangeM: null,
    mostSpeedMps: null,
    crossShare: { value: 0, why: 'none: the survey\'s own cross lines stand', source: COMMON },
    lie: 'free',
    lieWhy: why,
    notes: [],
  };
}

function deriveVegetation(objective: Extract<Objective, { kind: 'vegetation' }>, { sensor, depth }: DeriveGround): Drafts {
  const { patchM, pingsPerM } = objective;
  if (!(patchM > 0)) throw new RangeError(`patchM ${patchM}: expected more than 0`);
  if (!(pingsPerM > 0)) throw new RangeError(`pingsPerM ${pingsPerM}: expected more than 0`);
  const pingHz = sensor.kind === 'side-scan' ? sensor.soundMps / (2 * sensor.mostRangeM) : sensor.pingHz;
  const notes: string[] = [];
  if (sensor.kind === 'single-beam') {
    const wide = footprintWords(depth.deepestM - sensor.draftM, sensor.beamDeg);
    notes.push(`at ${short(depth.deepestM)} m the beam takes in ${wide} of the bottom: plants are told from it no finer`);
  }
  notes.push('check some places by camera or by hand: presence from echograms is right in 85 to 100 % of places, height class in about 55 % (Helminen 2019)');
  return {
    spacingM: { value: patchM, why: `transects ${short(patchM)} m apart meet every patch at least that wide`, source: COMMON },
    spacingAtDepthM: null,
    rangeM: null,
    mostSpeedMps: { value: pingHz / pingsPerM, why: `${short(pingsPerM)} echoes a metre at ${short(pingHz)} pings a second`, source: `${COMMON}; Sabol et al. 2002 (presence and height by groups of echoes)` },
    crossShare: { value: 0, why: 'none: transects are held against places checked by camera', source: COMMON },
    lie: 'across',
    lieWhy: 'transects across the contours: plants follow the depth',
    notes,
  };
}

function footprintWords(belowM: number, beamDeg: number): string {
  return `${short(2 * Math.max(0, belowM) * Math.tan((beamDeg * Math.PI) / 360))} m`;
}

function cruise(most: Draft | null, boat: BoatModel | null): Draft {
  const own: Draft =
    boat === null
      ? { value: CRUISE_MPS, why: `${CRUISE_MPS} m/s, usual for the class: trials give the boat's own`, source: COMMON }
      : { value: CRUISE_SHARE * boat.topSpeedMps, why: `three quarters of the boat's ${short(boat.topSpeedMps)} m/s: what is left steers and holds against a current`, source: COMMON };
  return most !== null && most.value < own.value ? most : own;
}

function heading(drafts: Drafts, depth: DepthOverArea, convergenceDeg: number): Draft {
  if (drafts.lie === 'free' || Number.isNaN(depth.downslopeDeg)) {
    const why = drafts.lie === 'free' ? 'the heading that takes least time' : `${drafts.lieWhy}; no slope is known, so the heading that takes least time`;
    return { value: NaN, why, source: COMMON };
  }
  const across = wrap360Deg(depth.downslopeDeg + convergenceDeg);
  const value = (drafts.lie === 'across' ? across : wrap360Deg(across + 90)) % 180;
  return { value, why: `${drafts.lieWhy}; the bottom falls 1 in ${(1 / depth.slope).toFixed(0)} towards ${String(Math.round(across) % 360).padStart(3, '0')}`, source: COMMON };
}

function checkSensor(sensor: Sensor): void {
  const positive = (name: string, value: number): void => {
    if (!(value > 0 && value < Infinity)) throw new RangeError(`sensor ${name} ${value}: expected more than 0`);
  };
  positive('beamDeg', sensor.beamDeg);
  if (sensor.beamDeg >= 170) throw new RangeError(`sensor beamDeg ${sensor.beamDeg}: expected less than 170`);
  if (!(sensor.draftM >= 0 && sensor.draftM < Infinity)) throw new RangeError(`sensor draftM ${sensor.draftM}: expected 0 or more`);
  if (sensor.kind === 'side-scan') {
    positive('mostRangeM', sensor.mostRangeM);
    positive('soundMps', sensor.soundMps);
    if (sensor.heightM !== null) positive('heightM', sensor.heightM);
  } else positive('pingHz', sensor.pingHz);
  if (sensor.kind === 'swath' && !(sensor.swathDeg > 0 && sensor.swathDeg < 170)) throw new RangeError(`sensor swathDeg ${sensor.swathDeg}: expected more than 0, less than 170`);
}
