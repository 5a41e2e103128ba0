import type { Frame } from '../geo/frame.js';
import type { Circle } from './boat-path.js';
import type { Floor } from './floor.js';
import { HIGH_WATER_M, ORIGIN_E_M, ORIGIN_N_M, ROCK_AWASH } from './floor.js';
import type { Place, ProvingSize } from './proving-survey.js';

/** Corners of the areas to be surveyed, from the origin, counter-clockwise [m]. */
const AREAS: Readonly<Record<ProvingSize, readonly (readonly [number, number])[]>> = {
  short: [
    [-130, 12],
    [-30, 8],
    [-26, 92],
    [-128, 96],
  ],
  bank: [
    [-200, -68],
    [-115, -68],
    [-115, -26],
    [-200, -26],
  ],
  demo: [
    [-215, -88],
    [-150, -126],
    [95, -130],
    [215, -94],
    [215, 92],
    [60, 124],
    [-60, 116],
    [-215, 84],
  ],
  day: [
    [-440, -140],
    [-150, -150],
    [95, -142],
    [440, -150],
    [440, 78],
    [60, 124],
    [-60, 116],
    [-440, 82],
  ],
};

/** A yacht on a mooring that no plan knew of: the boat keeps this far from it [m]. */
const MOORING: Readonly<Record<ProvingSize, Circle>> = {
  short: { xM: ORIGIN_E_M - 46, yM: ORIGIN_N_M + 28, radiusM: 13 },
  bank: { xM: ORIGIN_E_M + 62, yM: ORIGIN_N_M + 52, radiusM: 22 },
  demo: { xM: ORIGIN_E_M + 62, yM: ORIGIN_N_M + 52, radiusM: 22 },
  day: { xM: ORIGIN_E_M + 62, yM: ORIGIN_N_M + 52, radiusM: 24 },
};

const KEEPOUT_RADIUS_M = 18;
/** The boat goes around it this much farther out. */
const BERTH_M = 3;

/** Where the boat goes in, off the beach, and where the crew stand. From the origin [m]. */
const LAUNCH = [-8, 158] as const;
const BASE = [2, 244] as const;

/** The plan of an invented survey as GeoJSON, and the places it needs. */
export interface HollinPlace {
  readonly area: string;
  readonly keepouts: string;
  readonly shore: string;
  readonly launch: Place;
  readonly base: Place;
  /** The area's corners in the frame [x0, y0, ...] [m]. */
  readonly areaRing: Float64Array;
  /** What the boat keeps clear of: the rock awash, with a berth, and the mooring. */
  readonly rock: Circle;
  readonly mooring: Circle;
}

/** Hollin Sound with the area of a size. Polygons are GeoJSON (RFC 7946): WGS 84, longitude first, outer rings counter-clockwise. */
export function hollinSound(frame: Frame, floor: Floor, size: ProvingSize): HollinPlace {
  const areaRing = Float64Array.from(AREAS[size].flatMap(([east, north]) => [ORIGIN_E_M + east, ORIGIN_N_M + north]));
  const rock: Circle = { xM: ORIGIN_E_M + ROCK_AWASH.eastM, yM: ORIGIN_N_M + ROCK_AWASH.northM, radiusM: KEEPOUT_RADIUS_M };
  const place = ([east, north]: readonly [number, number]): Place => {
    const [latDeg, lonDeg] = frame.toGeographic(ORIGIN_E_M + east, ORIGIN_N_M + north);
    return { latDeg, lonDeg, xM: ORIGIN_E_M + east, yM: ORIGIN_N_M + north };
  };
  return {
    area: polygonsText(frame, [{ ring: areaRing, name: 'Survey area' }]),
    keepouts: polygonsText(frame, [{ ring: circleRing(rock), name: 'Rock awash' }]),
    shore: polygonsText(frame, [
      { ring: northShore(floor), name: 'North shore' },
      { ring: headland(floor), name: 'The headland' },
    ]),
    launch: place(LAUNCH),
    base: place(BASE),
    areaRing,
    rock: { ...rock, radiusM: rock.radiusM + BERTH_M },
    mooring: MOORING[size],
  };
}

function circleRing(circle: Circle): Float64Array {
  const corners = 16;
  // Corners outside the circle, so that its sides touch it.
  const radiusM = circle.radiusM / Math.cos(Math.PI / corners);
  const ring = new Float64Array(2 * corners);
  for (let i = 0; i < corners; i++) {
    ring[2 * i] = circle.xM + radiusM * Math.cos((2 * Math.PI * i) / corners);
    ring[2 * i + 1] = circle.yM + radiusM * Math.sin((2 * Math.PI * i) / corners);
  }
  return ring;
}

/** Land north of the high-water line, 640 m to either side of the origin. */
function northShore(floor: Floor): Float64Array {
  const ring: number[] = [];
  for (let east = -640; east <= 640; east += 10) {
    const x = ORIGIN_E_M + east;
    ring.push(x, ORIGIN_N_M + crossing((north) => floor.depthM(x, ORIGIN_N_M + north), 60, 340));
  }
  ring.push(ORIGIN_E_M + 640, ORIGIN_N_M + 360, ORIGIN_E_M - 640, ORIGIN_N_M + 360);
  return Float64Array.from(ring);
}

/** The headland's high-water line, seen from its middle. */
function headland(floor: Floor): Float64Array {
  const ring: number[] = [];
  const x = ORIGIN_E_M + 40;
  const y = ORIGIN_N_M - 300;
  for (let deg = 0; deg < 360; deg += 5) {
    const cos = Math.cos((deg * Math.PI) / 180);
    const sin = Math.sin((deg * Math.PI) / 180);
    const reach = crossing((along) => -2 * HIGH_WATER_M - floor.depthM(x + along * cos, y + along * sin), 0, 260);
    ring.push(x + reach * cos, y + reach * sin);
  }
  return Float64Array.from(ring);
}

/** Where a depth that lessens from `low` to `high` passes the high-water line; by halving. */
function crossing(depthAt: (along: number) => number, low: number, high: number): number {
  let wet = low;
  let dry = high;
  for (let i = 0; i < 40; i++) {
    const middle = (wet + dry) / 2;
    if (depthAt(middle) > -HIGH_WATER_M) wet = middle;
    else dry = middle;
  }
  return (wet + dry) / 2;
}

function polygonsText(frame: Frame, polygons: readonly { readonly ring: Float64Array; readonly name: string }[]): string {
  const features = polygons.map(({ ring, name }) => {
    const coordinates: [number, number][] = [];
    for (let i = 0; i < ring.length; i += 2) {
      const [latDeg, lonDeg] = frame.toGeographic(ring[i]!, ring[i + 1]!);
      coordinates.push([Number(lonDeg.toFixed(7)), Number(latDeg.toFixed(7))]);
    }
    coordinates.push(coordinates[0]!);
    return { type: 'Feature', properties: { name }, geometry: { type: 'Polygon', coordinates: [coordinates] } };
  });
  return `${JSON.stringify({ type: 'FeatureCollection', features }, null, 1)}\n`;
}
