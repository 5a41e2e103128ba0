/** How the survey frame is laid on the screen: north up along the grid. */
export interface Viewport {
  readonly centreXM: number;
  readonly centreYM: number;
  readonly metresPerPixel: number;
  readonly widthPx: number;
  readonly heightPx: number;
}

export function pixelX(view: Viewport, xM: number): number {
  return (xM - view.centreXM) / view.metresPerPixel + view.widthPx / 2;
}

export function pixelY(view: Viewport, yM: number): number {
  return (view.centreYM - yM) / view.metresPerPixel + view.heightPx / 2;
}

/** The ground under a pixel. */
export function metresX(view: Viewport, x: number): number {
  return view.centreXM + (x - view.widthPx / 2) * view.metresPerPixel;
}

export function metresY(view: Viewport, y: number): number {
  return view.centreYM - (y - view.heightPx / 2) * view.metresPerPixel;
}

/** The ground a viewport shows, with a margin around it [px]. */
export function extentOf(view: Viewport, marginPx = 0): { westM: number; southM: number; eastM: number; northM: number } {
  const halfWidthM = (view.widthPx / 2 + marginPx) * view.metresPerPixel;
  const halfHeightM = (view.heightPx / 2 + marginPx) * view.metresPerPixel;
  return { westM: view.centreXM - halfWidthM, southM: view.centreYM - halfHeightM, eastM: view.centreXM + halfWidthM, northM: view.centreYM + halfHeightM };
}

/** The box of some lines or rings; null where there is no vertex. */
export function boxOf(parts: Iterable<Float64Array>): { westM: number; southM: number; eastM: number; northM: number } | null {
  let westM = Infinity;
  let southM = Infinity;
  let eastM = -Infinity;
  let northM = -Infinity;
  for (const part of parts) {
    for (let i = 0; i + 1 < part.length; i += 2) {
      const x = part[i] as number;
      const y = part[i + 1] as number;
      if (x < westM) westM = x;
      if (x > eastM) eastM = x;
      if (y < southM) southM = y;
      if (y > northM) northM = y;
    }
  }
  return eastM >= westM ? { westM, southM, eastM, northM } : null;
}
