import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { expect, test } from 'vitest';
import { hasProgram } from '../../bench/has-program.js';
import { filledSurface } from '../../src/depths/surface.js';
import { gridCovering } from '../../src/geo/raster.js';
import { HAVE_RECORDED, onePerPlace, recorded } from './recorded-soundings.js';

const GULF = '../shared/data/nmea/gulf-4h.log';
const HAVE = HAVE_RECORDED && existsSync(GULF) && hasProgram('gmt') && hasProgram('gdal_grid');
const WAYS = ['triangulation', 'natural-neighbour', 'spline', 'kriging'] as const;
const PEERS = ['gdal_grid linear', 'gdal_grid invdistnn', 'GMT surface'] as const;
const ROUNDS = 8;

interface Places {
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  readonly depthM: Float64Array;
}

/** Depths (DBT) with the position (GLL) before each, on a plane about the first [m]. */
function gulf(): Places {
  const columns: [number[], number[], number[]] = [[], [], []];
  let [lat, lon] = [NaN, NaN];
  let [lat0, lon0] = [NaN, NaN];
  for (const line of readFileSync(GULF, 'latin1').split('\n')) {
    const fields = line.split(',');
    if (fields[0]!.endsWith('GLL') && fields[6] === 'A') {
      lat = Number(fields[1]!.slice(0, 2)) + Number(fields[1]!.slice(2)) / 60;
      lon = Number(fields[3]!.slice(0, 3)) + Number(fields[3]!.slice(3)) / 60;
      if (Number.isNaN(lat0)) [lat0, lon0] = [lat, lon];
    } else if (fields[0]!.endsWith('DBT') && fields[3] !== '' && !Number.isNaN(lat)) {
      columns[0].push((lon - lon0) * 111_320 * Math.cos((lat0 * Math.PI) / 180));
      columns[1].push((lat - lat0) * 111_320);
      columns[2].push(Number(fields[3]));
    }
  }
  return onePerPlace({ xM: Float64Array.from(columns[0]), yM: Float64Array.from(columns[1]), depthM: Float64Array.from(columns[2]), sha256: '' });
}

interface Case {
  readonly points: () => Places;
  readonly cellM: number;
  readonly fillDistanceM: number;
  /** Tracks are cut where they jump so far, and every so many soundings; each eighth piece is left out in turn, in so many rounds. */
  readonly jumpM: number;
  readonly pieceOf: number;
  readonly rounds: number;
  readonly least: number;
}

