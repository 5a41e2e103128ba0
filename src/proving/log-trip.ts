import type { Random } from '../base/random.js';
import type { Frame } from '../geo/frame.js';
import { formatUtc } from '../base/time.js';
import type { BoatMotion, BoatState } from './boat-motion.js';
import { createEchoSounder, placeSensor } from './echo-sounder.js';
import type { LeverArm, Ping, SounderSetting } from './echo-sounder.js';
import type { Floor } from './floor.js';
import { createGnssReceiver } from './gnss-receiver.js';
import type { GnssError, GnssReceiver } from './gnss-receiver.js';
import { createLogWriter } from './log-writer.js';
import { createGaussMarkov } from './random-process.js';
import * as nmea from './nmea-sentences.js';
import type { FixValues } from './nmea-sentences.js';
import type { ProvingOptions } from './proving-options.js';
import type { LogSink } from './proving-survey.js';
import { POSITION_FAULTS } from './truth.js';
import type { LogTruth } from './truth.js';
import { createFixTruth, createPingTruth } from './truth-columns.js';
import type { WaterLevel } from './water-level.js';

/** What is so on a trip, the same for all trips of a survey. */
export interface TripWorld {
  readonly options: ProvingOptions;
  readonly frame: Frame;
  readonly floor: Floor;
  readonly level: WaterLevel;
  readonly travelTimeS: (fromDepthM: number, toDepthM: number, timeS: number) => number;
  readonly sounder: SounderSetting;
  readonly antenna: LeverArm;
  /** Age of a position at its stamp [s]. */
  readonly gnssLatencyS: number;
  /** From the echo's reception to the end of its sentence at the logger, as it truly is [s]. */
  readonly sounderLatencyS: number;
  /** From a motion to the end of its sentence at the logger [s]. */
  readonly motionLatencyS: number;
  readonly headingOffsetDeg: number;
  /** True bearing less grid bearing [deg], and frame metres per metre on the ground. */
  readonly convergenceDeg: number;
  readonly scale: number;
}

/** From an epoch to its first sentence at the logger, on average [s]. */
export const GNSS_TRANSPORT_S = 0.07;
export const GEOID_ABOVE_ELLIPSOID_M = 58.4;
/** Chart datum below the geoid [m]. */
export const DATUM_BELOW_GEOID_M = 1.9;
const JUMP = POSITION_FAULTS.indexOf('jump');
const GAP = POSITION_FAULTS.indexOf('gap');

/** Runs the instruments over a trip and writes its log; the truth comes back. */
export function logTrip(world: TripWorld, motion: BoatMotion, file: string, random: Random, sink: LogSink): LogTruth {
  return world.options.format === 'csv' ? logCsv(world, motion, file, random, sink) : logNmea(world, motion, file, random, sink);
}

/** NMEA 0183: each instrument's sentences as they reach the logger. */
function logNmea(world: TripWorld, motion: BoatMotion, file: string, random: Random, sink: LogSink): LogTruth {
  const { options } = world;
  const { startS, endS } = motion;
  const writer = createLogWriter(file, options.stamp, options.faults.damageShare, random.fork('damage'), sink, options.sources.loggerClockS);
  const gear = createGear(world, motion, random);
  const pings = createPingTruth();
  const fixes = createFixTruth();
  const delays = random.fork('delays');
  const firstEpoch = Math.ceil(startS * options.fixHz);
  const oncePerSecond = Math.max(1, Math.round(options.fixHz));

  const fixStream = (): Stream => {
    let epoch = firstEpoch;
    const arrival = (): number => epoch / options.fixHz + GNSS_TRANSPORT_S + delays.between(-0.01, 0.01);
    const stream: Stream = {
      nextS: arrival(),
      write() {
        const timeS = epoch / options.fixHz;
        const fault = gear.fixInto(timeS);
        const { fix } = gear;
        if (!(fault === GAP && gear.error.silent)) {
          writer.sentence(stream.nextS, nmea.gga(fix), false);
          if (fix.valid) fixes.add(writer.record, timeS, gear.antennaX, gear.antennaY, fault === JUMP);
          writer.sentence(stream.nextS + 0.004, nmea.rmc(fix), false);
          const inSecond = epoch % oncePerSecond;
          if (inSecond === 0) writer.sentence(stream.nextS + 0.008, nmea.gst(fix), false);
          if (inSecond === 1 % oncePerSecond) writer.sentence(stream.nextS + 0.008, nmea.vtg(fix), false);
          if (epoch % (10 * oncePerSecond) === 0) writer.sentence(stream.nextS + 0.012, nmea.zda(timeS), false);
        }
        epoch++;
        stream.nextS = arrival();
      },
    };
    return stream;
  };
  const pingStream = (): Stream => {
    let count = 0;
    let pingS = startS + 0.031;
    const stream: Stream = {
      nextS: pingS + world.sounderLatencyS,
      write() {
        gear.sounder.pingInto(pingS, motion, gear.ping);
        const body = options.depthSentence === 'DBT' ? nmea.dbt(gear.ping.writtenM) : nmea.dpt(gear.ping.writtenM, world.sounder.draftM);
        writer.sentence(stream.nextS, body, true);
        pings.add(writer.record, pingS, gear.ping, positionFaultAround(gear.receiver, pingS + world.gnssLatencyS, options.fixHz), writer.damage);
        count++;
        pingS = startS + 0.031 + count / options.pingHz + delays.between(-0.002, 0.002);
        stream.nextS = pingS + world.sounderLatencyS + delays.between(-0.003, 0.003);
      },
    };
    return stream;
  };
  const headingStream = every(startS + 0.017, 1 / options.headingHz, (timeS) => writer.sentence(timeS, nmea.hdt(gear.headingDeg(timeS)), false));
  const temperature = random.fork('temperature');
  const temperatureStream = every(startS + 3.3, 10, (timeS) => writer.sentence(timeS, nmea.mtw(15.8 + 0.1 * temperature.normal()), false));
  const streams = [fixStream(), pingStream(), headingStream, temperatureStream];
  const { motionSensor } = options.sources;
  if (motionSensor !== null) streams.push(every(startS + 0.023, 1 / motionSensor.hz, (timeS) => writer.sentence(timeS, gear.motionSentence(timeS - world.motionLatencyS, motionSensor), false)));
  for (;;) {
    let next = streams[0]!;
    for (const stream of streams) if (stream.nextS < next.nextS) next = stream;
    if (next.nextS > endS) break;
    next.write();
  }
  return { file, kind: 'nmea', pings: pings.columns(), fixes: fixes.columns(), damage: writer.end() };
}

