import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import initSqlJs, { type SqlJsStatic } from 'sql.js';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { memorySink } from '../../src/base/byte-source.js';
import { writeDxfContours } from '../../src/formats/dxf-write.js';
import { writeGeoPackage, type GeoPackageFile } from '../../src/formats/geopackage-write.js';
import { utmWkt } from '../../src/formats/utm-wkt.js';
import { pictureAuxText, worldFileText } from '../../src/formats/world-file.js';
import { writeXyz } from '../../src/formats/xyz-write.js';
import { createFrame } from '../../src/geo/frame.js';
import { shadedSurface } from '../../src/report/chart-shaded.js';

const OGR = existsSync('/usr/bin/ogrinfo');
const GDAL = existsSync('/usr/bin/gdalinfo');
const SRS = existsSync('/usr/bin/gdalsrsinfo');
const FRAME = { kind: 'utm', zone: 26, hemisphere: 'north' } as const;

let folder = '';
let engine: SqlJsStatic;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'hand-over-'));
  engine = await initSqlJs();
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** What a program of GDAL says; anything on its error output fails the test. */
function say(program: string, ...args: string[]): string {
  const run = spawnSync(`/usr/bin/${program}`, args, { encoding: 'utf8', maxBuffer: 1 << 28 });
  expect(run.stderr).toBe('');
  expect(run.status).toBe(0);
  return run.stdout;
}

function onDisk(name: string, content: string | Uint8Array): string {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
}

describe('utmWkt', () => {
  it.skipIf(!SRS).each([[26, 'north'], [1, 'north'], [60, 'south'], [31, 'south']] as const)('zone %i %s: the same to PROJ as its EPSG code', (zone, hemisphere) => {
    const { epsg } = createFrame({ kind: 'utm', zone, hemisphere });
    const ours = say('gdalsrsinfo', '--single-line', '-o', 'wkt1', onDisk('ours.prj', utmWkt({ kind: 'utm', zone, hemisphere })));
    expect(ours.trim()).toBe(say('gdalsrsinfo', '--single-line', '-o', 'wkt1', `EPSG:${epsg}`).trim());
  });
});

