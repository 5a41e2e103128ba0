import OlMap from 'ol/Map.js';
import View from 'ol/View.js';
import Feature from 'ol/Feature.js';
import MultiPoint from 'ol/geom/MultiPoint.js';
import LineString from 'ol/geom/LineString.js';
import Polygon from 'ol/geom/Polygon.js';
import Layer from 'ol/layer/Layer.js';
import VectorLayer from 'ol/layer/Vector.js';
import VectorSource from 'ol/source/Vector.js';
import DragBox from 'ol/interaction/DragBox.js';
import DragPan from 'ol/interaction/DragPan.js';
import Draw from 'ol/interaction/Draw.js';
import Modify from 'ol/interaction/Modify.js';
import Snap from 'ol/interaction/Snap.js';
import { defaults as defaultInteractions } from 'ol/interaction/defaults.js';
import { shiftKeyOnly, primaryAction } from 'ol/events/condition.js';
import { register } from 'ol/proj/proj4.js';
import { get as getProjection } from 'ol/proj.js';
import { Circle, Fill, Stroke, Style } from 'ol/style.js';
import type { FrameState } from 'ol/Map.js';
import proj4 from 'proj4';
import type { Frame } from '../../geo/frame.js';
import type { WorkCaller } from '../work/call.js';
import { isAbort } from '../work/call.js';
import type { SurfaceInfo, TintRequest } from '../work/messages.js';
import { modeOf, type SelectMode } from '../select/rows.js';
import { BrushInteraction } from './brush-interaction.js';
import type { ChartTool } from './chart-tool.js';
import { paintInk, type Box, type InkScene } from './paint-ink.js';
import { MARGIN, furnitureBoxes, paintFrame } from './paint-frame.js';
import { readPalette, type Palette } from './palette.js';
import type { Rgb } from './tint.js';
import type { FittedView, ScreenBox } from './fit-view.js';
import { trueNorthDeg } from './graduate.js';
import { variationOn, variationText } from './variation.js';
import { extentOf, pixelX, pixelY, type Viewport } from './viewport.js';

export interface ChartEvents {
  /** The pointer is over the chart at this place, or has left it (null). */
  pointer(place: { readonly xM: number; readonly yM: number; readonly reachM: number } | null): void;
  click(place: { readonly xM: number; readonly yM: number; readonly reachM: number }, mode: SelectMode): void;
  box(box: { readonly westM: number; readonly southM: number; readonly eastM: number; readonly northM: number }, mode: SelectMode): void;
  /** A stroke of the brush: where it is, and when what it painted is to be shown. */
  brush(place: { readonly xM: number; readonly yM: number; readonly radiusM: number }, mode: SelectMode): void;
  brushed(): void;
  /** A line or a ring was drawn to ask about [m]. */
  asked(kind: 'line' | 'ring', vertices: Float64Array): void;
  /** A keep-out or land has been drawn. */
  noGo(which: 'keepouts' | 'shore', vertices: Float64Array): void;
  /** The area as it is being drawn or dragged: rings per polygon, closed [m]. */
  area(area: readonly (readonly Float64Array[])[], settled: boolean): void;
  moved(view: Viewport): void;
}

/** Drawn with the chart: `ink` over its own ink, and `top` whenever the view has changed. */
export interface ChartOverlay {
  /** Over the depth tints, under the land and the ink. */
  ground?(ctx: CanvasRenderingContext2D, view: Viewport, pixelRatio: number): void;
  /** @param reserved boxes that hold numbers, drawn over it [px] */
  ink(ctx: CanvasRenderingContext2D, view: Viewport, palette: Palette, reserved: readonly Box[]): void;
  top(view: Viewport): void;
}

/** Of a layer of the surface over the paper. */
const LAYER_OPACITY = 0.6;

/** Narrower than this the rose is drawn small [px]. */
const COMPACT_PX = 480;

