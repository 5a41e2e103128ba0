import { ellipseOf, SIGMA_TO_95_2D } from '../../finds/place.js';
import { findHover, finds, listed, selectFind, type FindsState } from '../state/finds.js';
import { mosaicWorker } from '../state/imagery.js';
import { measuredNow, measuring } from '../state/measuring.js';
import { screen } from '../state/stores.js';
import { scaleColours } from '../waterfall/colour-scales.js';
import type { FindShown } from '../work/finds-messages.js';
import type { ChartTable } from './chart-table.js';
import type { Palette } from './palette.js';
import { RasterLayer, type RasterLook } from './raster-layer.js';
import { pixelX, pixelY, type Viewport } from './viewport.js';

type Pointed = { readonly xM: number; readonly yM: number; readonly reachM: number };

/** What finds add to the chart. */
export interface FindsChart {
  pointer(place: Pointed | null): void;
  /** Whether the click was on a find. */
  click(place: Pointed): boolean;
  dispose(): void;
}

/** Over the mosaic the search map lets the floor shine through. */
const SEARCH_OPACITY = 0.62;
const MARK_PX = 9;

/** Bands of derived/finds/search.tif from 0, and the range their colours run over. */
export function searchLook(layer: Exclude<FindsState['layer'], 'none'>): RasterLook {
  const colours = scaleColours('blue-yellow');
  const [band, high] = ({ looks: [0, 6], chance: [1, 1], remains: [2, 1] } as const)[layer];
  return { band, zero: 0, perStep: 1, low: 0, high, clear: null, colours };
}

/** Puts finds, the search map and the next lines on a chart. */
export function mountFinds(chart: ChartTable): FindsChart {
  const layer = new RasterLayer(mosaicWorker(), () => chart.render());
  layer.opacity = SEARCH_OPACITY;
  const shows = (): boolean => screen.get().stage === 'finds';
  let kept = finds.get();
  const dress = (): void => {
    const { layer: wanted, searchMap } = finds.get();
    layer.set(wanted === 'none' ? null : searchMap, wanted === 'none' || searchMap === null ? null : searchLook(wanted));
  };
  dress();
  const removeOverlay = chart.addOverlay({
    ground: (ctx, view, pixelRatio) => {
      if (shows()) layer.paint(ctx, view, pixelRatio);
    },
    ink: (ctx, view, palette) => {
      if (!shows()) return;
      paintNextLines(ctx, view, palette);
      paintFinds(ctx, view, palette);
    },
    top: () => undefined,
  });
  const stops = [
    finds.watch(() => {
      const now = finds.get();
      if (now.layer !== kept.layer || now.searchMap !== kept.searchMap) dress();
      kept = now;
      chart.render();
    }),
    findHover.watch(() => chart.render()),
    measuring.watch(() => chart.render()),
  ];
  const nearest = ({ xM, yM, reachM }: Pointed): FindShown | null => {
    let best: FindShown | null = null;
    let least = reachM;
    for (const find of listed(finds.get())) {
      const off = Math.hypot(find.place.xM - xM, find.place.yM - yM);
      if (off < least) [best, least] = [find, off];
    }
    return best;
  };
  return {
    pointer(place) {
      if (!shows()) return;
      const id = place === null ? null : (nearest(place)?.id ?? null);
      if (findHover.get() !== id) findHover.set(id);
    },
    click(place) {
      if (!shows()) return false;
      const find = nearest(place);
      if (find === null) return false;
      selectFind(find.id, undefined, 'chart');
      return true;
    },
    dispose() {
      for (const stop of stops) stop();
      removeOverlay();
      layer.dispose();
    },
  };
}

