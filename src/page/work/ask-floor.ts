import { cellShares } from '../../depths/cell-shares.js';
import { depthProfile } from '../../depths/profile.js';
import { slopeDegrees } from '../../depths/slope-rugosity.js';
import { volumesAgainst } from '../../depths/volumes.js';
import type { FloorAnswer, FloorQuestion } from './depths-messages.js';
import type { Floor } from './read-floor.js';

/** What the surface says along a line or inside a shape. */
export function answerFloor(floor: Floor, question: FloorQuestion): FloorAnswer {
  if (question.kind === 'profile') {
    const profile = depthProfile(floor, question.line);
    const [shoalM, deepM] = ends(profile.depthM, () => 1);
    let known = 0;
    for (const depth of profile.depthM) if (depth === depth) known++;
    return { kind: 'profile', profile, shoalM, deepM, knownShare: known / profile.n };
  }
  const { ring, levelM } = question;
  const shares = cellShares([{ outer: ring, holes: [] }], floor.depth.grid);
  const volumes = volumesAgainst(floor, { shares, levelM });
  const [shoalM, deepM] = ends(floor.depth.values, (cell) => shares[cell] as number);
  const [shoalBoundM] = ends(floor.depth.values.map((depth, cell) => depth - (floor.uncertainty.values[cell] as number)), (cell) => shares[cell] as number);
  const slopes = slopeDegrees(floor.depth).values;
  const inside: number[] = [];
  let [sum, weight] = [0, 0];
  for (let cell = 0; cell < shares.length; cell++) {
    const share = shares[cell] as number;
    const depth = floor.depth.values[cell] as number;
    if (!(share > 0) || depth !== depth) continue;
    sum += share * depth;
    weight += share;
    if (Number.isFinite(slopes[cell])) inside.push(slopes[cell] as number);
  }
  inside.sort((a, b) => a - b);
  return {
    kind: 'inside',
    areaM2: ringAreaM2(ring),
    volumes,
    levelM,
    shoalM,
    shoalBoundM,
    deepM,
    meanM: weight > 0 ? sum / weight : NaN,
    slopeMeanDeg: inside.length === 0 ? NaN : inside.reduce((total, one) => total + one, 0) / inside.length,
    slopeP90Deg: inside[Math.floor(inside.length * 0.9)] ?? NaN,
  };
}

function ends(values: ArrayLike<number>, shareOf: (i: number) => number): [number, number] {
  let [low, high] = [Infinity, -Infinity];
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number;
    if (value !== value || !(shareOf(i) > 0)) continue;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return high >= low ? [low, high] : [NaN, NaN];
}

/** Area of a ring without a repeated last vertex [m2]. */
function ringAreaM2(ring: Float64Array): number {
  const n = ring.length / 2;
  let twice = 0;
  for (let i = 0; i < n; i++) {
    const j = (i + 1) % n;
    twice += (ring[2 * i] as number) * (ring[2 * j + 1] as number) - (ring[2 * j] as number) * (ring[2 * i + 1] as number);
  }
  return Math.abs(twice) / 2;
}
