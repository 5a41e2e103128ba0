import { boundsOfPolygons } from '../geo/ring.js';
import type { KeepOut } from '../geo/keep-out.js';
import { segmentPolygonDistanceM } from '../geo/segment.js';
import type { TideRule } from '../water/tidal-keepouts.js';
import { isOpenThroughout, isTidal } from '../water/tidal-keepouts.js';
import type { RehearsalColumns } from './rehearsal.js';

/** A stretch of a sortie over a keep-out by tide. */
export interface TidalVisit {
  readonly keepout: KeepOut;
  /** First row of the columns on it; UTC [s] of the row before it and of the row after it. */
  readonly row: number;
  readonly fromS: number;
  readonly toS: number;
  /** Water enough all the while. */
  readonly open: boolean;
}

/** When the boat is over keep-outs by tide, and whether they are open then. In the order of the keep-outs, then of time. */
export function tidalVisits(keepouts: readonly KeepOut[], columns: Pick<RehearsalColumns, 'n' | 'timeS' | 'xM' | 'yM'>, tide: TideRule): TidalVisit[] {
  const { n, timeS, xM, yM } = columns;
  const out: TidalVisit[] = [];
  for (const keepout of keepouts) {
    if (!isTidal(keepout)) continue;
    const box = boundsOfPolygons([keepout]);
    const meets = (i: number): boolean => {
      const [ax, ay, bx, by] = [xM[i - 1]!, yM[i - 1]!, xM[i]!, yM[i]!];
      if (Math.max(ax, bx) < box.westM || Math.min(ax, bx) > box.eastM || Math.max(ay, by) < box.southM || Math.min(ay, by) > box.northM) return false;
      return segmentPolygonDistanceM(keepout, ax, ay, bx, by) === 0;
    };
    for (let i = 1; i < n; i++) {
      if (!meets(i)) continue;
      const first = i;
      while (i + 1 < n && meets(i + 1)) i++;
      const [fromS, toS] = [timeS[first - 1]!, timeS[i]!];
      out.push({ keepout, row: first, fromS, toS, open: isOpenThroughout(keepout, tide, fromS, toS) });
    }
  }
  return out;
}

/** The keep-outs that still stand in the way: all but those the boat was over, which their visits tell of. */
export function unvisited(keepouts: readonly KeepOut[], visits: readonly TidalVisit[]): KeepOut[] {
  return visits.length === 0 ? keepouts.slice() : keepouts.filter((keepout) => !visits.some((visit) => visit.keepout === keepout));
}
