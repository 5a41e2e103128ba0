import { createValueNoise } from './value-noise.js';

/** What the bottom is made of. */
export type BottomKind = 'sand' | 'gravel' | 'mud' | 'rock';

/** The sea floor of Hollin Sound as functions of the place in the frame: any place, any resolution. */
export interface Floor {
  readonly seed: number;
  /** Depth below chart datum; negative where it dries or is land [m]. */
  depthM(xM: number, yM: number): number;
  /** d depth / d east and d depth / d north, over a step of 0.5 m [1], into out[0], out[1]. */
  gradientInto(xM: number, yM: number, out: Float64Array): void;
  /** Steepest slope over a step of 0.5 m [deg]. */
  slopeDeg(xM: number, yM: number): number;
  bottom(xM: number, yM: number): BottomKind;
}

/** East and north of the middle of Hollin Sound in UTM 26 N: 46.035 N 29.965 W to ten metres [m]. */
export const ORIGIN_E_M = 270_560;
export const ORIGIN_N_M = 5_102_210;

/** High water above chart datum: land begins here [m]. */
export const HIGH_WATER_M = 3.4;

/** A rock that dries half a metre: its summit, from the origin [m]. */
export const ROCK_AWASH = { eastM: 122, northM: -96, heightM: 8.4 } as const;

/** The terraced outcrop: its middle, from the origin, half axes and the bearing of the longer one from east [m, rad]. */
export const OUTCROP = { eastM: -78, northM: 58, longM: 27, shortM: 16, turnRad: 0.42, heightM: 3.6 } as const;

const STEP_M = 0.25;
const PULL_EAST = createValueNoise(901);
const PULL_NORTH = createValueNoise(902);

/**
 * The floor of Hollin Sound: a channel of 12 to 14 m between a bank of 3 to 5 m in the south-west, a mud flat of 3 m in
 * the north-east, an outcrop in three steps of 1.2 m with steep sides, a rock that dries, a shore in the north with a
 * drying foreshore and a headland in the south. Invented; no place was copied.
 *
 * The large shapes are the same for every seed; undulations and the roughness of rock come from the seed.
 */
export function createFloor(seed: number): Floor {
  const broad = createValueNoise(seed * 4 + 1);
  const medium = createValueNoise(seed * 4 + 2);
  const rough = createValueNoise(seed * 4 + 3);
  const edge = createValueNoise(seed * 4 + 4);

  const depthM = (xM: number, yM: number): number => {
    const east = xM - ORIGIN_E_M;
    const north = yM - ORIGIN_N_M;
    // The large shapes are drawn on a plane that is pulled about, so that none is a textbook figure.
    const u = east + 15 * PULL_EAST(east / 115, north / 115);
    const v = north + 15 * PULL_NORTH(east / 95, north / 95);
    // Channel between flats of 6.4 m.
    const axis = channelAxisM(u);
    const across = (v - axis) / (80 + 10 * Math.sin(u / 170));
    const inChannel = Math.exp(-across * across);
    let depth = 6.4 + 6.7 * inChannel;
    // Bank.
    const bankU = (u + 150) / 92;
    const bankV = (v + 128) / 52;
    depth -= 3.4 * Math.exp(-bankU * bankU - bankV * bankV);
    // Mud flat.
    const mud = mudShare(u, v);
    if (mud > 0) depth += (3.1 + 0.002 * (u - 150) - depth) * mud;
    // Undulations, less on mud; waves of sand in the western channel, crests nearly north and south.
    const sand = 1 - 0.85 * mud;
    depth += sand * (0.1 * broad(east / 62, north / 62) + 0.035 * medium(east / 23, north / 23));
    if (u < 60) depth += 0.07 * inChannel * smoothStep((60 - u) / 120) * Math.sin((u + 0.12 * v) / 2.6);
    // Shores.
    depth = offShore(depth, shoreNorthM(u) - v);
    depth = offShore(depth, offHeadlandM(u, v));
    // Outcrop.
    depth -= outcropHeightM(east, north, edge, rough);
    // Rock awash.
    const awash2 = (east - ROCK_AWASH.eastM) ** 2 + (north - ROCK_AWASH.northM) ** 2;
    if (awash2 < 900) depth -= ROCK_AWASH.heightM * Math.exp(-awash2 / 72);
    return depth;
  };

  const gradientInto = (xM: number, yM: number, out: Float64Array): void => {
    out[0] = (depthM(xM + STEP_M, yM) - depthM(xM - STEP_M, yM)) / (2 * STEP_M);
    out[1] = (depthM(xM, yM + STEP_M) - depthM(xM, yM - STEP_M)) / (2 * STEP_M);
  };
  const gradient = new Float64Array(2);
  return {
    seed,
    depthM,
    gradientInto,
    slopeDeg(xM, yM) {
      gradientInto(xM, yM, gradient);
      return (Math.atan(Math.hypot(gradient[0]!, gradient[1]!)) * 180) / Math.PI;
    },
    bottom(xM, yM) {
      const east = xM - ORIGIN_E_M;
      const north = yM - ORIGIN_N_M;
      if (nearRock(east, north)) return 'rock';
      if (mudShare(east, north) > 0.5) return 'mud';
      return Math.abs(north - channelAxisM(east)) < 35 && east > 60 ? 'gravel' : 'sand';
    },
  };
}

