import type { Side } from '../base/sonar.js';

/** 95 % of a normal error in the plane lies within so many sigma: sqrt(-2 ln 0.05). Source: IHO S-44 ed. 6.1.0 (2.45). */
export const SIGMA_TO_95_2D = 2.4477468306808161;

/** A place in the frame with its covariance [m, m2]. */
export interface Place {
  readonly xM: number;
  readonly yM: number;
  readonly xx: number;
  readonly xy: number;
  readonly yy: number;
}

export interface PlaceRequest {
  readonly side: Side;
  /** The sonar in the frame, and the direction it points, clockwise from grid north. */
  readonly sonarXM: number;
  readonly sonarYM: number;
  readonly gridHeadingDeg: number;
  /** One sigma of the sonar's place in one dimension, of its heading, and of the ground range and the place along the track read off. */
  readonly sonarSigmaM: number;
  readonly headingSigmaDeg: number;
  readonly groundM: number;
  readonly groundSigmaM: number;
  readonly alongSigmaM: number;
}

/**
 * Place of something seen to one side, with its covariance: across the track the sonar's error and the range's, along it the
 * sonar's, the heading's times the range, and what the pings tell.
 * Source: propagation, ISO/IEC Guide 98-3 (GUM, 2008), eq. 10.
 */
export function placeSighting(request: PlaceRequest): Place {
  const rad = (request.gridHeadingDeg * Math.PI) / 180;
  const turn = request.side === 'starboard' ? 1 : -1;
  const [outX, outY] = [turn * Math.cos(rad), -turn * Math.sin(rad)];
  const [alongX, alongY] = [Math.sin(rad), Math.cos(rad)];
  const across2 = request.sonarSigmaM ** 2 + request.groundSigmaM ** 2;
  const along2 = request.sonarSigmaM ** 2 + (request.groundM * (request.headingSigmaDeg * Math.PI) / 180) ** 2 + request.alongSigmaM ** 2;
  return {
    xM: request.sonarXM + request.groundM * outX,
    yM: request.sonarYM + request.groundM * outY,
    xx: across2 * outX * outX + along2 * alongX * alongX,
    xy: across2 * outX * outY + along2 * alongX * alongY,
    yy: across2 * outY * outY + along2 * alongY * alongY,
  };
}

/** One sigma along the longest and the shortest axis [m], and the longest's direction, clockwise from grid north, 0..180 [deg]. */
export interface Ellipse {
  readonly majorM: number;
  readonly minorM: number;
  readonly axisDeg: number;
}

/** Source: eigenvalues of a 2 x 2 symmetric matrix. */
export function ellipseOf({ xx, xy, yy }: Pick<Place, 'xx' | 'xy' | 'yy'>): Ellipse {
  const middle = (xx + yy) / 2;
  const half = Math.hypot((xx - yy) / 2, xy);
  const axis = (Math.atan2(2 * xy, yy - xx) * 90) / Math.PI;
  return { majorM: Math.sqrt(Math.max(0, middle + half)), minorM: Math.sqrt(Math.max(0, middle - half)), axisDeg: ((axis % 180) + 180) % 180 };
}

/** Squared distance of two places in sigmas of both, their errors independent; chi-square with two degrees of freedom. */
export function gateDistance2(a: Place, b: Place): number {
  const [xx, xy, yy] = [a.xx + b.xx, a.xy + b.xy, a.yy + b.yy];
  const det = xx * yy - xy * xy;
  const [dx, dy] = [b.xM - a.xM, b.yM - a.yM];
  return det > 0 ? (yy * dx * dx - 2 * xy * dx * dy + xx * dy * dy) / det : dx === 0 && dy === 0 ? 0 : Infinity;
}

/**
 * The best place from several of the same thing: each weighted by its inverse covariance. An error that all share, as of a
 * satellite fix over an hour, does not average out: it is added to what is left.
 *
 * @param sharedM one sigma in one dimension of what they share; taken out of each before they are weighed
 * @throws RangeError for no place
 * Source: least squares with a common part, e.g. Mikhail & Ackermann (1976), Observations and Least Squares.
 */
export function bestPlace(places: readonly Place[], sharedM: number): Place {
  if (places.length === 0) throw new RangeError('places: expected at least one');
  if (places.length === 1) return places[0]!;
  const shared = sharedM * sharedM;
  let [a, b, c, u, v] = [0, 0, 0, 0, 0];
  for (const place of places) {
    // What is shared cannot be all of it.
    const off = Math.min(shared, 0.99 * ellipseOf(place).minorM ** 2);
    const [xx, xy, yy] = [place.xx - off, place.xy, place.yy - off];
    const det = xx * yy - xy * xy;
    a += yy / det;
    b -= xy / det;
    c += xx / det;
    u += (yy * place.xM - xy * place.yM) / det;
    v += (xx * place.yM - xy * place.xM) / det;
  }
  const det = a * c - b * b;
  return { xM: (c * u - b * v) / det, yM: (a * v - b * u) / det, xx: c / det + shared, xy: -b / det, yy: a / det + shared };
}
