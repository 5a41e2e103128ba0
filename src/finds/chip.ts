import type { Picture } from './detect.js';

/** A small picture of a sighting, grey levels, row-major, row 0 ahead along the track; columns outward from it. */
export interface Chip {
  readonly width: number;
  readonly height: number;
  readonly pixels: Uint8Array;
  readonly pixelM: number;
}

/** What to frame: edges as fractions of bins and pings. */
export interface Framed {
  readonly binStart: number;
  readonly shadowEnd: number;
  readonly pingStart: number;
  readonly pingEnd: number;
}

const SIDE_PX = 128;
const PIXEL_M = 0.1;
/** Levels from black to white [dB]. */
const DARK_DB = -18;
const LIGHT_DB = 15;
/** Ground nearer to the sonar than the echo that is shown [m]. */
const BEFORE_M = 3;

/**
 * 12.8 m of the picture about a sighting at its true proportions, with corners about it. Ground that was not heard is black.
 * The nearest ping and bin are shown, nothing is smoothed.
 */
export function chipOf(picture: Picture, framed: Framed): Chip {
  const { n, width, binM, stepM, levelDb } = picture;
  const pixels = new Uint8Array(SIDE_PX * SIDE_PX);
  const middlePing = (framed.pingStart + framed.pingEnd) / 2;
  const firstM = Math.max(0, Math.min(framed.binStart * binM - BEFORE_M, width * binM - SIDE_PX * PIXEL_M));
  for (let y = 0; y < SIDE_PX; y++) {
    const ping = Math.floor(middlePing + ((SIDE_PX / 2 - y - 0.5) * PIXEL_M) / stepM);
    for (let x = 0; x < SIDE_PX; x++) {
      const bin = Math.floor((firstM + (x + 0.5) * PIXEL_M) / binM);
      const level = ping >= 0 && ping < n && bin < width ? levelDb[ping * width + bin]! : NaN;
      pixels[y * SIDE_PX + x] = Number.isNaN(level) ? 0 : Math.min(255, Math.max(1, Math.round((255 * (level - DARK_DB)) / (LIGHT_DB - DARK_DB))));
    }
  }
  corners(pixels, {
    left: Math.round((framed.binStart * binM - firstM) / PIXEL_M) - 3,
    right: Math.round((framed.shadowEnd * binM - firstM) / PIXEL_M) + 3,
    top: Math.round(SIDE_PX / 2 - ((framed.pingEnd - middlePing) * stepM) / PIXEL_M) - 4,
    bottom: Math.round(SIDE_PX / 2 + ((middlePing - framed.pingStart) * stepM) / PIXEL_M) + 4,
  });
  return { width: SIDE_PX, height: SIDE_PX, pixels, pixelM: PIXEL_M };
}

/** Four right angles about a rectangle. */
function corners(pixels: Uint8Array, { left, right, top, bottom }: { readonly left: number; readonly right: number; readonly top: number; readonly bottom: number }): void {
  const arm = 5;
  const put = (x: number, y: number): void => {
    if (x >= 0 && y >= 0 && x < SIDE_PX && y < SIDE_PX) pixels[y * SIDE_PX + x] = 255;
  };
  for (const [x, dx] of [[left, 1], [right, -1]] as const) {
    for (const [y, dy] of [[top, 1], [bottom, -1]] as const) {
      for (let k = 0; k < arm; k++) {
        put(x + dx * k, y);
        put(x, y + dy * k);
      }
    }
  }
}
