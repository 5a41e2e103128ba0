import { median } from '../base/robust.js';
import type { TrialLog } from './trial-log.js';

/** Something wrong with a whole log, told before any trial is worked out. */
export interface LogFault {
  readonly code: 'no-motion' | 'speed-unit' | 'heading-reversed' | 'heading-offset' | 'current-sign';
  /** What, in plain words, with what can and cannot be said. */
  readonly text: string;
}

const KNOT_MPS = 1852 / 3600;
/** Speeds are told over at least this long [s]. */
const LAG_S = 2;
/** A boat that never leaves a circle of this size did not move [m]. */
const NO_MOTION_M = 3;
const UNDER_WAY_MPS = 0.5;
/** Headings that miss the course by more than this on the mean of all directions are not true ones [deg]. */
const OFFSET_DEG = 8;

/**
 * Faults of a log that no window can mend: no motion; speed through water in knots where m/s was declared; heading 180 degrees
 * out, or off by an angle as a magnetic one would be; battery current of the wrong sign.
 *
 * Speed and heading are compared with the positions: the ratio of speeds is the median under way, the angle between course and
 * heading the vector mean over six sectors of heading, so that a current, which pushes the course to either side on opposite
 * headings, falls out. Rows with the thrusters astern do not count.
 */
export function checkLog(log: TrialLog): LogFault[] {
  const { n } = log;
  const faults: LogFault[] = [];
  let lowX = Infinity;
  let highX = -Infinity;
  let lowY = Infinity;
  let highY = -Infinity;
  for (let i = 0; i < n; i++) {
    const x = log.xM[i]!;
    const y = log.yM[i]!;
    if (x < lowX) lowX = x;
    if (x > highX) highX = x;
    if (y < lowY) lowY = y;
    if (y > highY) highY = y;
  }
  const extent = highX >= lowX && highY >= lowY ? Math.hypot(highX - lowX, highY - lowY) : NaN;
  if (!(extent > NO_MOTION_M)) {
    faults.push({ code: 'no-motion', text: extent >= 0 ? `no motion: all positions lie within ${extent.toFixed(1)} m; nothing can be said of the boat's motion` : 'no positions: nothing can be said of the boat\'s motion' });
  }
  // At most some 20 000 rows are looked at: medians need no more.
  const stride = Math.max(1, Math.floor(n / 20_000));
  const ratios: number[] = [];
  const powers: number[] = [];
  const sine = new Float64Array(6);
  const cosine = new Float64Array(6);
  const counts = new Int32Array(6);
  let ahead = 0;
  for (let i = 0; i < n; i += stride) {
    if (ahead < i) ahead = i;
    while (ahead < n && log.timeS[ahead]! - log.timeS[i]! < LAG_S) ahead++;
    if (ahead >= n) break;
    const dt = log.timeS[ahead]! - log.timeS[i]!;
    const vx = (log.xM[ahead]! - log.xM[i]!) / dt;
    const vy = (log.yM[ahead]! - log.yM[i]!) / dt;
    const speed = Math.hypot(vx, vy);
    const command = (log.thrusterPortPct[i]! + log.thrusterStarboardPct[i]!) / 2;
    const helm = Math.abs(log.thrusterPortPct[i]! - log.thrusterStarboardPct[i]!);
    if (dt > 2 * LAG_S + 1 || Number.isNaN(speed) || command < 0 || helm > 40) continue;
    if (speed < UNDER_WAY_MPS) continue;
    const through = log.speedThroughWaterMps[i]!;
    if (through > 0.1) ratios.push(through / speed);
    const power = log.batteryVoltageV[i]! * log.batteryCurrentA[i]!;
    if (!Number.isNaN(power) && !(command < 20)) powers.push(log.batteryCurrentA[i]!);
    const heading = log.headingDeg[i]!;
    if (Number.isNaN(heading)) continue;
    const off = Math.atan2(vx, vy) + ((log.convergenceDeg - heading) * Math.PI) / 180;
    const sector = Math.floor((((heading % 360) + 360) % 360) / 60);
    sine[sector] = sine[sector]! + Math.sin(off);
    cosine[sector] = cosine[sector]! + Math.cos(off);
    counts[sector] = counts[sector]! + 1;
  }
  if (ratios.length >= 20) {
    const ratio = median(ratios);
    const found = ratio > 1.6 && ratio < 2.4 ? ['knots', KNOT_MPS] : ratio > 0.4 && ratio < 0.62 ? ['m/s already turned into m/s from knots', 1 / KNOT_MPS] : null;
    if (found !== null) {
      faults.push({ code: 'speed-unit', text: `speed through water is ${ratio.toFixed(2)} times the speed of the positions: it is in ${found[0]}, though the log says m/s; correct the unit of the column (x ${(found[1] as number).toFixed(4)}). It is not used` });
    }
  }
  const seen = counts.reduce((sum, count) => sum + (count >= 10 ? 1 : 0), 0);
  if (seen > 0) {
    let east = 0;
    let north = 0;
    for (let s = 0; s < 6; s++) {
      if (counts[s]! < 10) continue;
      const size = Math.hypot(sine[s]!, cosine[s]!);
      east += sine[s]! / size;
      north += cosine[s]! / size;
    }
    const off = (Math.atan2(east, north) * 180) / Math.PI;
    const agree = Math.hypot(east, north) / seen;
    if (Math.abs(off) > 140 && agree > 0.5) faults.push({ code: 'heading-reversed', text: `heading is ${Math.abs(off).toFixed(0)} degrees from the course of the positions: the compass is mounted the wrong way round, or the boat ran astern; correct the heading by 180 degrees. Speeds from reciprocal runs stand, set and drift from headings do not` });
    // On one or two headings a current across looks the same as a compass error.
    else if (Math.abs(off) > OFFSET_DEG && agree > 0.8 && seen >= 3) faults.push({ code: 'heading-offset', text: `heading differs from the course by ${off.toFixed(0)} degrees on the mean of all directions: magnetic heading without the variation, or a compass mounted askew` });
  }
  if (powers.length >= 20 && median(powers) < 0) {
    faults.push({ code: 'current-sign', text: `battery current is ${median(powers).toFixed(1)} A under way: its sign is the wrong way round, discharge is positive; no power or energy is worked out` });
  }
  return faults;
}
