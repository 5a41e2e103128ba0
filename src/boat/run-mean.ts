import type { TrialLog } from './trial-log.js';
import type { Refusal } from './estimate.js';

/** Mean motion over a steady run. */
export interface RunMean {
  /** Velocity over the ground, true east and north [m/s]. */
  readonly eastMps: number;
  readonly northMps: number;
  readonly speedMps: number;
  readonly courseDeg: number;
  /** One standard error of the velocity along and across its course [m/s]. */
  readonly sigmaAlongMps: number;
  readonly sigmaAcrossMps: number;
  /** Degrees of freedom behind the errors. */
  readonly dof: number;
  /** How steady the speed was: standard deviation of the blocks' speeds along the course over the mean. */
  readonly unsteadiness: number;
  readonly midS: number;
  readonly durationS: number;
  /** Mean true heading [deg]; NaN where not logged. */
  readonly headingDeg: number;
  /** Mean command [%] and electrical power [W]; NaN where not logged. */
  readonly commandPct: number;
  readonly powerW: number;
  readonly sigmaPowerW: number;
}

/**
 * Memory of the speed: of what pushes, a part of a wave's period [s], and of the boat, L/(2 v) with a coasting length L of about
 * 3 m (usual for the class, common practice) [m].
 */
const PUSH_MEMORY_S = 0.8;
const MEMORY_M = 1.5;
/** A run is cut into blocks about this long, several times the memory of the surge of waves and of the speed control [s]. */
const BLOCK_S = 10;
const MIN_BLOCKS = 3;
const MAX_BLOCKS = 10;
const MIN_RUN_S = 15;
/** Slower than this over the ground is no motion that a position can tell from standing [m/s]. */
const NO_MOTION_MPS = 0.05;
/** A run whose block speeds scatter by more than this share of the mean is not steady. */
const MAX_UNSTEADINESS = 0.2;

/** The longest time between rows with a position, and the middle one [s]. */
export function longestGapS(log: TrialLog, rowStart: number, rowEnd: number): { gapS: number; atS: number; usualS: number } {
  let gapS = 0;
  let atS = NaN;
  let last = NaN;
  let first = NaN;
  let steps = 0;
  for (let i = rowStart; i < rowEnd; i++) {
    if (Number.isNaN(log.xM[i]!) || Number.isNaN(log.yM[i]!)) continue;
    const time = log.timeS[i]!;
    if (Number.isNaN(first)) first = time;
    if (time - last > gapS) {
      gapS = time - last;
      atS = last;
    }
    steps++;
    last = time;
  }
  return { gapS, atS, usualS: steps > 1 ? (last - first) / (steps - 1) : NaN };
}

/** Why a stretch cannot be used for lack of positions, or an empty string. */
export function gapFault(log: TrialLog, rowStart: number, rowEnd: number): string {
  const { gapS, atS, usualS } = longestGapS(log, rowStart, rowEnd);
  if (Number.isNaN(usualS)) return 'no positions in it';
  const limitS = Math.max(2.5, 5 * usualS);
  return gapS > limitS ? `a gap of ${gapS.toFixed(1)} s without positions, ${(atS - log.timeS[rowStart]!).toFixed(0)} s into it: run it again or draw the window on one side of the gap` : '';
}

/**
 * Velocity over the ground of a steady run, with its error from how much the velocity of blocks of about 10 s scatters.
 *
 * The mean is the least-squares slope of position against time. The scatter of the blocks holds the wander of the speed and
 * the noise of the positions; the latter, told from differences of neighbouring rows, weighs less on the whole run than on a
 * block and is counted so.
 *
 * @returns refused: with a gap, too short (15 s), no motion, or not steady
 */
