import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import fc from 'fast-check';
import { XmlDocument, XsdValidator } from 'libxml2-wasm';
import { parseUnsafeNmeaSentence } from 'nmea-simple';
import { describe, expect, it } from 'vitest';
import { routeLegs, type Route, type RouteWaypoint } from '../../src/formats/route.js';
import { writeRouteCsv } from '../../src/formats/route-csv.js';
import { writeRouteKml } from '../../src/formats/route-kml.js';
import { writeRouteNmea } from '../../src/formats/route-nmea.js';
import { writeRtz } from '../../src/formats/rtz-write.js';
import { HAVE_SCHEMAS, SCHEMA_NOTE, schemaFaults } from './xml-schema.js';

const SHARED = new URL('../../../shared/data/formats/', import.meta.url);
const HAVE_RTZ = existsSync(new URL('RTZ_Schema_version_1_2.xsd', SHARED));
const HAVE_GDAL = (() => {
  try {
    execFileSync('ogrinfo', ['--version']);
    return true;
  } catch {
    return false;
  }
})();

const START = Date.UTC(2026, 4, 4, 12) / 1000;
const waypoint = (latDeg: number, lonDeg: number, name: string, more: Partial<RouteWaypoint> = {}): RouteWaypoint => ({ latDeg, lonDeg, name, kind: 'line', line: 1, speedMps: 1.5, timeS: NaN, xtdM: 3, radiusM: NaN, ...more });
const ROUTE: Route = {
  name: 'Hollin Sound 1',
  description: 'Sortie 1. Not for navigation.',
  waypoints: [
    waypoint(46, -30, 'launch', { kind: 'launch', line: null, timeS: START }),
    waypoint(46.005, -30, '1 start', { kind: 'transit', timeS: START + 370, radiusM: 4 }),
    waypoint(46.005, -29.99, '1 "end" & <turn>', { timeS: START + 890 }),
    waypoint(46, -30, 'home', { kind: 'home', line: null, timeS: START + 1500 }),
  ],
};
const anyRoute = fc.record({
  name: fc.string({ unit: 'binary', maxLength: 20 }),
  description: fc.string({ maxLength: 20 }),
  waypoints: fc.array(
    fc.record({
      latDeg: fc.double({ min: -90, max: 90, noNaN: true }),
      lonDeg: fc.double({ min: -180, max: 180, noNaN: true }),
      name: fc.string({ unit: 'binary', maxLength: 12 }),
      kind: fc.constantFrom('line', 'transit', ''),
      line: fc.option(fc.nat(500)),
      speedMps: fc.oneof(fc.constant(NaN), fc.double({ min: 0, max: 10, noNaN: true })),
      timeS: fc.oneof(fc.constant(NaN), fc.integer({ min: 0, max: 4e9 })),
      xtdM: fc.oneof(fc.constant(NaN), fc.double({ min: 0, max: 18_000, noNaN: true })),
      radiusM: fc.oneof(fc.constant(NaN), fc.double({ min: 0, max: 9000, noNaN: true })),
    }),
    { minLength: 2, maxLength: 30 },
  ),
});

/** What a published RTZ schema finds wrong; the text is given that version's namespace. */
function rtzFaults(version: '1_0' | '1_2', text: string): string {
  const dotted = version.replace('_', '.');
  const versioned = text.replace('http://www.cirm.org/RTZ/1/1', `http://www.cirm.org/RTZ/${version.replace('_', '/')}`).replace('version="1.1"', `version="${dotted}"`);
  const file = new URL(`RTZ_Schema_version_${version}.xsd`, SHARED);
  // Version 1.0 misspells an element of the schedule; 1.1 and 1.2 mend it.
  const schema = XmlDocument.fromString(readFileSync(file, 'utf8').replaceAll('"sheduleElement"', '"scheduleElement"'), { url: fileURLToPath(file) });
  const validator = XsdValidator.fromDoc(schema);
  const document = XmlDocument.fromString(versioned);
  try {
    validator.validate(document);
    return '';
  } catch (error) {
    return error instanceof Error ? error.message : String(error);
  } finally {
    document.dispose();
    validator.dispose();
    schema.dispose();
  }
}

