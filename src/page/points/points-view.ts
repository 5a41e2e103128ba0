import { Stroke } from '../select/stroke.js';
import { ScreenIndex } from '../select/screen-index.js';
import { modeOf, NO_ROWS, rowsBeyond, type SelectMode } from '../select/rows.js';
import type { Soundings } from '../../depths/soundings.js';
import type { ChartTool } from '../chart/chart-tool.js';
import { freshContext } from '../chart/fresh-context.js';
import { readPalette, type Palette } from '../chart/palette.js';
import { cameraFor, exaggerate, orbit, pan, project, projectionOf, zoomAt, type Camera } from './camera.js';
import { CanvasPainter } from './canvas-painter.js';
import { drawFrame } from './draw-frame.js';
import { GlPainter } from './gl-painter.js';
import { changeSelected, pointCloud, pointStates } from './point-cloud.js';
import { readPointColours, type ColourBy, type FlaggedShown, type PointColours } from './point-colours.js';
import { pointSizePx, type PointCloud, type PointPainter } from './point-painter.js';

export interface PointsEvents {
  hover(row: number): void;
  /** A sounding was clicked; -1: none is there. */
  click(row: number, mode: SelectMode): void;
  select(rows: ArrayLike<number>, mode: SelectMode): void;
  camera(camera: Camera): void;
}

/** Once fewer points are drawn, more are not tried again for so many frames: each try costs a frame that is late. */
const CALM_FRAMES = 40;
/** Rows that a stroke adds in a frame are drawn by themselves up to so many. */
const FRESH_MOST = 20_000;
/** While the view moves a frame may take this long; then fewer points are drawn until it rests [ms]. */
const FRAME_MS = 24;
const LEAST_SHARE = 0.04;
/** The view rests after this long without a move [ms]. */
const REST_MS = 140;
/** The pointer is held still for so long before it is looked what lies under it [ms]. */
const POINT_MS = 60;
const REACH_PX = 10;

/** The soundings as points in space, to be turned, looked into and selected from. */
export class PointsView {
  readonly #host: HTMLElement;
  readonly #canvas = document.createElement('canvas');
  /** Points just selected, over those drawn before, until the view rests. */
  readonly #fresh = document.createElement('canvas');
  readonly #over = document.createElement('canvas');
  readonly #events: PointsEvents;
  readonly #painter: PointPainter;
  readonly #resize: ResizeObserver;
  readonly #stroke = new Stroke('points');
  #palette: Palette;
  #colours: PointColours;
  #soundings: Soundings | null = null;
  #cloud: PointCloud | null = null;
  #states = new Uint8Array(0);
  #selection: Int32Array = NO_ROWS;
  #camera: Camera | null = null;
  #index: ScreenIndex | null = null;
  #tool: ChartTool = 'look';
  #brushPx = 14;
  #colourBy: ColourBy = 'depth';
  #flagged: FlaggedShown = 'shown';
  #mark = -1;
  #frame = 0;
  /** What is wanted of the next frame: all, or only what lies over the points. */
  #wantsPoints = false;
  #statesChanged = false;
  #hasFresh = false;
  /** A button or a finger is down. */
  #held = false;
  #calm = 0;
  #share = 1;
  #lastFrameMs = 0;
  #movedMs = -Infinity;
  #restTimer: ReturnType<typeof setTimeout> | undefined;
  #pointTimer: ReturnType<typeof setTimeout> | undefined;
  #box: { readonly x0: number; readonly y0: number; x1: number; y1: number } | null = null;
  #pointer: { readonly x: number; readonly y: number } | null = null;

