import { rowsOfLine } from '../select/runs.js';
import { runsNow, depths, placeLooked, showRunOf } from '../state/depths.js';
import { select } from '../state/decide-soundings.js';
import type { SelectMode } from '../select/rows.js';
import { goToCrossing } from '../state/go-to-crossing.js';
import { crossingHover, screen, survey } from '../state/stores.js';
import { doubtful, lookAtCellNear } from '../state/doubtful.js';
import { floor } from '../state/floor.js';
import { paintDoubtful } from './doubtful-marks.js';
import { readPointColours } from '../points/point-colours.js';
import { count, fixed } from '../words/figures.js';
import type { Palette } from './palette.js';
import type { ChartTable } from './chart-table.js';
import { pixelX, pixelY, type Viewport } from './viewport.js';

/** What the Depths stage adds to the chart. */
export interface DepthsChart {
  /** Whether the click was its own. */
  click(place: { readonly xM: number; readonly yM: number; readonly reachM: number }, mode: SelectMode): boolean;
  pointer(place: { readonly xM: number; readonly yM: number } | null): void;
  dispose(): void;
}

/** Adds to the chart what the Depths stage needs: the brush under the pointer, the run in the profile, the way to a stretch. */
export function mountDepths(chart: ChartTable, over: HTMLElement): DepthsChart {
  const brush = document.createElement('div');
  brush.className = 'brush-ring';
  brush.hidden = true;
  over.append(brush);
  let at: { readonly xM: number; readonly yM: number } | null = null;
  const moveBrush = () => {
    const shown = screen.get().tool === 'brush' && at !== null;
    const place = shown && at !== null ? chart.pixelOf(at.xM, at.yM) : null;
    brush.hidden = place === null;
    if (place === null) return;
    const radius = depths.get().brushPx;
    brush.style.width = brush.style.height = `${2 * radius}px`;
    brush.style.transform = `translate(${place.x - radius}px, ${place.y - radius}px)`;
  };
  // While a stroke is drawn the chart tells of no pointer: the ring follows it by itself.
  const follow = (event: PointerEvent) => {
    if (screen.get().tool !== 'brush') return;
    const box = over.getBoundingClientRect();
    const radius = depths.get().brushPx;
    brush.style.transform = `translate(${event.clientX - box.left - radius}px, ${event.clientY - box.top - radius}px)`;
  };
  const map = over.parentElement?.querySelector<HTMLElement>('.chart-map') ?? null;
  map?.addEventListener('pointermove', follow);
  const removeOverlay = chart.addOverlay({
    ink: (ctx, view, palette) => {
      if (screen.get().stage !== 'depths') return;
      if (depths.get().strip === 'profile') paintRun(ctx, view, palette.magenta, palette.paper);
      paintCrossing(ctx, view, palette.magenta);
      paintAsked(ctx, view, palette);
      if (depths.get().part === 'surface') paintDoubtful(ctx, view, palette, doubtful.get(), survey.get().summary?.surface?.cellM ?? 1);
    },
    top: () => moveBrush(),
  });
  let run = depths.get().run;
  let { strip, brushPx, crossing, part } = depths.get();
  let looked = placeLooked.get();
  let { info, line, ring, least } = floor.get();
  let { dusk, stage } = screen.get();
  // Low is good for all of these: the quiet end of the ramp.
  const dressLayer = () => chart.setLayer(info === null || floor.get().layer === null || screen.get().stage !== 'depths' ? null : [...readPointColours(document.documentElement).ramp].reverse());
  if (info !== null) dressLayer();
  const stops = [
    depths.watch(() => {
      const now = depths.get();
      if (now.brushPx !== brushPx) {
        brushPx = now.brushPx;
        chart.setBrush(brushPx);
        moveBrush();
      }
      if (now.run === run && now.strip === strip && now.crossing === crossing && now.part === part) return;
      part = now.part;
      crossing = now.crossing;
      run = now.run;
      strip = now.strip;
      chart.render();
    }),
    screen.watch(moveBrush),
    screen.watch(() => {
      if (screen.get().dusk === dusk && screen.get().stage === stage) return;
      ({ dusk, stage } = screen.get());
      // The document takes on the palette after this.
      requestAnimationFrame(dressLayer);
    }),
    floor.watch(() => {
      const now = floor.get();
      if (now.info !== info) {
        info = now.info;
        dressLayer();
      }
      if (now.line === line && now.ring === ring && now.least === least) return;
      ({ line, ring, least } = now);
      chart.render();
    }),
    doubtful.watch(() => chart.render()),
    placeLooked.watch(() => {
      const now = placeLooked.get();
      if (now === null || now === looked) return;
      looked = now;
      chart.reveal(now.xM, now.yM);
    }),
  ];
  return {
    click(place, mode) {
      if (screen.get().stage !== 'depths') return false;
      if (depths.get().part === 'surface' && screen.get().tool === 'look' && lookAtCellNear(place.xM, place.yM, place.reachM)) return true;
      if (crossingHover.get() >= 0) {
        goToCrossing(crossingHover.get());
        return true;
      }
      const { index, soundings } = survey.get();
      if (index === null || soundings === null) return false;
      let row = -1;
      let least = Infinity;
      for (const one of index.within(place.xM, place.yM, place.reachM)) {
        const distance = Math.hypot((soundings.xM[one] as number) - place.xM, (soundings.yM[one] as number) - place.yM);
        if (distance < least) {
          least = distance;
          row = one;
        }
      }
      if (row >= 0) showRunOf(row);
      if (screen.get().tool !== 'line') return false;
      select(row < 0 ? [] : rowsOfLine(soundings, runsNow(), row), mode);
      return true;
    },
    pointer(place) {
      at = place;
      moveBrush();
    },
    dispose() {
      for (const stop of stops) stop();
      removeOverlay();
      map?.removeEventListener('pointermove', follow);
      brush.remove();
    },
  };
}

