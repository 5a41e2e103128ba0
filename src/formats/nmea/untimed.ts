import { grown } from '../log-columns.js';
import type { EpochTimeline } from './epochs.js';
import { EPOCH } from './epochs.js';

/** Values of one kind that came without a time of their own, in the order of the log, waiting for the epochs around them. */
export class UntimedRows {
  n = 0;
  value = new Float64Array(32);
  /** DPT's offset where the rows are depths. */
  extra = new Float32Array(32);
  line = new Uint32Array(32);
  /** Number of epochs that had been opened. */
  epoch = new Uint32Array(32);
  stampS = new Float64Array(32);
  /** Seconds between rows and place of the first one in its interval, from the last interval with rows; NaN before. */
  stepS = NaN;
  phase = 0.5;

  add(value: number, extra: number, line: number, epoch: number, stampS: number): void {
    if (this.n === this.value.length) {
      const capacity = this.n * 2;
      this.value = grown(this.value, capacity);
      this.extra = grown(this.extra, capacity);
      this.line = grown(this.line, capacity);
      this.epoch = grown(this.epoch, capacity);
      this.stampS = grown(this.stampS, capacity);
    }
    const i = this.n++;
    this.value[i] = value;
    this.extra[i] = extra;
    this.line[i] = line;
    this.epoch[i] = epoch;
    this.stampS[i] = stampS;
  }

  drop(count: number): void {
    const n = this.n;
    this.value.copyWithin(0, count, n);
    this.extra.copyWithin(0, count, n);
    this.line.copyWithin(0, count, n);
    this.epoch.copyWithin(0, count, n);
    this.stampS.copyWithin(0, count, n);
    this.n = n - count;
  }
}

/** A stamp that puts a record further than this outside its epochs is not believed [s]. */
const STAMP_SLACK_S = 5;
/** Epochs in the running median of the difference between GNSS time and stamps. */
const OFFSET_WINDOW = 31;
/** A run of backward epochs up to this long is a slip of the clock sentence alone; what stands between is kept. */
const SLIP_EPOCHS = 2;

/** The good epochs of a block, and for every epoch of it which of them it belongs to. */
export class EpochFrame {
  /** Good epochs. */
  readonly count: number;
  readonly timeS: Float64Array;
  readonly lineEnd: Uint32Array;
  /** GNSS time less stamp, running median; NaN where there are no stamps. Shape [count]. */
  readonly offsetS: Float64Array;
  /** For every closed epoch the last good one at or before it, -1 where none. Null: all are good. */
  private readonly lastGood: Int32Array | null = null;
  /** 1 where records after that epoch are to be dropped. */
  private readonly dropped: Uint8Array | null = null;
  private readonly firstIndex: number;

  constructor(timeline: EpochTimeline, stamped: boolean) {
    this.firstIndex = timeline.firstIndex;
    const n = timeline.n;
    if (!timeline.anyBad) {
      this.count = n;
      this.timeS = timeline.timeS;
      this.lineEnd = timeline.lineEnd;
      this.offsetS = stamped ? runningOffset(timeline.timeS, timeline.stampS, n) : new Float64Array(0);
      return;
    }
    const lastGood = new Int32Array(n);
    const dropped = new Uint8Array(n);
    const timeS = new Float64Array(n);
    const stampS = new Float64Array(n);
    const lineEnd = new Uint32Array(n);
    let good = 0;
    let run = 0;
    for (let i = 0; i <= n; i++) {
      const backwards = i < n && timeline.status[i] === EPOCH.backwards;
      if (backwards) run++;
      else if (run > 0 && (i === n || timeline.status[i] === EPOCH.good)) {
        if (run > SLIP_EPOCHS) dropped.fill(1, i - run, i);
        run = 0;
      }
      if (i === n) break;
      if (timeline.status[i] === EPOCH.good) {
        timeS[good] = timeline.timeS[i] as number;
        stampS[good] = timeline.stampS[i] as number;
        lineEnd[good] = timeline.lineEnd[i] as number;
        good++;
      }
      lastGood[i] = good - 1;
    }
    this.count = good;
    this.timeS = timeS;
    this.lineEnd = lineEnd;
    this.offsetS = stamped ? runningOffset(timeS, stampS, good) : new Float64Array(0);
    this.lastGood = lastGood;
    this.dropped = dropped;
  }

  /** The good epoch that a record tagged `epoch` follows; -1 where none. */
  goodBefore(epoch: number): number {
    const i = epoch - 1 - this.firstIndex;
    if (i < 0) return -1;
    if (this.lastGood === null) return Math.min(i, this.count - 1);
    return this.lastGood[Math.min(i, this.lastGood.length - 1)] as number;
  }

  isDropped(epoch: number): boolean {
    const i = epoch - 1 - this.firstIndex;
    return this.dropped !== null && i >= 0 && this.dropped[Math.min(i, this.dropped.length - 1)] === 1;
  }
}

