import { freshContext } from '../chart/fresh-context.js';
import { readPalette, type Palette } from '../chart/palette.js';
import { isAbort, type WorkCaller } from '../work/call.js';
import type { LevelColours, LoadedPings } from '../work/imagery-messages.js';
import { groundOfSlant, slantOfGround, type Echo } from './echo-place.js';
import type { BottomPoint } from './bottom-stroke.js';
import { layered, paintAxes, paintBottom, paintCursor, paintMarks, paintPending, paintSides, type WaterfallMark } from './paint-waterfall.js';
import type { PingRun } from './ping-runs.js';
import { acrossAt, fitWindow, held, rowAt, TILE_ROWS, tilesOf, xAt, yAt, zoomed, type PlotBox, type TilePlace, type WaterfallWindow } from './waterfall-window.js';

export type WaterfallTool = 'look' | 'bottom' | 'measure';
export type WaterfallAxis = 'slant' | 'ground';

export interface WaterfallEvents {
  hover(echo: Echo | null, from: 'waterfall' | 'keys'): void;
  click(echo: Echo): void;
  /** A stroke of the hand, from where it began to where it is; `ended` when it was lifted, null where it was given up. */
  stroke(points: readonly Echo[], ended: boolean): void;
  /** The pings in the middle have changed. */
  moved(window: WaterfallWindow, box: PlotBox): void;
  tileUrl(run: PingRun, tile: TilePlace): string;
}

const MARGIN = { left: 54, right: 12, top: 26, bottom: 8 };
/** Tiles asked for at a time, and pictures kept. */
const ASKED_MAX = 4;
const PICTURES_MAX = 48;
/** A drag shorter than this is a click [px]. */
const CLICK_PX = 4;

interface Picture {
  readonly image: ImageBitmap;
  readonly stamp: number;
}

/** The waterfall of a side-scan run: levels as colours, the bottom over them, a cursor, and marks. */
export class WaterfallView {
  readonly #host: HTMLElement;
  readonly #canvas = document.createElement('canvas');
  readonly #over = document.createElement('canvas');
  readonly #worker: WorkCaller;
  readonly #events: WaterfallEvents;
  readonly #resize: ResizeObserver;
  #palette: Palette;
  #pings: LoadedPings | null = null;
  #run: PingRun | null = null;
  #window: WaterfallWindow | null = null;
  #axis: WaterfallAxis = 'slant';
  #colours: LevelColours = { lowDb: 0, highDb: 1, colours: new Uint8ClampedArray(768) };
  #stamp = 0;
  #pictures = new Map<string, Picture>();
  #asked = new Map<string, AbortController>();
  /** Tiles the server gave nothing for, or failed at. */
  readonly #empty = new Set<string>();
  #tool: WaterfallTool = 'look';
  #cursor: Echo | null = null;
  #pending: readonly BottomPoint[] = [];
  #marks: readonly WaterfallMark[] = [];
  #showBottom = true;
  #frame = 0;
  #stale = true;
  readonly #pointers = new Map<number, { x: number; y: number }>();
  #drag: { readonly x: number; readonly y: number; readonly window: WaterfallWindow; moved: boolean; readonly stroke: Echo[] | null } | null = null;
  #pinch: { readonly apart: number; readonly window: WaterfallWindow } | null = null;