/** What GDAL says of a file's text. */
function gdalReads(name: string, text: string, ...options: string[]): string {
  const folder = mkdtempSync(path.join(tmpdir(), 'route-'));
  try {
    writeFileSync(path.join(folder, name), text);
    return execFileSync('ogrinfo', ['-al', ...options, path.join(folder, name)], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] });
  } finally {
    rmSync(folder, { recursive: true });
  }
}

it('routeLegs: courses and lengths of the geodesic, along the way', () => {
  const legs = routeLegs(ROUTE);
  expect(legs[0]).toEqual({ courseDeg: NaN, lengthM: 0, alongM: 0 });
  // Half a hundredth of a degree of the meridian at 46 N: 1/120 deg of 111 149 m a degree (WGS 84, Snyder 1987 table 3: 111.15 km).
  expect(Math.abs(legs[1]!.lengthM - 111_149 * 0.005)).toBeLessThan(0.1);
  expect(legs[1]!.courseDeg).toBeCloseTo(0, 9);
  expect(legs[2]!.courseDeg).toBeCloseTo(90, 2);
  expect(legs[3]!.alongM).toBeCloseTo(legs[1]!.lengthM + legs[2]!.lengthM + legs[3]!.lengthM, 9);
});

describe('writeRtz', () => {
  it('writeRtz: the whole text of a small route', () => {
    expect(writeRtz(ROUTE)).toBe(`<?xml version="1.0" encoding="UTF-8"?>
<route xmlns="http://www.cirm.org/RTZ/1/1" version="1.1">
  <routeInfo routeName="Hollin Sound 1" routeStatus="Not for navigation" validityPeriodStart="2026-05-04T12:00:00Z" validityPeriodStop="2026-05-04T12:25:00Z"/>
  <waypoints>
    <waypoint id="1" revision="0" name="launch">
      <position lat="46" lon="-30"/>
    </waypoint>
    <waypoint id="2" revision="0" name="1 start" radius="0.00216">
      <position lat="46.005" lon="-30"/>
      <leg starboardXTD="0.00162" portsideXTD="0.00162" geometryType="Loxodrome" speedMax="2.916" legInfo="transit 1"/>
    </waypoint>
    <waypoint id="3" revision="0" name="1 &quot;end&quot; &amp; &lt;turn&gt;">
      <position lat="46.005" lon="-29.99"/>
      <leg starboardXTD="0.00162" portsideXTD="0.00162" geometryType="Loxodrome" speedMax="2.916" legInfo="line 1"/>
    </waypoint>
    <waypoint id="4" revision="0" name="home">
      <position lat="46" lon="-30"/>
      <leg starboardXTD="0.00162" portsideXTD="0.00162" geometryType="Loxodrome" speedMax="2.916" legInfo="home"/>
    </waypoint>
  </waypoints>
  <schedules>
    <schedule id="1" name="planned">
      <calculated>
        <scheduleElement waypointId="1" etd="2026-05-04T12:00:00Z"/>
        <scheduleElement waypointId="2" eta="2026-05-04T12:06:10Z" speed="2.916"/>
        <scheduleElement waypointId="3" eta="2026-05-04T12:14:50Z" speed="2.916"/>
        <scheduleElement waypointId="4" eta="2026-05-04T12:25:00Z" speed="2.916"/>
      </calculated>
    </schedule>
  </schedules>
</route>
`);
  });

  it('writeRtz: refuses what the format cannot hold, by waypoint', () => {
    expect(() => writeRtz({ ...ROUTE, waypoints: ROUTE.waypoints.slice(0, 1) })).toThrow('route Hollin Sound 1: 1 waypoints: expected two or more');
    expect(() => writeRtz({ ...ROUTE, waypoints: [waypoint(46, -30, 'a'), waypoint(91, -30, 'b')] })).toThrow('waypoint 2: latDeg 91: expected -90 to 90');
    expect(() => writeRtz({ ...ROUTE, waypoints: [waypoint(46, -30, 'a'), waypoint(46, -31, 'b', { xtdM: 20_000 })] })).toThrow('waypoint 2: xtdM 20000: expected 0 to 18519 m');
    expect(() => writeRtz({ ...ROUTE, waypoints: [waypoint(46, -30, 'a'), waypoint(46, -31, 'b', { radiusM: -1 })] })).toThrow('waypoint 2: radiusM -1: expected 0 to 9260 m');
  });

  it.skipIf(!HAVE_RTZ)(`writeRtz: valid against the published schemas before and after 1.1, whatever the route${HAVE_RTZ ? '' : ' (SKIPPED: ../shared/data/formats is not here)'}`, () => {
    // What both 1.0 and 1.2 allow, 1.1 between them does: it adds nothing that is needed and 1.2 only asks for revision.
    for (const version of ['1_0', '1_2'] as const) {
      expect(rtzFaults(version, writeRtz(ROUTE, { vesselName: 'Whimbrel', author: 'crew', geometry: 'Orthodrome' }))).toBe('');
      fc.assert(
        fc.property(anyRoute, (route) => {
          expect(rtzFaults(version, writeRtz(route))).toBe('');
        }),
        { seed: 49, numRuns: 60 },
      );
      expect(rtzFaults(version, writeRtz(ROUTE).replace('Loxodrome', 'Straight'))).toMatch(/geometryType/);
    }
  });
});

