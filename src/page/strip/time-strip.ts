import uPlot from 'uplot';
import type { Soundings } from '../../depths/soundings.js';
import { readPalette, type Palette } from '../chart/palette.js';
import { TimeScale } from './time-scale.js';
import { timeSteps } from './strip-svg.js';
import { duration } from '../words/figures.js';
import { nearestRow, rowAt, thinByMinMax, type ThinnedCurve } from './decimate.js';

/** A silence longer than this breaks the profile [s]. */
const MAX_GAP_S = 20;

export interface StripEvents {
  hover(row: number): void;
  /** Rows inside a box of time and depth. */
  select(rows: readonly number[], add: boolean): void;
  window(startS: number, endS: number): void;
}

/** Depth against time, thinned to its pixels; what is set aside as rings; the water level dashed; a band of uncertainty. */
export class TimeStrip {
  readonly #host: HTMLElement;
  readonly #events: StripEvents;
  readonly #marker = document.createElement('div');
  readonly #label = document.createElement('div');
  readonly #resize: ResizeObserver;
  #plot: uPlot | null = null;
  #palette: Palette;
  #soundings: Soundings | null = null;
  #setAside = new Int32Array(0);
  #goodTimes: { readonly timeS: Float64Array; readonly rows: Int32Array } = { timeS: new Float64Array(0), rows: new Int32Array(0) };
  #selecting = false;
  #showSetAside = true;
  #depthRange: readonly [number, number] = [0, 10];
  #full: readonly [number, number] = [0, 1];
  #window: readonly [number, number] = [0, 1];
  #scale = new TimeScale([]);
  #curves: { readonly depth: ThinnedCurve; readonly water: ThinnedCurve } | null = null;

  constructor(host: HTMLElement, events: StripEvents) {
    this.#host = host;
    this.#events = events;
    this.#palette = readPalette(document.documentElement);
    this.#marker.className = 'strip-marker';
    this.#label.className = 'strip-label';
    this.#marker.hidden = true;
    this.#label.hidden = true;
    this.#resize = new ResizeObserver(() => this.#fitSize());
    this.#resize.observe(host);
  }

  get window(): readonly [number, number] {
    return this.#window;
  }

  get curves() {
    return this.#curves;
  }

  get depthRange(): readonly [number, number] {
    return this.#depthRange;
  }

  get scale(): TimeScale {
    return this.#scale;
  }

  canvas(): HTMLCanvasElement | null {
    return this.#plot?.ctx.canvas ?? null;
  }

