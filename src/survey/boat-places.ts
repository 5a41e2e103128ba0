/** Figures of the boat card for the summary. */
export const BOAT_FIGURES = 'derived/boat.json';

/** The boat card itself. */
export const CARD_PLACE = 'boat/card.json';
