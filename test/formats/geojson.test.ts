import fc from 'fast-check';
import { expect, test } from 'vitest';
import { bytesSource } from '../../src/base/byte-source.js';
import { FormatError, UnsupportedError } from '../../src/base/errors.js';
import { readAreaFile, readAreaText } from '../../src/formats/area-file.js';
import { degreesText } from '../../src/formats/geojson-degrees.js';
import { jsonFaultAt } from '../../src/formats/geojson-fault.js';
import { writeGeoJson } from '../../src/formats/geojson-write.js';
import { writeLinesCsv } from '../../src/formats/lines-csv.js';
import type { GeoFeature } from '../../src/geo/features.js';

const SQUARE = [[-30, 46], [-29.99, 46], [-29.99, 46.01], [-30, 46.01], [-30, 46]];
const HOLE = [[-29.997, 46.003], [-29.994, 46.006], [-29.994, 46.003], [-29.997, 46.003]];
const polygon = { type: 'Polygon', coordinates: [SQUARE, HOLE] };
const read = (value: unknown) => readAreaText(JSON.stringify(value), 'area.geojson');

test('GeoJSON area: a bare Polygon, a Feature, a FeatureCollection and a GeometryCollection give the same polygon', () => {
  const feature = { type: 'Feature', properties: null, geometry: polygon };
  for (const value of [polygon, feature, { type: 'FeatureCollection', features: [feature] }, { type: 'GeometryCollection', geometries: [polygon] }, { type: 'Feature', properties: {}, geometry: { type: 'GeometryCollection', geometries: [polygon] } }]) {
    const area = read(value);
    expect(area.kind).toBe('geojson');
    expect(area.notes).toEqual([]);
    expect(area.polygons.map(({ outer, holes }) => [[...outer], holes.map((hole) => [...hole])])).toEqual([
      [[-30, 46, -29.99, 46, -29.99, 46.01, -30, 46.01], [[-29.997, 46.003, -29.994, 46.006, -29.994, 46.003]]],
    ]);
  }
});

test('GeoJSON area: MultiPolygon, altitudes, a ring that is not closed, a closed line, and what is left out', () => {
  const area = read({
    type: 'FeatureCollection',
    features: [
      { type: 'Feature', properties: {}, geometry: { type: 'MultiPolygon', coordinates: [[SQUARE.map((p) => [...p, 12])], [SQUARE.slice(0, 4)]] } },
      { type: 'Feature', properties: {}, geometry: { type: 'LineString', coordinates: SQUARE } },
      { type: 'Feature', properties: {}, geometry: { type: 'MultiLineString', coordinates: [SQUARE.slice(1), SQUARE.slice(2)] } },
      { type: 'Feature', properties: {}, geometry: { type: 'Point', coordinates: [0, 0] } },
      { type: 'Feature', properties: {}, geometry: null },
    ],
  });
  expect(area.polygons.map(({ outer }) => outer.length / 2)).toEqual([4, 4, 4]);
  expect(area.notes).toEqual([
    'feature 1, polygon 2: its last corner does not repeat the first; closed',
    'feature 2, line: a closed line, taken as the outline of a polygon',
    'left out: 2 open lines, 1 point, 1 feature without a place',
  ]);
});

test('GeoJSON area: an older file that says it is in WGS 84 is read, one in metres is not', () => {
  const crs = (name: string) => ({ ...polygon, crs: { type: 'name', properties: { name } } });
  expect(read(crs('urn:ogc:def:crs:OGC:1.3:CRS84')).polygons).toHaveLength(1);
  expect(read(crs('urn:ogc:def:crs:EPSG::4326')).polygons).toHaveLength(1);
  expect(() => read(crs('urn:ogc:def:crs:EPSG::32626'))).toThrow(UnsupportedError);
  expect(() => read(crs('EPSG:32626'))).toThrow(
    'area.geojson: coordinates in another reference system: expected WGS 84 longitude and latitude (RFC 7946), found "EPSG:32626"; save the file again in WGS 84 (EPSG:4326)',
  );
});

