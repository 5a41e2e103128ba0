/**
 * Measures, on objects planted on the proving ground, the chance of being proposed by range (lateral range curves) and the found
 * against the false. Run by hand, niced, a quarter of an hour:
 *
 *   TALLOW_MEASURE_CURVES=out.json npx vitest run test/finds/measure-curves.test.ts
 *
 * What counts as found and as false: src/proving/find-truth.ts. Boxes as long as wide and half as high, at all headings, 1 to 39 m
 * off two lines of 150 m, in turn 4 and 7.7 m below the sonar; sonar of 0.7 degrees,
 * 40 m range, 512 samples, 8 pings a second, 1.5 m/s; boat in a swell, speckle, noise, surface return, crosstalk, dropouts.
 */
import { createRandom, type Random } from '../../../src/base/random.js';
import type { Side } from '../../../src/base/sonar.js';
import type { Sighting } from '../../../src/finds/sighting.js';
import { isHeld } from '../../../src/proving/compare-imagery.js';
import { isClearLook, isLook, isOfObject } from '../../../src/proving/find-truth.js';
import { createSideScanGround, type SideScanGroundOptions } from '../../../src/proving/index.js';
import { lookAtGround } from '../../finds/proving-look.js';

export interface LookRow {
  readonly ground: string;
  readonly sizeM: number;
  readonly rangeByHeight: number;
  readonly groundM: number;
  readonly clear: boolean;
  /** Of the sighting that hit it; null where none did. */
  readonly falsePerHa: number | null;
  /** Height read off over true, in its own sigmas. */
  readonly heightShare: number | null;
  readonly heightSigmas: number | null;
  readonly shadowM: number;
  /** Share of errors of the sonar's place and heading, drawn anew for each look as they are stated, with which the 95 % ellipse holds the object. */
  readonly held: number | null;
}

export interface CurveRun {
  readonly looks: readonly LookRow[];
  /** falsePerHa of each sighting that was of no object. */
  readonly wrong: readonly number[];
  readonly areaHa: number;
}

export const MOST_FALSE_PER_HA = 10;
/** Objects nearer to another than this are not asked for [m]. */
const ALONE_M = 8;
/** How well the sonar's place and heading are said to be known. */
const KNOWN = { positionM: 0.3, headingDeg: 0.5, heightM: 0.03 };
const DRAWS = 50;

/** How often the 95 % ellipse of a sighting, placed on the true track, holds its object when the track's errors are drawn as they are stated. */
function heldShare({ place }: Sighting, object: { readonly xM: number; readonly yM: number }, side: Side, gridHeadingDeg: number, groundM: number, random: Random): number {
  const heading = (gridHeadingDeg * Math.PI) / 180;
  let held = 0;
  for (let k = 0; k < DRAWS; k++) {
    // Turned clockwise, what lies to starboard is placed further astern.
    const along = (side === 'port' ? 1 : -1) * groundM * (KNOWN.headingDeg * Math.PI / 180) * random.normal();
    const xM = place.xM + KNOWN.positionM * random.normal() + along * Math.sin(heading);
    const yM = place.yM + KNOWN.positionM * random.normal() + along * Math.cos(heading);
    if (isHeld({ ...place, xM, yM }, object)) held++;
  }
  return held / DRAWS;
}

export async function measureRun(ground: SideScanGroundOptions['ground'], sizeM: number, depthM: number, seed: number): Promise<CurveRun> {
  const random = createRandom(seed * 1000 + Math.round(sizeM * 100));
  const scene = { ground, lines: 2, lengthM: 150, spacingM: 45, depthM, turns: false, sonar: { rays: 3 } } as const;
  const { lines } = createSideScanGround(seed, { ...scene, objects: 0 });
  const objects = Array.from({ length: 20 }, (_, i) => {
    const [ax, ay, bx, by] = lines[i % 2]!.path as unknown as [number, number, number, number];
    const lengthM = Math.hypot(bx - ax, by - ay);
    const [ux, uy] = [(bx - ax) / lengthM, (by - ay) / lengthM];
    const along = ((Math.floor(i / 2) + random.between(0.35, 0.65)) / 10) * lengthM;
    const off = (random.uniform() < 0.5 ? -1 : 1) * random.between(1, 39);
    return { name: `box ${i}`, shape: 'box' as const, xM: ax + along * ux + off * uy, yM: ay + along * uy - off * ux, lengthM: sizeM, widthM: sizeM, heightM: sizeM / 2, headingDeg: random.between(0, 180), strengthDb: 0, natural: false };
  });
  const survey = createSideScanGround(seed, { ...scene, objects });
  const { sightings, areaHa } = await lookAtGround(survey, { objectM: 0.6, objectHeightM: 0.3, beamDeg: 0.7, falsePerHa: MOST_FALSE_PER_HA }, { ...KNOWN, seed });
  const pings = survey.truth.pings[0]!;
  // Two so near that they may show as one tell nothing, and a bow that swings passes an object more than once.
  const alone = objects.map((one) => objects.every((other) => other === one || Math.hypot(one.xM - other.xM, one.yM - other.yM) >= ALONE_M));
  const first = new Map(survey.truth.looks.filter((look) => isLook(look, pings) && alone[look.object]!).reverse().map((look) => [`${look.object} ${look.line} ${look.side}`, look]));
  const looks = [...first.values()].map((look): LookRow => {
    const object = survey.objects[look.object]!;
    const hit = sightings.find((one) => one.line === look.line && one.side === look.side && isOfObject(one.place.xM, one.place.yM, object));
    return {
      ground, sizeM,
      rangeByHeight: look.groundM / look.heightM,
      groundM: look.groundM,
      clear: isClearLook(look, pings, survey.sonar.rangeM),
      falsePerHa: hit?.falsePerHa ?? null,
      heightShare: hit === undefined || Number.isNaN(hit.height.value) ? null : hit.height.value / object.heightM,
      heightSigmas: hit === undefined || Number.isNaN(hit.height.value) ? null : (hit.height.value - object.heightM) / hit.height.sigma,
      shadowM: look.shadowM,
      held: hit === undefined ? null : heldShare(hit, object, look.side, pings.gridHeadingDeg[look.record]!, look.groundM, random),
    };
  });
  return { looks, wrong: sightings.filter(({ place: { xM, yM } }) => !objects.some((object) => isOfObject(xM, yM, object))).map(({ falsePerHa }) => falsePerHa), areaHa };
}
