import { createRandom } from '../base/random.js';
import type { Random } from '../base/random.js';
import type { SonarReader } from '../base/sonar.js';
import { createFrame } from '../geo/frame.js';
import { driveBoat } from './boat-motion.js';
import type { BoatMotion } from './boat-motion.js';
import { buildBoatPath } from './boat-path.js';
import type { Floor } from './floor.js';
import { ORIGIN_E_M, ORIGIN_N_M } from './floor.js';
import { frameAtOrigin, HOLLIN_FRAME } from './frame-at-origin.js';
import { GNSS_TRANSPORT_S, logTrip } from './log-trip.js';
import { DEFAULT_ERRORS, NO_FAULTS, provingOptions } from './proving-options.js';
import type { RunLine } from './proving-survey.js';
import { createSwell } from './random-process.js';
import { createSeaBed, SEA_BED_KINDS } from './sea-bed.js';
import type { SeaBed, SeaBedKind } from './sea-bed.js';
import type { SeaBedObject } from './sea-bed-objects.js';
import { runSideScan } from './side-scan-run.js';
import { DEFAULT_SIDE_SCAN_ERRORS, DEFAULT_SONAR } from './side-scan-sonar.js';
import type { SideScanErrors, SideScanSonar } from './side-scan-sonar.js';
import { objectLooks } from './side-scan-truth.js';
import type { ObjectLook, SideScanTruth } from './side-scan-truth.js';
import type { LogTruth } from './truth.js';
import { createValueNoise } from './value-noise.js';

/** `plain` is sand; `mixed` has all of them in fields of some 25 m. */
export const SIDE_SCAN_GROUNDS = ['plain', 'rippled', 'gravel', 'mud', 'rocky', 'grass', 'mixed'] as const;
export type SideScanGroundKind = (typeof SIDE_SCAN_GROUNDS)[number];

/** What a side-scan survey of parallel lines can be told. */
export interface SideScanGroundOptions {
  readonly ground: SideScanGroundKind;
  /** Parallel lines, to and fro. */
  readonly lines: number;
  readonly lengthM: number;
  readonly spacingM: number;
  /** Of the first line, clockwise from grid north [deg]. */
  readonly headingDeg: number;
  readonly speedMps: number;
  /** Mean depth of the floor below chart datum, how much it undulates, and how it falls to the right of the first line [m, m, 1]. */
  readonly depthM: number;
  readonly undulationM: number;
  readonly slope: number;
  /** Water level above chart datum [m]. */
  readonly levelM: number;
  readonly soundSpeedMps: number;
  /** How many objects, of 0.3 to 3 m, are planted; or which. */
  readonly objects: number | readonly SeaBedObject[];
  readonly sonar: Partial<SideScanSonar>;
  readonly errors: Partial<SideScanErrors>;
  /** Whether the sonar's records carry position and heading. */
  readonly withPositions: boolean;
  /** Whether there are pings between lines. */
  readonly turns: boolean;
  /** What the side-scan's log is named for: SEG-Y or SONAR-netCDF4. */
  readonly form: 'segy' | 'nc';
}

/** A side-scan survey with its truth. */
export interface SideScanGround {
  readonly seed: number;
  readonly options: SideScanGroundOptions;
  readonly sonar: SideScanSonar;
  readonly bed: SeaBed;
  readonly lines: readonly RunLine[];
  readonly objects: readonly SeaBedObject[];
  readonly logs: readonly { readonly file: string; readonly reader: SonarReader }[];
  /** Log of positions, headings and depths of the same trip, NMEA 0183 with the logger's times. */
  readonly nmea: { readonly file: string; readonly bytes: Uint8Array };
  readonly truth: {
    readonly pings: readonly SideScanTruth[];
    readonly looks: readonly ObjectLook[];
    readonly log: LogTruth;
  };
  /** For survey.json: what the crew know, where the sonar sits is in it too. */
  readonly settings: Readonly<Record<string, unknown>>;
}

