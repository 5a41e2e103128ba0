import type { Draft, DeriveGround, Drafts } from './derive-draft.js';
import { COMMON, short } from './derive-draft.js';
import type { Objective, Sensor } from './objective.js';
import { chanceOfFinding, coverageForChance, footprintM, pingPeriodS, spacingForFolds, speedForHitsMps } from './objective-formulas.js';
import { sideScanReach, trackAllowanceM } from './side-scan-reach.js';

/** Slower than this no survey is run [m/s]: an object that asks for it is not within the sensor's reach. */
const SLOWEST_MPS = 0.5;
/** Share of objects within the sweep that are seen: the sea floor hides some (common practice, no source). */
const SEEN_SHARE = 0.9;

const NO_CROSS: Draft = { value: 0, why: 'none: pictures are checked by their overlap', source: COMMON };
const ALONG = { lie: 'along', lieWhy: 'lines along the contours: the height over the bottom stays the same' } as const;

/**
 * Spacing, range and speed for pictures of the bottom by side-scan.
 * Source: IHO C-13 ch. 4 (hits on an object, ground range); the gap under the boat is seen from the next line.
 */
export function deriveImagery(objective: Extract<Objective, { kind: 'imagery' }>, ground: DeriveGround): Drafts {
  const { folds, objectM, hits, rangeM } = objective;
  if (!(Number.isInteger(folds) && folds >= 1 && folds <= 8)) throw new RangeError(`folds ${folds}: expected a whole number, 1 to 8`);
  checkHits(objectM, hits, 'objectM');
  if (rangeM !== null && !(rangeM > 0)) throw new RangeError(`rangeM ${rangeM}: expected more than 0, or null`);
  const sensor = needSideScan(ground.sensor, 'pictures');
  const reach = sideScanReach(sensor, ground, rangeM);
  const allowanceM = trackAllowanceM(ground.boat);
  const spacing = spacingForFolds(reach.nearM, reach.farM, folds);
  const atM = Math.hypot(reach.nearM, reach.heightM);
  const speed = speedForHitsMps(objectM, hits, pingPeriodS(reach.rangeM, sensor.soundMps), sensor.beamDeg, atM);
  const value = Math.max(spacing / 4, spacing - allowanceM);
  return {
    spacingM: {
      value,
      why:
        `every place ${folds === 1 ? 'once' : folds === 2 ? 'twice' : `${folds} times`}: ${short(reach.nearM)} to ${short(reach.farM)} m a side, the gap under the boat seen from the next line, ` +
        `${short(allowanceM)} m for the boat's track; ${((200 * reach.farM) / value).toFixed(0)} % of the bottom`,
      source: 'IHO C-13 ch. 4',
    },
    spacingAtDepthM: null,
    rangeM: reach.range,
    mostSpeedMps: { value: speed, why: `${hits} hits on ${short(objectM)} m at a range of ${short(reach.rangeM)} m, the beam narrowest at ${short(atM)} m`, source: 'IHO C-13 ch. 4, eq. 4.1' },
    crossShare: NO_CROSS,
    ...ALONG,
    notes: [...reach.notes, 'beside the outermost lines the gap under the boat is seen from one side only: one line more outside each edge closes it'],
  };
}

/**
 * Spacing, range and speed to find objects of a size with a chance: sweep width W from what the sensor resolves, coverage
 * C = W / spacing, the chance by the law of search.
 * Source: Koopman (1946); Soza & Co. for USCG (1996); IHO C-13 ch. 4 for what is hit.
 */
