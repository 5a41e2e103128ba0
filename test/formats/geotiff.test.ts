import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { GeoTIFF, fromArrayBuffer } from 'geotiff';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { bytesSource, memorySink } from '../../src/base/byte-source.js';
import { CancelledError, FormatError, UnsupportedError } from '../../src/base/errors.js';
import { tiffHeader } from '../../src/formats/geotiff-header.js';
import { readGeoTiff } from '../../src/formats/geotiff-read.js';
import { writeGeoTiff } from '../../src/formats/geotiff-write.js';
import type { GeoTiffBand, GeoTiffFile, GeoTiffOptions, TiffArray } from '../../src/formats/geotiff-write.js';

const GDAL = existsSync('/usr/bin/gdalinfo') && existsSync('/usr/bin/gdal_translate');
const VALIDATOR = spawnSync('/usr/bin/python3', ['-c', 'import osgeo_utils.samples.validate_cloud_optimized_geotiff']).status === 0;

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'geotiff-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** A sea floor with a hole, another scale for the second band, whole numbers in the third. */
interface FloatFile extends GeoTiffFile {
  readonly bands: readonly (GeoTiffBand & { readonly values: Float32Array })[];
}

function surface(cols: number, rows: number): FloatFile {
  const make = (value: (row: number, col: number) => number): Float32Array =>
    Float32Array.from({ length: rows * cols }, (_, i) => value(Math.floor(i / cols), i % cols));
  const hole = (row: number, col: number): boolean => (row * 7 + col * 3) % 11 === 0 || (row > rows / 2 && row < rows / 2 + 20 && col > cols / 3);
  return {
    grid: { westM: 500_123.5, northM: 5_094_321.25, cellM: 0.5, cols, rows },
    epsg: 32626,
    bands: [
      { name: 'depth', unit: 'm', values: make((row, col) => (hole(row, col) ? NaN : 4 + Math.sin(row / 17) + Math.cos(col / 23))) },
      { name: 'uncertainty', unit: 'm', values: make((row, col) => (hole(row, col) ? NaN : 0.2 + row * 1e-4 + col * 1e-5)), overview: 'max' },
      { name: 'count', values: make((row, col) => (hole(row, col) ? NaN : (row + col) % 40)) },
    ],
    description: 'Hollin Sound. Not for navigation.',
    metadata: { DATUM: 'invented <low water> & "more"' },
  };
}

async function written(file: GeoTiffFile, options: GeoTiffOptions = {}): Promise<Uint8Array> {
  const sink = memorySink();
  const result = await writeGeoTiff(sink, file, options);
  const bytes = sink.bytes();
  expect(result.bytes).toBe(bytes.byteLength);
  return bytes;
}

const open = (bytes: Uint8Array): Promise<GeoTIFF> => fromArrayBuffer(bytes.slice().buffer);

function onDisk(name: string, bytes: Uint8Array): string {
  const path = join(folder, name);
  writeFileSync(path, bytes);
  return path;
}

function bits(values: ArrayBufferView): Buffer {
  return Buffer.from(values.buffer, values.byteOffset, values.byteLength);
}

const SIZES: readonly [number, number][] = [
  [1, 1], [1, 7], [255, 255], [256, 256], [257, 257], [511, 512], [512, 511], [513, 513], [512, 1], [1, 1025], [1025, 3], [1000, 700],
];