  constructor(host: HTMLElement, worker: WorkCaller, events: WaterfallEvents) {
    this.#host = host;
    this.#worker = worker;
    this.#events = events;
    this.#palette = readPalette(document.documentElement);
    this.#canvas.className = 'waterfall-canvas';
    this.#over.className = 'waterfall-over';
    host.append(this.#canvas, this.#over);
    this.#resize = new ResizeObserver(() => this.#resized());
    this.#resize.observe(host);
    this.#listen();
  }

  get window(): WaterfallWindow | null {
    return this.#window;
  }

  /** Shows a run of the pings; where it stands is kept where it is the same stretch of pings. */
  setRun(pings: LoadedPings | null, run: PingRun | null): void {
    const same = this.#run !== null && run !== null && run.rowStart === this.#run.rowStart && run.rowEnd === this.#run.rowEnd;
    this.#pings = pings;
    this.#run = run;
    if (!same) {
      this.#window = run === null ? null : fitWindow(run, this.#box());
      this.#dropTiles();
      if (this.#window !== null) this.#events.moved(this.#window, this.#box());
    }
    this.#draw();
  }

  /** The levels are others: pictures are asked for anew. */
  dropTiles(): void {
    this.#dropTiles();
    this.#draw();
  }

  setLook(axis: WaterfallAxis, colours: LevelColours, showBottom: boolean): void {
    if (axis !== this.#axis) this.#dropTiles();
    else if (colours.lowDb !== this.#colours.lowDb || colours.highDb !== this.#colours.highDb || colours.colours !== this.#colours.colours) this.#stamp++;
    this.#axis = axis;
    this.#colours = colours;
    this.#showBottom = showBottom;
    this.#draw();
  }

  setTool(tool: WaterfallTool): void {
    this.#tool = tool;
    this.#host.dataset['tool'] = tool;
    this.#drawOver();
  }

  setPending(points: readonly BottomPoint[]): void {
    this.#pending = points;
    this.#drawOver();
  }

  setMarks(marks: readonly WaterfallMark[]): void {
    this.#marks = marks;
    this.#drawOver();
  }

  /** The bottom was changed in place. */
  bottomChanged(): void {
    this.#drawOver();
  }

  mark(echo: Echo | null): void {
    this.#cursor = echo;
    this.#drawOver();
  }

  /** Brings a ping into the middle. @param closer also so close that a thing of this size can be seen [m]; 0: as it stands */
  goTo(row: number, closerM = 0): void {
    const run = this.#run;
    if (run === null || this.#window === null) return;
    const box = this.#box();
    let window: WaterfallWindow = { ...this.#window, centreRow: row };
    if (closerM > 0 && closerM / window.metresPerPx < 24) window = { ...zoomed(window, Math.min(12, (window.metresPerPx * 24) / closerM), box.left + box.width / 2, box.top + box.height / 2, run, box), centreRow: row };
    this.#show(held(window, run, box));
  }

  /** Brings an echo into the middle along and across. */
  centre(echo: Echo): void {
    const [run, window] = [this.#run, this.#window];
    if (run === null || window === null) return;
    this.#show(held({ ...window, centreRow: echo.row, shiftM: this.#acrossOf(echo) }, run, this.#box()));
  }

  fit(): void {
    if (this.#run !== null) this.#show(fitWindow(this.#run, this.#box(), this.#window?.centreRow));
  }

  zoom(by: number): void {
    const [run, window] = [this.#run, this.#window];
    if (run === null || window === null) return;
    const box = this.#box();
    const at = this.#cursor === null ? null : { x: this.#xOf(this.#cursor), y: yAt(window, box, this.#cursor.row) };
    const inside = at !== null && Number.isFinite(at.x) && at.x >= box.left && at.x <= box.left + box.width && at.y >= box.top && at.y <= box.top + box.height;
    this.#show(zoomed(window, by, inside ? at.x : box.left + box.width / 2, inside ? at.y : box.top + box.height / 2, run, box));
  }

  /** Moves by screenfuls along the line; up is later. */
  along(screens: number): void {
    const [run, window] = [this.#run, this.#window];
    if (run === null || window === null) return;
    const box = this.#box();
    this.#show(held({ ...window, centreRow: window.centreRow + screens * box.height * window.pingsPerPx }, run, box));
  }

  /** Whether a key was for this view. */
  key(event: { readonly key: string; readonly shiftKey: boolean }): boolean {
    const [run, window, pings] = [this.#run, this.#window, this.#pings];
    if (run === null || window === null || pings === null) return false;
    const rows = Math.max(1, Math.round(window.pingsPerPx)) * (event.shiftKey ? 20 : 1);
    const metres = window.metresPerPx * (event.shiftKey ? 40 : 2);
    switch (event.key) {
      case 'ArrowUp':
        return this.#moveCursor(rows, 0);
      case 'ArrowDown':
        return this.#moveCursor(-rows, 0);
      case 'ArrowLeft':
        return this.#moveCursor(0, -metres);
      case 'ArrowRight':
        return this.#moveCursor(0, metres);
      case 'PageUp':
        this.along(0.9);
        return true;
      case 'PageDown':
        this.along(-0.9);
        return true;
      case 'Home':
        this.goTo(run.rowStart);
        return true;
      case 'End':
        this.goTo(run.rowEnd);
        return true;
      case '+':
      case '=':
        this.zoom(1.25);
        return true;
      case '-':
        this.zoom(0.8);
        return true;
      case 'Enter':
      case ' ':
        if (this.#cursor === null) return false;
        this.#events.click(this.#cursor);
        return true;
      default:
        return false;
    }
  }

  repaint(): void {
    this.#palette = readPalette(document.documentElement);
    this.#draw();
  }

  /** Picture with the bottom and the marks, at the screen's resolution. */
  picture(): HTMLCanvasElement {
    return layered([this.#canvas, this.#over], this.#palette.paper);
  }

  dispose(): void {
    this.#resize.disconnect();
    cancelAnimationFrame(this.#frame);
    this.#dropTiles();
    this.#canvas.remove();
    this.#over.remove();
  }

  #box(): PlotBox {
    return { left: MARGIN.left, top: MARGIN.top, width: Math.max(20, this.#host.clientWidth - MARGIN.left - MARGIN.right), height: Math.max(20, this.#host.clientHeight - MARGIN.top - MARGIN.bottom) };
  }

  #resized(): void {
    const run = this.#run;
    if (run !== null && this.#window !== null) {
      const row = this.#window.centreRow;
      const kept = this.#lastWidth > 0 && Math.abs(this.#lastWidth - this.#box().width) < 2;
      this.#window = kept ? held(this.#window, run, this.#box()) : fitWindow(run, this.#box(), this.#lastWidth > 0 ? row : NaN);
      this.#events.moved(this.#window, this.#box());
    }
    this.#lastWidth = this.#box().width;
    this.#draw();
  }
  #lastWidth = 0;

  #show(window: WaterfallWindow): void {
    this.#window = window;
    this.#events.moved(window, this.#box());
    this.#draw();
  }

  #dropTiles(): void {
    for (const stop of this.#asked.values()) stop.abort();
    this.#asked.clear();
    for (const { image } of this.#pictures.values()) image.close();
    this.#pictures.clear();
    this.#empty.clear();
  }

  /** Range across at which an echo is drawn [m]; negative to port. */
  #acrossOf({ row, side, slantM }: Echo): number {
    const pings = this.#pings;
    const range = this.#axis === 'slant' || pings === null ? slantM : groundOfSlant(pings, Math.round(row), side, slantM);
    return side === 'port' ? -range : range;
  }

  #xOf(echo: Echo): number {
    return this.#window === null ? NaN : xAt(this.#window, this.#box(), this.#acrossOf(echo));
  }

  #echoAt(x: number, y: number): Echo | null {
    const [run, window, pings] = [this.#run, this.#window, this.#pings];
    if (run === null || window === null || pings === null) return null;
    const box = this.#box();
    const row = Math.floor(rowAt(window, box, y));
    const across = acrossAt(window, box, x);
    if (row < run.rowStart || row >= run.rowEnd || x < box.left || x > box.left + box.width) return null;
    return this.#echoOf(row, across);
  }

  #echoOf(row: number, across: number): Echo | null {
    const pings = this.#pings as LoadedPings;
    const side = across < 0 ? 'port' : 'starboard';
    const slantM = this.#axis === 'slant' ? Math.abs(across) : slantOfGround(pings, row, side, Math.abs(across));
    return Number.isFinite(slantM) && slantM <= (this.#run as PingRun).rangeM * 1.02 ? { row, side, slantM } : null;
  }

  #moveCursor(rows: number, metres: number): boolean {
    const [run, window] = [this.#run as PingRun, this.#window as WaterfallWindow];
    const from = this.#cursor !== null && this.#cursor.row >= run.rowStart && this.#cursor.row < run.rowEnd ? this.#cursor : null;
    const row = Math.min(run.rowEnd - 1, Math.max(run.rowStart, Math.round(from === null ? window.centreRow : from.row + rows)));
    const across = from === null ? run.rangeM / 3 : this.#acrossOf(from) + metres;
    const echo = this.#echoOf(row, Number.isFinite(across) ? Math.min(run.rangeM, Math.max(-run.rangeM, across)) : metres);
    if (echo === null) return true;
    this.#cursor = echo;
    const box = this.#box();
    const y = yAt(window, box, row);
    if (y < box.top + 20 || y > box.top + box.height - 20) this.goTo(row);
    this.#events.hover(echo, 'keys');
    this.#drawOver();
    return true;
  }

  #listen(): void {
    const host = this.#host;
    const place = (event: MouseEvent): { x: number; y: number } => {
      const box = host.getBoundingClientRect();
      return { x: event.clientX - box.left, y: event.clientY - box.top };
    };
    host.addEventListener('pointerdown', (event) => {
      if (event.button !== 0 && event.button !== 1) return;
      const at = place(event);
      this.#pointers.set(event.pointerId, at);
      host.setPointerCapture(event.pointerId);
      if (this.#pointers.size === 2 && this.#window !== null) {
        if (this.#drag?.stroke != null) this.#events.stroke([], true);
        this.#drag = null;
        this.#pinch = { apart: this.#apart(), window: this.#window };
        return;
      }
      if (this.#window === null) return;
      const echo = event.button === 0 && this.#tool !== 'look' && !event.shiftKey ? this.#echoAt(at.x, at.y) : null;
      this.#drag = { ...at, window: this.#window, moved: false, stroke: echo === null ? null : [echo] };
    });
    host.addEventListener('pointermove', (event) => {
      const at = place(event);
      if (this.#pointers.has(event.pointerId)) this.#pointers.set(event.pointerId, at);
      const [run, drag] = [this.#run, this.#drag];
      if (this.#pinch !== null && run !== null) {
        const [a, b] = [...this.#pointers.values()] as [{ x: number; y: number }, { x: number; y: number }];
        if (b !== undefined) this.#show(zoomed(this.#pinch.window, this.#apart() / Math.max(8, this.#pinch.apart), (a.x + b.x) / 2, (a.y + b.y) / 2, run, this.#box()));
        return;
      }
      if (drag !== null && run !== null) {
        if (!drag.moved && Math.hypot(at.x - drag.x, at.y - drag.y) < CLICK_PX) return;
        drag.moved = true;
        if (drag.stroke === null) {
          this.#show(held({ ...drag.window, centreRow: drag.window.centreRow + (at.y - drag.y) * drag.window.pingsPerPx, shiftM: drag.window.shiftM - (at.x - drag.x) * drag.window.metresPerPx }, run, this.#box()));
        } else {
          const echo = this.#echoAt(at.x, at.y);
          if (echo !== null) {
            drag.stroke.push(echo);
            this.#cursor = echo;
            this.#events.hover(echo, 'waterfall');
            this.#events.stroke(drag.stroke, false);
          }
        }
        return;
      }
      this.#cursor = this.#echoAt(at.x, at.y);
      this.#events.hover(this.#cursor, 'waterfall');
      this.#drawOver();
    });
    const end = (event: PointerEvent, gaveUp: boolean): void => {
      if (!this.#pointers.delete(event.pointerId)) return;
      if (this.#pointers.size < 2) this.#pinch = null;
      const drag = this.#drag;
      this.#drag = null;
      if (drag === null) return;
      if (gaveUp) {
        if (drag.stroke !== null) this.#events.stroke([], true);
        return;
      }
      if (drag.moved) {
        if (drag.stroke !== null) this.#events.stroke(drag.stroke, true);
        return;
      }
      const at = place(event);
      const echo = this.#echoAt(at.x, at.y);
      if (echo !== null) {
        this.#cursor = echo;
        this.#events.hover(echo, 'waterfall');
        this.#events.click(echo);
      }
    };
    host.addEventListener('pointerup', (event) => end(event, false));
    host.addEventListener('pointercancel', (event) => end(event, true));
    host.addEventListener('pointerleave', () => {
      if (this.#drag !== null || this.#pinch !== null) return;
      this.#cursor = null;
      this.#events.hover(null, 'waterfall');
      this.#drawOver();
    });
    host.addEventListener(
      'wheel',
      (event) => {
        const [run, window] = [this.#run, this.#window];
        if (run === null || window === null) return;
        event.preventDefault();
        const at = place(event);
        if (event.ctrlKey || event.metaKey) this.#show(zoomed(window, Math.exp(-event.deltaY * 0.0022), at.x, at.y, run, this.#box()));
        else {
          const lines = event.deltaMode === 1 ? 30 : 1;
          this.#show(held({ ...window, centreRow: window.centreRow - event.deltaY * lines * window.pingsPerPx, shiftM: window.shiftM + event.deltaX * lines * window.metresPerPx }, run, this.#box()));
        }
        this.#cursor = this.#echoAt(at.x, at.y);
        this.#events.hover(this.#cursor, 'waterfall');
      },
      { passive: false },
    );
  }

  #apart(): number {
    const [a, b] = [...this.#pointers.values()];
    return a === undefined || b === undefined ? 1 : Math.hypot(a.x - b.x, a.y - b.y);
  }

  #draw(): void {
    this.#stale = true;
    this.#drawOver();
  }

  #drawOver(): void {
    if (this.#frame !== 0) return;
    this.#frame = requestAnimationFrame(() => {
      this.#frame = 0;
      if (this.#stale) {
        this.#stale = false;
        this.#paint();
      }
      this.#paintOver();
    });
  }

  #clip(ctx: CanvasRenderingContext2D, box: PlotBox): void {
    ctx.beginPath();
    ctx.rect(box.left, box.top, box.width, box.height);
    ctx.clip();
  }

  #paint(): void {
    const ctx = freshContext(this.#canvas, this.#host.clientWidth, this.#host.clientHeight);
    const [run, window, pings] = [this.#run, this.#window, this.#pings];
    if (ctx === null || run === null || window === null || pings === null) return;
    const box = this.#box();
    ctx.save();
    this.#clip(ctx, box);
    ctx.fillStyle = this.#palette.desk;
    ctx.fillRect(box.left, box.top, box.width, box.height);
    const tiles = tilesOf(window, run, box, devicePixelRatio);
    const [x0, x1] = [xAt(window, box, -run.rangeM), xAt(window, box, run.rangeM)];
    const urls = tiles.map((tile) => this.#events.tileUrl(run, tile));
    // What was read at another zoom stands in until the right picture has come.
    const wanted = new Set(urls);
    ctx.imageSmoothingEnabled = true;
    const missing = urls.some((url) => !this.#pictures.has(url));
    if (missing) for (const [url, { image }] of this.#pictures) if (!wanted.has(url)) this.#paintTile(ctx, url, image, window, box, x0, x1);
    ctx.imageSmoothingEnabled = window.metresPerPx * devicePixelRatio > 0.02;
    urls.forEach((url) => {
      const picture = this.#pictures.get(url);
      if (picture !== undefined) {
        this.#pictures.delete(url);
        this.#pictures.set(url, picture);
        this.#paintTile(ctx, url, picture.image, window, box, x0, x1);
      }
    });
    ctx.restore();
    paintAxes(ctx, this.#palette, window, box, pings, run);
    for (const [url, stop] of this.#asked) {
      if (wanted.has(url)) continue;
      stop.abort();
      this.#asked.delete(url);
    }
    tiles.forEach((tile, k) => this.#ask(urls[k] as string, tile));
    this.#host.dataset['ready'] = String(urls.every((url) => this.#pictures.get(url)?.stamp === this.#stamp || this.#empty.has(url)));
  }

  readonly #places = new Map<string, TilePlace>();

  #paintTile(ctx: CanvasRenderingContext2D, url: string, image: ImageBitmap, window: WaterfallWindow, box: PlotBox, x0: number, x1: number): void {
    const tile = this.#places.get(url);
    if (tile === undefined) return;
    const rows = Math.ceil((tile.to - tile.from) / tile.step);
    const top = yAt(window, box, tile.from + rows * tile.step);
    const bottom = yAt(window, box, tile.from);
    if (bottom < box.top || top > box.top + box.height) return;
    ctx.drawImage(image, x0, top, x1 - x0, bottom - top);
  }

  #ask(url: string, tile: TilePlace): void {
    if (this.#asked.has(url) || this.#empty.has(url) || this.#pictures.get(url)?.stamp === this.#stamp || this.#asked.size >= ASKED_MAX) return;
    const stop = new AbortController();
    const stamp = this.#stamp;
    this.#asked.set(url, stop);
    this.#places.set(url, tile);
    const rows = Math.ceil((tile.to - tile.from) / tile.step);
    this.#worker
      .call('waterfallTile', { url, rows: Math.min(TILE_ROWS, rows), width: tile.width, ...this.#colours }, { signal: stop.signal })
      .then((painted) => {
        if (stop.signal.aborted) painted?.image.close();
        else if (painted === null) this.#empty.add(url);
        else {
          this.#pictures.get(url)?.image.close();
          this.#pictures.set(url, { image: painted.image, stamp });
          this.#sweep();
        }
      })
      .catch((error: unknown) => {
        if (isAbort(error)) return;
        this.#empty.add(url);
        this.#host.dispatchEvent(new CustomEvent('waterfall-fault', { detail: error }));
      })
      .finally(() => {
        if (this.#asked.get(url) === stop) this.#asked.delete(url);
        this.#draw();
      });
  }

  #sweep(): void {
    for (const [url, { image }] of this.#pictures) {
      if (this.#pictures.size <= PICTURES_MAX) return;
      image.close();
      this.#pictures.delete(url);
      this.#places.delete(url);
    }
  }

  #paintOver(): void {
    const ctx = freshContext(this.#over, this.#host.clientWidth, this.#host.clientHeight);
    const [run, window, pings] = [this.#run, this.#window, this.#pings];
    if (ctx === null || run === null || window === null || pings === null) return;
    const box = this.#box();
    ctx.save();
    this.#clip(ctx, box);
    if (this.#showBottom && this.#axis === 'slant') paintBottom(ctx, this.#palette, window, box, pings, run);
    paintMarks(ctx, this.#palette, this.#marks, window, box, pings, (echo) => this.#acrossOf(echo));
    paintPending(ctx, this.#palette, this.#pending, window, box);
    const cursor = this.#cursor;
    if (cursor !== null) paintCursor(ctx, this.#palette, window, box, cursor, this.#xOf(cursor));
    ctx.restore();
    paintSides(ctx, this.#palette, box);
  }

}
