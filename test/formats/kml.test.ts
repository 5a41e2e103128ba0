import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { FormatError } from '../../src/base/errors.js';
import { readAreaText } from '../../src/formats/area-file.js';
import { writeKml } from '../../src/formats/kml-write.js';
import type { GeoFeature } from '../../src/geo/features.js';
import { limitNow } from '../busy-machine.js';
import { HAVE_SCHEMAS, SCHEMA_NOTE, schemaFaults } from './xml-schema.js';

const kml = (body: string): string => `<?xml version="1.0" encoding="UTF-8"?>\n<kml xmlns="http://www.opengis.net/kml/2.2"><Document>${body}</Document></kml>`;
const ring = (coordinates: string): string => `<LinearRing><coordinates>${coordinates}</coordinates></LinearRing>`;
const polygon = (outer: string, ...inner: string[]): string =>
  `<Polygon><outerBoundaryIs>${ring(outer)}</outerBoundaryIs>${inner.map((hole) => `<innerBoundaryIs>${ring(hole)}</innerBoundaryIs>`).join('')}</Polygon>`;
const SQUARE = '-30,46,0 -29.99,46,0\n\t-29.99,46.01 -30,46.01 -30,46';
const HOLE = '-29.997,46.003 -29.994,46.003 -29.994,46.006 -29.997,46.003';

test('KML area: a Placemark with a polygon and a hole', () => {
  const area = readAreaText(kml(`<Placemark><name>a &amp; b</name>${polygon(SQUARE, HOLE)}</Placemark>`), 'area.kml');
  expect(area.kind).toBe('kml');
  expect(area.notes).toEqual([]);
  expect(area.polygons.map(({ outer, holes }) => [[...outer], holes.map((hole) => [...hole])])).toEqual([
    [[-30, 46, -29.99, 46, -29.99, 46.01, -30, 46.01], [[-29.997, 46.003, -29.994, 46.003, -29.994, 46.006]]],
  ]);
});

test('KML area: MultiGeometry, prefixes, CDATA, points and open lines left out, links not followed', () => {
  const text = `<k:kml xmlns:k="http://www.opengis.net/kml/2.2"><k:Placemark><k:MultiGeometry>
    <k:Polygon><k:outerBoundaryIs><k:LinearRing><k:coordinates><![CDATA[${SQUARE}]]></k:coordinates></k:LinearRing></k:outerBoundaryIs></k:Polygon>
    <k:Point><k:coordinates>-30,46</k:coordinates></k:Point>
    <k:LineString><k:coordinates>-30,46 -29,46 -29,47</k:coordinates></k:LineString>
    <k:LineString><k:coordinates>${SQUARE}</k:coordinates></k:LineString>
  </k:MultiGeometry></k:Placemark><k:NetworkLink><k:Link><k:href>http://example.org/</k:href></k:Link></k:NetworkLink></k:kml>`;
  const area = readAreaText(text, 'area.kml');
  expect(area.polygons).toHaveLength(2);
  expect(area.notes).toEqual([
    'line ending at line 7: a closed line, taken as the outline of a polygon',
    'a network link is not followed: save what it shows into the file',
    'left out: 1 point, 1 open line',
  ]);
});

test('KML area: a ring that is not closed is closed with a note', () => {
  const area = readAreaText(kml(`<Placemark>${polygon('-30,46 -29.99,46 -29.99,46.01')}</Placemark>`), 'area.kml');
  expect(area.polygons[0]!.outer.length / 2).toBe(3);
  expect(area.notes).toEqual(['polygon 1: its last corner does not repeat the first; closed']);
});

test('KML area: faults are named with their line', () => {
  const faults: [string, string][] = [
    [kml(`\n<Placemark>${polygon('-30, 46 -29.99,46 -29.99,46.01')}</Placemark>`), 'a.kml line 3: coordinates: expected longitude,latitude without spaces in them, found "-30,"; mend it there'],
    [kml('<Placemark><Polygon></Polygon></Placemark>'), 'a.kml line 2: polygon 1: expected an outer boundary with coordinates, found none; draw it again or take it out'],
    [kml(`<Placemark>${polygon('-30,46 -29,46 -30,46')}</Placemark>`), 'a.kml line 2: polygon 1: too few corners: expected at least 3 different ones, found 2; add corners or take it out'],
    [kml(`<Placemark>${polygon('46,-130 46,-131 47,-131')}</Placemark>`), 'a.kml line 2: polygon 1, corner 1: not on the world: expected longitude -180 to 180 and latitude -90 to 90, found longitude 46, latitude -130'],
    ['<html><body/></html>', 'a.kml line 1: not KML: expected <kml>, found <html>; give a KML, GeoJSON or GPX file'],
    [kml('<Placemark>').replace('</Document>', ''), 'a.kml line 2: not well-formed XML ('],
    [kml(''), 'a.kml: holds no area: expected a polygon or a closed line, found nothing drawn; draw the area as a polygon'],
    ['<!-- nothing -->', 'a.kml'],
  ];
  for (const [text, message] of faults) {
    expect(() => readAreaText(text, 'a.kml')).toThrow(FormatError);
    expect(() => readAreaText(text, 'a.kml')).toThrow(message);
  }
});

