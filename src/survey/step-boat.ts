import type { BoatCard } from '../boat/boat-card.js';
import { makeCard } from '../boat/make-card.js';
import { UseError } from '../base/errors.js';
import { writeAtomic } from './atomic-file.js';
import { BOAT_FIGURES, CARD_PLACE } from './boat-places.js';
import { placeIn } from './folder.js';
import type { Settings } from './settings.js';
import type { Made, Step } from './step-graph.js';
import type { BoatSummary } from './summary.js';

/** The boat card as the settings make it. @throws UseError where a figure entered by hand is unknown */
export function cardOf(settings: Settings): BoatCard {
  try {
    return makeCard(settings.boat);
  } catch (error) {
    throw error instanceof RangeError ? new UseError(`survey.json: ${error.message}`, { path: 'boat.hand' }) : error;
  }
}

function figuresOf(card: BoatCard): BoatSummary {
  const count = { trials: 0, hand: 0, default: 0 };
  for (const figure of Object.values(card.figures)) if (figure !== null) count[figure.source]++;
  const { topSpeed } = card.figures;
  return {
    name: card.name,
    figures: count,
    missing: card.missing.length,
    refused: card.refused.length,
    topSpeed: topSpeed === null ? null : { value: topSpeed.value, uncertainty95: topSpeed.uncertainty95, source: topSpeed.source },
  };
}

async function write(folder: string, place: string, value: unknown): Promise<{ sha256: string; bytes: number }> {
  const text = `${JSON.stringify(value, null, 2)}\n`;
  return { sha256: await writeAtomic(placeIn(folder, place), text), bytes: Buffer.byteLength(text) };
}

export const stepBoat: Step = {
  name: 'boat',
  version: 1,
  after: [],
  settings: ['boat'],
  files: () => [],
  async run(work): Promise<Made> {
    const card = cardOf(work.settings);
    work.memory.set('boat', card);
    return { [CARD_PLACE]: await write(work.folder, CARD_PLACE, card), [BOAT_FIGURES]: await write(work.folder, BOAT_FIGURES, figuresOf(card)) };
  },
};