/** The chart: an OpenLayers map in the survey frame, with layers that paint by hand, and the sheet's furniture around it. */
export class ChartTable {
  readonly #map: OlMap;
  readonly #view: View;
  readonly #frame: Frame;
  readonly #furniture: HTMLCanvasElement;
  readonly #worker: WorkCaller;
  readonly #events: ChartEvents;
  readonly #edited = new VectorSource<Feature<Polygon>>();
  readonly #editLayer: VectorLayer<VectorSource<Feature<Polygon>>>;
  readonly #ground = document.createElement('canvas');
  readonly #ink = document.createElement('canvas');
  readonly #resize: ResizeObserver;
  #palette: Palette;
  #scene: InkScene | null = null;
  #surface: SurfaceInfo | null = null;
  #dateS = 0;
  #tool: ChartTool = 'look';
  #toolParts: { readonly remove: () => void } | null = null;
  #tint: { readonly image: ImageBitmap; readonly request: TintRequest; readonly stamp: number } | null = null;
  #tintStamp = 0;
  #tintPending = false;
  #settingArea = false;
  #overlay: ChartOverlay | null = null;
  readonly #overlays = new Set<ChartOverlay>();
  #brushPx = 14;
  #layerRamp: readonly Rgb[] | null = null;

  constructor(sheet: HTMLElement, target: HTMLElement, furniture: HTMLCanvasElement, frame: Frame, worker: WorkCaller, events: ChartEvents) {
    this.#frame = frame;
    this.#furniture = furniture;
    this.#worker = worker;
    this.#events = events;
    this.#palette = readPalette(document.documentElement);
    const code = `EPSG:${frame.epsg}`;
    proj4.defs(code, frame.proj4);
    register(proj4);
    const projection = getProjection(code);
    if (projection === null) throw new Error(`projection ${code} is not known to the map`);
    projection.setExtent([-500_000, -100_000, 1_500_000, 10_100_000]);
    this.#view = new View({ projection, center: [500_000, 0], resolution: 1, minResolution: 0.01, maxResolution: 500, enableRotation: false, constrainOnlyCenter: true, smoothExtentConstraint: false });
    this.#editLayer = new VectorLayer({ source: this.#edited, updateWhileInteracting: true, style: () => this.#editStyle() });
    for (const canvas of [this.#ground, this.#ink]) {
      canvas.style.position = 'absolute';
      canvas.style.inset = '0';
      canvas.style.width = '100%';
      canvas.style.height = '100%';
    }
    this.#map = new OlMap({
      target,
      view: this.#view,
      controls: [],
      layers: [
        new Layer({ render: (state: FrameState | null) => this.#paintGround(state), zIndex: 0 }),
        new Layer({ render: (state: FrameState | null) => this.#paintInkLayer(state), zIndex: 1 }),
        this.#editLayer,
      ],
      interactions: defaultInteractions({ shiftDragZoom: false, altShiftDragRotate: false, pinchRotate: false, doubleClickZoom: false }),
    });
    this.#editLayer.setZIndex(2);
    this.#map.on('postrender', () => {
      this.#paintFurniture();
      this.#overlay?.top(this.viewport());
      for (const overlay of this.#overlays) overlay.top(this.viewport());
    });
    this.#map.on('moveend', () => this.#events.moved(this.viewport()));
    this.#map.on('pointermove', (event) => {
      if (event.dragging) return;
      this.#events.pointer(this.#placeOf(event.coordinate));
    });
    target.addEventListener('pointerleave', () => this.#events.pointer(null));
    this.#map.on('singleclick', (event) => {
      if (this.#tool === 'draw' || this.#tool === 'edit' || this.#tool.startsWith('ask-') || this.#tool.startsWith('draw-')) return;
      this.#events.click(this.#placeOf(event.coordinate), modeOf(event.originalEvent as MouseEvent, 'replace'));
    });
    const box = new DragBox({ className: 'select-box', condition: (event) => (this.#tool === 'select' && primaryAction(event)) || (this.#tool === 'look' && shiftKeyOnly(event)) });
    box.on('boxend', (event) => {
      const [westM, southM, eastM, northM] = box.getGeometry().getExtent() as [number, number, number, number];
      const keys = event.mapBrowserEvent?.originalEvent as MouseEvent | undefined;
      // With no tool chosen Shift is what draws the box.
      this.#events.box({ westM, southM, eastM, northM }, modeOf({ shiftKey: keys?.shiftKey === true && this.#tool === 'select', altKey: keys?.altKey === true }, 'replace'));
    });
    this.#map.addInteraction(box);
    this.#edited.on('change', () => this.#tellArea(false));
    this.#resize = new ResizeObserver(() => {
      this.#map.updateSize();
      this.#map.render();
    });
    this.#resize.observe(sheet);
  }

  get scene(): InkScene | null {
    return this.#scene;
  }

  viewport(): Viewport {
    const [widthPx, heightPx] = (this.#map.getSize() ?? [1, 1]) as [number, number];
    const [centreXM, centreYM] = (this.#view.getCenter() ?? [500_000, 0]) as [number, number];
    return { centreXM, centreYM, metresPerPixel: this.#view.getResolution() ?? 1, widthPx, heightPx };
  }

  /** Shows a view. */
  show(view: FittedView, animate: boolean): void {
    const center = [view.centreXM, view.centreYM];
    const resolution = view.metresPerPixel;
    if (animate && !matchMedia('(prefers-reduced-motion: reduce)').matches) this.#view.animate({ center, resolution, duration: 250 });
    else {
      this.#view.setCenter(center);
      this.#view.setResolution(resolution);
    }
  }

  /** Where the rose and the scale bar stand [px]. */
  furniture(): readonly ScreenBox[] {
    this.#map.updateSize();
    const { widthPx, heightPx } = this.viewport();
    return furnitureBoxes(widthPx, heightPx, widthPx < COMPACT_PX);
  }

  zoom(by: number): void {
    const resolution = (this.#view.getResolution() ?? 1) / by;
    if (matchMedia('(prefers-reduced-motion: reduce)').matches) this.#view.setResolution(resolution);
    else this.#view.animate({ resolution, duration: 150 });
  }

  /** Brings a place into view without zooming, where it is not in view. */
  reveal(xM: number, yM: number): void {
    const view = this.viewport();
    const x = pixelX(view, xM);
    const y = pixelY(view, yM);
    if (x < 30 || y < 30 || x > view.widthPx - 30 || y > view.heightPx - 30) this.#view.setCenter([xM, yM]);
  }

  setOverlay(overlay: ChartOverlay | null): void {
    this.#overlay = overlay;
    this.#map.render();
  }

  /** Draws more over the chart; returns how to take it off. */
  addOverlay(overlay: ChartOverlay): () => void {
    this.#overlays.add(overlay);
    this.#map.render();
    return () => {
      this.#overlays.delete(overlay);
      this.#map.render();
    };
  }

  /** Radius of the brush [px]. */
  setBrush(radiusPx: number): void {
    this.#brushPx = radiusPx;
  }

  /** Draws the chart again in the next frame. */
  render(): void {
    this.#map.render();
  }

  setScene(scene: InkScene): void {
    this.#scene = scene;
    this.#map.render();
  }

  setSurface(surface: SurfaceInfo | null): void {
    this.#surface = surface;
    this.#tintStamp++;
    this.#map.render();
  }

  /** Colours of a layer of the surface from low to high, in place of the depth tints; null: the tints. */
  setLayer(ramp: readonly Rgb[] | null): void {
    this.#layerRamp = ramp;
    this.#tintStamp++;
    this.#map.render();
  }

  /** The date the variation is for. */
  setDate(dateS: number): void {
    this.#dateS = dateS;
    this.#map.render();
  }

  /** Reads the palette anew, after the document's changed. */
  repaint(): void {
    this.#palette = readPalette(document.documentElement);
    this.#tintStamp++;
    this.#editLayer.changed();
    this.#map.render();
  }

  /** The area under the editing tools; what is given here is not told back. */
  setArea(area: readonly (readonly Float64Array[])[]): void {
    this.#settingArea = true;
    this.#edited.clear();
    for (const rings of area) this.#edited.addFeature(new Feature(new Polygon(rings.map(coordinatesOf))));
    this.#settingArea = false;
  }

  setTool(tool: ChartTool): void {
    this.#tool = tool;
    this.#toolParts?.remove();
    this.#toolParts = null;
    this.#editLayer.setVisible(tool === 'draw' || tool === 'edit');
    for (const interaction of this.#map.getInteractions().getArray()) {
      if (interaction instanceof DragPan) interaction.setActive(tool !== 'select' && tool !== 'brush');
    }
    if (tool === 'brush') {
      const radiusM = () => this.#brushPx * (this.#view.getResolution() ?? 1);
      const brush = new BrushInteraction(radiusM, { paint: (xM, yM, mode) => this.#events.brush({ xM, yM, radiusM: radiusM() }, mode), show: () => this.#events.brushed() });
      this.#map.addInteraction(brush);
      this.#toolParts = { remove: () => this.#map.removeInteraction(brush) };
    } else if (tool === 'ask-line' || tool === 'ask-area' || tool === 'draw-keepouts' || tool === 'draw-shore') {
      const kind = tool === 'ask-line' ? 'line' : 'ring';
      const draw = new Draw({ type: kind === 'line' ? 'LineString' : 'Polygon', stopClick: true, style: () => this.#editStyle() });
      draw.on('drawend', ({ feature }) => {
        const geometry = feature.getGeometry();
        const places = geometry instanceof Polygon ? (geometry.getCoordinates()[0] ?? []).slice(0, -1) : geometry instanceof LineString ? geometry.getCoordinates() : [];
        if (places.length <= (kind === 'line' ? 1 : 2)) return;
        const vertices = Float64Array.from(places.flatMap(([x, y]) => [x as number, y as number]));
        setTimeout(() => {
          if (tool === 'draw-keepouts' || tool === 'draw-shore') this.#events.noGo(tool === 'draw-shore' ? 'shore' : 'keepouts', vertices);
          else this.#events.asked(kind, vertices);
        }, 0);
      });
      this.#map.addInteraction(draw);
      this.#toolParts = { remove: () => this.#map.removeInteraction(draw) };
    } else if (tool === 'draw') {
      const draw = new Draw({ source: this.#edited, type: 'Polygon', stopClick: true, style: () => this.#editStyle() });
      draw.on('drawend', () => setTimeout(() => this.#tellArea(true), 0));
      this.#map.addInteraction(draw);
      this.#toolParts = { remove: () => this.#map.removeInteraction(draw) };
    } else if (tool === 'edit') {
      const modify = new Modify({ source: this.#edited, pixelTolerance: 20, style: () => this.#editStyle() });
      const snap = new Snap({ source: this.#edited });
      modify.on('modifyend', () => this.#tellArea(true));
      this.#map.addInteraction(modify);
      this.#map.addInteraction(snap);
      this.#toolParts = {
        remove: () => {
          this.#map.removeInteraction(modify);
          this.#map.removeInteraction(snap);
        },
      };
    }
    this.#map.render();
  }

  /** Where a place falls inside the sheet [px]; null outside the chart. */
  pixelOf(xM: number, yM: number): { readonly x: number; readonly y: number } | null {
    const view = this.viewport();
    const x = pixelX(view, xM);
    const y = pixelY(view, yM);
    return x >= 0 && y >= 0 && x <= view.widthPx && y <= view.heightPx ? { x, y } : null;
  }

  /** The chart with its border as one picture, at the screen's resolution. */
  picture(): HTMLCanvasElement {
    const out = document.createElement('canvas');
    out.width = this.#furniture.width;
    out.height = this.#furniture.height;
    const ctx = context(out);
    const ratio = devicePixelRatio;
    ctx.fillStyle = this.#palette.paper;
    ctx.fillRect(0, 0, out.width, out.height);
    for (const canvas of [this.#ground, this.#ink]) ctx.drawImage(canvas, MARGIN.left * ratio, MARGIN.top * ratio);
    ctx.drawImage(this.#furniture, 0, 0);
    return out;
  }

  dispose(): void {
    this.#resize.disconnect();
    this.#toolParts?.remove();
    this.#map.setTarget(undefined);
    this.#map.dispose();
  }

  #placeOf(coordinate: readonly number[]): { xM: number; yM: number; reachM: number } {
    return { xM: coordinate[0] as number, yM: coordinate[1] as number, reachM: 14 * (this.#view.getResolution() ?? 1) };
  }

  #tellArea(settled: boolean): void {
    if (this.#settingArea) return;
    const area = this.#edited
      .getFeatures()
      .map((feature) => feature.getGeometry()?.getCoordinates() ?? [])
      .filter((rings) => (rings[0]?.length ?? 0) >= 4)
      .map((rings) => rings.map((ring) => Float64Array.from(ring.flatMap(([x, y]) => [x as number, y as number]))));
    this.#events.area(area, settled);
  }

  #editStyle(): Style[] {
    const colour = this.#palette.magenta;
    return [
      new Style({ stroke: new Stroke({ color: colour, width: 2, lineDash: [4, 4] }), image: new Circle({ radius: 7, stroke: new Stroke({ color: colour, width: 2 }), fill: new Fill({ color: this.#palette.paper }) }) }),
      new Style({
        image: new Circle({ radius: 5, stroke: new Stroke({ color: colour, width: 1.8 }), fill: new Fill({ color: this.#palette.paper }) }),
        geometry: (feature) => {
          const geometry = feature.getGeometry();
          return geometry instanceof Polygon ? corners(geometry) : undefined;
        },
      }),
    ];
  }

  #paintGround(state: FrameState | null): HTMLElement {
    if (state === null) return this.#ground;
    const view = viewportOf(state);
    const ctx = prepare(this.#ground, state);
    ctx.fillStyle = this.#palette.paper;
    ctx.fillRect(0, 0, view.widthPx, view.heightPx);
    if (this.#surface !== null) this.#paintTint(ctx, view, state.pixelRatio);
    for (const overlay of this.#overlays) overlay.ground?.(ctx, view, state.pixelRatio);
    const scene = this.#scene;
    if (scene !== null && scene.shore.length > 0) {
      ctx.fillStyle = this.#palette.land;
      ctx.beginPath();
      for (const shape of scene.shore) {
        if (shape.kind !== 'polygon') continue;
        for (const part of shape.parts) {
          for (let i = 0; i + 1 < part.length; i += 2) {
            const x = pixelX(view, part[i] as number);
            const y = pixelY(view, part[i + 1] as number);
            if (i === 0) ctx.moveTo(x, y);
            else ctx.lineTo(x, y);
          }
          ctx.closePath();
        }
      }
      ctx.fill('evenodd');
    }
    return this.#ground;
  }

  #paintTint(ctx: CanvasRenderingContext2D, view: Viewport, pixelRatio: number): void {
    const surface = this.#surface as SurfaceInfo;
    const tint = this.#tint;
    const metresPerPixel = view.metresPerPixel / pixelRatio;
    if (tint !== null) {
      const { request } = tint;
      const scale = request.metresPerPixel / view.metresPerPixel;
      // The paper shines through a layer, so that what is printed on it can be read; its legend does the same (depths.css).
      if (this.#layerRamp !== null) ctx.globalAlpha = LAYER_OPACITY;
      ctx.drawImage(tint.image, pixelX(view, request.westM), pixelY(view, request.northM), request.widthPx * scale, request.heightPx * scale);
      ctx.globalAlpha = 1;
    }
    const seen = extentOf(view);
    const need = {
      westM: Math.max(seen.westM, surface.westM),
      eastM: Math.min(seen.eastM, surface.westM + surface.cols * surface.cellM),
      southM: Math.max(seen.southM, surface.northM - surface.rows * surface.cellM),
      northM: Math.min(seen.northM, surface.northM),
    };
    if (need.eastM <= need.westM || need.northM <= need.southM) return;
    if (tint !== null && tint.stamp === this.#tintStamp && Math.abs(tint.request.metresPerPixel / metresPerPixel - 1) < 1e-6) {
      const { request } = tint;
      const slack = metresPerPixel;
      if (request.westM <= need.westM + slack && request.northM >= need.northM - slack && request.westM + request.widthPx * metresPerPixel >= need.eastM - slack && request.northM - request.heightPx * metresPerPixel <= need.southM + slack) return;
    }
    if (this.#tintPending) return;
    this.#tintPending = true;
    const stamp = this.#tintStamp;
    const reach = extentOf(view, Math.min(view.widthPx, view.heightPx) * 0.4);
    const westM = Math.max(reach.westM, surface.westM);
    const northM = Math.min(reach.northM, surface.northM);
    const eastM = Math.min(reach.eastM, surface.westM + surface.cols * surface.cellM);
    const southM = Math.max(reach.southM, surface.northM - surface.rows * surface.cellM);
    const request: TintRequest = {
      westM,
      northM,
      metresPerPixel,
      widthPx: Math.max(1, Math.ceil((eastM - westM) / metresPerPixel)),
      heightPx: Math.max(1, Math.ceil((northM - southM) / metresPerPixel)),
      dangerM: (this.#scene?.dangerM ?? [2, 5, 10]) as readonly [number, number, number],
      colours: this.#palette.tints,
    };
    const ramp = this.#layerRamp;
    (ramp === null ? this.#worker.call('tint', request) : this.#worker.call('tintLayer', { westM, northM, metresPerPixel, widthPx: request.widthPx, heightPx: request.heightPx, ramp }))
      .then((painted) => {
        this.#tint?.image.close();
        this.#tint = painted === null ? null : { image: painted.image, request, stamp };
      })
      .catch((error: unknown) => {
        if (!isAbort(error)) throw error;
      })
      .finally(() => {
        this.#tintPending = false;
        this.#map.render();
      });
  }

  #paintInkLayer(state: FrameState | null): HTMLElement {
    if (state === null) return this.#ink;
    const view = viewportOf(state);
    const ctx = prepare(this.#ink, state);
    const scene = this.#scene;
    const editing = this.#tool === 'draw' || this.#tool === 'edit';
    if (scene !== null) {
      const reserved = furnitureBoxes(view.widthPx, view.heightPx, view.widthPx < COMPACT_PX);
      const { over, boxes } = paintInk(ctx, view, { ...scene, reserved, show: editing ? { ...scene.show, areaLimit: false } : scene.show }, this.#palette);
      this.#overlay?.ink(ctx, view, this.#palette, boxes);
      for (const overlay of this.#overlays) overlay.ink(ctx, view, this.#palette, boxes);
      over();
    }
    return this.#ink;
  }

  #paintFurniture(): void {
    const canvas = this.#furniture;
    const box = canvas.getBoundingClientRect();
    const ratio = devicePixelRatio;
    const width = Math.round(box.width * ratio);
    const height = Math.round(box.height * ratio);
    if (width === 0 || height === 0) return;
    if (canvas.width !== width) canvas.width = width;
    if (canvas.height !== height) canvas.height = height;
    const ctx = context(canvas);
    ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
    ctx.clearRect(0, 0, box.width, box.height);
    const view = this.viewport();
    const [latDeg, lonDeg] = this.#frame.toGeographic(view.centreXM, view.centreYM);
    if (!Number.isFinite(latDeg) || !Number.isFinite(lonDeg) || Math.abs(latDeg) > 89) return;
    const variationDeg = variationOn(this.#dateS, latDeg, lonDeg);
    paintFrame(ctx, box.width, box.height, {
      frame: this.#frame,
      view,
      trueNorthDeg: trueNorthDeg(this.#frame, view.centreXM, view.centreYM),
      variationDeg,
      variationText: variationText(variationDeg, this.#dateS),
      compact: view.widthPx < COMPACT_PX,
    }, this.#palette);
  }
}

function context(canvas: HTMLCanvasElement): CanvasRenderingContext2D {
  const ctx = canvas.getContext('2d');
  if (ctx === null) throw new Error('this browser cannot draw on a canvas');
  return ctx;
}

function viewportOf(state: FrameState): Viewport {
  const [widthPx, heightPx] = state.size as [number, number];
  const [centreXM, centreYM] = state.viewState.center as [number, number];
  return { centreXM, centreYM, metresPerPixel: state.viewState.resolution, widthPx, heightPx };
}

function prepare(canvas: HTMLCanvasElement, state: FrameState): CanvasRenderingContext2D {
  const [widthPx, heightPx] = state.size as [number, number];
  const width = Math.round(widthPx * state.pixelRatio);
  const height = Math.round(heightPx * state.pixelRatio);
  if (canvas.width !== width) canvas.width = width;
  if (canvas.height !== height) canvas.height = height;
  const ctx = context(canvas);
  ctx.setTransform(state.pixelRatio, 0, 0, state.pixelRatio, 0, 0);
  ctx.clearRect(0, 0, widthPx, heightPx);
  // The map's own vector layer draws on the last of these canvases and leaves its pen as it was.
  ctx.setLineDash([]);
  ctx.globalAlpha = 1;
  return ctx;
}

function coordinatesOf(ring: Float64Array): number[][] {
  const out: number[][] = [];
  for (let i = 0; i + 1 < ring.length; i += 2) out.push([ring[i] as number, ring[i + 1] as number]);
  const first = out[0];
  const last = out[out.length - 1];
  if (first !== undefined && last !== undefined && (first[0] !== last[0] || first[1] !== last[1])) out.push([...first]);
  return out;
}

function corners(polygon: Polygon) {
  return new MultiPoint(polygon.getCoordinates().flat());
}