/** CSV: one row a ping with the position of its time; no position in a gap. */
function logCsv(world: TripWorld, motion: BoatMotion, file: string, random: Random, sink: LogSink): LogTruth {
  const { options } = world;
  const writer = createLogWriter(file, 'none', 0, random.fork('damage'), sink);
  const gear = createGear(world, motion, random);
  const pings = createPingTruth();
  const fixes = createFixTruth();
  writer.row('time_utc,latitude_deg,longitude_deg,depth_m,heading_deg,gnss_sigma_m');
  const count = Math.floor((motion.endS - motion.startS) * options.pingHz);
  for (let i = 0; i < count; i++) {
    // The row carries the time it was written at; the echo is older by the latency.
    const rowS = Math.round((motion.startS + (i + 0.5) / options.pingHz) * 1000) / 1000 + world.sounderLatencyS;
    const pingS = rowS - world.sounderLatencyS;
    const fault = gear.fixInto(rowS);
    gear.sounder.pingInto(pingS, motion, gear.ping);
    const { fix, ping } = gear;
    const depth = Number.isNaN(ping.writtenM) ? '' : ping.writtenM.toFixed(2);
    const position = fix.valid ? `${fix.latDeg.toFixed(8)},${fix.lonDeg.toFixed(8)}` : ',';
    writer.row(`${formatUtc(rowS, 3)},${position},${depth},${gear.headingDeg(rowS).toFixed(1)},${fix.sigmaM.toFixed(3)}`);
    if (fix.valid) fixes.add(writer.record, rowS, gear.antennaX, gear.antennaY, fault === JUMP);
    pings.add(writer.record, pingS, ping, fault, 0);
  }
  return { file, kind: 'csv', pings: pings.columns(), fixes: fixes.columns(), damage: writer.end() };
}

interface Stream {
  nextS: number;
  write(): void;
}

function every(firstS: number, stepS: number, write: (timeS: number) => void): Stream {
  let count = 0;
  const stream: Stream = {
    nextS: firstS,
    write() {
      write(stream.nextS);
      count++;
      stream.nextS = firstS + count * stepS;
    },
  };
  return stream;
}

/** The worse fault of the two epochs around a time. */
function positionFaultAround(receiver: GnssReceiver, timeS: number, fixHz: number): number {
  const before = Math.floor(timeS * fixHz);
  return Math.max(receiver.faultAt(before / fixHz), receiver.faultAt((before + 1) / fixHz));
}