export function runMean(log: TrialLog, rowStart: number, rowEnd: number): RunMean | Refusal {
  const fault = gapFault(log, rowStart, rowEnd);
  if (fault !== '') return { refused: fault };
  const durationS = log.timeS[rowEnd - 1]! - log.timeS[rowStart]!;
  if (!(durationS >= MIN_RUN_S)) return { refused: `only ${durationS.toFixed(0)} s long: a steady run needs ${MIN_RUN_S} s or more` };
  const whole = slope(log, rowStart, rowEnd);
  const speed = Math.hypot(whole.vx, whole.vy);
  if (!(speed >= NO_MOTION_MPS)) return { refused: `no motion: ${speed.toFixed(3)} m/s over the ground` };
  const blocks = Math.max(MIN_BLOCKS, Math.min(MAX_BLOCKS, Math.floor(durationS / BLOCK_S)));
  const ux = whole.vx / speed;
  const uy = whole.vy / speed;
  let along = 0;
  let across = 0;
  let row = rowStart;
  let used = 0;
  for (let b = 0; b < blocks; b++) {
    const endS = log.timeS[rowStart]! + ((b + 1) * durationS) / blocks;
    const start = row;
    while (row < rowEnd && log.timeS[row]! <= endS) row++;
    if (row - start < 2) continue;
    const part = slope(log, start, row);
    if (Number.isNaN(part.vx)) continue;
    along += ((part.vx - whole.vx) * ux + (part.vy - whole.vy) * uy) ** 2;
    across += ((part.vy - whole.vy) * ux - (part.vx - whole.vx) * uy) ** 2;
    used++;
  }
  if (used < MIN_BLOCKS) return { refused: `positions in only ${used} of ${blocks} parts of it: too few to tell how steady it was` };
  const dof = used - 1;
  const noise = rowNoiseVariance(log, rowStart, rowEnd);
  // Variance of a least-squares slope of n evenly spaced points with noise s over a time T: 12 s^2 / (n T^2).
  const ofWhole = (12 * noise) / (whole.n * durationS ** 2);
  const ofBlock = ofWhole * used ** 3;
  const shared = sharedMemory(used, durationS, speed);
  const error = (sum: number): number => Math.sqrt(shared * Math.max((sum / dof - ofBlock) / used, (0.1 * sum) / dof / used) + ofWhole);
  const unsteadiness = Math.sqrt(Math.max(0, along / dof - ofBlock)) / speed;
  if (unsteadiness > MAX_UNSTEADINESS) return { refused: `not steady: its speed over the ground scatters by ${(100 * unsteadiness).toFixed(0)} % from one ${(durationS / used).toFixed(0)} s to the next, ${100 * MAX_UNSTEADINESS} % is the most` };
  const turn = (log.convergenceDeg * Math.PI) / 180;
  const east = whole.vx * Math.cos(turn) + whole.vy * Math.sin(turn);
  const north = -whole.vx * Math.sin(turn) + whole.vy * Math.cos(turn);
  const power = meanPower(log, rowStart, rowEnd);
  return {
    eastMps: east,
    northMps: north,
    speedMps: speed,
    courseDeg: ((Math.atan2(east, north) * 180) / Math.PI + 360) % 360,
    sigmaAlongMps: error(along),
    sigmaAcrossMps: error(across),
    dof,
    unsteadiness,
    midS: (log.timeS[rowStart]! + log.timeS[rowEnd - 1]!) / 2,
    durationS,
    headingDeg: meanHeading(log, rowStart, rowEnd),
    commandPct: meanCommand(log, rowStart, rowEnd),
    powerW: power.value,
    sigmaPowerW: power.sigma,
  };
}

/**
 * By how much the variance of a run's mean exceeds that which the scatter of its blocks tells, because neighbouring blocks share
 * what the speed remembers: with a memory tau the mean over T has the variance 2 s^2 tau/T (1 - tau/T), T long against tau.
 */
function sharedMemory(blocks: number, durationS: number, speedMps: number): number {
  const tauS = Math.min(PUSH_MEMORY_S + MEMORY_M / speedMps, durationS / blocks / 2);
  const of = (seconds: number): number => (tauS / seconds) * (1 - tauS / seconds);
  const ofBlock = of(durationS / blocks);
  const ofMean = of(durationS);
  return (ofMean * (blocks - 1)) / (ofBlock - ofMean);
}

