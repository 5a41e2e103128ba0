import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { isRefused, type Refusal } from '../../src/boat/estimate.js';
import { zigZag } from '../../src/boat/zig-zag.js';

// 100 Hz record of a free-running ship model (NMUW2022 example data, MIT): speed in m/s, yaw and rudder in radians.
const RECORD = new URL('../../../shared/data/trials/model-zigzag-100hz.csv.xz', import.meta.url);

// test/reference/boat/zigzag.py
const reference = JSON.parse(readFileSync(new URL('../reference/boat/zigzag.json', import.meta.url), 'utf8')) as { tS: number; k: number; neutral: number; rmsDeg: number };

function good<T extends object>(result: T | Refusal): T {
  if (isRefused(result)) throw new Error(result.refused);
  return result;
}

describe('zigZag', () => {
  it('finds the overshoots of a yaw that the first-order equation gives (closed form)', () => {
    // Helm +1 to 3 s, -1 to 9 s, +1 to 15 s; T = 0.8, K = 0.2 rad/s.
    const T = 0.8;
    const K = 0.2;
    const times = Array.from({ length: 1500 }, (_, i) => i * 0.01);
    const helm = times.map((t) => (t < 3 ? 1 : t < 9 ? -1 : 1));
    const heading: number[] = [];
    let psi = 0;
    let r = 0;
    for (const d of helm) {
      heading.push((psi * 180) / Math.PI);
      const left = Math.exp(-0.01 / T);
      psi += K * d * 0.01 + (r - K * d) * T * (1 - left);
      r = K * d + (r - K * d) * left;
    }
    const found = good(zigZag(times, heading.map((h) => ((h % 360) + 360) % 360), helm));
    // After the reversal r = -K + (r0 + K) exp(-t/T): nought at t = T ln((r0 + K)/K); heading gained r0 T - K T ln((r0 + K)/K).
    const r0 = K * (1 - Math.exp(-3 / T));
    const gained = ((r0 * T - K * T * Math.log((r0 + K) / K)) * 180) / Math.PI;
    // An order is taken to fall half a row before the row that first has it; this one fell on the row.
    expect(found.overshootsDeg[0]).toBeCloseTo(gained + ((r0 * 0.01) / 2 / Math.PI) * 180, 1);
    const { k, tS } = good(found.nomoto);
    expect(k.value).toBeCloseTo(K, 2);
    // The helm is read as going straight from row to row: half a row.
    expect(Math.abs(tS.value - T)).toBeLessThan(0.01);
    expect(found.reversals).toBe(2);
  });

  it('is mirrored by a mirrored record, and refuses one without compass, helm or reversal', () => {
    const times = Array.from({ length: 400 }, (_, i) => i * 0.05);
    const helm = times.map((t) => (Math.floor(t / 4) % 2 === 0 ? 1 : -1));
    const heading = times.map((t) => 20 * Math.sin((2 * Math.PI * (t - 1)) / 8));
    const one = good(zigZag(times, heading, helm));
    const other = good(zigZag(times, heading.map((h) => -h), helm.map((d) => -d)));
    expect(Array.from(other.overshootsDeg)).toEqual(Array.from(one.overshootsDeg));
    expect(zigZag(times, times.map(() => NaN), helm)).toEqual({ refused: expect.stringContaining('no compass') });
    expect(zigZag(times, heading, times.map(() => NaN))).toEqual({ refused: expect.stringContaining('commands not logged') });
    expect(zigZag(times, heading, times.map(() => 1))).toEqual({ refused: expect.stringContaining('never reversed') });
  });

  it.skipIf(!existsSync(RECORD))('reads a recorded 20/20 zig-zag: reversals at 20 degrees, overshoots as the record shows them, a first-order yaw', () => {
    const text = execFileSync('xz', ['-dc', RECORD.pathname], { maxBuffer: 1 << 26 }).toString('utf8');
    const [head, ...lines] = text.trim().split('\n');
    const names = head!.split(',');
    const column = (name: string): Float64Array => Float64Array.from(lines, (line) => Number(line.split(',')[name === 't' ? 0 : names.indexOf(name)]));
    const t = column('t');
    const psi = column('psi').map((value) => (value * 180) / Math.PI);
    const delta = column('delta');
    // The sign of the rudder by which the yaw follows: the record's own convention is told from the data.
    const r = column('r');
    let lag = 0;
    for (let i = 0; i + 100 < t.length; i++) lag += delta[i]! * r[i + 100]!;
    const helm = delta.map((value) => Math.sign(lag) * value);
    const found = good(zigZag(t, psi, helm));
    // Independent reading: from where the rudder leaves its stop (20 degrees, 0.349 rad) to the furthest heading while it lies on
    // the other. The first order falls at a heading of 20 degrees; the later ones do not, as the record's heading wanders.
    expect(found.reversals).toBeGreaterThanOrEqual(4);
    const atStop = (i: number, side: number): boolean => helm[i]! * side > 0.34;
    let row = 0;
    const expected: number[] = [];
    for (let side = helm.find((value) => Math.abs(value) > 0.34)! > 0 ? 1 : -1; row < helm.length; side = -side) {
      while (row < helm.length && !atStop(row, side)) row++;
      while (row < helm.length && atStop(row, side)) row++;
      if (row >= helm.length) break;
      if (expected.length === 0) expect(Math.abs(psi[row]!)).toBeCloseTo(20, 0);
      let end = row;
      while (end < helm.length && !atStop(end, -side)) end++;
      while (end < helm.length && atStop(end, -side)) end++;
      let furthest = -Infinity;
      for (let j = row; j < end; j++) furthest = Math.max(furthest, psi[j]! * side);
      if (end < helm.length) expected.push(furthest - psi[row]! * side);
    }
    expect(expected.length).toBeGreaterThanOrEqual(3);
    expected.forEach((value, i) => expect(Math.abs(found.overshootsDeg[i]! - value), `overshoot ${i}`).toBeLessThan(0.4));
    // scipy on the heading of every tenth sample, the equation integrated by an adaptive Runge-Kutta method.
    const { k, tS, neutral, residualSdDeg } = good(found.nomoto);
    expect(tS.value / reference.tS).toBeCloseTo(1, 2);
    expect(k.value / reference.k).toBeCloseTo(1, 2);
    expect(neutral).toBeCloseTo(reference.neutral, 3);
    expect(residualSdDeg / reference.rmsDeg).toBeCloseTo(1, 1);
    // Overshoots of 10 to 20 degrees, and the heading followed to within one.
    expect(residualSdDeg).toBeLessThan(1);
  });
});
