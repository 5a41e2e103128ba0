import { grown } from '../log-columns.js';
import type { LogTally } from '../log-tally.js';

const DAY_S = 86_400;
/** A step ahead of more than this has to be confirmed by the epoch after it. */
const JUMP_S = 60;
/** A clock that has gone back and runs on for this many epochs has been set; it is believed from there on. */
const SET_BACK_EPOCHS = 60;

/** A clock that ran for no more than this many epochs before it was set back was wrong from the start: they are rejected. */
const FEW_EPOCHS = 5;

/** What became of an epoch. */
export const EPOCH = { good: 0, backwards: 1, jump: 2 } as const;

/** All that the sentences of one time of day said, while they come in. */
export interface OpenEpoch {
  todS: number;
  /** Days since 1970; NaN where no sentence gave a date. */
  day: number;
  /** Whether any sentence of it claimed a valid fix or a running clock. */
  lineStart: number;
  lineEnd: number;
  stampS: number;
  /** Rank of the sentence the position is from; 0 none. */
  rank: number;
  latDeg: number;
  lonDeg: number;
  heightM: number;
  geoidM: number;
  quality: number;
  satellites: number;
  hdop: number;
  sigmaM: number;
  courseDeg: number;
  speedMps: number;
  record: number;
}

function openEpoch(): OpenEpoch {
  return {
    todS: NaN, day: NaN, lineStart: 0, lineEnd: 0, stampS: NaN, rank: 0, latDeg: NaN, lonDeg: NaN, heightM: NaN,
    geoidM: NaN, quality: 255, satellites: 0, hdop: NaN, sigmaM: NaN, courseDeg: NaN, speedMps: NaN, record: 0,
  };
}

/**
 * The log's clock and its fixes: sentences with a time of day are gathered into epochs, dated, and put in order.
 *
 * - Sentences of the same time of day are one epoch. Two epochs are kept open, so that a receiver whose GGA of one
 *   second follows the RMC of the next loses nothing.
 * - The day is that of RMC or ZDA in the epoch; without it the day that brings the time nearest to the epoch before
 *   (midnight). A log whose first date comes late is dated backwards from it.
 * - An epoch not later than the last one is `time-backwards` and not used, nor is anything between it and the next good
 *   one; when the clock runs on behind for 60 epochs (or for more than it ran before), it has been set back and is
 *   believed from there on, with a note (if it ran for five epochs or fewer before, those are `time-jump`).
 *   A single epoch more than 60 s ahead of both neighbours is `time-jump`.
 */
export class EpochTimeline {
  /** Closed epochs. Shape of every column: [n]. */
  n = 0;
  timeS = new Float64Array(64);
  stampS = new Float64Array(64);
  status = new Uint8Array(64);
  lineStart = new Uint32Array(64);
  lineEnd = new Uint32Array(64);
  latDeg = new Float64Array(64);
  lonDeg = new Float64Array(64);
  heightM = new Float32Array(64);
  geoidM = new Float32Array(64);
  quality = new Uint8Array(64);
  satellites = new Uint8Array(64);
  hdop = new Float32Array(64);
  sigmaM = new Float32Array(64);
  courseDeg = new Float32Array(64);
  speedMps = new Float32Array(64);
  record = new Uint32Array(64);

  /** Number of the first closed epoch kept here, counted from the start of the log. */
  firstIndex = 0;
  /** Number of epochs opened so far: what an untimed record is tagged with. */
  opened = 0;
  /** Whether times are true UTC dates, or were given up on. */
  dated = false;
  /** Closed, not all of them good. */
  anyBad = false;
  /** Whether a position sentence has said anything yet, and whether the last one had a fix: -1 nothing yet, 0 no fix, 1 fix. */
  fixState = -1;

  private current: OpenEpoch | null = null;
  private previous: OpenEpoch | null = null;
  private spare: OpenEpoch[] = [openEpoch(), openEpoch()];
  private lastS = NaN;
  private clockFromFix = false;
  private goodSinceSet = 0;
  private runLength = 0;
  private runLastS = NaN;
  private dateGuessed = false;

  constructor(
    private readonly tally: LogTally,
    private readonly onClosed: (good: boolean) => void,
  ) {}

