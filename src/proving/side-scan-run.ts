import type { Random } from '../base/random.js';
import type { SonarHeads, SonarReader } from '../base/sonar.js';
import { emptyHeads } from '../formats/sonar-summary.js';
import type { Frame } from '../geo/frame.js';
import type { BoatMotion, BoatState } from './boat-motion.js';
import { placeSensor } from './echo-sounder.js';
import type { RunLine } from './proving-survey.js';
import type { SeaBed } from './sea-bed.js';
import type { SeaBedObject } from './sea-bed-objects.js';
import type { PingScale, SideScanEcho, SonarPose } from './side-scan-ping.js';
import { createSideScanPing } from './side-scan-ping.js';
import type { SideScanErrors, SideScanSonar } from './side-scan-sonar.js';
import type { SideScanTruth } from './side-scan-truth.js';

/** What is so while a side-scan runs. */
export interface SideScanWorld {
  readonly sonar: SideScanSonar;
  readonly errors: SideScanErrors;
  readonly bed: SeaBed;
  readonly objects: readonly SeaBedObject[];
  readonly frame: Frame;
  /** Water level above chart datum at the boat [m]. */
  readonly levelM: (timeS: number) => number;
  /** For which the range is set [m/s]. */
  readonly soundSpeedSetMps: number;
  /** Mean speed of sound between two depths below the surface, which is that of a ping: rays are straight [m/s]. */
  readonly soundSpeedMps: (fromDepthM: number, toDepthM: number, timeS: number) => number;
  /** How much deeper the boat sits at a speed [m]. */
  readonly squatM: (speedMps: number) => number;
  readonly convergenceDeg: number;
  /** Frame metres per metre on the ground. */
  readonly scale: number;
  /** Lines as they were to be run: of those in `recorded` pings are kept, or of the whole trip where it is null. */
  readonly lines: readonly RunLine[];
  readonly recorded: ReadonlySet<number> | null;
  /** Whether the record carries positions and headings of its own, as the true antenna-free ones; else NaN. */
  readonly withPositions: boolean;
}

/** A side-scan log as run. */
export interface SideScanRun {
  readonly reader: SonarReader;
  readonly truth: SideScanTruth;
}

const OFF_LINE_M = 3;
const OFF_HEADING_RAD = 0.44;
const DROPOUT_SHARE = 0.002;

/**
 * Runs a side-scan over a trip. Heads and truth are worked out at once, samples when they are first read and then kept:
 * the same seed gives the same samples whatever is read first.
 */