const DEFAULTS: SideScanGroundOptions = {
  ground: 'plain',
  lines: 5,
  lengthM: 150,
  spacingM: 30,
  headingDeg: 90,
  speedMps: 1.5,
  depthM: 7.5,
  undulationM: 0.4,
  slope: 0,
  levelM: 1,
  soundSpeedMps: 1500,
  objects: 10,
  sonar: {},
  errors: {},
  withPositions: false,
  turns: true,
  form: 'segy',
};

/** 2026-06-17T08:30:00Z [s]. */
const START_S = 1_781_685_000;
const RUN_IN_M = 5;
const CELL_M = 0.25;
const SOUNDER_LATENCY_S = 0.07;
const ANTENNA = { forwardM: -0.25, starboardM: 0, downM: -0.55 };
const TRANSDUCER = { forwardM: 0.18, starboardM: 0.05, downM: 0.2 };

/**
 * A side-scan survey of parallel lines over invented ground near the middle of Hollin Sound's frame, with objects and
 * known truth. Samples are made as they are read: the survey itself takes well under a second or two.
 *
 * @param seed the same seed and options give the same logs
 * @throws RangeError for options that make no survey
 */
export function createSideScanGround(seed: number, changes: Partial<SideScanGroundOptions> = {}): SideScanGround {
  const options: SideScanGroundOptions = { ...DEFAULTS, ...changes };
  for (const key of ['lines', 'lengthM', 'spacingM', 'speedMps', 'depthM', 'soundSpeedMps'] as const) {
    if (!(options[key] > 0 && Number.isFinite(options[key]))) throw new RangeError(`${key} ${options[key]}: expected more than 0`);
  }
  const sonar: SideScanSonar = { ...DEFAULT_SONAR, ...options.sonar };
  const errors: SideScanErrors = { ...DEFAULT_SIDE_SCAN_ERRORS, ...options.errors };
  const random = createRandom(seed);
  const frame = createFrame(HOLLIN_FRAME);
  const atOrigin = frameAtOrigin();
  const lines = parallelLines(options);
  const launch = { xM: lines[0]!.path[0]! - 12 * Math.sin((options.headingDeg * Math.PI) / 180), yM: lines[0]!.path[1]! - 12 * Math.cos((options.headingDeg * Math.PI) / 180) };
  const bed = layBed(seed, options, lines, sonar.rangeM);
  const objects = typeof options.objects === 'number' ? plantObjects(random.fork('objects'), options, options.objects) : options.objects;

  const path = buildBoatPath(lines, launch, []);
  const handling = { crossTrackM: errors.crossTrackM, speedShare: errors.speedShare, rollDeg: errors.rollDeg, pitchDeg: errors.pitchDeg, heaveM: errors.heaveM };
  const motion = withYaw(driveBoat(path, START_S, handling, random.fork('boat')), errors.yawDeg, random.fork('yaw'));

  const file = `scan-1.${options.form}`;
  const { reader, truth } = runSideScan(
    {
      sonar,
      errors,
      bed,
      objects,
      frame,
      levelM: () => options.levelM,
      soundSpeedSetMps: options.soundSpeedMps,
      soundSpeedMps: () => options.soundSpeedMps,
      squatM: () => 0,
      ...atOrigin,
      lines,
      recorded: options.turns ? null : new Set(lines.keys()),
      withPositions: options.withPositions,
    },
    motion,
    file,
    random.fork('side-scan'),
  );

  const floor: Floor = {
    seed,
    depthM: (xM, yM) => bed.depthM(xM, yM),
    gradientInto(xM, yM, out) {
      out[0] = bed.depthM(xM + 0.25, yM) / 0.5 - bed.depthM(xM - 0.25, yM) / 0.5;
      out[1] = bed.depthM(xM, yM + 0.25) / 0.5 - bed.depthM(xM, yM - 0.25) / 0.5;
    },
    slopeDeg: () => NaN,
    bottom: (xM, yM) => (SEA_BED_KINDS[bed.kind(xM, yM)] === 'rock' ? 'rock' : 'sand'),
  };
  const parts: Uint8Array[] = [];
  const log = logTrip(
    {
      options: provingOptions('short', { startS: START_S, faults: NO_FAULTS, speedMps: options.speedMps, errors: { ...DEFAULT_ERRORS, gnssM: errors.gnssM, headingDeg: errors.headingDeg } }),
      frame,
      floor,
      level: { atGaugeM: () => options.levelM, atBoatM: () => options.levelM },
      travelTimeS: (fromM, toM) => (toM - fromM) / options.soundSpeedMps,
      sounder: { transducer: TRANSDUCER, draftM: 0.3, squatM: 0, squatSpeedMps: 1, soundSpeedSetMps: options.soundSpeedMps, beamWidthDeg: 6, noiseM: errors.sounderM, noiseShare: 0 },
      antenna: ANTENNA,
      gnssLatencyS: 0,
      sounderLatencyS: SOUNDER_LATENCY_S,
      motionLatencyS: 0.03,
      headingOffsetDeg: 0,
      ...atOrigin,
    },
    motion,
    'scan-1.nmea',
    random.fork('log'),
    (_file, bytes) => parts.push(bytes),
  );
  const rangesM = [Float64Array.from(reader.heads.intervalS, (intervalS) => 0.5 * options.soundSpeedMps * intervalS * sonar.samples)];
  const below = (_log: number, record: number, xM: number, yM: number): number => bed.depthM(xM, yM) - (truth.belowSurfaceM[record]! - options.levelM);
  return {
    seed,
    options,
    sonar,
    bed,
    lines,
    objects,
    logs: [{ file, reader }],
    nmea: { file: 'scan-1.nmea', bytes: joined(parts) },
    truth: { pings: [truth], looks: objectLooks(objects, [truth], rangesM, below, atOrigin.scale), log },
    settings: settingsFor(options, sonar, errors),
  };
}

