/** One band of a surface raster and its place in the survey frame. Values [rows * cols] row-major, row 0 = north; NaN no data. */
export interface TintSurface {
  readonly westM: number;
  readonly northM: number;
  readonly cellM: number;
  readonly cols: number;
  readonly rows: number;
  readonly depthM: Float32Array;
}

export type Rgb = readonly [number, number, number];

/** Colours by depth: drying, then the water from shoal to deep. */
export interface TintColours {
  readonly drying: Rgb;
  /** [4]: shoaler than the first danger depth ... deeper than the third. */
  readonly bands: readonly [Rgb, Rgb, Rgb, Rgb];
}

/**
 * Depth tints of a window of the survey, one pixel at a time: the surface between cell centres is bilinear and the edge
 * between two tints is softened over one pixel. A pixel in a cell without data is clear.
 *
 * @param widthPx, heightPx size of the picture; its west edge lies at westM, its north edge at northM [m]
 * @param metresPerPixel size of a pixel on the ground [m]
 * @param dangerM three depths, shoal to deep [m]
 * @returns RGBA [heightPx * widthPx * 4], row 0 = north
 */
export function tintWindow(
  surface: TintSurface,
  window: { readonly westM: number; readonly northM: number; readonly metresPerPixel: number; readonly widthPx: number; readonly heightPx: number },
  dangerM: readonly [number, number, number],
  colours: TintColours,
): Uint8ClampedArray<ArrayBuffer> {
  const { widthPx, heightPx, metresPerPixel } = window;
  const out = new Uint8ClampedArray(widthPx * heightPx * 4);
  const { cols, rows, cellM, depthM } = surface;
  const limits = [0, dangerM[0], dangerM[1], dangerM[2]];
  const ramp: Rgb[] = [colours.drying, ...colours.bands];
  for (let py = 0; py < heightPx; py++) {
    const v = (surface.northM - (window.northM - (py + 0.5) * metresPerPixel)) / cellM;
    const row = Math.floor(v);
    if (row < 0 || row >= rows) continue;
    const r0 = Math.min(rows - 1, Math.max(0, Math.floor(v - 0.5)));
    const r1 = Math.min(rows - 1, r0 + 1);
    const fr = Math.min(1, Math.max(0, v - 0.5 - r0));
    for (let px = 0; px < widthPx; px++) {
      const u = (window.westM + (px + 0.5) * metresPerPixel - surface.westM) / cellM;
      const col = Math.floor(u);
      if (col < 0 || col >= cols) continue;
      const own = depthM[row * cols + col] as number;
      if (own !== own) continue;
      const c0 = Math.min(cols - 1, Math.max(0, Math.floor(u - 0.5)));
      const c1 = Math.min(cols - 1, c0 + 1);
      const fc = Math.min(1, Math.max(0, u - 0.5 - c0));
      let a = depthM[r0 * cols + c0] as number;
      let b = depthM[r0 * cols + c1] as number;
      let c = depthM[r1 * cols + c0] as number;
      let d = depthM[r1 * cols + c1] as number;
      if (a !== a) a = own;
      if (b !== b) b = own;
      if (c !== c) c = own;
      if (d !== d) d = own;
      const depth = (a * (1 - fc) + b * fc) * (1 - fr) + (c * (1 - fc) + d * fc) * fr;
      const gx = (b - a) * (1 - fr) + (d - c) * fr;
      const gy = (c - a) * (1 - fc) + (d - b) * fc;
      const perPixel = (Math.hypot(gx, gy) / cellM) * metresPerPixel;
      let band = 0;
      while (band < 4 && depth >= (limits[band] as number)) band++;
      let colour = ramp[band] as Rgb;
      let mixed: Rgb | null = null;
      let share = 0;
      if (perPixel > 0) {
        if (band < 4 && (limits[band] as number) - depth < perPixel / 2) {
          mixed = ramp[band + 1] as Rgb;
          share = 0.5 - ((limits[band] as number) - depth) / perPixel;
        } else if (band > 0 && depth - (limits[band - 1] as number) < perPixel / 2) {
          mixed = colour;
          colour = ramp[band - 1] as Rgb;
          share = 0.5 + (depth - (limits[band - 1] as number)) / perPixel;
        }
      }
      const at = (py * widthPx + px) * 4;
      if (mixed === null) {
        out[at] = colour[0];
        out[at + 1] = colour[1];
        out[at + 2] = colour[2];
      } else {
        out[at] = colour[0] + (mixed[0] - colour[0]) * share;
        out[at + 1] = colour[1] + (mixed[1] - colour[1]) * share;
        out[at + 2] = colour[2] + (mixed[2] - colour[2]) * share;
      }
      out[at + 3] = 255;
    }
  }
  return out;
}
