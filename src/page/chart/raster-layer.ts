import { isAbort, type WorkCaller } from '../work/call.js';
import type { RasterInfo, RasterTileRequest } from '../work/imagery-messages.js';
import { extentOf, pixelX, pixelY, type Viewport } from './viewport.js';

/** How a raster's values become colours. */
export type RasterLook = Pick<RasterTileRequest, 'band' | 'zero' | 'perStep' | 'low' | 'high' | 'colours' | 'clear'>;

/** Pictures of tiles kept: some 64 of 512 by 512. */
const HELD = 64;
/** Tiles asked for at a time. */
const ASKED_MAX = 4;
/** A level is fine enough while its cells are no larger than this many pixels of the screen. */
const COARSE_PX = 1.2;

interface HeldTile {
  readonly image: ImageBitmap | null;
  readonly stamp: number;
}

/** A tiled raster under the chart: only the tiles in view are read, at the overview that fits the scale; coarser ones stand in until they have come. */
export class RasterLayer {
  readonly #worker: WorkCaller;
  readonly #changed: () => void;
  readonly #tiles = new Map<string, HeldTile>();
  readonly #asked = new Map<string, AbortController>();
  #info: RasterInfo | null = null;
  #look: RasterLook | null = null;
  #stamp = 0;
  opacity = 1;

  constructor(worker: WorkCaller, changed: () => void) {
    this.#worker = worker;
    this.#changed = changed;
  }

  get info(): RasterInfo | null {
    return this.#info;
  }

  /** Whether all that the last painting wanted is there. */
  settled = true;

