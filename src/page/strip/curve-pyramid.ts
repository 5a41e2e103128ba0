import { rowAt } from './decimate.js';

/** Rows to a block of the finest level, and blocks to one of the next. */
const FIRST = 16;
const NEXT = 8;

interface Level {
  readonly size: number;
  readonly low: Float32Array;
  readonly high: Float32Array;
  /** 1 where the least comes before the greatest. */
  readonly lowFirst: Uint8Array;
}

/** Told of the points of a curve, and of the breaks in it. */
export interface CurvePath {
  point(x: number, value: number): void;
  gap(): void;
}

/** A long curve that can be drawn at any zoom from about as many points as there are pixels: least and greatest of ever larger blocks. */
export class CurvePyramid {
  readonly #timeS: Float64Array;
  readonly #value: ArrayLike<number>;
  readonly #levels: readonly Level[];
  /** Rows before which there was silence. */
  readonly #breaks: readonly number[];
  readonly least: number;
  readonly greatest: number;

  constructor(timeS: Float64Array, value: ArrayLike<number>, maxGapS: number) {
    this.#timeS = timeS;
    this.#value = value;
    const n = timeS.length;
    const breaks: number[] = [];
    for (let i = 1; i < n; i++) if ((timeS[i] as number) - (timeS[i - 1] as number) > maxGapS) breaks.push(i);
    this.#breaks = breaks;
    const levels: Level[] = [];
    for (let size = FIRST; size < n; size *= NEXT) levels.push(levelOf(value, n, size));
    this.#levels = levels;
    let [least, greatest] = [Infinity, -Infinity];
    for (let i = 0; i < n; i++) {
      const v = value[i] as number;
      if (v < least) least = v;
      if (v > greatest) greatest = v;
    }
    this.least = least;
    this.greatest = greatest;
  }

  /** Whether there is anything to draw. */
  get empty(): boolean {
    return !(this.greatest >= this.least);
  }

  /** The curve between two times, at most some four points a pixel, no spike lost. */
  trace(startS: number, endS: number, pixels: number, xOf: (timeS: number) => number, path: CurvePath): void {
    const timeS = this.#timeS;
    const n = timeS.length;
    const rowStart = Math.max(0, rowAt(timeS, startS) - 1);
    const rowEnd = Math.min(n, rowAt(timeS, endS) + 1);
    let level: Level | null = null;
    for (const one of this.#levels) if ((rowEnd - rowStart) / one.size >= 2 * pixels) level = one;
    const size = level?.size ?? 1;
    let nextBreak = rowAt(this.#breaks, rowStart + 1);
    let column = NaN;
    let x = NaN;
    let [low, high, lowFirst] = [NaN, NaN, true];
    const flush = () => {
      if (Number.isNaN(low)) return;
      if (low === high) path.point(x, low);
      else {
        path.point(x, lowFirst ? low : high);
        path.point(x, lowFirst ? high : low);
      }
      low = NaN;
    };
    for (let block = Math.floor(rowStart / size); block * size < rowEnd; block++) {
      const row = block * size;
      const last = Math.min(n, row + size);
      if (nextBreak < this.#breaks.length && (this.#breaks[nextBreak] as number) < last) {
        flush();
        path.gap();
        column = NaN;
        while (nextBreak < this.#breaks.length && (this.#breaks[nextBreak] as number) < last) nextBreak++;
      }
      const blockLow = level === null ? (this.#value[row] as number) : (level.low[block] as number);
      if (!(blockLow === blockLow)) continue;
      const blockHigh = level === null ? blockLow : (level.high[block] as number);
      const at = xOf(timeS[Math.min(last - 1, row + (size >> 1))] as number);
      if (Math.floor(at) !== column) {
        flush();
        column = Math.floor(at);
      }
      x = at;
      if (Number.isNaN(low)) {
        low = blockLow;
        high = blockHigh;
        lowFirst = level === null || level.lowFirst[block] === 1;
      } else {
        if (blockLow < low) {
          low = blockLow;
          lowFirst = false;
        }
        if (blockHigh > high) {
          high = blockHigh;
          lowFirst = true;
        }
      }
    }
    flush();
  }
}

function levelOf(value: ArrayLike<number>, n: number, size: number): Level {
  const blocks = Math.ceil(n / size);
  const low = new Float32Array(blocks).fill(NaN);
  const high = new Float32Array(blocks).fill(NaN);
  const lowFirst = new Uint8Array(blocks);
  for (let block = 0; block < blocks; block++) {
    let [least, greatest, lowAt, highAt] = [Infinity, -Infinity, -1, -1];
    const end = Math.min(n, (block + 1) * size);
    for (let i = block * size; i < end; i++) {
      const v = value[i] as number;
      if (v < least) {
        least = v;
        lowAt = i;
      }
      if (v > greatest) {
        greatest = v;
        highAt = i;
      }
    }
    if (lowAt < 0) continue;
    low[block] = least;
    high[block] = greatest;
    lowFirst[block] = Number(lowAt <= highAt);
  }
  return { size, low, high, lowFirst };
}
