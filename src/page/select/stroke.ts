import { select } from '../state/decide-soundings.js';
import type { SelectMode } from './rows.js';

type View = 'chart' | 'profile' | 'points';

/** View in which a stroke was drawn last, and when: the others may follow a little behind. */
let last: { readonly view: View; readonly ms: number } = { view: 'chart', ms: -Infinity };
const UNDER_WAY_MS = 200;

/** Whether a stroke is being drawn in another view than this one. */
export function strokeElsewhere(view: View): boolean {
  return last.view !== view && performance.now() - last.ms < UNDER_WAY_MS;
}

/** Rows gathered along a stroke of the brush, given to the selection once a frame. */
export class Stroke {
  #rows: number[] = [];
  #mode: SelectMode = 'add';
  #frame = 0;
  readonly #view: View;

  constructor(view: View) {
    this.#view = view;
  }

  add(rows: ArrayLike<number>, mode: SelectMode): void {
    if (mode !== this.#mode) this.flush();
    this.#mode = mode;
    for (let k = 0; k < rows.length; k++) this.#rows.push(rows[k] as number);
  }

  /** Shows what was gathered in the next frame. */
  flushSoon(): void {
    if (this.#frame !== 0) return;
    this.#frame = requestAnimationFrame(() => {
      this.#frame = 0;
      this.flush();
    });
  }

  flush(): void {
    if (this.#rows.length === 0) return;
    last = { view: this.#view, ms: performance.now() };
    select(this.#rows, this.#mode);
    this.#rows = [];
  }
}
