import type { Soundings } from '../../depths/soundings.js';

/** Set-aside soundings that follow each other. Rows of the first and after the last; between them may lie good ones. */
export interface FlaggedStretch {
  readonly rowStart: number;
  readonly rowEnd: number;
  /** How many are set aside. */
  readonly count: number;
  /** Code of the reason most of them have. */
  readonly reason: number;
}

/** Set-aside soundings further apart than this are looked at apart [s]. */
const APART_S = 3;
/** No stretch is longer, so that it can be looked at whole [s]. */
const LONGEST_S = 120;

/**
 * The stretches of set-aside soundings, in order of time.
 * @param only the reason's code to look for; null: any
 */
export function flaggedStretches({ n, timeS, reason }: Pick<Soundings, 'n' | 'timeS' | 'reason'>, only: number | null): FlaggedStretch[] {
  const stretches: FlaggedStretch[] = [];
  let rowStart = -1;
  let last = -1;
  let count = 0;
  let tally = new Map<number, number>();
  const close = () => {
    if (rowStart < 0) return;
    let most = 0;
    for (const [code, many] of tally) if (many > (tally.get(most) ?? 0)) most = code;
    stretches.push({ rowStart, rowEnd: last + 1, count, reason: most });
    rowStart = -1;
    count = 0;
    tally = new Map();
  };
  for (let i = 0; i < n; i++) {
    const code = reason[i] as number;
    if (code === 0 || (only !== null && code !== only)) continue;
    if (rowStart >= 0 && ((timeS[i] as number) - (timeS[last] as number) > APART_S || (timeS[i] as number) - (timeS[rowStart] as number) > LONGEST_S)) close();
    if (rowStart < 0) rowStart = i;
    last = i;
    count++;
    tally.set(code, (tally.get(code) ?? 0) + 1);
  }
  close();
  return stretches;
}

/** Index of the stretch after (or before) a row, going round; -1 where there is none. */
export function stretchFrom(stretches: readonly FlaggedStretch[], row: number, step: 1 | -1): number {
  if (stretches.length === 0) return -1;
  if (step > 0) {
    const at = stretches.findIndex((one) => one.rowStart > row);
    return at < 0 ? 0 : at;
  }
  for (let k = stretches.length - 1; k >= 0; k--) if ((stretches[k] as FlaggedStretch).rowStart < row) return k;
  return stretches.length - 1;
}
