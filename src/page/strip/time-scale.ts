/** A pause between logs that is drawn short: from the last time before it to the first after it [s]. */
export interface Pause {
  readonly startS: number;
  readonly endS: number;
}

/** A silence is a pause when it lasts this long [s] and takes this share of the strip. */
const PAUSE_S = 300;
const PAUSE_SHARE = 0.05;
/** Share of the strip that a pause keeps. */
const KEPT_SHARE = 0.035;

/**
 * Time on the strip: as it ran, but long pauses take a little room each. Strip seconds are seconds from the first time on,
 * less what the pauses before were shortened by.
 */
export class TimeScale {
  readonly pauses: readonly Pause[];
  readonly #keptS: number;

  /** @param timeS ascending times of all that the strip shows [s] */
  constructor(timeS: ArrayLike<number>) {
    const n = timeS.length;
    const spanS = n === 0 ? 0 : (timeS[n - 1] as number) - (timeS[0] as number);
    const pauses: Pause[] = [];
    for (let i = 1; i < n; i++) {
      const [startS, endS] = [timeS[i - 1] as number, timeS[i] as number];
      if (endS - startS > Math.max(PAUSE_S, PAUSE_SHARE * spanS)) pauses.push({ startS, endS });
    }
    this.pauses = pauses;
    this.#keptS = KEPT_SHARE * (spanS - pauses.reduce((sum, pause) => sum + pause.endS - pause.startS, 0)) + 1;
  }

  toStrip(timeS: number): number {
    let shortS = 0;
    for (const { startS, endS } of this.pauses) {
      if (timeS <= startS) break;
      if (timeS < endS) return startS - shortS + ((timeS - startS) / (endS - startS)) * this.#keptS;
      shortS += endS - startS - this.#keptS;
    }
    return timeS - shortS;
  }

  toTime(stripS: number): number {
    let shortS = 0;
    for (const { startS, endS } of this.pauses) {
      const at = stripS + shortS;
      if (at <= startS) return at;
      if (at < startS + this.#keptS) return startS + ((at - startS) / this.#keptS) * (endS - startS);
      shortS += endS - startS - this.#keptS;
    }
    return stripS + shortS;
  }

  /** Whether a time lies inside a pause. */
  inPause(timeS: number): boolean {
    return this.pauses.some(({ startS, endS }) => timeS > startS && timeS < endS);
  }
}
