import type { PingColumns, SeriesColumns, SeriesName } from '../../base/observations.js';
import { DEPTH_FROM } from '../../base/observations.js';
import type { ObservationChunk } from '../log-columns.js';
import { FixRows, PingRows } from '../log-columns.js';
import type { LogTally } from '../log-tally.js';
import { EPOCH, EpochTimeline } from './epochs.js';
import { dayNumber } from './fields.js';
import { DEPTH_KINDS, SentenceDecoder } from './sentence-decoder.js';
import { LOOKAHEAD, SentenceScanner } from './sentence-scanner.js';
import { STAMP } from './stamps.js';
import type { UntimedRows } from './untimed.js';
import { EpochFrame, placeByStamps, placeUntimed } from './untimed.js';

/** Rows held back at most while no date has come, or while no clock runs. */
const HELD_ROWS = 262_144;
const DAY_S = 86_400;
/** A depth of another kind is used where the preferred kind has been silent for this long [s]. */
const SILENCE_S = 10;

export interface NmeaLogOptions {
  /** UTC date of the first record, for logs that carry none; `YYYY-MM-DD`. */
  readonly noDate: string | null;
  /** Rows in a chunk, about. */
  readonly chunkRows: number;
}

/**
 * Reads an NMEA 0183 log given in pieces of any size; chunks come out in `ready`.
 *
 * What is said of time: see EpochTimeline (clock, dates, clock running backwards) and placeUntimed (records without time).
 * Depths: of DPT, DBT, DBS and DBK, and of several talkers, one kind and talker is used, the first of DPT, DBT, DBS, DBK
 * that the first part of the log has; the others are copies of the same ping and are only counted, except where
 * the chosen one is silent for more than 10 s.
 */
export class NmeaLog {
  /** Chunks done; the caller takes them out. */
  readonly ready: ObservationChunk[] = [];
  private readonly timeline: EpochTimeline;
  private readonly decoder: SentenceDecoder;
  private readonly scanner: SentenceScanner;
  private buffer = new Uint8Array(1 << 16);
  private held = 0;
  private readonly fixes = new FixRows();
  private readonly pings = new PingRows();
  private times = new Float64Array(1024);
  private depthSource = -1;
  private lastChosenS = -Infinity;
  private copies = 0;
  private substitutes = 0;
  private placedByOrder = 0;
  private widestS = 0;
  private byStampsOnly = false;

  constructor(
    private readonly tally: LogTally,
    private readonly options: NmeaLogOptions,
  ) {
    this.timeline = new EpochTimeline(tally, (good) => {
      if (good) this.maybeFlush();
    });
    this.decoder = new SentenceDecoder(tally, this.timeline, () => {
      if (this.decoder.rows >= HELD_ROWS) this.flushHeld();
    });
    this.scanner = new SentenceScanner(tally, this.decoder);
  }

  /** Sentences so far whose checksum is right, or that have none but are of a type that is read. */
  get sentences(): number {
    return this.decoder.sentences;
  }

  feed(piece: Uint8Array): void {
    const needed = this.held + piece.length + 1;
    if (needed > this.buffer.length) {
      const larger = new Uint8Array(needed + LOOKAHEAD);
      larger.set(this.buffer.subarray(0, this.held));
      this.buffer = larger;
    }
    this.buffer.set(piece, this.held);
    const end = this.held + piece.length;
    const at = this.scanner.scan(this.buffer, 0, end - LOOKAHEAD, end);
    this.buffer.copyWithin(0, at, end);
    this.held = end - at;
  }

  finish(): void {
    this.scanner.scan(this.buffer, 0, this.held, this.held);
    this.held = 0;
    this.scanner.finish();
    this.timeline.finish();
    this.flush(true);
    this.tally.lines = this.scanner.line;
    this.decoder.countTypes();
    this.addNotes();
  }

  private get rows(): number {
    return this.timeline.n + this.decoder.rows;
  }

  private maybeFlush(): void {
    if (this.rows < this.options.chunkRows) return;
    if (!this.timeline.dated && this.rows < HELD_ROWS) return;
    this.flush(false);
  }

  /** Everything up to the last good epoch goes out; at the end, all of it. */
  private flush(atEnd: boolean): void {
    const { timeline, decoder } = this;
    if (!timeline.dated && timeline.n > 0) this.findDate();
    const frame = new EpochFrame(timeline, this.scanner.stamped > 0);
    if (frame.count === 0) {
      if (atEnd) this.flushUnclocked();
      return;
    }
    const last = timeline.n - 1;
    const lastTag = timeline.firstIndex + timeline.n; // tag of records after the last closed epoch
    const series: Partial<Record<SeriesName, SeriesColumns>> = {};
    this.emitFixes(atEnd ? timeline.n : last);
    const count = atEnd ? decoder.pings.n : countBefore(decoder.pings, lastTag);
    this.place(decoder.pings, count, frame, atEnd);
    this.emitPings(count);
    decoder.rows -= count;
    for (const [name, rows] of decoder.seriesRows) {
      const n = atEnd ? rows.n : countBefore(rows, lastTag);
      if (n === 0) continue;
      this.place(rows, n, frame, atEnd);
      const columns = this.takeSeries(rows, n);
      decoder.rows -= n;
      if (columns.n > 0) series[name] = columns;
    }
    if (!atEnd) timeline.drop(last);
    this.emit(series);
  }

