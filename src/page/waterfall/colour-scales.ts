import type { Rgb } from '../chart/tint.js';

/** Colour scales for echoes. Each is even in CIELAB lightness: equal steps of level look like equal steps. */
export const COLOUR_SCALES = ['grey', 'copper', 'blue-yellow'] as const;
export type ColourScale = (typeof COLOUR_SCALES)[number];

export const SCALE_WORDS: Readonly<Record<ColourScale, string>> = { grey: 'grey', copper: 'copper', 'blue-yellow': 'blue to yellow' };

/** From weak to strong: lightness [L*], and the hue's axes [a*, b*] at a share 0..1. */
interface LabPath {
  readonly darkL: number;
  readonly lightL: number;
  readonly ab: (share: number) => readonly [number, number];
}

const PATHS: Readonly<Record<ColourScale, LabPath>> = {
  grey: { darkL: 4, lightL: 97, ab: () => [0, 0] },
  // Chroma that stays inside sRGB at every lightness of the way.
  copper: { darkL: 4, lightL: 93, ab: (share) => [26 * Math.sin(Math.PI * share) * (1 - 0.55 * share), 46 * Math.sin(Math.PI * Math.min(1, 0.08 + share * 0.8))] },
  // From blue to yellow: told apart by those who see no red or green too.
  'blue-yellow': { darkL: 10, lightL: 92, ab: (share) => [4 * Math.sin(Math.PI * share), -34 + 90 * share - 12 * share * share] },
};

const STEPS = 256;
const made = new Map<ColourScale, Uint8ClampedArray>();

/** The colours of a scale from weak to strong. Shape [256 * 3], sRGB. */
export function scaleColours(scale: ColourScale): Uint8ClampedArray {
  const held = made.get(scale);
  if (held !== undefined) return held;
  const { darkL, lightL, ab } = PATHS[scale];
  const out = new Uint8ClampedArray(STEPS * 3);
  for (let k = 0; k < STEPS; k++) {
    const share = k / (STEPS - 1);
    const [a, b] = ab(share);
    out.set(labToRgb(darkL + share * (lightL - darkL), a, b), k * 3);
  }
  made.set(scale, out);
  return out;
}

/** A scale as a CSS gradient. */
export function scaleGradient(scale: ColourScale, strongDark: boolean): string {
  const colours = scaleColours(scale);
  const stops = Array.from({ length: 9 }, (_, k) => {
    const at = Math.round(((strongDark ? 8 - k : k) / 8) * (STEPS - 1)) * 3;
    return `rgb(${colours[at]} ${colours[at + 1]} ${colours[at + 2]})`;
  });
  return `linear-gradient(90deg, ${stops.join(', ')})`;
}

/**
 * CIELAB (D65) to sRGB. A colour outside sRGB loses chroma, never lightness.
 * Source: CIE 15 (CIELAB), IEC 61966-2-1 (sRGB).
 */
export function labToRgb(L: number, a: number, b: number): Rgb {
  for (let share = 1; ; share -= 0.05) {
    const linear = labToLinear(L, a * share, b * share);
    if (share <= 0 || linear.every((channel) => channel >= -1e-4 && channel <= 1.0001)) return linear.map((channel) => 255 * encode(Math.min(1, Math.max(0, channel)))) as unknown as Rgb;
  }
}

function labToLinear(L: number, a: number, b: number): [number, number, number] {
  const fy = (L + 16) / 116;
  const inverse = (f: number): number => (f > 6 / 29 ? f ** 3 : 3 * (6 / 29) ** 2 * (f - 4 / 29));
  const x = 0.95047 * inverse(fy + a / 500);
  const y = inverse(fy);
  const z = 1.08883 * inverse(fy - b / 200);
  return [3.2404542 * x - 1.5371385 * y - 0.4985314 * z, -0.969266 * x + 1.8760108 * y + 0.041556 * z, 0.0556434 * x - 0.2040259 * y + 1.0572252 * z];
}

function encode(linear: number): number {
  return linear <= 0.0031308 ? 12.92 * linear : 1.055 * linear ** (1 / 2.4) - 0.055;
}
