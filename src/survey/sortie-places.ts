/** Figures of the sorties for the summary, or why there are none. */
export const SORTIE_FIGURES = 'derived/sorties.json';

/** The rehearsal: verdicts, legs, lines, worst moments. */
export const REHEARSAL_PLACE = 'derived/rehearsal.json';

/** The rehearsal against time; all sorties, one after the other. */
export const REHEARSAL_COLUMNS_PLACE = 'derived/rehearsal.parquet';

/** What would come of a dropped link, a dead thruster, a weak battery, at every ten seconds. */
export const MOMENTS_PLACE = 'derived/moments.parquet';

/** Holes that the rehearsed lines will leave, where the area and what the sensor sees are known. */
export const REHEARSED_HOLES_PLACE = 'derived/rehearsed-holes.geojson';