/** Lines to and fro, the first one's right-hand neighbour next, their middle at the origin. */
function parallelLines(options: SideScanGroundOptions): RunLine[] {
  const heading = (options.headingDeg * Math.PI) / 180;
  const [sin, cos] = [Math.sin(heading), Math.cos(heading)];
  return Array.from({ length: options.lines }, (_, i) => {
    const off = (i - (options.lines - 1) / 2) * options.spacingM;
    const half = (0.5 * options.lengthM + RUN_IN_M) * (i % 2 === 0 ? 1 : -1);
    const at = (along: number): [number, number] => [ORIGIN_E_M + along * sin + off * cos, ORIGIN_N_M + along * cos - off * sin];
    return { path: [...at(-half), ...at(half)], speedMps: options.speedMps };
  });
}

const KIND_OF: Readonly<Record<Exclude<SideScanGroundKind, 'mixed' | 'rocky' | 'grass'>, SeaBedKind>> = { plain: 'sand', rippled: 'ripples', gravel: 'gravel', mud: 'mud' };

function layBed(seed: number, options: SideScanGroundOptions, lines: readonly RunLine[], rangeM: number): SeaBed {
  const xs = lines.flatMap(({ path }) => [path[0]!, path[2]!]);
  const ys = lines.flatMap(({ path }) => [path[1]!, path[3]!]);
  const edge = rangeM + 40;
  const box = { westM: Math.min(...xs) - edge, southM: Math.min(...ys) - edge, eastM: Math.max(...xs) + edge, northM: Math.max(...ys) + edge };
  const broad = createValueNoise(seed * 8 + 5);
  const medium = createValueNoise(seed * 8 + 6);
  const fields = createValueNoise(seed * 8 + 7);
  const heading = (options.headingDeg * Math.PI) / 180;
  const code = (kind: SeaBedKind): number => SEA_BED_KINDS.indexOf(kind);
  const depthAt = (x: number, y: number): number => {
    const right = (x - ORIGIN_E_M) * Math.cos(heading) - (y - ORIGIN_N_M) * Math.sin(heading);
    return options.depthM + options.slope * right + options.undulationM * (0.75 * broad(x / 55, y / 55) + 0.25 * medium(x / 21, y / 21));
  };
  const kindAt = (x: number, y: number): number => {
    switch (options.ground) {
      case 'rocky':
        return fields(x / 14, y / 14) > 0.05 ? code('rock') : code('sand');
      case 'grass':
        return fields(x / 16, y / 16) > -0.1 ? code('grass') : code('sand');
      case 'mixed': {
        const first = fields(x / 30, y / 30);
        const second = broad(x / 27 + 40, y / 27 + 40);
        if (first > 0.28) return code('rock');
        if (first < -0.3) return code(second > 0 ? 'grass' : 'mud');
        return code(second > 0.2 ? 'ripples' : second < -0.35 ? 'gravel' : 'sand');
      }
      default:
        return code(KIND_OF[options.ground]);
    }
  };
  return createSeaBed(box, CELL_M, seed, depthAt, kindAt);
}

