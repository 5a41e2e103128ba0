import type KDBush from 'kdbush';
import type { Soundings } from '../../depths/soundings.js';
import { declutterPicks, shoalestPerCell, type Box } from './shoal-pick.js';
import { boxOf, extentOf, type Viewport } from './viewport.js';

/** Size of a label's cell, and the room a label needs [px]. */
const CELL = { widthPx: 62, heightPx: 40 };
const LABEL = { widthPx: 40, heightPx: 25 };
/** The whole survey is looked over once on a grid of at most this many cells. */
const BASE_CELLS = 2 ** 21;
const MAX_CELLS = 2 ** 21;

/** Which soundings to print at each zoom: the shoalest of each cell, never over each other. */
export class LabelBook {
  readonly #soundings: Soundings;
  readonly #index: KDBush | null;
  readonly #box: Box | null;
  /** The shoalest of each cell of ever larger cells, each chosen from the one before. */
  readonly #bases: { readonly cellM: number; readonly picks: Int32Array }[] = [];
  readonly #levels = new Map<number, Int32Array>();
  #local: { readonly level: number; readonly box: Box; readonly chosen: Int32Array } | null = null;

  constructor(soundings: Soundings, index: KDBush | null) {
    this.#soundings = soundings;
    this.#index = index;
    this.#box = boxOfGood(soundings);
    if (this.#box === null) {
      return;
    }
    const area = Math.max(1, this.#box.eastM - this.#box.westM) * Math.max(1, this.#box.northM - this.#box.southM);
    const cellM = Math.max(0.25, Math.sqrt(area / BASE_CELLS) * 1.05);
    const first = shoalestPerCell(soundings, null, this.#box, cellM, cellM);
    this.#bases.push({ cellM, picks: first.pick.filter((i) => i >= 0) });
  }

  /** Soundings to print in a viewport; some may lie outside it. */
  labels(view: Viewport): Int32Array {
    if (this.#box === null) return new Int32Array(0);
    // Quarter octaves: the choice holds while the zoom moves by less than a fifth.
    const level = Math.round(Math.log2(view.metresPerPixel) * 4);
    const scale = 2 ** (level / 4);
    const widthM = CELL.widthPx * scale;
    const heightM = CELL.heightPx * scale;
    const { westM, southM, eastM, northM } = this.#box;
    const cells = ((eastM - westM) / widthM + 2) * ((northM - southM) / heightM + 2);
    const base = this.#baseFor(heightM / 4);
    if (base !== null && cells < MAX_CELLS) {
      let chosen = this.#levels.get(level);
      if (chosen === undefined) {
        chosen = this.#choose(base, this.#box, scale);
        this.#levels.set(level, chosen);
      }
      return chosen;
    }
    const seen = extentOf(view);
    const local = this.#local;
    if (local !== null && local.level === level && local.box.westM <= seen.westM && local.box.eastM >= seen.eastM && local.box.southM <= seen.southM && local.box.northM >= seen.northM) return local.chosen;
    const box = extentOf(view, 400);
    const ids = this.#index?.range(box.westM, box.southM, box.eastM, box.northM) ?? [];
    const chosen = this.#choose(ids, box, scale);
    this.#local = { level, box, chosen };
    return chosen;
  }

  /** Picks on the largest cells not larger than asked for; null where even the smallest are. */
  #baseFor(cellM: number): Int32Array | null {
    let at = this.#bases[0];
    if (at === undefined || at.cellM > cellM || this.#box === null) return null;
    for (let k = 1; at.cellM * 2 <= cellM; k++) {
      let next: { readonly cellM: number; readonly picks: Int32Array } | undefined = this.#bases[k];
      if (next === undefined) {
        const doubled: number = at.cellM * 2;
        next = { cellM: doubled, picks: shoalestPerCell(this.#soundings, at.picks, this.#box, doubled, doubled).pick.filter((i) => i >= 0) };
        this.#bases[k] = next;
      }
      at = next;
    }
    return at.picks;
  }

  #choose(ids: ArrayLike<number>, box: Box, scale: number): Int32Array {
    const picks = shoalestPerCell(this.#soundings, ids, box, CELL.widthPx * scale, CELL.heightPx * scale);
    return declutterPicks(this.#soundings, picks, LABEL.widthPx * scale, LABEL.heightPx * scale);
  }
}

/** The box of the good soundings; null for none. */
export function boxOfGood(soundings: Pick<Soundings, 'n' | 'xM' | 'yM' | 'reason'>): Box | null {
  const ends = new Float64Array([Infinity, Infinity, -Infinity, -Infinity]);
  for (let i = 0; i < soundings.n; i++) {
    if (soundings.reason[i] !== 0) continue;
    const x = soundings.xM[i] as number;
    const y = soundings.yM[i] as number;
    if (x < (ends[0] as number)) ends[0] = x;
    if (y < (ends[1] as number)) ends[1] = y;
    if (x > (ends[2] as number)) ends[2] = x;
    if (y > (ends[3] as number)) ends[3] = y;
  }
  return (ends[2] as number) >= (ends[0] as number) ? boxOf([ends]) : null;
}
