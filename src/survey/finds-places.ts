/** Where the finds and the search are kept. */
export const FINDS_PLACES = {
  sightings: 'derived/finds/sightings.parquet',
  finds: 'derived/finds/finds.json',
  geojson: 'derived/finds/finds.geojson',
  figures: 'derived/finds/figures.json',
  searchMap: 'derived/finds/search.tif',
  search: 'derived/finds/search.json',
  nextLines: 'derived/finds/next-lines.geojson',
} as const;

/** The n-th picture of a find, from 1. */
export function chipPlace(findId: string, n: number): string {
  return `derived/finds/chips/${findId}-${n}.png`;
}
