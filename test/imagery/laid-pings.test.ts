import { describe, expect, it } from 'vitest';
import { laidPings } from '../../src/imagery/laid-pings.js';
import { PING_FAULT } from '../../src/imagery/sonar-track.js';

/** Headings ping by ping, ten a second, all on line 4 unless said otherwise. */
function run(headings: readonly number[], changes: { line?: (row: number) => number; fault?: (row: number) => number } = {}) {
  const n = headings.length;
  return {
    n,
    timeS: Float64Array.from({ length: n }, (_, row) => row / 10),
    gridHeadingDeg: Float32Array.from(headings),
    line: Int32Array.from({ length: n }, (_, row) => changes.line?.(row) ?? 4),
    fault: Uint8Array.from({ length: n }, (_, row) => changes.fault?.(row) ?? PING_FAULT.none),
  };
}
const rowsOf = (used: Uint8Array): number[] => [...used].flatMap((each, row) => (each === 1 ? [row] : []));
const span = (start: number, end: number): number[] => Array.from({ length: end - start }, (_, k) => start + k);

describe('laidPings', () => {
  it('the turn at either end of a line is left out, across north too; the line itself is not', () => {
    for (const own of [90, 2, 358]) {
      const heading = (row: number): number => (own + (row < 20 ? row - 20 : row >= 120 ? row - 119 : 0) + 360) % 360;
      expect(rowsOf(laidPings(run(span(0, 140).map(heading)), false, 2))).toEqual(span(14, 126));
    }
  });
  it('a boat that yaws on the line keeps its ends', () => {
    const headings = span(0, 200).map((row) => 90 + 8 * Math.sin(row / 5));
    expect(rowsOf(laidPings(run(headings), false, 2))).toEqual(span(0, 200));
  });
  it('a few pings between those of a turn in mid-line are part of the turn, longer stretches are not; a lost position parts nothing', () => {
    const turning = new Set([...span(50, 60), ...span(63, 70), ...span(85, 90)]);
    const fault = (row: number): number => (turning.has(row) ? PING_FAULT.turning : row === 110 || row === 113 ? PING_FAULT.position : PING_FAULT.none);
    const used = rowsOf(laidPings(run(span(0, 140).map(() => 90), { fault }), false, 2));
    expect(used).toEqual([...span(0, 50), ...span(70, 85), ...span(90, 110), 111, 112, ...span(114, 140)]);
  });
  it('ways between lines are left out, and used where they are asked for or where there is no line at all', () => {
    const headings = span(0, 90).map((row) => (row < 30 || row >= 60 ? 90 : 90 + (row - 30) * 6));
    const line = (row: number): number => (row < 30 ? 1 : row >= 60 ? 2 : -1);
    expect(rowsOf(laidPings(run(headings, { line }), false, 2))).toEqual([...span(0, 30), ...span(60, 90)]);
    expect(rowsOf(laidPings(run(headings, { line }), true, 2))).toEqual(span(0, 90));
    expect(rowsOf(laidPings(run(headings, { line: () => -1 }), false, 2))).toEqual(span(0, 90));
  });
});
