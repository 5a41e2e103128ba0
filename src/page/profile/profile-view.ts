import type { Soundings } from '../../depths/soundings.js';
import type { ChartTool } from '../chart/chart-tool.js';
import { freshContext } from '../chart/fresh-context.js';
import { readPalette, type Palette } from '../chart/palette.js';
import { modeOf, type SelectMode } from '../select/rows.js';
import { ScreenIndex } from '../select/screen-index.js';
import { Stroke } from '../select/stroke.js';
import { rowAt } from '../strip/decimate.js';
import { niceSteps, timeSteps } from '../strip/strip-svg.js';
import { fixed } from '../words/figures.js';
import { depthWindow, isJoined, type Profile } from './profile-data.js';

export interface ProfileEvents {
  hover(row: number): void;
  click(row: number, mode: SelectMode): void;
  select(rows: ArrayLike<number>, mode: SelectMode): void;
  /** What is shown has changed. */
  window(from: number, to: number): void;
}

const MARGIN = { left: 52, right: 14, top: 14, bottom: 26 };
const REACH_PX = 9;
/** Soundings drawn beyond each edge. */
const BEYOND_ROWS = 40;
/** Least stretch that can be shown [m or s]. */
const LEAST = 0.5;

/** Depth against distance or time of one run: its soundings, those of others beside it, what is set aside and selected. */
export class ProfileView {
  readonly #host: HTMLElement;
  readonly #canvas = document.createElement('canvas');
  readonly #over = document.createElement('canvas');
  readonly #events: ProfileEvents;
  readonly #resize: ResizeObserver;
  readonly #stroke = new Stroke('profile');
  #palette: Palette;
  #soundings: Soundings | null = null;
  #profile: Profile | null = null;
  #selected = new Uint8Array(0);
  #window: readonly [number, number] = [0, 1];
  #depths: readonly [number, number] = [0, 1];
  #fixedDepths = false;
  #index: ScreenIndex | null = null;
  #tool: ChartTool = 'look';
  #brushPx = 14;
  #mark = -1;
  #frame = 0;
  #stale = true;
  #box: { readonly x0: number; readonly y0: number; x1: number; y1: number } | null = null;
  #pointer: { readonly x: number; readonly y: number } | null = null;

