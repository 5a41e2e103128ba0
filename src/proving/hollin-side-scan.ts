import { createRandom } from '../base/random.js';
import type { Floor } from './floor.js';
import { ORIGIN_E_M, ORIGIN_N_M, OUTCROP } from './floor.js';
import type { RunLine } from './proving-survey.js';
import { createSeaBed, SEA_BED_KINDS } from './sea-bed.js';
import type { SeaBed, SeaBedKind } from './sea-bed.js';
import type { ObjectShape, SeaBedObject } from './sea-bed-objects.js';
import { DEFAULT_SIDE_SCAN_ERRORS, DEFAULT_SONAR } from './side-scan-sonar.js';
import type { SideScanErrors, SideScanSonar } from './side-scan-sonar.js';
import { createValueNoise } from './value-noise.js';

/** Half the box of the floor that the side-scan may see, from the origin [m]. */
const BOX_EAST_M = 290;
const BOX_NORTH_M = 190;
const CELL_M = 0.5;
/** Crests that run nearly along the crew's lines, so that a side-scan sees them. */
const HOLLIN_RIPPLE = { lengthM: 1.6, heightM: 0.09, acrossRad: 1.25 } as const;
/** One in so many neighbouring lines is recorded: their strips, as wide as the range to either side, overlap. */
const EVERY_LINE = 3;
/** Two-way time between samples: a whole number of microseconds, as older files hold it [s]. */
export const HOLLIN_INTERVAL_S = 120e-6;

/** The crew's side-scan: on the hull, set to 36 m. Its clock is 0.8 s ahead. */
export const HOLLIN_SONAR: SideScanSonar = { ...DEFAULT_SONAR, rays: 3, samples: 400, rangeM: 36, pingHz: 6, mount: { forwardM: 0.1, starboardM: 0, downM: 0.25 }, draftM: 0.21 };
/** The boat moves as it does for the other instruments, so its own motions are not drawn again here. */
export const HOLLIN_SIDE_SCAN_ERRORS: SideScanErrors = { ...DEFAULT_SIDE_SCAN_ERRORS, clockOffsetS: 0.8, yawDeg: 0 };

/** The floor of Hollin Sound with ripples in the west of the channel, seagrass on the bank and rock about the outcrop. */
export function hollinSeaBed(floor: Floor): SeaBed {
  const patches = createValueNoise(floor.seed * 8 + 1003);
  const code = (kind: SeaBedKind): number => SEA_BED_KINDS.indexOf(kind);
  const kindAt = (x: number, y: number): number => {
    const east = x - ORIGIN_E_M;
    const north = y - ORIGIN_N_M;
    const bottom = floor.bottom(x, y);
    if (bottom === 'rock') return patches(east / 7, north / 7) > -0.25 ? code('rock') : code('gravel');
    if (bottom !== 'sand') return code(bottom);
    const depth = floor.depthM(x, y);
    if (depth < 5.4 && east < 0 && north < 0) return patches(east / 18, north / 18) > -0.15 ? code('grass') : code('sand');
    if (depth > 10.5 && east < 50) return patches(east / 30, north / 30) > -0.3 ? code('ripples') : code('sand');
    return code('sand');
  };
  const box = { westM: ORIGIN_E_M - BOX_EAST_M, southM: ORIGIN_N_M - BOX_NORTH_M, eastM: ORIGIN_E_M + BOX_EAST_M, northM: ORIGIN_N_M + BOX_NORTH_M };
  return createSeaBed(box, CELL_M, floor.seed, (x, y) => floor.depthM(x, y), kindAt, HOLLIN_RIPPLE);
}

