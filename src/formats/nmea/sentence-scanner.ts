import type { LogTally } from '../log-tally.js';
import { hexDigit } from './fields.js';
import type { MarkIndex } from './mark-index.js';
import { STAMP, StampReader } from './stamps.js';

/** A sentence longer than this is noise (IEC 61162-1 allows 82 characters; real talkers exceed it). */
const MAX_SENTENCE = 1024;
const MAX_STAMP = 96;
const MAX_TAG = 512;

/** No decision of the scanner looks further ahead than this many bytes. */
export const LOOKAHEAD = 4096;

const CR = 13;
const LF = 10;
const DOLLAR = 36;
const BANG = 33;
const STAR = 42;
const COMMA = 44;
const BACKSLASH = 92;
const HASH = 35;

/** Whoever takes the sentences. All numbers refer to the scanner's `bytes`. */
export interface SentenceTaker {
  /** One whole sentence. Its address is bytes [addressStart, commas[first]); field k (1-based) is between `commas[first + k - 1]` and `commas[first + k]`. */
  sentence(scanner: SentenceScanner): void;
}

/**
 * Finds sentences in the bytes of a log: one pass that looks for `$` or `!`, XORs up to `*` and notes the commas.
 *
 * Between sentences anything may stand: line ends of any kind, stamps, TAG blocks, noise. A `$` or `!` inside a sentence
 * ends it (it was cut short) and starts the next. Works on any division of the bytes into pieces with the same result,
 * for it never decides on more than LOOKAHEAD bytes, and the caller gives it that many except at the end.
 *
 * Source: IEC 61162-1 ed. 5 (2016) 7.1-7.3 (sentence, checksum); NMEA 0183 4.10 section 7 (TAG block).
 */
export class SentenceScanner {
  bytes: Uint8Array = new Uint8Array(0);
  /** First byte of the address, after `$` or `!`. */
  addressStart = 0;
  /** Number of commas. */
  fields = 0;
  /** Positions of the commas from `first` on, then of the end of the last field. */
  commas: Int32Array = new Int32Array(MAX_SENTENCE + 2);
  first = 0;
  /** 0-based line. */
  line = 0;
  /** Whether the sentence at hand carried a (right) checksum. */
  checked = false;
  /** Stamp before the sentence at hand [s]; NaN where there is none. */
  stampS = NaN;
  /** Kind of stamp, of STAMP. */
  stampKind: number = STAMP.none;
  /** Whether any stamp so far had a fraction of a second. */
  stampsFine = false;
  /** Lines with any stamp that could be read. */
  stamped = 0;

  private atLineStart = true;
  private afterCr = false;
  private noisyLine = -1;
  private stampDayS = 0;
  private lastStampS = NaN;
  private readonly stamps = new StampReader();
  private readonly ownCommas = this.commas;
  private index: MarkIndex | null = null;
  private mark = 0;

  constructor(
    private readonly tally: LogTally,
    private readonly taker: SentenceTaker,
  ) {}

  /**
   * Scans bytes [start, end) of `bytes`, beginning nothing at or after `limit`.
   * `bytes[end]` must exist and be free to be overwritten.
   * @param index whose `bytes` these are, where there is one: the same result, sooner
   * @returns where to go on
   */
  scan(bytes: Uint8Array, start: number, limit: number, end: number, index: MarkIndex | null = null): number {
    this.bytes = bytes;
    bytes[end] = LF;
    this.index = index;
    this.mark = 0;
    this.first = 0;
    this.commas = index === null ? this.ownCommas : index.positions;
    if (index !== null && start < limit) index.find(end + 1);
    let p = start;
    while (p < limit) {
      const c = bytes[p] as number;
      if (c === LF) {
        if (this.afterCr) this.afterCr = false;
        else this.endLine();
        p++;
      } else if (c === CR) {
        this.endLine();
        p++;
        if (bytes[p] === LF && p < end) p++;
        else this.afterCr = p === end;
      } else if (c === DOLLAR || c === BANG) {
        if (this.atLineStart) {
          this.atLineStart = false;
          this.afterCr = false;
          this.stampS = NaN;
          this.stampKind = STAMP.none;
        }
        p = this.scanSentence(bytes, p, end);
      } else if (this.atLineStart) {
        this.atLineStart = false;
        this.afterCr = false;
        this.stampS = NaN;
        this.stampKind = STAMP.none;
        p = this.scanPrefix(bytes, p, end);
      } else if (c === BACKSLASH) {
        p = this.scanTag(bytes, p, end);
      } else {
        p = this.skipNoise(bytes, p, limit);
      }
    }
    return p;
  }

  /** To be called once after the last piece: counts a last line without line end. */
  finish(): void {
    if (!this.atLineStart) this.endLine();
  }

  private endLine(): void {
    this.line++;
    this.atLineStart = true;
    this.afterCr = false;
  }

