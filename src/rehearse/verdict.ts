import { shareText } from './moment-words.js';
import type { Concern, ConcernKind, Rehearsal, RehearsalOptions, RehearsalRequest, Verdict } from './rehearsal.js';

/** In this order among those of one weight. */
const ORDER: readonly ConcernKind[] = ['launch', 'data', 'keep-out', 'current', 'water', 'battery', 'daylight', 'link', 'painting', 'speed', 'boat'];
const WEIGHTS: readonly Concern['weight'][] = ['no-go', 'condition', 'caution', 'note'];

/** The weightier first, then by kind; alike in both they keep their order. */
export function compareConcerns(a: Concern, b: Concern): number {
  return WEIGHTS.indexOf(a.weight) - WEIGHTS.indexOf(b.weight) || ORDER.indexOf(a.kind) - ORDER.indexOf(b.kind);
}

/** Go or no-go by concerns in their order; the reason of a go without conditions is what it is nearest to failing on. */
export function verdictOf(told: Pick<Rehearsal, 'totals' | 'link'>, request: RehearsalRequest, options: RehearsalOptions, concerns: readonly Concern[], chanceHome: number): Verdict {
  const go = concerns[0]?.weight !== 'no-go';
  const reason = concerns[0]?.weight === 'no-go' || concerns[0]?.weight === 'condition' ? concerns[0].text : nearestLimit(told, request, options, chanceHome);
  return { go, reason, concerns, chanceHome };
}

/** Each margin against what would be plenty of it; the scarcest is told. */
function nearestLimit({ totals, link }: Pick<Rehearsal, 'totals' | 'link'>, request: RehearsalRequest, options: RehearsalOptions, chance: number): string {
  const holdsWh = request.boat.batteryWh * options.batteryShare;
  const margins = [
    { share: 1 - totals.energyWh / ((1 - options.reserveShare) * holdsWh), text: `battery: ${totals.energyWh.toFixed(0)} ± ${totals.energy95Wh.toFixed(0)} Wh of ${holdsWh.toFixed(0)} Wh, chance of getting home ${percent(chance)}` },
    { share: (totals.leastWaterM - options.leastWaterM) / 2, text: `water: at least ${totals.leastWaterM.toFixed(1)} m under the boat` },
    { share: (totals.leastSunDeg - options.leastSunDeg) / 15, text: `daylight: the sun at least ${plain(totals.leastSunDeg)} deg up` },
    { share: (totals.leastLinkDb - options.leastLinkDb) / 20, text: link !== null && link.unsureS > 0 ? `link: ${plain(totals.leastLinkDb)} dB at the weakest, under 95 of 100 sure for ${shareText(link.unsureShare)} of the sortie` : `link: at least ${plain(totals.leastLinkDb)} dB to spare` },
  ].filter((one) => !Number.isNaN(one.share));
  margins.sort((a, b) => a.share - b.share);
  return `nearest its limit is ${margins[0]?.text ?? 'nothing that was told'}`;
}

/** Whole, never minus nought. */
function plain(value: number): string {
  return value.toFixed(0).replace(/^-0$/, '0');
}

/** Never told as certain where it is not. */
export function percent(chance: number): string {
  if (chance > 0.999) return 'over 99.9 %';
  if (chance < 0.001) return 'under 0.1 %';
  return `${(100 * chance).toFixed(1)} %`;
}
