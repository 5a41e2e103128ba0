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

/** Few rows against many: merged in order, at the cost of the selection and not of the survey. */
const FEW = 50_000;

/** Rows in order, each once. */
function inOrder(rows: ArrayLike<number>): Int32Array {
  const sorted = Int32Array.from(rows).sort();
  let k = 0;
  for (let i = 0; i < sorted.length; i++) if (i === 0 || sorted[i] !== sorted[i - 1]) sorted[k++] = sorted[i] as number;
  return sorted.subarray(0, k);
}

/** What one selection has that another has not; both ascending. */
export function rowsBeyond(has: Int32Array, other: Int32Array): Int32Array {
  const out: number[] = [];
  let k = 0;
  for (let i = 0; i < has.length; i++) {
    const row = has[i] as number;
    while (k < other.length && (other[k] as number) < row) k++;
    if (k >= other.length || other[k] !== row) out.push(row);
  }
  return Int32Array.from(out);
}

function merged(a: Int32Array, b: Int32Array): Int32Array {
  const out = new Int32Array(a.length + b.length);
  let [i, k, at] = [0, 0, 0];
  while (i < a.length && k < b.length) out[at++] = (a[i] as number) < (b[k] as number) ? (a[i++] as number) : (b[k++] as number);
  if (i < a.length) out.set(a.subarray(i), at);
  else if (k < b.length) out.set(b.subarray(k), at);
  return out;
}

/** A selection after some rows were pointed at; the same object where nothing changed. */
export function selectRows(n: number, selection: Int32Array, rows: ArrayLike<number>, mode: SelectMode): Int32Array {
  if (mode !== 'replace' && rows.length === 0) return selection;
  if (mode !== 'replace' && rows.length < FEW) {
    const pointed = inOrder(rows);
    if (mode === 'remove') {
      const left = rowsBeyond(selection, pointed);
      return left.length === selection.length ? selection : left;
    }
    const fresh = rowsBeyond(pointed, selection);
    return fresh.length === 0 ? selection : merged(selection, fresh);
  }
  const next = mode === 'replace' ? joinRows(n, NO_ROWS, rows) : mode === 'add' ? joinRows(n, selection, rows) : withoutRows(n, selection, rows);
  return next.length === selection.length && next.every((row, i) => row === selection[i]) ? selection : next;
}

/** What the keys held say of a selection: Alt takes out, Shift adds. */
export function modeOf(event: { readonly shiftKey: boolean; readonly altKey: boolean }, plain: SelectMode): SelectMode {
  return event.altKey ? 'remove' : event.shiftKey ? 'add' : plain;
}