  /** Too many rows wait for an epoch: those that have a stamp take it, the others are given up. */
  private flushHeld(): void {
    if (this.timeline.n > 1) this.flush(false);
    if (this.decoder.rows >= HELD_ROWS / 2) this.flushUnclocked();
  }

  /** Rows without any epoch to hang on: by stamps, or not at all. */
  private flushUnclocked(): void {
    const { decoder, scanner } = this;
    let shiftS = 0;
    if (scanner.stamped > 0) {
      this.byStampsOnly = true;
      if (scanner.stampKind !== STAMP.absolute) shiftS = this.noDateS();
    }
    const series: Partial<Record<SeriesName, SeriesColumns>> = {};
    const placed = (rows: UntimedRows): number => {
      const n = rows.n;
      this.room(n);
      placeByStamps(rows, n, scanner.stampsFine, this.times);
      for (let i = 0; i < n; i++) this.times[i] = (this.times[i] as number) + shiftS;
      decoder.rows -= n;
      return n;
    };
    if (decoder.pings.n > 0) this.emitPings(placed(decoder.pings));
    for (const [name, rows] of decoder.seriesRows) {
      if (rows.n === 0) continue;
      const columns = this.takeSeries(rows, placed(rows));
      if (columns.n > 0) series[name] = columns;
    }
    this.emit(series);
  }

  private emit(series: Partial<Record<SeriesName, SeriesColumns>>): void {
    const chunk: { fixes?: ReturnType<FixRows['take']>; pings?: PingColumns; series?: typeof series } = {};
    if (this.fixes.n > 0) chunk.fixes = this.fixes.take();
    if (this.pings.n > 0) chunk.pings = this.pings.take();
    if (Object.keys(series).length > 0) chunk.series = series;
    if (Object.keys(chunk).length > 0) this.ready.push(chunk);
  }

  private emitFixes(count: number): void {
    const t = this.timeline;
    const out = this.fixes;
    for (let i = 0; i < count; i++) {
      const lat = t.latDeg[i] as number;
      if (t.status[i] !== EPOCH.good || lat !== lat) continue;
      const k = out.add(t.timeS[i] as number, lat, t.lonDeg[i] as number, t.record[i] as number);
      out.heightM[k] = t.heightM[i] as number;
      out.geoidM[k] = t.geoidM[i] as number;
      out.quality[k] = t.quality[i] as number;
      out.satellites[k] = t.satellites[i] as number;
      out.hdop[k] = t.hdop[i] as number;
      out.sigmaM[k] = t.sigmaM[i] as number;
      out.courseDeg[k] = t.courseDeg[i] as number;
      out.speedMps[k] = t.speedMps[i] as number;
    }
  }

  private room(count: number): void {
    if (this.times.length < count) this.times = new Float64Array(count * 2);
  }

  private place(rows: UntimedRows, count: number, frame: EpochFrame, atEnd: boolean): void {
    this.room(count);
    placeUntimed(rows, count, frame, this.scanner.stampsFine, atEnd, this.times);
    if (!this.scanner.stampsFine && count > 0) {
      this.placedByOrder += count;
      for (let k = 1; k < frame.count; k++) {
        const gapS = (frame.timeS[k] as number) - (frame.timeS[k - 1] as number);
        if (gapS > this.widestS) this.widestS = gapS;
      }
    }
  }

  /** Gives a row's time, or counts why it has none. */
  private timeAt(i: number, line: number): number {
    const t = this.times[i] as number;
    if (t > -Infinity) return t;
    this.tally.reject(t === -Infinity ? 'time-backwards' : 'no-time', line);
    return NaN;
  }

  private takeSeries(rows: UntimedRows, count: number): SeriesColumns {
    const timeS = new Float64Array(count);
    const value = new Float64Array(count);
    const record = new Uint32Array(count);
    let n = 0;
    for (let i = 0; i < count; i++) {
      const t = this.timeAt(i, rows.line[i] as number);
      if (t !== t) continue;
      timeS[n] = t;
      value[n] = rows.value[i] as number;
      record[n] = rows.line[i] as number;
      n++;
    }
    rows.drop(count);
    if (n === count) return { n, timeS, value, record };
    return { n, timeS: timeS.slice(0, n), value: value.slice(0, n), record: record.slice(0, n) };
  }