describe('writeRouteKml, writeRouteCsv', () => {
  it.skipIf(!HAVE_SCHEMAS)(`writeRouteKml: valid against the KML 2.2 schema${SCHEMA_NOTE}`, () => {
    expect(schemaFaults('ogckml22.xsd', writeRouteKml(ROUTE))).toBe('');
  });

  it.skipIf(!HAVE_GDAL)(`writeRouteKml: GDAL reads the line and the waypoints back${HAVE_GDAL ? '' : ' (SKIPPED: ogrinfo is not here)'}`, () => {
    const read = gdalReads('route.kml', writeRouteKml(ROUTE));
    expect(read).toContain('LINESTRING (-30 46,-30 46.005,-29.99 46.005,-30 46)');
    expect(read.match(/Feature Count: (\d+)/g)).toEqual(['Feature Count: 1', 'Feature Count: 4']);
    expect(read).toContain('POINT (-29.99 46.005)');
    expect(read).toContain('1 "end" & <turn>');
  });

  it('writeRouteCsv: a row a waypoint, empty for what is not known', () => {
    const rows = writeRouteCsv(ROUTE).split('\r\n');
    expect(rows[0]).toBe('number,name,kind,line,latDeg,lonDeg,courseDeg,lengthM,speedMps,timeUtc,xtdM,radiusM');
    expect(rows[1]).toBe('1,launch,launch,,46,-30,,0.00,1.500,2026-05-04T12:00:00Z,3.00,');
    expect(rows[2]).toMatch(/^2,1 start,transit,1,46\.005,-30,0\.00,555\.7\d,1\.500,2026-05-04T12:06:10Z,3\.00,4\.00$/);
    expect(rows[3]).toMatch(/^3,"1 ""end"" & <turn>",line,1,46\.005,-29\.99,90\.00,/);
    expect(rows.length).toBe(6);
  });

  it.skipIf(!HAVE_GDAL)('writeRouteCsv: GDAL reads it back', () => {
    const read = gdalReads('route.csv', writeRouteCsv(ROUTE), '-oo', 'AUTODETECT_TYPE=YES', '-oo', 'X_POSSIBLE_NAMES=lonDeg', '-oo', 'Y_POSSIBLE_NAMES=latDeg');
    expect(read).toContain('Feature Count: 4');
    expect(read).toContain('name (String) = 1 "end" & <turn>');
    expect(read).toContain('POINT (-29.99 46.005)');
  });
});

