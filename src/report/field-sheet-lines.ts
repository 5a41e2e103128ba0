import { convergenceDeg, gridBearingDeg, wrap360Deg } from '../geo/bearing.js';
import { geodesicLengthM } from '../geo/geodesic.js';
import { lineName } from '../lines/plan-output.js';
import type { SheetClock } from './field-sheet-clock.js';
import type { FieldSheetInput } from './field-sheet-input.js';
import { formatLatitude, formatLongitude, formatNumber, NO_VALUE } from './figures.js';

/** The line table: rows of texts, one a line, in the order they are run. */
export interface LineTable {
  /** Degrees all positions share, for the head of the columns, e.g. `46° N 029° W`; empty where they share none. */
  readonly degrees: string;
  /** Run, line, sortie, from, to, heading, length, planned local, planned UTC. */
  readonly rows: readonly (readonly string[])[];
}

/** The line table of a sheet. Headings true, lengths on the ellipsoid, positions WGS 84 in degrees and minutes. */
export function lineTable(input: FieldSheetInput, clock: SheetClock): LineTable {
  const { frame } = input;
  const kinds = new Map(input.lines.map((line) => [line.number, lineName(line)]));
  const lines = input.sorties.flatMap(({ sortie, rehearsal }) =>
    sortie.legs.flatMap((leg, index) => {
      const { path } = leg;
      if (leg.kind !== 'line' || path.length < 4) return [];
      const [ax, ay, bx, by] = [path[0] as number, path[1] as number, path[path.length - 2] as number, path[path.length - 1] as number];
      const [from, to] = [frame.toGeographic(ax, ay), frame.toGeographic(bx, by)];
      return [{
        name: leg.line === null ? NO_VALUE : (kinds.get(leg.line) ?? String(leg.line)),
        sortie: sortie.number,
        from,
        to,
        headingDeg: wrap360Deg(gridBearingDeg(ax, ay, bx, by) + convergenceDeg(frame, (ax + bx) / 2, (ay + by) / 2)),
        lengthM: geodesicLengthM(from[0], from[1], to[0], to[1]),
        startS: rehearsal.legs[index]?.startS ?? NaN,
      }];
    }),
  );
  /* "046°02.200′ N" in its parts, so that degrees shared by all can stand in the head. */
  const parts = (text: string): readonly [string, string] => {
    const [degrees = '', rest = ''] = text.split('°');
    return [`${degrees}° ${rest.slice(-1)}`, rest.slice(0, -3)];
  };
  const places = lines.flatMap(({ from, to }) => [from, to]).map(([latDeg, lonDeg]) => [parts(formatLatitude(latDeg)), parts(formatLongitude(lonDeg))] as const);
  const shared = places.length > 0 && places.every(([lat, lon]) => lat[0] === places[0]?.[0][0] && lon[0] === places[0]?.[1][0]);
  const place = ([latDeg, lonDeg]: readonly [number, number]): string =>
    shared ? `${parts(formatLatitude(latDeg))[1]}′ ${parts(formatLongitude(lonDeg))[1]}′` : `${formatLatitude(latDeg)} ${formatLongitude(lonDeg)}`;
  return {
    degrees: shared ? `${places[0]?.[0][0]} ${places[0]?.[1][0]}` : '',
    rows: lines.map(({ name, sortie, from, to, headingDeg, lengthM, startS }, i) => [
      String(i + 1), name, String(sortie), place(from), place(to),
      `${String(Math.round(headingDeg) % 360).padStart(3, '0')}°`, formatNumber(lengthM),
      clock.local(startS), clock.utc(startS),
    ]),
  };
}
