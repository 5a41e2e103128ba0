/** Shapes of things that lie on the floor. `ring`: a frame 0.2 m thick around nothing. `cross`: a shank and a stock, as of an anchor. */
export const OBJECT_SHAPES = ['box', 'cylinder', 'dome', 'ring', 'cross'] as const;
export type ObjectShape = (typeof OBJECT_SHAPES)[number];

/** A thing on the floor, planted or natural. */
export interface SeaBedObject {
  readonly name: string;
  readonly shape: ObjectShape;
  /** Its middle in the frame [m]. */
  readonly xM: number;
  readonly yM: number;
  /** Along its heading, across it, and above the floor at its highest [m]. */
  readonly lengthM: number;
  readonly widthM: number;
  readonly heightM: number;
  /** Of its length, clockwise from grid north [deg]. */
  readonly headingDeg: number;
  /** How much stronger than rock it answers [dB]. */
  readonly strengthDb: number;
  /** A boulder that lies there by itself, not something lost. */
  readonly natural: boolean;
}

const THICK_M = 0.2;

/**
 * Height of an object above the floor at a place in the frame [m]; 0 beside it.
 * box, ring, cross: the full height with upright sides; cylinder: a round bar lying along its length; dome: half an ellipsoid.
 */
export function objectHeightM(object: SeaBedObject, xM: number, yM: number): number {
  const heading = (object.headingDeg * Math.PI) / 180;
  const sin = Math.sin(heading);
  const cos = Math.cos(heading);
  const dx = xM - object.xM;
  const dy = yM - object.yM;
  const along = Math.abs(dx * sin + dy * cos);
  const across = Math.abs(dx * cos - dy * sin);
  const halfLength = 0.5 * object.lengthM;
  const halfWidth = 0.5 * object.widthM;
  if (along > halfLength || across > halfWidth) return 0;
  switch (object.shape) {
    case 'box':
      return object.heightM;
    case 'cylinder':
      return object.heightM * Math.sqrt(1 - (across / halfWidth) ** 2);
    case 'dome': {
      const out = (along / halfLength) ** 2 + (across / halfWidth) ** 2;
      return out < 1 ? object.heightM * Math.sqrt(1 - out) : 0;
    }
    case 'ring':
      return halfLength - along < THICK_M || halfWidth - across < THICK_M ? object.heightM : 0;
    case 'cross':
      return across < 0.5 * THICK_M || (dx * sin + dy * cos > halfLength - 2 * THICK_M) ? object.heightM : 0;
  }
}

/** Radius of the circle around an object's middle that holds it [m]. */
export function objectReachM(object: SeaBedObject): number {
  return 0.5 * Math.hypot(object.lengthM, object.widthM);
}
