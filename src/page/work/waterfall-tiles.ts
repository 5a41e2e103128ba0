import type { LevelColours, WaterfallTileRequest } from './imagery-messages.js';

/** What stands for no echo in the server's levels, and their unit [dB]. */
const NONE = -32_768;
const UNIT_DB = 0.01;
/** Tiles kept for other colours. */
const HELD = 40;
const held = new Map<string, Promise<Int16Array | null>>();

async function levelsOf(url: string, signal: AbortSignal): Promise<Int16Array | null> {
  const known = held.get(url);
  if (known !== undefined) {
    held.delete(url);
    held.set(url, known);
    return known;
  }
  const reading = (async () => {
    const response = await fetch(url, { signal });
    if (response.status === 404) return null;
    if (!response.ok) {
      const said = (await response.json().catch(() => null)) as { error?: { message?: string } } | null;
      throw new Error(said?.error?.message ?? `the server answered ${response.status}`);
    }
    return new Int16Array(await response.arrayBuffer());
  })();
  held.set(url, reading);
  if (held.size > HELD) held.delete(held.keys().next().value as string);
  try {
    return await reading;
  } catch (error) {
    held.delete(url);
    throw error;
  }
}

/** A piece of the waterfall as a picture: port mirrored on the left, starboard on the right, the latest ping on top. */
export async function waterfallTile(request: WaterfallTileRequest, signal: AbortSignal): Promise<ImageBitmap | null> {
  const levels = await levelsOf(request.url, signal);
  if (levels === null || levels.length === 0) return null;
  return createImageBitmap(new ImageData(colourLevels(levels, request.rows, request.width, request), 2 * request.width, request.rows));
}

/** Levels [rows * width] of port and then of starboard as colours; what was not heard is clear. */
export function colourLevels(levels: Int16Array, rows: number, width: number, { lowDb, highDb, colours }: LevelColours): Uint8ClampedArray<ArrayBuffer> {
  const out = new Uint8ClampedArray(rows * width * 8);
  const scale = (255 * UNIT_DB) / Math.max(1e-6, highDb - lowDb);
  const low = lowDb / UNIT_DB;
  const put = (level: number, pixel: number): void => {
    if (level === NONE) return;
    const shade = (level - low) * scale;
    const k = (shade <= 0 ? 0 : shade >= 255 ? 255 : Math.round(shade)) * 3;
    const at = pixel * 4;
    out[at] = colours[k] as number;
    out[at + 1] = colours[k + 1] as number;
    out[at + 2] = colours[k + 2] as number;
    out[at + 3] = 255;
  };
  const had = Math.min(rows, Math.floor(levels.length / (2 * width)));
  const starboard = had * width;
  for (let row = 0; row < had; row++) {
    // The last ping on top.
    const line = (rows - 1 - row) * 2 * width;
    for (let col = 0; col < width; col++) {
      put(levels[row * width + col] as number, line + width - 1 - col);
      put(levels[starboard + row * width + col] as number, line + width + col);
    }
  }
  return out;
}
