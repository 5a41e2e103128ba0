import type { Rgb } from '../chart/tint.js';
import { projectionOf } from './camera.js';
import { lineColour, rampColour } from './point-colours.js';
import { pointSizePx, SELECTED, type PaintWish, type PointCloud, type PointPainter } from './point-painter.js';

const RAMP_STEPS = 256;

/** Points drawn into pixels by hand, where the browser has no graphics processor to draw them. */
export class CanvasPainter implements PointPainter {
  readonly kind = 'canvas';
  readonly #canvas: HTMLCanvasElement;
  #cloud: PointCloud | null = null;
  #states: Uint8Array | null = null;
  #image: ImageData | null = null;
  #pixels = new Uint32Array(0);
  #nearest = new Float32Array(0);

  constructor(canvas: HTMLCanvasElement) {
    this.#canvas = canvas;
  }

  setCloud(cloud: PointCloud): void {
    this.#cloud = cloud;
    this.#states = null;
  }

  setStates(states: Uint8Array): void {
    this.#states = states;
  }

  paint({ camera, widthPx, heightPx, colourBy, flagged, colours, share }: PaintWish): void {
    const [width, height] = [Math.max(1, Math.round(widthPx)), Math.max(1, Math.round(heightPx))];
    if (this.#image === null || this.#image.width !== width || this.#image.height !== height) {
      this.#canvas.width = width;
      this.#canvas.height = height;
      this.#image = new ImageData(width, height);
      this.#pixels = new Uint32Array(this.#image.data.buffer);
      this.#nearest = new Float32Array(width * height);
    }
    this.#pixels.fill(word(colours.paper));
    this.#nearest.fill(Infinity);
    const cloud = this.#cloud;
    const states = this.#states;
    if (cloud !== null && states !== null) {
      const p = projectionOf(camera);
      const { place, line, middle } = cloud;
      const [dx, dy, dz] = [middle.xM - camera.xM, middle.yM - camera.yM, middle.depthM - camera.depthM];
      const depths = Uint32Array.from({ length: RAMP_STEPS }, (_, k) => word(rampColour(colours.ramp, k / (RAMP_STEPS - 1))));
      const lines = Uint32Array.from({ length: 256 }, (_, k) => word(lineColour(k - 1, colours.lineLightness)));
      const reasons = Uint32Array.from(colours.reasons, word);
      const chosen = word(colours.selected);
      const scale = (RAMP_STEPS - 1) / Math.max(1e-6, cloud.deepM - cloud.shoalM);
      const low = cloud.shoalM - middle.depthM;
      const size = Math.max(2, Math.round(pointSizePx(camera)));
      const end = Math.round(cloud.n * share);
      for (let k = 0; k < end; k++) {
        const state = states[k] as number;
        const selected = (state & SELECTED) !== 0;
        const aside = (state & 15) !== 0 && !selected;
        if (aside && flagged === 'hidden') continue;
        const e = (place[3 * k] as number) + dx;
        const n = (place[3 * k + 1] as number) + dy;
        const d = (place[3 * k + 2] as number) + dz;
        const x = (width / 2 + e * p.rightE + n * p.rightN - size / 2) | 0;
        const y = (height / 2 - (e * p.upE + n * p.upN + d * p.upDepth) - size / 2) | 0;
        if (x < 0 || y < 0 || x >= width - size || y >= height - size) continue;
        const away = selected ? -Infinity : e * p.awayE + n * p.awayN + d * p.awayDepth;
        const colour = selected
          ? chosen
          : colourBy === 'reason' || (aside && colourBy === 'depth')
            ? (reasons[state & 15] as number)
            : colourBy === 'line'
              ? (lines[line[k] as number] as number)
              : (depths[Math.min(RAMP_STEPS - 1, Math.max(0, ((place[3 * k + 2] as number) - low) * scale)) | 0] as number);
        const side = aside && flagged === 'ghost' ? 1 : size;
        for (let row = 0; row < side; row++) {
          let at = (y + row) * width + x;
          for (let col = 0; col < side; col++, at++) {
            if (away > (this.#nearest[at] as number)) continue;
            this.#nearest[at] = away;
            this.#pixels[at] = colour;
          }
        }
      }
    }
    this.#canvas.getContext('2d')?.putImageData(this.#image, 0, 0);
  }

  dispose(): void {
    this.#cloud = null;
  }
}

/** A colour as the bytes of a pixel. */
function word([r, g, b]: Rgb): number {
  return ((255 << 24) | (Math.round(b) << 16) | (Math.round(g) << 8) | Math.round(r)) >>> 0;
}
