/** A part of the screen that something stands on [px]. */
export interface ScreenBox {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

export interface FittedView {
  readonly centreXM: number;
  readonly centreYM: number;
  readonly metresPerPixel: number;
}

/** Room kept between the survey and the border, and between it and what stands on the chart [px]. */
const EDGE_PX = 26;
const CLEAR_PX = 8;
/** No smaller than this share of the size it would have on a bare chart. */
const SMALLEST_SHARE = 0.5;
const STEPS = 12;

/**
 * The largest view that holds a survey with its places clear of what stands on the chart; of several the one nearest the middle.
 *
 * @param places [x0, y0, x1, y1, ...] of the survey, near enough to each other that nothing slips between two of them [m]
 * @param taken what stands on the chart [px], from its top left
 * @returns `clear` false where no view down to half the size is clear of them: then they are passed over. Null for no place.
 */
export function fitView(places: Float64Array, widthPx: number, heightPx: number, taken: readonly ScreenBox[]): (FittedView & { readonly clear: boolean }) | null {
  let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i + 1 < places.length; i += 2) {
    const x = places[i] as number;
    const y = places[i + 1] as number;
    west = Math.min(west, x);
    east = Math.max(east, x);
    south = Math.min(south, y);
    north = Math.max(north, y);
  }
  if (!(east >= west)) return null;
  const roomX = Math.max(60, widthPx - 2 * EDGE_PX);
  const roomY = Math.max(60, heightPx - 2 * EDGE_PX);
  const bare = Math.max((east - west) / roomX, (north - south) / roomY, 0.02);
  const middle = { centreXM: (west + east) / 2, centreYM: (south + north) / 2 };
  // Offsets of the survey from the middle as shares of the slack, nearest first.
  const shifts = Array.from({ length: (STEPS + 1) ** 2 }, (_, k) => [((k % (STEPS + 1)) * 2) / STEPS - 1, (Math.floor(k / (STEPS + 1)) * 2) / STEPS - 1] as const).sort((a, b) => a[0] ** 2 + a[1] ** 2 - b[0] ** 2 - b[1] ** 2);
  for (let metresPerPixel = bare; metresPerPixel <= bare / SMALLEST_SHARE; metresPerPixel *= 1.02) {
    const slackX = Math.max(0, roomX - (east - west) / metresPerPixel) / 2;
    const slackY = Math.max(0, roomY - (north - south) / metresPerPixel) / 2;
    for (const [shareX, shareY] of shifts) {
      const shiftX = shareX * slackX;
      const shiftY = shareY * slackY;
      const clear = taken.every((box) => {
        for (let i = 0; i + 1 < places.length; i += 2) {
          const x = ((places[i] as number) - middle.centreXM) / metresPerPixel + widthPx / 2 + shiftX;
          const y = (middle.centreYM - (places[i + 1] as number)) / metresPerPixel + heightPx / 2 + shiftY;
          if (x > box.x - CLEAR_PX && x < box.x + box.width + CLEAR_PX && y > box.y - CLEAR_PX && y < box.y + box.height + CLEAR_PX) return false;
        }
        return true;
      });
      if (clear) return { centreXM: middle.centreXM - shiftX * metresPerPixel, centreYM: middle.centreYM + shiftY * metresPerPixel, metresPerPixel, clear: true };
    }
  }
  return { ...middle, metresPerPixel: bare, clear: false };
}

/**
 * Places of a survey for `fitView`: lines at even steps, points one to a cell.
 *
 * @param lines lines and rings, [x0, y0, ...] each [m]
 * @param x, y points [m]; NaN is passed over
 * @param use whether a point takes part
 */
export function placesOf(lines: readonly Float64Array[], x: ArrayLike<number>, y: ArrayLike<number>, use: (row: number) => boolean): Float64Array {
  let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
  const widen = (px: number, py: number) => {
    west = Math.min(west, px);
    east = Math.max(east, px);
    south = Math.min(south, py);
    north = Math.max(north, py);
  };
  for (const line of lines) for (let i = 0; i + 1 < line.length; i += 2) widen(line[i] as number, line[i + 1] as number);
  for (let i = 0; i < x.length; i++) if (use(i) && Number.isFinite(x[i]) && Number.isFinite(y[i])) widen(x[i] as number, y[i] as number);
  if (!(east >= west)) return new Float64Array(0);
  const CELLS = 60;
  const stepM = Math.max(east - west, north - south, 1e-6) / CELLS;
  const cells = new Map<number, [number, number]>();
  const ends: number[] = [];
  const put = (px: number, py: number) => {
    const key = Math.floor((px - west) / stepM) * 4096 + Math.floor((py - south) / stepM);
    if (!cells.has(key)) cells.set(key, [px, py]);
    if (px === west || px === east || py === south || py === north) ends.push(px, py);
  };
  for (const line of lines) {
    for (let i = 0; i + 1 < line.length; i += 2) {
      const [ax, ay] = [line[i] as number, line[i + 1] as number];
      put(ax, ay);
      if (i + 3 >= line.length) continue;
      const [bx, by] = [line[i + 2] as number, line[i + 3] as number];
      const n = Math.ceil(Math.hypot(bx - ax, by - ay) / stepM);
      for (let k = 1; k < n; k++) put(ax + (k / n) * (bx - ax), ay + (k / n) * (by - ay));
    }
  }
  for (let i = 0; i < x.length; i++) if (use(i) && Number.isFinite(x[i]) && Number.isFinite(y[i])) put(x[i] as number, y[i] as number);
  return Float64Array.from([...ends.slice(0, 64), ...[...cells.values()].flat()]);
}