  /**
   * The epoch of a time of day, opened if need be.
   * @param day days since 1970, NaN where the sentence has no date
   * @param trusted false for a sentence that says it has no fix: its clock may be anything, so it may only go on from where it is
   * @returns null where the time is not to be used
   */
  at(todS: number, day: number, trusted: boolean, line: number, stampS: number): OpenEpoch | null {
    const current = this.current;
    if (current !== null) {
      if (current.todS === todS) {
        current.lineEnd = line;
        if (trusted && day === day) current.day = day;
        return current;
      }
      const previous = this.previous;
      if (previous !== null && previous.todS === todS) return previous;
    }
    if (!trusted) {
      if (current === null) return null;
      let ahead = todS - current.todS;
      if (ahead < -DAY_S / 2) ahead += DAY_S;
      if (!(ahead > 0 && ahead <= JUMP_S)) return null;
    }
    this.closePrevious();
    this.previous = current;
    const epoch = this.spare.pop() ?? openEpoch();
    epoch.todS = todS;
    epoch.day = trusted ? day : NaN;
    epoch.lineStart = line;
    epoch.lineEnd = line;
    epoch.stampS = stampS;
    epoch.rank = 0;
    epoch.latDeg = NaN;
    epoch.lonDeg = NaN;
    epoch.heightM = NaN;
    epoch.geoidM = NaN;
    epoch.quality = 255;
    epoch.satellites = 0;
    epoch.hdop = NaN;
    epoch.sigmaM = NaN;
    epoch.courseDeg = NaN;
    epoch.speedMps = NaN;
    this.current = epoch;
    this.opened++;
    return epoch;
  }

  /** The epoch last opened, for sentences that have no time of their own. */
  get latest(): OpenEpoch | null {
    return this.current;
  }

  /** Closes what is open. */
  finish(): void {
    this.closePrevious();
    this.previous = this.current;
    this.current = null;
    this.closePrevious();
  }

  /** Adds to all times kept here, and to those still to come. */
  shift(seconds: number): void {
    for (let i = 0; i < this.n; i++) this.timeS[i] = (this.timeS[i] as number) + seconds;
    this.lastS += seconds;
    this.runLastS += seconds;
  }

  /** Stops waiting for a date: times from here on are what `shift` made of them. */
  giveUpDate(): void {
    this.dated = true;
    this.dateGuessed = true;
  }

  /** Forgets the first `count` closed epochs. */
  drop(count: number): void {
    const n = this.n;
    for (const column of this.columns()) column.copyWithin(0, count, n);
    this.n = n - count;
    this.firstIndex += count;
    this.anyBad = false;
    for (let i = 0; i < this.n; i++) if (this.status[i] !== EPOCH.good) this.anyBad = true;
  }

  private undatedTime(todS: number): number {
    if (this.lastS !== this.lastS) return todS;
    const t = Math.floor(this.lastS / DAY_S) * DAY_S + todS;
    if (t < this.lastS - DAY_S / 2) return t + DAY_S;
    if (t > this.lastS + DAY_S / 2) return t - DAY_S;
    return t;
  }

  private closePrevious(): void {
    const epoch = this.previous;
    if (epoch === null) return;
    this.previous = null;
    let t = this.undatedTime(epoch.todS);
    let setDate = false;
    if (epoch.day === epoch.day) {
      const datedS = epoch.day * DAY_S + epoch.todS;
      if (!this.dated) {
        this.shift(datedS - t);
        this.dated = true;
      } else if (this.dateGuessed) {
        this.dateGuessed = false;
        setDate = true;
        this.tally.note(`the first date comes in line ${epoch.lineStart + 1}, too late to date what is before it`);
      }
      t = datedS;
    }
    const hasFix = epoch.rank > 0;
    let status: number = EPOCH.good;
    if (setDate || this.lastS !== this.lastS || (hasFix && !this.clockFromFix)) {
      this.runLength = 0;
      if (t <= this.lastS) {
        this.noteSetBack(t, epoch.lineStart);
        this.goodSinceSet = 0;
      }
    } else if (t > this.lastS) {
      if (t - this.lastS > JUMP_S && this.current !== null) {
        const next = this.current;
        const nextS = next.day === next.day ? next.day * DAY_S + next.todS : this.undatedTime(next.todS);
        if (nextS > this.lastS && nextS < t) status = EPOCH.jump;
      }
      if (status === EPOCH.good) this.runLength = 0;
    } else {
      this.runLength = t > this.runLastS && this.runLength > 0 ? this.runLength + 1 : 1;
      this.runLastS = t;
      if (this.runLength > Math.min(SET_BACK_EPOCHS, this.goodSinceSet)) {
        if (this.goodSinceSet <= FEW_EPOCHS && this.goodSinceSet <= this.countGood()) this.rejectLast(this.goodSinceSet);
        else this.noteSetBack(t, epoch.lineStart);
        this.runLength = 0;
        this.goodSinceSet = 0;
      } else {
        status = EPOCH.backwards;
      }
    }
    if (status === EPOCH.good) {
      this.lastS = t;
      this.goodSinceSet++;
      if (hasFix) this.clockFromFix = true;
    } else {
      this.anyBad = true;
      this.tally.reject(status === EPOCH.jump ? 'time-jump' : 'time-backwards', epoch.lineStart);
    }
    this.push(epoch, t, status);
    this.spare.push(epoch);
    this.onClosed(status === EPOCH.good);
  }

