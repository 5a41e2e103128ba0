import { boxOf } from './viewport.js';
import { simplifyLine } from './simplify.js';

interface Entry {
  readonly line: Float64Array;
  readonly box: { westM: number; southM: number; eastM: number; northM: number };
}

/** Lines are thinned once to this before any zoom's copy is made of them [m]. */
const BASE_TOLERANCE_M = 0.06;

/** Many lines, thinned for the zoom at hand: each zoom's copy is made once, when first asked for. */
export class LineBook {
  readonly #lines: readonly Float64Array[];
  readonly #levels = new Map<number, Entry[]>();
  #base: readonly Float64Array[] | null = null;

  constructor(lines: readonly Float64Array[]) {
    this.#lines = lines;
  }

  get count(): number {
    return this.#lines.length;
  }

  /** Lines that touch a box, true to within half a pixel. The index is that of the line given. */
  *visible(extent: { westM: number; southM: number; eastM: number; northM: number }, metresPerPixel: number): Generator<{ readonly index: number; readonly line: Float64Array }> {
    const level = Math.floor(Math.log2(metresPerPixel));
    let entries = this.#levels.get(level);
    if (entries === undefined) {
      const toleranceM = 2 ** level * 0.3;
      // Half the tolerance was spent on the base, so the sum stays under half a pixel.
      const from = toleranceM >= 2 * BASE_TOLERANCE_M ? (this.#base ??= this.#lines.map((line) => simplifyLine(line, BASE_TOLERANCE_M))) : this.#lines;
      entries = from.map((line) => ({ line: simplifyLine(line, toleranceM), box: boxOf([line]) ?? { westM: Infinity, southM: Infinity, eastM: -Infinity, northM: -Infinity } }));
      this.#levels.set(level, entries);
    }
    for (let index = 0; index < entries.length; index++) {
      const { line, box } = entries[index] as Entry;
      if (box.eastM < extent.westM || box.westM > extent.eastM || box.northM < extent.southM || box.southM > extent.northM) continue;
      yield { index, line };
    }
  }
}