/** What lies on the floor of Hollin Sound: name, shape, east and north of the origin, length, width, height [m], heading [deg]. */
const LOST: readonly (readonly [string, ObjectShape, number, number, number, number, number, number])[] = [
  ['Drum 1', 'cylinder', -122, -18, 0.9, 0.6, 0.6, 35],
  ['Drum 2', 'cylinder', -113, -25, 0.9, 0.6, 0.6, 110],
  ['Drum 3', 'cylinder', 96, -63, 0.9, 0.6, 0.6, 70],
  ['Mooring block', 'box', 62, 52, 1.3, 1.3, 0.9, 20],
  ['Anchor', 'cross', 22, -77, 1.7, 1.1, 0.4, 140],
  ['Frame', 'ring', 152, -28, 2.2, 1.6, 0.8, 60],
  ['Pipe', 'cylinder', -32, -97, 3, 0.4, 0.4, 15],
  ['Crate', 'box', -172, 31, 1, 0.7, 0.6, 80],
  ['Small frame', 'ring', 124, 66, 0.8, 0.8, 0.3, 0],
  ['Sunken dinghy', 'box', 12, 86, 2.9, 1.3, 0.6, 50],
];
const BOULDERS = 14;

/** Things lost and boulders about the outcrop, the same for every seed. Invented. */
export function hollinObjects(): readonly SeaBedObject[] {
  const random = createRandom(60_211);
  const lost = LOST.map(([name, shape, east, north, lengthM, widthM, heightM, headingDeg]): SeaBedObject => ({
    name,
    shape,
    xM: ORIGIN_E_M + east,
    yM: ORIGIN_N_M + north,
    lengthM,
    widthM,
    heightM,
    headingDeg,
    strengthDb: 6,
    natural: false,
  }));
  const boulders = Array.from({ length: BOULDERS }, (_, i): SeaBedObject => {
    const angle = random.between(0, 2 * Math.PI);
    const out = random.between(1.15, 1.9);
    const along = OUTCROP.longM * out * Math.cos(angle);
    const across = OUTCROP.shortM * out * Math.sin(angle);
    const lengthM = random.between(0.5, 1.6);
    return {
      name: `Boulder ${i + 1}`,
      shape: 'dome',
      xM: ORIGIN_E_M + OUTCROP.eastM + along * Math.cos(OUTCROP.turnRad) - across * Math.sin(OUTCROP.turnRad),
      yM: ORIGIN_N_M + OUTCROP.northM + along * Math.sin(OUTCROP.turnRad) + across * Math.cos(OUTCROP.turnRad),
      lengthM,
      widthM: lengthM * random.between(0.7, 1),
      heightM: lengthM * random.between(0.35, 0.6),
      headingDeg: random.between(0, 180),
      strengthDb: 0,
      natural: true,
    };
  });
  return [...lost, ...boulders];
}

/**
 * On which lines the crew record: of the lines within 10 degrees of the longest one's direction, to and fro, every third
 * by its place across them, whatever the order they are run in; none of the others.
 */
export function recordedLines(lines: readonly RunLine[], spacingM: number): ReadonlySet<number> {
  const ends = lines.map(({ path }) => ({ ax: path[0]!, ay: path[1]!, bx: path[path.length - 2]!, by: path[path.length - 1]! }));
  const lengths = ends.map(({ ax, ay, bx, by }) => Math.hypot(bx - ax, by - ay));
  const longest = lengths.indexOf(Math.max(...lengths));
  if (longest < 0) return new Set();
  const { ax, ay, bx, by } = ends[longest]!;
  const ux = (bx - ax) / lengths[longest]!;
  const uy = (by - ay) / lengths[longest]!;
  const places = ends.map((end, i) => {
    const cosine = Math.abs((end.bx - end.ax) * ux + (end.by - end.ay) * uy) / lengths[i]!;
    return cosine < Math.cos(Math.PI / 18) ? NaN : Math.round(((0.5 * (end.ax + end.bx) - ax) * uy - (0.5 * (end.ay + end.by) - ay) * ux) / spacingM);
  });
  const least = Math.min(...places.filter((place) => !Number.isNaN(place)));
  return new Set(places.flatMap((place, i) => ((place - least) % EVERY_LINE === 1 ? [i] : [])));
}
