import { FormatError } from '../base/errors.js';
import { geodesicLengthM } from '../geo/geodesic.js';
import type { LonLatPolygon, LonLatRing } from '../geo/lon-lat.js';

/** What a file said the area is. */
export interface AreaFile {
  readonly kind: 'geojson' | 'kml' | 'gpx';
  /** In the order of the file; rings as they run there, without a repeated last corner. Not checked for crossings. */
  readonly polygons: readonly LonLatPolygon[];
  /** What the file says of each polygon: GeoJSON's properties; left out where its format has none we read. */
  readonly properties?: readonly Readonly<Record<string, unknown>>[];
  /** What was taken otherwise than it stood, or left out, in plain words. */
  readonly notes: readonly string[];
}

/** More corners than this are not an area somebody drew. */
const MOST_CORNERS = 200_000;
/** Ends nearer than this meet [m]: a walked boundary does not close to the centimetre. */
const ENDS_MEET_M = 1;

/** Collects the rings of one file, with its notes. */
export interface RingCollector {
  /** A ring that its format says is closed: [lon, lat, ...]; where is e.g. `polygon 2, hole 1`. */
  closedRing(lonLat: readonly number[], where: string, line?: number): LonLatRing;
  /** A line that serves as a boundary. */
  boundary(lonLat: readonly number[], where: string, line?: number): LonLatRing;
  note(text: string): void;
  /** Counts something left out, told once at the end. */
  leftOut(what: string): void;
  finish(kind: AreaFile['kind'], polygons: readonly LonLatPolygon[]): AreaFile;
}

/** A collector for a file of this name. */
export function createRingCollector(name: string): RingCollector {
  const notes: string[] = [];
  const left = new Map<string, number>();
  let corners = 0;
  const place = (where: string, line: number | undefined): string => `${name}${line === undefined ? '' : ` line ${line}`}: ${where}`;
  const check = (lonLat: readonly number[], where: string, line: number | undefined): void => {
    corners += lonLat.length / 2;
    if (corners > MOST_CORNERS) {
      throw new FormatError('too-many-corners', name, `${place(where, line)}: too many corners: expected at most ${MOST_CORNERS} in the file, found more; simplify the outline`, {
        expected: `at most ${MOST_CORNERS} corners`,
      });
    }
    for (let i = 0; i < lonLat.length; i += 2) {
      const lonDeg = lonLat[i]!;
      const latDeg = lonLat[i + 1]!;
      if (latDeg >= -90 && latDeg <= 90 && lonDeg >= -180 && lonDeg <= 180) continue;
      const found = `longitude ${lonDeg}, latitude ${latDeg}`;
      throw new FormatError(
        'outside-world',
        name,
        `${place(where, line)}, corner ${i / 2 + 1}: not on the world: expected longitude -180 to 180 and latitude -90 to 90, found ${found}; see whether the two are swapped, or whether they are metres`,
        { expected: 'longitude -180 to 180, latitude -90 to 90', found, ...(line === undefined ? {} : { line }) },
      );
    }
  };
  const enough = (ring: number[], where: string, line: number | undefined): LonLatRing => {
    if (ring.length < 6) {
      throw new FormatError('too-few-corners', name, `${place(where, line)}: too few corners: expected at least 3 different ones, found ${ring.length / 2}; add corners or take it out`, {
        expected: 'at least 3 corners',
        found: String(ring.length / 2),
        ...(line === undefined ? {} : { line }),
      });
    }
    return Float64Array.from(ring);
  };
  const isClosed = (lonLat: readonly number[]): boolean => lonLat.length >= 4 && lonLat[0] === lonLat[lonLat.length - 2] && lonLat[1] === lonLat[lonLat.length - 1];
  return {
    closedRing(lonLat, where, line) {
      check(lonLat, where, line);
      if (isClosed(lonLat)) return enough(lonLat.slice(0, -2), where, line);
      if (lonLat.length >= 6) notes.push(`${where}: its last corner does not repeat the first; closed`);
      return enough(lonLat.slice(), where, line);
    },
    boundary(lonLat, where, line) {
      check(lonLat, where, line);
      if (isClosed(lonLat)) return enough(lonLat.slice(0, -2), where, line);
      const n = lonLat.length;
      const gapM = n >= 4 ? geodesicLengthM(lonLat[1]!, lonLat[0]!, lonLat[n - 1]!, lonLat[n - 2]!) : NaN;
      const ring = enough(gapM < ENDS_MEET_M && n >= 8 ? lonLat.slice(0, -2) : lonLat.slice(), where, line);
      if (!(gapM < ENDS_MEET_M)) notes.push(`${where}: its ends are ${gapM.toFixed(gapM < 10 ? 1 : 0)} m apart; closed with a straight edge`);
      return ring;
    },
    note: (text) => {
      notes.push(text);
    },
    leftOut: (what) => {
      left.set(what, (left.get(what) ?? 0) + 1);
    },
    finish(kind, polygons) {
      const omitted = [...left].map(([what, count]) => `${count} ${what}${count === 1 ? '' : 's'}`);
      if (polygons.length === 0) {
        const found = omitted.length > 0 ? omitted.join(', ') : 'nothing drawn';
        throw new FormatError('no-area', name, `${name}: holds no area: expected a polygon or a closed line, found ${found}; draw the area as a polygon`, {
          expected: 'a polygon or a closed line',
          found,
        });
      }
      if (omitted.length > 0) notes.push(`left out: ${omitted.join(', ')}`);
      return { kind, polygons, notes };
    },
  };
}
