import type { TrialLog } from './trial-log.js';
import type { Refusal } from './estimate.js';
import { slope } from './run-mean.js';

/** Current as a trial needs it: true east and north [m/s], with one standard error in each. */
export interface KnownCurrent {
  readonly eastMps: number;
  readonly northMps: number;
  readonly sigmaMps: number;
}

/** Way made along one direction, the current taken out. Shape of the columns: [n]. */
export interface AlongWay {
  readonly timeS: Float64Array;
  readonly wayM: Float64Array;
  /** Time the columns count from, UTC [s]. */
  readonly zeroS: number;
  /** One standard error of the current along the direction [m/s]. */
  readonly sigmaCurrentMps: number;
}

/** A current in the frame's directions [m/s]. */
export function currentInFrame(current: KnownCurrent, convergenceDeg: number): { x: number; y: number } {
  const turn = (convergenceDeg * Math.PI) / 180;
  return { x: current.eastMps * Math.cos(turn) - current.northMps * Math.sin(turn), y: current.eastMps * Math.sin(turn) + current.northMps * Math.cos(turn) };
}

/**
 * Way through the water along the direction in which the boat moved between two rows; rows without a position left out.
 *
 * @param directionStart,directionEnd rows whose motion through the water gives the direction
 * @returns refused where it did not move
 */
export function alongWay(log: TrialLog, rowStart: number, rowEnd: number, current: KnownCurrent, directionStart: number, directionEnd: number): AlongWay | Refusal {
  const drift = currentInFrame(current, log.convergenceDeg);
  const motion = slope(log, directionStart, directionEnd);
  const vx = motion.vx - drift.x;
  const vy = motion.vy - drift.y;
  const speed = Math.hypot(vx, vy);
  if (!(speed > 0.05)) return { refused: `no motion through the water: ${Number.isNaN(speed) ? 'no positions' : `${speed.toFixed(3)} m/s`}` };
  const timeS: number[] = [];
  const wayM: number[] = [];
  const zeroS = log.timeS[rowStart]!;
  let x0 = NaN;
  let y0 = NaN;
  for (let i = rowStart; i < rowEnd; i++) {
    const x = log.xM[i]!;
    const y = log.yM[i]!;
    if (Number.isNaN(x) || Number.isNaN(y)) continue;
    if (Number.isNaN(x0)) [x0, y0] = [x, y];
    const t = log.timeS[i]! - zeroS;
    timeS.push(t);
    wayM.push(((x - x0 - drift.x * t) * vx + (y - y0 - drift.y * t) * vy) / speed);
  }
  return { timeS: Float64Array.from(timeS), wayM: Float64Array.from(wayM), zeroS, sigmaCurrentMps: current.sigmaMps };
}

/** First row of a stretch from which the mean command satisfies a test to the next row too; -1 where none does or none is logged. */
export function firstCommandRow(log: TrialLog, rowStart: number, rowEnd: number, test: (commandPct: number) => boolean): number {
  const at = (row: number): boolean => test((log.thrusterPortPct[row]! + log.thrusterStarboardPct[row]!) / 2);
  for (let i = rowStart; i < rowEnd; i++) if (at(i) && (i + 1 >= rowEnd || at(i + 1))) return i;
  return -1;
}