describe('writeGeoPackage', () => {
  const file = (n = 5): GeoPackageFile => ({
    frame: FRAME,
    timeS: Date.UTC(2026, 5, 17) / 1000,
    provenance: 'Hollin Sound. NOT FOR NAVIGATION.\nfrom "logs"',
    layers: [
      {
        kind: 'POINT', name: 'soundings', title: 'Soundings', description: 'metres', columns: [['time_utc', 'DATETIME'], ['depth_m', 'REAL'], ['good', 'BOOLEAN'], ['reason', 'TEXT'], ['line', 'INTEGER']],
        n, xM: Float64Array.from({ length: n }, (_, i) => (i === 2 ? NaN : 500_000 + i)), yM: Float64Array.from({ length: n }, (_, i) => 5_100_000 + 2 * i),
        row: (i) => ['2026-06-17T00:00:01.250Z', i === 1 ? NaN : i + 0.125, i % 2, i === 3 ? "it's <odd> é" : null, i],
      },
      { kind: 'LINESTRING', name: 'contours', title: 'Contours', description: '', columns: [['depth_m', 'REAL']], features: [{ shape: Float64Array.of(1, 2, 3, 4, 5, 0), row: [2.5] }] },
      {
        kind: 'POLYGON', name: 'area', title: 'Area', description: '', columns: [['number', 'INTEGER']],
        features: [{ shape: { outer: Float64Array.of(0, 0, 10, 0, 10, 10, 0, 10), holes: [Float64Array.of(2, 2, 2, 4, 4, 4, 4, 2)] }, row: [1] }],
      },
      { kind: 'POINT', name: 'finds', title: 'Finds', description: '', columns: [['kind', 'TEXT']], n: 0, xM: [], yM: [], row: () => [] },
    ],
  });

  it.skipIf(!OGR)('is read by ogrinfo without a warning: layers, counts, types, values, extents, frame', () => {
    const path = onDisk('ours.gpkg', writeGeoPackage(engine, file()));
    const text = say('ogrinfo', '-al', path);
    expect([...text.matchAll(/Layer name: (\w+)\n[\s\S]*?Geometry: ([\w ]+)\nFeature Count: (\d+)/g)].map((found) => found.slice(1, 4))).toEqual([
      ['soundings', 'Point', '4'], ['contours', 'Line String', '1'], ['area', 'Polygon', '1'], ['finds', 'Point', '0'],
    ]);
    expect(text).toContain('Extent: (500000.000000, 5100000.000000) - (500004.000000, 5100008.000000)');
    expect(text).toContain('time_utc (DateTime) = 2026/06/17 00:00:01.250+00');
    expect(text).toContain("reason (String) = it's <odd> é");
    expect(text).toContain('depth_m (Real) = (null)');
    expect(text).toContain('POINT (500003 5100006)');
    expect(text).toContain('LINESTRING (1 2,3 4,5 0)');
    expect(text).toContain('POLYGON ((0 0,10 0,10 10,0 10,0 0),(2 2,2 4,4 4,4 2,2 2))');
    expect(text.match(/ID\["EPSG",32626\]/g)).toHaveLength(4);
    expect(text).toContain('NOT FOR NAVIGATION');
  });

  it('header, application id, version, envelopes: as the clauses have them', () => {
    const bytes = writeGeoPackage(engine, file());
    const view = new DataView(bytes.buffer, bytes.byteOffset);
    /* SQLite's header: user version at 60, application id at 68. GeoPackage 1.3.0 clause 1.1.1.1.1. */
    expect([view.getUint32(60), view.getUint32(68)]).toEqual([10300, 0x47504b47]);
    const db = new engine.Database(bytes);
    expect(db.exec('PRAGMA integrity_check')[0]!.values).toEqual([['ok']]);
    expect(db.exec('PRAGMA foreign_key_check')).toEqual([]);
    const blob = db.exec('SELECT geom FROM contours')[0]!.values[0]![0] as Uint8Array;
    const geometry = new DataView(blob.buffer, blob.byteOffset, blob.byteLength);
    expect([String.fromCharCode(blob[0]!, blob[1]!), blob[2], blob[3], geometry.getInt32(4, true)]).toEqual(['GP', 0, 0b11, 32626]);
    expect([0, 1, 2, 3].map((i) => geometry.getFloat64(8 + 8 * i, true))).toEqual([1, 5, 0, 4]);
    expect(db.exec('SELECT srs_id FROM gpkg_spatial_ref_sys ORDER BY srs_id')[0]!.values.flat()).toEqual([-1, 0, 4326, 32626]);
    db.close();
  });

  it('equal input gives equal bytes, whenever it is written', async () => {
    const first = writeGeoPackage(engine, file());
    await new Promise((resolve) => setTimeout(resolve, 1100));
    expect(Buffer.from(writeGeoPackage(engine, file())).equals(Buffer.from(first))).toBe(true);
  });

  it('300 000 soundings: all there, in under a minute on a busy machine', () => {
    const bytes = writeGeoPackage(engine, file(300_000));
    if (OGR) expect(say('ogrinfo', '-so', onDisk('large.gpkg', bytes), 'soundings')).toContain('Feature Count: 299999');
  }, 60_000);

  it('refuses a name that would break the table', () => {
    const [first] = file().layers;
    expect(() => writeGeoPackage(engine, { ...file(), layers: [{ ...first!, name: 'a"; DROP' }] })).toThrow('expected letters, figures and underscores');
  });
});