export function deriveObjects(objective: Extract<Objective, { kind: 'objects' }>, ground: DeriveGround): Drafts {
  const { sizeM, chance, law, hits } = objective;
  checkHits(sizeM, hits, 'sizeM');
  const coverage = coverageForChance(chance, law);
  const { sensor } = ground;
  const lawWords = law === 'random' ? 'random search' : law === 'inverse-cube' ? 'the inverse cube law' : 'definite range';
  const notes = [`${lawWords}: ${(chanceOfFinding(coverage, law) * 100).toFixed(0)} % at a coverage of ${short(coverage)}`, 'a second search multiplies the misses only if it fails for other reasons than the first: other headings, another day'];
  const spacingWhy = (sweepM: number, what: string): string => `coverage ${short(coverage)} for a chance of ${(chance * 100).toFixed(0)} % by ${lawWords}, sweep width ${short(sweepM)} m (${what})`;
  if (sensor.kind !== 'side-scan') {
    const belowM = Math.max(0.01, ground.depth.shallowestM - sensor.draftM);
    const sweepM = footprintM(belowM, sensor.kind === 'swath' ? sensor.swathDeg : sensor.beamDeg) * SEEN_SHARE;
    return {
      spacingM: { value: sweepM / coverage, why: spacingWhy(sweepM, 'what it covers where it is shallowest, nine tenths of it'), source: 'Koopman 1946; Soza 1996' },
      spacingAtDepthM: null,
      rangeM: null,
      mostSpeedMps: { value: speedForHitsMps(sizeM, hits, 1 / sensor.pingHz, sensor.beamDeg, belowM), why: `${hits} pings on ${short(sizeM)} m at ${short(sensor.pingHz)} pings a second`, source: 'IHO C-13 ch. 4, eq. 4.1' },
      crossShare: NO_CROSS,
      ...ALONG,
      notes: sensor.kind === 'single-beam' ? [...notes, 'one beam sees an object only when the boat passes over it: a side-scan searches far more'] : notes,
    };
  }
  // As far as the beam is no wider than the object, and the pings come often enough for the slowest speed.
  const byBeamM = sizeM / ((sensor.beamDeg * Math.PI) / 180);
  const wanted = Math.min(sensor.mostRangeM, byBeamM);
  const byHeight = sideScanReach(sensor, ground, null).range.value;
  const reach = sideScanReach(sensor, ground, Math.min(wanted, byHeight));
  const atM = Math.hypot(reach.nearM, reach.heightM);
  const speed = speedForHitsMps(sizeM, hits, pingPeriodS(reach.rangeM, sensor.soundMps), sensor.beamDeg, atM);
  const sweepM = Math.max(0, 2 * (reach.farM - reach.nearM) * SEEN_SHARE);
  if (speed < SLOWEST_MPS) notes.push(`${hits} hits on ${short(sizeM)} m ask for ${short(speed)} m/s: shorten the range`);
  const rangeWhy =
    byBeamM < byHeight && byBeamM <= sensor.mostRangeM ? `as far as the beam is no wider than the object: ${short(sizeM)} m at ${short(byBeamM)} m` : byHeight <= wanted ? `ten times its height over the bottom where it is shallowest` : 'the most the sensor reaches';
  return {
    spacingM: { value: sweepM / coverage, why: spacingWhy(sweepM, `${short(reach.nearM)} to ${short(reach.farM)} m a side, nine tenths of what lies there seen`), source: 'Koopman 1946; Soza 1996' },
    spacingAtDepthM: null,
    rangeM: { value: Math.min(wanted, byHeight), why: rangeWhy, source: `IHO C-13 ch. 4; ${COMMON}` },
    mostSpeedMps: { value: speed, why: `${hits} hits on ${short(sizeM)} m at a range of ${short(reach.rangeM)} m`, source: 'IHO C-13 ch. 4, eq. 4.1' },
    crossShare: NO_CROSS,
    ...ALONG,
    notes: [...notes, ...reach.notes],
  };
}

function checkHits(sizeM: number, hits: number, name: string): void {
  if (!(sizeM > 0 && sizeM < Infinity)) throw new RangeError(`${name} ${sizeM}: expected more than 0`);
  if (!(Number.isInteger(hits) && hits >= 2)) throw new RangeError(`hits ${hits}: expected a whole number, 2 or more`);
}

function needSideScan(sensor: Sensor, what: string): Extract<Sensor, { kind: 'side-scan' }> {
  if (sensor.kind !== 'side-scan') throw new RangeError(`sensor ${sensor.kind}: expected a side-scan for ${what}`);
  return sensor;
}
