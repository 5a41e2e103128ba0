/** Rows of soundings as a selection: ascending, each once. */
export const NO_ROWS = new Int32Array(0);

function marked(n: number, rows: ArrayLike<number>): Uint8Array {
  const mask = new Uint8Array(n);
  for (let k = 0; k < rows.length; k++) mask[rows[k] as number] = 1;
  return mask;
}

function rowsOf(mask: Uint8Array): Int32Array {
  let count = 0;
  for (let i = 0; i < mask.length; i++) count += mask[i] as number;
  const out = new Int32Array(count);
  let k = 0;
  for (let i = 0; i < mask.length; i++) if (mask[i] === 1) out[k++] = i;
  return out;
}

/** The rows of both, ascending, each once. @param n number of soundings */
export function joinRows(n: number, a: ArrayLike<number>, b: ArrayLike<number>): Int32Array {
  const mask = marked(n, a);
  for (let k = 0; k < b.length; k++) mask[b[k] as number] = 1;
  return rowsOf(mask);
}

/** The rows of `a` that are not in `b`, ascending. @param n number of soundings */
export function withoutRows(n: number, a: ArrayLike<number>, b: ArrayLike<number>): Int32Array {
  const mask = marked(n, a);
  for (let k = 0; k < b.length; k++) mask[b[k] as number] = 0;
  return rowsOf(mask);
}

/** How rows just pointed at change a selection. */
export type SelectMode = 'replace' | 'add' | 'remove';

/** A selection after some rows were pointed at; the same object where nothing changed. */
export function selectRows(n: number, selection: Int32Array, rows: ArrayLike<number>, mode: SelectMode): Int32Array {
  if (mode !== 'replace' && rows.length === 0) return selection;
  const next = mode === 'replace' ? joinRows(n, NO_ROWS, rows) : mode === 'add' ? joinRows(n, selection, rows) : withoutRows(n, selection, rows);
  return next.length === selection.length && next.every((row, i) => row === selection[i]) ? selection : next;
}

/** What the keys held say of a selection: Alt takes out, Shift adds. */
export function modeOf(event: { readonly shiftKey: boolean; readonly altKey: boolean }, plain: SelectMode): SelectMode {
  return event.altKey ? 'remove' : event.shiftKey ? 'add' : plain;
}
