/** A row longer than this is cut: the rest of it is passed over [bytes]. */
const MAX_ROW = 16_384;
const MAX_FIELDS = 512;
/** A quote must close within this many bytes, else it is a plain character [bytes]. */
const MAX_QUOTED = 1024;

/** No decision of the row scanner looks further ahead than this many bytes. */
export const ROW_LOOKAHEAD = MAX_ROW + MAX_QUOTED + 2;

const LF = 10;
const CR = 13;
const QUOTE = 34;
const SPACE = 32;
const TAB = 9;

/** Whoever takes the rows; fields are bytes [fieldStart[k], fieldEnd[k]), quotes and surrounding blanks taken off. */
export interface RowTaker {
  row(scanner: CsvRowScanner): void;
}

/**
 * Parts the bytes of a CSV file into rows and fields: RFC 4180, and what spreadsheets make of it (any single-byte delimiter,
 * any line ends). A delimiter of a space stands for any run of blanks. Quoted fields may hold delimiters and line ends; a quote
 * that does not close within 1024 bytes is an ordinary character, so that a stray one does not swallow the file.
 * A doubled quote inside a field is left doubled in the bytes.
 */
export class CsvRowScanner {
  bytes: Uint8Array = new Uint8Array(0);
  readonly fieldStart = new Int32Array(MAX_FIELDS);
  readonly fieldEnd = new Int32Array(MAX_FIELDS);
  /** Fields of the row at hand; at most 512. */
  fields = 0;
  /** 0-based line of the row at hand. */
  line = 0;
  /** Rows cut because they were too long. */
  cut = 0;
  private nextLine = 0;
  private afterCr = false;
  private skipping = false;
  private first = true;

  constructor(
    private readonly delimiter: number,
    private readonly taker: RowTaker,
  ) {}

  /**
   * Scans bytes [start, end), beginning no row at or after `limit`. `bytes[end]` must exist and be free to be overwritten.
   * @returns where to go on
   */
  scan(bytes: Uint8Array, start: number, limit: number, end: number): number {
    this.bytes = bytes;
    bytes[end] = LF;
    let p = start;
    if (this.first && p < limit) {
      this.first = false;
      if (bytes[p] === 0xef && bytes[p + 1] === 0xbb && bytes[p + 2] === 0xbf) p += 3;
    }
    while (p < limit) {
      const c = bytes[p] as number;
      if (this.afterCr && c === LF) {
        this.afterCr = false;
        p++;
        continue;
      }
      this.afterCr = false;
      p = this.skipping ? this.skip(bytes, p, limit) : this.scanRow(bytes, p, end);
    }
    return p;
  }

  /** Lines so far. */
  get lines(): number {
    return this.nextLine;
  }

  private skip(bytes: Uint8Array, start: number, limit: number): number {
    let p = start;
    while (p < limit && bytes[p] !== LF && bytes[p] !== CR) p++;
    if (p < limit) {
      this.skipping = false;
      this.afterCr = bytes[p] === CR;
      p++;
    }
    return p;
  }

  private scanRow(bytes: Uint8Array, start: number, end: number): number {
    const { delimiter, fieldStart, fieldEnd } = this;
    const blanks = delimiter === SPACE;
    const stop = Math.min(end, start + MAX_ROW);
    this.line = this.nextLine++;
    let n = 0;
    let p = start;
    for (;;) {
      while (p < stop && (bytes[p] === SPACE || (bytes[p] === TAB && delimiter !== TAB))) p++;
      let from = p;
      let to = -1;
      if (bytes[p] === QUOTE && p < stop) {
        const close = this.closingQuote(bytes, p, Math.min(end, p + MAX_QUOTED));
        if (close > 0) {
          from = p + 1;
          to = close;
          p = close + 1;
        }
      }
      while (p < stop) {
        const c = bytes[p] as number;
        if (c === delimiter || c === LF || c === CR || (blanks && c === TAB)) break;
        p++;
      }
      if (to < 0) {
        to = p;
        while (to > from && (bytes[to - 1] === SPACE || bytes[to - 1] === TAB)) to--;
      }
      const ender = p < end ? (bytes[p] as number) : LF;
      const ends = p >= stop || ender === LF || ender === CR;
      // Blanks at the end of a row are no field.
      if (n < MAX_FIELDS && !(blanks && ends && to === from && n > 0)) {
        fieldStart[n] = from;
        fieldEnd[n] = to;
        n++;
      }
      if (!ends) {
        p++;
        continue;
      }
      this.fields = n;
      if (p >= stop && p < end && ender !== LF && ender !== CR) {
        this.cut++;
        this.skipping = true;
        return p;
      }
      if (!(n === 1 && fieldStart[0] === fieldEnd[0])) this.taker.row(this);
      if (p >= end) return end;
      this.afterCr = ender === CR;
      return p + 1;
    }
  }

  /** Position of the quote that closes the one at `start`, followed by a delimiter or line end; -1 where there is none. */
  private closingQuote(bytes: Uint8Array, start: number, stop: number): number {
    let lines = 0;
    for (let p = start + 1; p < stop; p++) {
      const c = bytes[p] as number;
      if (c === LF) lines++;
      if (c !== QUOTE) continue;
      if (bytes[p + 1] === QUOTE) {
        p++;
        continue;
      }
      let after = p + 1;
      while (bytes[after] === SPACE && this.delimiter !== SPACE) after++;
      const next = bytes[after] as number;
      if (next === this.delimiter || next === LF || next === CR || next === TAB) {
        this.nextLine += lines;
        return p;
      }
      return -1;
    }
    return -1;
  }
}