/**
 * Times of untimed records, from the epochs around them.
 *
 * - Where the lines carry stamps finer than a second: stamp + offset, the offset being the running median (31 epochs) of
 *   GNSS time less the stamp of the first sentence of that epoch. A record that arrives with a position gets its time: the
 *   receiver's own delay (commonly 0.05 to 0.2 s) is taken for the logger's clock, and belongs into the sounder's latency.
 * - Else by order: of the m records of one kind between epoch k and k+1, number j is placed at t_k + (j + f) (t_{k+1} - t_k) / m,
 *   where f is 0 if the first of them stands among the sentences of epoch k (it came with them) and 1/2 otherwise
 *   (least largest error). Records at ten a second between positions of one a second come out evenly spaced.
 * - Before the first and after the last epoch the spacing of the nearest interval goes on.
 *
 * @param count rows to place, from the first
 * @param atEnd whether the last epoch is the log's last
 * @param out receives times [count]; NaN where none can be found, -Infinity where the clock ran backwards
 */
export function placeUntimed(rows: UntimedRows, count: number, frame: EpochFrame, stampsFine: boolean, atEnd: boolean, out: Float64Array): void {
  const { epoch, line, stampS } = rows;
  const stamped = stampsFine && frame.offsetS.length > 0;
  let headEnd = 0;
  let i = 0;
  while (i < count) {
    const k = frame.goodBefore(epoch[i] as number);
    let m = i + 1;
    while (m < count && frame.goodBefore(epoch[m] as number) === k) m++;
    if (k < 0) {
      headEnd = m;
    } else {
      const startS = frame.timeS[k] as number;
      const phase = (line[i] as number) < (frame.lineEnd[k] as number) ? 0 : 0.5;
      if (k + 1 < frame.count) {
        const stepS = ((frame.timeS[k + 1] as number) - startS) / (m - i);
        // Where the clock was set back there is no interval: go on from the epoch with the spacing that was.
        if (stepS > 0) {
          rows.stepS = stepS;
          rows.phase = phase;
        }
      }
      const stepS = rows.stepS;
      if (stepS === stepS) for (let j = i; j < m; j++) out[j] = startS + (j - i + phase) * stepS;
      else if (atEnd && m - i === 1) out[i] = startS;
      else out.fill(NaN, i, m);
      if (headEnd > 0 && i === headEnd) placeHead(rows, headEnd, startS, out);
    }
    i = m;
  }
  if (headEnd > 0 && headEnd === count) placeHead(rows, headEnd, frame.count > 0 ? (frame.timeS[0] as number) : NaN, out);
  if (stamped) useStamps(rows, count, frame, out);
  for (i = 0; i < count; i++) if (frame.isDropped(epoch[i] as number)) out[i] = -Infinity;

  function placeHead(of: UntimedRows, end: number, firstS: number, times: Float64Array): void {
    for (let j = 0; j < end; j++) times[j] = firstS - (end - j - of.phase) * of.stepS;
  }

  function useStamps(of: UntimedRows, end: number, within: EpochFrame, times: Float64Array): void {
    for (let j = 0; j < end; j++) {
      const stamp = stampS[j] as number;
      if (stamp !== stamp) continue;
      const k = within.goodBefore(of.epoch[j] as number);
      const t = stamp + (within.offsetS[Math.max(k, 0)] as number);
      const from = k >= 0 ? (within.timeS[k] as number) - STAMP_SLACK_S : -Infinity;
      const to = k + 1 < within.count ? (within.timeS[k + 1] as number) + STAMP_SLACK_S : Infinity;
      if (t >= from && t <= to) times[j] = t;
    }
  }
}

/**
 * Times of records in a log (or a stretch of one) without any epoch, from stamps alone, taken as UTC.
 * Equal stamps of a whole second are spread over that second in order.
 * @param out receives times [count]; NaN where a record has no stamp
 */
export function placeByStamps(rows: UntimedRows, count: number, stampsFine: boolean, out: Float64Array): void {
  const { stampS } = rows;
  for (let i = 0; i < count; ) {
    const stamp = stampS[i] as number;
    let m = i + 1;
    if (!stampsFine) while (m < count && stampS[m] === stamp) m++;
    for (let j = i; j < m; j++) out[j] = stamp + (j - i) / (m - i);
    i = m;
  }
}

/** Running median over OFFSET_WINDOW epochs of time less stamp; epochs without stamp take their neighbours'. */
function runningOffset(timeS: Float64Array, stampS: Float64Array, n: number): Float64Array {
  const out = new Float64Array(n);
  const half = OFFSET_WINDOW >> 1;
  // The window in order: each step takes one offset out and puts one in.
  const window = new Float64Array(OFFSET_WINDOW + 1);
  let held = 0;
  const offsetOf = (i: number): number => (timeS[i] as number) - (stampS[i] as number);
  const placeOf = (offset: number): number => {
    let at = 0;
    while (at < held && window[at]! < offset) at++;
    return at;
  };
  const put = (offset: number): void => {
    if (offset !== offset) return;
    const at = placeOf(offset);
    window.copyWithin(at + 1, at, held);
    window[at] = offset;
    held++;
  };
  for (let j = 0; j < Math.min(half, n); j++) put(offsetOf(j));
  for (let i = 0; i < n; i++) {
    if (i + half < n) put(offsetOf(i + half));
    const gone = i - half - 1 >= 0 ? offsetOf(i - half - 1) : NaN;
    if (gone === gone) {
      const at = placeOf(gone);
      window.copyWithin(at, at + 1, held);
      held--;
    }
    const middle = held >> 1;
    out[i] = held === 0 ? NaN : held % 2 === 1 ? window[middle]! : (window[middle - 1]! + window[middle]!) / 2;
  }
  return out;
}