export function runSideScan(world: SideScanWorld, motion: BoatMotion, file: string, random: Random): SideScanRun {
  const { sonar, errors, frame } = world;
  const state: BoatState = { xM: 0, yM: 0, headingRad: 0, velocityEastMps: 0, velocityNorthMps: 0, rollRad: 0, pitchRad: 0, heaveM: 0 };
  const sensor = { xM: 0, yM: 0, downM: 0 };
  const poses: SonarPose[] = [];
  const times: number[] = [];
  const lineOf: number[] = [];
  const shares: number[] = [];
  const firstS = motion.startS + 0.043;
  const count = Math.floor((motion.endS - firstS) * sonar.pingHz);
  for (let k = 0; k < count; k++) {
    const timeS = firstS + k / sonar.pingHz;
    motion.stateInto(timeS, state);
    const { line, share } = lineAt(world.lines, state);
    if (world.recorded !== null && !world.recorded.has(line)) continue;
    placeSensor(state, sonar.mount, sensor);
    const speed = Math.hypot(state.velocityEastMps, state.velocityNorthMps);
    const belowSurfaceM = sonar.draftM + world.squatM(speed) - state.heaveM + (sensor.downM - sonar.mount.downM);
    poses.push({ xM: sensor.xM, yM: sensor.yM, headingRad: state.headingRad, rollRad: state.rollRad, pitchRad: state.pitchRad, depthM: belowSurfaceM - world.levelM(timeS), belowSurfaceM });
    times.push(timeS);
    lineOf.push(line);
    shares.push(share);
  }
  const n = poses.length;
  const intervalS = (2 * sonar.rangeM) / world.soundSpeedSetMps / sonar.samples;
  // The interval a file can state: whole nanoseconds.
  const tidy = (seconds: number): number => Math.round(seconds * 1e9) / 1e9;
  const heightM = Float64Array.from(poses, ({ xM, yM, depthM }) => world.bed.depthM(xM, yM) - depthM);
  const scales = poses.map(({ belowSurfaceM }, k): PingScale => ({
    intervalS: tidy(errors.rangeChange && lineOf[k] === 2 && shares[k]! > 0.5 ? 0.75 * intervalS : intervalS),
    delayS: 0,
    soundSpeedMps: world.soundSpeedMps(belowSurfaceM, belowSurfaceM + Math.max(0.1, heightM[k]!), times[k]!),
  }));
  const silent = dropouts(errors.dropouts, random.fork('side-scan dropouts'), n);

  const latLon = poses.map(({ xM, yM }) => frame.toGeographic(xM, yM));
  const trueDeg = (gridRad: number): number => ((((gridRad * 180) / Math.PI + world.convergenceDeg) % 360) + 360) % 360;
  const heads: SonarHeads = {
    ...emptyHeads(n),
    timeS: Float64Array.from(times, (timeS) => timeS + errors.clockOffsetS + errors.clockDriftPpm * 1e-6 * (timeS - motion.startS)),
    portSamples: new Uint32Array(n).fill(sonar.samples),
    starboardSamples: new Uint32Array(n).fill(sonar.samples),
    intervalS: Float64Array.from(scales, (scale) => scale.intervalS),
    ...(world.withPositions
      ? {
          latDeg: Float64Array.from(latLon, ([lat]) => lat),
          lonDeg: Float64Array.from(latLon, ([, lon]) => lon),
          headingDeg: Float32Array.from(poses, ({ headingRad }) => trueDeg(headingRad)),
        }
      : {}),
    frequencyHz: new Float32Array(n).fill(sonar.frequencyHz),
  };
  const truth: SideScanTruth = {
    file,
    n,
    timeS: Float64Array.from(times),
    xM: Float64Array.from(poses, ({ xM }) => xM),
    yM: Float64Array.from(poses, ({ yM }) => yM),
    headingDeg: Float64Array.from(poses, ({ headingRad }) => trueDeg(headingRad)),
    gridHeadingDeg: Float64Array.from(poses, ({ headingRad }) => ((((headingRad * 180) / Math.PI) % 360) + 360) % 360),
    heightM,
    soundSpeedMps: Float64Array.from(scales, (scale) => scale.soundSpeedMps),
    belowSurfaceM: Float64Array.from(poses, ({ belowSurfaceM }) => belowSurfaceM),
    rollDeg: Float64Array.from(poses, ({ rollRad }) => (rollRad * 180) / Math.PI),
    pitchDeg: Float64Array.from(poses, ({ pitchRad }) => (pitchRad * 180) / Math.PI),
    kind: Uint8Array.from(poses, ({ xM, yM }) => world.bed.kind(xM, yM)),
    line: Int32Array.from(lineOf),
    silent,
  };

  const ping = createSideScanPing(sonar, errors, world.bed, world.objects, world.scale);
  const width = sonar.samples;
  const kept = [new Uint16Array(n * width), new Uint16Array(n * width)] as const;
  const done = new Uint8Array(n);
  const echo: SideScanEcho = { port: new Float32Array(width), starboard: new Float32Array(width), firstPortM: NaN, firstStarboardM: NaN };
  const seeds = random.fork('speckle');
  const make = (k: number): void => {
    ping(poses[k]!, scales[k]!, silent[k] === 1, seeds.fork(String(k)), echo);
    kept[0].set(echo.port, k * width);
    kept[1].set(echo.starboard, k * width);
    done[k] = 1;
  };
  const reader: SonarReader = {
    heads,
    async read(start, end, signal) {
      if (!(Number.isInteger(start) && Number.isInteger(end) && start >= 0 && end >= start && end <= n)) throw new RangeError(`pings ${start} to ${end}: expected 0 to ${n}`);
      for (let k = start; k < end; k++) {
        if (k % 64 === 0) signal?.throwIfAborted();
        if (done[k] === 0) make(k);
      }
      return Promise.resolve({ n: end - start, width, port: Float32Array.from(kept[0].subarray(start * width, end * width)), starboard: Float32Array.from(kept[1].subarray(start * width, end * width)) });
    },
    close: () => Promise.resolve(),
  };
  return { reader, truth };
}

/** The line a boat is on, and how far along it as a share; -1 where it is on none. */
function lineAt(lines: readonly RunLine[], state: BoatState): { line: number; share: number } {
  for (const [line, { path }] of lines.entries()) {
    const ax = path[0]!;
    const ay = path[1]!;
    const dx = path[path.length - 2]! - ax;
    const dy = path[path.length - 1]! - ay;
    const length = Math.hypot(dx, dy);
    const along = ((state.xM - ax) * dx + (state.yM - ay) * dy) / length;
    if (along < 0 || along > length) continue;
    if (Math.abs((state.xM - ax) * dy - (state.yM - ay) * dx) / length > OFF_LINE_M) continue;
    const course = Math.atan2(state.velocityEastMps, state.velocityNorthMps) - Math.atan2(dx, dy);
    if (Math.abs(Math.atan2(Math.sin(course), Math.cos(course))) < OFF_HEADING_RAD) return { line, share: along / length };
  }
  return { line: -1, share: 0 };
}

/** 1 where a ping hears nothing but noise. */
function dropouts(on: boolean, random: Random, n: number): Uint8Array {
  const silent = new Uint8Array(n);
  if (!on) return silent;
  for (let k = 0; k < n; k++) {
    if (random.uniform() >= DROPOUT_SHARE) continue;
    const end = Math.min(n, k + 1 + random.integer(6));
    silent.fill(1, k, end);
    k = end;
  }
  return silent;
}