/** A bracket about the crossing that was gone to. */
function paintCrossing(ctx: CanvasRenderingContext2D, view: Viewport, colour: string): void {
  const { crossing } = depths.get();
  const { crossings } = survey.get();
  if (crossings === null || crossing < 0 || crossing >= crossings.n || !screen.get().showCrossings) return;
  const x = pixelX(view, crossings.xM[crossing] as number);
  const y = pixelY(view, crossings.yM[crossing] as number);
  const [arm, reach] = [8, 20];
  ctx.save();
  ctx.strokeStyle = colour;
  ctx.lineWidth = 2.5;
  ctx.beginPath();
  for (const [dx, dy] of [[-1, -1], [1, -1], [1, 1], [-1, 1]] as const) {
    ctx.moveTo(x + dx * reach, y + dy * (reach - arm));
    ctx.lineTo(x + dx * reach, y + dy * reach);
    ctx.lineTo(x + dx * (reach - arm), y + dy * reach);
  }
  ctx.stroke();
  ctx.restore();
}

/** What was drawn to ask the surface about, and the least depth inside it. */
function paintAsked(ctx: CanvasRenderingContext2D, view: Viewport, palette: Palette): void {
  const { line, ring, least } = floor.get();
  const { soundings } = survey.get();
  ctx.save();
  ctx.lineJoin = 'round';
  for (const [vertices, closed] of [[line, false], [ring, true]] as const) {
    if (vertices === null) continue;
    ctx.beginPath();
    for (let i = 0; i + 1 < vertices.length; i += 2) {
      const [x, y] = [pixelX(view, vertices[i] as number), pixelY(view, vertices[i + 1] as number)];
      if (i === 0) ctx.moveTo(x, y);
      else ctx.lineTo(x, y);
    }
    if (closed) ctx.closePath();
    ctx.strokeStyle = palette.paper;
    ctx.lineWidth = 5;
    ctx.stroke();
    ctx.strokeStyle = palette.magenta;
    ctx.lineWidth = 2.2;
    ctx.stroke();
    if (closed) continue;
    ctx.fillStyle = palette.magenta;
    for (const [i, name] of [[0, 'A'], [vertices.length - 2, 'B']] as const) {
      const [x, y] = [pixelX(view, vertices[i] as number), pixelY(view, vertices[i + 1] as number)];
      ctx.beginPath();
      ctx.arc(x, y, 4, 0, 2 * Math.PI);
      ctx.fill();
      words(ctx, name, x + 8, y - 8, palette);
    }
  }
  if (ring !== null && least !== null && least.row >= 0 && soundings !== null && least.row < soundings.n) {
    const [x, y] = [pixelX(view, soundings.xM[least.row] as number), pixelY(view, soundings.yM[least.row] as number)];
    ctx.strokeStyle = palette.magenta;
    ctx.lineWidth = 2.2;
    ctx.beginPath();
    ctx.arc(x, y, 7, 0, 2 * Math.PI);
    ctx.stroke();
    words(ctx, `${fixed(least.depthM, 2)} m`, x + 12, y - 8, palette);
  }
  ctx.restore();
}

function words(ctx: CanvasRenderingContext2D, text: string, x: number, y: number, palette: Palette): void {
  ctx.font = `600 14px ${palette.font}`;
  ctx.textAlign = 'left';
  ctx.textBaseline = 'middle';
  ctx.strokeStyle = palette.paper;
  ctx.lineWidth = 4;
  ctx.strokeText(text, x, y);
  ctx.fillStyle = palette.magenta;
  ctx.fillText(text, x, y);
}

/** Vertices of the run's path, at most this many. */
const PATH_MAX = 600;

/** The run that stands in the profile. */
function paintRun(ctx: CanvasRenderingContext2D, view: Viewport, colour: string, paper: string): void {
  const { run } = depths.get();
  const { soundings } = survey.get();
  if (run === null || soundings === null || run.rowEnd > soundings.n) return;
  const step = Math.max(1, Math.floor((run.rowEnd - run.rowStart) / PATH_MAX));
  ctx.save();
  ctx.beginPath();
  let first = true;
  for (let i = run.rowStart; i < run.rowEnd; i += step) {
    if (soundings.reason[i] !== 0) continue;
    const x = pixelX(view, soundings.xM[i] as number);
    const y = pixelY(view, soundings.yM[i] as number);
    if (first) ctx.moveTo(x, y);
    else ctx.lineTo(x, y);
    first = false;
  }
  ctx.lineJoin = 'round';
  ctx.globalAlpha = 0.75;
  ctx.strokeStyle = paper;
  ctx.lineWidth = 6;
  ctx.stroke();
  ctx.globalAlpha = 1;
  ctx.strokeStyle = colour;
  ctx.lineWidth = 2.2;
  ctx.stroke();
  ctx.restore();
}

/** A run in a few words. */
export function runWords(line: number, many: number): string {
  return `${line >= 0 ? `Line ${line}` : 'Off any line'}, ${count(many)} soundings`;
}

