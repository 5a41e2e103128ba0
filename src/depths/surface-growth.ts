/** How far interpolation errs, as the data themselves show it. */
export interface InterpolationGrowth {
  /** Half the length of the gap that was bridged, for each group of triples, ascending [cells]. */
  readonly lagCells: Float64Array;
  /** 1.96 times the root mean square error of the triples, noise of the depths taken off, never falling with lag [m]. */
  readonly error95M: Float64Array;
  /** Triples behind each figure. */
  readonly triples: Uint32Array;
  /** Where there were too few triples: 95 % error for one cell of reach, from the slopes of the mesh [m]; else NaN. */
  readonly slopeError95M: number;
}

const NINETY_FIVE2 = 1.96 ** 2;
const MIN_TRIPLES = 30;
const CENTRES_PER_LAG = 4_000;
/** Directions are told apart by eighths of a turn: east, south-east, south, south-west. */
const SECTORS = 4;

/**
 * The error of bridging a gap, measured where there is no gap: for three measured cells a, m, b in a row at equal
 * distance h, the error |m - (a + b) / 2| is what linear interpolation would have made had m been missing.
 *
 * Triples are taken in all directions at growing distances, without any model of the floor. A floor is often rougher
 * across the lines than along them, and short triples exist only along: so each of four sectors of direction is compared
 * with the one seen most often, at the distances where both are seen, and the roughest counts, scaled to the distances
 * where it is not seen. The noise of the depths (1.5 times the variance of what differs between passes, in the mean square of
 * such triples) is taken off, because the surface adds the uncertainty of the data by itself. Where fewer than 30 triples exist at every
 * distance the error is taken from the slopes of the triangles, which errs on the large side.
 *
 * What it cannot see: relief between lines that no line runs over, such as a rock.
 *
 * @param depthM measured depths [rows * cols]; NaN elsewhere
 * @param measured cells with a depth, ascending
 * @param apartM the part of a depth's uncertainty that differs from pass to pass, 95 % [m]
 * @param maxLagCells longest half-gap of interest [cells]
 * @param slope95 the slope that 95 % of the mesh's sides stay below [m per cell], asked for only where it is needed
 */
export function interpolationGrowth(
  depthM: Float32Array,
  cols: number,
  rows: number,
  measured: Uint32Array,
  apartM: number,
  maxLagCells: number,
  slope95: () => number,
): InterpolationGrowth {
  const noise2 = Number.isFinite(apartM) ? 1.5 * apartM * apartM : 0;
  const longest = Math.min(maxLagCells, Math.floor((Math.max(cols, rows) - 1) / 2));
  const seen: { lag: number; sectors: Float64Array; triples: number }[] = [];
  for (const lag of lagSeries(longest)) {
    const found = tripleErrors(depthM, cols, rows, measured, lag);
    const sectors = Float64Array.from(found, (errors) => (errors.length < MIN_TRIPLES ? NaN : Math.sqrt(Math.max(0, (NINETY_FIVE2 * errors.reduce((sum, one) => sum + one * one, 0)) / errors.length - noise2))));
    if (sectors.some((error) => error === error)) seen.push({ lag, sectors, triples: found.reduce((n, errors) => n + errors.length, 0) });
  }
  const roughness = sectorRoughness(seen.map(({ sectors }) => sectors));
  let floor = 0;
  const error95M = seen.map(({ sectors }) => {
    const unit = Math.max(...sectors.map((error, s) => (error === error ? error / (roughness[s]! || 1) : 0)));
    for (let s = 0; s < SECTORS; s++) {
      const error = sectors[s]!;
      floor = Math.max(floor, error === error ? error : unit * roughness[s]!);
    }
    return floor;
  });
  return {
    lagCells: Float64Array.from(seen, ({ lag }) => lag),
    error95M: Float64Array.from(error95M),
    triples: Uint32Array.from(seen, ({ triples }) => triples),
    slopeError95M: seen.length === 0 ? slope95() : NaN,
  };
}

/** Each sector's error over that of the sector seen at most distances: the ratio of sums where both are seen; 0 where never. */
function sectorRoughness(seen: readonly Float64Array[]): Float64Array {
  const times = new Float64Array(SECTORS);
  for (const sectors of seen) sectors.forEach((error, s) => (times[s]! += error === error ? 1 : 0));
  const reference = times.indexOf(Math.max(...times));
  return times.map((_, s) => {
    let own = 0;
    let other = 0;
    for (const sectors of seen) {
      if (sectors[s] !== sectors[s] || sectors[reference] !== sectors[reference]) continue;
      own += sectors[s]!;
      other += sectors[reference]!;
    }
    return other > 0 ? own / other : s === reference ? 1 : 0;
  });
}

/**
 * The 95 % error of interpolation with a given reach (see `drawMesh`): between the lags by straight lines, from 0 at 0;
 * beyond the longest lag in proportion to the reach.
 */
export function growthAt(growth: InterpolationGrowth, reachCells: number): number {
  const { lagCells, error95M } = growth;
  const n = lagCells.length;
  if (n === 0) return growth.slopeError95M * reachCells;
  let k = 0;
  while (k < n && lagCells[k]! < reachCells) k++;
  if (k === n) return (error95M[n - 1]! * reachCells) / lagCells[n - 1]!;
  const lagLow = k === 0 ? 0 : lagCells[k - 1]!;
  const errorLow = k === 0 ? 0 : error95M[k - 1]!;
  return errorLow + ((error95M[k]! - errorLow) * (reachCells - lagLow)) / (lagCells[k]! - lagLow);
}

/** Every cell up to 48, since lines lie a whole spacing apart; then growing by a twelfth; up to and including the longest. */
function lagSeries(longest: number): number[] {
  const lags: number[] = [];
  for (let lag = 1; lag < longest; lag = Math.max(lag + 1, lag < 48 ? 0 : Math.round((lag * 13) / 12))) lags.push(lag);
  if (longest >= 1) lags.push(longest);
  return lags;
}

function tripleErrors(depthM: Float32Array, cols: number, rows: number, measured: Uint32Array, lag: number): number[][] {
  const directions = Math.min(24, 4 * lag);
  const found: number[][] = Array.from({ length: SECTORS }, () => []);
  const stride = Math.max(1, measured.length / CENTRES_PER_LAG);
  for (let k = 0; k < directions; k++) {
    const angle = (Math.PI * k) / directions;
    const across = Math.round(lag * Math.cos(angle));
    const down = Math.round(lag * Math.sin(angle));
    const errors = found[Math.round((angle / Math.PI) * SECTORS) % SECTORS]!;
    const reachCol = Math.abs(across);
    const step = down * cols + across;
    for (let at = 0; at < measured.length; at += stride) {
      const cell = measured[Math.floor(at)]!;
      const row = Math.floor(cell / cols);
      const col = cell - row * cols;
      if (col < reachCol || col + reachCol >= cols || row < down || row + down >= rows) continue;
      const error = Math.abs(depthM[cell]! - (depthM[cell - step]! + depthM[cell + step]!) / 2);
      if (error === error) errors.push(error);
    }
  }
  return found;
}
