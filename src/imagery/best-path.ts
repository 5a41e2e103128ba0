/**
 * The best path through rows of scores: the sum of what it passes over, less a price for every step aside.
 *
 * Dynamic programming (Viterbi). The price is so much a state and row, whatever the distance, so that one row is done in two
 * sweeps over its states. Rows are given one by one; only where each state's best way came from is kept, two bytes a state.
 */
export class BestPath {
  #best: Float64Array;
  #next: Float64Array;
  readonly #states: number;
  readonly #came: Int16Array;
  readonly #from: Int16Array[] = [];

  /** @param states of every row, at most 32767 */
  constructor(states: number) {
    if (!(Number.isInteger(states) && states > 0 && states <= 32767)) throw new RangeError(`states ${states}: expected 1 to 32767`);
    this.#states = states;
    this.#came = new Int16Array(states);
    this.#best = new Float64Array(states);
    this.#next = new Float64Array(states);
  }

  /**
   * @param scores of the row's states [states]
   * @param price of a step of one state aside since the row before
   * @param shift state s of this row is the same place as s + shift of the row before
   */
  add(scores: ArrayLike<number>, price: number, shift = 0): void {
    const states = this.#states;
    const from = new Int16Array(states);
    const [before, now] = [this.#best, this.#next];
    if (this.#from.length === 0) {
      for (let s = 0; s < states; s++) {
        now[s] = scores[s]!;
        from[s] = s;
      }
    } else {
      // The best to be had at each place of the row before, stepping up, then stepping down.
      const came = this.#came;
      for (let p = 0; p < states; p++) {
        came[p] = p;
        if (p > 0 && before[p - 1]! - price > before[p]!) {
          before[p] = before[p - 1]! - price;
          came[p] = came[p - 1]!;
        }
      }
      for (let p = states - 2; p >= 0; p--) {
        if (before[p + 1]! - price > before[p]!) {
          before[p] = before[p + 1]! - price;
          came[p] = came[p + 1]!;
        }
      }
      // Places outside it are reached from its ends.
      for (let s = 0; s < states; s++) {
        const at = Math.min(Math.max(s + shift, 0), states - 1);
        now[s] = before[at]! - price * Math.abs(s + shift - at);
        from[s] = came[at]!;
      }
      let most = -Infinity;
      for (let s = 0; s < states; s++) {
        now[s]! += scores[s]!;
        if (now[s]! > most) most = now[s]!;
      }
      // Kept near zero, so that a day of rows loses no precision.
      for (let s = 0; s < states; s++) now[s]! -= most;
    }
    this.#from.push(from);
    [this.#best, this.#next] = [now, before];
  }

  /** The state of every row. Shape [rows]. */
  path(): Int32Array {
    const rows = this.#from.length;
    const path = new Int32Array(rows);
    if (rows === 0) return path;
    let state = 0;
    for (let s = 1; s < this.#states; s++) if (this.#best[s]! > this.#best[state]!) state = s;
    for (let row = rows - 1; row >= 0; row--) {
      path[row] = state;
      state = this.#from[row]![state]!;
    }
    return path;
  }
}
