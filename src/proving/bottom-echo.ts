import { GRASS, SEA_BED_KINDS, type SeaBedKind } from './sea-bed.js';
import type { VerticalBeam } from './vertical-beam.js';

/** How a bottom answers. */
interface Answer {
  /** Lambert's coefficient: strength of a square metre seen straight on [dB]. */
  readonly lambertDb: number;
  /** Near straight on, facets answer as mirrors: strength there [dB], and their root mean square slope [1]. */
  readonly mirrorDb: number;
  readonly slope: number;
}

/** Invented, in the order and about the size of what is measured at some hundred kHz (from memory). */
const ANSWERS: Readonly<Record<SeaBedKind, Answer>> = {
  sand: { lambertDb: -22, mirrorDb: -9, slope: 0.16 },
  gravel: { lambertDb: -17, mirrorDb: -10, slope: 0.22 },
  mud: { lambertDb: -31, mirrorDb: -14, slope: 0.1 },
  rock: { lambertDb: -13, mirrorDb: -11, slope: 0.3 },
  grass: { lambertDb: -22, mirrorDb: -11, slope: 0.16 },
  ripples: { lambertDb: -22, mirrorDb: -9, slope: 0.16 },
};
const KINDS = SEA_BED_KINDS.length;
const LAMBERT = Float64Array.from(SEA_BED_KINDS, (kind) => 10 ** (ANSWERS[kind].lambertDb / 10));
const MIRROR = Float64Array.from(SEA_BED_KINDS, (kind) => 10 ** (ANSWERS[kind].mirrorDb / 10));
const TWICE_SLOPE2 = Float64Array.from(SEA_BED_KINDS, (kind) => 2 * ANSWERS[kind].slope ** 2);
/** Lambert's coefficient of rock, from which an object's strength is reckoned [1]. */
const OBJECT = 10 ** -1.3;
/** Seagrass answers by its volume [1 per m] and takes this much of what goes through it, one way [1 per m]. */
const GRASS_VOLUME = 10 ** -2.0;
const GRASS_LOSS = 1.6;

/** The floor below one ray, from straight under the sonar outward. Shape of every column: [n], points `stepM` apart. */
export interface RayFloor {
  n: number;
  readonly stepM: number;
  /** Below the sonar, objects and ripples included [m]; the ray ends at the first NaN. */
  readonly downM: Float64Array;
  readonly kind: Uint8Array;
  readonly canopyM: Float64Array;
  /** Strength above rock where an object is, as a ratio; 0 where none is. */
  readonly object: Float64Array;
}

/** How a ray's echo is put together. */
export interface RaySetting {
  readonly beam: VerticalBeam;
  /** Of the beam's axis, roll included: out to the side and down. */
  axisOut: number;
  axisDown: number;
  /** Width of the strip the ray stands for, at the sonar and what it grows by with range [m, rad]. */
  readonly apertureM: number;
  readonly beamRad: number;
  /** Power left at a range, to the floor and back. */
  readonly spreading: (rangeM: number) => number;
  /** Share of the beam this ray has [1]. */
  weight: number;
}

const TABLE_STEP_M = 0.02;
const TABLE_FROM_M = 2;

/**
 * r^-4 exp(-2 loss r), from a table beyond 2 m: within 3 parts in 10 000 there, exact nearer and beyond the table.
 * @param lossPerM one way, of power [1/m]
 */
export function createSpreading(lossPerM: number, rangeM: number): (rangeM: number) => number {
  const exact = (r: number): number => Math.exp(-2 * lossPerM * r) / (r * r * r * r);
  const cells = Math.ceil(rangeM / TABLE_STEP_M) + 2;
  const table = Float64Array.from({ length: cells + 1 }, (_, i) => exact(Math.max(1, i) * TABLE_STEP_M));
  return (r) => {
    const at = r / TABLE_STEP_M;
    if (!(r >= TABLE_FROM_M && at < cells)) return exact(r);
    const i = at | 0;
    return table[i]! + (table[i + 1]! - table[i]!) * (at - i);
  };
}

