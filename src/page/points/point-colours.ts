import { rgb } from '../chart/palette.js';
import type { Rgb } from '../chart/tint.js';

/** What the colour of a point says. */
export type ColourBy = 'depth' | 'reason' | 'line';
/** What becomes of set-aside points. */
export type FlaggedShown = 'shown' | 'ghost' | 'hidden';

/** Colours of the points, as the style sheet has them now. */
export interface PointColours {
  readonly paper: Rgb;
  readonly selected: Rgb;
  /** From shoal to deep. Shape [5]. */
  readonly ramp: readonly Rgb[];
  /** By code of the reason; 0 is good. Shape [16]. */
  readonly reasons: readonly Rgb[];
  /** Lightness and saturation of the colours of lines [0..1]. */
  readonly lineLightness: number;
}

const REASON_COLOURS = 8;

export function readPointColours(root: Element): PointColours {
  const style = getComputedStyle(root);
  const read = (name: string): Rgb => rgb(style.getPropertyValue(`--${name}`).trim());
  const good = read('point-good');
  return {
    paper: read('paper'),
    selected: read('magenta'),
    ramp: [1, 2, 3, 4, 5].map((k) => read(`ramp-${k}`)),
    reasons: Array.from({ length: 16 }, (_, code) => (code === 0 ? good : read(`reason-${((code - 1) % REASON_COLOURS) + 1}`))),
    lineLightness: Number(style.getPropertyValue('--line-lightness')) || 0.42,
  };
}

/** Colour of a line by its number: neighbours differ. */
export function lineColour(line: number, lightness: number): Rgb {
  if (line < 0) return [128, 128, 128];
  const hue = (line * 0.618034) % 1;
  const saturation = 0.7;
  const channel = (k: number) => {
    const at = (k + hue * 12) % 12;
    return Math.round(255 * (lightness - saturation * Math.min(lightness, 1 - lightness) * Math.max(-1, Math.min(at - 3, 9 - at, 1))));
  };
  return [channel(0), channel(8), channel(4)];
}

/** Colour of a ramp at a share 0..1. */
export function rampColour(ramp: readonly Rgb[], share: number): Rgb {
  const at = Math.min(1, Math.max(0, share)) * (ramp.length - 1);
  const k = Math.min(ramp.length - 2, Math.floor(at));
  const [a, b] = [ramp[k] as Rgb, ramp[k + 1] as Rgb];
  const f = at - k;
  return [a[0] + f * (b[0] - a[0]), a[1] + f * (b[1] - a[1]), a[2] + f * (b[2] - a[2])];
}

export function cssColour([r, g, b]: Rgb): string {
  return `rgb(${Math.round(r)} ${Math.round(g)} ${Math.round(b)})`;
}