test('GeoJSON area: faults are named with their place', () => {
  const cases: [unknown, string][] = [
    [{ type: 'Polygon', coordinates: [[[-30, 46], [-29, '46'], [-29, 47], [-30, 46]]] }, 'area.geojson: GeoJSON, polygon, corner 2: expected [longitude, latitude] in degrees, found [-29,"46"]; mend it or save the file again as GeoJSON (RFC 7946)'],
    [{ type: 'FeatureCollection' }, 'area.geojson: GeoJSON, features: expected a list, found nothing'],
    [{ type: 'FeatureCollection', features: [7] }, 'area.geojson: feature 1: expected an object with a "type", found 7'],
    [{ type: 'Topology' }, 'area.geojson: GeoJSON, type: expected a GeoJSON type such as "Polygon" or "FeatureCollection", found "Topology"'],
    [{ type: 'Polygon', coordinates: [] }, 'expected a list of rings, found []'],
    [{ type: 'Polygon', coordinates: [[[500000, 5100000], [500100, 5100000], [500100, 5100100], [500000, 5100000]]] }, 'area.geojson: GeoJSON, polygon, corner 1: not on the world: expected longitude -180 to 180 and latitude -90 to 90, found longitude 500000, latitude 5100000; see whether the two are swapped, or whether they are metres'],
    [{ type: 'FeatureCollection', features: [] }, 'area.geojson: holds no area: expected a polygon or a closed line, found nothing drawn; draw the area as a polygon'],
    [[], 'area.geojson: GeoJSON: expected an object with a "type", found []'],
  ];
  for (const [value, message] of cases) {
    expect(() => read(value)).toThrow(FormatError);
    expect(() => read(value)).toThrow(message);
  }
});

test('GeoJSON area: broken JSON is named with its line; nesting is bounded', () => {
  expect(() => readAreaText('{"type": "Polygon",\n "coordinates": [[[1, 2]],,]}', 'a.json')).toThrow('a.json line 2: not JSON: found ",]}" where something else must stand; save the file again or mend it there');
  expect(() => readAreaText('{"type": "Polygon", "coordinates": [', 'a.json')).toThrow('a.json line 1: not JSON: found the end of the file where something else must stand');
  expect(() => readAreaText(`{"type":"Polygon","coordinates":${'['.repeat(100_000)}`, 'a.json')).toThrow('a.json line 1: nested too deep: expected at most 64 levels; save the area as plain GeoJSON');
  expect(readAreaText(`{"x":"${'['.repeat(1000)}","type":"Polygon","coordinates":[${JSON.stringify(SQUARE)}]}`, 'a.json').polygons).toHaveLength(1);
});

test('jsonFaultAt: says valid exactly where JSON.parse does, on JSON with one character changed', () => {
  fc.assert(
    fc.property(fc.json({ maxDepth: 4 }), fc.nat(), fc.constantFrom('', ',', '"', '}', '[', '0', '-', 'e', '.', '\\', 'u', '\n', ' ', ':'), fc.boolean(), (json, at, sign, insert) => {
      const place = at % (json.length + 1);
      const text = json.slice(0, place) + sign + json.slice(insert ? place : place + 1);
      let valid = true;
      try {
        JSON.parse(text);
      } catch {
        valid = false;
      }
      expect(jsonFaultAt(text) < 0).toBe(valid);
      if (!valid) expect(jsonFaultAt(text)).toBeGreaterThanOrEqual(Math.min(place, 0));
    }),
    { seed: 47, numRuns: 3000 },
  );
});

const encoders: [string, (text: string) => Uint8Array][] = [
  ['UTF-8', (text) => new TextEncoder().encode(text)],
  ['UTF-8 with a mark', (text) => Uint8Array.of(0xef, 0xbb, 0xbf, ...new TextEncoder().encode(text))],
  ['UTF-16 little-endian with a mark', (text) => new Uint8Array(Buffer.from(`\uFEFF${text}`, 'utf16le'))],
  ['UTF-16 little-endian', (text) => new Uint8Array(Buffer.from(text, 'utf16le'))],
  ['UTF-16 big-endian with a mark', (text) => new Uint8Array(Buffer.from(`\uFEFF${text}`, 'utf16le').swap16())],
  ['UTF-16 big-endian', (text) => new Uint8Array(Buffer.from(text, 'utf16le').swap16())],
];
const KML = `<kml><Placemark><name>\u00e9\u6c34</name><Polygon><outerBoundaryIs><LinearRing><coordinates>-30,46 -29.99,46 -29.99,46.01 -30,46</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>`;