function paintFinds(ctx: CanvasRenderingContext2D, view: Viewport, palette: Palette): void {
  const { selected } = finds.get();
  const pointed = findHover.get();
  ctx.save();
  ctx.font = `600 14px ${palette.font}`;
  ctx.textAlign = 'left';
  ctx.textBaseline = 'middle';
  listed(finds.get()).forEach((find) => {
    const [x, y] = [pixelX(view, find.place.xM), pixelY(view, find.place.yM)];
    if (x < -20 || y < -20 || x > view.widthPx + 20 || y > view.heightPx + 20) return;
    const strong = find.id === selected || find.id === pointed;
    for (const [colour, width] of [[palette.paper, strong ? 6 : 4.5], [palette.magenta, strong ? 3 : 2]] as const) {
      ctx.strokeStyle = colour;
      ctx.lineWidth = width;
      ctx.setLineDash(find.state === 'proposed' && colour === palette.magenta ? [4, 3] : []);
      markPath(ctx, find.state, x, y, strong ? MARK_PX + 2 : MARK_PX);
    }
    ctx.setLineDash([]);
    if (strong) paintEllipse(ctx, view, palette, find.place);
    words(ctx, find.name === '' ? String(find.number) : find.name, x + MARK_PX + 6, y - MARK_PX, palette);
  });
  const drawn = measuredNow();
  if (drawn !== null) {
    ctx.strokeStyle = palette.magenta;
    ctx.lineWidth = 3;
    markPath(ctx, 'confirmed', pixelX(view, drawn.place.xM), pixelY(view, drawn.place.yM), MARK_PX);
    paintEllipse(ctx, view, palette, drawn.place);
  }
  ctx.restore();
}

/** A ring for what is proposed (dashed) or confirmed (with a point in it), a cross for what is rejected. */
function markPath(ctx: CanvasRenderingContext2D, state: FindShown['state'], x: number, y: number, radius: number): void {
  ctx.beginPath();
  if (state === 'rejected') {
    ctx.moveTo(x - radius * 0.7, y - radius * 0.7);
    ctx.lineTo(x + radius * 0.7, y + radius * 0.7);
    ctx.moveTo(x + radius * 0.7, y - radius * 0.7);
    ctx.lineTo(x - radius * 0.7, y + radius * 0.7);
  } else {
    ctx.arc(x, y, radius, 0, 2 * Math.PI);
    if (state === 'confirmed') {
      ctx.moveTo(x + 1.5, y);
      ctx.arc(x, y, 1.5, 0, 2 * Math.PI);
    }
  }
  ctx.stroke();
}

/** Where it lies with 95 %. */
function paintEllipse(ctx: CanvasRenderingContext2D, view: Viewport, palette: Palette, place: FindShown['place']): void {
  const { majorM, minorM, axisDeg } = ellipseOf(place);
  if (!(majorM > 0)) return;
  const scale = SIGMA_TO_95_2D / view.metresPerPixel;
  ctx.strokeStyle = palette.magenta;
  ctx.lineWidth = 1.2;
  ctx.beginPath();
  ctx.ellipse(pixelX(view, place.xM), pixelY(view, place.yM), majorM * scale, Math.max(0.5, minorM * scale), ((axisDeg - 90) * Math.PI) / 180, 0, 2 * Math.PI);
  ctx.stroke();
}

/** Lines that would raise the chance most, in the order to run them. */
function paintNextLines(ctx: CanvasRenderingContext2D, view: Viewport, palette: Palette): void {
  const { nextLines, part } = finds.get();
  if (part !== 'search') return;
  ctx.save();
  ctx.font = `600 14px ${palette.font}`;
  ctx.textAlign = 'left';
  ctx.textBaseline = 'middle';
  nextLines.forEach(({ parts, properties }, k) => {
    for (const part of parts) {
      for (const [colour, width] of [[palette.paper, 5], [palette.magenta, 2.2]] as const) {
        ctx.strokeStyle = colour;
        ctx.lineWidth = width;
        ctx.setLineDash(colour === palette.magenta ? [9, 5] : []);
        ctx.beginPath();
        for (let i = 0; i + 1 < part.length; i += 2) {
          const [x, y] = [pixelX(view, part[i] as number), pixelY(view, part[i + 1] as number)];
          if (i === 0) ctx.moveTo(x, y);
          else ctx.lineTo(x, y);
        }
        ctx.stroke();
      }
      ctx.setLineDash([]);
      words(ctx, String(properties['number'] ?? k + 1), pixelX(view, part[0] as number) + 5, pixelY(view, part[1] as number) - 9, palette);
    }
  });
  ctx.restore();
}

function words(ctx: CanvasRenderingContext2D, text: string, x: number, y: number, palette: Palette): void {
  ctx.strokeStyle = palette.paper;
  ctx.lineWidth = 4;
  ctx.strokeText(text, x, y);
  ctx.fillStyle = palette.magenta;
  ctx.fillText(text, x, y);
}