/**
 * Adds the echo power of the floor along one ray to the samples, from which range it comes.
 *
 * Facets between points. Of each, the part that rises above everything nearer is lit: the ray's slope downward, depth over
 * distance out, must be less than all before; where only part of a facet is, the lit part is cut exactly. The lit part
 * answers with m sin^2(grazing) + mirror exp(-tan^2(incidence) / 2 s^2) for each square metre of its own face, over a strip
 * as wide as the beam is there; spreading r^-4 and absorption both ways, the beam's power both ways. Power goes to samples
 * in proportion to the slant range that the lit part covers. Upright faces, such as a box's side, so give highlights, and
 * what they hide gives nothing.
 *
 * Seagrass: three layers of stalks answer by volume, and weaken the floor below.
 *
 * @param sampleM slant range of a sample
 * @param firstM slant range of the start of sample 0
 * @param power [samples], added to
 * @returns the least slant range from which anything solid answered [m]; Infinity where nothing did
 *
 * Source: sonar equation for a surface, r^-4 with area r beam (c t / 2) / cos: Urick (1983), ch. 8; Lambert's law,
 * Urick (1983), ch. 8; occlusion by the horizon seen from the sonar, plane geometry.
 */
export function addRayEcho(floor: RayFloor, setting: RaySetting, firstM: number, sampleM: number, power: Float64Array): number {
  const { downM, kind, canopyM, object, stepM, n } = floor;
  const { beam, axisOut, axisDown, apertureM, beamRad, spreading, weight } = setting;
  const samples = power.length;
  let horizon = Infinity;
  let nearest = Infinity;
  let g0 = 0;
  let z0 = downM[0]!;
  let r0 = z0;
  for (let j = 1; j < n; j++) {
    const g1 = j * stepM;
    const z1 = downM[j]!;
    if (!(z1 === z1)) break;
    const slope1 = z1 / g1;
    const rb = Math.sqrt(g1 * g1 + z1 * z1);
    if (slope1 < horizon) {
      const dg = g1 - g0;
      const dz = z1 - z0;
      // The lit part begins where the facet rises above the horizon.
      let lit = 0;
      if (z0 < horizon * g0) lit = 0;
      else if (horizon < Infinity) lit = Math.min(1, Math.max(0, (horizon * g0 - z0) / (dz - horizon * dg)));
      const ga = g0 + lit * dg;
      const za = z0 + lit * dz;
      const gm = 0.5 * (ga + g1);
      const zm = 0.5 * (za + z1);
      const r = Math.sqrt(gm * gm + zm * zm);
      const face = Math.sqrt(dg * dg + dz * dz);
      const sine = Math.abs(gm * dz - zm * dg) / (r * face);
      const sine2 = Math.min(1, sine * sine);
      const out = gm / r;
      const down = zm / r;
      const oneWay = beam.power(out, down, axisOut, axisDown);
      const range = weight * (apertureM + r * beamRad) * oneWay * oneWay * spreading(r);
      const made = object[j]!;
      const what = made > 0 ? KINDS : kind[j]!;
      let answer: number;
      if (made > 0) answer = made * OBJECT * sine2;
      else {
        answer = LAMBERT[what]! * sine2;
        const tan2 = (1 - sine2) / sine2;
        if (tan2 < 12 * TWICE_SLOPE2[what]!) answer += MIRROR[what]! * Math.exp(-tan2 / TWICE_SLOPE2[what]!);
        if (what === GRASS) {
          const tallM = canopyM[j]!;
          // Grazing over grass, sound goes a long way through it.
          const through = tallM / Math.max(0.1, down);
          answer *= Math.exp(-2 * GRASS_LOSS * through);
          for (let layer = 0; layer < 3; layer++) {
            const top = (layer + 0.5) / 3;
            const zl = zm - tallM * top;
            if (zl > horizon * gm) continue;
            const rl = Math.sqrt(gm * gm + zl * zl);
            const at = Math.floor((rl - firstM) / sampleM);
            if (at >= 0 && at < samples) power[at]! += range * GRASS_VOLUME * (tallM / 3) * (1 - lit) * dg * Math.exp(-2 * GRASS_LOSS * through * (1 - top));
          }
        }
      }
      const energy = range * answer * face * (1 - lit);
      const ra = lit === 0 ? r0 : Math.sqrt(ga * ga + za * za);
      const from = ra < rb ? ra : rb;
      const to = ra < rb ? rb : ra;
      if (from < nearest) nearest = from;
      const a = (from - firstM) / sampleM;
      const b = (to - firstM) / sampleM;
      const ia = Math.floor(a);
      const ib = Math.floor(b);
      if (ia === ib) {
        if (ia >= 0 && ia < samples) power[ia]! += energy;
      } else {
        const each = energy / (b - a);
        if (ia >= 0 && ia < samples) power[ia]! += each * (ia + 1 - a);
        const stop = Math.min(ib, samples);
        for (let i = Math.max(ia + 1, 0); i < stop; i++) power[i]! += each;
        if (ib >= 0 && ib < samples) power[ib]! += each * (b - ib);
      }
      horizon = slope1;
    }
    g0 = g1;
    z0 = z1;
    r0 = rb;
  }
  return nearest;
}
