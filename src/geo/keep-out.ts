import type { Polygon } from './shapes.js';

/** Where the boat must not go: always, or while there is too little water over it. A plain polygon is closed always. */
export interface KeepOut extends Polygon {
  /** The boat keeps at least this far from it, where that is more than from the others [m]. */
  readonly clearanceM?: number;
  /** Least depth on it below the datum, negative where it dries [m]: it is closed while level and depth are less than the boat needs. NaN: by tide, the depth not known, so closed always. */
  readonly leastDepthM?: number;
}

/** A keep-out as another polygon stands for it, with what is said of it. */
export function keepOutLike(polygon: Polygon, of: KeepOut): KeepOut {
  return {
    ...polygon,
    ...(of.clearanceM === undefined ? {} : { clearanceM: of.clearanceM }),
    ...(of.leastDepthM === undefined ? {} : { leastDepthM: of.leastDepthM }),
  };
}
