/** Figures of the boat card for the summary. */
export const BOAT_FIGURES = 'derived/boat.json';

/** The boat card itself. */
export const CARD_PLACE = 'boat/card.json';

/** Trials in the logs, with what the user decided on them. */
export const TRIALS_PLACE = 'derived/trials.json';

/** The log of trials on one time base. */
export const TRIAL_LOG_PLACE = 'derived/trial-log.parquet';

/** Trials that would give what the card lacks, as laid out on the chart. */
export const TRIAL_PLAN_PLACE = 'boat/trial-plan.geojson';
