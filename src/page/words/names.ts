/** How an S-44 order is written. */
export function orderName(order: string): string {
  return order === 'exclusive' ? 'Exclusive' : order === 'special' ? 'Special' : order;
}

/** The survey's name and place as a title, without saying the same twice. */
export function surveyTitle(name: string, place: string): string {
  if (place === '' || name.startsWith(place)) return name;
  return place.startsWith(name) ? place : `${name}, ${place}`;
}

/** What the place adds to the name; empty where it adds nothing. */
export function placeBeside(name: string, place: string): string {
  const rest = place.startsWith(name) ? place.slice(name.length).replace(/^[\s,]+/, '') : place;
  return /^\(.*\)$/.test(rest) ? rest.slice(1, -1) : rest;
}
