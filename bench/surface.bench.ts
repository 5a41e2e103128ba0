import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { createRandom } from '../src/base/random.js';
import { filledSurface, soundingSurface } from '../src/depths/surface.js';
import { interpolateLinear } from '../src/depths/triangulate.js';
import type { BenchResult } from './bench.js';
import { keep, measureInTurn } from './bench.js';
import { hasProgram } from './has-program.js';

const POINTS = 1_000_000;
const REPEATS = 5;
const BUDGET = 5;
const GRID = { westM: 0, northM: 1000, cellM: 1, cols: 1000, rows: 1000 };

function columns(file: string): { xM: Float64Array; yM: Float64Array; depthM: Float64Array; tvuM: Float32Array } {
  const bytes = readFileSync(file);
  const xyz = new Float64Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
  const column = (k: number) => {
    const out = new Float64Array(POINTS);
    for (let i = 0; i < POINTS; i++) out[i] = xyz[3 * i + k]!;
    return out;
  };
  return { xM: column(0), yM: column(1), depthM: column(2), tvuM: new Float32Array(POINTS).fill(0.3) };
}

/**
 * A linear surface from 1 M points against gdal_grid linear. Ours once as the same work (every point triangulated, no
 * blocks, no uncertainty) and once as a survey's surface (blocks, fill distance, uncertainty). Both from files of the same
 * points: FlatGeobuf for GDAL (its lowest CPU time; a CSV file through VRT is within a tenth), doubles for ours.
 */
export async function run(): Promise<BenchResult[]> {
  const folder = mkdtempSync(path.join(tmpdir(), 'surface-'));
  try {
    const random = createRandom(20260302);
    const xyz = new Float64Array(3 * POINTS);
    for (let i = 0; i < POINTS; i++) {
      const x = Math.round(random.uniform() * 1e7) / 1e4;
      const y = Math.round(random.uniform() * 1e7) / 1e4;
      xyz.set([x, y, Math.round((10 + 2 * Math.sin(x / 30) + Math.cos(y / 50) + 0.1 * random.normal()) * 1e4) / 1e4], 3 * i);
    }
    const file = path.join(folder, 'points.bin');
    writeFileSync(file, xyz);
    const peers: (() => unknown)[] = [];
    if (hasProgram('gdal_grid')) {
      const lines = Array.from({ length: POINTS }, (_, i) => `${xyz[3 * i]},${xyz[3 * i + 1]},${xyz[3 * i + 2]}`);
      writeFileSync(path.join(folder, 'points.csv'), `x,y,z\n${lines.join('\n')}\n`);
      writeFileSync(
        path.join(folder, 'points.vrt'),
        '<OGRVRTDataSource><OGRVRTLayer name="points"><SrcDataSource>points.csv</SrcDataSource><GeometryType>wkbPoint25D</GeometryType>' +
          '<GeometryField encoding="PointFromColumns" x="x" y="y" z="z"/></OGRVRTLayer></OGRVRTDataSource>',
      );
      execFileSync('ogr2ogr', ['-f', 'FlatGeobuf', '-lco', 'SPATIAL_INDEX=NO', 'points.fgb', 'points.vrt'], { cwd: folder });
      const command = '-q -a linear:radius=0:nodata=-9999 -txe 0 1000 -tye 1000 0 -outsize 1000 1000 -ot Float32 -l points points.fgb out.tif';
      peers.push(() => execFileSync('gdal_grid', command.split(' '), { cwd: folder, stdio: 'ignore' }));
    }
    const others = await filled(file, folder);
    const [plain, survey, peer] = await measureInTurn(
      [
        () => keep(interpolateLinear(columns(file), GRID).values[500_500]!),
        () => keep(soundingSurface(columns(file), GRID, { statistic: 'median', fillDistanceM: 15 }).uncertainty.values[500_500]!),
        ...peers,
      ],
      REPEATS,
    );
    const linear = [
      ['interpolateLinear: all points triangulated, n=1e6 on 1000 x 1000, from file', plain!] as const,
      ['soundingSurface: median blocks, filled, with uncertainty, n=1e6 on 1000 x 1000, from file', survey!] as const,
    ].map(([name, own]) => {
      const ratio = peer ? peer.median / own.median : null;
      return {
        name,
        ours: { ...own, unit: 's' as const },
        peer: peer ? { name: 'gdal_grid -a linear (FlatGeobuf)', ...peer } : null,
        ratio,
        budget: 'at most 1/5 of the time of gdal_grid -a linear on the same points',
        met: ratio !== null && ratio >= BUDGET,
      };
    });
    return [...linear, ...others];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/**
 * A spline surface with its uncertainty against GMT blockmedian and surface on the same points and grid, both from doubles,
 * and natural neighbours, for which there is no peer among these programs.
 */
async function filled(file: string, folder: string): Promise<BenchResult[]> {
  const region = '-R0/1000/0/1000 -I1 -r';
  const peers = hasProgram('gmt')
    ? [() => execFileSync('sh', ['-c', `gmt blockmedian ${file} -bi3d ${region} -bo3d > medians.bin && gmt surface medians.bin -bi3d ${region} -Ti0.35 -C0.0005 -Gspline.nc`], { cwd: folder, stdio: 'ignore' })]
    : [];
  const fill = (way: 'spline' | 'natural-neighbour') => async () => keep((await filledSurface(columns(file), GRID, { statistic: 'median', fill: way, fillDistanceM: 15 })).depth.values[500_500]!);
  const [spline, natural, peer] = await measureInTurn([fill('spline'), fill('natural-neighbour'), ...peers], REPEATS);
  const ratio = peer ? peer.median / spline!.median : null;
  return [
    {
      name: 'filledSurface: spline in tension over median blocks, with uncertainty, n=1e6 on 1000 x 1000, from file',
      ours: { ...spline!, unit: 's' },
      peer: peer ? { name: 'GMT blockmedian and surface -Ti0.35 -C0.0005', ...peer } : null,
      ratio,
      budget: 'at most twice the time of GMT blockmedian and surface on the same points',
      met: ratio !== null && ratio >= 0.5,
    },
    {
      name: 'filledSurface: natural neighbours over median blocks, with uncertainty, n=1e6 on 1000 x 1000, from file',
      ours: { ...natural!, unit: 's' },
      peer: null,
      ratio: null,
      budget: 'under 10 s',
      met: natural!.median < 10,
    },
  ];
}
