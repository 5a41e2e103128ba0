import { createRandom } from '../base/random.js';
import type { Random } from '../base/random.js';
import { formatUtc } from '../base/time.js';
import { createFrame } from '../geo/frame.js';
import { buildBoatPath } from './boat-path.js';
import { driveBoat } from './boat-motion.js';
import type { BoatMotion } from './boat-motion.js';
import { createFloor } from './floor.js';
import { frameAtOrigin, HOLLIN_FRAME } from './frame-at-origin.js';
import { demoCurrentCsv } from './demo-current.js';
import { HOLLIN_INTERVAL_S, HOLLIN_SIDE_SCAN_ERRORS, HOLLIN_SONAR, hollinObjects, hollinSeaBed, recordedLines } from './hollin-side-scan.js';
import { hollinSound, type HollinPlace } from './hollin-sound.js';
import { DATUM_BELOW_GEOID_M, GEOID_ABOVE_ELLIPSOID_M, GNSS_TRANSPORT_S, logTrip } from './log-trip.js';
import type { TripWorld } from './log-trip.js';
import { planOwnLines } from './own-lines.js';
import { provingOptions } from './proving-options.js';
import type { DrawnOnce, ProvingChanges, ProvingOptions } from './proving-options.js';
import type { LogSink, ProvingSize, ProvingSurvey, RunLine, SideScanLog } from './proving-survey.js';
import { runSideScan } from './side-scan-run.js';
import { createTravelTime, hollinProfile, soundSpeedCsv, warmingWater } from './sound-travel.js';
import type { DrawnErrors, Truth } from './truth.js';
import { createWaterLevel, gaugeAway, gaugeSeriesCsv, MEAN_LEVEL_M } from './water-level.js';

/** The seed of the demo that `tallow demo` makes. */
export const DEMO_SEED = 17;

const ANTENNA = { forwardM: -0.25, starboardM: 0, downM: -0.55 };
const TRANSDUCER = { forwardM: 0.18, starboardM: 0.05, downM: 0.2 };
const DRAFT_M = 0.16;
const SQUAT_M = 0.012;
const SOUND_SPEED_SET_MPS = 1500;
const GNSS_LATENCY_S = 0.12;
const SOUNDER_LATENCY_S = 0.12;
/** From a motion to the end of its sentence at the logger [s]. */
const MOTION_LATENCY_S = 0.03;
const GAUGE_EVERY_S = 60;
const CROSS_TRACK_M = 0.4;
const SPEED_SHARE = 0.04;
const PAUSE_S = 1500;

/**
 * The invented survey of the demo: two hours in Hollin Sound in two logs, with all faults.
 * The same seed gives the same bytes; other seeds have other errors over the same floor.
 */
export function demoSurvey(seed: number = DEMO_SEED, changes: ProvingChanges = {}): ProvingSurvey {
  return makeSurvey(seed, DEMO_SEED, provingOptions('demo', changes), true);
}

/**
 * An invented survey of a size, for proving. The texture of the floor comes from the seed too.
 * `short`: about a quarter of an hour over the outcrop. `bank`: as long beside the bank, no rock. `demo`: as the demo. `day`: at least 300 000 pings.
 */
export function proveSurvey(seed: number, size: ProvingSize, changes: ProvingChanges = {}): ProvingSurvey {
  return makeSurvey(seed, createRandom(seed).fork('floor').integer(2 ** 28), provingOptions(size, changes), false);
}

