/** Figures of the boat card for the summary. */
export const BOAT_FIGURES = 'derived/boat/boat.json';

/** The trials as found and corrected. */
export const TRIALS_PLACE = 'derived/boat/trials.json';

/** The log of trials on one time base. */
export const TRIAL_LOG_PLACE = 'derived/boat/trial-log.parquet';

/** The boat card itself. */
export const CARD_PLACE = 'boat/card.json';