test.each(encoders)('readAreaFile: %s', async (_name, encode) => {
  for (const text of [JSON.stringify({ ...polygon, name: '\u00e9\u6c34' }), KML, `\n ${KML}`.trimStart()]) {
    const area = await readAreaFile(bytesSource('area', encode(text)));
    expect(area.polygons[0]!.outer[0]).toBe(-30);
  }
});

test('readAreaFile: an encoding of the XML declaration is followed', async () => {
  const latin = Buffer.from(`<?xml version="1.0" encoding="ISO-8859-1"?>${KML.replace('\u6c34', '')}`, 'latin1');
  expect((await readAreaFile(bytesSource('area.kml', new Uint8Array(latin)))).polygons).toHaveLength(1);
  const unknown = Buffer.from(`<?xml version="1.0" encoding="x-none-such"?>${KML}`);
  await expect(readAreaFile(bytesSource('area.kml', new Uint8Array(unknown)))).rejects.toThrow('area.kml: text encoding "x-none-such" is not known here: expected UTF-8 or UTF-16; save the file as UTF-8');
});

test('readAreaFile: what is no text or too long is refused with what to do', async () => {
  const fail = (bytes: Uint8Array) => readAreaFile(bytesSource('area', bytes));
  await expect(fail(Uint8Array.of(0x50, 0x4b, 3, 4, 0, 0))).rejects.toThrow('area: a zip archive, perhaps KMZ: expected KML, GeoJSON or GPX text; unpack it and give the .kml file inside');
  await expect(fail(Uint8Array.of(0x7b, 0x22, 0xff, 0x22))).rejects.toThrow('area byte 2: not text: expected UTF-8, found bytes it does not allow; save the file as UTF-8');
  await expect(fail(Uint8Array.of(0x61, 0x62, 0))).rejects.toThrow('area character 2: not text');
  await expect(fail(Uint8Array.of(0xff, 0xfe, 0, 0))).rejects.toThrow('area: UTF-32 text');
  await expect(fail(new Uint8Array(0))).rejects.toThrow('area: empty: expected GeoJSON, KML or GPX, found nothing; save the area again');
  await expect(fail(new TextEncoder().encode('lat,lon\n46,-30'))).rejects.toThrow('area: not an area: expected GeoJSON, KML or GPX, found "lat,lon\\n46,-30"; save the area in one of those');
  const long = { name: 'long', byteLength: 17 * 2 ** 20, read: () => Promise.reject(new Error('must not be read')) };
  await expect(readAreaFile(long)).rejects.toThrow('long: too long for an area: expected at most 16 MiB, found 17.0 MiB; simplify it or take out what is not the area');
  expect(() => readAreaText(`{"type":"Polygon","coordinates":[[${'[0,0],'.repeat(200_001)}[0,0]]]}`, 'many')).toThrow('many: GeoJSON, polygon: too many corners: expected at most 200000 in the file');
});

test('readAreaFile: no truncation and no flipped byte does anything but give polygons or a message', async () => {
  const samples = [JSON.stringify(polygon), KML, '<gpx><rte><rtept lat="46" lon="-30"/><rtept lat="46.1" lon="-30"/><rtept lat="46" lon="-29"/></rte></gpx>'];
  let refused = 0;
  for (const sample of samples) {
    const bytes = new TextEncoder().encode(sample);
    for (let i = 0; i < bytes.length; i++) {
      const flipped = bytes.slice();
      flipped[i] = flipped[i]! ^ (1 << (i % 8));
      for (const damaged of [bytes.subarray(0, i), flipped]) {
        try {
          const area = await readAreaFile(bytesSource('damaged', damaged));
          expect(area.polygons.length).toBeGreaterThan(0);
        } catch (error) {
          expect(error instanceof FormatError || error instanceof UnsupportedError, String(error)).toBe(true);
          expect((error as Error).message).toMatch(/^damaged/);
          refused++;
        }
      }
    }
  }
  expect(refused).toBeGreaterThan(500);
});

