import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';

/** Recorded soundings on the plane that test/reference/depths/make.py used. */
export interface Recorded {
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  readonly depthM: Float64Array;
  readonly sha256: string;
}

const FOLDER = '../shared/data/soundings';

export const HAVE_RECORDED = existsSync(`${FOLDER}/lake227.csv`) && existsSync(`${FOLDER}/ship-tracks.xyz.xz`);

/** The line a skipped test shows. */
export const SKIP_NOTE = HAVE_RECORDED ? '' : ' (SKIPPED: ../shared/data/soundings is not here)';

const plane = (degrees: number, origin: number, scale: number) => Math.floor((degrees - origin) * scale * 1000 + 0.5) / 1000;

export function recorded(name: string): Recorded {
  const raw = readFileSync(`${FOLDER}/${name}`);
  const sha256 = createHash('sha256').update(raw).digest('hex');
  const rows =
    name === 'lake227.csv'
      ? raw
          .toString()
          .trim()
          .split(/\r?\n/)
          .slice(1)
          .map((line) => line.split(',').map(Number))
          .filter((row) => row.every(Number.isFinite))
          .map((row) => [plane(row[1]!, -93.7, 72000), plane(row[0]!, 49.6, 111000), -row[2]!])
      : execFileSync('xz', ['-dc', `${FOLDER}/${name}`], { maxBuffer: 1 << 28 })
          .toString()
          .trim()
          .split('\n')
          .map((line) => line.trim().split(/\s+/).map(Number))
          .map((row) => [plane(row[0]!, 245, 3600), plane(row[1]!, 20, 3600), -row[2]!]);
  const column = (k: number) => Float64Array.from(rows, (row) => row[k]!);
  return { xM: column(0), yM: column(1), depthM: column(2), sha256 };
}

/** The first point at each place, as the reference programs were given. */
export function onePerPlace(points: Recorded): Recorded {
  const seen = new Set<string>();
  const keep = [...points.xM.keys()].filter((i) => {
    const key = `${points.xM[i]},${points.yM[i]}`;
    return !seen.has(key) && Boolean(seen.add(key));
  });
  const pick = (column: Float64Array) => Float64Array.from(keep, (i) => column[i]!);
  return { xM: pick(points.xM), yM: pick(points.yM), depthM: pick(points.depthM), sha256: points.sha256 };
}

export function referenceTable(name: string): unknown {
  return (JSON.parse(readFileSync(`test/reference/depths/${name}`, 'utf8')) as { tables: unknown }).tables;
}