test('KML area: entity bombs and outside entities are refused before they are read', () => {
  const bomb = `<?xml version="1.0"?>\n<!DOCTYPE kml [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>\n<kml>&b;</kml>`;
  expect(() => readAreaText(bomb, 'bomb.kml')).toThrow('bomb.kml line 2: declares a document type: expected none: its entities could grow without limit; take the <!DOCTYPE ...> out');
  expect(() => readAreaText('<kml>&other;</kml>', 'bomb.kml')).toThrow(/^bomb\.kml line 1: not well-formed XML \(/);
  expect(() => readAreaText(`<kml>${'<Folder>'.repeat(100_000)}`, 'deep.kml')).toThrow('deep.kml line 1: nested too deep: expected at most 128 levels; save the area alone');
});

test('KML area: a hundred thousand open comments are read in linear time', () => {
  const started = performance.now();
  expect(() => readAreaText(`${'<!--'.repeat(1_000_000)}`, 'a.kml')).toThrow(FormatError);
  expect(performance.now() - started).toBeLessThan(limitNow(5_000));
});

const features: GeoFeature[] = [
  { shape: { kind: 'line', path: Float64Array.of(-30, 46, -29.99, 46.01) }, properties: { number: 1, kind: 'main', lengthM: NaN, done: false } },
  { shape: { kind: 'point', lonDeg: -30, latDeg: 46 }, properties: { number: 'a<b>"&\u0007' } },
  { shape: { kind: 'lines', paths: [Float64Array.of(0, 0, 1, 1), Float64Array.of(2, 2, 3, 3)] }, properties: {} },
  { shape: { kind: 'polygon', polygon: { outer: Float64Array.of(0, 0, 0, 1, 1, 1, 1, 0), holes: [Float64Array.of(0.2, 0.2, 0.4, 0.2, 0.4, 0.4)] } }, properties: { number: null } },
  { shape: { kind: 'polygons', polygons: [{ outer: Float64Array.of(0, 0, 1, 0, 1, 1), holes: [] }] }, properties: { number: 5 } },
];

test('writeKml: what is written reads back: rings closed, outer counter-clockwise, holes clockwise', () => {
  const text = writeKml('plan', [{ name: 'all', nameProperty: 'number', features }]);
  expect(text).toContain('<name>a&lt;b&gt;&quot;&amp;\ufffd</name>');
  expect(text).toContain('<coordinates>0,0 1,0 1,1 0,1 0,0</coordinates>');
  expect(text).toContain('<coordinates>0.2,0.2 0.4,0.4 0.4,0.2 0.2,0.2</coordinates>');
  expect(text).not.toContain('NaN');
  const area = readAreaText(text, 'plan.kml');
  expect(area.polygons.map((read) => [...read.outer])).toEqual([
    [0, 0, 1, 0, 1, 1, 0, 1],
    [0, 0, 1, 0, 1, 1],
  ]);
});

describe.skipIf(!HAVE_SCHEMAS)(`KML 2.2 schema${SCHEMA_NOTE}`, () => {
  test('writeKml: valid with every kind of shape, whatever the texts hold', () => {
    expect(schemaFaults('ogckml22.xsd', writeKml('plan', [{ name: 'all', nameProperty: 'number', features }]))).toBe('');
    expect(schemaFaults('ogckml22.xsd', writeKml('', []))).toBe('');
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 20 }), fc.string({ unit: 'binary', maxLength: 20 }), (name, value) => {
        const named: GeoFeature = { shape: { kind: 'point', lonDeg: 1, latDeg: 2 }, properties: { [name]: value, number: name } };
        expect(schemaFaults('ogckml22.xsd', writeKml(name, [{ name: value, nameProperty: 'number', features: [named] }]))).toBe('');
      }),
      { seed: 43, numRuns: 20 },
    );
  });

  test('the schema does refuse what is not KML 2.2', () => {
    expect(schemaFaults('ogckml22.xsd', writeKml('plan', []).replace('Document', 'Dokument').replace('/Document', '/Dokument'))).not.toBe('');
  });
});