  set(info: RasterInfo | null, look: RasterLook | null): void {
    if (info?.url !== this.#info?.url) this.#drop();
    if (!sameLook(look, this.#look)) this.#stamp++;
    this.#info = info;
    this.#look = look;
    this.#changed();
  }

  /** Paints what is at hand and asks for what is not. */
  paint(ctx: CanvasRenderingContext2D, view: Viewport, pixelRatio: number): void {
    const [info, look] = [this.#info, this.#look];
    if (info === null || look === null) return;
    const perPixel = view.metresPerPixel / pixelRatio;
    let level = 0;
    while (level + 1 < info.levels.length && (info.levels[level + 1] as { cellM: number }).cellM <= perPixel * COARSE_PX) level++;
    ctx.save();
    ctx.globalAlpha = this.opacity;
    // Cells are seen as cells once they are large; below that they are smoothed.
    ctx.imageSmoothingEnabled = info.cellM < 4 * perPixel;
    const wanted = this.#tilesIn(info, level, view);
    const missing = wanted.some((tile) => !this.#tiles.has(keyOf(tile)));
    // Coarser pictures first, each only where it is wanted because a finer one is not there yet.
    if (missing) for (let coarse = info.levels.length - 1; coarse > level; coarse--) for (const tile of this.#tilesIn(info, coarse, view)) this.#put(ctx, info, tile, view);
    for (const tile of wanted) this.#put(ctx, info, tile, view);
    ctx.restore();
    const keys = new Set(wanted.map(keyOf));
    // The coarsest level holds all in a few tiles: it is what stands in wherever one goes.
    const base = info.levels.length - 1;
    for (const [key, stop] of this.#asked) {
      if (keys.has(key) || key.startsWith(`${base} `)) continue;
      stop.abort();
      this.#asked.delete(key);
    }
    const order = [...(level === base ? [] : this.#tilesIn(info, base, view)), ...wanted];
    for (const tile of order) this.#ask(info, look, tile);
    this.settled = wanted.every((tile) => this.#tiles.get(keyOf(tile))?.stamp === this.#stamp);
  }

  dispose(): void {
    this.#drop();
  }

  #tilesIn(info: RasterInfo, level: number, view: Viewport): readonly TileAt[] {
    const { cellM, cols, rows } = info.levels[level] as { cellM: number; cols: number; rows: number };
    const sideM = cellM * info.tilePx;
    const seen = extentOf(view);
    const clamp = (value: number, most: number): number => Math.max(0, Math.min(most, value));
    const [lastCol, lastRow] = [Math.ceil(cols / info.tilePx) - 1, Math.ceil(rows / info.tilePx) - 1];
    const [c0, c1] = [Math.floor((seen.westM - info.westM) / sideM), Math.floor((seen.eastM - info.westM) / sideM)];
    const [r0, r1] = [Math.floor((info.northM - seen.northM) / sideM), Math.floor((info.northM - seen.southM) / sideM)];
    if (c1 < 0 || r1 < 0 || c0 > lastCol || r0 > lastRow) return [];
    const tiles: TileAt[] = [];
    for (let row = clamp(r0, lastRow); row <= clamp(r1, lastRow); row++) for (let col = clamp(c0, lastCol); col <= clamp(c1, lastCol); col++) tiles.push({ level, col, row });
    const [midCol, midRow] = [(c0 + c1) / 2, (r0 + r1) / 2];
    return tiles.sort((a, b) => Math.hypot(a.col - midCol, a.row - midRow) - Math.hypot(b.col - midCol, b.row - midRow));
  }

  #put(ctx: CanvasRenderingContext2D, info: RasterInfo, tile: TileAt, view: Viewport): void {
    const key = keyOf(tile);
    const held = this.#tiles.get(key);
    if (held === undefined) return;
    this.#tiles.delete(key);
    this.#tiles.set(key, held);
    if (held.image === null) return;
    const { cellM } = info.levels[tile.level] as { cellM: number };
    const westM = info.westM + tile.col * info.tilePx * cellM;
    const northM = info.northM - tile.row * info.tilePx * cellM;
    const [x0, y0] = [pixelX(view, westM), pixelY(view, northM)];
    const [x1, y1] = [pixelX(view, westM + held.image.width * cellM), pixelY(view, northM - held.image.height * cellM)];
    // Edges on whole pixels of the screen: no seams between tiles.
    const snap = (value: number): number => Math.round(value * devicePixelRatio) / devicePixelRatio;
    ctx.drawImage(held.image, snap(x0), snap(y0), snap(x1) - snap(x0), snap(y1) - snap(y0));
  }

  #ask(info: RasterInfo, look: RasterLook, tile: TileAt): void {
    const key = keyOf(tile);
    if (this.#asked.has(key) || this.#asked.size >= ASKED_MAX || this.#tiles.get(key)?.stamp === this.#stamp) return;
    const stop = new AbortController();
    const stamp = this.#stamp;
    this.#asked.set(key, stop);
    this.#worker
      .call('rasterTile', { url: info.url, ...tile, ...look }, { signal: stop.signal })
      .then((painted) => {
        if (stop.signal.aborted || this.#info?.url !== info.url) painted?.image.close();
        else {
          this.#tiles.get(key)?.image?.close();
          this.#tiles.set(key, { image: painted?.image ?? null, stamp });
          for (const [old, { image }] of this.#tiles) {
            if (this.#tiles.size <= HELD) break;
            image?.close();
            this.#tiles.delete(old);
          }
        }
      })
      .catch((error: unknown) => {
        // A raster made anew under our feet: the survey is read anew too, and this with it.
        if (!isAbort(error)) this.#tiles.set(key, { image: null, stamp });
      })
      .finally(() => {
        if (this.#asked.get(key) === stop) this.#asked.delete(key);
        this.#changed();
      });
  }

  #drop(): void {
    for (const stop of this.#asked.values()) stop.abort();
    this.#asked.clear();
    for (const { image } of this.#tiles.values()) image?.close();
    this.#tiles.clear();
  }
}

interface TileAt {
  readonly level: number;
  readonly col: number;
  readonly row: number;
}

function keyOf({ level, col, row }: TileAt): string {
  return `${level} ${col} ${row}`;
}

function sameLook(a: RasterLook | null, b: RasterLook | null): boolean {
  if (a === null || b === null) return a === b;
  return a.band === b.band && a.zero === b.zero && a.perStep === b.perStep && a.low === b.low && a.high === b.high && a.clear === b.clear && a.colours === b.colours;
}