/** @param sorties whether the crew's launch point, base, current and start are in it */
function makeSurvey(seed: number, floorSeed: number, options: ProvingOptions, sorties: boolean): ProvingSurvey {
  const random = createRandom(seed);
  const frame = createFrame(HOLLIN_FRAME);
  const floor = createFloor(floorSeed);
  const place = hollinSound(frame, floor, options.size);
  const { errors } = options;
  const drawRandom = random.fork('drawn');
  // + 0: an error switched off is 0, not -0.
  const draw = (name: DrawnOnce, sigma: number, normals = drawRandom): number => {
    const normal = normals.normal();
    return sigma * (options.drawnSigmas[name] ?? normal) + 0;
  };
  const drawn: DrawnErrors = {
    draftM: draw('draftM', errors.draftM),
    squatM: draw('squatM', errors.squatM),
    soundSpeedMps: draw('soundSpeedMps', errors.soundSpeedMps),
    timeS: draw('timeS', errors.timeS),
    headingDeg: draw('headingDeg', 0.5 * errors.headingDeg),
  };
  const level = createWaterLevel(random.fork('water level'), errors.zoningM, options.drawnSigmas.zoningM);
  const { sources } = options;
  const gauge = sources.gaugeElsewhere === null ? level : gaugeAway(level, sources.gaugeElsewhere);
  const separationOffM = draw('separationM', sources.rtk?.separationM ?? 0, random.fork('separation'));
  const ownLines = (): readonly RunLine[] => planOwnLines(place.areaRing, options.spacingM, options.speedMps, 4, place.rock);
  const extension = options.format === 'csv' ? 'csv' : 'nmea';
  const small = options.size === 'short' || options.size === 'bank';
  const logFiles = small ? [`hollin-trip-1.${extension}`] : [`hollin-trip-1.${extension}`, `hollin-trip-2.${extension}`];
  const spanS = options.size === 'day' ? 14 * 3600 : 8 * 3600;
  const waterSpanS = small ? 900 : options.size === 'demo' ? 3 * 3600 : 10 * 3600;
  const travelTimeS: TripWorld['travelTimeS'] =
    sources.casts === null ? createTravelTime(hollinProfile(drawn.soundSpeedMps)) : warmingWater(drawn.soundSpeedMps, sources.casts.changeMps, options.startS, waterSpanS).travelTimeS;
  /** The boat's trips over lines. Each draws from a generator of its own, so that instruments may be run one by one. */
  const trips = (lines: readonly RunLine[]): { readonly lines: readonly RunLine[]; readonly motion: BoatMotion; readonly random: Random }[] => {
    let startS = options.startS;
    return splitByLength(lines, logFiles.length).map((tripLines, index) => {
      const tripRandom = random.fork(`trip ${index + 1}`);
      const keepClear = options.hole ? [place.rock, place.mooring] : [place.rock];
      const handling = { crossTrackM: CROSS_TRACK_M, speedShare: SPEED_SHARE, rollDeg: options.rollDeg, pitchDeg: options.pitchDeg, heaveM: errors.heaveM };
      const motion = driveBoat(buildBoatPath(tripLines, place.launch, keepClear), startS, handling, tripRandom.fork('boat'));
      startS = Math.ceil(motion.endS) + PAUSE_S;
      return { lines: tripLines, motion, random: tripRandom };
    });
  };

  return {
    seed,
    size: options.size,
    settings: sorties ? withSorties(settingsFor(options, waterSpanS, separationOffM), place) : settingsFor(options, waterSpanS, separationOffM),
    files: {
      'plan/area.geojson': place.area,
      'plan/keepouts.geojson': place.keepouts,
      'plan/shore.geojson': place.shore,
      'water/level.csv': gaugeSeriesCsv(gauge, random.fork('gauge'), errors.waterLevelM, options.startS - 7200, options.startS + spanS, GAUGE_EVERY_S),
      ...castFiles(options, waterSpanS),
      ...(sorties ? { 'water/current.csv': demoCurrentCsv() } : {}),
    },
    launch: place.launch,
    base: place.base,
    floor,
    ownLines,
    logFiles,
    writeLogs(lines: readonly RunLine[] | null, sink: LogSink): Truth {
      const world: TripWorld = {
        options,
        frame,
        floor,
        level,
        travelTimeS,
        sounder: {
          transducer: sources.transducer ?? TRANSDUCER,
          draftM: DRAFT_M + drawn.draftM,
          squatM: SQUAT_M + drawn.squatM,
          squatSpeedMps: options.speedMps,
          soundSpeedSetMps: SOUND_SPEED_SET_MPS,
          beamWidthDeg: options.beamWidthDeg,
          noiseM: errors.sounderM,
          noiseShare: errors.sounderShare,
        },
        antenna: sources.antenna ?? ANTENNA,
        gnssLatencyS: GNSS_LATENCY_S,
        sounderLatencyS: SOUNDER_LATENCY_S + drawn.timeS,
        motionLatencyS: MOTION_LATENCY_S,
        headingOffsetDeg: drawn.headingDeg,
        ...frameAtOrigin(),
      };
      const logs = trips(lines ?? ownLines()).map((trip, index) => logTrip(world, trip.motion, logFiles[index]!, trip.random, sink));
      return { format: 'tallow-truth', version: 1, seed, floorSeed, drawn, logs };
    },
    sideScans(lines: readonly RunLine[] | null): readonly SideScanLog[] {
      if (!sorties) return [];
      const bed = hollinSeaBed(floor);
      const objects = hollinObjects();
      const planned = lines ?? ownLines();
      const recorded = recordedLines(planned, options.spacingM);
      let before = 0;
      return trips(planned).map((trip, index) => {
        const file = `hollin-scan-${index + 1}.segy`;
        const run = runSideScan(
          {
            sonar: HOLLIN_SONAR,
            errors: HOLLIN_SIDE_SCAN_ERRORS,
            bed,
            objects,
            frame,
            levelM: level.atBoatM,
            soundSpeedSetMps: (2 * HOLLIN_SONAR.rangeM) / (HOLLIN_SONAR.samples * HOLLIN_INTERVAL_S),
            soundSpeedMps: (fromM, toM, timeS) => (toM - fromM) / travelTimeS(fromM, toM, timeS),
            squatM: (speedMps) => ((SQUAT_M + drawn.squatM) * speedMps ** 2) / options.speedMps ** 2,
            ...frameAtOrigin(),
            lines: trip.lines,
            recorded: new Set(trip.lines.flatMap((_, i) => (recorded.has(before + i) ? [i] : []))),
            withPositions: false,
          },
          trip.motion,
          file,
          trip.random.fork('side-scan'),
        );
        before += trip.lines.length;
        return { file, ...run, objects };
      });
    },
  };
}