/** Root mean square error at pieces left out of ours and the peers, where all have an answer. */
async function leftOutErrors({ points: read, cellM, fillDistanceM, jumpM, pieceOf, rounds }: Case): Promise<{ readonly n: number; readonly rms: number[] }> {
  const folder = mkdtempSync(path.join(tmpdir(), 'left-out-'));
  try {
    const { xM, yM, depthM } = read();
    const all = [...xM.keys()];
    const low = (column: Float64Array) => column.reduce((a, b) => Math.min(a, b));
    const high = (column: Float64Array) => column.reduce((a, b) => Math.max(a, b));
    const grid = gridCovering({ westM: low(xM) - 2 * cellM, southM: low(yM) - 2 * cellM, eastM: high(xM) + 2 * cellM, northM: high(yM) + 2 * cellM }, cellM);
    const { westM, northM, cols, rows } = grid;
    const [eastM, southM] = [westM + cols * cellM, northM - rows * cellM];
    let piece = 0;
    let length = 0;
    const pieces = all.map((i) => {
      if (i > 0 && (Math.hypot(xM[i]! - xM[i - 1]!, yM[i]! - yM[i - 1]!) > jumpM || ++length >= pieceOf)) {
        piece++;
        length = 0;
      }
      return piece;
    });
    const floats = (file: string) => {
      const bytes = readFileSync(path.join(folder, file));
      return new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength)).map((one) => (one === -9999 ? NaN : one));
    };
    const shell = (command: string) => execFileSync('sh', ['-c', command], { cwd: folder, stdio: 'ignore' });
    const readAt = (values: Float32Array, x: number, y: number) => {
      const [u, v] = [(x - westM) / cellM - 0.5, (northM - y) / cellM - 0.5];
      const at = Math.floor(v) * cols + Math.floor(u);
      const [fu, fv] = [u - Math.floor(u), v - Math.floor(v)];
      return (values[at]! * (1 - fu) + values[at + 1]! * fu) * (1 - fv) + (values[at + cols]! * (1 - fu) + values[at + cols + 1]! * fu) * fv;
    };
    const errors: number[][] = [];
    for (let round = 0; round < rounds; round++) {
      const kept = all.filter((i) => pieces[i]! % ROUNDS !== round);
      const pick = (column: Float64Array) => Float64Array.from(kept, (i) => column[i]!);
      const points = { xM: pick(xM), yM: pick(yM), depthM: pick(depthM) };
      const ours = await Promise.all(WAYS.map((fill) => filledSurface(points, grid, { statistic: 'mean', fill, fillDistanceM })));
      writeFileSync(path.join(folder, 'points.csv'), `x,y,z\n${kept.map((i) => `${xM[i]},${yM[i]},${depthM[i]}`).join('\n')}\n`);
      writeFileSync(path.join(folder, 'points.vrt'), '<OGRVRTDataSource><OGRVRTLayer name="points"><SrcDataSource>points.csv</SrcDataSource><GeometryType>wkbPoint25D</GeometryType><GeometryField encoding="PointFromColumns" x="x" y="y" z="z"/></OGRVRTLayer></OGRVRTDataSource>');
      const outline = `-txe ${westM} ${eastM} -tye ${northM} ${southM} -outsize ${cols} ${rows} -ot Float32 -of ENVI -l points points.vrt`;
      shell(`gdal_grid -q -a linear:radius=0:nodata=-9999 ${outline} linear.raw`);
      shell(`gdal_grid -q -a invdistnn:power=2:max_points=12:radius=${3.4 * fillDistanceM}:nodata=-9999 ${outline} invdist.raw`);
      const region = `-R${westM}/${eastM}/${southM}/${northM} -I${cellM} -r`;
      shell(`sed 1d points.csv | tr , ' ' | gmt blockmean ${region} > means.txt && gmt surface means.txt ${region} -Ti0.35 -C0.001 -Gout.nc && gmt grd2xyz out.nc -ZTLf > surface.raw`);
      const rasters = [...ours.map(({ depth }) => depth.values), floats('linear.raw'), floats('invdist.raw'), floats('surface.raw')];
      for (const i of all) {
        if (pieces[i]! % ROUNDS !== round) continue;
        if (ours[0]!.count[Math.floor((northM - yM[i]!) / cellM) * cols + Math.floor((xM[i]! - westM) / cellM)]! > 0) continue;
        const row = rasters.map((values) => readAt(values, xM[i]!, yM[i]!) - depthM[i]!);
        if (row.every(Number.isFinite)) errors.push(row);
      }
    }
    return { n: errors.length, rms: Array.from({ length: WAYS.length + PEERS.length }, (_, k) => Math.sqrt(errors.reduce((sum, row) => sum + row[k]! ** 2, 0) / errors.length)) };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/**
 * Recorded single-beam soundings: a lake (IISD-ELA/bathymetry, CC-BY-4.0), ships' tracks over an ocean (GMT tutorial, NOAA/NGDC;
 * the plane is arc seconds, cells five minutes), and a boat's way of 35 km and four hours (signalk-server, Apache-2.0), whose tracks
 * seldom lie beside each other.
 */
const CASES: Readonly<Record<string, Case>> = {
  'lake227.csv': { points: () => onePerPlace(recorded('lake227.csv')), cellM: 5, fillDistanceM: 60, jumpM: 25, pieceOf: 25, rounds: ROUNDS, least: 500 },
  'ship-tracks.xyz.xz': { points: () => onePerPlace(recorded('ship-tracks.xyz.xz')), cellM: 300, fillDistanceM: 3000, jumpM: 600, pieceOf: 100, rounds: 2, least: 2000 },
  'gulf-4h.log': { points: gulf, cellM: 20, fillDistanceM: 200, jumpM: 100, pieceOf: 15, rounds: 4, least: 80 },
};

for (const [name, one] of Object.entries(CASES)) {
  test.skipIf(!HAVE)(`filledSurface: errs no more at pieces of ${name} left out than the best of gdal_grid and GMT surface${HAVE ? '' : ' (SKIPPED: recorded data, gmt or gdal_grid is not here)'}`, { timeout: 600_000 }, async () => {
    const { n, rms } = await leftOutErrors(one);
    const told = [...WAYS, ...PEERS].map((way, k) => `${way} ${rms[k]!.toPrecision(4)}`).join(', ');
    expect(n, told).toBeGreaterThan(one.least);
    const bestOfPeers = Math.min(...rms.slice(WAYS.length));
    // On a grid as fine as the soundings every way is as good as the best of the peers; where hundreds of soundings share a cell
    // whose mean is all that is triangulated, the way that errs least is.
    if (name === 'lake227.csv') WAYS.forEach((way, k) => expect(rms[k]!, `${way}: ${told}`).toBeLessThanOrEqual(bestOfPeers));
    else expect(Math.min(...rms.slice(0, WAYS.length)), told).toBeLessThanOrEqual(bestOfPeers);
  });
}
