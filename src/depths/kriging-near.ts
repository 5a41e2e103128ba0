/** Points in square buckets, to find those nearest to a place. */
export interface NearIndex {
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  readonly westM: number;
  readonly southM: number;
  readonly widthM: number;
  readonly cols: number;
  readonly lines: number;
  /** Rows in bucket b are rows[start[b]] up to start[b + 1]; row by row from the south-west. */
  readonly start: Uint32Array;
  readonly rows: Uint32Array;
}

/** About this many points lie in a bucket. */
const IN_BUCKET = 3;

/** @param xM and yM finite; shape [n] */
export function nearIndex(xM: Float64Array, yM: Float64Array): NearIndex {
  const n = xM.length;
  let [westM, southM, eastM, northM] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < n; i++) {
    westM = Math.min(westM, xM[i]!);
    eastM = Math.max(eastM, xM[i]!);
    southM = Math.min(southM, yM[i]!);
    northM = Math.max(northM, yM[i]!);
  }
  if (n === 0) [westM, southM, eastM, northM] = [0, 0, 0, 0];
  const [width, height] = [eastM - westM, northM - southM];
  // Points in one line have no area: then as many buckets along it as points allow.
  const widthM = Math.max(Math.sqrt((width * height * IN_BUCKET) / Math.max(1, n)), (Math.max(width, height) * IN_BUCKET) / Math.max(1, n), 1e-6 * Math.max(width, height), 1e-9);
  const cols = Math.floor(width / widthM) + 1;
  const lines = Math.floor(height / widthM) + 1;
  const start = new Uint32Array(cols * lines + 1);
  const bucketOf = (i: number): number => Math.floor((yM[i]! - southM) / widthM) * cols + Math.floor((xM[i]! - westM) / widthM);
  for (let i = 0; i < n; i++) start[bucketOf(i) + 1]!++;
  for (let b = 0; b < cols * lines; b++) start[b + 1]! += start[b]!;
  const next = start.slice();
  const rows = new Uint32Array(n);
  for (let i = 0; i < n; i++) rows[next[bucketOf(i)]!++] = i;
  return { xM, yM, westM, southM, widthM, cols, lines, start, rows };
}

/** The nearest of a place, found anew into the same arrays. */
export interface NearSearch {
  /** Rows found, ascending: the first `find` returned of them count. */
  readonly found: Uint32Array;
  /** Finds those nearest to a place, without the row `but`; gives how many. */
  find(xM: number, yM: number, but?: number): number;
}

/**
 * A search for the nearest points about places, no further than a radius.
 *
 * @param most points at most. With `octants` an eighth of it, rounded up, from each of the eight directions, so that a line
 *   of close soundings on one side does not crowd out the other side
 * @param radiusM Infinity: however far
 */
export function nearSearch(index: NearIndex, most: number, radiusM: number, octants: boolean): NearSearch {
  const { xM: px, yM: py, westM, southM, widthM, cols, lines, start, rows } = index;
  const sectors = octants ? 8 : 1;
  const each = Math.min(octants ? Math.ceil(most / 8) : most, Math.max(1, px.length));
  const best = new Float64Array(sectors * each);
  const bestRow = new Uint32Array(sectors * each);
  const held = new Int32Array(sectors);
  const found = new Uint32Array(sectors * each);
  const radius2 = radiusM * radiusM;

  const offer = (i: number, x: number, y: number): void => {
    const dx = px[i]! - x;
    const dy = py[i]! - y;
    const distance2 = dx * dx + dy * dy;
    if (distance2 > radius2) return;
    const sector = octants ? (dx >= 0 ? 1 : 0) + (dy >= 0 ? 2 : 0) + (Math.abs(dx) >= Math.abs(dy) ? 4 : 0) : 0;
    const from = sector * each;
    let n = held[sector]!;
    if (n === each) {
      const last = from + n - 1;
      if (distance2 > best[last]! || (distance2 === best[last] && i > bestRow[last]!)) return;
      n--;
    } else held[sector] = n + 1;
    let at = from + n;
    while (at > from && (best[at - 1]! > distance2 || (best[at - 1] === distance2 && bestRow[at - 1]! > i))) {
      best[at] = best[at - 1]!;
      bestRow[at] = bestRow[at - 1]!;
      at--;
    }
    best[at] = distance2;
    bestRow[at] = i;
  };
  const enough = (bound2: number): boolean => {
    for (let sector = 0; sector < sectors; sector++) if (held[sector]! < each || best[sector * each + each - 1]! > bound2) return false;
    return true;
  };

  return {
    found,
    find(x, y, but = -1) {
      held.fill(0);
      const col = Math.floor((x - westM) / widthM);
      const line = Math.floor((y - southM) / widthM);
      const edge = Math.min(x - westM - col * widthM, (col + 1) * widthM - (x - westM), y - southM - line * widthM, (line + 1) * widthM - (y - southM));
      const first = Math.max(0, -col, col - cols + 1, -line, line - lines + 1);
      const last = Math.max(col, cols - 1 - col, line, lines - 1 - line);
      for (let ring = first; ring <= last; ring++) {
        // What is not in an earlier ring is at least this far.
        const bound = (ring - 1) * widthM + edge;
        if (bound > radiusM || (bound > 0 && enough(bound * bound))) break;
        for (let l = Math.max(0, line - ring); l <= Math.min(lines - 1, line + ring); l++) {
          const whole = l === line - ring || l === line + ring;
          if (whole) {
            const end = start[l * cols + Math.min(cols - 1, col + ring) + 1]!;
            for (let at = start[l * cols + Math.max(0, col - ring)]!; at < end; at++) if (rows[at] !== but) offer(rows[at]!, x, y);
            continue;
          }
          for (const c of ring === 0 ? [col] : [col - ring, col + ring]) {
            if (c < 0 || c >= cols) continue;
            const end = start[l * cols + c + 1]!;
            for (let at = start[l * cols + c]!; at < end; at++) if (rows[at] !== but) offer(rows[at]!, x, y);
          }
        }
      }
      let n = 0;
      for (let sector = 0; sector < sectors; sector++) {
        for (let k = 0; k < held[sector]!; k++) {
          const row = bestRow[sector * each + k]!;
          let at = n++;
          while (at > 0 && found[at - 1]! > row) {
            found[at] = found[at - 1]!;
            at--;
          }
          found[at] = row;
        }
      }
      return n;
    },
  };
}
