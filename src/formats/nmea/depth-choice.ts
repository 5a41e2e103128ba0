import { DEPTH_FROM } from '../../base/observations.js';
import { PingRows } from '../log-columns.js';
import type { UntimedRows } from './untimed.js';

/** In the order of preference: where a log has several kinds for the same ping, the first is used. */
export const DEPTH_KINDS = ['DPT', 'DBT', 'DBS', 'DBK'] as const;

/** A depth of another source is used where those preferred to it have been silent for this long [s]. */
export const SILENCE_S = 10;

/** Depths of one source with their times. */
export interface PlacedDepths {
  /** Place in DEPTH_KINDS times 65536, plus the two letters of the talker. */
  readonly source: number;
  readonly rows: UntimedRows;
  /** Of the first rows. */
  readonly timeS: Float64Array;
}

/**
 * Which of the depth sentences of a log are pings.
 *
 * A sounder often sends the same ping as DPT, DBT and more, and a multiplexer repeats it under its own name. One kind and talker
 * is chosen, the first of DPT, DBT, DBS, DBK that the first part of the log has, of its talkers the most frequent. The others are
 * copies and are only counted, except more than 10 s from any depth of those preferred to them.
 */
export class DepthChoice {
  /** The chosen source; -1 while there was none. */
  chosen = -1;
  copies = 0;
  substitutes = 0;
  private readonly lastKeptS = new Map<number, number>();

  /**
   * Puts the pings among the depths of a block into `out`, in the order of the log.
   * @param accept tells whether a row's time is one, and counts why not
   */
  take(placed: readonly PlacedDepths[], accept: (timeS: number, line: number) => boolean, out: PingRows): void {
    const some = placed.filter(({ timeS }) => timeS.length > 0);
    if (some.length === 0) return;
    if (this.chosen < 0) this.chosen = choose(some);
    some.sort((a, b) => this.rank(a.source) - this.rank(b.source));
    const lastBlock = new Map(this.lastKeptS);
    for (const depths of some) {
      if (depths.source === this.chosen) {
        this.takeAll(depths, accept, out);
        continue;
      }
      let lastS = -Infinity;
      for (const [other, t] of lastBlock) if (this.rank(other) < this.rank(depths.source)) lastS = Math.max(lastS, t);
      this.takeWhereSilent(depths, accept, lastS, out);
    }
  }

  private rank(source: number): number {
    return source === this.chosen ? -1 : source;
  }

  private takeAll(depths: PlacedDepths, accept: (timeS: number, line: number) => boolean, out: PingRows): void {
    const { source, rows, timeS } = depths;
    const from = fromOf(source);
    out.reserve(timeS.length);
    for (let i = 0; i < timeS.length; i++) {
      const t = timeS[i] as number;
      const line = rows.line[i] as number;
      if (!(t > -Infinity) && !accept(t, line)) continue;
      out.add(t, rows.value[i] as number, rows.extra[i] as number, from, line);
    }
    if (out.n > 0) this.lastKeptS.set(source, out.timeS[out.n - 1] as number);
  }

  private takeWhereSilent(depths: PlacedDepths, accept: (timeS: number, line: number) => boolean, lastS: number, out: PingRows): void {
    const { source, rows, timeS } = depths;
    const from = fromOf(source);
    const extra = new PingRows();
    let next = 0;
    for (let i = 0; i < timeS.length; i++) {
      const t = timeS[i] as number;
      while (next < out.n && !((out.timeS[next] as number) > t)) next++;
      const previousS = next > 0 ? (out.timeS[next - 1] as number) : lastS;
      const nextS = next < out.n ? (out.timeS[next] as number) : Infinity;
      if (!(t - previousS > SILENCE_S && nextS - t > SILENCE_S)) {
        this.copies++;
        continue;
      }
      const line = rows.line[i] as number;
      if (!accept(t, line)) continue;
      this.substitutes++;
      extra.add(t, rows.value[i] as number, rows.extra[i] as number, from, line);
    }
    if (extra.n === 0) return;
    this.lastKeptS.set(source, extra.timeS[extra.n - 1] as number);
    mergeByRecord(out, extra);
  }
}

function fromOf(source: number): number {
  const kind = source >> 16;
  return kind === 2 ? DEPTH_FROM.surface : kind === 3 ? DEPTH_FROM.keel : DEPTH_FROM.transducer;
}

function choose(placed: readonly PlacedDepths[]): number {
  let best = placed[0] as PlacedDepths;
  for (const other of placed) {
    const kinds = (other.source >> 16) - (best.source >> 16);
    if (kinds < 0 || (kinds === 0 && other.timeS.length > best.timeS.length)) best = other;
  }
  return best.source;
}

/** Puts the rows of `extra` among those of `out`, by line. */
function mergeByRecord(out: PingRows, extra: PingRows): void {
  const a = out.take();
  const b = extra.take();
  let i = 0;
  let j = 0;
  while (i < a.n || j < b.n) {
    const fromA = j >= b.n || (i < a.n && (a.record[i] as number) <= (b.record[j] as number));
    const source = fromA ? a : b;
    const k = fromA ? i++ : j++;
    out.add(source.timeS[k] as number, source.depthM[k] as number, source.offsetM[k] as number, source.from[k] as number, source.record[k] as number);
  }
}
