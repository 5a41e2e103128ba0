import type { PingColumns, SeriesColumns, SeriesName } from '../../base/observations.js';
import type { ObservationChunk } from '../log-columns.js';
import { FixRows, PingRows } from '../log-columns.js';
import type { LogTally } from '../log-tally.js';
import type { PlacedDepths } from './depth-choice.js';
import { DEPTH_KINDS, DepthChoice, SILENCE_S } from './depth-choice.js';
import { EPOCH, EpochTimeline } from './epochs.js';
import { dayNumber } from './fields.js';
import { SentenceDecoder } from './sentence-decoder.js';
import { MarkIndex } from './mark-index.js';
import { LOOKAHEAD, SentenceScanner } from './sentence-scanner.js';
import { STAMP } from './stamps.js';
import type { UntimedRows } from './untimed.js';
import { EpochFrame, placeByStamps, placeUntimed } from './untimed.js';

/** Rows held back at most while no date has come, or while no clock runs. */
const HELD_ROWS = 262_144;
const DAY_S = 86_400;
/** Pieces from this size on are worth an index of marks [bytes]. */
const INDEX_FROM = 65_536;
const PART_BYTES = 1 << 20;

export interface NmeaLogOptions {
  /** UTC date of the first record, for logs that carry none; `YYYY-MM-DD`. */
  readonly noDate: string | null;
  /** Rows in a chunk, about. */
  readonly chunkRows: number;
  /** Do without the index of marks, as on a machine without vectors; for tests. */
  readonly plain?: boolean;
}

/**
 * Reads an NMEA 0183 log given in pieces of any size; chunks come out in `ready`.
 *
 * What is said of time: see EpochTimeline (clock, dates, clock running backwards) and placeUntimed (records without time).
 * Which depth sentences are pings: see DepthChoice.
 */
export class NmeaLog {
  /** Chunks done; the caller takes them out. */
  readonly ready: ObservationChunk[] = [];
  private readonly timeline: EpochTimeline;
  private readonly decoder: SentenceDecoder;
  private readonly scanner: SentenceScanner;
  private buffer: Uint8Array = new Uint8Array(0);
  private index: MarkIndex | null = null;
  private held = 0;
  private readonly fixes = new FixRows();
  private readonly pings = new PingRows();
  private times = new Float64Array(64);
  private readonly depths = new DepthChoice();
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
    if (this.index === null && piece.length >= INDEX_FROM) this.startIndex();
    if (this.index === null) this.feedPart(piece);
    else for (let at = 0; at < piece.length; at += PART_BYTES) this.feedPart(piece.subarray(at, at + PART_BYTES));
  }

  /** From the first long piece on, marks are found sixteen bytes at a time where the machine can. */
  private startIndex(): void {
    const index = this.options.plain === true ? null : MarkIndex.create(PART_BYTES + 2 * LOOKAHEAD);
    if (index === null) return;
    index.bytes.set(this.buffer.subarray(0, this.held));
    this.buffer = index.bytes;
    this.index = index;
  }

  private feedPart(part: Uint8Array): void {
    const needed = this.held + part.length + 1;
    if (needed > this.buffer.length) {
      const larger = new Uint8Array(needed + LOOKAHEAD);
      larger.set(this.buffer.subarray(0, this.held));
      this.buffer = larger;
    }
    this.buffer.set(part, this.held);
    const end = this.held + part.length;
    const at = this.scanner.scan(this.buffer, 0, end - LOOKAHEAD, end, this.index);
    this.buffer.copyWithin(0, at, end);
    this.held = end - at;
  }

  finish(): void {
    if (this.held > 0) this.scanner.scan(this.buffer, 0, this.held, this.held, this.index);
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
    this.emitDepths((rows) => {
      const count = atEnd ? rows.n : countBefore(rows, lastTag);
      this.place(rows, count, frame, atEnd);
      return count;
    });
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
      return n;
    };
    this.emitDepths(placed);
    for (const [name, rows] of decoder.seriesRows) {
      if (rows.n === 0) continue;
      const n = placed(rows);
      const columns = this.takeSeries(rows, n);
      decoder.rows -= n;
      if (columns.n > 0) series[name] = columns;
    }
    this.emit(series);
  }

  /** @param place puts the times of the first rows into `times` and tells how many they are */
  private emitDepths(place: (rows: UntimedRows) => number): void {
    const { decoder } = this;
    const placed: PlacedDepths[] = [];
    for (const [source, rows] of decoder.depths) {
      const count = rows.n === 0 ? 0 : place(rows);
      placed.push({ source, rows, timeS: decoder.depths.size === 1 ? this.times.subarray(0, count) : this.times.slice(0, count) });
    }
    this.depths.take(placed, (t, line) => this.accept(t, line), this.pings);
    for (const { rows, timeS } of placed) {
      decoder.rows -= timeS.length;
      rows.drop(timeS.length);
    }
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

  /** Whether a row's time is one; counts why not. */
  private accept(t: number, line: number): boolean {
    if (t > -Infinity) return true;
    this.tally.reject(t === -Infinity ? 'time-backwards' : 'no-time', line);
    return false;
  }

  private takeSeries(rows: UntimedRows, count: number): SeriesColumns {
    const timeS = new Float64Array(count);
    const value = new Float64Array(count);
    const record = new Uint32Array(count);
    let n = 0;
    for (let i = 0; i < count; i++) {
      const t = this.times[i] as number;
      if (!this.accept(t, rows.line[i] as number)) continue;
      timeS[n] = t;
      value[n] = rows.value[i] as number;
      record[n] = rows.line[i] as number;
      n++;
    }
    rows.drop(count);
    if (n === count) return { n, timeS, value, record };
    return { n, timeS: timeS.slice(0, n), value: value.slice(0, n), record: record.slice(0, n) };
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
    const { chosen, copies, substitutes } = this.depths;
    if (chosen >= 0) {
      const name = `${String.fromCharCode((chosen >> 8) & 255, chosen & 255)}${DEPTH_KINDS[chosen >> 16]}`;
      if (copies > 0) tally.note(`depths are taken from ${name}; ${copies} of other sentences for the same pings are passed over`);
      if (substitutes > 0) tally.note(`${substitutes} depths are from other sentences than ${name}, where that was silent for more than ${SILENCE_S} s`);
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
