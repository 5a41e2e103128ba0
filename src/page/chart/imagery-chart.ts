import { NO_ROWS } from '../select/rows.js';
import { echoHover, goToEcho, imagery, mosaicWorker, placeWanted6, type ImageryState } from '../state/imagery.js';
import { screen } from '../state/stores.js';
import { echoOfPlace, placeOfEcho, type Echo } from '../waterfall/echo-place.js';
import { mosaicLook } from '../waterfall/level-colours.js';
import { waterfallSeen } from '../state/waterfall-seen.js';
import type { ChartTable } from './chart-table.js';
import { mountFinds } from './finds-chart.js';
import type { InkScene } from './paint-ink.js';
import type { Palette } from './palette.js';
import { RasterLayer } from './raster-layer.js';
import { pixelX, pixelY, type Viewport } from './viewport.js';

type Pointed = { readonly xM: number; readonly yM: number; readonly reachM: number };

/** What the Imagery and Finds stages add to the chart. */
export interface ImageryChart {
  dress(scene: InkScene): InkScene;
  /** Whether the pointer, or a click, is its own. */
  pointer(place: Pointed | null): boolean;
  click(place: Pointed): boolean;
  /** Whether there is a mosaic to be looked at. */
  readonly shows: boolean;
  /** Those of the survey, with the corners of the mosaic where that is looked at [m]. */
  places(survey: Float64Array): Float64Array;
  dispose(): void;
}

/** Puts the mosaic under the chart, the ping pointed at over it, and finds. */
export function mountImagery(chart: ChartTable, changed: () => void): ImageryChart {
  const layer = new RasterLayer(mosaicWorker(), () => chart.render());
  const shows = (): boolean => screen.get().stage === 'imagery' || screen.get().stage === 'finds';
  const dress = (): void => {
    const now = imagery.get();
    layer.set(now.mosaic, now.mosaic === null ? null : mosaicLook(now));
  };
  dress();
  const removeOverlay = chart.addOverlay({
    ground: (ctx, view, pixelRatio) => {
      if (!shows()) return;
      layer.paint(ctx, view, pixelRatio);
      document.documentElement.dataset['mosaic'] = layer.info === null ? 'none' : layer.settled ? 'settled' : 'reading';
    },
    ink: (ctx, view, palette) => {
      if (!shows()) return;
      paintSeen(ctx, view, palette);
      paintPing(ctx, view, palette);
    },
    top: () => undefined,
  });
  // After the mosaic: the search map and the finds lie over it.
  const finds = mountFinds(chart);
  let wanted = placeWanted6.get();
  let kept: ImageryState = imagery.get();
  const stops = [
    imagery.watch(() => {
      const now = imagery.get();
      const before = kept;
      kept = now;
      if (now.mosaic !== before.mosaic || now.scale !== before.scale || now.strongDark !== before.strongDark || now.gainDb !== before.gainDb || now.contrastDb !== before.contrastDb) dress();
      if (now.run !== before.run || now.pings !== before.pings) chart.render();
      // The waterfall takes its room from the chart.
      if ((now.pings === null) !== (before.pings === null) || (now.mosaic === null) !== (before.mosaic === null)) changed();
    }),
    echoHover.watch(() => chart.render()),
    waterfallSeen.watch(() => chart.render()),
    placeWanted6.watch(() => {
      const now = placeWanted6.get();
      if (now === null || now === wanted) return;
      wanted = now;
      if (now.sizeM > 0) {
        const view = chart.viewport();
        // Close enough that a thing of this size is some 30 pixels.
        chart.show({ centreXM: now.xM, centreYM: now.yM, metresPerPixel: Math.min(view.metresPerPixel, Math.max(0.02, now.sizeM / 30)) }, true);
      } else chart.reveal(now.xM, now.yM);
    }),
  ];
  const echoUnder = (place: Pointed | null): Echo | null => {
    const { pings, runs, run } = imagery.get();
    return place === null || pings === null ? null : echoOfPlace(pings, runs, place.xM, place.yM, run);
  };
  return {
    get shows() {
      return shows() && imagery.get().pings !== null;
    },
    places(all) {
      const { mosaic } = imagery.get();
      if (!shows() || mosaic === null) return all;
      const { westM, northM, cellM, cols, rows } = mosaic;
      return Float64Array.of(...all, westM, northM, westM + cols * cellM, northM - rows * cellM);
    },
    dress(scene) {
      if (!shows()) return scene;
      // Soundings and depth lines would hide what is looked at.
      return { ...scene, labels: null, contours: null, crossings: null, gaps: [], selection: NO_ROWS, show: { ...scene.show, setAside: false, lines: false, fillIn: screen.get().stage === 'finds' ? scene.show.fillIn : false } };
    },
    pointer(place) {
      if (!shows()) return false;
      finds.pointer(place);
      const echo = echoUnder(place);
      const before = echoHover.get();
      if (echo?.row !== before.echo?.row || echo?.slantM !== before.echo?.slantM) echoHover.set({ echo, from: 'chart' });
      return true;
    },
    click(place) {
      if (!shows()) return false;
      if (finds.click(place)) return true;
      const echo = echoUnder(place);
      if (echo !== null) goToEcho(echo, 0, 'chart');
      return true;
    },
    dispose() {
      for (const stop of stops) stop();
      removeOverlay();
      finds.dispose();
      layer.dispose();
    },
  };
}

