import type { ByteSink } from '../base/byte-source.js';

/** Few enough that a piece of text is gone before the memory is swept. */
const ROWS_A_PIECE = 1000;

/**
 * Points as plain text, `east north depth` a line in metres, millimetres kept, depth positive down; the simplest form there is, which
 * says nothing of itself: frame, datum and sign stand in a file beside it. Rows with a NaN are left out.
 *
 * @param place east and north of row i [m]
 * @returns rows written
 */
export async function writeXyz(sink: ByteSink, n: number, place: (i: number) => readonly [number, number], depthM: (i: number) => number): Promise<number> {
  const encoder = new TextEncoder();
  let text = '';
  let rows = 0;
  for (let i = 0; i < n; i++) {
    const depth = depthM(i);
    if (Number.isNaN(depth)) continue;
    const [x, y] = place(i);
    if (Number.isNaN(x) || Number.isNaN(y)) continue;
    text += `${x.toFixed(3)} ${y.toFixed(3)} ${depth.toFixed(3)}\r\n`;
    rows++;
    if (rows % ROWS_A_PIECE === 0) {
      await sink.write(encoder.encode(text));
      text = '';
    }
  }
  if (text !== '' || rows === 0) await sink.write(encoder.encode(text));
  return rows;
}