  private countGood(): number {
    let good = 0;
    for (let i = 0; i < this.n; i++) if (this.status[i] === EPOCH.good) good++;
    return good;
  }

  /** The last few good epochs turn out to have had a wrong time. */
  private rejectLast(count: number): void {
    for (let i = this.n - 1, left = count; i >= 0 && left > 0; i--) {
      if (this.status[i] !== EPOCH.good) continue;
      this.status[i] = EPOCH.jump;
      this.tally.reject('time-jump', this.lineStart[i] as number);
      left--;
    }
    this.anyBad = true;
  }

  private noteSetBack(t: number, line: number): void {
    const by = Math.round((this.lastS - t) * 1000) / 1000;
    this.tally.note(`the clock was set back by ${by} s before line ${line + 1}: times before and after it do not follow each other`);
  }

  private push(epoch: OpenEpoch, t: number, status: number): void {
    if (this.n === this.timeS.length) this.grow();
    const i = this.n++;
    this.timeS[i] = t;
    this.stampS[i] = epoch.stampS;
    this.status[i] = status;
    this.lineStart[i] = epoch.lineStart;
    this.lineEnd[i] = epoch.lineEnd;
    this.latDeg[i] = epoch.latDeg;
    this.lonDeg[i] = epoch.lonDeg;
    this.heightM[i] = epoch.heightM;
    this.geoidM[i] = epoch.geoidM;
    this.quality[i] = epoch.quality;
    this.satellites[i] = epoch.satellites;
    this.hdop[i] = epoch.hdop;
    this.sigmaM[i] = epoch.sigmaM;
    this.courseDeg[i] = epoch.courseDeg;
    this.speedMps[i] = epoch.speedMps;
    this.record[i] = epoch.record;
  }

  private columns(): (Float64Array | Float32Array | Uint32Array | Uint8Array)[] {
    return [
      this.timeS, this.stampS, this.status, this.lineStart, this.lineEnd, this.latDeg, this.lonDeg, this.heightM, this.geoidM,
      this.quality, this.satellites, this.hdop, this.sigmaM, this.courseDeg, this.speedMps, this.record,
    ];
  }

  private grow(): void {
    const capacity = this.n * 2;
    this.timeS = grown(this.timeS, capacity);
    this.stampS = grown(this.stampS, capacity);
    this.status = grown(this.status, capacity);
    this.lineStart = grown(this.lineStart, capacity);
    this.lineEnd = grown(this.lineEnd, capacity);
    this.latDeg = grown(this.latDeg, capacity);
    this.lonDeg = grown(this.lonDeg, capacity);
    this.heightM = grown(this.heightM, capacity);
    this.geoidM = grown(this.geoidM, capacity);
    this.quality = grown(this.quality, capacity);
    this.satellites = grown(this.satellites, capacity);
    this.hdop = grown(this.hdop, capacity);
    this.sigmaM = grown(this.sigmaM, capacity);
    this.courseDeg = grown(this.courseDeg, capacity);
    this.speedMps = grown(this.speedMps, capacity);
    this.record = grown(this.record, capacity);
  }
}
