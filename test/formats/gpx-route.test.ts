import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { readAreaText } from '../../src/formats/area-file.js';
import { writeGpx } from '../../src/formats/gpx-route-write.js';
import { HAVE_SCHEMAS, SCHEMA_NOTE, schemaFaults } from './xml-schema.js';

const point = (latDeg: number, lonDeg: number, name = '') => ({ latDeg, lonDeg, name });
const square = [point(46, -30), point(46.01, -30), point(46.01, -29.99), point(46, -29.99)];
const route = (points: readonly ReturnType<typeof point>[], element: 'rte' | 'trk' = 'rte'): string =>
  writeGpx({ name: 'area', [element === 'rte' ? 'routes' : 'tracks']: [{ name: 'edge', points }] });

test('writeGpx: the whole text of a small file', () => {
  const text = writeGpx({
    name: 'Hollin Sound',
    description: 'lines < 20 m & > 5 m',
    waypoints: [point(46, -30, 'launch')],
    routes: [{ name: 'run', points: [point(46.123456789, -30.000000004, '1 start'), point(46, 180)] }],
  });
  expect(text).toBe(`<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="Tallow" xmlns="http://www.topografix.com/GPX/1/1" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" xsi:schemaLocation="http://www.topografix.com/GPX/1/1 http://www.topografix.com/GPX/1/1/gpx.xsd">
  <metadata>
    <name>Hollin Sound</name>
    <desc>lines &lt; 20 m &amp; &gt; 5 m</desc>
  </metadata>
  <wpt lat="46" lon="-30"><name>launch</name></wpt>
  <rte>
    <name>run</name>
    <rtept lat="46.12345679" lon="-30"><name>1 start</name></rtept>
    <rtept lat="46" lon="-180"/>
  </rte>
</gpx>
`);
});

test('writeGpx: a position off the world is refused', () => {
  expect(() => route([point(91, 0)])).toThrow('latDeg 91: expected -90 to 90');
  expect(() => route([point(0, NaN)])).toThrow('lonDeg NaN: expected -180 to 180');
});

describe.skipIf(!HAVE_SCHEMAS)(`GPX 1.1 schema${SCHEMA_NOTE}`, () => {
  test('writeGpx: valid with waypoints, routes and tracks, whatever the names hold', () => {
    fc.assert(
      fc.property(
        fc.array(fc.record({ latDeg: fc.double({ min: -90, max: 90, noNaN: true }), lonDeg: fc.double({ min: -180, max: 180, noNaN: true }), name: fc.string({ unit: 'binary', maxLength: 12 }) }), { maxLength: 6 }),
        fc.string({ unit: 'binary', maxLength: 20 }),
        (points, name) => {
          const text = writeGpx({ name, description: name, waypoints: points, routes: [{ name, points }], tracks: [{ name, points }] });
          expect(schemaFaults('gpx11.xsd', text)).toBe('');
        },
      ),
      { seed: 41, numRuns: 40 },
    );
    expect(schemaFaults('gpx11.xsd', writeGpx({ name: '' }))).toBe('');
  });

  test('the schema does refuse what is not GPX 1.1', () => {
    expect(schemaFaults('gpx11.xsd', route(square).replace('lat="46"', 'lat="146"'))).toMatch(/lat/);
  });
});

test('GPX area: a route and a track whose ends meet', () => {
  for (const element of ['rte', 'trk'] as const) {
    const area = readAreaText(route([...square, square[0]!], element), 'area.gpx');
    expect(area.kind).toBe('gpx');
    expect(area.notes).toEqual([]);
    expect(area.polygons.map((polygon) => [...polygon.outer])).toEqual([[-30, 46, -30, 46.01, -29.99, 46.01, -29.99, 46]]);
  }
});

test('GPX area: a walked edge that ends half a metre from its start meets; one that does not is closed with a note', () => {
  const near = readAreaText(route([...square, point(46.000004, -30)]), 'area.gpx');
  expect([near.polygons[0]!.outer.length / 2, near.notes]).toEqual([4, []]);
  const open = readAreaText(route(square), 'area.gpx');
  expect(open.polygons[0]!.outer.length / 2).toBe(4);
  // One hundredth of a degree of longitude at 46 N on WGS 84: 774.6 m.
  expect(open.notes).toEqual(['route 1: its ends are 775 m apart; closed with a straight edge']);
});

test('GPX area: segments are joined, waypoints left out, extensions ignored, GPX 1.0 read', () => {
  const text = `<?xml version="1.0"?><gpx version="1.0" xmlns="http://www.topografix.com/GPX/1/0"><wpt lat="1" lon="2"/>
  <trk><trkseg><trkpt lat="46" lon="-30"><extensions><rtept lat="oops"/></extensions></trkpt><trkpt lat="46.01" lon="-30"/></trkseg><trkseg><trkpt lat="46.01" lon="-29.99"/><trkpt lat="46" lon="-30"/></trkseg></trk></gpx>`;
  const area = readAreaText(text, 'area.gpx');
  expect(area.polygons.map((polygon) => [...polygon.outer])).toEqual([[-30, 46, -30, 46.01, -29.99, 46.01]]);
  expect(area.notes).toEqual(['track 1: its 2 segments are joined', 'left out: 1 waypoint']);
});

test('GPX area: faults are named with their line', () => {
  expect(() => readAreaText('<gpx>\n<rte>\n<rtept lat="46" lon="x"/></rte></gpx>', 'a.gpx')).toThrow('a.gpx line 3: position: expected lon="degrees", found "x"; mend it there');
  expect(() => readAreaText('<gpx><rte><rtept lat="46" lon="-30"/></rte></gpx>', 'a.gpx')).toThrow('a.gpx line 1: route 1: too few corners: expected at least 3 different ones, found 1; add corners or take it out');
  expect(() => readAreaText('<gpx><wpt lat="46" lon="-30"/><wpt lat="46" lon="-30"/></gpx>', 'a.gpx')).toThrow('a.gpx: holds no area: expected a polygon or a closed line, found 2 waypoints; draw the area as a polygon');
  expect(() => readAreaText('<gpx><rte><rtept lon="-30"/></rte></gpx>', 'a.gpx')).toThrow('expected lat="degrees", found none');
});
