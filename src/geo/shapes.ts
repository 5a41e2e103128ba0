/** A closed ring in the survey frame: vertices [x0, y0, x1, y1, ...] without a repeated last one [m]. */
export type Ring = Float64Array;

/** A polygon with holes: the outer ring counter-clockwise, holes clockwise. */
export interface Polygon {
  readonly outer: Ring;
  readonly holes: readonly Ring[];
}

/** A line of vertices [x0, y0, x1, y1, ...] in the survey frame [m]. */
export type Polyline = Float64Array;
