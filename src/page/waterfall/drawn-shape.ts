import type { Side } from '../../base/sonar.js';

/** An object in the waterfall with its shadow: rows [rowStart, rowEnd) of the pings, slant ranges [m]; the shadow's end is NaN for none. */
export interface DrawnShape {
  readonly side: Side;
  readonly rowStart: number;
  readonly rowEnd: number;
  readonly slantStart: number;
  readonly slantEnd: number;
  readonly shadowEndSlant: number;
}
