/** Values at places, columns of one length [n]. */
export interface PlacedValues {
  /** Place in the survey frame [m]. */
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** Finite. */
  readonly value: Float64Array;
}

/** How the sample variogram is taken. */
export interface SampleVariogramOptions {
  /** Pairs further apart are not looked at [m]. */
  readonly maxLagM: number;
  /** Width of a lag class [m]. */
  readonly classWidthM: number;
  /** `classic`: half the mean squared difference. `robust`: from the fourth root of it, which spikes move less. */
  readonly estimator?: 'classic' | 'robust';
  /** Only pairs that lie within `toleranceDeg` of this azimuth or its opposite, clockwise from north. All directions unless given. */
  readonly azimuthDeg?: number;
  /** 22.5 unless given. */
  readonly toleranceDeg?: number;
  /** The most pairs looked at; more are thinned (see `sampleVariogram`). 4 million unless given. */
  readonly mostPairs?: number;
}

/** Half the variance of differences by distance; classes without pairs are left out. Columns of one length, lag ascending. */
export interface SampleVariogram {
  /** Mean distance of the pairs in the class [m]. */
  readonly lagM: Float64Array;
  /** Semivariance, in the square of the value's unit. */
  readonly gamma: Float64Array;
  /** Pairs in the class. */
  readonly pairs: Float64Array;
}

/** A point is compared with about this many others in each thinning. */
const NEIGHBOURS = 300;

/**
 * The sample variogram: how unlike two values are, by how far apart they are.
 *
 * Class k holds the pairs with k w < distance <= (k + 1) w; pairs at one place belong to the first.
 * - classic: gamma = sum d^2 / 2N
 * - robust: 2 gamma = (sum |d|^0.5 / N)^4 / (0.457 + 0.494 / N)
 *
 * **Many points.** Where all pairs would be more than `mostPairs`, short lags are taken of all points about some of them,
 * and each doubling of the lag of a quarter as many points, so that every lag has pairs of its own. Which points is
 * decided by the row alone: the same points in the same order give the same bytes.
 *
 * @returns empty for fewer than two points
 * @throws RangeError for columns of unequal length, lags that are not positive, a tolerance outside 0..90
 *
 * Source: Matheron (1962), classic; Cressie & Hawkins (1980), Mathematical Geology 12(2), 115-125, robust. Held against
 * gstat 2.1-0 on its published example (meuse, log zinc).
 */
export function sampleVariogram(points: PlacedValues, options: SampleVariogramOptions): SampleVariogram {
  const { maxLagM, classWidthM, azimuthDeg, estimator = 'classic', toleranceDeg = 22.5, mostPairs = 4e6 } = options;
  const { xM, yM, value } = points;
  const n = xM.length;
  if (yM.length !== n || value.length !== n) throw new RangeError(`points: ${n} x, ${yM.length} y and ${value.length} values: expected the same number`);
  if (!(classWidthM > 0 && maxLagM >= classWidthM && maxLagM < Infinity)) throw new RangeError(`maxLagM ${maxLagM} and classWidthM ${classWidthM}: expected 0 < classWidthM <= maxLagM`);
  if (!(toleranceDeg >= 0 && toleranceDeg <= 90)) throw new RangeError(`toleranceDeg ${toleranceDeg}: expected 0 to 90`);

  const classes = Math.ceil(maxLagM / classWidthM - 1e-9);
  const sums: Sums = { pairs: new Float64Array(classes), lag: new Float64Array(classes), difference: new Float64Array(classes) };
  const azimuthRad = azimuthDeg === undefined ? NaN : (azimuthDeg * Math.PI) / 180;
  const pairing: Pairing = {
    classWidthM,
    robust: estimator === 'robust',
    east: Math.sin(azimuthRad),
    north: Math.cos(azimuthRad),
    // A hair wider, so that a pair on the edge of the sector is not lost to rounding.
    least: azimuthDeg === undefined ? -1 : Math.cos((toleranceDeg * Math.PI) / 180) - 1e-12,
  };

  if ((n * (n - 1)) / 2 <= mostPairs) {
    addPairs(points, Uint32Array.from({ length: n }, (_, i) => i), n, 0, maxLagM, pairing, sums);
  } else {
    const order = shuffledRows(n);
    const area = Math.max(1e-9, span(xM) * span(yM));
    const levels: { fromM: number; toM: number; points: number }[] = [];
    let reachM = Math.max(classWidthM, Math.sqrt((NEIGHBOURS * area) / (Math.PI * n)));
    for (let fromM = 0, taken = n; fromM < maxLagM; taken = Math.max(2, Math.floor(taken / 4)), reachM *= 2) {
      // Whole classes only, lest a class be a mixture of thinnings that differ in weight.
      const toM = Math.min(maxLagM, Math.ceil(reachM / classWidthM) * classWidthM);
      levels.push({ fromM, toM, points: taken });
      fromM = toM;
    }
    const centres = Math.max(100, Math.floor(mostPairs / (levels.length * NEIGHBOURS)));
    for (const level of levels) addPairs(points, order.subarray(0, level.points), centres, level.fromM, level.toM, pairing, sums);
  }

  const kept = [...sums.pairs.keys()].filter((k) => sums.pairs[k]! > 0);
  return {
    lagM: Float64Array.from(kept, (k) => sums.lag[k]! / sums.pairs[k]!),
    gamma: Float64Array.from(kept, (k) => semivariance(sums.difference[k]!, sums.pairs[k]!, pairing.robust)),
    pairs: Float64Array.from(kept, (k) => sums.pairs[k]!),
  };
}

