import type { BoatCard } from '../../boat/boat-card.js';

/** A card as it stands in its file: what is not a number is null there. */
export function cardFromJson(text: string): BoatCard {
  const card = JSON.parse(text, (key, value: unknown) => (value === null && (key === 'uncertainty95' || key === 'value') ? NaN : value)) as BoatCard;
  if (card.format !== 'tallow-boat-card' || card.version !== 1) throw new Error(`boat/card.json: expected a tallow-boat-card of version 1, found ${String(card.format)} ${String(card.version)}; build the boat card again`);
  return card;
}