/** Least-squares slope of position against time, in the frame. */
export function slope(log: TrialLog, rowStart: number, rowEnd: number): { vx: number; vy: number; n: number } {
  let n = 0;
  let st = 0;
  let sx = 0;
  let sy = 0;
  const t0 = log.timeS[rowStart]!;
  const x0 = log.xM[rowStart]!;
  const y0 = log.yM[rowStart]!;
  const shiftX = Number.isNaN(x0) ? 0 : x0;
  const shiftY = Number.isNaN(y0) ? 0 : y0;
  for (let i = rowStart; i < rowEnd; i++) {
    const x = log.xM[i]!;
    const y = log.yM[i]!;
    if (Number.isNaN(x) || Number.isNaN(y)) continue;
    n++;
    st += log.timeS[i]! - t0;
    sx += x - shiftX;
    sy += y - shiftY;
  }
  const mt = st / n;
  const mx = sx / n;
  const my = sy / n;
  let tt = 0;
  let tx = 0;
  let ty = 0;
  for (let i = rowStart; i < rowEnd; i++) {
    const x = log.xM[i]!;
    const y = log.yM[i]!;
    if (Number.isNaN(x) || Number.isNaN(y)) continue;
    const t = log.timeS[i]! - t0 - mt;
    tt += t * t;
    tx += t * (x - shiftX - mx);
    ty += t * (y - shiftY - my);
  }
  return { vx: tx / tt, vy: ty / tt, n };
}

/** Variance of the noise from row to row in one dimension, from third differences: motion smoother than that falls out [m^2]. */
function rowNoiseVariance(log: TrialLog, rowStart: number, rowEnd: number): number {
  let sum = 0;
  let n = 0;
  for (let i = rowStart + 3; i < rowEnd; i++) {
    const dx = log.xM[i]! - 3 * log.xM[i - 1]! + 3 * log.xM[i - 2]! - log.xM[i - 3]!;
    const dy = log.yM[i]! - 3 * log.yM[i - 1]! + 3 * log.yM[i - 2]! - log.yM[i - 3]!;
    const both = dx * dx + dy * dy;
    if (Number.isNaN(both)) continue;
    sum += both;
    n++;
  }
  return n === 0 ? 0 : sum / (2 * 20 * n);
}

/** Mean heading by the vector sum [deg]; NaN where none is logged. */
export function meanHeading(log: TrialLog, rowStart: number, rowEnd: number): number {
  let east = 0;
  let north = 0;
  for (let i = rowStart; i < rowEnd; i++) {
    const heading = (log.headingDeg[i]! * Math.PI) / 180;
    if (Number.isNaN(heading)) continue;
    east += Math.sin(heading);
    north += Math.cos(heading);
  }
  return east === 0 && north === 0 ? NaN : ((Math.atan2(east, north) * 180) / Math.PI + 360) % 360;
}

function meanCommand(log: TrialLog, rowStart: number, rowEnd: number): number {
  let sum = 0;
  let n = 0;
  for (let i = rowStart; i < rowEnd; i++) {
    const command = (log.thrusterPortPct[i]! + log.thrusterStarboardPct[i]!) / 2;
    if (Number.isNaN(command)) continue;
    sum += command;
    n++;
  }
  return sum / n;
}

/** Mean electrical power over rows, with its standard error from blocks of about 10 s [W]; NaN where not logged. */
export function meanPower(log: TrialLog, rowStart: number, rowEnd: number): { value: number; sigma: number; dof: number } {
  let sum = 0;
  let n = 0;
  const means: number[] = [];
  let blockSum = 0;
  let blockN = 0;
  const durationS = log.timeS[rowEnd - 1]! - log.timeS[rowStart]!;
  const blocks = Math.max(MIN_BLOCKS, Math.min(MAX_BLOCKS, Math.floor(durationS / BLOCK_S)));
  let endS = log.timeS[rowStart]! + durationS / blocks;
  for (let i = rowStart; i < rowEnd; i++) {
    if (log.timeS[i]! > endS) {
      if (blockN > 0) means.push(blockSum / blockN);
      blockSum = blockN = 0;
      endS += durationS / blocks;
    }
    const power = log.batteryVoltageV[i]! * log.batteryCurrentA[i]!;
    if (Number.isNaN(power)) continue;
    sum += power;
    n++;
    blockSum += power;
    blockN++;
  }
  if (blockN > 0) means.push(blockSum / blockN);
  if (n === 0 || means.length < 2) return { value: n === 0 ? NaN : sum / n, sigma: NaN, dof: 0 };
  const value = sum / n;
  let scatter = 0;
  for (const mean of means) scatter += (mean - value) ** 2;
  return { value, sigma: Math.sqrt(scatter / (means.length - 1) / means.length), dof: means.length - 1 };
}