  setSoundings(soundings: Soundings | null): void {
    const first = this.#soundings === null || soundings === null || this.#soundings.timeS !== soundings.timeS;
    this.#soundings = soundings;
    if (soundings === null || soundings.n === 0) {
      this.#plot?.destroy();
      this.#plot = null;
      return;
    }
    this.#sort(soundings);
    if (first) this.#scale = new TimeScale(soundings.timeS);
    const start = soundings.timeS[0] as number;
    const end = soundings.timeS[soundings.n - 1] as number;
    const room = Math.max(1, (end - start) * 0.004);
    const full: [number, number] = [start - room, end + room];
    const kept = this.#full[0] === full[0] && this.#full[1] === full[1];
    this.#full = full;
    if (!kept) this.#window = full;
    if (this.#plot === null || first) this.#make();
    else this.#refill();
  }

  setSelecting(selecting: boolean): void {
    this.#selecting = selecting;
    this.#host.classList.toggle('selecting', selecting);
  }

  setShowSetAside(show: boolean): void {
    this.#showSetAside = show;
    this.#plot?.redraw(false);
  }

  repaint(): void {
    this.#palette = readPalette(document.documentElement);
    if (this.#soundings !== null && this.#soundings.n > 0) this.#make();
  }

  /** Shows a window of time, the whole when left out. */
  zoomTo(window: readonly [number, number] = this.#full): void {
    this.#window = [Math.max(this.#full[0], window[0]), Math.min(this.#full[1], window[1])];
    if (!(this.#window[1] - this.#window[0] > 0.5)) this.#window = this.#full;
    this.#refill();
    this.#events.window(...this.#window);
  }

  /** The magenta marker at a sounding, with its read-out; -1 hides it. */
  mark(row: number, text: string): void {
    const plot = this.#plot;
    const soundings = this.#soundings;
    const timeS = soundings?.timeS[row];
    if (plot === null || row < 0 || timeS === undefined || timeS < this.#window[0] || timeS > this.#window[1]) {
      this.#marker.hidden = true;
      this.#label.hidden = true;
      return;
    }
    const x = this.#xOf(plot, timeS);
    this.#marker.hidden = false;
    this.#label.hidden = false;
    this.#marker.style.transform = `translateX(${x}px)`;
    this.#label.textContent = text;
    const width = this.#label.offsetWidth;
    const room = plot.over.clientWidth;
    this.#label.style.transform = `translateX(${x + 8 + width > room ? Math.max(0, x - width - 8) : x + 8}px)`;
  }

  dispose(): void {
    this.#resize.disconnect();
    this.#plot?.destroy();
  }

  /** Rows in order of time that are set aside, and that are good. */
  #sort(soundings: Soundings): void {
    const aside: number[] = [];
    let good = 0;
    let low = Infinity;
    let high = -Infinity;
    for (let i = 0; i < soundings.n; i++) {
      if (soundings.reason[i] !== 0) {
        if (Number.isFinite(soundings.depthM[i])) aside.push(i);
        continue;
      }
      good++;
      const depth = soundings.depthM[i] as number;
      const level = -(soundings.waterLevelM[i] as number);
      if (depth < low) low = depth;
      if (depth > high) high = depth;
      if (level < low) low = level;
    }
    const rows = new Int32Array(good);
    const timeS = new Float64Array(good);
    let k = 0;
    for (let i = 0; i < soundings.n; i++) {
      if (soundings.reason[i] !== 0) continue;
      rows[k] = i;
      timeS[k++] = soundings.timeS[i] as number;
    }
    this.#goodTimes = { timeS, rows };
    this.#setAside = Int32Array.from(aside);
    if (!(high >= low)) [low, high] = [0, 10];
    const top = Math.min(0, low);
    const room = Math.max(0.5, (high - top) * 0.12);
    this.#depthRange = [top - room * 0.5, high + room];
  }

  #columns(): uPlot.AlignedData {
    const soundings = this.#soundings as Soundings;
    const pixels = Math.max(100, this.#host.clientWidth - 70);
    const [stripStart, stripEnd] = this.#stripWindow();
    // Shortened pauses leave more pixels to the rest.
    const finer = (this.#window[1] - this.#window[0]) / Math.max(1e-9, stripEnd - stripStart);
    const window = { startS: this.#window[0], endS: this.#window[1], pixels: Math.round(pixels * finer), maxGapS: MAX_GAP_S };
    const good = (row: number) => soundings.reason[row] === 0;
    const depth = thinByMinMax(soundings.timeS, soundings.depthM, good, window);
    const n = depth.index.length;
    const level: (number | null)[] = new Array<number | null>(n);
    const shoal: (number | null)[] = new Array<number | null>(n);
    const deep: (number | null)[] = new Array<number | null>(n);
    const values: (number | null)[] = new Array<number | null>(n);
    const water = { timeS: depth.timeS, value: new Float64Array(n).fill(NaN), index: depth.index };
    for (let i = 0; i < n; i++) {
      const row = depth.index[i] as number;
      if (row < 0) {
        level[i] = shoal[i] = deep[i] = values[i] = null;
        continue;
      }
      const d = soundings.depthM[row] as number;
      const tvu = soundings.tvuM[row] as number;
      const w = -(soundings.waterLevelM[row] as number);
      values[i] = d;
      level[i] = Number.isFinite(w) ? w : null;
      water.value[i] = w;
      shoal[i] = Number.isFinite(tvu) ? d - tvu : null;
      deep[i] = Number.isFinite(tvu) ? d + tvu : null;
    }
    this.#curves = { depth, water };
    return [Array.from(depth.timeS, (timeS) => this.#scale.toStrip(timeS)), values, level, shoal, deep] as uPlot.AlignedData;
  }

  #refill(): void {
    const plot = this.#plot;
    if (plot === null) return;
    plot.batch(() => {
      plot.setData(this.#columns(), false);
      const [min, max] = this.#stripWindow();
      plot.setScale('x', { min, max });
      plot.setScale('y', { min: this.#depthRange[0], max: this.#depthRange[1] });
    });
  }

  #fitSize(): void {
    if (this.#plot === null || this.#host.clientWidth < 50) return;
    this.#plot.setSize({ width: this.#host.clientWidth, height: this.#host.clientHeight });
    this.#refill();
  }

  #make(): void {
    this.#plot?.destroy();
    const palette = this.#palette;
    const font = `500 13px ${palette.font}`;
    const axis = { stroke: palette.quiet, font, grid: { stroke: palette.hairline, width: 1 }, ticks: { stroke: palette.ink, width: 1, size: 5 } };
    const options: uPlot.Options = {
      width: Math.max(100, this.#host.clientWidth),
      height: Math.max(60, this.#host.clientHeight),
      padding: [12, 16, 0, 0],
      legend: { show: false },
      scales: { x: { time: false, range: () => this.#stripWindow() }, y: { dir: -1, range: () => [...this.#depthRange] as uPlot.Range.MinMax } },
      axes: [
        { ...axis, grid: { show: false }, size: 30, splits: (plot) => this.#timeSplits(plot), values: (_plot, splits) => splits.map((t) => timeLabel(Math.round(this.#scale.toTime(t)), this.#window)) },
        { ...axis, size: 46, space: 26, gap: 6, ticks: { show: false }, values: (_plot, splits) => splits.map((v) => String(Number(v.toFixed(2))).replace('-', '\u2212')) },
      ],
      bands: [{ series: [3, 4], fill: `${palette.band}33` }],
      series: [
        {},
        { label: 'depth', stroke: palette.ink, width: 1, points: { show: false }, spanGaps: false },
        { label: 'water level', stroke: palette.waterLevel, width: 1.3, dash: [6, 4], points: { show: false }, spanGaps: false },
        { label: 'shoal limit', stroke: 'transparent', points: { show: false }, spanGaps: false },
        { label: 'deep limit', stroke: 'transparent', points: { show: false }, spanGaps: false },
      ],
      cursor: {
        x: false,
        y: false,
        points: { show: false },
        drag: { x: true, y: false, setScale: false },
        bind: {
          dblclick: () => () => {
            this.zoomTo();
            return null;
          },
          mousedown: (plot, _target, handler) => (event: MouseEvent) => {
            const select = this.#selecting || event.shiftKey;
            plot.cursor.drag = { ...plot.cursor.drag, x: true, y: select, uni: select ? 1 : Infinity } as uPlot.Cursor.Drag;
            this.#dragSelects = select;
            this.#dragAdds = this.#selecting && event.shiftKey;
            handler(event);
            return null;
          },
        },
      },
      hooks: {
        draw: [(plot) => this.#drawPauses(plot), (plot) => this.#drawRings(plot), (plot) => this.#drawUnit(plot)],
        setCursor: [(plot) => this.#pointed(plot)],
        setSelect: [(plot) => this.#dragged(plot)],
      },
    };
    this.#plot = new uPlot(options, this.#columns(), this.#host);
    this.#plot.over.append(this.#marker, this.#label);
    this.#plot.over.addEventListener('mouseleave', () => this.#events.hover(-1));
    this.#touch(this.#plot);
    this.#plot.over.addEventListener('wheel', (event) => this.#wheel(event), { passive: false });
  }

  #dragSelects = false;
  #dragAdds = false;

  /** A finger reads the strip, or selects on it where that is the tool; the plot itself knows the mouse alone. */
  #touch(plot: uPlot): void {
    const { over } = plot;
    let start: { readonly x: number; readonly y: number } | null = null;
    const at = (event: PointerEvent) => {
      const box = over.getBoundingClientRect();
      return { x: Math.min(box.width, Math.max(0, event.clientX - box.left)), y: Math.min(box.height, Math.max(0, event.clientY - box.top)) };
    };
    over.style.touchAction = 'pan-y';
    over.addEventListener('pointerdown', (event) => {
      if (event.pointerType === 'mouse') return;
      start = at(event);
      over.setPointerCapture(event.pointerId);
      this.#readAt(plot, start.x, start.y);
    });
    over.addEventListener('pointermove', (event) => {
      if (start === null) return;
      const now = at(event);
      this.#readAt(plot, now.x, now.y);
      if (this.#selecting) plot.setSelect({ left: Math.min(start.x, now.x), top: Math.min(start.y, now.y), width: Math.abs(now.x - start.x), height: Math.abs(now.y - start.y) }, false);
    });
    over.addEventListener('pointerup', (event) => {
      if (start === null) return;
      const now = at(event);
      if (this.#selecting) {
        plot.setSelect({ left: Math.min(start.x, now.x), top: Math.min(start.y, now.y), width: Math.abs(now.x - start.x), height: Math.abs(now.y - start.y) }, false);
        this.#dragSelects = true;
        this.#dragAdds = false;
        this.#dragged(plot);
      }
      start = null;
    });
    over.addEventListener('pointercancel', () => {
      start = null;
      plot.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
    });
  }

  #pointed(plot: uPlot): void {
    const { left, top } = plot.cursor;
    if (left === undefined || top === undefined || left < 0) return;
    this.#readAt(plot, left, top);
  }

  #readAt(plot: uPlot, left: number, top: number): void {
    const soundings = this.#soundings;
    if (soundings === null) return;
    const t = this.#timeAt(plot, left);
    // A ring under the pointer comes before the profile.
    if (this.#showSetAside) {
      const reachS = this.#timeAt(plot, left + 7) - t;
      let best = -1;
      let bestPx = 9;
      for (let k = firstAtOrAfter(this.#setAside, soundings.timeS, t - reachS); k < this.#setAside.length; k++) {
        const row = this.#setAside[k] as number;
        const timeS = soundings.timeS[row] as number;
        if (timeS > t + reachS) break;
        const distance = Math.hypot(this.#xOf(plot, timeS) - left, plot.valToPos(this.#shownDepth(row), 'y') - top);
        if (distance < bestPx) {
          bestPx = distance;
          best = row;
        }
      }
      if (best >= 0) {
        this.#events.hover(best);
        return;
      }
    }
    const at = nearestRow(this.#goodTimes.timeS, t);
    this.#events.hover(at < 0 ? -1 : (this.#goodTimes.rows[at] as number));
  }

  /** A ring beyond the scale stands on its edge. */
  #shownDepth(row: number): number {
    const depth = (this.#soundings as Soundings).depthM[row] as number;
    const margin = (this.#depthRange[1] - this.#depthRange[0]) * 0.03;
    return Math.min(this.#depthRange[1] - margin, Math.max(this.#depthRange[0] + margin, depth));
  }

  #dragged(plot: uPlot): void {
    const { left, top, width, height } = plot.select;
    if (width < 3 && height < 3) return;
    const startS = this.#timeAt(plot, left);
    const endS = this.#timeAt(plot, left + width);
    plot.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
    if (!this.#dragSelects) {
      if (width >= 3) this.zoomTo([startS, endS]);
      return;
    }
    const soundings = this.#soundings as Soundings;
    const shoalM = plot.posToVal(top, 'y');
    const deepM = plot.posToVal(top + height, 'y');
    const rows: number[] = [];
    for (let i = rowAt(soundings.timeS, startS); i < soundings.n && (soundings.timeS[i] as number) <= endS; i++) {
      if (!Number.isFinite(soundings.depthM[i])) continue;
      if (soundings.reason[i] !== 0 && !this.#showSetAside) continue;
      const shown = soundings.reason[i] === 0 ? (soundings.depthM[i] as number) : this.#shownDepth(i);
      if (shown >= Math.min(shoalM, deepM) && shown <= Math.max(shoalM, deepM)) rows.push(i);
    }
    this.#events.select(rows, this.#dragAdds);
  }

  #wheel(event: WheelEvent): void {
    const plot = this.#plot;
    if (plot === null) return;
    event.preventDefault();
    const t = plot.posToVal(event.offsetX, 'x');
    const factor = event.deltaY > 0 ? 1.25 : 0.8;
    const [start, end] = this.#stripWindow();
    this.zoomTo([this.#scale.toTime(t - (t - start) * factor), this.#scale.toTime(t + (end - t) * factor)]);
  }

  #xOf(plot: uPlot, timeS: number, onCanvas = false): number {
    return plot.valToPos(this.#scale.toStrip(timeS), 'x', onCanvas);
  }

  #timeAt(plot: uPlot, left: number): number {
    return this.#scale.toTime(plot.posToVal(left, 'x'));
  }

  #stripWindow(): [number, number] {
    return [this.#scale.toStrip(this.#window[0]), this.#scale.toStrip(this.#window[1])];
  }

  /** Round times, none inside a pause, none nearer to the one before than its label is wide. */
  #timeSplits(plot: uPlot): number[] {
    const [start, end] = this.#stripWindow();
    const width = Math.max(100, plot.over.clientWidth || this.#host.clientWidth - 62);
    const apart = ((end - start) / width) * 72;
    const splits: number[] = [];
    // About as many as fit the strip without its pauses: the step is that of the time that is shown in full.
    const whole = (this.#window[1] - this.#window[0]) / Math.max(1e-9, end - start);
    for (const timeS of timeSteps(this.#window[0], this.#window[1], (width / 95) * whole)) {
      if (this.#scale.inPause(timeS)) continue;
      const at = this.#scale.toStrip(timeS);
      if (at - (splits.at(-1) ?? -Infinity) >= apart) splits.push(at);
    }
    return splits;
  }

  /** Two strokes across the axis where a pause is drawn short, and how long it was. */
  #drawPauses(plot: uPlot): void {
    const { ctx } = plot;
    const ratio = devicePixelRatio;
    const { top, height, left, width } = plot.bbox;
    ctx.save();
    ctx.beginPath();
    ctx.rect(left, 0, width, ctx.canvas.height);
    ctx.clip();
    ctx.font = `500 ${13 * ratio}px ${this.#palette.font}`;
    ctx.textAlign = 'center';
    ctx.textBaseline = 'middle';
    for (const { startS, endS } of this.#scale.pauses) {
      const from = this.#xOf(plot, startS, true);
      const to = this.#xOf(plot, endS, true);
      const middle = (from + to) / 2;
      ctx.fillStyle = this.#palette.paper;
      ctx.fillRect(from + 1, top, to - from - 2, height + 2 * ratio);
      ctx.strokeStyle = this.#palette.quiet;
      ctx.lineWidth = 1.2 * ratio;
      ctx.beginPath();
      for (const side of [-1, 1]) {
        ctx.moveTo(middle + (side * 4 - 4) * ratio, top + height + 6 * ratio);
        ctx.lineTo(middle + (side * 4 + 4) * ratio, top + height - 6 * ratio);
      }
      ctx.stroke();
      ctx.fillStyle = this.#palette.quiet;
      const length = duration(endS - startS);
      const room = (to - from) / ratio;
      const text = [`pause ${length}`, length].find((one) => ctx.measureText(one).width / ratio < room);
      // Where even the length is wider than the pause it stands on its side.
      ctx.save();
      ctx.translate(middle, top + height / 2);
      if (text === undefined) ctx.rotate(-Math.PI / 2);
      ctx.fillText(text ?? `pause ${length}`, 0, 0);
      ctx.restore();
    }
    ctx.restore();
  }

  #drawUnit(plot: uPlot): void {
    const { ctx } = plot;
    ctx.save();
    ctx.fillStyle = this.#palette.quiet;
    ctx.font = `500 ${13 * devicePixelRatio}px ${this.#palette.font}`;
    ctx.textBaseline = 'middle';
    ctx.textAlign = 'left';
    ctx.fillText('m', 4 * devicePixelRatio, plot.bbox.top + 4 * devicePixelRatio);
    ctx.restore();
  }

  #drawRings(plot: uPlot): void {
    const soundings = this.#soundings;
    if (soundings === null || !this.#showSetAside) return;
    const { ctx } = plot;
    const ratio = devicePixelRatio;
    ctx.save();
    ctx.strokeStyle = this.#palette.magenta;
    const first = firstAtOrAfter(this.#setAside, soundings.timeS, this.#window[0]);
    const many = firstAtOrAfter(this.#setAside, soundings.timeS, this.#window[1]) - first > 250;
    const radius = (many ? 2.2 : 3.2) * ratio;
    ctx.lineWidth = (many ? 1 : 1.3) * ratio;
    ctx.beginPath();
    let last = '';
    for (let k = first; k < this.#setAside.length; k++) {
      const row = this.#setAside[k] as number;
      const timeS = soundings.timeS[row] as number;
      if (timeS > this.#window[1]) break;
      const x = this.#xOf(plot, timeS, true);
      const y = plot.valToPos(this.#shownDepth(row), 'y', true);
      const place = `${Math.round(x / 2)} ${Math.round(y / 2)}`;
      if (place === last) continue;
      last = place;
      ctx.moveTo(x + radius, y);
      ctx.arc(x, y, radius, 0, 2 * Math.PI);
    }
    ctx.stroke();
    ctx.restore();
  }
}

/** First of some ascending rows whose time is not before `t`. */
function firstAtOrAfter(rows: Int32Array, timeS: Float64Array, t: number): number {
  let low = 0;
  let high = rows.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if ((timeS[rows[middle] as number] as number) < t) low = middle + 1;
    else high = middle;
  }
  return low;
}

function timeLabel(timeS: number, window: readonly [number, number]): string {
  const iso = new Date(timeS * 1000).toISOString();
  const span = window[1] - window[0];
  if (span > 2 * 86_400) return `${iso.slice(8, 10)}.${iso.slice(5, 7)} ${iso.slice(11, 16)}`;
  return iso.slice(11, span < 600 ? 19 : 16);
}