/** The instruments aboard, with their scratch values. */
function createGear(world: TripWorld, motion: BoatMotion, random: Random) {
  const { options, frame } = world;
  const receiver = createGnssReceiver(options.errors.gnssM, options.faults, random.fork('gnss'), 1 / options.fixHz, motion.startS, motion.endS);
  const sounder = createEchoSounder(
    world.sounder, world.floor, world.level.atBoatM, world.travelTimeS, options.faults, random.fork('sounder'), motion.startS, motion.endS,
  );
  const referenceAboveSurfaceM = world.sounder.transducer.downM - world.sounder.draftM;
  const headingNoise = random.fork('heading');
  const speedNoise = random.fork('speed');
  const sensorRandom = random.fork('motion sensor');
  // A motion sensor's errors last a second or two; they are not each reading's own.
  const rollNoise = createGaussMarkov(sensorRandom.fork('roll'), options.sources.motionSensor?.angleNoiseDeg ?? 0, 2);
  const pitchNoise = createGaussMarkov(sensorRandom.fork('pitch'), options.sources.motionSensor?.angleNoiseDeg ?? 0, 2);
  const heaveNoise = createGaussMarkov(sensorRandom.fork('heave'), options.sources.motionSensor?.heaveNoiseM ?? 0, 2);
  const heightError = createGaussMarkov(random.fork('rtk height'), options.sources.rtk?.heightM ?? 0, 20);
  const state: BoatState = { xM: 0, yM: 0, headingRad: 0, velocityEastMps: 0, velocityNorthMps: 0, rollRad: 0, pitchRad: 0, heaveM: 0 };
  const antenna = { xM: 0, yM: 0, downM: 0 };
  const error: GnssError = { eastM: 0, northM: 0, upM: 0, sigmaM: 0, fault: 0, silent: false };
  const fix: FixValues = {
    timeS: 0, latDeg: 0, lonDeg: 0, heightM: 0, geoidM: GEOID_ABOVE_ELLIPSOID_M, sigmaM: 0, satellites: 17, hdop: 0.7, courseDeg: 0, speedMps: 0, valid: true, quality: options.sources.rtk === null ? 2 : 4,
  };
  const ping: Ping = { writtenM: 0, fault: 0, faultSizeM: 0, xM: 0, yM: 0, depthM: 0, echoEastM: 0, echoNorthM: 0 };
  const gear = {
    receiver,
    sounder,
    ping,
    fix,
    error,
    /** Where the antenna is at the time of the last fix, in the frame [m]. */
    antennaX: NaN,
    antennaY: NaN,
    /** Fills `fix` for an epoch; gives its position fault. */
    fixInto(timeS: number): number {
      // The receiver answers with where it was a little before.
      motion.stateInto(timeS - world.gnssLatencyS, state);
      placeSensor(state, world.antenna, antenna);
      receiver.errorInto(timeS, error);
      const [latDeg, lonDeg] = frame.toGeographic(antenna.xM + error.eastM, antenna.yM + error.northM);
      fix.timeS = timeS;
      fix.latDeg = latDeg;
      fix.lonDeg = lonDeg;
      fix.sigmaM = error.sigmaM;
      fix.valid = error.fault !== GAP;
      fix.heightM = world.level.atBoatM(timeS) - DATUM_BELOW_GEOID_M + referenceAboveSurfaceM + state.heaveM - antenna.downM + error.upM;
      if (options.sources.rtk !== null) {
        // Centimetres count here: the level of the time the position is of, the boat's squat, and an error of stated size.
        const atS = timeS - world.gnssLatencyS;
        const sunkM = (world.sounder.squatM * (state.velocityEastMps ** 2 + state.velocityNorthMps ** 2)) / world.sounder.squatSpeedMps ** 2;
        fix.heightM += world.level.atBoatM(atS) - world.level.atBoatM(timeS) - sunkM - error.upM + heightError.at(timeS);
      }
      fix.satellites = 15 + Math.round(2 * Math.sin(timeS / 900));
      fix.hdop = 0.72 - 0.02 * (fix.satellites - 15);
      const east = state.velocityEastMps / world.scale + 0.03 * speedNoise.normal();
      const north = state.velocityNorthMps / world.scale + 0.03 * speedNoise.normal();
      fix.speedMps = Math.hypot(east, north);
      fix.courseDeg = toTrueDeg(Math.atan2(east, north), world.convergenceDeg);
      motion.stateInto(timeS, state);
      placeSensor(state, world.antenna, antenna);
      gear.antennaX = antenna.xM;
      gear.antennaY = antenna.yM;
      return error.fault;
    },
    motionSentence(timeS: number, sensor: NonNullable<ProvingOptions['sources']['motionSensor']>): string {
      motion.stateInto(timeS, state);
      // Heave is that of the sensor's own place: what it goes down by roll and pitch is taken off.
      placeSensor(state, sensor.at, antenna);
      const heaveM = state.heaveM - (antenna.downM - sensor.at.downM);
      return nmea.xdrMotion((state.rollRad * 180) / Math.PI + rollNoise.at(timeS), (state.pitchRad * 180) / Math.PI + pitchNoise.at(timeS), heaveM + heaveNoise.at(timeS));
    },
    headingDeg(timeS: number): number {
      motion.stateInto(timeS, state);
      return toTrueDeg(state.headingRad, world.convergenceDeg + world.headingOffsetDeg + options.errors.headingDeg * headingNoise.normal());
    },
  };
  return gear;
}

function toTrueDeg(gridRad: number, convergenceDeg: number): number {
  const deg = ((gridRad * 180) / Math.PI + convergenceDeg) % 360;
  return deg < 0 ? deg + 360 : deg;
}
