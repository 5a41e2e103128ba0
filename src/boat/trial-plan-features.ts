import type { GeoFeature } from '../geo/features.js';
import type { Frame } from '../geo/frame.js';
import type { PlannedTrial, TrialPlan } from './trial-plan-shape.js';

const ROUND_STEPS = 36;

/**
 * The plan as features on WGS 84, for `writeGeoJson` and the page: for each trial with a place a line (its first pass from
 * start to end; a circle: approach and one turn; a spin: its round), in order. Trials without a place (at rest) are left out.
 *
 * Properties: number, kind, title, command, headingDeg (true, 0.1), reciprocal, side, passes, runUpM, lengthM, runOutM,
 * radiusM, roomM (0.1 m), durationS, why.
 */
export function trialPlanFeatures(plan: TrialPlan, frame: Frame): GeoFeature[] {
  return plan.trials.flatMap((trial): GeoFeature[] => {
    const path = trialPathM(trial);
    if (path.length < 4) return [];
    const lonLat = new Float64Array(path.length);
    for (let i = 0; i < path.length; i += 2) {
      const [latDeg, lonDeg] = frame.toGeographic(path[i]!, path[i + 1]!);
      lonLat[i] = lonDeg;
      lonLat[i + 1] = latDeg;
    }
    return [{ shape: { kind: 'line', path: lonLat }, properties: propertiesOf(trial) }];
  });
}

/** What is drawn of a trial, in the survey frame [m]: its path, or a round for a spin; empty where it has no place. */
export function trialPathM(trial: PlannedTrial): Float64Array {
  if (trial.path.length > 0 || Number.isNaN(trial.centreXM)) return trial.path;
  const out = new Float64Array(2 * (ROUND_STEPS + 1));
  for (let k = 0; k <= ROUND_STEPS; k++) {
    const angle = (2 * Math.PI * k) / ROUND_STEPS;
    out[2 * k] = trial.centreXM + trial.radiusM * Math.sin(angle);
    out[2 * k + 1] = trial.centreYM + trial.radiusM * Math.cos(angle);
  }
  return out;
}

function propertiesOf(trial: PlannedTrial): GeoFeature['properties'] {
  const tenth = (value: number): number => Math.round(value * 10) / 10;
  return {
    number: trial.number,
    kind: trial.kind,
    title: trial.title,
    command: trial.command,
    headingDeg: tenth(trial.headingDeg) === 360 ? 0 : tenth(trial.headingDeg),
    reciprocal: trial.reciprocal,
    side: trial.side,
    passes: trial.passes,
    runUpM: tenth(trial.runUpM),
    lengthM: tenth(trial.lengthM),
    runOutM: tenth(trial.runOutM),
    radiusM: tenth(trial.radiusM),
    roomM: tenth(trial.roomM),
    durationS: Math.round(trial.durationS),
    why: trial.why,
  };
}