test('degreesText: rounded, without trailing zeros, exponent or minus zero', () => {
  expect([46, -30.5, 1e-9, -1e-9, 0.123456785, 180, -1e-8, 1e-7].map((degrees) => degreesText(degrees, 8))).toEqual(['46', '-30.5', '0', '0', '0.12345678', '180', '-0.00000001', '0.0000001']);
  expect(degreesText(0.123456789, 7)).toBe('0.1234568');
  expect(() => degreesText(NaN, 8)).toThrow('degrees NaN: expected a number');
});

test('writeGeoJson: the whole text of a small collection', () => {
  const features: GeoFeature[] = [
    { shape: { kind: 'line', path: Float64Array.of(-30, 46, -29.99, 46.01) }, properties: { number: 1, kind: 'main', lengthM: NaN } },
    { shape: { kind: 'polygon', polygon: { outer: Float64Array.of(0, 0, 0, 1, 1, 1), holes: [Float64Array.of(0.1, 0.5, 0.2, 0.6, 0.1, 0.6)] } }, properties: {} },
  ];
  expect(writeGeoJson(features, { members: { name: 'plan "a"' } })).toBe(`{"type":"FeatureCollection","name":"plan \\"a\\"","features":[
{"type":"Feature","geometry":{"type":"LineString","coordinates":[[-30,46],[-29.99,46.01]]},"properties":{"number":1,"kind":"main","lengthM":null}},
{"type":"Feature","geometry":{"type":"Polygon","coordinates":[[[0,0],[1,1],[0,1],[0,0]],[[0.1,0.5],[0.1,0.6],[0.2,0.6],[0.1,0.5]]]},"properties":{}}
]}
`);
  expect(writeGeoJson([])).toBe('{"type":"FeatureCollection","features":[\n]}\n');
  expect(() => writeGeoJson([], { members: { features: 1 } })).toThrow('members: "features" is GeoJSON\'s own');
});

test('writeGeoJson: what is written is JSON and reads back to 1e-8 degrees, outer rings counter-clockwise', () => {
  const degrees = (most: number) => fc.integer({ min: -most * 1e8, max: most * 1e8 }).map((units) => units / 1e8 + 2e-9);
  fc.assert(
    fc.property(fc.uniqueArray(fc.tuple(degrees(179), degrees(89)), { minLength: 3, maxLength: 9, selector: (corner) => corner.join() }), (corners) => {
      const outer = Float64Array.from(corners.flat());
      const text = writeGeoJson([{ shape: { kind: 'polygon', polygon: { outer, holes: [] } }, properties: {} }]);
      const rounded = corners.map(([lon, lat]) => [Number(lon.toFixed(8)), Number(lat.toFixed(8))]);
      const written = (JSON.parse(text) as { features: { geometry: { coordinates: number[][][] } }[] }).features[0]!.geometry.coordinates[0]!;
      expect(written[0]).toEqual(written[written.length - 1]);
      const twice = written.slice(1).reduce((sum, [x, y], i) => sum + (written[i]![0]! * y! - x! * written[i]![1]!), 0);
      expect(twice).toBeGreaterThan(-1e-9);
      const back = readAreaText(text, 'back').polygons[0]!.outer;
      expect(back.length).toBe(outer.length);
      const pairs = (flat: readonly number[]): string[] => Array.from({ length: flat.length / 2 }, (_, i) => `${flat[2 * i]! + 0} ${flat[2 * i + 1]! + 0}`).sort();
      expect(pairs([...back])).toEqual(pairs(rounded.flat()));
    }),
    { seed: 53, numRuns: 200 },
  );
});

test('writeLinesCsv: header, rounding, quotes, CRLF (RFC 4180)', () => {
  const line = { number: 3, kind: 'a,"b"', order: 1, startLatDeg: 46.123456789, startLonDeg: -30, endLatDeg: 46.2, endLonDeg: -30, headingDeg: 359.999, lengthM: 1234.5678 };
  expect(writeLinesCsv([line])).toBe('number,kind,order,startLatDeg,startLonDeg,endLatDeg,endLonDeg,headingDeg,lengthM\r\n3,"a,""b""",1,46.12345679,-30,46.2,-30,0.00,1234.57\r\n');
  expect(writeLinesCsv([])).toBe('number,kind,order,startLatDeg,startLonDeg,endLatDeg,endLonDeg,headingDeg,lengthM\r\n');
});
