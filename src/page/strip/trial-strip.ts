import type { Trial } from '../../boat/trial-log.js';
import { readPalette, type Palette } from '../chart/palette.js';
import { clockTenths, trialName } from '../words/trials.js';
import type { LoadedTrials } from '../work/read-trials.js';
import { bandLanes } from './band-lanes.js';
import { drawStripBands, drawStripCurves, stripLayout, trialUnder, type StripLayout, type TrialStripPicture } from './draw-trial-strip.js';
import { CanvasPen, SvgPen } from './pen.js';
import { TimeScale } from './time-scale.js';
import { trialPanels, type StripPanel } from './trial-panels.js';

export interface TrialStripEvents {
  /** The pointer is over a moment and maybe a trial; NaN and null where it has left. */
  hover(timeS: number, id: string | null): void;
  select(id: string | null): void;
  /** A window is under the user's hand; null: let go without a change. */
  hold(window: { readonly trial: Trial; readonly startS: number; readonly endS: number } | null): void;
  settle(window: { readonly trial: Trial; readonly startS: number; readonly endS: number }): void;
  span(span: { readonly startS: number; readonly endS: number } | null): void;
  window(startS: number, endS: number): void;
}

/** A window is never made shorter than this [s]. */
const LEAST_S = 1;
const STEP_S = 0.5;
const BIG_STEP_S = 5;
/** A press that moves less than this is a click [px]. */
const CLICK_PX = 4;
/** After this long without another key a window moved by keys is posted [ms]. */
const KEYS_SETTLE_MS = 700;

type Part = 'start' | 'end' | 'whole';

/** A window under the user's hand. */
interface Drag {
  readonly part: Part;
  readonly trial: Trial;
  readonly grabS: number;
  moved: boolean;
  startS: number;
  endS: number;
}

/** The log of trials against time with a band for each trial; bands are moved by their edges, by pointer and by keys. */
export class TrialStrip {
  readonly #host: HTMLElement;
  readonly #events: TrialStripEvents;
  readonly #curves = document.createElement('canvas');
  readonly #bands = document.createElement('canvas');
  readonly #over = document.createElement('div');
  readonly #marker = document.createElement('div');
  readonly #label = document.createElement('div');
  readonly #span = document.createElement('div');
  /** The band under the pointer: laid over the canvas, which is not drawn anew for it. */
  readonly #under = document.createElement('div');
  readonly #widths = new Map<string, number>();
  readonly #handles: Readonly<Record<Part, HTMLElement>>;
  readonly #resize: ResizeObserver;
  #palette: Palette;
  #loaded: LoadedTrials | null = null;
  #panels: readonly StripPanel[] = [];
  #scale = new TimeScale([]);
  #full: readonly [number, number] = [0, 1];
  #window: readonly [number, number] = [0, 1];
  #trials: readonly Trial[] = [];
  #lane: Int32Array = new Int32Array(0);
  #laneTitles: readonly string[] = [];
  #selected: string | null = null;
  #hovered: string | null = null;
  #lit: readonly string[] = [];
  #spanS: readonly [number, number] | null = null;
  #frame = 0;
  #curvesStale = true;
  #drag: Drag | null = null;
  #keysTimer: ReturnType<typeof setTimeout> | undefined;