/** The stretch of track that the waterfall shows, as a line beside which port and starboard lie. */
function paintSeen(ctx: CanvasRenderingContext2D, view: Viewport, palette: Palette): void {
  const { pings, runs, run } = imagery.get();
  const seen = waterfallSeen.get();
  const shown = runs[run];
  if (pings === null || shown === undefined || seen === null) return;
  const from = Math.max(shown.rowStart, Math.floor(seen.rowStart));
  const to = Math.min(shown.rowEnd - 1, Math.ceil(seen.rowEnd));
  ctx.save();
  ctx.lineJoin = 'round';
  const path = (a: number, b: number): void => {
    const step = Math.max(1, Math.floor((b - a) / 400));
    ctx.beginPath();
    let first = true;
    for (let row = a; row <= b; row += step) {
      const [x, y] = [pixelX(view, pings.xM[row] as number), pixelY(view, pings.yM[row] as number)];
      if (!Number.isFinite(x) || !Number.isFinite(y)) continue;
      if (first) ctx.moveTo(x, y);
      else ctx.lineTo(x, y);
      first = false;
    }
    ctx.stroke();
  };
  for (const [colour, width, a, b] of [[palette.paper, 5, from, to], [palette.magenta, 1, shown.rowStart, shown.rowEnd - 1], [palette.magenta, 2.6, from, to]] as const) {
    ctx.strokeStyle = colour;
    ctx.lineWidth = width;
    ctx.globalAlpha = width === 5 ? 0.7 : 1;
    path(a, b);
  }
  ctx.restore();
}

/** The ping pointed at: how far it reaches to both sides, and the place of the echo on it. */
function paintPing(ctx: CanvasRenderingContext2D, view: Viewport, palette: Palette): void {
  const { pings, runs, run } = imagery.get();
  const { echo } = echoHover.get();
  if (pings === null || echo === null || echo.row >= pings.n) return;
  const rangeM = runs[run]?.rangeM ?? 50;
  const [port, starboard, place] = [placeOfEcho(pings, { row: echo.row, side: 'port', slantM: rangeM }), placeOfEcho(pings, { row: echo.row, side: 'starboard', slantM: rangeM }), placeOfEcho(pings, echo)];
  if (port === null || starboard === null) return;
  ctx.save();
  for (const [colour, width] of [[palette.paper, 3.5], [palette.magenta, 1.4]] as const) {
    ctx.strokeStyle = colour;
    ctx.lineWidth = width;
    ctx.beginPath();
    ctx.moveTo(pixelX(view, port.xM), pixelY(view, port.yM));
    ctx.lineTo(pixelX(view, starboard.xM), pixelY(view, starboard.yM));
    ctx.stroke();
    const [x, y] = [pixelX(view, pings.xM[echo.row] as number), pixelY(view, pings.yM[echo.row] as number)];
    ctx.beginPath();
    ctx.arc(x, y, 3.5, 0, 2 * Math.PI);
    ctx.stroke();
    if (place === null) continue;
    ctx.beginPath();
    ctx.arc(pixelX(view, place.xM), pixelY(view, place.yM), 8, 0, 2 * Math.PI);
    ctx.stroke();
  }
  ctx.restore();
}
