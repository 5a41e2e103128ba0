/** The place under a title, said to be invented where it is and does not say so itself. */
export function placeText(place: string, invented: boolean): string {
  const says = /\binvented\b/i.test(place);
  return [place, invented && !says ? 'invented place and data' : ''].filter((part) => part !== '').join(' · ');
}
