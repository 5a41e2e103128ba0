import { select } from '../state/decide-soundings.js';
import type { SelectMode } from './rows.js';

/** Rows gathered along a stroke of the brush, given to the selection once a frame. */
export class Stroke {
  #rows: number[] = [];
  #mode: SelectMode = 'add';
  #frame = 0;

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
    if (this.#rows.length > 0) select(this.#rows, this.#mode);
    this.#rows = [];
  }
}
