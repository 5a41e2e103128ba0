import { makeCard } from '../../src/boat/make-card.js';
import { planTrials, type TrialPlanRequest } from '../../src/boat/trial-plan.js';
import { createFrame } from '../../src/geo/frame.js';
import type { Polygon } from '../../src/geo/shapes.js';
import type { TrialSheetInput } from '../../src/report/trial-sheet.js';

const X0 = 270_600;
const Y0 = 5_101_500;

function polygon(...at: number[]): Polygon {
  return { outer: Float64Array.from(at, (value, i) => value + (i % 2 === 0 ? X0 : Y0)), holes: [] };
}

/** A trial sheet of an invented bight with a headland, a rock and a keep-out. */
export function sampleSheet(changes: Partial<TrialPlanRequest> = {}, name = 'Hollin Sound, spring'): TrialSheetInput {
  const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
  const card = makeCard({ name: 'Whelk', lengthM: 1.2, massKg: 18, hand: {}, defaults: true });
  const water = [polygon(0, 40, 60, 10, 150, 0, 430, 0, 430, 290, 300, 268, 240, 276, 190, 300, 120, 286, 60, 250, 20, 160)];
  const shore = [polygon(-200, 700, -200, 160, 20, 160, 60, 250, 120, 286, 190, 300, 240, 276, 300, 268, 430, 290, 700, 310, 700, 700), polygon(300, 90, 318, 84, 330, 96, 322, 112, 306, 108)];
  const marina = polygon(180, 215, 262, 205, 262, 262, 190, 282);
  const launch = { xM: X0 + 92, yM: Y0 + 262 };
  const base = { xM: X0 + 96, yM: Y0 + 268, rangeM: 330 };
  const keepouts = [...shore, marina];
  const plan = planTrials({ card, water, keepouts, frame, launch, base, positionSigmaM: 0.05, ...changes });
  return { plan, card, frame, name, place: 'Hollin Sound', invented: true, water, keepouts, shore, launch, base, variation: { variationDeg: -9.1, date: '2026-06-17', source: 'World Magnetic Model' }, date: [2026, 6, 17] };
}