describe('writeGeoTiff', () => {
  it.each(SIZES)('another reader, %i x %i: every value of every band has its bits, with the place', async (cols, rows) => {
    const file = surface(cols, rows);
    const image = await (await open(await written(file))).getImage();
    expect([image.getWidth(), image.getHeight(), image.getSamplesPerPixel()]).toEqual([cols, rows, 3]);
    expect(image.getOrigin().slice(0, 2)).toEqual([500_123.5, 5_094_321.25]);
    expect(image.getResolution().slice(0, 2)).toEqual([0.5, -0.5]);
    expect(image.getGeoKeys()).toMatchObject({ GTModelTypeGeoKey: 1, GTRasterTypeGeoKey: 1, ProjectedCSTypeGeoKey: 32626, ProjLinearUnitsGeoKey: 9001 });
    const rasters = await image.readRasters();
    file.bands.forEach(({ name, values }, b) => expect(bits(rasters[b] as Float32Array).equals(bits(values)), name).toBe(true));
  });

  it.skipIf(!VALIDATOR)("every size, classic and BigTIFF: GDAL's validation of cloud-optimised files finds no error and no warning", async () => {
    const paths: string[] = [];
    for (const [cols, rows] of SIZES) {
      for (const big of [false, true]) paths.push(onDisk(`valid-${cols}-${rows}-${big}.tif`, await written(surface(cols, rows), { bigTiff: big })));
    }
    const script =
      'import sys, json\n' +
      'from osgeo_utils.samples.validate_cloud_optimized_geotiff import validate\n' +
      'print(json.dumps([validate(path, full_check=True)[:2] for path in sys.argv[1:]]))';
    const out = execFileSync('/usr/bin/python3', ['-c', script, ...paths], { encoding: 'utf8' });
    expect(JSON.parse(out)).toEqual(paths.map(() => [[], []]));
    // The same validation does complain about a file whose overviews come after its pixels.
    const plain = join(folder, 'late-overviews.tif');
    execFileSync('/usr/bin/gdal_translate', ['-q', '-co', 'TILED=YES', paths.at(-1)!, plain], { stdio: 'pipe' });
    execFileSync('/usr/bin/gdaladdo', ['-q', plain, '2'], { stdio: 'pipe' });
    const [[, errors]] = JSON.parse(execFileSync('/usr/bin/python3', ['-c', script, plain], { encoding: 'utf8' })) as [[string[], string[]]];
    expect(errors.length).toBeGreaterThan(0);
  });

  it.skipIf(!GDAL).each(SIZES)('%i x %i: GDAL reads every value with its bits', async (cols, rows) => {
    const file = surface(cols, rows);
    for (const big of [false, true]) {
      const path = onDisk(`values-${cols}-${rows}-${big}.tif`, await written(file, { bigTiff: big }));
      execFileSync('/usr/bin/gdal_translate', ['-q', '-of', 'ENVI', '-co', 'INTERLEAVE=BSQ', path, `${path}.raw`], { stdio: 'pipe' });
      expect(readFileSync(`${path}.raw`).equals(Buffer.concat(file.bands.map(({ values }) => bits(values))))).toBe(true);
    }
  });

  it.skipIf(!GDAL)('gdalinfo: frame, place, layout, names, units, description, no-data, overviews', async () => {
    const path = onDisk('info.tif', await written(surface(1300, 700)));
    const info = JSON.parse(execFileSync('/usr/bin/gdalinfo', ['-json', path], { encoding: 'utf8' })) as {
      size: number[];
      geoTransform: number[];
      coordinateSystem: { wkt: string };
      metadata: Record<string, Record<string, string>>;
      bands: { description: string; unit?: string; noDataValue: unknown; type: string; block: number[]; overviews: { size: number[] }[] }[];
    };
    expect(info.size).toEqual([1300, 700]);
    expect(info.geoTransform).toEqual([500_123.5, 0.5, 0, 5_094_321.25, 0, -0.5]);
    expect(info.coordinateSystem.wkt).toContain('ID["EPSG",32626]');
    expect(info.metadata.IMAGE_STRUCTURE).toMatchObject({ LAYOUT: 'COG', COMPRESSION: 'DEFLATE', INTERLEAVE: 'PIXEL' });
    expect(info.metadata['']).toMatchObject({ AREA_OR_POINT: 'Area', TIFFTAG_IMAGEDESCRIPTION: 'Hollin Sound. Not for navigation.', DATUM: 'invented <low water> & "more"' });
    expect(info.bands.map(({ description, unit, type, noDataValue }) => [description, unit ?? '', type, String(noDataValue).toLowerCase()])).toEqual([
      ['depth', 'm', 'Float32', 'nan'],
      ['uncertainty', 'm', 'Float32', 'nan'],
      ['count', '', 'Float32', 'nan'],
    ]);
    expect(info.bands[0]!.block).toEqual([512, 512]);
    expect(info.bands[0]!.overviews.map(({ size }) => size)).toEqual([[650, 350], [325, 175]]);
  });

  it.skipIf(!GDAL)('gdal_translate -of XYZ: the centre of each cell lies where its value holds', async () => {
    const file = surface(5, 4);
    const path = onDisk('xyz.tif', await written(file));
    const rows = execFileSync('/usr/bin/gdal_translate', ['-q', '-of', 'XYZ', '-b', '1', path, '/vsistdout/'], { encoding: 'utf8' }).trim().split('\n');
    expect(rows).toHaveLength(20);
    rows.forEach((row, i) => {
      const [x, y, z] = row.split(' ').map(Number) as [number, number, number];
      expect([x, y]).toEqual([500_123.5 + ((i % 5) + 0.5) * 0.5, 5_094_321.25 - (Math.floor(i / 5) + 0.5) * 0.5]);
      const value = file.bands[0]!.values[i]!;
      if (Number.isNaN(value)) expect(z).toBeNaN();
      else expect(z).toBeCloseTo(value, 5);
    });
  });

  it.skipIf(!GDAL)('southern hemisphere: EPSG 327zz', async () => {
    const file = { ...surface(4, 4), epsg: 32733 };
    const info = execFileSync('/usr/bin/gdalinfo', [onDisk('south.tif', await written(file))], { encoding: 'utf8' });
    expect(info).toContain('WGS 84 / UTM zone 33S');
    expect(info).toContain('ID["EPSG",32733]');
  });

  // The oracle is GDAL's gdaladdo -r average, which also halves step by step and leaves no-data out. Sizes are multiples
  // of 4: at odd edges GDAL resamples by a factor that is not 2; those are checked by brute force below.
  it.skipIf(!GDAL)('overviews, mean: as gdaladdo averages, holes included', async () => {
    const file = surface(1304, 704);
    const path = onDisk('overviews.tif', await written({ ...file, bands: [file.bands[0]!] }));
    const plain = join(folder, 'plain.tif');
    execFileSync('/usr/bin/gdal_translate', ['-q', path, plain], { stdio: 'pipe' });
    execFileSync('/usr/bin/gdaladdo', ['-q', '-r', 'average', plain, '2', '4'], { stdio: 'pipe' });
    const ours = await open(new Uint8Array(readFileSync(path)));
    const theirs = await open(new Uint8Array(readFileSync(plain)));
    expect(await ours.getImageCount()).toBe(3);
    for (const level of [1, 2]) {
      const a = await (await ours.getImage(level)).readRasters();
      const b = await (await theirs.getImage(level)).readRasters();
      expect([a.width, a.height]).toEqual([b.width, b.height]);
      const [x, y] = [a[0] as Float32Array, b[0] as Float32Array];
      let worst = 0;
      let nans = 0;
      x.forEach((value, i) => {
        if (Number.isNaN(value) !== Number.isNaN(y[i]!)) expect([level, i, value]).toEqual([level, i, y[i]]);
        if (Number.isNaN(value)) nans++;
        else worst = Math.max(worst, Math.abs(value - y[i]!));
      });
      expect(nans).toBeGreaterThan(100);
      expect(worst).toBeLessThan(2e-6); // a few roundings of a float32 below 6
    }
  });

  it('overviews, mean: odd edges and holes on every level (brute force from the level below)', async () => {
    const file = surface(1301, 705);
    const tiff = await open(await written(file));
    const levels = [];
    for (let i = 0; i < (await tiff.getImageCount()); i++) levels.push(await (await tiff.getImage(i)).readRasters());
    expect(levels.map(({ width, height }) => [width, height])).toEqual([[1301, 705], [651, 353], [326, 177]]);
    for (let level = 1; level < levels.length; level++) {
      const below = levels[level - 1]!;
      const here = levels[level]!;
      for (const b of [0, 2]) {
        for (let i = 0; i < here.width * here.height; i++) {
          const [row, col] = [Math.floor(i / here.width) * 2, (i % here.width) * 2];
          const four: number[] = [];
          for (const [r, c] of [[row, col], [row, col + 1], [row + 1, col], [row + 1, col + 1]] as const) {
            if (r < below.height && c < below.width) four.push((below[b] as Float32Array)[r * below.width + c]!);
          }
          const some = four.filter((value) => !Number.isNaN(value));
          const expected = some.length === 0 ? NaN : Math.fround(some.reduce((sum, value) => sum + value) / some.length);
          const found = (here[b] as Float32Array)[i]!;
          if (!Object.is(found, expected)) expect([level, b, i, found]).toEqual([level, b, i, expected]);
        }
      }
    }
  });

  it('overviews: max, min and nearest, and whole numbers with a no-data value (brute force)', async () => {
    const [cols, rows] = [600, 301];
    for (const overview of ['max', 'min', 'nearest', 'mean'] as const) {
      const values = Int16Array.from({ length: cols * rows }, (_, i) => (i % 5 === 0 ? -999 : ((i * 7919) % 2001) - 1000));
      const bytes = await written({ ...surface(1, 1), grid: { westM: 0, northM: 0, cellM: 1, cols, rows }, bands: [{ name: 'x', values, overview }], noData: -999 });
      const tiff = await open(bytes);
      expect(await tiff.getImageCount()).toBe(2);
      const level = await (await tiff.getImage(1)).readRasters();
      const found = level[0] as Int16Array;
      for (let row = 0; row < 151; row++) {
        for (let col = 0; col < 300; col++) {
          const four = [[0, 0], [0, 1], [1, 0], [1, 1]].filter(([r]) => row * 2 + r! < rows).map(([r, c]) => values[(row * 2 + r!) * cols + col * 2 + c!]!);
          const some = four.filter((value) => value !== -999);
          const expected =
            overview === 'nearest' ? four[0]! : some.length === 0 ? -999 : overview === 'max' ? Math.max(...some) : overview === 'min' ? Math.min(...some) : Math.round(some.reduce((a, b) => a + b) / some.length);
          if (found[row * 300 + col] !== expected) expect([overview, row, col, found[row * 300 + col]]).toEqual([overview, row, col, expected]);
        }
      }
    }
  });

  it.each<[string, TiffArray]>([
    ['uint8', Uint8Array.from({ length: 300 * 270 }, (_, i) => (i * i) % 256)],
    ['uint16', Uint16Array.from({ length: 300 * 270 }, (_, i) => (i * i) % 65536)],
    ['int16', Int16Array.from({ length: 300 * 270 }, (_, i) => ((i * i) % 65536) - 32768)],
    ['int32', Int32Array.from({ length: 300 * 270 }, (_, i) => Math.imul(i, 2654435761))],
    ['float32', Float32Array.from({ length: 300 * 270 }, (_, i) => [NaN, Infinity, -Infinity, -0, 1e-45, 3.4e38, i][i % 7]!)],
  ])('%s: extremes keep their bits in one and two bands', async (name, values) => {
    for (const bands of [1, 2]) {
      const file: GeoTiffFile = { ...surface(1, 1), grid: { westM: 0, northM: 0, cellM: 1, cols: 300, rows: 270 }, bands: Array.from({ length: bands }, () => ({ name, values })) };
      const bytes = await written(file);
      const rasters = await (await (await open(bytes)).getImage()).readRasters();
      for (let b = 0; b < bands; b++) expect(bits(rasters[b] as Uint8Array).equals(bits(values))).toBe(true);
      if (!GDAL) continue;
      const path = onDisk(`${name}-${bands}.tif`, bytes);
      execFileSync('/usr/bin/gdal_translate', ['-q', '-of', 'ENVI', '-co', 'INTERLEAVE=BSQ', path, `${path}.raw`], { stdio: 'pipe' });
      expect(readFileSync(`${path}.raw`).equals(Buffer.concat(Array.from({ length: bands }, () => bits(values))))).toBe(true);
    }
  });

  it('nothing but no-data: every value is NaN, on every level', async () => {
    const values = new Float32Array(700 * 600).fill(NaN);
    const tiff = await open(await written({ ...surface(1, 1), grid: { westM: 0, northM: 0, cellM: 1, cols: 700, rows: 600 }, bands: [{ name: 'depth', values }] }));
    for (let i = 0; i < (await tiff.getImageCount()); i++) {
      const rasters = await (await tiff.getImage(i)).readRasters();
      expect((rasters[0] as Float32Array).every(Number.isNaN)).toBe(true);
    }
  });

  it('bytes: the same for the same input, by array or by rows, with every tile held or none', async () => {
    const file = surface(1100, 900);
    const bytes = await written(file);
    expect(bits(await written(surface(1100, 900))).equals(bits(bytes))).toBe(true);
    expect(bits(await written(file, { heldBytesMax: 0 })).equals(bits(bytes))).toBe(true);
    expect(bits(await written(file, { heldBytesMax: 300_000 })).equals(bits(bytes))).toBe(true);
    let widest = 0;
    const byRows: GeoTiffFile = {
      ...file,
      type: 'float32',
      bands: file.bands.map((band) => ({
        ...band,
        values: (rowStart: number, rowEnd: number) => {
          widest = Math.max(widest, rowEnd - rowStart);
          return Promise.resolve(band.values.slice(rowStart * 1100, rowEnd * 1100));
        },
      })),
    };
    expect(bits(await written(byRows, { heldBytesMax: 0 })).equals(bits(bytes))).toBe(true);
    expect(widest).toBe(512);
  });

  it('BigTIFF: from the first byte past 4 GiB on, with offsets that count so far', () => {
    const tile = 2 ** 30;
    const description = (last: number): Parameters<typeof tiffHeader>[0] => ({
      images: [{ cols: 1024, rows: 1024, tileBytes: [tile, tile, tile, last] }],
      side: 512,
      type: 'uint8',
      bands: [{ name: 'x' }],
      grid: { westM: 0, northM: 0, cellM: 1, cols: 1024, rows: 1024 },
      epsg: 32626,
      noData: null,
      description: '',
      metadata: {},
    });
    const start = tiffHeader(description(0)).fileBytes - 3 * tile;
    const fits = tiffHeader(description(2 ** 32 - 1 - 3 * tile - start));
    expect([fits.big, fits.fileBytes]).toEqual([false, 2 ** 32 - 1]);
    const passes = tiffHeader(description(2 ** 32 - 3 * tile - start));
    expect(passes.big).toBe(true);
    const view = new DataView(passes.bytes.buffer);
    expect([view.getUint16(2, true), view.getUint16(4, true)]).toEqual([43, 8]);
    const directory = Number(view.getBigUint64(8, true));
    const tags = Array.from({ length: Number(view.getBigUint64(directory, true)) }, (_, i) => directory + 8 + i * 20);
    const offsets = tags.find((at) => view.getUint16(at, true) === 324)!;
    expect([view.getUint16(offsets + 2, true), view.getBigUint64(offsets + 4, true)]).toEqual([16, 4n]);
    const values = Number(view.getBigUint64(offsets + 12, true));
    const first = passes.bytes.byteLength + 4;
    expect([0, 1, 2, 3].map((i) => Number(view.getBigUint64(values + i * 8, true)))).toEqual([0, 1, 2, 3].map((i) => first + i * (tile + 8)));
  });

  it('progress and cancelling', async () => {
    const told: number[] = [];
    await written(surface(600, 1100), { progress: (_, done) => told.push(done) });
    expect(told).toEqual([512 / 1100, 1024 / 1100, 1]);
    await expect(written(surface(600, 600), { signal: AbortSignal.abort() })).rejects.toThrow(CancelledError);
  });

  it('the caller: what cannot be written is refused by name', async () => {
    const file = surface(4, 3);
    const [band] = file.bands;
    await expect(written({ ...file, epsg: 4326 })).rejects.toThrow('epsg 4326: expected a UTM zone on WGS 84');
    await expect(written({ ...file, epsg: 32661 })).rejects.toThrow(RangeError);
    await expect(written({ ...file, grid: { ...file.grid, cols: 0 } })).rejects.toThrow('grid.cols 0');
    await expect(written({ ...file, grid: { ...file.grid, cellM: NaN } })).rejects.toThrow('grid: expected finite places');
    await expect(written({ ...file, bands: [] })).rejects.toThrow('bands: expected at least one');
    await expect(written({ ...file, bands: [{ ...band!, values: new Float32Array(11) }] })).rejects.toThrow('band depth: expected 3 x 4 values, found 11');
    await expect(written({ ...file, bands: [band!, { name: 'n', values: new Uint8Array(12) }] })).rejects.toThrow('band n: expected float32 like the rest, found uint8');
    await expect(written({ ...file, bands: [{ name: 'n', values: () => new Float32Array(12) }] })).rejects.toThrow('type: needed where every band');
    await expect(written({ ...file, bands: [{ name: 'n', values: () => new Float32Array(5) }], type: 'float32' })).rejects.toThrow('expected 12 values of float32, found 5');
    await expect(written({ ...file, noData: 0 })).rejects.toThrow('float bands have NaN');
    await expect(written({ ...file, bands: [{ name: 'n', values: new Uint8Array(12) }], noData: 256 })).rejects.toThrow('noData 256: not a value of uint8');
    await expect(written(file, { tileSide: 100 })).rejects.toThrow('tileSide 100');
  });
});

