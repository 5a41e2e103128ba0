import type { Draft, DeriveGround, Drafts } from './derive-draft.js';
import { COMMON, short } from './derive-draft.js';
import type { Objective, Sensor } from './objective.js';
import { footprintM, pingPeriodS, spacingForFolds, speedForHitsMps } from './objective-formulas.js';
import { sideScanReach, trackAllowanceM } from './side-scan-reach.js';

type Order = Extract<Objective, { kind: 'depths-order' }>['order'];

/** What an order asks of coverage: 0 stands for less than full. Feature: side of the cube to be found [m], null for none. */
interface Coverage {
  readonly folds: 0 | 1 | 2;
  readonly featureM: (depthM: number) => number | null;
}

/** Source: IHO S-44 ed. 6.1.0 (2022), table 1, feature detection and feature search. */
const COVERAGE: Readonly<Record<Order, Coverage>> = {
  '2': { folds: 0, featureM: () => null },
  '1b': { folds: 0, featureM: () => null },
  '1a': { folds: 1, featureM: (depthM) => (depthM > 40 ? 0.1 * depthM : 2) },
  special: { folds: 1, featureM: () => 1 },
  exclusive: { folds: 2, featureM: () => 0.5 },
};

/** Pings on a feature before it is believed. */
const HITS = 3;
/** Share of the fan left to the neighbour where the bottom is to be covered once. */
const OVERLAP = 0.1;
/** Bathymetric coverage of Orders 1b and 2. */
const LEAST_COVERAGE = 0.05;

/**
 * Spacing, speed and cross lines for depths: to an order, or to a chart's scale.
 *
 * Source: IHO S-44 ed. 6.1.0 (table 1); IHO C-13 (at most the larger of 3 x depth and 25 m below full coverage; cross lines).
 */
export function deriveDepths(objective: Extract<Objective, { kind: 'depths-order' | 'depths-scale' }>, ground: DeriveGround): Drafts {
  const { sensor, depth } = ground;
  const shallowM = depth.shallowestM;
  const cross: Draft = { value: 0.05, why: '5 % of the main lines or more, over all of them, first and at another state of tide', source: `IHO C-13; the share is ${COMMON}` };
  const lieWhy =
    sensor.kind === 'single-beam' ? 'lines across the contours: the depth changes fastest along them' : 'lines along the contours: the swath keeps its width';
  const lie = sensor.kind === 'single-beam' ? 'across' : 'along';
  const common = { rangeM: null, crossShare: cross, lie, lieWhy } as const;
  if (objective.kind === 'depths-scale') {
    if (!(objective.scale >= 1)) throw new RangeError(`scale ${objective.scale}: expected 1 or more`);
    const value = objective.scale / 100;
    return {
      ...common,
      spacingM: { value, why: `1 cm on a chart at 1 : ${objective.scale}`, source: COMMON },
      spacingAtDepthM: null,
      mostSpeedMps: alongTrack(sensor, shallowM),
      notes: sensor.kind === 'side-scan' ? ['a side-scan gives no depths: name the sounder'] : [],
    };
  }
  const { order } = objective;
  const { folds, featureM } = COVERAGE[order];
  const name = order === 'special' || order === 'exclusive' ? `${order[0]!.toUpperCase()}${order.slice(1)} Order` : `Order ${order}`;
  if (sensor.kind === 'side-scan') return searched(objective, ground, common);
  // Order 1a leaves the coverage by depths open up to 100 %: one beam sounds lines, and the search for features is another sensor's.
  const besides = order === '1a' && sensor.kind === 'single-beam';
  if (folds === 0 || besides) {
    const at = (depthM: number): number => Math.max(3 * depthM, 25);
    const widthM = footprintM(Math.max(0.01, shallowM - sensor.draftM), sensor.kind === 'swath' ? sensor.swathDeg : sensor.beamDeg);
    const share = widthM / at(shallowM);
    const notes =
      share < LEAST_COVERAGE && !besides
        ? [`at ${short(shallowM)} m the beam then sees ${(share * 100).toFixed(1)} % of the bottom, table 1 of S-44 has 5 %: ${short(widthM / LEAST_COVERAGE)} m apart gives that`]
        : [];
    return {
      ...common,
      spacingM: { value: at(shallowM), why: `${name}: at most the larger of 3 x depth (${short(shallowM)} m where it is shallowest) and 25 m`, source: 'IHO C-13; S-44 ed. 6.1.0' },
      spacingAtDepthM: at,
      mostSpeedMps: alongTrack(sensor, shallowM),
      notes: [
        ...notes,
        besides
          ? `${name} lets depths cover less than the whole bottom (S-44 table 1: up to 100 %), but all of it is to be searched for features of ${short(featureM(depth.deepestM) ?? 2)} m, which one beam does not: run a side-scan or a fan over the area as well (lines.sensor), or claim Order 1b`
          : `${name} asks for no full search: what lies between the lines is not known`,
      ],
    };
  }
  const angleDeg = sensor.kind === 'swath' ? sensor.swathDeg : sensor.beamDeg;
  const allowanceM = trackAllowanceM(ground.boat);
  const at = (depthM: number): number => {
    const widthM = footprintM(Math.max(0.01, depthM - sensor.draftM), angleDeg);
    return folds === 2 ? Math.max(widthM / 8, (widthM - allowanceM) / 2) : Math.max(widthM / 4, widthM * (1 - OVERLAP) - allowanceM);
  };
  const widthM = footprintM(Math.max(0.01, shallowM - sensor.draftM), angleDeg);
  const notes: string[] = [];
  if (allowanceM > widthM / 2) notes.push(`the ${sensor.kind === 'swath' ? 'fan' : 'beam'} covers ${short(widthM)} m where it is shallowest, the boat keeps a spacing to ${short(allowanceM)} m (95 %): full coverage is not to be had this way`);
  if (sensor.kind === 'single-beam') notes.push(`${name} with one beam: search for features with a side-scan or a fan as well`);
  const sideM = featureM(depth.deepestM);
  return {
    ...common,
    spacingM: {
      value: at(shallowM),
      why: `${name}: ${folds === 2 ? '200 %' : '100 %'} of the bottom with ${short(widthM)} m covered where it is shallowest (${short(shallowM)} m), ${folds === 2 ? '' : '10 % overlap, '}${short(allowanceM)} m for the boat's track`,
      source: 'IHO S-44 ed. 6.1.0 table 1; overlap common practice',
    },
    spacingAtDepthM: at,
    mostSpeedMps: sideM === null ? alongTrack(sensor, shallowM) : onFeature(sensor, sideM, shallowM),
    notes,
  };
}

