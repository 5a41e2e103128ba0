import { describe, expect, it } from 'vitest';
import { BOTTOM_SOURCE, trackBottom } from '../../src/imagery/bottom-track.js';
import { createSideScanGround, type SideScanGroundKind } from '../../src/proving/index.js';

/** Bottom track of one line over a ground of the proving ground, against its truth. */
async function heightsOver(ground: SideScanGroundKind, seed: number, draftM = 0.35) {
  const made = createSideScanGround(seed, { ground, lines: 1, lengthM: 150, objects: 4, turns: false, sonar: { rays: 1, draftM } });
  const { reader } = made.logs[0]!;
  const { heads } = reader;
  const truth = made.truth.pings[0]!;
  const track = await trackBottom(heads, (start, end) => reader.read(start, end), { soundSpeedMps: 1500 });
  const off: number[] = [];
  for (let row = 0; row < heads.n; row++) if (truth.silent[row] === 0) off.push(track.heightM[row]! - truth.heightM[row]!);
  return { off, track, truth };
}

const shareWithin = (off: readonly number[], limitM: number): number => off.filter((each) => Math.abs(each) <= limitM).length / off.length;

describe('bottom track on the proving ground', () => {
  for (const ground of ['plain', 'rippled', 'gravel', 'mud', 'grass'] as const) {
    it(`trackBottom: within 0.25 m of the truth on 99 % of pings over ${ground} ground`, async () => {
      const { off } = await heightsOver(ground, 31);
      expect(shareWithin(off, 0.25)).toBeGreaterThanOrEqual(0.99);
    });
  }
  it('trackBottom: within 0.25 m when the sonar hangs 2 m down and the surface sends an echo', async () => {
    const { off } = await heightsOver('grass', 32, 2);
    expect(shareWithin(off, 0.25)).toBeGreaterThanOrEqual(0.99);
  });
  it('trackBottom: within 0.25 m of straight below on 95 % of pings over rock, whose first echo is that of the nearest ledge', async () => {
    for (const [ground, seed] of [['rocky', 33], ['mixed', 31]] as const) {
      const { off, track } = await heightsOver(ground, seed);
      expect(track.source.filter((source) => source === BOTTOM_SOURCE.none).length).toBe(0);
      expect(shareWithin(off, 0.25), ground).toBeGreaterThanOrEqual(0.95);
    }
  });
});