  private scanSentence(bytes: Uint8Array, start: number, end: number): number {
    const stop = Math.min(end, start + MAX_SENTENCE);
    let sum = 0;
    let n = 0;
    let q = start + 1;
    if (this.index !== null) {
      const { positions, prefix } = this.index;
      let i = this.mark;
      while ((positions[i] as number) <= start) i++;
      this.first = i;
      q = positions[i] as number;
      while (bytes[q] === COMMA) q = positions[++i] as number;
      this.mark = i;
      n = i - this.first;
      if (q > stop) q = stop;
      else sum = (prefix[q - 1] as number) ^ (prefix[start] as number);
    } else {
      const { commas } = this;
      for (; q < stop; q++) {
        const c = bytes[q] as number;
        if (c > COMMA) {
          sum ^= c;
          continue;
        }
        if (c === COMMA) commas[n++] = q;
        else if (c === STAR || c === CR || c === LF || c === DOLLAR || c === BANG) break;
        sum ^= c;
      }
      commas[n] = q;
    }
    if (q === stop && q < end) {
      this.tally.reject('too-long', this.line);
      return q;
    }
    this.addressStart = start + 1;
    this.fields = n;
    const ender = bytes[q] as number;
    if (ender === STAR && q < end) {
      const high = q + 2 < end ? hexDigit(bytes[q + 1] as number) : -1;
      const low = q + 2 < end ? hexDigit(bytes[q + 2] as number) : -1;
      if (high < 0 || low < 0) {
        this.tally.reject('cut-short', this.line);
        return q + 1;
      }
      if (((high << 4) | low) !== sum) {
        this.tally.reject('checksum', this.line);
        // A sentence that lost its end and its line end may hold the `*` of the next one only; go on right behind it.
        return q + 3;
      }
      this.checked = true;
      this.taker.sentence(this);
      return q + 3;
    }
    if (q < end && (ender === DOLLAR || ender === BANG)) {
      this.tally.reject('cut-short', this.line);
      return q;
    }
    // Line end without checksum. At the end of the file there is not even a line end: who knows what is missing.
    const printable = isPrintable(bytes, start + 1, q);
    if (n === 0 || !printable || q === end) {
      this.tally.reject(printable ? 'cut-short' : 'noise', this.line);
      return q;
    }
    this.checked = false;
    this.taker.sentence(this);
    return q;
  }

  /** What stands at the start of a line that is no sentence: a stamp, a TAG block, a comment, or noise. */
  private scanPrefix(bytes: Uint8Array, start: number, end: number): number {
    if (bytes[start] === BACKSLASH) return this.scanTag(bytes, start, end);
    if (this.line === 0 && bytes[start] === 0xef && bytes[start + 1] === 0xbb && bytes[start + 2] === 0xbf) {
      this.atLineStart = true; // byte order mark of UTF-8
      return start + 3;
    }
    const stop = Math.min(end, start + MAX_STAMP);
    let q = start;
    let blank = true;
    for (; q < stop; q++) {
      const c = bytes[q] as number;
      if (c === DOLLAR || c === BANG || c === BACKSLASH || c === CR || c === LF) break;
      if (c !== 32 && c !== 9) blank = false;
    }
    if (blank && q < stop) return q;
    const c = q < stop ? (bytes[q] as number) : 0;
    if (c === DOLLAR || c === BANG || c === BACKSLASH) {
      const value = this.stamps.read(bytes, start, q);
      if (value === value) this.setStamp(value);
      else this.noise('stamp');
      return q;
    }
    if (bytes[start] === HASH) this.noisyLine = this.line; // a comment
    this.noise('noise');
    return q;
  }

  /** A TAG block `\...*hh\`: its `c:` time becomes the stamp of the sentence after it. */
  private scanTag(bytes: Uint8Array, start: number, end: number): number {
    const stop = Math.min(end, start + MAX_TAG);
    let sum = 0;
    let star = -1;
    let q = start + 1;
    for (; q < stop; q++) {
      const c = bytes[q] as number;
      if (c === BACKSLASH || c === CR || c === LF || c === DOLLAR) break;
      if (c === STAR) star = q;
      if (star < 0) sum ^= c;
    }
    if (q === stop || bytes[q] !== BACKSLASH) {
      this.noise('noise');
      return start + 1;
    }
    if (star >= 0) {
      const high = hexDigit(bytes[star + 1] as number);
      const low = hexDigit(bytes[star + 2] as number);
      if (star + 3 !== q || high < 0 || low < 0 || ((high << 4) | low) !== sum) {
        this.tally.reject('tag-checksum', this.line);
        return q + 1;
      }
    }
    const textEnd = star < 0 ? q : star;
    for (let i = start + 1; i < textEnd; ) {
      let fieldEnd = i;
      while (fieldEnd < textEnd && bytes[fieldEnd] !== COMMA) fieldEnd++;
      if (bytes[i] === 99 && bytes[i + 1] === 58) {
        const value = this.stamps.readTag(bytes, i + 2, fieldEnd);
        if (value === value) this.setStamp(value);
      }
      i = fieldEnd + 1;
    }
    return q + 1;
  }

  private setStamp(value: number): void {
    let stampS = value;
    this.stampKind = this.stamps.kind;
    if (this.stampKind === STAMP.timeOfDay) {
      // Midnight: a clock that shows only the time of day starts afresh.
      stampS += this.stampDayS;
      if (stampS < this.lastStampS - 43_200) {
        this.stampDayS += 86_400;
        stampS += 86_400;
      }
      this.lastStampS = stampS;
    }
    this.stampS = stampS;
    if (this.stamps.fine) this.stampsFine = true;
    this.stamped++;
  }

  private skipNoise(bytes: Uint8Array, start: number, limit: number): number {
    let p = start;
    let blank = true;
    for (; p < limit; p++) {
      const c = bytes[p] as number;
      if (c === DOLLAR || c === BANG || c === CR || c === LF || c === BACKSLASH) break;
      if (c !== 32 && c !== 9) blank = false;
    }
    if (!blank) this.noise('noise');
    return p;
  }

  /** Counted once a line. */
  private noise(code: 'noise' | 'stamp'): void {
    if (this.noisyLine === this.line) return;
    this.noisyLine = this.line;
    this.tally.reject(code, this.line);
  }
}

function isPrintable(bytes: Uint8Array, start: number, end: number): boolean {
  for (let i = start; i < end; i++) if ((bytes[i] as number) < 32 || (bytes[i] as number) > 126) return false;
  return true;
}
