import { describe, expect, it } from 'vitest';
import { createSideScanGround, NO_SIDE_SCAN_ERRORS } from '../../src/proving/index.js';
import type { SeaBedObject, SideScanGround, SideScanGroundOptions } from '../../src/proving/index.js';
import { ORIGIN_E_M, ORIGIN_N_M } from '../../src/proving/floor.js';
import { scaleAtOrigin } from './scale-at-origin.js';

const STILL: Partial<SideScanGroundOptions> = { lines: 1, lengthM: 40, undulationM: 0, objects: [], errors: NO_SIDE_SCAN_ERRORS };

/** Row of the ping abeam of the middle of the first line. */
function middlePing(ground: SideScanGround): number {
  const { xM } = ground.truth.pings[0]!;
  let best = 0;
  for (let k = 0; k < xM.length; k++) {
    if (ground.truth.pings[0]!.line[k] === 0 && Math.abs(xM[k]! - ORIGIN_E_M) < Math.abs(xM[best]! - ORIGIN_E_M)) best = k;
  }
  return best;
}

function box(northM: number, heightM: number, sizeM = 2): SeaBedObject {
  return { name: 'box', shape: 'box', xM: ORIGIN_E_M, yM: ORIGIN_N_M + northM, lengthM: 6, widthM: sizeM, heightM, headingDeg: 90, strengthDb: 0, natural: false };
}

const SAMPLE_M = 40 / 512;

describe('side-scan of the proving ground', () => {
  it('flat floor: nothing before the slant range straight down, and the height is depth + level - draft', async () => {
    const ground = createSideScanGround(3, { ...STILL, depthM: 9 });
    const k = middlePing(ground);
    const heightM = 9 + 1 - 0.35;
    expect(ground.truth.pings[0]!.heightM[k]).toBeCloseTo(heightM, 5);
    const { port, starboard } = await ground.logs[0]!.reader.read(k, k + 1);
    for (const side of [port, starboard]) {
      const first = side.findIndex((value) => value > 0);
      expect(first).toBe(Math.floor(heightM / SAMPLE_M));
      expect(side.slice(0, first).every((value) => value === 0)).toBe(true);
    }
  });

  it.each([
    [12, 0.5],
    [20, 1],
    [15, 2],
  ])('box at %d m, %d m high: its shadow ends where the ray over its far edge meets the floor (similar triangles)', async (groundM, boxM) => {
    // Lines run east: a box to the north lies to port. Frame metres are a little longer than the ground's.
    const ground = createSideScanGround(3, { ...STILL, objects: [box(groundM * scaleAtOrigin(), boxM)] });
    const k = middlePing(ground);
    const { port } = await ground.logs[0]!.reader.read(k, k + 1);
    const heightM = ground.truth.pings[0]!.heightM[k]!;
    const farEdgeM = groundM + 1;
    const endGroundM = (farEdgeM * heightM) / (heightM - boxM);
    const endSlantM = Math.hypot(endGroundM, heightM);
    const topM = Math.hypot(farEdgeM, heightM - boxM);
    const start = Math.ceil(topM / SAMPLE_M) + 1;
    const end = Math.floor(endSlantM / SAMPLE_M) - 1;
    expect(end - start).toBeGreaterThan(8);
    for (let i = start; i < end; i++) expect(port[i]).toBe(0);
    expect(port[end + 3]).toBeGreaterThan(0);
    // Highlight: the face toward the sonar outshines the floor before it.
    const face = Math.floor(Math.hypot(groundM - 1, heightM) / SAMPLE_M);
    const peak = Math.max(...port.slice(face - 4, face + 4));
    expect(peak).toBeGreaterThan(3 * port[face - 12]!);
  });
});