/** Where the crew stand and when they mean to go, for the demo. */
function withSorties(settings: ReturnType<typeof settingsFor>, { launch, base }: HollinPlace): Record<string, unknown> {
  const at = ({ latDeg, lonDeg }: { readonly latDeg: number; readonly lonDeg: number }): { latDeg: number; lonDeg: number } => ({ latDeg: Math.round(latDeg * 1e7) / 1e7, lonDeg: Math.round(lonDeg * 1e7) / 1e7 });
  return {
    ...settings,
    water: { ...settings.water, current: { kind: 'file', file: 'water/current.csv' } },
    sortie: { launch: at(launch), base: at(base), startUtc: '2026-06-17T08:20:00Z', clearanceM: 5 },
    lines: { ...settings.lines, keepoutM: 4 },
    rehearse: { bottom: { kind: 'constant', depthM: 2.2 }, lostLink: 'safe-lane' },
    sonar: { mount: HOLLIN_SONAR.mount, draftM: HOLLIN_SONAR.draftM },
    imagery: { beamDeg: HOLLIN_SONAR.beamDeg },
    link: { ratedRangeM: 400, baseHeightM: 3 },
    brief: { contacts: ['Harbour watch, Hollin Sound: VHF channel 12', 'Shore crew, second phone: (number)'] },
  };
}

/** When the casts were taken: at even times over the survey, from its start to its end [s]. */
function castTimes(options: ProvingOptions, spanS: number): number[] {
  const count = options.sources.casts?.count ?? 0;
  return Array.from({ length: count }, (_, i) => options.startS + (count === 1 ? 0 : (i * spanS) / (count - 1)));
}

/** The casts as files: one profile, or one a cast. */
function castFiles(options: ProvingOptions, spanS: number): Record<string, string> {
  const { casts } = options.sources;
  if (casts === null) return { 'water/sound-speed.csv': soundSpeedCsv(hollinProfile(0)) };
  const water = warmingWater(0, casts.changeMps, options.startS, spanS);
  return Object.fromEntries(castTimes(options, spanS).map((timeS, i) => [`water/cast-${i + 1}.csv`, soundSpeedCsv(water.profileAt(timeS))]));
}

