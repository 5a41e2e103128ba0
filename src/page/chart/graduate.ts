import type { Frame } from '../../geo/frame.js';

export interface Extent {
  readonly westM: number;
  readonly southM: number;
  readonly eastM: number;
  readonly northM: number;
}

/** Where a meridian or parallel meets an edge of the chart: along the edge from west or south [m], and its value [deg]. */
export interface Graduation {
  readonly alongM: number;
  readonly valueDeg: number;
}

export interface EdgeGraduations {
  readonly top: readonly Graduation[];
  readonly bottom: readonly Graduation[];
  readonly left: readonly Graduation[];
  readonly right: readonly Graduation[];
}

/** Steps of the graduated border, in thousandths of a minute of arc, and how many bars each has. */
const STEPS: readonly (readonly [milliMinutes: number, bars: number])[] = [
  [1, 5], [2, 4], [5, 5], [10, 5], [20, 4], [50, 5], [100, 5], [200, 4], [500, 5], [1000, 5], [2000, 4], [5000, 5],
  [10_000, 5], [30_000, 6], [60_000, 6], [120_000, 4], [300_000, 5], [600_000, 5], [1_800_000, 6],
];

export interface GraduationStep {
  /** Between figures [deg]. */
  readonly figureDeg: number;
  /** Between bars of the border [deg]. */
  readonly barDeg: number;
  /** Decimals of a minute a figure needs. */
  readonly decimals: number;
}

/** The finest step whose figures stand at least `minimumDeg` apart. */
export function graduationStep(minimumDeg: number): GraduationStep {
  const last = STEPS[STEPS.length - 1] as readonly [number, number];
  const [milli, bars] = STEPS.find(([m]) => m / 60_000 >= minimumDeg) ?? last;
  const decimals = milli % 1000 === 0 ? 0 : milli % 100 === 0 ? 1 : milli % 10 === 0 ? 2 : 3;
  return { figureDeg: milli / 60_000, barDeg: milli / 60_000 / bars, decimals };
}

/**
 * Where the meridians and parallels of a step meet the four edges of a chart drawn in the survey frame.
 * The parallels of a projected plane are not level, so each edge is solved on its own.
 *
 * @param lonStepDeg step of the meridians on the top and bottom edge [deg]
 * @param latStepDeg step of the parallels on the left and right edge [deg]
 */
export function edgeGraduations(frame: Frame, extent: Extent, lonStepDeg: number, latStepDeg: number): EdgeGraduations {
  const { westM, southM, eastM, northM } = extent;
  const lonAt = (northing: number) => (alongM: number) => frame.toGeographic(westM + alongM, northing)[1];
  const latAt = (easting: number) => (alongM: number) => frame.toGeographic(easting, southM + alongM)[0];
  return {
    top: crossings(lonAt(northM), eastM - westM, lonStepDeg),
    bottom: crossings(lonAt(southM), eastM - westM, lonStepDeg),
    left: crossings(latAt(westM), northM - southM, latStepDeg),
    right: crossings(latAt(eastM), northM - southM, latStepDeg),
  };
}

/** Places along [0, lengthM] where a rising value passes multiples of a step, by false position. */
function crossings(valueAt: (alongM: number) => number, lengthM: number, stepDeg: number): Graduation[] {
  const from = valueAt(0);
  const to = valueAt(lengthM);
  if (!(to > from) || !Number.isFinite(to - from) || (to - from) / stepDeg > 2000) return [];
  const out: Graduation[] = [];
  for (let k = Math.ceil(from / stepDeg); k * stepDeg <= to; k++) {
    const valueDeg = k * stepDeg;
    let alongM = ((valueDeg - from) / (to - from)) * lengthM;
    for (let turn = 0; turn < 4; turn++) {
      const slope = (to - from) / lengthM;
      alongM += (valueDeg - valueAt(alongM)) / slope;
    }
    out.push({ alongM, valueDeg });
  }
  return out;
}

/** A figure of the border, e.g. 46°02.20′ N. */
export function graduationFigure(valueDeg: number, kind: 'lat' | 'lon', decimals: number): string {
  const scale = 10 ** decimals;
  const minutes = Math.round(Math.abs(valueDeg) * 60 * scale);
  const degrees = Math.floor(minutes / (60 * scale));
  const rest = (minutes - degrees * 60 * scale) / scale;
  const side = kind === 'lat' ? (valueDeg < 0 ? 'S' : 'N') : valueDeg < 0 ? 'W' : 'E';
  const whole = rest.toFixed(decimals).padStart(decimals === 0 ? 2 : 3 + decimals, '0');
  return `${degrees}°${whole}′ ${side}`;
}

/** How far true north lies east of grid north at a place: the convergence [deg], negative west. */
export function trueNorthDeg(frame: Frame, xM: number, yM: number): number {
  const [latDeg, lonDeg] = frame.toGeographic(xM, yM);
  const [nx, ny] = frame.toFrame(latDeg + 1e-4, lonDeg);
  return (Math.atan2(nx - xM, ny - yM) * 180) / Math.PI;
}

/**
 * A scale bar: the longest round length that fits.
 * @returns length [m] and the number of bars it is cut into
 */
export function scaleBar(metresPerPixel: number, maxPx: number): { readonly lengthM: number; readonly bars: number } {
  const most = metresPerPixel * maxPx;
  const power = 10 ** Math.floor(Math.log10(most));
  const lead = most / power;
  return lead >= 5 ? { lengthM: 5 * power, bars: 5 } : lead >= 2 ? { lengthM: 2 * power, bars: 4 } : { lengthM: power, bars: 2 };
}