  constructor(host: HTMLElement, events: PointsEvents) {
    this.#host = host;
    this.#events = events;
    this.#palette = readPalette(document.documentElement);
    this.#colours = readPointColours(document.documentElement);
    this.#canvas.className = 'points-canvas';
    this.#fresh.className = 'points-fresh';
    this.#over.className = 'points-over';
    host.append(this.#canvas, this.#fresh, this.#over);
    this.#painter = GlPainter.make(this.#canvas, () => this.#draw()) ?? new CanvasPainter(this.#canvas);
    host.dataset['painter'] = this.#painter.kind;
    this.#resize = new ResizeObserver(() => this.#changed());
    this.#resize.observe(host);
    this.#listen();
  }

  get camera(): Camera | null {
    return this.#camera;
  }

  get cloud(): PointCloud | null {
    return this.#cloud;
  }

  get colours(): PointColours {
    return this.#colours;
  }

  /** Shows soundings; the same ones again when only their reasons changed. */
  setSoundings(soundings: Soundings | null, selection: Int32Array): void {
    if (soundings === null || soundings.n === 0) {
      this.#soundings = null;
      this.#cloud = null;
      this.#draw();
      return;
    }
    const before = this.#soundings;
    this.#soundings = soundings;
    if (before === null || before.n !== soundings.n || before.xM !== soundings.xM) {
      this.#cloud = pointCloud(soundings);
      this.#painter.setCloud(this.#cloud);
      this.#states = new Uint8Array(soundings.n);
      if (this.#camera === null || before === null || before.n !== soundings.n) this.fit();
    }
    this.#selection = selection;
    pointStates(soundings, selection, this.#states);
    this.#statesChanged = true;
    this.#busy();
  }

  /** The selection alone has changed. */
  setSelection(selection: Int32Array): void {
    if (this.#soundings === null) return;
    const added = rowsBeyond(selection, this.#selection);
    const removed = rowsBeyond(this.#selection, selection);
    this.#selection = selection;
    if (added.length + removed.length === 0) return;
    changeSelected(this.#soundings.n, added, removed, this.#states);
    this.#statesChanged = true;
    // A stroke adds some points to a view that stands still: those alone are drawn, the rest when the hand rests.
    if (removed.length === 0 && added.length <= FRESH_MOST && this.#index !== null && this.#drawFresh(added, this.#index)) {
      this.#draw(false);
      this.#restSoon();
    } else this.#busy();
  }

  /** Draws selected points over the picture as it stands; false where there is none to draw on. */
  #drawFresh(rows: Int32Array, index: ScreenIndex): boolean {
    const camera = this.#camera;
    const canvas = this.#fresh;
    const ratio = devicePixelRatio;
    const [width, height] = [Math.round(this.#host.clientWidth * ratio), Math.round(this.#host.clientHeight * ratio)];
    if (canvas.width !== width || canvas.height !== height) {
      canvas.width = width;
      canvas.height = height;
    }
    const ctx = canvas.getContext('2d');
    if (ctx === null || camera === null) return false;
    ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
    ctx.fillStyle = `rgb(${this.#colours.selected.join(' ')})`;
    const size = pointSizePx(camera) + 1.5;
    for (let k = 0; k < rows.length; k++) {
      const [x, y] = index.placeOf(rows[k] as number);
      ctx.fillRect(x - size / 2, y - size / 2, size, size);
    }
    this.#hasFresh = true;
    return true;
  }

  setLook(colourBy: ColourBy, flagged: FlaggedShown): void {
    if (this.#flagged !== flagged) this.#index = null;
    this.#colourBy = colourBy;
    this.#flagged = flagged;
    this.#draw();
  }

  setTool(tool: ChartTool, brushPx: number): void {
    this.#tool = tool;
    this.#brushPx = brushPx;
    this.#host.dataset['tool'] = tool;
    this.#draw(false);
    this.#restSoon();
  }

  /** The sounding that is pointed at anywhere; -1 for none. */
  mark(row: number): void {
    if (row === this.#mark) return;
    this.#mark = row;
    this.#draw(false);
  }

  repaint(): void {
    this.#palette = readPalette(document.documentElement);
    this.#colours = readPointColours(document.documentElement);
    this.#draw();
  }

  /** Shows all points. */
  fit(): void {
    const cloud = this.#cloud;
    if (cloud === null) return;
    const { middle, halfEastM: east, halfNorthM: north } = cloud;
    const { xM, yM } = middle;
    this.setCamera(cameraFor({ westM: xM - east, eastM: xM + east, southM: yM - north, northM: yM + north, shoalM: cloud.shoalM, deepM: cloud.deepM }, this.#host.clientWidth, this.#host.clientHeight));
  }

  /** Looks at a place from where the eye is, near enough to see this much around it [m]. */
  lookAt(xM: number, yM: number, depthM: number, reachM: number): void {
    if (this.#camera === null) return;
    const pxPerM = Math.min(this.#host.clientWidth, this.#host.clientHeight) / (3.2 * Math.max(2, reachM));
    this.setCamera({ ...this.#camera, xM, yM, depthM, pxPerM: Math.max(this.#camera.pxPerM, pxPerM) });
  }

  setCamera(camera: Camera): void {
    this.#camera = camera;
    this.#changed();
    this.#events.camera(camera);
  }

  change(by: (camera: Camera) => Camera): void {
    if (this.#camera !== null) this.setCamera(by(this.#camera));
  }

  dispose(): void {
    this.#resize.disconnect();
    cancelAnimationFrame(this.#frame);
    clearTimeout(this.#restTimer);
    clearTimeout(this.#pointTimer);
    this.#painter.dispose();
    this.#canvas.remove();
    this.#fresh.remove();
    this.#over.remove();
  }

  /** The view has moved: what lies where on the screen is to be found anew. */
  #changed(): void {
    this.#index = null;
    this.#busy();
  }

  /** Something is drawn that may be drawn again at once: it must not keep the hand waiting. */
  #busy(): void {
    this.#movedMs = performance.now();
    this.#draw();
    this.#restSoon();
  }

  #restSoon(): void {
    clearTimeout(this.#restTimer);
    this.#restTimer = setTimeout(() => {
      // A stroke that pauses goes on over the picture as it stands.
      if (this.#held && this.#hasFresh) {
        this.#restSoon();
        return;
      }
      this.#draw();
      // What lies where is found before the brush is set down, while nothing waits for it.
      if (this.#tool === 'brush' || this.#tool === 'select') requestAnimationFrame(() => setTimeout(() => this.#screen()));
    }, REST_MS);
  }

  /** Draws in the next frame. @param points false: only what lies over the points */
  #draw(points = true): void {
    this.#wantsPoints ||= points;
    if (this.#frame !== 0) return;
    this.#frame = requestAnimationFrame((nowMs) => {
      this.#frame = 0;
      if (this.#wantsPoints) this.#paint(nowMs);
      else if (this.#camera !== null) this.#paintOver(this.#camera, this.#host.clientWidth, this.#host.clientHeight);
    });
  }

  #paint(nowMs: number): void {
    this.#wantsPoints = false;
    const [widthPx, heightPx] = [this.#host.clientWidth, this.#host.clientHeight];
    const camera = this.#camera;
    if (widthPx < 2 || heightPx < 2 || camera === null) return;
    const moving = performance.now() - this.#movedMs < REST_MS - 10;
    const sinceMs = nowMs - this.#lastFrameMs;
    this.#lastFrameMs = nowMs;
    if (moving && sinceMs < 400) {
      if (sinceMs > FRAME_MS) {
        this.#share = Math.max(LEAST_SHARE, this.#share * Math.max(0.4, FRAME_MS / sinceMs));
        this.#calm = CALM_FRAMES;
      } else if (this.#calm > 0) this.#calm--;
      else if (sinceMs < FRAME_MS * 0.75) this.#share = Math.min(1, this.#share * 1.15);
    }
    if (this.#statesChanged) this.#painter.setStates(this.#states);
    this.#statesChanged = false;
    if (this.#hasFresh) this.#fresh.getContext('2d')?.clearRect(0, 0, widthPx, heightPx);
    this.#hasFresh = false;
    this.#painter.paint({ camera, widthPx, heightPx, pixelRatio: devicePixelRatio, colourBy: this.#colourBy, flagged: this.#flagged, colours: this.#colours, share: moving ? this.#share : 1 });
    this.#host.dataset['share'] = (moving ? this.#share : 1).toFixed(2);
    this.#paintOver(camera, widthPx, heightPx);
  }

  #paintOver(camera: Camera, widthPx: number, heightPx: number): void {
    const ctx = freshContext(this.#over, widthPx, heightPx);
    if (ctx === null) return;
    if (this.#cloud !== null) drawFrame(ctx, widthPx, heightPx, camera, this.#cloud, this.#palette);
    const s = this.#soundings;
    if (s !== null && this.#mark >= 0 && this.#mark < s.n && Number.isFinite(s.xM[this.#mark])) {
      const at = project(camera, widthPx, heightPx, s.xM[this.#mark] as number, s.yM[this.#mark] as number, s.depthM[this.#mark] as number);
      ctx.strokeStyle = this.#palette.magenta;
      ctx.lineWidth = 2.5;
      ctx.beginPath();
      ctx.arc(at.x, at.y, 8, 0, 2 * Math.PI);
      ctx.stroke();
    }
    if (this.#box !== null) {
      const { x0, y0, x1, y1 } = this.#box;
      ctx.fillStyle = `${this.#palette.magenta}29`;
      ctx.strokeStyle = this.#palette.magenta;
      ctx.lineWidth = 1.5;
      ctx.fillRect(Math.min(x0, x1), Math.min(y0, y1), Math.abs(x1 - x0), Math.abs(y1 - y0));
      ctx.strokeRect(Math.min(x0, x1), Math.min(y0, y1), Math.abs(x1 - x0), Math.abs(y1 - y0));
    }
    if (this.#tool === 'brush' && this.#pointer !== null) {
      ctx.strokeStyle = this.#palette.magenta;
      ctx.lineWidth = 1.5;
      ctx.beginPath();
      ctx.arc(this.#pointer.x, this.#pointer.y, this.#brushPx, 0, 2 * Math.PI);
      ctx.stroke();
    }
  }

  /** Where the soundings fall on the screen now. */
  #screen(): ScreenIndex | null {
    const s = this.#soundings;
    const camera = this.#camera;
    if (s === null || camera === null) return null;
    if (this.#index !== null) return this.#index;
    const [widthPx, heightPx] = [this.#host.clientWidth, this.#host.clientHeight];
    const p = projectionOf(camera);
    const x = new Float32Array(s.n);
    const y = new Float32Array(s.n);
    const hidden = this.#flagged === 'hidden';
    for (let i = 0; i < s.n; i++) {
      if (hidden && s.reason[i] !== 0) {
        x[i] = NaN;
        continue;
      }
      const e = (s.xM[i] as number) - camera.xM;
      const n = (s.yM[i] as number) - camera.yM;
      const d = (s.depthM[i] as number) - camera.depthM;
      x[i] = widthPx / 2 + e * p.rightE + n * p.rightN;
      y[i] = heightPx / 2 - (e * p.upE + n * p.upN + d * p.upDepth);
    }
    this.#index = new ScreenIndex(null, x, y, widthPx, heightPx);
    return this.#index;
  }

  #listen(): void {
    const host = this.#over;
    const down = new Map<number, { x: number; y: number }>();
    let dragged = false;
    const place = (event: PointerEvent | WheelEvent) => {
      const box = host.getBoundingClientRect();
      return { x: event.clientX - box.left, y: event.clientY - box.top };
    };
    const paint = (from: { x: number; y: number }, to: { x: number; y: number }, mode: SelectMode) => {
      const index = this.#screen();
      if (index === null) return;
      const steps = Math.max(1, Math.ceil(Math.hypot(to.x - from.x, to.y - from.y) / (this.#brushPx / 2)));
      for (let k = 1; k <= steps; k++) this.#stroke.add(index.within(from.x + ((to.x - from.x) * k) / steps, from.y + ((to.y - from.y) * k) / steps, this.#brushPx), mode);
      this.#stroke.flushSoon();
    };
    host.addEventListener('contextmenu', (event) => event.preventDefault());
    host.addEventListener('pointerdown', (event) => {
      host.setPointerCapture(event.pointerId);
      const at = place(event);
      down.set(event.pointerId, at);
      this.#held = true;
      dragged = false;
      if (down.size > 1) {
        this.#box = null;
        return;
      }
      if (event.button !== 0) return;
      if (this.#tool === 'brush') paint(at, at, modeOf(event, 'add'));
      else if (this.#tool === 'select') this.#box = { x0: at.x, y0: at.y, x1: at.x, y1: at.y };
    });
    host.addEventListener('pointermove', (event) => {
      const at = place(event);
      this.#pointer = at;
      const from = down.get(event.pointerId);
      if (from === undefined) {
        clearTimeout(this.#pointTimer);
        this.#pointTimer = setTimeout(() => this.#events.hover(this.#screen()?.nearest(at.x, at.y, REACH_PX) ?? -1), POINT_MS);
        if (this.#tool === 'brush') this.#draw(false);
        return;
      }
      if (Math.hypot(at.x - from.x, at.y - from.y) > 3) dragged = true;
      if (!dragged) return;
      const panning = down.size === 2 || (event.buttons & 6) !== 0 || (this.#tool === 'look' && event.shiftKey) || (this.#tool === 'line' && event.shiftKey);
      if (down.size === 2) {
        const other = [...down].find(([id]) => id !== event.pointerId)?.[1] ?? at;
        const before = Math.hypot(from.x - other.x, from.y - other.y);
        const after = Math.hypot(at.x - other.x, at.y - other.y);
        this.change((camera) => zoomAt(pan(camera, (at.x - from.x) / 2, (at.y - from.y) / 2), before > 10 ? after / before : 1, (at.x + other.x) / 2 - host.clientWidth / 2, (at.y + other.y) / 2 - host.clientHeight / 2));
      } else if (panning) this.change((camera) => pan(camera, at.x - from.x, at.y - from.y));
      else if (this.#tool === 'brush') paint(from, at, modeOf(event, 'add'));
      else if (this.#box !== null) {
        this.#box.x1 = at.x;
        this.#box.y1 = at.y;
        this.#draw(false);
        return;
      } else this.change((camera) => orbit(camera, (at.x - from.x) * 0.35, (at.y - from.y) * 0.35));
      down.set(event.pointerId, at);
    });
    host.addEventListener('pointerup', (event) => {
      const at = place(event);
      if (!down.delete(event.pointerId)) return;
      this.#held = down.size > 0;
      const box = this.#box;
      this.#box = null;
      if (box !== null && dragged) {
        const rows = this.#screen()?.inBox(Math.min(box.x0, at.x), Math.min(box.y0, at.y), Math.max(box.x0, at.x), Math.max(box.y0, at.y));
        if (rows !== undefined) this.#events.select(rows, modeOf(event, 'replace'));
      } else if (!dragged && event.button === 0 && this.#tool !== 'brush') this.#events.click(this.#screen()?.nearest(at.x, at.y, REACH_PX) ?? -1, modeOf(event, 'replace'));
      // After a stroke all points are drawn once the hand rests.
      this.#draw(!this.#hasFresh);
      if (this.#hasFresh) this.#restSoon();
    });
    host.addEventListener('pointercancel', (event) => {
      down.delete(event.pointerId);
      this.#held = down.size > 0;
      this.#box = null;
      this.#draw();
    });
    host.addEventListener('pointerleave', () => {
      this.#pointer = null;
      clearTimeout(this.#pointTimer);
      this.#events.hover(-1);
      this.#draw(false);
    });
    host.addEventListener(
      'wheel',
      (event) => {
        event.preventDefault();
        const at = place(event);
        const by = Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.05 : 0.0015));
        this.change((camera) => (event.altKey ? exaggerate(camera, by) : zoomAt(camera, by, at.x - host.clientWidth / 2, at.y - host.clientHeight / 2)));
      },
      { passive: false },
    );
  }

  /** A key pressed while the view has the focus; whether it was one of its own. */
  key(event: { readonly key: string; readonly shiftKey: boolean }): boolean {
    const arrows: Readonly<Record<string, readonly [number, number]>> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const arrow = arrows[event.key];
    if (arrow !== undefined) {
      const [x, y] = arrow;
      this.change((camera) => (event.shiftKey ? pan(camera, -x * 40, -y * 40) : orbit(camera, x * 5, -y * 5)));
      return true;
    }
    const zooms: Readonly<Record<string, number>> = { '+': 1.25, '=': 1.25, '-': 0.8 };
    const zoom = zooms[event.key];
    if (zoom !== undefined) this.change((camera) => zoomAt(camera, zoom, 0, 0));
    else if (event.key === 'PageUp' || event.key === 'PageDown') this.change((camera) => exaggerate(camera, event.key === 'PageUp' ? 1.25 : 0.8));
    else if (event.key === 'Home') this.fit();
    else return false;
    return true;
  }
}