interface Sums {
  readonly pairs: Float64Array;
  readonly lag: Float64Array;
  readonly difference: Float64Array;
}

interface Pairing {
  readonly classWidthM: number;
  readonly robust: boolean;
  readonly east: number;
  readonly north: number;
  /** Least cosine of the angle to the azimuth; -1: any. */
  readonly least: number;
}

function semivariance(sum: number, pairs: number, robust: boolean): number {
  return robust ? (sum / pairs) ** 4 / (0.457 + 0.494 / pairs) / 2 : sum / pairs / 2;
}

/** Pairs of the first `centres` rows with every row after them, from and up to a distance. Rows in buckets a reach wide. */
function addPairs({ xM, yM, value }: PlacedValues, rows: Uint32Array, centres: number, fromM: number, toM: number, pairing: Pairing, sums: Sums): void {
  const { classWidthM, robust, east, north, least } = pairing;
  const count = rows.length;
  let [west, south, cols, lines] = [Infinity, Infinity, 0, 0];
  for (const row of rows) {
    west = Math.min(west, xM[row]!);
    south = Math.min(south, yM[row]!);
  }
  // Buckets no finer than would be two for each point: a long thin survey has many empty ones.
  const widthM = Math.max(toM / 2, Math.sqrt((span(xM) * span(yM)) / (2 * count + 1)), Math.max(span(xM), span(yM)) / 4096);
  for (const row of rows) {
    cols = Math.max(cols, Math.floor((xM[row]! - west) / widthM) + 1);
    lines = Math.max(lines, Math.floor((yM[row]! - south) / widthM) + 1);
  }
  const start = new Uint32Array(cols * lines + 1);
  const bucketOf = (row: number): number => Math.floor((yM[row]! - south) / widthM) * cols + Math.floor((xM[row]! - west) / widthM);
  for (const row of rows) start[bucketOf(row) + 1]!++;
  for (let k = 0; k < cols * lines; k++) start[k + 1]! += start[k]!;
  const next = start.slice();
  const place = new Uint32Array(count);
  for (let at = 0; at < count; at++) place[next[bucketOf(rows[at]!)]!++] = at;

  const reach = Math.ceil(toM / widthM);
  for (let a = 0; a < Math.min(centres, count); a++) {
    const i = rows[a]!;
    const [x, y, v] = [xM[i]!, yM[i]!, value[i]!];
    const col = Math.floor((x - west) / widthM);
    const line = Math.floor((y - south) / widthM);
    for (let l = Math.max(0, line - reach); l <= Math.min(lines - 1, line + reach); l++) {
      const end = start[l * cols + Math.min(cols - 1, col + reach) + 1]!;
      for (let at = start[l * cols + Math.max(0, col - reach)]!; at < end; at++) {
        const b = place[at]!;
        if (b <= a) continue;
        const j = rows[b]!;
        const dx = xM[j]! - x;
        const dy = yM[j]! - y;
        const lag = Math.sqrt(dx * dx + dy * dy);
        if (lag > toM || (lag <= fromM && fromM > 0)) continue;
        if (least > -1 && Math.abs(dx * east + dy * north) < least * lag) continue;
        const k = lag === 0 ? 0 : Math.ceil(lag / classWidthM) - 1;
        const difference = Math.abs(value[j]! - v);
        sums.pairs[k]!++;
        sums.lag[k]! += lag;
        sums.difference[k]! += robust ? Math.sqrt(difference) : difference * difference;
      }
    }
  }
}

function span(column: Float64Array): number {
  let [low, high] = [Infinity, -Infinity];
  for (const one of column) {
    if (one < low) low = one;
    if (one > high) high = one;
  }
  return high - low;
}

/** Rows in an order without pattern that depends on their number alone: a shuffle by a linear congruential generator. */
function shuffledRows(n: number): Uint32Array {
  const order = Uint32Array.from({ length: n }, (_, i) => i);
  let state = 0x2545f491;
  for (let i = n - 1; i > 0; i--) {
    // Source: Numerical Recipes (1992), section 7.1, "quick and dirty" generator.
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    const j = Math.floor((state / 2 ** 32) * (i + 1));
    const kept = order[i]!;
    order[i] = order[j]!;
    order[j] = kept;
  }
  return order;
}