describe('readGeoTiff', () => {
  it('round trip: grid, code, names, units, description and values', async () => {
    const file = surface(600, 300);
    const result = await readGeoTiff(bytesSource('surface.tif', await written(file)));
    expect(result).toMatchObject({ kind: 'utm', epsg: 32626, grid: file.grid, description: file.description });
    expect(result.bands.map(({ name, unit }) => [name, unit])).toEqual([['depth', 'm'], ['uncertainty', 'm'], ['count', '']]);
    file.bands.forEach(({ values }, b) => expect(bits(result.bands[b]!.values).equals(bits(values))).toBe(true));
    const one = await readGeoTiff(bytesSource('surface.tif', await written(file)), { bands: [2] });
    expect(one.bands.map(({ name }) => name)).toEqual(['count']);
    await expect(readGeoTiff(bytesSource('surface.tif', await written(file)), { bands: [3] })).rejects.toThrow('bands: 3: surface.tif has 3, numbered from 0');
  });

  it('whole numbers: the no-data value becomes NaN', async () => {
    const values = Int16Array.of(1, -1, 300, -999);
    const bytes = await written({ ...surface(1, 1), grid: { westM: 0, northM: 0, cellM: 1, cols: 2, rows: 2 }, bands: [{ name: 'x', values }], noData: -999 });
    const { bands } = await readGeoTiff(bytesSource('x.tif', bytes));
    expect([...bands[0]!.values]).toEqual([1, -1, 300, NaN]);
  });

  it.skipIf(!GDAL)('files by GDAL: strips, other compressions, longitude and latitude, points as cells, another frame', async () => {
    const file = surface(90, 70);
    const utm = onDisk('base.tif', await written(file));
    const make = (name: string, ...args: string[]): Uint8Array => {
      const path = join(folder, name);
      execFileSync('/usr/bin/gdal_translate', ['-q', ...args, utm, path], { stdio: 'pipe' });
      return new Uint8Array(readFileSync(path));
    };
    const lzw = await readGeoTiff(bytesSource('lzw.tif', make('lzw.tif', '-co', 'COMPRESS=LZW', '-co', 'PREDICTOR=3', '-co', 'INTERLEAVE=BAND')));
    expect(lzw).toMatchObject({ kind: 'utm', grid: file.grid });
    file.bands.forEach(({ values }, b) => expect(bits(lzw.bands[b]!.values).equals(bits(values))).toBe(true));

    const point = await readGeoTiff(bytesSource('point.tif', make('point.tif', '-mo', 'AREA_OR_POINT=Point')));
    expect(point.grid).toEqual(file.grid);

    const scaled = await readGeoTiff(bytesSource('scaled.tif', make('scaled.tif', '-b', '3', '-a_scale', '0.5', '-a_offset', '10')));
    const [first, second] = [file.bands[2]!.values[1]!, scaled.bands[0]!.values[1]!];
    expect(second).toBe(first * 0.5 + 10);

    const lonlat = await readGeoTiff(bytesSource('lonlat.tif', make('lonlat.tif', '-a_srs', 'EPSG:4326', '-a_ullr', '-30', '46.5', '-29.9', '46.43')));
    expect(lonlat.kind).toBe('lonlat');
    expect(lonlat.grid).toMatchObject({ westDeg: -30, northDeg: 46.5, cols: 90, rows: 70 });

    await expect(readGeoTiff(bytesSource('web.tif', make('web.tif', '-a_srs', 'EPSG:3857')))).rejects.toThrow(/web\.tif: reference system EPSG:3857: expected a UTM zone on WGS 84 .* reproject it first/);
    await expect(readGeoTiff(bytesSource('oblong.tif', make('oblong.tif', '-a_ullr', '0', '70', '180', '0')))).rejects.toThrow('cells of 2 by 1 m: expected square cells');
    await expect(readGeoTiff(bytesSource('bare.tif', make('bare.tif', '-co', 'PROFILE=BASELINE')))).rejects.toThrow(UnsupportedError);
  });

  it('damage: cut short anywhere and bytes changed in the header give an error of ours, or a raster', async () => {
    const bytes = await written(surface(20, 18), { tileSide: 16 });
    let refused = 0;
    const attempt = async (damaged: Uint8Array, what: string): Promise<void> => {
      try {
        await readGeoTiff(bytesSource('surface.tif', damaged));
      } catch (error) {
        refused++;
        expect(['FormatError', 'UnsupportedError'], `${what}: ${String(error)}`).toContain((error as Error).name);
      }
    };
    for (let end = 0; end < bytes.length; end += 13) await attempt(bytes.subarray(0, end), `cut at ${end}`);
    expect(refused).toBe(Math.ceil(bytes.length / 13));
    for (let at = 0; at < Math.min(1400, bytes.length); at++) {
      const damaged = bytes.slice();
      damaged[at]! ^= 0x81;
      await attempt(damaged, `byte ${at}`);
    }
    await expect(readGeoTiff(bytesSource('empty.tif', new Uint8Array(0)))).rejects.toThrow(FormatError);
  });
});
