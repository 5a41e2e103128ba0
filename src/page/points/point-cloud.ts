import type { Soundings } from '../../depths/soundings.js';
import { SELECTED, type PointCloud } from './point-painter.js';

/** A point without a place is put here, where no view looks [m]. */
const NOWHERE_M = 1e9;

/** The slot of each sounding: steps of about the golden share of n, which visit every slot once and spread any first part evenly. */
export function slotStep(n: number): number {
  let step = Math.max(1, Math.round(n * 0.6180339887));
  while (gcd(step, n) !== 1) step++;
  return step;
}

function gcd(a: number, b: number): number {
  while (b !== 0) [a, b] = [b, a % b];
  return a;
}

/** The points of a survey, ready for a painter. */
export function pointCloud(soundings: Pick<Soundings, 'n' | 'xM' | 'yM' | 'depthM' | 'reason' | 'line'>): PointCloud {
  const { n, xM, yM, depthM, reason, line } = soundings;
  let [westM, southM, eastM, northM, shoalM, deepM] = [Infinity, Infinity, -Infinity, -Infinity, Infinity, -Infinity];
  for (let i = 0; i < n; i++) {
    if (reason[i] !== 0) continue;
    const [x, y, d] = [xM[i] as number, yM[i] as number, depthM[i] as number];
    if (x < westM) westM = x;
    if (x > eastM) eastM = x;
    if (y < southM) southM = y;
    if (y > northM) northM = y;
    if (d < shoalM) shoalM = d;
    if (d > deepM) deepM = d;
  }
  if (!(eastM >= westM && deepM >= shoalM)) [westM, southM, eastM, northM, shoalM, deepM] = [0, 0, 1, 1, 0, 1];
  const middle = { xM: (westM + eastM) / 2, yM: (southM + northM) / 2, depthM: (shoalM + deepM) / 2 };
  const place = new Float32Array(3 * n);
  const lines = new Uint8Array(n);
  const step = slotStep(n);
  for (let i = 0, slot = 0; i < n; i++, slot = (slot + step) % n) {
    const x = (xM[i] as number) - middle.xM;
    const d = (depthM[i] as number) - middle.depthM;
    const known = x === x && d === d;
    place[3 * slot] = known ? x : NOWHERE_M;
    place[3 * slot + 1] = known ? (yM[i] as number) - middle.yM : NOWHERE_M;
    place[3 * slot + 2] = known ? d : 0;
    lines[slot] = (line[i] as number) < 0 ? 0 : 1 + ((line[i] as number) % 250);
  }
  return { n, place, line: lines, middle, halfEastM: (eastM - westM) / 2, halfNorthM: (northM - southM) / 2, reachM: Math.hypot(eastM - westM, northM - southM) / 2, shoalM, deepM };
}

/** Takes rows into the selection that states hold, or out of it. By slot. */
export function changeSelected(n: number, added: Int32Array, removed: Int32Array, states: Uint8Array): void {
  const step = slotStep(n);
  for (let k = 0; k < removed.length; k++) {
    const slot = ((removed[k] as number) * step) % n;
    states[slot] = (states[slot] as number) & ~SELECTED;
  }
  for (let k = 0; k < added.length; k++) {
    const slot = ((added[k] as number) * step) % n;
    states[slot] = (states[slot] as number) | SELECTED;
  }
}

/** What each point is: its reason, and whether it is selected. By slot. */
export function pointStates(soundings: Pick<Soundings, 'n' | 'reason'>, selection: Int32Array, into: Uint8Array): Uint8Array {
  const { n, reason } = soundings;
  const step = slotStep(n);
  for (let i = 0, slot = 0; i < n; i++, slot = (slot + step) % n) into[slot] = reason[i] as number;
  for (let k = 0; k < selection.length; k++) {
    const slot = ((selection[k] as number) * step) % n;
    into[slot] = (into[slot] as number) | SELECTED;
  }
  return into;
}