describe('writeDxfContours', () => {
  it.skipIf(!OGR)('is read by ogrinfo: lines and rings at their elevation, on their layers', async () => {
    const sink = memorySink();
    const ring = Float64Array.of(0, 0, 10, 0, 10, 10, 0, 0);
    await writeDxfContours(sink, { depthM: [5, 2.5, 0], lines: [ring, Float64Array.of(1.2345, 2, 3, 4), Float64Array.of(500_000.1, 5_100_000, 500_001, 5_100_001)], majorM: 5, remarks: ['é not for navigation'] });
    const path = onDisk('contours.dxf', sink.bytes());
    const text = say('ogrinfo', '-al', path);
    expect(text).toContain('Feature Count: 3');
    expect([...text.matchAll(/Layer \(String\) = (\w+)/g)].map((found) => found[1])).toEqual(['CONTOUR_MAJOR', 'CONTOUR_MINOR', 'CONTOUR_MAJOR']);
    expect(text).toMatch(/LINESTRING Z \(0 0 -5,10 0 -5,10 10 -5,0 0 -5\)/);
    expect(text).toMatch(/LINESTRING Z \(1\.23[45] 2(\.0)? -2\.5,3 4 -2\.5\)/);
    expect(text).toMatch(/LINESTRING Z \(500000\.1 5100000(\.0)? 0,500001 5100001 0\)/);
  });

  it('none: still a whole drawing', async () => {
    const sink = memorySink();
    await writeDxfContours(sink, { depthM: [], lines: [], majorM: 5, remarks: [] });
    const text = new TextDecoder().decode(sink.bytes());
    expect(text.endsWith('  0\r\nEOF\r\n')).toBe(true);
    if (OGR) expect(say('ogrinfo', '-al', onDisk('none.dxf', text))).toContain('Feature Count: 0');
  });
});

describe('writeXyz', () => {
  it('leaves out what has no depth or place, keeps millimetres', async () => {
    const sink = memorySink();
    const depths = [1.2344, NaN, -0.5, 3];
    expect(await writeXyz(sink, 4, (i) => [i === 3 ? NaN : i, 5_100_000.0004], (i) => depths[i]!)).toBe(2);
    expect(new TextDecoder().decode(sink.bytes())).toBe('0.000 5100000.000 1.234\r\n2.000 5100000.000 -0.500\r\n');
  });
});

describe('shadedSurface with its world file', () => {
  const [cols, rows] = [40, 30];
  const grid = { westM: 500_000, northM: 5_100_000, cellM: 0.5, cols, rows };
  const depthM = Float32Array.from({ length: cols * rows }, (_, i) => 3 + Math.abs((i % cols) - 20) / 4);
  depthM.fill(NaN, 0, 5);

  it.skipIf(!GDAL)('gdalinfo: size, place, frame, opacity, what it is', () => {
    const { png } = shadedSurface({ grid, depthM, uncertaintyM: depthM, count: depthM }, 1, { Title: 'Hollin' });
    onDisk('shade.pgw', worldFileText(grid));
    onDisk('shade.png.aux.xml', pictureAuxText(FRAME, { caution: 'not for navigation' }));
    const text = say('gdalinfo', '-checksum', onDisk('shade.png', png));
    expect(text).toContain('Size is 40, 30');
    expect(text).toContain('Origin = (500000.000000000000000,5100000.000000000000000)');
    expect(text).toContain('Pixel Size = (0.500000000000000,-0.500000000000000)');
    expect(text).toContain('ID["EPSG",32626]');
    expect(text).toContain('caution=not for navigation');
    expect(text).toContain('Title=Hollin');
    expect(text.match(/ColorInterp=(Red|Green|Blue|Alpha)/g)).toHaveLength(4);
  });

  it.skipIf(!GDAL)('a slope to the north-west is lighter than one turned from it; no data is see-through', () => {
    const ridge = Float32Array.from(depthM, (_, i) => 10 + Math.abs((i % cols) - 20 + (Math.floor(i / cols) - 15)) / 4);
    ridge.fill(NaN, 0, 5);
    const { png } = shadedSurface({ grid, depthM: ridge, uncertaintyM: ridge, count: ridge }, 1);
    const path = onDisk('ridge.png', png);
    const at = (x: number, y: number): number[] => execFileSync('/usr/bin/gdallocationinfo', ['-valonly', path, String(x), String(y)], { encoding: 'utf8' }).trim().split('\n').map(Number);
    expect(at(8, 8)[0]).toBeGreaterThan(at(32, 22)[0]!);
    expect(at(0, 0)[3]).toBe(0);
    expect(at(8, 8)[3]).toBe(255);
  });
});