describe('writeRouteNmea', () => {
  const fieldsOf = (sentence: string): string[] => sentence.slice(1, sentence.indexOf('*')).split(',');

  it('writeRouteNmea: the whole text of a small route', () => {
    const text = writeRouteNmea(ROUTE);
    const lines = text.split('\r\n');
    expect(lines.map((line) => line.replace(/\*..$/, ''))).toEqual([
      '$ECWPL,4600.00000,N,03000.00000,W,launch',
      '$ECWPL,4600.30000,N,03000.00000,W,1start',
      '$ECWPL,4600.30000,N,02959.40000,W,1endturn',
      '$ECWPL,4600.00000,N,03000.00000,W,home',
      '$ECRTE,1,1,c,1,launch,1start,1endturn,home',
      '',
    ]);
  });

  it('writeRouteNmea: an independent reader takes every sentence, its checksum too, and positions come back to 2 cm', () => {
    fc.assert(
      fc.property(anyRoute, (route) => {
        const sentences = writeRouteNmea(route, { routeId: 'A7' }).split('\r\n');
        expect(sentences.pop()).toBe('');
        const named: string[] = [];
        const listed: string[] = [];
        sentences.forEach((sentence, i) => {
          expect(sentence.length).toBeLessThanOrEqual(80);
          expect(parseUnsafeNmeaSentence(sentence).chxOk).toBe(true);
          const fields = fieldsOf(sentence);
          if (i < route.waypoints.length) {
            const [type, lat, latSide, lon, lonSide, id] = fields as [string, string, string, string, string, string];
            expect(type).toBe('ECWPL');
            const degrees = (text: string, digits: number): number => Number(text.slice(0, digits)) + Number(text.slice(digits)) / 60;
            expect(Number(lat.slice(2))).toBeLessThan(60);
            const one = route.waypoints[i]!;
            expect(Math.abs((latSide === 'S' ? -1 : 1) * degrees(lat, 2) - one.latDeg)).toBeLessThan(1.01e-7);
            expect(Math.abs((lonSide === 'W' ? -1 : 1) * degrees(lon, 3) - one.lonDeg)).toBeLessThan(1.01e-7);
            expect(id).toMatch(/^[A-Za-z0-9-]{1,8}$/);
            named.push(id);
          } else {
            expect(fields.slice(0, 5)).toEqual(['ECRTE', String(sentences.length - route.waypoints.length), String(i - route.waypoints.length + 1), 'c', 'A7']);
            listed.push(...fields.slice(5));
          }
        });
        expect(listed).toEqual(named);
        expect(new Set(named.map((id) => id.toUpperCase())).size).toBe(named.length);
      }),
      { seed: 50, numRuns: 200 },
    );
    expect(parseUnsafeNmeaSentence('$ECWPL,4600.00000,N,03000.00000,W,launch*00').chxOk).not.toBe(true);
  });

  it('writeRouteNmea: a list of many long names is parted into sentences of at most 82 signs', () => {
    for (const length of [1, 3, 5, 7, 8]) {
      const waypoints = Array.from({ length: 400 }, (_, i) => waypoint(46, -30, `${'abcdefgh'.slice(0, Math.max(0, length - 3))}${i}`));
      const lists = writeRouteNmea({ ...ROUTE, waypoints }).split('\r\n').filter((line) => line.startsWith('$ECRTE'));
      expect(lists.length).toBeGreaterThan(10);
      for (const list of lists) expect(list.length + 2).toBeLessThanOrEqual(82);
      // None is parted sooner than it must be: the next name would not have gone in with counts of four digits.
      expect(Math.max(...lists.map((list) => list.length))).toBeGreaterThan(64);
      expect(lists.flatMap((list) => fieldsOf(list).slice(5)).length).toBe(400);
    }
  });

  it('writeRouteNmea: 60 minutes become the next degree, and a refused talker is named', () => {
    const lines = writeRouteNmea({ ...ROUTE, waypoints: [waypoint(45.99999999999, -0.00000000001, 'a'), waypoint(-0.5, 179.99999999999, 'b')] }).split('\r\n');
    expect(lines[0]).toContain('4600.00000,N,00000.00000,E,a');
    expect(lines[1]).toContain('0030.00000,S,18000.00000,E,b');
    expect(() => writeRouteNmea(ROUTE, { talker: 'e' })).toThrow('talker e: expected two capital letters');
  });
});
