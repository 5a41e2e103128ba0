import type { Random } from '../../src/base/random.js';

/** A floor of waves in all directions, longer ones higher: amplitude about wavelength^1.3 / 400. */
export function wavyFloor(random: Random, shortestM = 8, longestM = 160): (xM: number, yM: number) => number {
  const waves = Array.from({ length: 40 }, (_, k) => {
    const length = shortestM * (longestM / shortestM) ** (k / 39);
    const direction = random.between(0, Math.PI);
    return { amplitude: length ** 1.3 / 1200, kx: (2 * Math.PI * Math.cos(direction)) / length, ky: (2 * Math.PI * Math.sin(direction)) / length, phase: random.between(0, 7) };
  });
  return (xM, yM) => waves.reduce((depth, w) => depth + w.amplitude * Math.sin(w.kx * xM + w.ky * yM + w.phase), 12);
}

export interface RunOptions {
  readonly sizeM: number;
  readonly spacingM: number;
  readonly headingDeg: number;
  /** One sigma: common to a line, and of each sounding [m]. */
  readonly lineSigmaM: number;
  readonly soundingSigmaM: number;
  readonly crossLines: number;
}

/** Soundings every 0.3 m along wandering parallel lines over a square, with errors of known size; tvuM is their true 95 %. */
export function runLines(floor: (xM: number, yM: number) => number, random: Random, options: RunOptions) {
  const { sizeM, spacingM, headingDeg, lineSigmaM, soundingSigmaM, crossLines } = options;
  const x: number[] = [];
  const y: number[] = [];
  const z: number[] = [];
  const line = (heading: number, offset: number) => {
    const bias = lineSigmaM * random.normal();
    const phase = random.between(0, 7);
    for (let along = -sizeM; along < sizeM; along += 0.3) {
      const across = offset + 0.8 * Math.sin(along / 23 + phase);
      const px = sizeM / 2 + along * Math.sin(heading) + across * Math.cos(heading);
      const py = sizeM / 2 + along * Math.cos(heading) - across * Math.sin(heading);
      if (px < 0 || py < 0 || px > sizeM || py > sizeM) continue;
      x.push(px);
      y.push(py);
      z.push(floor(px, py) + bias + soundingSigmaM * random.normal());
    }
  };
  const heading = (headingDeg * Math.PI) / 180;
  for (let offset = -sizeM; offset <= sizeM; offset += spacingM) line(heading, offset);
  for (let k = 0; k < crossLines; k++) line(heading + Math.PI / 2, ((k + 0.5) / crossLines - 0.5) * sizeM);
  const tvu = 1.96 * Math.hypot(lineSigmaM, soundingSigmaM);
  return { xM: Float64Array.from(x), yM: Float64Array.from(y), depthM: Float32Array.from(z), tvuM: new Float32Array(x.length).fill(tvu) };
}
