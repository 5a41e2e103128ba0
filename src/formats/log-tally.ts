import type { LogSummary, RejectCount } from '../base/observations.js';
import type { ObservationChunk } from './log-columns.js';

/** Why something in a log is not used, in plain words with what was expected. The key is `RejectCount.code`. */
export const REJECT_REASONS = {
  checksum: 'checksum does not match the sentence; the sentence is skipped',
  'cut-short': 'sentence ends before its checksum, or another one starts inside it; the sentence is skipped',
  'too-long': 'sentence longer than 1024 characters; it is skipped',
  malformed: 'not a sentence this format allows: expected an address of five characters and the fields of its type; it is skipped',
  noise: 'bytes that are no part of a sentence; they are skipped',
  'tag-checksum': 'checksum of the TAG block does not match; its time is not used, the sentence after it is',
  stamp: 'text before the sentence that is not a time; it is skipped, the sentence is used',
  'time-range': 'time of day is not hhmmss within a day; the sentence is skipped',
  'time-backwards': 'time goes backwards: expected later than the record before; skipped until the clock is ahead again',
  'time-jump': 'time jumps ahead for a single record and comes back; that record is skipped',
  'no-time': 'no time can be found for the record: no clock in the log around it; it is skipped',
  'no-fix': 'position sentence that says it has no valid fix; its position is not used',
  'zero-position': 'position is exactly 0 N 0 E: a receiver without a fix; it is not used',
  'position-range': 'position is not within 90 degrees of latitude and 180 of longitude; it is not used',
  'depth-empty': 'depth sentence without a depth: the sounder had no bottom',
  'depth-range': 'depth is not from 0 to 12 000 m; it is not used',
  unit: 'unit letter is not the one the sentence type has; the value is not used',
  'value-range': 'value is outside what the quantity can be; it is not used',
  'bad-row': 'row has not the columns of the header; it is skipped',
  'bad-time': 'time cannot be read in the form of its column; the row is skipped',
  'bad-number': 'not a number where one is expected; the value is not used',
} as const;

export type RejectCode = keyof typeof REJECT_REASONS;

const FIRST_LINES = 5;
const COUNT_KEYS = 200;

/** Counts kept while a log is read, and the summary made of them. */
export class LogTally {
  lines = 0;
  private readonly byType = new Map<string, number>();
  private readonly byReject = new Map<RejectCode, { count: number; firstLines: number[] }>();
  private readonly noteTexts: string[] = [];
  private fixes = 0;
  private pings = 0;
  private timeStartS = NaN;
  private timeEndS = NaN;
  private south = Infinity;
  private north = -Infinity;
  private west = Infinity;
  private east = -Infinity;
  private depthMinM = NaN;
  private depthMaxM = NaN;

  /** Adds to the count of a record type; past 200 types the rest are counted together as `other`. */
  count(type: string, by = 1): void {
    const key = this.byType.has(type) || this.byType.size < COUNT_KEYS ? type : 'other';
    this.byType.set(key, (this.byType.get(key) ?? 0) + by);
  }

  countOf(type: string): number {
    return this.byType.get(type) ?? 0;
  }

  /** @param line 0-based */
  reject(code: RejectCode, line: number): void {
    const entry = this.byReject.get(code);
    if (entry === undefined) this.byReject.set(code, { count: 1, firstLines: [line + 1] });
    else {
      entry.count++;
      if (entry.firstLines.length < FIRST_LINES) entry.firstLines.push(line + 1);
    }
  }

  rejected(code: RejectCode): number {
    return this.byReject.get(code)?.count ?? 0;
  }

  /** Adds a note once. */
  note(text: string): void {
    if (!this.noteTexts.includes(text)) this.noteTexts.push(text);
  }

  /** Takes rows into the span, the box and the depth range. */
  addRows(chunk: ObservationChunk): void {
    const { fixes, pings } = chunk;
    if (fixes) {
      this.fixes += fixes.n;
      this.addTimes(fixes.timeS);
      for (let i = 0; i < fixes.n; i++) {
        const lat = fixes.latDeg[i] as number;
        const lon = fixes.lonDeg[i] as number;
        if (lat < this.south) this.south = lat;
        if (lat > this.north) this.north = lat;
        if (lon < this.west) this.west = lon;
        if (lon > this.east) this.east = lon;
      }
    }
    if (pings) {
      this.pings += pings.n;
      this.addTimes(pings.timeS);
      for (let i = 0; i < pings.n; i++) {
        const depthM = pings.depthM[i] as number;
        if (!(depthM >= this.depthMinM)) this.depthMinM = depthM;
        if (!(depthM <= this.depthMaxM)) this.depthMaxM = depthM;
      }
    }
    for (const columns of Object.values(chunk.series ?? {})) this.addTimes(columns.timeS);
  }

  private addTimes(timeS: Float64Array): void {
    for (let i = 0; i < timeS.length; i++) {
      const t = timeS[i] as number;
      if (!(t >= this.timeStartS)) this.timeStartS = t;
      if (!(t <= this.timeEndS)) this.timeEndS = t;
    }
  }

  summary(kind: string): LogSummary {
    const counts: Record<string, number> = {};
    for (const type of [...this.byType.keys()].sort()) counts[type] = this.byType.get(type) as number;
    const rejects: RejectCount[] = [...this.byReject.entries()].map(([code, entry]) => ({
      code,
      reason: REJECT_REASONS[code],
      count: entry.count,
      firstLines: entry.firstLines.slice().sort((a, b) => a - b),
    }));
    rejects.sort((a, b) => b.count - a.count || (a.code < b.code ? -1 : 1));
    return {
      kind,
      lines: this.lines,
      counts,
      rejects,
      notes: this.noteTexts.slice(),
      fixes: this.fixes,
      pings: this.pings,
      timeStartS: this.timeStartS,
      timeEndS: this.timeEndS,
      bbox: this.fixes > 0 ? { south: this.south, west: this.west, north: this.north, east: this.east } : null,
      depthMinM: this.depthMinM,
      depthMaxM: this.depthMaxM,
    };
  }
}
