import { placeIn, readTextIfThere } from './folder.js';
import { FINDS_PLACES } from './finds-places.js';
import { convergenceDeg } from '../geo/bearing.js';
import type { GeoFeature } from '../geo/features.js';
import type { Frame } from '../geo/frame.js';
import type { Find } from '../finds/find.js';
import { ellipseOf, SIGMA_TO_95_2D } from '../finds/place.js';
import type { Sighting } from '../finds/sighting.js';
import type { Column } from '../formats/parquet-columns.js';

/** A sighting with its picture, a place in the survey folder; null where none could be made. */
export interface ShownSighting extends Sighting {
  readonly chip: string | null;
}

/** derived/finds/finds.json. A number that is not known is null in the file and NaN here. */
export interface FindsFile {
  readonly format: 'tallow-finds';
  readonly version: 1;
  /** In the order of the list: confirmed, proposed by falling confidence, rejected. */
  readonly finds: readonly (Find & { readonly number: number; readonly latDeg: number; readonly lonDeg: number })[];
  readonly sightings: readonly ShownSighting[];
  /** Decisions whose sighting is not there any more, in words. */
  readonly lost: readonly string[];
}

/** Numbers that are not known are left null; millimetres and thousandths are enough. */
export function findsText(file: FindsFile): string {
  return `${JSON.stringify(file, (_key, value: unknown) => (typeof value === 'number' ? (Number.isFinite(value) ? (Number.isInteger(value) ? value : Number(value.toPrecision(12))) : null) : value), 1)}\n`;
}

/** Names of the numbers that may be null in the file. */
const MAY_BE_NULL = new Set(['value', 'sigma', 'shadowEndM', 'score', 'falsePerHa']);

/** The finds as they stand; null where there are none. */
export async function readFinds(folder: string): Promise<FindsFile | null> {
  const text = await readTextIfThere(placeIn(folder, FINDS_PLACES.finds));
  return text === null ? null : (JSON.parse(text, (key, value: unknown) => (value === null && MAY_BE_NULL.has(key) ? NaN : value)) as FindsFile);
}

/** Columns of derived/finds/sightings.parquet; uncertainties are one sigma. */
export function sightingColumns(sightings: readonly Sighting[], frame: Frame, logOf: (sha16: string) => number): Column[] {
  const number = (of: (one: Sighting) => number): Float64Array => Float64Array.from(sightings, of);
  const places = sightings.map(({ place }) => frame.toGeographic(place.xM, place.yM));
  const ellipses = sightings.map(({ place }) => ellipseOf(place));
  return [
    { name: 'id', data: sightings.map(({ id }) => id) },
    { name: 'log', data: Uint16Array.from(sightings, ({ log }) => logOf(log)) },
    { name: 'record', data: Uint32Array.from(sightings, ({ record }) => record) },
    { name: 'side', data: sightings.map(({ side }) => side) },
    { name: 'line', data: Int32Array.from(sightings, ({ line }) => line) },
    { name: 'timeS', data: number(({ timeS }) => timeS) },
    { name: 'slantM', data: number((one) => (one.slantStartM + one.slantEndM) / 2) },
    { name: 'groundM', data: number(({ ground }) => ground.value) },
    { name: 'lengthM', data: number(({ length }) => length.value) },
    { name: 'lengthSigmaM', data: number(({ length }) => length.sigma) },
    { name: 'widthM', data: number(({ width }) => width.value) },
    { name: 'widthSigmaM', data: number(({ width }) => width.sigma) },
    { name: 'heightM', data: number(({ height }) => height.value) },
    { name: 'heightSigmaM', data: number(({ height }) => height.sigma) },
    { name: 'latDeg', data: Float64Array.from(places, ([lat]) => lat) },
    { name: 'lonDeg', data: Float64Array.from(places, ([, lon]) => lon) },
    { name: 'xM', data: number(({ place }) => place.xM) },
    { name: 'yM', data: number(({ place }) => place.yM) },
    { name: 'sigmaMajorM', data: Float64Array.from(ellipses, ({ majorM }) => majorM) },
    { name: 'sigmaMinorM', data: Float64Array.from(ellipses, ({ minorM }) => minorM) },
    { name: 'sigmaAxisDeg', data: Float64Array.from(ellipses, ({ axisDeg }) => axisDeg) },
    { name: 'score', data: number(({ score }) => score) },
    { name: 'falsePerHa', data: number(({ falsePerHa }) => falsePerHa) },
    { name: 'byHand', data: Uint8Array.from(sightings, ({ byHand }) => (byHand ? 1 : 0)) },
    { name: 'why', data: sightings.map(({ why }) => why) },
  ];
}

const metres = (value: number): number => (Number.isFinite(value) ? Math.round(value * 1000) / 1000 : NaN);

/** Name shown of a find: its own, else its number. */
export function findName(find: { readonly name: string; readonly number: number }): string {
  return find.name === '' ? `Find ${find.number}` : find.name;
}

/** Properties of a find for people: uncertainties 95 %. Directions are clockwise from true north. */
export function findFeatures(file: FindsFile, frame: Frame): GeoFeature[] {
  return file.finds.map((find): GeoFeature => {
    const { majorM, minorM, axisDeg } = ellipseOf(find.place);
    const axisTrueDeg = (axisDeg + convergenceDeg(frame, find.place.xM, find.place.yM) + 360) % 180;
    return {
      shape: { kind: 'point', latDeg: find.latDeg, lonDeg: find.lonDeg },
      properties: {
        number: find.number,
        id: find.id,
        name: findName(find),
        state: find.state,
        description: find.description,
        lengthM: metres(find.length.value),
        length95M: metres(1.96 * find.length.sigma),
        widthM: metres(find.width.value),
        width95M: metres(1.96 * find.width.sigma),
        heightM: metres(find.height.value),
        height95M: metres(1.96 * find.height.sigma),
        position95MajorM: metres(SIGMA_TO_95_2D * majorM),
        position95MinorM: metres(SIGMA_TO_95_2D * minorM),
        position95AxisDeg: metres(axisTrueDeg),
        seenFromLines: find.lines.join(' '),
        looks: find.sightings.length,
        confidence: metres(find.confidence),
        byHand: find.byHand,
        why: find.why,
        caution: 'not for navigation; lifting or disturbing anything is for licensed people under local rules',
      },
    };
  });
}

/** Longest axis of the place's 95 % ellipse, and size and height in words with their 95 %. */
export function findSize(find: Pick<Find, 'place' | 'length' | 'width' | 'height'>): { readonly major95M: number; readonly size: string; readonly height: string } {
  const with95 = ({ value, sigma }: Find['length']): string => (Number.isFinite(value) ? `${value.toFixed(1)} ± ${(1.96 * sigma).toFixed(1)} m` : 'not known');
  const height = with95(find.height);
  return { major95M: SIGMA_TO_95_2D * ellipseOf(find.place).majorM, size: `${with95(find.length)} x ${with95(find.width)}, height ${height}`, height };
}
