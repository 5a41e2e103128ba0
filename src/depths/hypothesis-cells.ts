/** A cell is in doubt where another depth has at least this share of the soundings of the one that stands. */
export const DOUBTFUL_SHARE = 0.5;

/** Columns of derived/hypotheses.parquet: one row a depth, cell by cell. Shape of every column: [n]. */
export interface HypothesisColumns {
  readonly latDeg: ArrayLike<number>;
  readonly lonDeg: ArrayLike<number>;
  readonly xM: ArrayLike<number>;
  readonly yM: ArrayLike<number>;
  readonly row: ArrayLike<number>;
  readonly col: ArrayLike<number>;
  readonly depthM: ArrayLike<number>;
  /** 95 %. */
  readonly uncertaintyM: ArrayLike<number>;
  readonly soundings: ArrayLike<number>;
  readonly stands: ArrayLike<number>;
  readonly byHand: ArrayLike<number>;
  readonly strength: ArrayLike<number>;
}

/** One of a cell's depths. */
export interface CellDepth {
  /** Below the datum, positive down [m]; its uncertainty, 95 % [m]; how many soundings speak for it. */
  readonly depthM: number;
  readonly uncertaintyM: number;
  readonly soundings: number;
  /** Whether it is the one drawn. */
  readonly stands: boolean;
}

/** A cell of the surface that has several depths. */
export interface HypothesisCell {
  readonly row: number;
  readonly col: number;
  /** Centre of the cell. */
  readonly latDeg: number;
  readonly lonDeg: number;
  readonly xM: number;
  readonly yM: number;
  /** 1 - n2 / n1: n1 the soundings of the depth drawn, n2 those of the largest other; 0 at least. */
  readonly strength: number;
  readonly byHand: boolean;
  /** Another depth has at least half as many soundings as the one drawn, and none was chosen by hand. */
  readonly doubtful: boolean;
  /** From the shoalest down. */
  readonly depths: readonly CellDepth[];
}

/** Whether a cell of that strength is in doubt. */
export function isDoubtful(strength: number, byHand: boolean): boolean {
  return !byHand && strength <= 1 - DOUBTFUL_SHARE;
}

/** The cells with several depths, those in doubt first, the weakest of them before the others. */
export function hypothesisCells(columns: HypothesisColumns): HypothesisCell[] {
  const cells: HypothesisCell[] = [];
  const n = columns.row.length;
  for (let start = 0; start < n; ) {
    let end = start + 1;
    while (end < n && columns.row[end] === columns.row[start] && columns.col[end] === columns.col[start]) end++;
    const depths: CellDepth[] = [];
    for (let k = start; k < end; k++) depths.push({ depthM: columns.depthM[k]!, uncertaintyM: columns.uncertaintyM[k]!, soundings: columns.soundings[k]!, stands: columns.stands[k] === 1 });
    depths.sort((a, b) => a.depthM - b.depthM);
    const strength = columns.strength[start]!;
    const byHand = columns.byHand[start] === 1;
    cells.push({
      row: columns.row[start]!,
      col: columns.col[start]!,
      latDeg: columns.latDeg[start]!,
      lonDeg: columns.lonDeg[start]!,
      xM: columns.xM[start]!,
      yM: columns.yM[start]!,
      strength,
      byHand,
      doubtful: isDoubtful(strength, byHand),
      depths,
    });
    start = end;
  }
  return cells.sort((a, b) => Number(b.doubtful) - Number(a.doubtful) || a.strength - b.strength || a.row - b.row || a.col - b.col);
}

/** The cell nearest to a place, no further off than a reach; null for none. */
export function nearestCell(cells: readonly HypothesisCell[], xM: number, yM: number, reachM: number): HypothesisCell | null {
  let nearest: HypothesisCell | null = null;
  let leastM = reachM;
  for (const cell of cells) {
    const awayM = Math.hypot(cell.xM - xM, cell.yM - yM);
    if (awayM <= leastM) [nearest, leastM] = [cell, awayM];
  }
  return nearest;
}
