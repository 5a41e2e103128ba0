import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { RasterGrid } from '../../src/geo/raster.js';

/** General-purpose programs that fill a grid from points. */
export const PEERS = ['gdal_grid linear', 'gdal_grid invdistnn', 'GMT surface'] as const;

interface Points {
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  readonly depthM: Float64Array;
}

/** The grids each of the peers makes of some points, row by row from the north; NaN where it gives none. */
export function runPeers({ xM, yM, depthM }: Points, { westM, northM, cols, rows, cellM }: RasterGrid, fillDistanceM: number): Float32Array[] {
  const folder = mkdtempSync(path.join(tmpdir(), 'peers-'));
  try {
    const [eastM, southM] = [westM + cols * cellM, northM - rows * cellM];
    const floats = (file: string) => {
      const bytes = readFileSync(path.join(folder, file));
      return new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength)).map((one) => (one === -9999 ? NaN : one));
    };
    const shell = (command: string) => execFileSync('sh', ['-c', command], { cwd: folder, stdio: 'ignore' });
    writeFileSync(path.join(folder, 'points.csv'), `x,y,z\n${Array.from(xM, (x, i) => `${x},${yM[i]},${depthM[i]}`).join('\n')}\n`);
    writeFileSync(path.join(folder, 'points.vrt'), '<OGRVRTDataSource><OGRVRTLayer name="points"><SrcDataSource>points.csv</SrcDataSource><GeometryType>wkbPoint25D</GeometryType><GeometryField encoding="PointFromColumns" x="x" y="y" z="z"/></OGRVRTLayer></OGRVRTDataSource>');
    const outline = `-txe ${westM} ${eastM} -tye ${northM} ${southM} -outsize ${cols} ${rows} -ot Float32 -of ENVI -l points points.vrt`;
    shell(`gdal_grid -q -a linear:radius=0:nodata=-9999 ${outline} linear.raw`);
    shell(`gdal_grid -q -a invdistnn:power=2:max_points=12:radius=${3.4 * fillDistanceM}:nodata=-9999 ${outline} invdist.raw`);
    const region = `-R${westM}/${eastM}/${southM}/${northM} -I${cellM} -r`;
    shell(`sed 1d points.csv | tr , ' ' | gmt blockmean ${region} > means.txt && gmt surface means.txt ${region} -Ti0.35 -C0.001 -Gout.nc && gmt grd2xyz out.nc -ZTLf > surface.raw`);
    return ['linear.raw', 'invdist.raw', 'surface.raw'].map(floats);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** A grid between the middles of its cells, linear in both directions; NaN beside a cell without a value. */
export function readBetween(values: ArrayLike<number>, { westM, northM, cellM, cols }: RasterGrid, x: number, y: number): number {
  const [u, v] = [(x - westM) / cellM - 0.5, (northM - y) / cellM - 0.5];
  const at = Math.floor(v) * cols + Math.floor(u);
  const [fu, fv] = [u - Math.floor(u), v - Math.floor(v)];
  return (values[at]! * (1 - fu) + values[at + 1]! * fu) * (1 - fv) + (values[at + cols]! * (1 - fu) + values[at + cols + 1]! * fu) * fv;
}
