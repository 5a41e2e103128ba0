/**
 * Degrees as text: rounded, no trailing zeros, no exponent, no minus zero. The same number gives the same text anywhere.
 * Eight decimals are about a millimetre, seven about a centimetre.
 * @throws RangeError for what is not a finite number
 */
export function degreesText(valueDeg: number, decimals: 7 | 8): string {
  if (!Number.isFinite(valueDeg)) throw new RangeError(`degrees ${valueDeg}: expected a number`);
  const fixed = valueDeg.toFixed(decimals);
  let end = fixed.length;
  while (fixed[end - 1] === '0') end--;
  if (fixed[end - 1] === '.') end--;
  const text = fixed.slice(0, end);
  return text === '-0' ? '0' : text;
}