/** Objects of all shapes, from 0.3 to 3 m, the smallest first, spread over the lines' area and no two within 8 m. */
function plantObjects(random: Random, options: SideScanGroundOptions, count: number): SeaBedObject[] {
  const heading = (options.headingDeg * Math.PI) / 180;
  const [sin, cos] = [Math.sin(heading), Math.cos(heading)];
  const width = Math.max(options.spacingM, (options.lines - 1) * options.spacingM);
  const objects: SeaBedObject[] = [];
  const shapes = ['box', 'cylinder', 'dome', 'ring', 'cross'] as const;
  for (let i = 0; i < count; i++) {
    const size = 0.3 * 10 ** (count > 1 ? i / (count - 1) : 0.5);
    const shape = shapes[i % shapes.length]!;
    let xM = NaN;
    let yM = NaN;
    for (let tries = 0; tries < 200; tries++) {
      const along = random.between(-0.46, 0.46) * options.lengthM;
      const off = random.between(-0.5, 0.5) * width;
      xM = ORIGIN_E_M + along * sin + off * cos;
      yM = ORIGIN_N_M + along * cos - off * sin;
      if (objects.every((other) => Math.hypot(other.xM - xM, other.yM - yM) > 8)) break;
    }
    objects.push({
      name: `${shape} ${i + 1}`,
      shape,
      xM,
      yM,
      lengthM: size,
      widthM: size * (shape === 'cylinder' ? 0.45 : shape === 'cross' ? 0.7 : random.between(0.6, 1)),
      heightM: Math.min(1.2, size * random.between(0.4, 0.7)),
      headingDeg: random.between(0, 180),
      strengthDb: shape === 'dome' ? 0 : 6,
      natural: false,
    });
  }
  return objects;
}

/** The same trip with the bow swinging about its heading. */
function withYaw(motion: BoatMotion, yawDeg: number, random: Random): BoatMotion {
  const yaw = createSwell(random, (yawDeg * Math.PI) / 180, 2.5, 7, 6);
  return {
    startS: motion.startS,
    endS: motion.endS,
    stateInto(timeS, out) {
      motion.stateInto(timeS, out);
      out.headingRad += yaw(timeS);
    },
  };
}

function settingsFor(options: SideScanGroundOptions, sonar: SideScanSonar, errors: SideScanErrors): Record<string, unknown> {
  return {
    format: 'tallow-survey',
    version: 2,
    name: 'Side-scan ground',
    place: 'Hollin Sound (invented)',
    invented: true,
    frame: HOLLIN_FRAME,
    datum: 'Hollin chart datum',
    order: 'special',
    gnss: { latencyS: 0, sigmaM: Math.max(errors.gnssM, 0.01), antenna: ANTENNA },
    sounder: { transducer: TRANSDUCER, draftM: 0.3, squatM: 0, soundSpeedSetMps: options.soundSpeedMps, latencyS: Math.round((SOUNDER_LATENCY_S - GNSS_TRANSPORT_S) * 1000) / 1000, beamWidthDeg: 6, maxDepthM: 60 },
    heading: { source: 'true', sigmaDeg: Math.max(errors.headingDeg, 0.1) },
    sonar: { mount: sonar.mount, draftM: sonar.draftM },
    imagery: { beamDeg: sonar.beamDeg },
    water: { level: { kind: 'constant', levelM: options.levelM }, soundSpeed: { kind: 'constant', soundSpeedMps: options.soundSpeedMps } },
  };
}

function joined(parts: readonly Uint8Array[]): Uint8Array {
  const bytes = new Uint8Array(parts.reduce((sum, part) => sum + part.byteLength, 0));
  let at = 0;
  for (const part of parts) {
    bytes.set(part, at);
    at += part.byteLength;
  }
  return bytes;
}
