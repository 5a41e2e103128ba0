/** What to do about depths in a unit that was read as metres, in words. */
export function unitRemedy(unit: 'feet' | 'fathoms', logs: 'log' | 'logs'): string {
  return `Set the sounder to metres, or name the unit in the column's head, as in depth (${unit === 'feet' ? 'ft' : 'fathom'}), and take the ${logs} in again.`;
}
