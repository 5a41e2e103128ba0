import type { Hazards } from './hazards.js';
import type { RehearsalColumns } from './rehearsal.js';
import type { SeaCache } from './sea-cache.js';

/** Nodes on the track this far apart [s]. */
const NODE_S = 40;

/** The track thinned to nodes: every 40 s and where legs change. Shape of every column: [n]. */
export interface BackTrack {
  /** Row of the rehearsal. */
  readonly row: Int32Array;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** Way along the track from its start [m]. */
  readonly wayM: Float64Array;
  readonly depthLessDraftM: Float64Array;
  /** Last node at or before a row. */
  nodeBefore(row: number): number;
}

export function backTrack(columns: RehearsalColumns, rowWayM: Float64Array, sea: SeaCache): BackTrack {
  const rows: number[] = [];
  for (let i = 0; i < columns.n; i++) {
    const last = rows[rows.length - 1];
    if (last === undefined || columns.timeS[i]! - columns.timeS[last]! >= NODE_S || (columns.legIndex[i] !== columns.legIndex[i - 1] && i > last)) rows.push(i);
  }
  const row = Int32Array.from(rows);
  const before = new Int32Array(columns.n);
  for (let i = 0, node = 0; i < columns.n; i++) {
    while (node + 1 < row.length && row[node + 1]! <= i) node++;
    before[i] = node;
  }
  const xM = Float64Array.from(rows, (i) => columns.xM[i]!);
  const yM = Float64Array.from(rows, (i) => columns.yM[i]!);
  return { row, xM, yM, wayM: Float64Array.from(rows, (i) => rowWayM[i]!), depthLessDraftM: Float64Array.from(rows, (_, k) => sea.depthLessDraftM(xM[k]!, yM[k]!)), nodeBefore: (i) => before[i]! };
}

/** Way along the track to each row, the chords between rows summed. Shape: [n]. */
export function wayAlong(columns: RehearsalColumns): Float64Array {
  const way = new Float64Array(columns.n);
  for (let i = 1; i < columns.n; i++) way[i] = way[i - 1]! + Math.hypot(columns.xM[i]! - columns.xM[i - 1]!, columns.yM[i]! - columns.yM[i - 1]!);
  return way;
}

/** First row from each row on that lies in a hazard or has no water; n where none does. Shape: [n]. */
export function nextBadRow(columns: RehearsalColumns, hazards: Hazards): { readonly row: Int32Array; readonly land: Uint8Array } {
  const row = new Int32Array(columns.n);
  const land = new Uint8Array(columns.n);
  let next = columns.n;
  for (let i = columns.n - 1; i >= 0; i--) {
    const kind = hazards.none ? null : hazards.at(columns.xM[i]!, columns.yM[i]!);
    if (kind !== null || columns.waterUnderM[i]! < 0) {
      next = i;
      land[i] = kind === 'keep-out' ? 0 : 1;
    }
    row[i] = next;
  }
  return { row, land };
}
