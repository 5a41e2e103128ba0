import { createRandom, type Random } from '../../src/base/random.js';
import type { Picture } from '../../src/finds/detect.js';

/** A box on the floor: near side and along-track middle, size and height [m]. */
export interface Planted {
  readonly nearM: number;
  readonly alongM: number;
  readonly sizeM: number;
  readonly topM: number;
  readonly echoDb: number;
}

export interface SceneOptions {
  readonly seed: number;
  readonly lengthM: number;
  readonly rangeM: number;
  readonly heightM: number;
  readonly ground: 'plain' | 'ripples' | 'rock';
  readonly planted: readonly Planted[];
}

const STEP_M = 0.19;
const BIN_M = 0.1;
const BEAM_RAD = Math.PI / 180;
/** What is heard of a shadow against the floor [dB]: noise and volume. */
const SHADOW_DB = -14;

/**
 * One side of a side-scan picture by ground range, drawn by rays of its own: reflectivity of the floor and of boxes, shadows
 * behind what stands up, blurred along the track by the beam, under the speckle of an echo of many scatterers (exponential intensity).
 */
export function drawScene(options: SceneOptions): Picture {
  const random = createRandom(options.seed);
  const n = Math.round(options.lengthM / STEP_M);
  const width = Math.round(options.rangeM / BIN_M);
  const power = new Float64Array(n * width).fill(1);
  if (options.ground === 'ripples') ripples(power, n, width, random);
  const boxes = [...options.planted];
  if (options.ground === 'rock') boxes.push(...rocks(random, options));
  for (const box of boxes) draw(power, n, width, box, options.heightM);
  const levelDb = new Float32Array(n * width);
  for (let bin = 0; bin < width; bin++) {
    const slant = Math.hypot((bin + 0.5) * BIN_M, options.heightM);
    const half = Math.max(0, Math.round((slant * BEAM_RAD) / STEP_M / 2));
    for (let row = 0; row < n; row++) {
      let sum = 0;
      let weight = 0;
      for (let k = -half - 1; k <= half + 1; k++) {
        const at = Math.min(n - 1, Math.max(0, row + k));
        // Two-way pattern, near a bell as wide as the beam at half power.
        const w = Math.exp(-2.77 * ((k * STEP_M) / Math.max(STEP_M / 2, slant * BEAM_RAD)) ** 2);
        sum += w * power[at * width + bin]!;
        weight += w;
      }
      levelDb[row * width + bin] = 10 * Math.log10((sum / weight) * -Math.log(1 - random.uniform())) + 1.05;
    }
  }
  return { n, width, binM: BIN_M, levelDb, heightM: new Float32Array(n).fill(options.heightM), stepM: STEP_M };
}

function draw(power: Float64Array, n: number, width: number, box: Planted, h: number): void {
  const rowStart = Math.round((box.alongM - box.sizeM / 2) / STEP_M);
  const rowEnd = Math.round((box.alongM + box.sizeM / 2) / STEP_M);
  // Slant ranges of near top edge, far top edge and shadow end, shown where a flat floor would be heard at them.
  const shownAt = (slant: number): number => Math.sqrt(Math.max(0, slant * slant - h * h));
  const far = box.nearM + box.sizeM;
  const from = shownAt(Math.hypot(box.nearM, h - box.topM));
  const to = shownAt(Math.hypot(far, h - box.topM));
  const end = (far * h) / (h - box.topM);
  for (let row = Math.max(0, rowStart); row < Math.min(n, Math.max(rowEnd, rowStart + 1)); row++) {
    for (let bin = Math.max(0, Math.floor(from / BIN_M)); bin < Math.min(width, Math.ceil(end / BIN_M)); bin++) {
      const middle = (bin + 0.5) * BIN_M;
      if (middle >= from && middle < to) power[row * width + bin] = 10 ** (box.echoDb / 10) * (middle < from + 0.35 ? 1 : 0.5);
      else if (middle >= to && middle < end) power[row * width + bin] = 10 ** (SHADOW_DB / 10);
    }
  }
}

/** Sand ripples a metre or so apart, their crests oblique to the track, wandering. */
function ripples(power: Float64Array, n: number, width: number, random: Random): void {
  const lambda = random.between(0.6, 1.4);
  const angle = random.between(0, Math.PI);
  const [kx, ky] = [(2 * Math.PI * Math.cos(angle)) / lambda, (2 * Math.PI * Math.sin(angle)) / lambda];
  const [p1, p2, p3] = [random.between(0, 6), random.between(0, 6), random.between(0, 6)];
  for (let row = 0; row < n; row++) {
    for (let bin = 0; bin < width; bin++) {
      const [x, y] = [row * STEP_M, bin * BIN_M];
      const phase = kx * x + ky * y + 1.5 * Math.sin(x / 5 + p1) + 1.5 * Math.sin(y / 4 + p2);
      const patch = 0.5 + 0.5 * Math.sin(x / 17 + y / 13 + p3);
      power[row * width + bin]! *= 10 ** ((4 * patch * Math.sin(phase)) / 10);
    }
  }
}

/** Patches of stones of all sizes, each with its own shadow. */
function rocks(random: Random, options: SceneOptions): Planted[] {
  const stones: Planted[] = [];
  const patches = Math.max(1, Math.round((options.lengthM * options.rangeM) / 500));
  for (let p = 0; p < patches; p++) {
    const [along, across, radius] = [random.between(0, options.lengthM), random.between(3, options.rangeM), random.between(3, 8)];
    for (let s = 0; s < radius * radius * 1.5; s++) {
      const [a, r] = [random.between(0, 2 * Math.PI), radius * Math.sqrt(random.uniform())];
      const sizeM = 0.15 / Math.sqrt(1 - 0.97 * random.uniform());
      const nearM = across + r * Math.sin(a);
      if (nearM < 2 || nearM > options.rangeM - 1) continue;
      stones.push({ nearM, alongM: along + r * Math.cos(a), sizeM, topM: sizeM * random.between(0.2, 0.6), echoDb: random.between(2, 9) });
    }
  }
  return stones;
}