function alongTrack(sensor: Sensor, depthM: number): Draft | null {
  if (sensor.kind === 'side-scan') return null;
  const alongM = footprintM(Math.max(0.01, depthM - sensor.draftM), sensor.beamDeg);
  return { value: alongM * sensor.pingHz, why: `soundings join along the line: ${short(alongM)} m of beam at ${short(sensor.pingHz)} pings a second`, source: COMMON };
}

function onFeature(sensor: Exclude<Sensor, { kind: 'side-scan' }>, sideM: number, depthM: number): Draft {
  const value = speedForHitsMps(sideM, HITS, 1 / sensor.pingHz, sensor.beamDeg, Math.max(0.01, depthM - sensor.draftM));
  return { value, why: `${HITS} pings on a cube of ${short(sideM)} m at ${short(sensor.pingHz)} pings a second`, source: `IHO S-44 ed. 6.1.0 table 1, C-13 eq. 4.1; ${HITS} pings ${COMMON}` };
}

/** An order's feature search with a side-scan; the soundings themselves come from another sensor. */
function searched(objective: Extract<Objective, { kind: 'depths-order' }>, ground: DeriveGround, common: Pick<Drafts, 'rangeM' | 'crossShare' | 'lie' | 'lieWhy'>): Drafts {
  const sensor = ground.sensor as Extract<Sensor, { kind: 'side-scan' }>;
  const { folds, featureM } = COVERAGE[objective.order];
  const reach = sideScanReach(sensor, ground, null);
  const times = Math.max(1, folds);
  const spacing = spacingForFolds(reach.nearM, reach.farM, times) - trackAllowanceM(ground.boat);
  const sideM = featureM(ground.depth.deepestM);
  const speed = sideM === null ? null : speedForHitsMps(sideM, HITS, pingPeriodS(reach.rangeM, sensor.soundMps), sensor.beamDeg, Math.hypot(reach.nearM, reach.heightM));
  return {
    ...common,
    spacingM: { value: Math.max(reach.farM / 4, spacing), why: `features searched for ${times === 2 ? 'twice' : 'once'} over: ${short(reach.nearM)} to ${short(reach.farM)} m a side, the gap under the boat from the next line`, source: 'IHO S-44 ed. 6.1.0 table 1; C-13 ch. 4' },
    spacingAtDepthM: null,
    rangeM: reach.range,
    mostSpeedMps: speed === null ? null : { value: speed, why: `${HITS} pings on a cube of ${short(sideM!)} m at a range of ${short(reach.rangeM)} m`, source: `S-44 ed. 6.1.0 table 1, C-13 eq. 4.1; ${HITS} pings ${COMMON}` },
    notes: ['a side-scan gives no depths: sound the lines, and what it finds, with a sounder', ...reach.notes],
  };
}
