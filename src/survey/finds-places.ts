/** Where the finds and the search are kept. */
export const FINDS_PLACES = {
  candidates: 'derived/finds/candidates.json',
  sightings: 'derived/finds/sightings.parquet',
  finds: 'derived/finds/finds.json',
  geojson: 'derived/finds/finds.geojson',
  figures: 'derived/finds/figures.json',
  searchMap: 'derived/finds/search.tif',
  search: 'derived/finds/search.json',
  nextLines: 'derived/finds/next-lines.geojson',
} as const;

/** The picture of a sighting. */
export function chipPlace(sightingId: string): string {
  return `derived/finds/chips/${sightingId}.png`;
}
