import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { afterAll, expect, test } from 'vitest';
import { hasProgram } from '../../bench/has-program.js';
import { filledSurface } from '../../src/depths/surface.js';
import { gridCovering } from '../../src/geo/raster.js';
import { PEERS, readBetween, runPeers } from './filling-peers.js';
import { HAVE_RECORDED, onePerPlace, recorded } from './recorded-soundings.js';

const GULF = '../shared/data/nmea/gulf-4h.log';
const HAVE = HAVE_RECORDED && existsSync(GULF);
/** What the peers answered, where all of them did: test/reference/depths/SOURCES.md says by which versions. */
const TABLE = 'test/reference/depths/left-out-peers.csv';
/** TALLOW_THOROUGH=1 asks the peers themselves, and holds the table against them; TALLOW_WRITE_PEERS=1 writes it. */
const WRITE = process.env['TALLOW_WRITE_PEERS'] === '1';
const ASK = WRITE || (process.env['TALLOW_THOROUGH'] === '1' && hasProgram('gmt') && hasProgram('gdal_grid'));
const WAYS = ['triangulation', 'natural-neighbour', 'spline', 'kriging'] as const;
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

/** Answers of the peers at the soundings left out, by case, round and sounding [m]. */
const table = new Map<string, readonly number[]>();
if (!WRITE) {
  for (const line of readFileSync(TABLE, 'utf8').trim().split('\n').slice(1)) {
    const [name, round, sounding, ...depths] = line.split(',');
    table.set(`${name},${round},${sounding}`, depths.map(Number));
  }
}

/** Root mean square error at pieces left out of ours and the peers, where all have an answer. */
async function leftOutErrors(name: string, { points: read, cellM, fillDistanceM, jumpM, pieceOf, rounds }: Case): Promise<{ readonly n: number; readonly rms: number[] }> {
  const { xM, yM, depthM } = read();
  const all = [...xM.keys()];
  const low = (column: Float64Array) => column.reduce((a, b) => Math.min(a, b));
  const high = (column: Float64Array) => column.reduce((a, b) => Math.max(a, b));
  const grid = gridCovering({ westM: low(xM) - 2 * cellM, southM: low(yM) - 2 * cellM, eastM: high(xM) + 2 * cellM, northM: high(yM) + 2 * cellM }, cellM);
  const { westM, northM, cols } = grid;
  let piece = 0;
  let length = 0;
  const pieces = all.map((i) => {
    if (i > 0 && (Math.hypot(xM[i]! - xM[i - 1]!, yM[i]! - yM[i - 1]!) > jumpM || ++length >= pieceOf)) {
      piece++;
      length = 0;
    }
    return piece;
  });
  const errors: number[][] = [];
  for (let round = 0; round < rounds; round++) {
    const kept = all.filter((i) => pieces[i]! % ROUNDS !== round);
    const pick = (column: Float64Array) => Float64Array.from(kept, (i) => column[i]!);
    const points = { xM: pick(xM), yM: pick(yM), depthM: pick(depthM) };
    const ours = await Promise.all(WAYS.map((fill) => filledSurface(points, grid, { statistic: 'mean', fill, fillDistanceM })));
    const asked = ASK ? runPeers(points, grid, fillDistanceM) : null;
    for (const i of all) {
      if (pieces[i]! % ROUNDS !== round) continue;
      if (ours[0]!.count[Math.floor((northM - yM[i]!) / cellM) * cols + Math.floor((xM[i]! - westM) / cellM)]! > 0) continue;
      const key = `${name},${round},${i}`;
      const answers = asked?.map((values) => readBetween(values, grid, xM[i]!, yM[i]!));
      if (WRITE && answers!.every(Number.isFinite)) table.set(key, answers!);
      const peers = table.get(key) ?? PEERS.map(() => NaN);
      // Another version may answer a little otherwise, not much.
      if (answers?.every(Number.isFinite) === true) answers.forEach((answer, k) => expect(Math.abs(answer - peers[k]!), `${PEERS[k]} at ${key}`).toBeLessThan(0.02 * Math.abs(depthM[i]!) + 0.01));
      const row = [...ours.map(({ depth }) => readBetween(depth.values, grid, xM[i]!, yM[i]!)), ...peers].map((answer) => answer - depthM[i]!);
      if (row.every(Number.isFinite)) errors.push(row);
    }
  }
  return { n: errors.length, rms: Array.from({ length: WAYS.length + PEERS.length }, (_, k) => Math.sqrt(errors.reduce((sum, row) => sum + row[k]! ** 2, 0) / errors.length)) };
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
  test.skipIf(!HAVE)(`filledSurface: errs no more at pieces of ${name} left out than the best of gdal_grid and GMT surface${HAVE ? '' : ' (SKIPPED: recorded data is not here)'}`, { timeout: 3_600_000 }, async () => {
    const { n, rms } = await leftOutErrors(name, one);
    const told = [...WAYS, ...PEERS].map((way, k) => `${way} ${rms[k]!.toPrecision(4)}`).join(', ');
    expect(n, told).toBeGreaterThan(one.least);
    const bestOfPeers = Math.min(...rms.slice(WAYS.length));
    // On a grid as fine as the soundings every way is as good as the best of the peers; where hundreds of soundings share a cell
    // whose mean is all that is triangulated, the way that errs least is.
    if (name === 'lake227.csv') WAYS.forEach((way, k) => expect(rms[k]!, `${way}: ${told}`).toBeLessThanOrEqual(bestOfPeers));
    else expect(Math.min(...rms.slice(0, WAYS.length)), told).toBeLessThanOrEqual(bestOfPeers);
  });
}

if (WRITE) {
  afterAll(() => {
    writeFileSync(TABLE, `case,round,sounding,${PEERS.join(',')}\n${[...table].map(([key, depths]) => `${key},${depths.map((depth) => Number(depth.toPrecision(6))).join(',')}\n`).join('')}`);
  });
}