  private emitPings(count: number): void {
    const rows = this.decoder.pings;
    if (count === 0) return;
    if (this.depthSource < 0) this.depthSource = chooseDepthSource(rows, count);
    const chosen = this.depthSource;
    let next = -1; // the next row of the chosen source
    for (let i = 0; i < count; i++) {
      const source = rows.source[i] as number;
      if (source !== chosen) {
        const t0 = this.times[i] as number;
        if (next < i) for (next = i + 1; next < count && rows.source[next] !== chosen; ) next++;
        const nextS = next < count ? (this.times[next] as number) : Infinity;
        if (!(t0 - this.lastChosenS > SILENCE_S && nextS - t0 > SILENCE_S)) {
          this.copies++;
          continue;
        }
        this.substitutes++;
      }
      const t = this.timeAt(i, rows.line[i] as number);
      if (t !== t) continue;
      if (source === chosen) this.lastChosenS = t;
      const kind = source >> 16;
      const from = kind === 2 ? DEPTH_FROM.surface : kind === 3 ? DEPTH_FROM.keel : DEPTH_FROM.transducer;
      this.pings.add(t, rows.value[i] as number, rows.extra[i] as number, from, rows.line[i] as number);
    }
    rows.drop(count);
  }

  private noDateS(): number {
    const { noDate } = this.options;
    if (noDate === null) {
      this.tally.note('the log has times but no date: 1970-01-01 is used; give the date of its first record');
      return 0;
    }
    this.tally.note(`the log has times but no date: ${noDate} is used for its first record, as given`);
    return dayNumber(Number(noDate.slice(0, 4)), Number(noDate.slice(5, 7)), Number(noDate.slice(8, 10))) * DAY_S;
  }

  /** No sentence gave a date: that of the stamps, else the one given, else 1970-01-01. */
  private findDate(): void {
    const { timeline } = this;
    if (this.scanner.stamped > 0 && this.scanner.stampKind === STAMP.absolute) {
      const offsets: number[] = [];
      for (let i = 0; i < timeline.n; i++) {
        const offset = (timeline.stampS[i] as number) - (timeline.timeS[i] as number);
        if (offset === offset) offsets.push(offset);
      }
      if (offsets.length > 0) {
        offsets.sort((a, b) => a - b);
        timeline.shift(Math.round((offsets[offsets.length >> 1] as number) / DAY_S) * DAY_S);
        timeline.giveUpDate();
        this.tally.note('the date is that of the stamps before the sentences; the log itself has none');
        return;
      }
    }
    timeline.shift(this.noDateS());
    timeline.giveUpDate();
  }

  private addNotes(): void {
    const { tally, decoder, scanner } = this;
    if (decoder.unchecked > 0) tally.note(`${decoder.unchecked} sentences have no checksum: they are used unchecked`);
    if (decoder.repeatedPositions > 0) {
      tally.note(`${decoder.repeatedPositions} positions have the same time as the one before: the first of each time is used`);
    }
    if (decoder.proprietary > 0) tally.note(`${decoder.proprietary} sentences are of manufacturers' own types: they are passed over`);
    if (this.depthSource >= 0) {
      const kind = DEPTH_KINDS[this.depthSource >> 16] as string;
      const talker = String.fromCharCode((this.depthSource >> 8) & 255, this.depthSource & 255);
      if (this.copies > 0) tally.note(`depths are taken from ${talker}${kind}; ${this.copies} of other sentences for the same pings are passed over`);
      if (this.substitutes > 0) tally.note(`${this.substitutes} depths are from other sentences than ${talker}${kind}, where that was silent for more than ${SILENCE_S} s`);
    }
    if (this.byStampsOnly) tally.note('times are those of the stamps before the sentences, taken as UTC: there is no GNSS time beside them');
    else if (scanner.stampsFine && this.timeline.opened > 0) {
      tally.note('times of depths and other values are those of the stamps before the sentences, set to GNSS time by their running median difference');
    } else if (this.placedByOrder > 0) {
      tally.note(`times of depths and other values are spread between the positions in the order of the log (longest interval ${Math.round(this.widestS * 100) / 100} s)`);
    }
  }
}

/** Rows tagged below `tag`. */
function countBefore(rows: UntimedRows, tag: number): number {
  let n = rows.n;
  while (n > 0 && (rows.epoch[n - 1] as number) >= tag) n--;
  return n;
}

/** The kind and talker to take depths from: the first kind in DEPTH_KINDS there is, and of its talkers the one with most. */
function chooseDepthSource(rows: UntimedRows, count: number): number {
  const counts = new Map<number, number>();
  for (let i = 0; i < count; i++) {
    const source = rows.source[i] as number;
    counts.set(source, (counts.get(source) ?? 0) + 1);
  }
  let best = -1;
  for (const [source, n] of counts) {
    const sameKind = best >= 0 && best >> 16 === source >> 16;
    if (best < 0 || source >> 16 < best >> 16 || (sameKind && n > (counts.get(best) as number))) best = source;
  }
  return best;
}
