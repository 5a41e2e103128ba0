import { describe, expect, it } from 'vitest';
import { createSideScanGround, NO_SIDE_SCAN_ERRORS, SEA_BED_KINDS } from '../../src/proving/index.js';
import type { SeaBedObject, SideScanGround, SideScanGroundOptions } from '../../src/proving/index.js';
import { ORIGIN_E_M, ORIGIN_N_M } from '../../src/proving/floor.js';
import { findSentences } from './run-survey.js';
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
      expect(first).toBe(Math.round(heightM / SAMPLE_M));
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

  it('shadow is dark but for what the other side hears: crosstalk 32 dB down, and nothing else', async () => {
    const objects = [box(14 * scaleAtOrigin(), 1.5)];
    const ground = createSideScanGround(3, { ...STILL, objects, errors: { ...NO_SIDE_SCAN_ERRORS, crosstalk: true } });
    const k = middlePing(ground);
    const { port, starboard } = await ground.logs[0]!.reader.read(k, k + 1);
    const heightM = ground.truth.pings[0]!.heightM[k]!;
    const middle = Math.round((Math.hypot(15, heightM - 1.5) / SAMPLE_M + Math.hypot((15 * heightM) / (heightM - 1.5), heightM) / SAMPLE_M) / 2);
    // Amplitudes are whole numbers: a shadow of 23 is known to 2 %.
    expect(20 * Math.log10(port[middle]! / starboard[middle]!)).toBeCloseTo(-32, 0);
  });

  it('surface return: begins at the depth of the sonar below the surface, and is off when it is off', async () => {
    for (const surfaceReturn of [true, false]) {
      const ground = createSideScanGround(3, { ...STILL, sonar: { draftM: 2 }, errors: { ...NO_SIDE_SCAN_ERRORS, surfaceReturn } });
      const k = middlePing(ground);
      const { port } = await ground.logs[0]!.reader.read(k, k + 1);
      const first = port.findIndex((value) => value > 0);
      expect(first).toBe(Math.round((surfaceReturn ? 2 : ground.truth.pings[0]!.heightM[k]!) / SAMPLE_M));
    }
  });

  it('seagrass: its stalks answer before the floor, up to their height of 0.4 m, and the floor is still the strongest near it', async () => {
    const ground = createSideScanGround(5, { ...STILL, ground: 'grass', lengthM: 60 });
    const { kind, heightM, xM, yM, line } = ground.truth.pings[0]!;
    const { port, n, width } = await ground.logs[0]!.reader.read(0, ground.logs[0]!.reader.heads.n);
    let checked = 0;
    for (let k = 0; k < n; k++) {
      if (line[k] !== 0 || SEA_BED_KINDS[kind[k]!] !== 'grass' || ground.bed.canopyM(xM[k]!, yM[k]!) < 0.25) continue;
      const row = port.subarray(k * width, (k + 1) * width);
      const first = row.findIndex((value) => value > 0) * SAMPLE_M;
      expect(heightM[k]! - first).toBeGreaterThan(0.1);
      expect(heightM[k]! - first).toBeLessThan(0.5);
      const around = Array.from({ length: 12 }, (_, i) => row[Math.floor((heightM[k]! - 0.5) / SAMPLE_M) + i]!);
      expect(Math.abs((Math.floor((heightM[k]! - 0.5) / SAMPLE_M) + around.indexOf(Math.max(...around))) * SAMPLE_M - heightM[k]!)).toBeLessThan(0.35);
      checked++;
    }
    expect(checked).toBeGreaterThan(20);
  });

  it('clock and range: offset and drift are in the heads and not in the truth; range falls to three quarters on the third line', () => {
    const ground = createSideScanGround(3, { lines: 4, lengthM: 60, spacingM: 20, errors: { clockOffsetS: 1.7, clockDriftPpm: 200, rangeChange: true } });
    const { heads } = ground.logs[0]!.reader;
    const truth = ground.truth.pings[0]!;
    const last = heads.n - 1;
    expect(heads.timeS[0]! - truth.timeS[0]!).toBeCloseTo(1.7, 3);
    expect(heads.timeS[last]! - truth.timeS[last]! - 1.7).toBeCloseTo(200e-6 * (truth.timeS[last]! - truth.timeS[0]!), 3);
    const shorter = [...heads.intervalS.keys()].filter((k) => heads.intervalS[k]! < 0.9 * heads.intervalS[0]!);
    expect(shorter.length).toBeGreaterThan(50);
    expect(shorter.every((k) => truth.line[k] === 2)).toBe(true);
    expect(heads.intervalS[shorter[0]!]).toBeCloseTo(0.75 * heads.intervalS[0]!, 8);
  });

  it('a look at an object: the ping, side and range are those of a search through the track', () => {
    const ground = createSideScanGround(11, { lines: 3, lengthM: 80 });
    const truth = ground.truth.pings[0]!;
    expect(ground.truth.looks.length).toBeGreaterThan(8);
    for (const look of ground.truth.looks.filter(({ line }) => line >= 0)) {
      const object = ground.objects[look.object]!;
      // Brute force: of the pings of this line, the one whose beam passes nearest the object.
      let best = -1;
      let least = Infinity;
      for (let k = 0; k < truth.n; k++) {
        if (truth.line[k] !== look.line) continue;
        const bearing = Math.atan2(object.xM - truth.xM[k]!, object.yM - truth.yM[k]!) - (truth.gridHeadingDeg[k]! * Math.PI) / 180;
        const along = Math.abs(Math.hypot(object.xM - truth.xM[k]!, object.yM - truth.yM[k]!) * Math.cos(bearing));
        if (along < least) [least, best] = [along, k];
      }
      // The bow swings: the beam may pass an object more than once within a few pings.
      expect(Math.abs(look.record - best)).toBeLessThan(12);
      const bearing = Math.atan2(object.xM - truth.xM[best]!, object.yM - truth.yM[best]!) - (truth.gridHeadingDeg[best]! * Math.PI) / 180;
      expect(look.side).toBe(Math.sin(bearing) < 0 ? 'port' : 'starboard');
      expect(Math.hypot(look.groundM, look.heightM)).toBeCloseTo(look.slantM, 6);
    }
  });

  it('samples are the same whatever is read first', async () => {
    const [a, b] = [createSideScanGround(2, { lines: 1, lengthM: 30 }), createSideScanGround(2, { lines: 1, lengthM: 30 })];
    const late = await a.logs[0]!.reader.read(100, 102);
    const whole = await b.logs[0]!.reader.read(0, 102);
    expect(late.port).toEqual(whole.port.subarray(100 * 512));
    await expect(a.logs[0]!.reader.read(5, 4)).rejects.toThrow(RangeError);
  });

  it('the NMEA log of the trip holds the depths of the same floor', () => {
    const ground = createSideScanGround(2, { lines: 1, lengthM: 60, undulationM: 0, depthM: 6, errors: NO_SIDE_SCAN_ERRORS });
    const depths = findSentences(Buffer.from(ground.nmea.bytes))
      .filter(({ body }) => body.startsWith('SDDBT'))
      .map(({ body }) => Number(body.split(',')[3]));
    expect(depths.length).toBeGreaterThan(200);
    for (const depthM of depths) expect(depthM).toBeCloseTo(6 + 1 - 0.3, 2);
  });
});
