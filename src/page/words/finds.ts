import type { FindShown, MeasureShown } from '../work/finds-messages.js';
import { fixed, percent } from './figures.js';

/** From one sigma to 95 % of a normal error in one dimension. */
const SIGMA_TO_95 = 1.96;

/** A measure with its 95 %, e.g. 1.40 ± 0.12 m; a dash where it is not known. */
export function measureText(measure: { readonly value: number | null; readonly sigma: number | null }, decimals = 2): string {
  const { value, sigma } = measure;
  if (value === null || !Number.isFinite(value)) return '–';
  return sigma === null || !Number.isFinite(sigma) ? `${fixed(value, decimals)}\u00a0m` : `${fixed(value, decimals)}\u00a0±\u00a0${fixed(SIGMA_TO_95 * sigma, decimals)}\u00a0m`;
}

/** Length, width and height in one line. */
export function sizeText({ length, width, height }: Pick<FindShown, 'length' | 'width' | 'height'>): string {
  const plain = ({ value }: MeasureShown): string => (value === null || !Number.isFinite(value) ? '–' : fixed(value, 1));
  return `${plain(length)} × ${plain(width)} m${height.value === null || !Number.isFinite(height.value) ? ', no shadow' : `, ${plain(height)} m high`}`;
}

export const STATE_WORDS: Readonly<Record<FindShown['state'], string>> = { proposed: 'proposed', confirmed: 'confirmed', rejected: 'rejected' };

/** Its name, else its number, which stays with it. */
export function findName(find: Pick<FindShown, 'name' | 'number'>): string {
  return find.name === '' ? `Find ${find.number}` : find.name;
}

export function confidenceText({ confidence, state }: FindShown): string {
  return state === 'confirmed' ? 'confirmed' : `${percent(confidence, 0)} sure`;
}

/** Lines something was seen from. */
export function linesText({ lines, passes }: Pick<FindShown, 'lines' | 'passes'>): string {
  const looks = `${passes} ${passes === 1 ? 'look' : 'looks'}`;
  return lines.length === 0 ? looks : `${looks}, from ${lines.length === 1 ? `line ${lines[0]}` : `lines ${lines.join(', ')}`}`;
}