/** What the crew know, as survey.json has it. */
function settingsFor(options: ProvingOptions, spanS: number, separationOffM: number): Record<string, unknown> & { readonly water: Record<string, unknown>; readonly lines: Record<string, unknown> } {
  const { errors, sources } = options;
  const { motionSensor, gaugeElsewhere, rtk, casts } = sources;
  return {
    format: 'tallow-survey',
    version: 2,
    name: 'Hollin Sound',
    place: 'Hollin Sound (invented)',
    invented: true,
    frame: HOLLIN_FRAME,
    datum: 'Hollin chart datum',
    order: 'special',
    gnss: { latencyS: GNSS_LATENCY_S, sigmaM: Math.max(errors.gnssM, 0.01), antenna: sources.antenna ?? ANTENNA },
    sounder: {
      transducer: sources.transducer ?? TRANSDUCER,
      draftM: DRAFT_M,
      squatM: SQUAT_M,
      ...(sources.squatBySpeed ? { squatCurve: { kind: 'speed-square', metresPerMps2: SQUAT_M / options.speedMps ** 2 } } : {}),
      soundSpeedSetMps: SOUND_SPEED_SET_MPS,
      // As found by running a slope both ways: against the GNSS sentences as they reach the logger. A CSV row has one time.
      latencyS: Math.round((options.format === 'csv' ? SOUNDER_LATENCY_S : SOUNDER_LATENCY_S - GNSS_TRANSPORT_S) * 1000) / 1000,
      beamWidthDeg: options.beamWidthDeg,
      maxDepthM: 60,
    },
    boat: { name: 'Plumb', lengthM: 1.2, massKg: 18 },
    heading: { source: 'true', sigmaDeg: errors.headingDeg },
    water: {
      level:
        rtk !== null
          ? { kind: 'gnss-height', separation: { kind: 'constant', heightM: Math.round((GEOID_ABOVE_ELLIPSOID_M - DATUM_BELOW_GEOID_M + separationOffM) * 1e4) / 1e4 } }
          : gaugeElsewhere !== null
            ? { kind: 'gauges', gauges: [{ file: 'water/level.csv', ...gaugeElsewhere, meanLevelM: MEAN_LEVEL_M }] }
            : { kind: 'series', file: 'water/level.csv' },
      soundSpeed:
        casts === null
          ? { kind: 'profile', file: 'water/sound-speed.csv' }
          : { kind: 'casts', casts: castTimes(options, spanS).map((timeS, i) => ({ file: `water/cast-${i + 1}.csv`, timeUtc: formatUtc(timeS) })) },
    },
    uncertainty: {
      sounderM: errors.sounderM,
      sounderShare: errors.sounderShare,
      draftM: errors.draftM,
      squatM: errors.squatM,
      heaveM: errors.heaveM,
      waterLevelM: errors.waterLevelM,
      zoningM: errors.zoningM,
      soundSpeedMps: errors.soundSpeedMps,
      timeS: errors.timeS,
      attitudeDeg: Math.max(options.rollDeg, options.pitchDeg),
      ...(motionSensor === null ? {} : { heaveMeasuredM: motionSensor.heaveNoiseM, attitudeMeasuredDeg: motionSensor.angleNoiseDeg }),
      ...(rtk === null ? {} : { gnssHeightM: rtk.heightM, separationM: rtk.separationM }),
    },
    ...(motionSensor === null ? {} : { motion: { sensor: motionSensor.at, latencyS: MOTION_LATENCY_S - GNSS_TRANSPORT_S } }),
    surface: { cellM: 0.5, fillDistanceM: Math.round(options.spacingM * 6) / 10 },
    lines: { spacingM: options.spacingM, keepoutM: 0, headingDeg: null, runInM: 4, runOutM: 4, crossShare: 0.05, speedMps: options.speedMps },
  };
}

/** Lines in their order, in so many trips of about the same length. */
function splitByLength(lines: readonly RunLine[], trips: number): RunLine[][] {
  const lengths = lines.map(({ path }) => {
    let length = 0;
    for (let i = 2; i + 1 < path.length; i += 2) length += Math.hypot(path[i]! - path[i - 2]!, path[i + 1]! - path[i - 1]!);
    return length;
  });
  const total = lengths.reduce((sum, length) => sum + length, 0);
  const result: RunLine[][] = [[]];
  let run = 0;
  for (const [i, line] of lines.entries()) {
    if (run >= (total * result.length) / trips && result.length < trips) result.push([]);
    result[result.length - 1]!.push(line);
    run += lengths[i]!;
  }
  return result;
}
