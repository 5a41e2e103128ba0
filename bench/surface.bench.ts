import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { createRandom } from '../src/base/random.js';
import { filledSurface, soundingSurface, type FillMethod } from '../src/depths/surface.js';
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
 * Each way of filling with its uncertainty against a general-purpose program that does the same on the same points and grid:
 * the spline against GMT, natural neighbours against SAGA (Sibson's weights, points as a shapefile), a mean of each cell
 * against gdal_grid average, and gdal_grid invdistnn, which has no peer of ours, beside triangulation.
 */
async function filled(file: string, folder: string): Promise<BenchResult[]> {
  const region = '-R0/1000/0/1000 -I1 -r';
  const quiet = { cwd: folder, stdio: 'ignore' } as const;
  const outline = '-txe 0 1000 -tye 1000 0 -outsize 1000 1000 -ot Float32 -l points points.fgb out.tif';
  const gdal = (algorithm: string) => () => execFileSync('gdal_grid', ['-q', '-a', algorithm, ...outline.split(' ')], quiet);
  const saga = '-f=s grid_gridding 3 -POINTS points.shp -FIELD z -TARGET_DEFINITION 0 -TARGET_USER_SIZE 1 -TARGET_USER_XMIN 0 -TARGET_USER_XMAX 1000 -TARGET_USER_YMIN 0 -TARGET_USER_YMAX 1000 -TARGET_USER_FITS 1 -TARGET_OUT_GRID out.sg-grd-z -METHOD 1';
  if (hasProgram('saga_cmd') && hasProgram('gdal_grid')) execFileSync('ogr2ogr', ['points.shp', 'points.vrt', '-nln', 'points'], quiet);
  const fill = (way: FillMethod, statistic: 'mean' | 'median' = 'median') => async () => keep((await filledSurface(columns(file), GRID, { statistic, fill: way, fillDistanceM: 15 })).depth.values[500_500]!);
  const rows: { name: string; ours: () => unknown; peer: [string, string, () => unknown]; budget: string; enough: number }[] = [
    {
      name: 'filledSurface: mean of each cell, nothing filled, with uncertainty',
      ours: fill('none', 'mean'),
      peer: ['gdal_grid', 'gdal_grid -a average, radius half a cell', gdal('average:radius1=0.5:radius2=0.5:min_points=1:nodata=-9999')],
      budget: 'at most the time of gdal_grid average on the same points',
      enough: 1,
    },
    {
      name: 'filledSurface: triangulated over median blocks, with uncertainty',
      ours: fill('triangulation'),
      peer: ['gdal_grid', 'gdal_grid -a invdistnn, 12 points within 2 m', gdal('invdistnn:power=2:radius=2:max_points=12:nodata=-9999')],
      budget: 'at most the time of gdal_grid invdistnn on the same points',
      enough: 1,
    },
    {
      name: 'filledSurface: spline in tension over median blocks, with uncertainty',
      ours: fill('spline'),
      peer: ['gmt', 'GMT blockmedian and surface -Ti0.35 -C0.0005', () => execFileSync('sh', ['-c', `gmt blockmedian ${file} -bi3d ${region} -bo3d > medians.bin && gmt surface medians.bin -bi3d ${region} -Ti0.35 -C0.0005 -Gspline.nc`], quiet)],
      budget: 'at most twice the time of GMT blockmedian and surface on the same points',
      enough: 0.5,
    },
    {
      name: 'filledSurface: natural neighbours over median blocks, with uncertainty',
      ours: fill('natural-neighbour'),
      peer: ['saga_cmd', 'SAGA natural neighbour, Sibson', () => execFileSync('saga_cmd', saga.split(' '), quiet)],
      budget: 'at most the time of SAGA natural neighbour on the same points',
      enough: 1,
    },
  ];
  const results: BenchResult[] = [];
  for (const { name, ours, peer: [program, peerName, peer], budget, enough } of rows) {
    const [own, other] = await measureInTurn([ours, ...(hasProgram(program) ? [peer] : [])], REPEATS);
    const ratio = other ? other.median / own!.median : null;
    results.push({ name: `${name}, n=1e6 on 1000 x 1000, from file`, ours: { ...own!, unit: 's' }, peer: other ? { name: peerName, ...other } : null, ratio, budget, met: ratio !== null && ratio >= enough });
  }
  return [...results, await kriged(folder)];
}

/** Metres across of the ground that is kriged; a cell is a metre, lines lie ten apart, with two soundings a metre. */
const KRIGED_M = 400;

/**
 * Kriging of the cells between lines, variogram and its fit included, against gstat on the means of the same cells: 24
 * neighbours, three from each of eight directions, within the same reach. Both from a file of doubles.
 */
async function kriged(folder: string): Promise<BenchResult> {
  const random = createRandom(20260303);
  const lines = KRIGED_M / 10;
  const along = 2 * KRIGED_M;
  const xyz = new Float64Array(3 * lines * along);
  for (let i = 0; i < lines * along; i++) {
    const x = ((i % along) + random.uniform()) / 2;
    const y = Math.min(KRIGED_M - 0.01, 10 * Math.floor(i / along) + 5.5 + 0.2 * random.normal());
    xyz.set([x, y, 10 + 2 * Math.sin(x / 30) + Math.cos(y / 50) + 0.5 * Math.sin(x / 6 + y / 9) + 0.05 * random.normal()], 3 * i);
  }
  const file = path.join(folder, 'lines.bin');
  writeFileSync(file, xyz);
  const grid = { westM: 0, northM: KRIGED_M, cellM: 1, cols: KRIGED_M, rows: KRIGED_M };
  const ours = async () => {
    const bytes = readFileSync(file);
    const points = new Float64Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
    const column = (k: number) => Float64Array.from({ length: points.length / 3 }, (_, i) => points[3 * i + k]!);
    keep((await filledSurface({ xM: column(0), yM: column(1), depthM: column(2), tvuM: new Float32Array(points.length / 3).fill(0.1) }, grid, { statistic: 'mean', fill: 'kriging', fillDistanceM: 6 })).cellsFilled);
  };
  writeFileSync(
    path.join(folder, 'krige.R'),
    `suppressMessages({library(sp); library(gstat)})
v <- matrix(readBin("lines.bin", "double", ${xyz.length}), ncol = 3, byrow = TRUE)
cell <- floor(v[, 1]) + ${KRIGED_M} * floor(v[, 2])
n <- rowsum(rep(1, nrow(v)), cell); m <- rowsum(v, cell) / as.vector(n)
d <- data.frame(x = m[, 1], y = m[, 2], z = m[, 3]); coordinates(d) <- ~x+y
f <- fit.variogram(variogram(z ~ 1, d, cutoff = 12, width = 1), vgm(1, "Sph", 30, 0.01))
g <- expand.grid(x = seq(0.5, ${KRIGED_M}), y = seq(0.5, ${KRIGED_M}))
g <- g[!((floor(g$x) + ${KRIGED_M} * floor(g$y)) %in% as.numeric(rownames(n))), ]; coordinates(g) <- ~x+y
k <- krige(z ~ 1, d, g, f, nmax = 24, omax = 3, maxdist = 15, debug.level = 0)
writeBin(k$var1.pred, "kriged.bin"); writeBin(k$var1.var, "variance.bin")
`,
  );
  const peers = hasProgram('Rscript') ? [() => execFileSync('Rscript', ['krige.R'], { cwd: folder, stdio: 'ignore' })] : [];
  const [own, peer] = await measureInTurn([ours, ...peers], REPEATS);
  const ratio = peer ? peer.median / own!.median : null;
  return {
    name: `filledSurface: kriging with a fitted variogram over cell means, with uncertainty, ${lines * along} soundings on ${KRIGED_M} x ${KRIGED_M}, lines 10 m apart, from file`,
    ours: { ...own!, unit: 's' },
    peer: peer ? { name: 'gstat variogram, fit and krige (R), from file', ...peer } : null,
    ratio,
    budget: 'at most the time of gstat on the same cells',
    met: ratio !== null && ratio >= 1,
  };
}
