import { createValueNoise } from './value-noise.js';

/** What a side-scan looks at. The code is the place in this list. Ripples are sand with crests. */
export const SEA_BED_KINDS = ['sand', 'gravel', 'mud', 'rock', 'grass', 'ripples'] as const;
export type SeaBedKind = (typeof SEA_BED_KINDS)[number];

export const GRASS = SEA_BED_KINDS.indexOf('grass');
export const RIPPLES = SEA_BED_KINDS.indexOf('ripples');
const ROCK = SEA_BED_KINDS.indexOf('rock');

/** Crests of ripples: from one to the next, from trough to crest [m], and the way across them, counter-clockwise from grid east [rad]. */
export interface Ripple {
  readonly lengthM: number;
  readonly heightM: number;
  readonly acrossRad: number;
}

export const RIPPLE: Ripple = { lengthM: 1.1, heightM: 0.11, acrossRad: 0.35 };
/** Roughness of rock, one noise of two sizes, and the canopy of seagrass where it is thickest [m]. */
const ROCK_HEIGHT_M = 0.55;
const CANOPY_M = 0.4;

/** A floor with its small shapes, ready to be looked along. */
export interface SeaBed {
  /** Of the hard floor, below chart datum, with ripples and rock, without objects [m]; NaN outside the box. */
  depthM(xM: number, yM: number): number;
  /** Code of SEA_BED_KINDS; the nearest inside the box. */
  kind(xM: number, yM: number): number;
  /** Height of the seagrass above the floor, 0 where none grows [m]. */
  canopyM(xM: number, yM: number): number;
  /**
   * The floor along a ray: points from (xM, yM), n of them, a step (stepEastM, stepNorthM) apart. Outside the box the
   * depth is NaN. Fills the first n of each.
   */
  profileInto(xM: number, yM: number, stepEastM: number, stepNorthM: number, n: number, depthM: Float64Array, kind: Uint8Array, canopyM: Float64Array): void;
}

/** Limits in the frame [m]. */
export interface SeaBedBox {
  readonly westM: number;
  readonly southM: number;
  readonly eastM: number;
  readonly northM: number;
}

/**
 * The floor of a box on a grid, with ripples worked out at each place: straight between cells, which a ray along it takes
 * as facets. Rock stands up to 0.55 m out of the floor given, seagrass up to 0.4 m, both from the seed.
 *
 * @param cellM width of a cell [m]
 * @param depthAt the floor below chart datum, without small shapes
 * @param kindAt code of SEA_BED_KINDS
 * @throws RangeError where the box has no cells or more than 40 million
 */
export function createSeaBed(box: SeaBedBox, cellM: number, seed: number, depthAt: (xM: number, yM: number) => number, kindAt: (xM: number, yM: number) => number, ripple: Ripple = RIPPLE): SeaBed {
  const { westM, southM } = box;
  const cols = Math.ceil((box.eastM - westM) / cellM) + 1;
  const rows = Math.ceil((box.northM - southM) / cellM) + 1;
  if (!(cols >= 2 && rows >= 2 && cols * rows <= 40e6)) throw new RangeError(`box of ${cols} x ${rows} cells: expected 2 x 2 to 40 million in all`);
  const depth = new Float32Array(cols * rows);
  const kinds = new Uint8Array(cols * rows);
  const canopy = new Float32Array(cols * rows);
  const phase = new Float32Array(cols * rows);
  const large = createValueNoise(seed * 8 + 1);
  const small = createValueNoise(seed * 8 + 2);
  const bend = createValueNoise(seed * 8 + 3);
  const across = 2 * Math.PI / ripple.lengthM;
  const cos = Math.cos(ripple.acrossRad);
  const sin = Math.sin(ripple.acrossRad);
  for (let row = 0, i = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++, i++) {
      const x = col * cellM;
      const y = row * cellM;
      const kind = kindAt(westM + x, southM + y);
      kinds[i] = kind;
      depth[i] = depthAt(westM + x, southM + y);
      // Rock and grass grow from nothing at their edges only as their noise does: an edge is as sharp as in nature.
      if (kind === ROCK) depth[i]! -= ROCK_HEIGHT_M * Math.max(0, 0.35 + 0.75 * large(x / 3.1, y / 3.1) + 0.35 * small(x / 1.2, y / 1.2)) ** 1.5;
      else if (kind === GRASS) canopy[i] = CANOPY_M * Math.min(1, Math.max(0, 0.6 + 0.6 * large(x / 2.3, y / 2.3) + 0.3 * small(x / 0.8, y / 0.8)));
      else if (kind === RIPPLES) phase[i] = 2.2 * bend(x / 11, y / 11);
    }
  }

  const heightOfRipple = (x: number, y: number, bent: number): number => 0.5 * ripple.heightM * Math.sin(across * (x * cos + y * sin) + bent);
  const between = (values: Float32Array, at: number, fx: number, fy: number): number => {
    const low = values[at]! + (values[at + 1]! - values[at]!) * fx;
    const high = values[at + cols]! + (values[at + cols + 1]! - values[at + cols]!) * fx;
    return low + (high - low) * fy;
  };
  const oneDepth = new Float64Array(1);
  const oneKind = new Uint8Array(1);
  const oneCanopy = new Float64Array(1);
  const bed: SeaBed = {
    profileInto(xM, yM, stepEastM, stepNorthM, n, depthM, kind, canopyM) {
      for (let j = 0; j < n; j++) {
        const x = xM + j * stepEastM - westM;
        const y = yM + j * stepNorthM - southM;
        const u = x / cellM;
        const v = y / cellM;
        if (!(u >= 0 && v >= 0 && u < cols - 1 && v < rows - 1)) {
          depthM[j] = NaN;
          kind[j] = 0;
          canopyM[j] = 0;
          continue;
        }
        const col = Math.floor(u);
        const row = Math.floor(v);
        const at = row * cols + col;
        const fx = u - col;
        const fy = v - row;
        const nearest = at + (fx > 0.5 ? 1 : 0) + (fy > 0.5 ? cols : 0);
        const what = kinds[nearest]!;
        kind[j] = what;
        let down = between(depth, at, fx, fy);
        if (what === RIPPLES) down -= heightOfRipple(x, y, between(phase, at, fx, fy));
        depthM[j] = down;
        canopyM[j] = what === GRASS ? between(canopy, at, fx, fy) : 0;
      }
    },
    depthM(xM, yM) {
      bed.profileInto(xM, yM, 0, 0, 1, oneDepth, oneKind, oneCanopy);
      return oneDepth[0]!;
    },
    kind(xM, yM) {
      bed.profileInto(xM, yM, 0, 0, 1, oneDepth, oneKind, oneCanopy);
      return oneKind[0]!;
    },
    canopyM(xM, yM) {
      bed.profileInto(xM, yM, 0, 0, 1, oneDepth, oneKind, oneCanopy);
      return oneCanopy[0]!;
    },
  };
  return bed;
}
