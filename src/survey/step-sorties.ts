import { UseError } from '../base/errors.js';
import { boatModel } from '../boat/boat-model.js';
import type { Sortie, SortiePlan } from '../lines/sortie.js';
import type { RunnablePlan } from '../lines/plan-output.js';
import { planSorties } from '../lines/plan-sorties.js';
import { writeMade } from './atomic-file.js';
import { CARD_PLACE } from './boat-places.js';
import { PLACES, isThere, placeIn, readTextIfThere } from './folder.js';
import { linesAsPlanned } from './planned-lines.js';
import type { Settings } from './settings.js';
import { groundFiles, sortieGround, startOf, type SortieGround } from './sortie-ground.js';
import { SORTIE_FIGURES } from './sortie-places.js';
import { readCard } from './step-boat.js';
import type { Made, Step } from './step-graph.js';
import type { SortiesSummary } from './summary.js';

/** Sorties of a survey as its plan, card, water and settings stand. @throws UseError saying why there are none */
export async function sortiesFor(folder: string, settings: Settings): Promise<SortiePlan> {
  const ground = await sortieGround(folder, settings);
  return sortiesOver(folder, settings, ground, await linesAsPlanned(folder, settings, ground.frame));
}

/** Sorties over lines of any kind, planned as the survey's own are. @throws UseError as `planSorties` */
export async function sortiesOver(folder: string, settings: Settings, ground: SortieGround, plan: RunnablePlan): Promise<SortiePlan> {
  const { sortie, lines } = settings;
  const startS = startOf(settings);
  return planSorties({
    plan,
    keepouts: [...ground.keepouts, ...ground.land],
    tide: startS === null ? null : { level: ground.level, needM: settings.rehearse.draftM + settings.rehearse.leastWaterM },
    clearanceM: sortie.clearanceM,
    frame: ground.frame,
    model: boatModel(await readCard(folder)),
    current: ground.current,
    startS: startS ?? 0,
    launch: ground.launch,
    speedMps: lines.speedMps,
    ...(sortie.transitMps === null ? {} : { transitMps: sortie.transitMps }),
    reserveShare: sortie.reserveShare,
    battery: { chargeShare: sortie.batteryShare, swapS: sortie.swapS, chance: sortie.chance },
  });
}

/** The sorties as they stand in the folder; null where there are none. */
export async function readSorties(folder: string): Promise<SortiePlan | null> {
  const text = await readTextIfThere(placeIn(folder, PLACES.sorties));
  if (text === null) return null;
  const plan = JSON.parse(text) as Omit<SortiePlan, 'sorties'> & { readonly sorties: readonly (Omit<Sortie, 'legs'> & { readonly legs: readonly (Omit<Sortie['legs'][number], 'path'> & { readonly path: readonly number[] })[] })[] };
  return { ...plan, leftOut: plan.leftOut ?? [], verdict: plan.verdict ?? { go: true, reason: '' }, sorties: plan.sorties.map((sortie) => ({ ...sortie, legs: sortie.legs.map((leg) => ({ ...leg, path: Float64Array.from(leg.path) })) })) };
}

/** Millimetres: more digits than this say nothing. */
const rounded = (values: Float64Array): number[] => Array.from(values, (value) => Math.round(value * 1000) / 1000);

export function sortiesText(plan: SortiePlan): string {
  return `${JSON.stringify({ ...plan, sorties: plan.sorties.map((sortie) => ({ ...sortie, legs: sortie.legs.map((leg) => ({ ...leg, path: rounded(leg.path) })) })) }, null, 1)}\n`;
}

const orNull = (value: number): number | null => (Number.isNaN(value) ? null : value);

/** Plain shapes of an error, for the page to draw. */
function faultShapes(error: UseError): number[][] {
  return (error.what.where ?? []).map((path) => Array.from(path));
}

/**
 * Sorties, where lines are planned and there is a launch point. What keeps them from being planned is told in the summary and
 * stops nothing else of the survey; `tallow lines` and `tallow rehearse` stop at it.
 */
export const stepSorties: Step = {
  name: 'sorties',
  version: 2,
  after: ['boat'],
  settings: ['sortie', 'lines', 'water.current', 'water.level', 'rehearse.draftM', 'rehearse.leastWaterM', 'rehearse.bottom', 'frame', 'link'],
  files: (work) => [PLACES.area, PLACES.keepouts, PLACES.shore, PLACES.lines, CARD_PLACE, ...groundFiles(work.settings)],
  async run(work): Promise<Made> {
    const { folder, settings } = work;
    const put = async (place: string, text: string): Promise<Made> => ({ [place]: await writeMade(placeIn(folder, place), text) });
    const told = (summary: SortiesSummary): Promise<Made> => put(SORTIE_FIGURES, `${JSON.stringify(summary, null, 2)}\n`);
    const none = { count: 0, lengthM: 0, timeS: 0, time95S: 0, energyWh: 0, energy95Wh: 0, go: true, reason: '', leftOut: [], why: [], notes: [], fault: null };
    if (settings.sortie.launch === null || !(await isThere(placeIn(folder, PLACES.lines)))) {
      return told({ ...none, notes: [settings.sortie.launch === null ? 'no launch point is set: no sorties are planned' : 'no lines are planned'] });
    }
    let plan: SortiePlan;
    try {
      plan = await sortiesFor(folder, settings);
    } catch (error) {
      if (!(error instanceof UseError)) throw error;
      return told({ ...none, fault: { message: error.message, where: faultShapes(error) } });
    }
    const sum = (of: (sortie: Sortie) => number): number => plan.sorties.reduce((all, sortie) => all + of(sortie), 0);
    return {
      ...(await put(PLACES.sorties, sortiesText(plan))),
      ...(await told({
        count: plan.sorties.length,
        lengthM: sum(({ lengthM }) => lengthM),
        timeS: sum(({ timeS }) => timeS),
        // The boat's own figures are behind all of them alike: errors add up.
        time95S: sum(({ time95S }) => time95S),
        energyWh: sum(({ energyWh }) => energyWh),
        energy95Wh: sum(({ energy95Wh }) => energy95Wh),
        go: plan.verdict.go,
        reason: plan.verdict.reason,
        leftOut: plan.leftOut.map((one) => ({ ...one, boatMps: orNull(one.boatMps), currentMps: orNull(one.currentMps) })),
        why: plan.why,
        notes: plan.notes,
        fault: null,
      })),
    };
  },
};
