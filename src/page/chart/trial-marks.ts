import type { Trial, TrialKind } from '../../boat/trial-log.js';
import { fixed } from '../words/figures.js';
import { trialLabel } from '../words/trials.js';
import type { LoadedTrials } from '../work/read-trials.js';
import { simplifyLine } from './simplify.js';
import { boxOf } from './viewport.js';

/** One trial as the chart draws it. */
export interface TrialMark {
  readonly id: string;
  readonly kind: TrialKind;
  /** Its track [x0, y0, ...] in the frame [m]. */
  readonly line: Float64Array;
  readonly box: { readonly westM: number; readonly southM: number; readonly eastM: number; readonly northM: number };
  readonly label: string;
  readonly refused: boolean;
}

export interface TrialMarks {
  readonly marks: readonly TrialMark[];
  readonly selected: string | null;
  readonly hovered: string | null;
  readonly lit: readonly string[];
  readonly plan: readonly { readonly line: Float64Array; readonly label: string }[];
  readonly planPoints: readonly { readonly xM: number; readonly yM: number; readonly label: string }[];
}

/** A trial's track keeps this true [m]. */
const TOLERANCE_M = 0.06;

/** Makes the marks of trials; a trial whose window has not moved is not made anew. */
export class TrialMarkBook {
  readonly #loaded: LoadedTrials;
  readonly #lines = new Map<string, { readonly key: string; readonly line: Float64Array }>();

  constructor(loaded: LoadedTrials) {
    this.#loaded = loaded;
  }

  marks(trials: readonly Trial[]): TrialMark[] {
    return trials.flatMap((trial) => {
      const line = this.#line(trial);
      const box = boxOf([line]);
      return box === null ? [] : [{ id: trial.id, kind: trial.kind, line, box, label: labelOf(trial, trials), refused: trial.refused !== '' }];
    });
  }

  #line(trial: Trial): Float64Array {
    const key = `${trial.rowStart} ${trial.rowEnd}`;
    const known = this.#lines.get(trial.id);
    if (known !== undefined && known.key === key) return known.line;
    const { xM, yM } = this.#loaded.log;
    const vertices: number[] = [];
    for (let i = trial.rowStart; i < trial.rowEnd; i++) if (Number.isFinite(xM[i]) && Number.isFinite(yM[i])) vertices.push(xM[i] as number, yM[i] as number);
    const line = simplifyLine(Float64Array.from(vertices), TOLERANCE_M);
    this.#lines.set(trial.id, { key, line });
    return line;
  }
}

/** Steady runs are named by their speed, the others by kind and number. */
function labelOf(trial: Trial, trials: readonly Trial[]): string {
  return trial.kind === 'steady-run' && Number.isFinite(trial.speedMps) ? `${fixed(trial.speedMps, 2)} m/s` : trialLabel(trial, trials);
}

/** The trial whose track is nearest to a place, manoeuvres before the runs and legs they lie on; null where none is in reach. */
export function nearestMark({ marks, selected }: TrialMarks, xM: number, yM: number, reachM: number): TrialMark | null {
  let best: TrialMark | null = null;
  let bestM = reachM;
  for (const mark of marks) {
    const { box } = mark;
    if (xM < box.westM - reachM || xM > box.eastM + reachM || yM < box.southM - reachM || yM > box.northM + reachM) continue;
    // What lies over each other is told apart by kind: a leg is hit only where nothing else is.
    const handicap = (mark.kind === 'straight-leg' ? 0.5 : mark.kind === 'steady-run' ? 0.2 : 0) * reachM - (mark.id === selected ? 0.05 * reachM : 0);
    const distance = distanceTo(mark.line, xM, yM) + handicap;
    if (distance < bestM) {
      bestM = distance;
      best = mark;
    }
  }
  return best;
}

function distanceTo(line: Float64Array, xM: number, yM: number): number {
  let best = Infinity;
  if (line.length === 2) return Math.hypot((line[0] as number) - xM, (line[1] as number) - yM);
  for (let i = 0; i + 3 < line.length; i += 2) {
    const [ax, ay, bx, by] = [line[i] as number, line[i + 1] as number, line[i + 2] as number, line[i + 3] as number];
    const length2 = (bx - ax) ** 2 + (by - ay) ** 2;
    const t = length2 === 0 ? 0 : Math.max(0, Math.min(1, ((xM - ax) * (bx - ax) + (yM - ay) * (by - ay)) / length2));
    best = Math.min(best, Math.hypot(ax + t * (bx - ax) - xM, ay + t * (by - ay) - yM));
  }
  return best;
}

/** The row of a trial whose position is nearest to a place. */
export function nearestMoment({ log }: LoadedTrials, trial: Trial, xM: number, yM: number): number {
  let best = NaN;
  let bestM = Infinity;
  for (let i = trial.rowStart; i < trial.rowEnd; i++) {
    const distance = Math.hypot((log.xM[i] as number) - xM, (log.yM[i] as number) - yM);
    if (distance < bestM) {
      bestM = distance;
      best = log.timeS[i] as number;
    }
  }
  return best;
}