  constructor(host: HTMLElement, events: TrialStripEvents) {
    this.#host = host;
    this.#events = events;
    this.#palette = readPalette(document.documentElement);
    this.#over.className = 'trial-over';
    this.#marker.className = 'strip-marker';
    this.#label.className = 'strip-label';
    this.#span.className = 'trial-span';
    this.#under.className = 'trial-under';
    for (const part of [this.#marker, this.#label, this.#span, this.#under]) part.hidden = true;
    const handle = (part: Part): HTMLElement => {
      const made = document.createElement('div');
      made.className = `trial-handle trial-handle-${part}`;
      made.tabIndex = 0;
      made.hidden = true;
      made.setAttribute('role', 'slider');
      made.setAttribute('aria-orientation', 'horizontal');
      made.addEventListener('pointerdown', (event) => this.#grab(event, part));
      made.addEventListener('keydown', (event) => this.#key(event, part));
      made.addEventListener('blur', () => this.#settleKeys());
      return made;
    };
    this.#handles = { whole: handle('whole'), start: handle('start'), end: handle('end') };
    this.#over.append(this.#under, this.#span, this.#marker, this.#label, this.#handles.whole, this.#handles.start, this.#handles.end);
    host.append(this.#curves, this.#bands, this.#over);
    this.#listen();
    this.#resize = new ResizeObserver(() => this.#redraw(true));
    this.#resize.observe(host);
  }

  get window(): readonly [number, number] {
    return this.#window;
  }

  get full(): readonly [number, number] {
    return this.#full;
  }

  setLoaded(loaded: LoadedTrials | null): void {
    if (this.#loaded === loaded) return;
    const before = this.#full;
    this.#loaded = loaded;
    this.#panels = loaded === null ? [] : trialPanels(loaded);
    const timeS = loaded?.log.timeS ?? new Float64Array(0);
    this.#scale = new TimeScale(timeS);
    const start = timeS[0] ?? 0;
    const end = timeS[timeS.length - 1] ?? 1;
    const room = Math.max(1, 0.004 * (end - start));
    this.#full = [start - room, end + room];
    if (before[0] !== this.#full[0] || before[1] !== this.#full[1]) this.#window = this.#full;
    this.#redraw(true);
  }

  /** Trials in order of start, and which is at hand. */
  setTrials(trials: readonly Trial[], selected: string | null, lit: readonly string[]): void {
    this.#trials = trials;
    this.#selected = selected;
    this.#lit = lit;
    const { lane, titles } = bandLanes(trials);
    if (titles.join() !== this.#laneTitles.join()) this.#curvesStale = true;
    this.#lane = lane;
    this.#laneTitles = titles;
    this.#redraw(false);
  }

  setHovered(id: string | null): void {
    if (this.#hovered === id) return;
    this.#hovered = id;
    this.#placeUnder(this.#layout());
  }

  #placeUnder(layout: StripLayout): void {
    const at = this.#hovered === null ? -1 : this.#trials.findIndex(({ id }) => id === this.#hovered);
    const trial = this.#trials[at];
    const [from, to] = trial === undefined ? [0, -1] : [Math.max(layout.left, layout.x(trial.startS)), Math.min(layout.right, layout.x(trial.endS))];
    this.#under.hidden = trial === undefined || trial.id === this.#selected || to < from;
    if (this.#under.hidden) return;
    this.#under.style.transform = `translate(${from - 1}px, ${layout.laneTop(this.#lane[at] as number) - 1}px)`;
    this.#under.style.width = `${Math.max(4, to - from + 2)}px`;
  }

  setSpan(span: { readonly startS: number; readonly endS: number } | null): void {
    this.#spanS = span === null ? null : [span.startS, span.endS];
    this.#redraw(false);
  }

  /** The marker at a moment, with its read-out; NaN hides it. */
  mark(timeS: number, text: string): void {
    const shown = timeS >= this.#window[0] && timeS <= this.#window[1] && this.#loaded !== null;
    this.#marker.hidden = !shown;
    this.#label.hidden = !shown || text === '';
    if (!shown) return;
    const layout = this.#layout();
    const x = layout.x(timeS);
    this.#marker.style.transform = `translateX(${x}px)`;
    if (text === '') return;
    this.#label.textContent = text;
    const width = this.#label.offsetWidth;
    this.#label.style.transform = `translate(${x + 8 + width > layout.right ? Math.max(layout.left, x - width - 8) : x + 8}px, ${layout.bottom - 20}px)`;
  }

  repaint(): void {
    this.#widths.clear();
    this.#palette = readPalette(document.documentElement);
    this.#redraw(true);
  }

  /** Shows a window of time, the whole when left out. */
  zoomTo(window: readonly [number, number] = this.#full): void {
    const [low, high] = this.#full;
    const length = Math.min(high - low, Math.max(4, window[1] - window[0]));
    const start = Math.min(high - length, Math.max(low, window[0] + (window[1] - window[0] - length) / 2));
    this.#window = [start, start + length];
    this.#events.window(...this.#window);
    this.#redraw(true);
  }

  /** Shows a window large enough to correct its edges, where it is not so already. */
  reveal(startS: number, endS: number, always: boolean): void {
    const layout = this.#layout();
    const [from, to] = [layout.x(startS), layout.x(endS)];
    const inside = startS >= this.#window[0] && endS <= this.#window[1];
    if (inside && (!always || to - from > 0.18 * (layout.right - layout.left))) return;
    const around = Math.max(8, 0.9 * (endS - startS));
    this.zoomTo([startS - around, endS + around]);
  }

  svg(widthPx: number, heightPx: number, title: string): string {
    const pen = new SvgPen();
    const picture = { ...this.#picture(), widthPx, heightPx: heightPx - 20 };
    drawStripCurves(pen, picture, this.#palette);
    drawStripBands(pen, picture, this.#palette, this.#onAccent(), (text) => 6.2 * text.length);
    pen.text(title, 58, heightPx - 4, this.#palette.quiet);
    return pen.document(widthPx, heightPx, this.#palette.paper);
  }

  canvas(): HTMLCanvasElement {
    const out = document.createElement('canvas');
    out.width = this.#curves.width;
    out.height = this.#curves.height;
    const ctx = out.getContext('2d') as CanvasRenderingContext2D;
    ctx.fillStyle = this.#palette.paper;
    ctx.fillRect(0, 0, out.width, out.height);
    ctx.drawImage(this.#curves, 0, 0);
    ctx.drawImage(this.#bands, 0, 0);
    return out;
  }

  dispose(): void {
    this.#settleKeys();
    cancelAnimationFrame(this.#frame);
    this.#resize.disconnect();
    this.#host.replaceChildren();
  }

  #onAccent(): string {
    return getComputedStyle(document.documentElement).getPropertyValue('--on-magenta').trim();
  }

  #picture(): TrialStripPicture {
    return { widthPx: this.#host.clientWidth, heightPx: this.#host.clientHeight, window: this.#window, scale: this.#scale, panels: this.#panels, trials: this.#trials, lane: this.#lane, laneTitles: this.#laneTitles, selected: this.#selected, lit: this.#lit };
  }

  #layout(): StripLayout {
    return stripLayout(this.#picture());
  }

  #redraw(curves: boolean): void {
    if (curves) this.#curvesStale = true;
    if (this.#frame !== 0) return;
    this.#frame = requestAnimationFrame(() => {
      this.#frame = 0;
      this.#draw();
    });
  }

  #draw(): void {
    const picture = this.#picture();
    if (picture.widthPx < 100 || this.#loaded === null) return;
    if (this.#curvesStale) {
      this.#curvesStale = false;
      drawStripCurves(new CanvasPen(fresh(this.#curves, picture)), picture, this.#palette);
    }
    const ctx = fresh(this.#bands, picture);
    ctx.font = `500 12px ${this.#palette.font}`;
    drawStripBands(new CanvasPen(ctx), picture, this.#palette, this.#onAccent(), (text) => this.#widthOf(ctx, text));
    const layout = stripLayout(picture);
    this.#place(layout);
    this.#placeUnder(layout);
  }

  #widthOf(ctx: CanvasRenderingContext2D, text: string): number {
    let width = this.#widths.get(text);
    if (width === undefined) {
      width = ctx.measureText(text).width;
      this.#widths.set(text, width);
    }
    return width;
  }

  /** The handles of the trial at hand, and the span chosen. */
  #place(layout: StripLayout): void {
    const trial = this.#trials.find(({ id }) => id === this.#selected) ?? null;
    const held = this.#drag !== null && this.#drag.trial.id === trial?.id ? this.#drag : trial;
    for (const part of ['start', 'end', 'whole'] as const) {
      const handle = this.#handles[part];
      const atS = held === null ? NaN : part === 'end' ? held.endS : held.startS;
      const [from, to] = held === null ? [0, 0] : [Math.max(layout.left, layout.x(held.startS)), Math.min(layout.right, layout.x(held.endS))];
      const seen = held !== null && (part === 'whole' ? to > layout.left && from < layout.right : atS >= this.#window[0] && atS <= this.#window[1]);
      if (!seen && document.activeElement !== handle) handle.hidden = true;
      if (!seen || held === null || trial === null) continue;
      handle.hidden = false;
      const name = trialName(trial, this.#trials);
      handle.setAttribute('aria-label', part === 'whole' ? `Window of ${name}: arrow keys move it by half a second, with Shift by 5 s` : `${part === 'start' ? 'Start' : 'End'} of ${name}: arrow keys move it by half a second, with Shift by 5 s`);
      const zeroS = this.#full[0];
      handle.setAttribute('aria-valuemin', '0');
      handle.setAttribute('aria-valuemax', (this.#full[1] - zeroS).toFixed(1));
      handle.setAttribute('aria-valuenow', (atS - zeroS).toFixed(1));
      handle.setAttribute('aria-valuetext', part === 'whole' ? `${clockTenths(held.startS)} to ${clockTenths(held.endS)}` : clockTenths(atS));
      const lane = this.#lane[this.#trials.indexOf(trial)] ?? 0;
      if (part === 'whole') {
        handle.style.transform = `translate(${from}px, ${layout.laneTop(lane)}px)`;
        handle.style.width = `${Math.max(2, to - from)}px`;
      } else {
        handle.style.transform = `translateX(${layout.x(atS)}px)`;
        handle.style.height = `${layout.bottom}px`;
      }
    }
    const span = this.#spanS;
    this.#span.hidden = span === null;
    if (span !== null) {
      const [from, to] = [Math.max(layout.left, layout.x(span[0])), Math.min(layout.right, layout.x(span[1]))];
      this.#span.style.transform = `translateX(${from}px)`;
      this.#span.style.width = `${Math.max(1, to - from)}px`;
      this.#span.style.height = `${layout.bottom}px`;
    }
  }

  #xIn(event: { readonly clientX: number; readonly clientY: number }): { readonly x: number; readonly y: number } {
    const box = this.#over.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  }

  #timeIn(x: number): number {
    const layout = this.#layout();
    return layout.timeAt(Math.max(layout.left, Math.min(layout.right, x)));
  }

  #listen(): void {
    const over = this.#over;
    let press: { readonly x: number; readonly y: number; readonly timeS: number; moved: boolean } | null = null;
    over.addEventListener('pointerdown', (event) => {
      if (event.button !== 0 || event.target !== over) return;
      const { x, y } = this.#xIn(event);
      press = { x, y, timeS: this.#timeIn(x), moved: false };
      over.setPointerCapture(event.pointerId);
    });
    over.addEventListener('pointermove', (event) => {
      const { x, y } = this.#xIn(event);
      if (press === null) {
        if (this.#drag === null) this.#events.hover(this.#timeIn(x), trialUnder(this.#picture(), x, y)?.id ?? null);
        return;
      }
      if (!press.moved && Math.abs(x - press.x) < CLICK_PX) return;
      press.moved = true;
      const timeS = this.#timeIn(x);
      this.setSpan({ startS: Math.min(timeS, press.timeS), endS: Math.max(timeS, press.timeS) });
      this.#events.hover(timeS, null);
    });
    over.addEventListener('pointerup', (event) => {
      if (press === null) return;
      const { x, y } = this.#xIn(event);
      const { timeS, moved } = press;
      press = null;
      if (!moved) {
        this.#events.span(null);
        this.#events.select(trialUnder(this.#picture(), x, y)?.id ?? null);
        return;
      }
      const end = this.#timeIn(x);
      const span = { startS: Math.min(timeS, end), endS: Math.max(timeS, end) };
      this.#events.span(span.endS - span.startS >= LEAST_S ? span : null);
    });
    over.addEventListener('pointercancel', () => {
      press = null;
      this.#events.span(null);
    });
    over.addEventListener('pointerleave', () => {
      if (press === null && this.#drag === null) this.#events.hover(NaN, null);
    });
    over.addEventListener('dblclick', (event) => {
      const { x, y } = this.#xIn(event);
      const trial = y <= this.#layout().lanesBottom ? trialUnder(this.#picture(), x, y) : null;
      if (trial === null) this.zoomTo();
      else this.reveal(trial.startS, trial.endS, true);
    });
    over.addEventListener(
      'wheel',
      (event) => {
        event.preventDefault();
        const [start, end] = [this.#scale.toStrip(this.#window[0]), this.#scale.toStrip(this.#window[1])];
        const pan = event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY);
        if (pan) {
          const by = ((end - start) * (event.deltaX === 0 ? event.deltaY : event.deltaX)) / 1000;
          this.zoomTo([this.#scale.toTime(start + by), this.#scale.toTime(end + by)]);
          return;
        }
        const at = this.#scale.toStrip(this.#timeIn(this.#xIn(event).x));
        const factor = event.deltaY > 0 ? 1.25 : 0.8;
        this.zoomTo([this.#scale.toTime(at - (at - start) * factor), this.#scale.toTime(at + (end - at) * factor)]);
      },
      { passive: false },
    );
  }

  #selectedTrial(): Trial | null {
    return this.#trials.find(({ id }) => id === this.#selected) ?? null;
  }

  /** Takes hold of an edge, or of the whole band. */
  #grab(event: PointerEvent, part: Part): void {
    const trial = this.#selectedTrial();
    if (trial === null || event.button !== 0) return;
    this.#settleKeys();
    const handle = this.#handles[part];
    handle.setPointerCapture(event.pointerId);
    const grabX = this.#xIn(event).x;
    const drag: Drag = { part, trial, grabS: this.#timeIn(grabX), moved: false, startS: trial.startS, endS: trial.endS };
    this.#drag = drag;
    // A mouse may tell more moves than there are frames: one is followed a frame, and the last of all in any case.
    let byS = NaN;
    let waiting = 0;
    const follow = () => {
      waiting = 0;
      this.#to(drag, byS);
    };
    const move = (next: PointerEvent) => {
      const { x } = this.#xIn(next);
      if (!drag.moved && Math.abs(x - grabX) < 1) return;
      drag.moved = true;
      byS = this.#timeIn(x) - drag.grabS;
      if (waiting === 0) waiting = requestAnimationFrame(follow);
    };
    const end = (kept: boolean) => {
      if (waiting !== 0) {
        cancelAnimationFrame(waiting);
        if (kept) follow();
      }
      handle.removeEventListener('pointermove', move);
      handle.removeEventListener('pointerup', up);
      handle.removeEventListener('pointercancel', cancel);
      removeEventListener('keydown', escape, true);
      this.#drag = null;
      if (kept && drag.moved && (drag.startS !== trial.startS || drag.endS !== trial.endS)) this.#events.settle(drag);
      else if (drag.moved) this.#events.hold(null);
      this.#redraw(false);
    };
    const up = () => end(true);
    const cancel = () => end(false);
    const escape = (key: KeyboardEvent) => {
      if (key.key !== 'Escape') return;
      key.stopPropagation();
      end(false);
    };
    handle.addEventListener('pointermove', move);
    handle.addEventListener('pointerup', up);
    handle.addEventListener('pointercancel', cancel);
    addEventListener('keydown', escape, true);
  }

  /** Moves what is held by so much, within the log and never shorter than the least. */
  #to(drag: Drag, byS: number): void {
    const { part, trial } = drag;
    const timeS = this.#loaded?.log.timeS ?? new Float64Array(0);
    const [first, last] = [timeS[0] ?? 0, timeS[timeS.length - 1] ?? 0];
    if (part === 'start') drag.startS = Math.max(first, Math.min(trial.endS - LEAST_S, trial.startS + byS));
    else if (part === 'end') drag.endS = Math.min(last, Math.max(trial.startS + LEAST_S, trial.endS + byS));
    else {
      const kept = Math.max(first - trial.startS, Math.min(last - trial.endS, byS));
      drag.startS = trial.startS + kept;
      drag.endS = trial.endS + kept;
    }
    this.#events.hold(drag);
    this.#events.hover(part === 'end' ? drag.endS : drag.startS, trial.id);
    this.#redraw(false);
  }

  #key(event: KeyboardEvent, part: Part): void {
    const step = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[event.key];
    if (step === undefined) {
      if (event.key === 'Enter') this.#settleKeys();
      else if (event.key === 'Escape' && this.#drag !== null) {
        event.stopPropagation();
        clearTimeout(this.#keysTimer);
        this.#keysTimer = undefined;
        this.#drag = null;
        this.#events.hold(null);
      }
      return;
    }
    event.preventDefault();
    if (this.#drag === null || this.#drag.part !== part) {
      this.#settleKeys();
      const trial = this.#selectedTrial();
      if (trial === null) return;
      this.#drag = { part, trial, grabS: NaN, moved: true, startS: trial.startS, endS: trial.endS };
    }
    const drag = this.#drag;
    const movedBy = part === 'end' ? drag.endS - drag.trial.endS : drag.startS - drag.trial.startS;
    this.#to(drag, movedBy + step * (event.shiftKey ? BIG_STEP_S : STEP_S));
    const atS = part === 'end' ? drag.endS : drag.startS;
    const [start, end] = this.#window;
    if (atS < start || atS > end) this.zoomTo([start + atS - (start + end) / 2, end + atS - (start + end) / 2]);
    clearTimeout(this.#keysTimer);
    this.#keysTimer = setTimeout(() => this.#settleKeys(), KEYS_SETTLE_MS);
  }

  /** Posts what keys have moved. */
  #settleKeys(): void {
    if (this.#keysTimer === undefined) return;
    clearTimeout(this.#keysTimer);
    this.#keysTimer = undefined;
    const drag = this.#drag;
    this.#drag = null;
    if (drag === null) return;
    if (drag.startS !== drag.trial.startS || drag.endS !== drag.trial.endS) this.#events.settle(drag);
    else this.#events.hold(null);
  }
}

function fresh(canvas: HTMLCanvasElement, { widthPx, heightPx }: TrialStripPicture): CanvasRenderingContext2D {
  const ratio = devicePixelRatio;
  const [width, height] = [Math.round(widthPx * ratio), Math.round(heightPx * ratio)];
  if (canvas.width !== width) canvas.width = width;
  if (canvas.height !== height) canvas.height = height;
  const ctx = canvas.getContext('2d') as CanvasRenderingContext2D;
  ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
  ctx.clearRect(0, 0, widthPx, heightPx);
  return ctx;
}
