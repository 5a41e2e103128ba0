import { ruggedness, slopeDegrees } from '../../depths/slope-rugosity.js';
import type { Raster } from '../../geo/raster.js';
import type { Rgb } from '../chart/tint.js';
import type { LayerInfo, LayerTintRequest, SurfaceLayer } from './depths-messages.js';
import type { Floor } from './read-floor.js';

export interface KeptLayer {
  readonly raster: Raster;
  readonly info: LayerInfo;
}

const UNITS: Readonly<Record<SurfaceLayer, string>> = { uncertainty: 'm', count: '', slope: '°', ruggedness: '' };
/** Cells that the range of the colours is read from. */
const LOOKED_AT = 50_000;

/** A layer of the surface, with the range its colours run over. */
export function layerOf(floor: Floor, layer: SurfaceLayer): KeptLayer {
  const raster = layer === 'uncertainty' ? floor.uncertainty : layer === 'count' ? floor.count : layer === 'slope' ? slopeDegrees(floor.depth) : ruggedness(floor.depth);
  const { values } = raster;
  const step = Math.max(1, Math.floor(values.length / LOOKED_AT));
  const sample: number[] = [];
  for (let i = 0; i < values.length; i += step) if (Number.isFinite(values[i]) && (layer !== 'count' || (values[i] as number) > 0)) sample.push(values[i] as number);
  sample.sort((a, b) => a - b);
  const at = (share: number) => sample[Math.min(sample.length - 1, Math.floor(sample.length * share))] ?? 0;
  const low = layer === 'count' ? 0 : at(0.05);
  const high = Math.max(at(0.95), low + 1e-6);
  return { raster, info: { low, high: layer === 'count' ? Math.max(1, high) : high, unit: UNITS[layer] } };
}

const STEPS = 128;

/**
 * A window of a layer in colours, one pixel at a time, each the cell it lies in; clear where there is no value.
 * @returns RGBA [heightPx * widthPx * 4], row 0 = north
 */
export function tintLayerWindow({ raster, info }: KeptLayer, { westM, northM, metresPerPixel, widthPx, heightPx, ramp }: LayerTintRequest): Uint8ClampedArray<ArrayBuffer> {
  const { grid, values } = raster;
  const out = new Uint8ClampedArray(widthPx * heightPx * 4);
  const colours = Array.from({ length: STEPS }, (_, k) => mixed(ramp, k / (STEPS - 1)));
  const scale = (STEPS - 1) / (info.high - info.low);
  for (let py = 0; py < heightPx; py++) {
    const row = Math.floor((grid.northM - (northM - (py + 0.5) * metresPerPixel)) / grid.cellM);
    if (row < 0 || row >= grid.rows) continue;
    for (let px = 0; px < widthPx; px++) {
      const col = Math.floor((westM + (px + 0.5) * metresPerPixel - grid.westM) / grid.cellM);
      if (col < 0 || col >= grid.cols) continue;
      const value = values[row * grid.cols + col] as number;
      if (value !== value) continue;
      const [r, g, b] = colours[Math.max(0, Math.min(STEPS - 1, Math.round((value - info.low) * scale)))] as Rgb;
      const at = (py * widthPx + px) * 4;
      out[at] = r;
      out[at + 1] = g;
      out[at + 2] = b;
      out[at + 3] = 255;
    }
  }
  return out;
}

function mixed(ramp: readonly Rgb[], share: number): Rgb {
  const at = share * (ramp.length - 1);
  const k = Math.min(ramp.length - 2, Math.floor(at));
  const f = at - k;
  const [a, b] = [ramp[k] as Rgb, ramp[k + 1] as Rgb];
  return [a[0] + f * (b[0] - a[0]), a[1] + f * (b[1] - a[1]), a[2] + f * (b[2] - a[2])];
}