/** Whether a place, from the origin, is on or beside rock, where the floor bends within an echo sounder's footprint. */
function nearRock(u: number, v: number): boolean {
  const { along, acrossward } = outcropAxes(u, v);
  const reach = (along / (OUTCROP.longM + 5)) ** 2 + (acrossward / (OUTCROP.shortM + 5)) ** 2;
  return reach < 1 || (u - ROCK_AWASH.eastM) ** 2 + (v - ROCK_AWASH.northM) ** 2 < 900;
}

function channelAxisM(u: number): number {
  return -40 + 36 * Math.sin(u / 230 + 0.4);
}

function mudShare(u: number, v: number): number {
  return smoothStep((u - 75) / 110) * smoothStep((v - 18) / 85);
}

function outcropAxes(u: number, v: number): { along: number; acrossward: number } {
  const du = u - OUTCROP.eastM;
  const dv = v - OUTCROP.northM;
  const cos = Math.cos(OUTCROP.turnRad);
  const sin = Math.sin(OUTCROP.turnRad);
  return { along: du * cos + dv * sin, acrossward: dv * cos - du * sin };
}

function outcropHeightM(u: number, v: number, edge: (x: number, y: number) => number, rough: (x: number, y: number) => number): number {
  const { along, acrossward } = outcropAxes(u, v);
  const long = along / OUTCROP.longM;
  const short = acrossward / OUTCROP.shortM;
  const reach2 = long * long + short * short;
  if (reach2 > 1.5) return 0;
  const inward = 1 - Math.sqrt(reach2) + 0.09 * edge(u / 10, v / 10);
  if (inward <= 0) return 0;
  // Three steps, each a third of the height, a sixth of the way in wide.
  const third = OUTCROP.heightM / 3;
  const steps = smoothStep((inward - 0.03) / 0.16) + smoothStep((inward - 0.32) / 0.16) + smoothStep((inward - 0.61) / 0.16);
  return third * steps + 0.07 * Math.min(1, inward * 8) * rough(u / 2.6, v / 2.6);
}

/** North of the high-water line in the north, at an east [m]. */
function shoreNorthM(u: number): number {
  return 205 + 20 * Math.sin(u / 115 + 0.6) + 8 * Math.sin(u / 43 + 2.1);
}

/** Distance off the headland in the south, near enough; negative on land [m]. */
function offHeadlandM(u: number, v: number): number {
  const du = (u - 40) / 125;
  const dv = (v + 300) / 58;
  return (Math.sqrt(du * du + dv * dv) - 1) * 58;
}

/**
 * Depth on the way from a shore into deeper water: from high water at the shore, steepest there, to the depth farther
 * out, of which 63 % is reached 55 m off [m].
 */
function offShore(deepM: number, offM: number): number {
  if (offM <= 0) return Math.max(-HIGH_WATER_M + 0.15 * offM, -HIGH_WATER_M - 9);
  return offM > 900 ? deepM : deepM - (deepM + HIGH_WATER_M) * Math.exp(-offM / 55);
}

function smoothStep(t: number): number {
  if (t <= 0) return 0;
  return t >= 1 ? 1 : t * t * (3 - 2 * t);
}