  constructor(host: HTMLElement, events: ProfileEvents) {
    this.#host = host;
    this.#events = events;
    this.#palette = readPalette(document.documentElement);
    this.#canvas.className = 'profile-canvas';
    this.#over.className = 'profile-over';
    host.append(this.#canvas, this.#over);
    this.#resize = new ResizeObserver(() => this.#draw());
    this.#resize.observe(host);
    this.#listen();
  }

  get window(): readonly [number, number] {
    return this.#window;
  }

  canvas(): HTMLCanvasElement {
    return this.#canvas;
  }

  /** Shows a run; the whole of it, unless it is the one shown already. */
  setProfile(soundings: Soundings | null, profile: Profile | null): void {
    const before = this.#profile;
    this.#soundings = soundings;
    this.#profile = profile;
    const same = before !== null && profile !== null && before.run.rowStart === profile.run.rowStart && before.run.rowEnd === profile.run.rowEnd && before.byDistance === profile.byDistance;
    if (!same) this.showAll();
    else this.#fitDepths();
    this.#draw();
  }

  setSelection(selection: Int32Array): void {
    const n = this.#soundings?.n ?? 0;
    if (this.#selected.length === n) this.#selected.fill(0);
    else this.#selected = new Uint8Array(n);
    for (let k = 0; k < selection.length; k++) this.#selected[selection[k] as number] = 1;
    this.#draw();
  }

  /** Shows the whole run. */
  showAll(): void {
    const along = this.#profile?.along;
    const [from, to] = [along?.[0] ?? 0, along?.[along.length - 1] ?? 1];
    const room = Math.max(LEAST, to - from) * 0.01;
    this.#fixedDepths = false;
    this.zoomTo(from - room, to + room);
  }

  zoomTo(from: number, to: number): void {
    if (!(to - from >= LEAST)) [from, to] = [(from + to - LEAST) / 2, (from + to + LEAST) / 2];
    this.#window = [from, to];
    this.#fitDepths();
    this.#draw();
    this.#events.window(from, to);
  }

  /** Where along the run a time is; NaN where no run is shown. */
  alongAt(timeS: number): number {
    const profile = this.#profile;
    const soundings = this.#soundings;
    if (profile === null || soundings === null) return NaN;
    if (!profile.byDistance) return timeS;
    let best = NaN;
    let least = Infinity;
    for (let i = profile.run.rowStart; i < profile.run.rowEnd; i++) {
      const off = Math.abs((soundings.timeS[i] as number) - timeS);
      if (off >= least) continue;
      least = off;
      best = profile.along[i - profile.run.rowStart] as number;
    }
    return best;
  }

  setTool(tool: ChartTool, brushPx: number): void {
    this.#tool = tool;
    this.#brushPx = brushPx;
    this.#host.dataset['tool'] = tool;
    this.#drawOver();
  }

  mark(row: number): void {
    if (row === this.#mark) return;
    this.#mark = row;
    this.#drawOver();
  }

  repaint(): void {
    this.#palette = readPalette(document.documentElement);
    this.#draw();
  }

  dispose(): void {
    this.#resize.disconnect();
    cancelAnimationFrame(this.#frame);
    this.#canvas.remove();
    this.#over.remove();
  }

  #fitDepths(): void {
    const [soundings, profile] = [this.#soundings, this.#profile];
    if (soundings !== null && profile !== null && !this.#fixedDepths) this.#depths = depthWindow(soundings, profile.run, profile.along, ...this.#window);
  }

  #x(along: number): number {
    const [from, to] = this.#window;
    return MARGIN.left + ((along - from) / (to - from)) * (this.#host.clientWidth - MARGIN.left - MARGIN.right);
  }

  #y(depthM: number): number {
    const [low, high] = this.#depths;
    return MARGIN.top + ((depthM - low) / (high - low)) * (this.#host.clientHeight - MARGIN.top - MARGIN.bottom);
  }

  /** A depth beyond the scale stands on its edge. */
  #shownY(depthM: number): number {
    return Math.min(this.#host.clientHeight - MARGIN.bottom - 3, Math.max(MARGIN.top + 3, this.#y(depthM)));
  }

  #draw(): void {
    this.#stale = true;
    this.#index = null;
    this.#drawOver();
  }

  #drawOver(): void {
    if (this.#frame !== 0) return;
    this.#frame = requestAnimationFrame(() => {
      this.#frame = 0;
      if (this.#stale) this.#paint();
      this.#stale = false;
      this.#paintOver();
    });
  }

  #paint(): void {
    const ctx = freshContext(this.#canvas, this.#host.clientWidth, this.#host.clientHeight);
    const [soundings, profile] = [this.#soundings, this.#profile];
    if (ctx === null) return;
    const palette = this.#palette;
    const [width, height] = [this.#host.clientWidth, this.#host.clientHeight];
    ctx.font = `500 13px ${palette.font}`;
    if (soundings === null || profile === null) return;
    const right = width - MARGIN.right;
    const bottom = height - MARGIN.bottom;
    ctx.lineWidth = 1;
    ctx.fillStyle = palette.quiet;
    ctx.textAlign = 'right';
    ctx.textBaseline = 'middle';
    for (const depthM of niceSteps(this.#depths[0], this.#depths[1], Math.max(2, Math.floor(height / 44)))) {
      const y = Math.round(this.#y(depthM)) + 0.5;
      if (y < MARGIN.top || y > bottom) continue;
      ctx.strokeStyle = palette.hairline;
      ctx.beginPath();
      ctx.moveTo(MARGIN.left, y);
      ctx.lineTo(right, y);
      ctx.stroke();
      ctx.fillText(fixed(depthM, depthM % 1 === 0 ? 0 : 1), MARGIN.left - 8, y);
    }
    ctx.textAlign = 'left';
    ctx.fillText('m', 4, MARGIN.top);
    ctx.textAlign = 'center';
    ctx.textBaseline = 'alphabetic';
    const [from, to] = this.#window;
    const steps = profile.byDistance ? niceSteps(from, to, (right - MARGIN.left) / 110) : timeSteps(from, to, (right - MARGIN.left) / 95);
    for (const step of steps) {
      const x = this.#x(step);
      if (x < MARGIN.left + 8 || x > right - 20) continue;
      ctx.strokeStyle = palette.ink;
      ctx.beginPath();
      ctx.moveTo(x, bottom);
      ctx.lineTo(x, bottom + 4);
      ctx.stroke();
      ctx.fillText(profile.byDistance ? `${fixed(step, step % 1 === 0 ? 0 : 1)} m` : new Date(step * 1000).toISOString().slice(11, to - from < 600 ? 19 : 16), x, height - 6);
    }
    ctx.save();
    ctx.beginPath();
    ctx.rect(MARGIN.left, 0, right - MARGIN.left, bottom + 1);
    ctx.clip();
    this.#paintNeighbours(ctx, soundings, profile);
    this.#paintRun(ctx, soundings, profile);
    ctx.restore();
    ctx.strokeStyle = palette.ink;
    ctx.strokeRect(MARGIN.left - 0.5, MARGIN.top - 0.5, right - MARGIN.left + 1, bottom - MARGIN.top + 1);
  }

  /** Soundings of other runs: the nearer, the darker. */
  #paintNeighbours(ctx: CanvasRenderingContext2D, soundings: Soundings, { neighbours }: Profile): void {
    const seen = this.#seen();
    ctx.fillStyle = this.#palette.waterLevel;
    const farM = neighbours.offM.reduce((most, one) => Math.max(most, one), 1);
    for (const [share, alpha] of [[1, 0.3], [0.5, 0.6], [0.2, 1]] as const) {
      ctx.globalAlpha = alpha;
      for (let k = 0; k < neighbours.rows.length; k++) {
        const off = (neighbours.offM[k] as number) / farM;
        if (off > share || (share > 0.2 && off <= (share === 1 ? 0.5 : 0.2))) continue;
        const row = neighbours.rows[k] as number;
        if (soundings.reason[row] !== 0) continue;
        const [x, y] = [this.#x(neighbours.along[k] as number), this.#y(soundings.depthM[row] as number)];
        if (seen(x, y)) ctx.fillRect(x - 1, y - 1, 2.2, 2.2);
      }
    }
    ctx.globalAlpha = 1;
  }

  #paintRun(ctx: CanvasRenderingContext2D, soundings: Soundings, { run, along }: Profile): void {
    const palette = this.#palette;
    const [from, to] = this.#window;
    const seen = this.#seen();
    ctx.strokeStyle = palette.ink;
    ctx.globalAlpha = 0.45;
    ctx.lineWidth = 1;
    ctx.beginPath();
    let last = -1;
    let column = NaN;
    // A step beyond each edge, so that the line runs to the border.
    const first = run.rowStart + rowAt(along, from);
    const end = run.rowStart + rowAt(along, to);
    for (let i = Math.max(run.rowStart, first - BEYOND_ROWS); i < Math.min(run.rowEnd, end + BEYOND_ROWS); i++) {
      const at = along[i - run.rowStart] as number;
      if (soundings.reason[i] !== 0) continue;
      const x = this.#x(at);
      // One vertex a quarter pixel draws the same line.
      if (Math.floor(x * 4) === column) continue;
      column = Math.floor(x * 4);
      const y = this.#y(soundings.depthM[i] as number);
      if (last >= 0 && isJoined(soundings, last, i)) ctx.lineTo(x, y);
      else ctx.moveTo(x, y);
      last = i;
    }
    ctx.stroke();
    ctx.globalAlpha = 1;
    ctx.fillStyle = palette.ink;
    const aside: number[] = [];
    const chosen: number[] = [];
    for (let i = first; i < end; i++) {
      const at = along[i - run.rowStart] as number;
      if (this.#selected[i] === 1) chosen.push(i);
      else if (soundings.reason[i] !== 0) aside.push(i);
      else {
        const [x, y] = [this.#x(at), this.#y(soundings.depthM[i] as number)];
        if (seen(x, y)) ctx.fillRect(x - 1.2, y - 1.2, 2.4, 2.4);
      }
    }
    const size = aside.length > 400 ? 2.2 : 3.4;
    const rings = this.#seen(3);
    ctx.strokeStyle = palette.magenta;
    ctx.lineWidth = 1.3;
    ctx.beginPath();
    for (const i of aside) {
      const [x, y] = [this.#x(along[i - run.rowStart] as number), this.#shownY(soundings.depthM[i] as number)];
      if (!rings(x, y)) continue;
      ctx.moveTo(x + size, y);
      ctx.arc(x, y, size, 0, 2 * Math.PI);
    }
    ctx.stroke();
    ctx.fillStyle = palette.magenta;
    const dots = this.#seen(2);
    for (const i of chosen) {
      const [x, y] = [this.#x(along[i - run.rowStart] as number), this.#shownY(soundings.depthM[i] as number)];
      if (dots(x, y)) ctx.fillRect(x - 2.6, y - 2.6, 5.2, 5.2);
    }
  }

  /** Whether a place has not been drawn at before. */
  #seen(apartPx = 1): (x: number, y: number) => boolean {
    const cols = Math.ceil(this.#host.clientWidth / apartPx) + 1;
    const lines = Math.ceil(this.#host.clientHeight / apartPx) + 1;
    const grid = new Uint8Array(cols * lines);
    return (x, y) => {
      if (!(x >= 0 && y >= 0)) return false;
      const at = Math.floor(y / apartPx) * cols + Math.floor(x / apartPx);
      if (x >= cols * apartPx || at >= grid.length || grid[at] === 1) return false;
      grid[at] = 1;
      return true;
    };
  }

  #paintOver(): void {
    const ctx = freshContext(this.#over, this.#host.clientWidth, this.#host.clientHeight);
    const [soundings, profile] = [this.#soundings, this.#profile];
    if (ctx === null || soundings === null || profile === null) return;
    const palette = this.#palette;
    const { run, along } = profile;
    const row = this.#mark;
    let at = NaN;
    if (row >= run.rowStart && row < run.rowEnd) at = along[row - run.rowStart] as number;
    else if (row >= 0) {
      const k = profile.neighbours.rows.indexOf(row);
      if (k >= 0) at = profile.neighbours.along[k] as number;
    }
    if (at >= this.#window[0] && at <= this.#window[1]) {
      ctx.strokeStyle = palette.magenta;
      ctx.lineWidth = 1.5;
      ctx.beginPath();
      ctx.moveTo(this.#x(at), MARGIN.top);
      ctx.lineTo(this.#x(at), this.#host.clientHeight - MARGIN.bottom);
      ctx.stroke();
      const y = this.#shownY(soundings.depthM[row] as number);
      if (Number.isFinite(y)) {
        ctx.lineWidth = 2.5;
        ctx.beginPath();
        ctx.arc(this.#x(at), y, 7, 0, 2 * Math.PI);
        ctx.stroke();
      }
    }
    ctx.strokeStyle = palette.magenta;
    ctx.lineWidth = 1.5;
    if (this.#box !== null) {
      const { x0, y0, x1, y1 } = this.#box;
      const box = [Math.min(x0, x1), Math.min(y0, y1), Math.abs(x1 - x0), Math.abs(y1 - y0)] as const;
      ctx.fillStyle = `${palette.magenta}29`;
      ctx.fillRect(...box);
      ctx.strokeRect(...box);
    }
    if (this.#tool === 'brush' && this.#pointer !== null) {
      ctx.beginPath();
      ctx.arc(this.#pointer.x, this.#pointer.y, this.#brushPx, 0, 2 * Math.PI);
      ctx.stroke();
    }
  }

  /** The run's soundings where they stand on the screen, and its neighbours, which can be pointed at too. */
  #screen(): ScreenIndex | null {
    const [soundings, profile] = [this.#soundings, this.#profile];
    if (soundings === null || profile === null) return null;
    if (this.#index !== null) return this.#index;
    const { run, along, neighbours } = profile;
    const own = run.rowEnd - run.rowStart;
    const n = own + neighbours.rows.length;
    const rows = new Int32Array(n);
    const [x, y] = [new Float32Array(n), new Float32Array(n)];
    for (let k = 0; k < n; k++) {
      const row = k < own ? run.rowStart + k : (neighbours.rows[k - own] as number);
      rows[k] = row;
      x[k] = this.#x((k < own ? along[k] : neighbours.along[k - own]) as number);
      y[k] = k >= own && soundings.reason[row] !== 0 ? NaN : this.#shownY(soundings.depthM[row] as number);
    }
    this.#index = new ScreenIndex(rows, x, y, this.#host.clientWidth, this.#host.clientHeight);
    return this.#index;
  }

  #alongAtX(x: number): number {
    const [from, to] = this.#window;
    return from + ((x - MARGIN.left) / Math.max(1, this.#host.clientWidth - MARGIN.left - MARGIN.right)) * (to - from);
  }

  #listen(): void {
    const host = this.#over;
    let from: { x: number; y: number } | null = null;
    let dragged = false;
    const place = (event: PointerEvent | WheelEvent) => {
      const box = host.getBoundingClientRect();
      return { x: event.clientX - box.left, y: event.clientY - box.top };
    };
    const ownRows = (rows: Int32Array) => {
      const run = this.#profile?.run;
      // A box and a brush take the run's own; a neighbour is taken by a click.
      return run === undefined ? rows : rows.filter((row) => row >= run.rowStart && row < run.rowEnd);
    };
    const paint = (a: { x: number; y: number }, b: { x: number; y: number }, mode: SelectMode) => {
      const index = this.#screen();
      if (index === null) return;
      const steps = Math.max(1, Math.ceil(Math.hypot(b.x - a.x, b.y - a.y) / (this.#brushPx / 2)));
      for (let k = 1; k <= steps; k++) this.#stroke.add(ownRows(index.within(a.x + ((b.x - a.x) * k) / steps, a.y + ((b.y - a.y) * k) / steps, this.#brushPx)), mode);
      this.#stroke.flushSoon();
    };
    host.addEventListener('pointerdown', (event) => {
      if (event.button !== 0) return;
      host.setPointerCapture(event.pointerId);
      from = place(event);
      dragged = false;
      if (this.#tool === 'brush') paint(from, from, modeOf(event, 'add'));
      else if (this.#tool === 'select' || (event.shiftKey && this.#tool === 'look')) this.#box = { x0: from.x, y0: from.y, x1: from.x, y1: from.y };
    });
    host.addEventListener('pointermove', (event) => {
      const at = place(event);
      this.#pointer = at;
      if (from === null) {
        this.#events.hover(this.#screen()?.nearest(at.x, at.y, REACH_PX) ?? -1);
        this.#drawOver();
        return;
      }
      if (Math.hypot(at.x - from.x, at.y - from.y) > 3) dragged = true;
      if (!dragged) return;
      if (this.#tool === 'brush') {
        paint(from, at, modeOf(event, 'add'));
        from = at;
      } else if (this.#box !== null) {
        this.#box.x1 = at.x;
        this.#box.y1 = at.y;
      } else {
        const [start, end] = this.#window;
        const by = this.#alongAtX(from.x) - this.#alongAtX(at.x);
        from = at;
        this.zoomTo(start + by, end + by);
      }
      this.#drawOver();
    });
    host.addEventListener('pointerup', (event) => {
      const at = place(event);
      const box = this.#box;
      this.#box = null;
      if (from !== null && box !== null && dragged) {
        const rows = this.#screen()?.inBox(Math.min(box.x0, at.x), Math.min(box.y0, at.y), Math.max(box.x0, at.x), Math.max(box.y0, at.y));
        if (rows !== undefined) this.#events.select(ownRows(rows), modeOf({ shiftKey: event.shiftKey && this.#tool === 'select', altKey: event.altKey }, 'replace'));
      } else if (from !== null && !dragged && this.#tool !== 'brush') this.#events.click(this.#screen()?.nearest(at.x, at.y, REACH_PX) ?? -1, modeOf(event, 'replace'));
      from = null;
      this.#drawOver();
    });
    host.addEventListener('pointercancel', () => {
      from = null;
      this.#box = null;
      this.#drawOver();
    });
    host.addEventListener('pointerleave', () => {
      this.#pointer = null;
      this.#events.hover(-1);
      this.#drawOver();
    });
    host.addEventListener('dblclick', () => this.showAll());
    host.addEventListener(
      'wheel',
      (event) => {
        event.preventDefault();
        const at = place(event);
        const by = event.deltaY > 0 ? 1.2 : 1 / 1.2;
        if (event.shiftKey || event.altKey) {
          // The wheel with Shift stretches the depths about the pointer.
          const [low, high] = this.#depths;
          const height = this.#host.clientHeight - MARGIN.top - MARGIN.bottom;
          const depthM = low + ((at.y - MARGIN.top) / height) * (high - low);
          this.#fixedDepths = true;
          this.#depths = [depthM - (depthM - low) * by, depthM + (high - depthM) * by];
          this.#draw();
          return;
        }
        const [start, end] = this.#window;
        const along = this.#alongAtX(at.x);
        this.zoomTo(along - (along - start) * by, along + (end - along) * by);
      },
      { passive: false },
    );
  }

  /** Moves or zooms by key; whether it was one of its own. */
  key(event: { readonly key: string }): boolean {
    const [from, to] = this.#window;
    const span = to - from;
    if (event.key === '+' || event.key === '=') this.zoomTo(from + span / 6, to - span / 6);
    else if (event.key === '-') this.zoomTo(from - span / 4, to + span / 4);
    else if (event.key === '0') this.showAll();
    else if (event.key === 'PageDown') this.zoomTo(from + span / 2, to + span / 2);
    else if (event.key === 'PageUp') this.zoomTo(from - span / 2, to - span / 2);
    else return false;
    return true;
  }
}
