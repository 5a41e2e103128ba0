import { z } from 'zod';
import { LOOK_RULES } from '../finds/search-chance.js';
import { PRODUCT_KINDS } from './product-kinds.js';
import { layoutSetting } from './sonar-layout-schema.js';

/** The version of survey.json this program writes; a folder with a higher one is refused. */
export const SETTINGS_VERSION = 2;

const metres = z.number().finite();
const positive = z.number().positive().finite();
const nonNegative = z.number().nonnegative().finite();
/** In any natural water, and what an instrument may be set to: feet a second and the like are refused. */
const soundSpeed = z.number().min(1300).max(1800);

/** Where a sensor sits, from the boat's reference point: forward, to starboard, down [m]. */
const leverArm = z.strictObject({
  forwardM: metres.default(0).describe('ahead of the boat\'s reference point [m]'),
  starboardM: metres.default(0).describe('to starboard of it [m]'),
  downM: metres.default(0).describe('below it [m]'),
});

/** A sound-speed cast in a file of its own. */
const soundCast = z.strictObject({
  file: z.string().min(1),
  timeUtc: z.string().max(40).nullable().default(null),
  latDeg: z.number().min(-90).max(90).nullable().default(null),
  lonDeg: z.number().min(-180).max(180).nullable().default(null),
});

/** A gauge, or a prediction, and how its water gets to the survey. */
const gauge = z.strictObject({
  file: z.string().min(1),
  latDeg: z.number().min(-90).max(90).nullable().default(null),
  lonDeg: z.number().min(-180).max(180).nullable().default(null),
  laterS: metres.default(0),
  rangeFactor: positive.default(1),
  meanLevelM: metres.default(0),
  addM: metres.default(0),
});

/** How temperature and salinity become sound speed, for files that hold those. */
const soundFormula = z.enum(['teos10', 'unesco', 'mackenzie']).default('teos10');

/** A place on the chart. */
const placeOnChart = z.strictObject({ latDeg: z.number().min(-90).max(90), lonDeg: z.number().min(-180).max(180) });

/** What the lines are for; src/lines/objective.ts says what each means. */
const purpose = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('own') }),
  z.strictObject({ kind: z.literal('depths-order'), order: z.enum(['exclusive', 'special', '1a', '1b', '2']) }),
  z.strictObject({ kind: z.literal('depths-scale'), scale: positive }),
  z.strictObject({ kind: z.literal('imagery'), rangeM: positive.nullable().default(null), folds: z.number().int().min(1).max(10).default(1), objectM: positive.default(1), hits: z.number().int().min(1).max(20).default(3) }),
  z.strictObject({ kind: z.literal('objects'), sizeM: positive, chance: positive.lt(1).default(0.9), law: z.enum(['random', 'inverse-cube', 'definite']).default('inverse-cube'), hits: z.number().int().min(1).max(20).default(3) }),
  z.strictObject({ kind: z.literal('vegetation'), patchM: positive, pingsPerM: positive.default(2) }),
]);

/** What looks at the bottom. */
const sensor = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('single-beam'), beamDeg: positive.max(90), pingHz: positive, draftM: nonNegative.default(0) }),
  z.strictObject({ kind: z.literal('swath'), swathDeg: positive.max(170), beamDeg: positive.max(90), pingHz: positive, draftM: nonNegative.default(0) }),
  z.strictObject({ kind: z.literal('side-scan'), beamDeg: positive.max(10).default(1), mostRangeM: positive.default(50), heightM: positive.nullable().default(null), draftM: nonNegative.default(0.2), soundMps: positive.default(1500) }),
]);

/** survey.json: the whole of a survey's settings, units in the names. docs/formats.md describes every key. */
export const settingsSchema = z.strictObject({
  format: z.literal('tallow-survey').describe('says what the file is'),
  version: z.literal(SETTINGS_VERSION).describe('of this schema; a higher one is refused'),
  name: z.string().min(1).max(120).describe('of the survey, on every product'),
  place: z.string().max(200).default('').describe('where it is, in words'),
  invented: z.boolean().default(false).describe('true where the place and the data are made up'),
  frame: z
    .strictObject({ kind: z.literal('utm'), zone: z.number().int().min(1).max(60), hemisphere: z.enum(['north', 'south']) })
    .nullable()
    .default(null)
    .describe('the survey frame; null: the UTM zone of the area, or of the first position'),
  datum: z.string().max(120).default('water surface').describe('what depths are below; water levels are heights above it'),
  order: z.enum(['exclusive', 'special', '1a', '1b', '2']).default('1a').describe('IHO S-44 ed. 6.1.0 order aimed at'),
  time: z
    .strictObject({
      loggerOffsetS: metres.default(0).describe('added to logged times to get UTC'),
      noDate: z.string().regex(/^\d{4}-\d{2}-\d{2}$/, 'expected year, month and day, as 2026-06-17').nullable().default(null).describe('UTC date of the first record of a log that carries none'),
    })
    .prefault({}),
  gnss: z
    .strictObject({
      latencyS: metres.default(0).describe('age of a position when its time is stamped; positive: the position is older than its stamp'),
      sigmaM: positive.default(1.5).describe('one sigma, one dimension, where the log has no GST'),
      antenna: leverArm.prefault({}),
      maxGapS: positive.default(5).describe('no position is interpolated across a longer gap'),
      maxSpeedMps: positive.default(6).describe('a position that needs more than this speed is a jump'),
    })
    .prefault({}),
  sounder: z
    .strictObject({
      transducer: leverArm.prefault({}),
      draftM: nonNegative.default(0).describe('transducer below the water surface, at rest'),
      squatM: metres.default(0).describe('extra draft under way, at every speed'),
      squatCurve: z
        .discriminatedUnion('kind', [
          z.strictObject({ kind: z.literal('speed-square'), metresPerMps2: metres }),
          z.strictObject({ kind: z.literal('table'), points: z.array(z.strictObject({ speedMps: nonNegative, squatM: metres })).min(1).max(50) }),
        ])
        .nullable()
        .default(null)
        .describe('extra draft by speed, instead of squatM: metresPerMps2 times speed squared, or a table; speed through the water where it is logged, else over ground'),
      soundSpeedSetMps: soundSpeed.default(1500).describe('the sound speed the instrument assumed'),
      latencyS: metres.default(0).describe('age of a depth when it is stamped'),
      beamWidthDeg: positive.max(90).default(8).describe('full width of the beam'),
      slopeCorrection: z.boolean().default(true).describe('add what the beam reads too shoal on a slope, where the slope is known from neighbouring soundings'),
      minDepthM: nonNegative.default(0.3).describe('shallower below the transducer is not bottom (depth gate)'),
      maxDepthM: positive.default(100).describe('deeper is not bottom (depth gate)'),
    })
    .prefault({}),
  heading: z
    .strictObject({
      source: z.enum(['auto', 'true', 'magnetic', 'course']).default('auto').describe('where heading comes from; auto: true, else magnetic, else course made good'),
      variationDeg: z.number().min(-180).max(180).nullable().default(null).describe('east positive; null: from the World Magnetic Model'),
      sigmaDeg: nonNegative.default(3).describe('one sigma of the heading'),
      offsetDeg: z.number().min(-180).max(180).default(0).describe('taken off the compass\'s heading: how far clockwise of the bow it points; from a heading check'),
    })
    .prefault({}),
  water: z
    .strictObject({
      level: z
        .discriminatedUnion('kind', [
          z.strictObject({ kind: z.literal('none') }),
          z.strictObject({ kind: z.literal('constant'), levelM: metres }),
          z.strictObject({ kind: z.literal('series'), file: z.string().min(1) }),
          z.strictObject({ kind: z.literal('constituents'), file: z.string().min(1) }),
          z.strictObject({ kind: z.literal('gauges'), gauges: z.array(gauge).min(1).max(20), power: positive.max(10).default(2) }),
          z.strictObject({
            kind: z.literal('gnss-height'),
            separation: z.discriminatedUnion('kind', [z.strictObject({ kind: z.literal('constant'), heightM: metres }), z.strictObject({ kind: z.literal('raster'), file: z.string().min(1) })]),
            qualities: z.array(z.number().int().min(0).max(9)).min(1).max(10).default([4]),
          }),
        ])
        .default({ kind: 'none' })
        .describe('water level above the datum: none, a constant, an observed series, constituents, gauges away from the survey (each a series or constituents; at the survey the water is laterS later, its range about meanLevelM is rangeFactor times the gauge\'s, and addM is added; several are weighted by one over distance to a power), or heights of the antenna from GNSS of the fix qualities listed, less the height of the datum above the ellipsoid, a constant or a GeoTIFF; files are inside the survey folder'),
      soundSpeed: z
        .discriminatedUnion('kind', [
          z.strictObject({ kind: z.literal('as-set') }),
          z.strictObject({ kind: z.literal('constant'), soundSpeedMps: soundSpeed }),
          z.strictObject({ kind: z.literal('profile'), file: z.string().min(1), formula: soundFormula }),
          z.strictObject({ kind: z.literal('casts'), casts: z.array(soundCast).min(1).max(200), rule: z.enum(['between-in-time', 'nearest-in-time', 'nearest-in-place']).default('between-in-time'), formula: soundFormula }),
        ])
        .default({ kind: 'as-set' })
        .describe('sound speed: as the instrument was set, a constant, a profile file inside the survey folder, or casts in time and place and how they are chosen; files hold sound speed, or temperature and salinity from which the formula makes it'),
      current: z
        .discriminatedUnion('kind', [
          z.strictObject({ kind: z.literal('none') }),
          z.strictObject({ kind: z.literal('constant'), speedMps: nonNegative, setDeg: z.number(), sigmaMps: nonNegative.default(0.1) }),
          z.strictObject({ kind: z.literal('file'), file: z.string().min(1) }),
        ])
        .default({ kind: 'none' })
        .describe('current the boat will meet: none, one that stays (setDeg is where it flows towards, degrees true), or a file inside the survey folder: a time series, a stream table by hours from high water, constituents, or a raster of vectors'),
    })
    .prefault({}),
  uncertainty: z
    .strictObject({
      sounderM: nonNegative.default(0.03).describe('one sigma, independent of depth'),
      sounderShare: nonNegative.default(0.003).describe('one sigma, share of depth'),
      draftM: nonNegative.default(0.05).describe('one sigma of the draft'),
      squatM: nonNegative.default(0.02).describe('one sigma of the squat'),
      heaveM: nonNegative.default(0.05).describe('one sigma of heave that is not measured'),
      waterLevelM: nonNegative.default(0.05).describe('one sigma of the water level where it is measured'),
      zoningM: nonNegative.default(0.02).describe('one sigma of the level at the boat against the gauge'),
      soundSpeedMps: nonNegative.default(3).describe('one sigma of the mean sound speed'),
      timeS: nonNegative.default(0.05).describe('one sigma of depth against position in time'),
      heaveMeasuredM: nonNegative.default(0.03).describe('one sigma of heave that is measured'),
      attitudeMeasuredDeg: nonNegative.default(0.5).describe('one sigma of roll and of pitch that are measured'),
      attitudeDeg: nonNegative.default(2).describe('one sigma of roll and of pitch that are not measured: how much the boat moves'),
      gnssHeightM: nonNegative.default(0.03).describe('one sigma of the antenna\'s height, where depths hang on it'),
      separationM: nonNegative.default(0.05).describe('one sigma of the datum\'s height above the ellipsoid'),
    })
    .prefault({})
    .describe('one-sigma terms of the vertical budget (IHO C-13 fig. 3.33)'),
  corrections: z
    .strictObject({
      clock: z.boolean().default(true).describe('time.loggerOffsetS'),
      latency: z.boolean().default(true).describe('gnss.latencyS and sounder.latencyS'),
      leverArms: z.boolean().default(true).describe('from antenna to transducer, turned by heading, roll and pitch'),
      beamTilt: z.boolean().default(true).describe('the beam leaning with roll and pitch'),
      heave: z.boolean().default(true).describe('where it is logged'),
      draft: z.boolean().default(true).describe('sounder.draftM'),
      squat: z.boolean().default(true).describe('sounder.squatM or squatCurve'),
      soundSpeed: z.boolean().default(true).describe('water.soundSpeed'),
      waterLevel: z.boolean().default(true).describe('water.level'),
    })
    .prefault({})
    .describe('which corrections are applied; one that is not is worked out all the same, and its full size goes into the uncertainty (the slope under the beam has sounder.slopeCorrection)'),
  motion: z
    .strictObject({
      sensor: leverArm.prefault({}),
      rollPositive: z.enum(['starboard-down', 'port-down']).default('starboard-down').describe('how the sensor signs its roll'),
      pitchPositive: z.enum(['bow-up', 'bow-down']).default('bow-up').describe('how it signs its pitch'),
      heavePositive: z.enum(['up', 'down']).default('up').describe('how it signs its heave'),
      rollOffsetDeg: z.number().min(-45).max(45).default(0).describe('what it reads, as it signs it, with the boat upright'),
      pitchOffsetDeg: z.number().min(-45).max(45).default(0).describe('what it reads with the boat level'),
      latencyS: metres.default(0).describe('age of a reading when it is stamped'),
    })
    .prefault({})
    .describe('the motion sensor: heave is that of its own place'),
  instruments: z
    .strictObject({
      bar: z
        .array(
          z.strictObject({
            whenUtc: z.string().max(40).nullable().default(null),
            from: z.enum(['transducer', 'surface']).default('transducer'),
            sigmaM: positive.default(0.02),
            readings: z.array(z.strictObject({ barM: positive, readM: positive })).max(500),
          }),
        )
        .max(20)
        .default([])
        .describe('bar checks: plate below the water surface and what the sounder read, from the transducer or, its draft setting added, from the surface; sigmaM: one sigma of the plate\'s depth'),
      marks: z
        .array(z.strictObject({ latDeg: z.number().min(-90).max(90), lonDeg: z.number().min(-180).max(180), sigmaM: positive.default(0.02), startUtc: z.string().max(40), endUtc: z.string().max(40) }))
        .max(20)
        .default([])
        .describe('static checks: a known mark, and from when to when the antenna stood on it'),
      refused: z.partialRecord(z.enum(['bar', 'static', 'heading', 'latency']), z.string().max(400)).default({}).describe('checks whose values are not to be used, with the reason'),
    })
    .prefault({})
    .describe('checks of the instruments'),
  cleaning: z
    .strictObject({
      slopeDeg: positive.max(89).default(50).describe('steeper than this between neighbours is not bottom'),
      windowS: positive.default(6).describe('neighbours in time that a sounding is held against'),
      outlierSigmas: positive.default(5).describe('set aside when further off than this many robust sigmas'),
      outlierFloorM: positive.default(0.25).describe('never set aside for less than this'),
      repeatCount: z.number().int().min(3).default(20).describe('this many equal depths in a row is a frozen instrument'),
    })
    .prefault({}),
  surface: z
    .strictObject({
      cellM: positive.nullable().default(null).describe('null: the finest of 0.5, 1, 2, 5, 10, ... m that keeps the raster under 4 million cells'),
      statistic: z.enum(['mean', 'median', 'shoalest', 'deepest', 'weighted', 'hypotheses']).default('median').describe('depth of a cell from its soundings; weighted: their mean, each by 1 / uncertainty squared; hypotheses: several depths kept and told apart, for dense soundings'),
      hypothesis: z.enum(['soundings', 'neighbours', 'both']).default('both').describe('of several depths in a cell the one drawn: that of most soundings, that nearest to the depths about it, or both weighed together'),
      fill: z.enum(['triangulation', 'natural-neighbour', 'spline', 'kriging', 'none']).default('triangulation').describe('how cells between soundings are filled: planes of triangles, natural neighbours, a spline in tension, kriging with a variogram fitted to the soundings, or not at all'),
      tension: z.number().min(0).max(1).default(0.35).describe('of the spline: 0 bends least and may overshoot, 1 is a membrane'),
      fillDistanceM: nonNegative.default(15).describe('no cell further than this from a sounding is filled'),
    })
    .prefault({}),
  contours: z.strictObject({ intervalM: positive.default(1).describe('between contours'), smooth: z.boolean().default(true).describe('smooth them, never deeper than the surface') }).prefault({}),
  gaps: z
    .strictObject({
      minAreaM2: positive.default(100).describe('a smaller hole is not a gap'),
      reachM: nonNegative.nullable().default(null).describe('a place further than this from a sounding is a hole; null: half the line spacing and a tenth'),
      order: z.boolean().default(true).describe('a place where the surface is not good enough for the order aimed at is a gap too'),
    })
    .prefault({}),
  lines: z
    .strictObject({
      purpose: purpose.default({ kind: 'own' }).describe('what the lines are for: own (as set here), or depths-order, depths-scale, imagery, objects, vegetation, from which spacing, speed, cross lines and run-in are derived'),
      sensor: sensor.nullable().default(null).describe('what looks at the bottom; null: the echo sounder as set, or a usual side-scan for imagery and objects'),
      depthM: positive.nullable().default(null).describe('depth to plan for; null: as in rehearse.bottom'),
      locked: z.array(z.enum(['spacingM', 'speedMps', 'headingDeg', 'crossShare', 'runInM', 'runOutM'])).max(6).default([]).describe('values that stay as set here, whatever the purpose asks'),
      own: z
        .strictObject({ spacingM: positive, speedMps: positive, headingDeg: z.number().min(0).lt(360).nullable(), crossShare: nonNegative.max(1), runInM: nonNegative, runOutM: nonNegative })
        .nullable()
        .default(null)
        .describe('what was set before a purpose derived it, given back when the purpose is own again; null: nothing is derived'),
      cells: z.boolean().default(false).describe('parts of the area may have lines on headings of their own, where that takes less time'),
      edges: z.enum(['cut', 'cover']).default('cut').describe('lines end where they leave the area, or reach on until half a spacing to either side covers it'),
      spacingM: positive.default(20).describe('between main lines'),
      headingDeg: z.number().min(0).lt(360).nullable().default(null).describe('of the main lines, degrees true; null: the one that takes least time'),
      runInM: nonNegative.default(5).describe('straight run before a line'),
      runOutM: nonNegative.default(5).describe('straight run after a line'),
      crossShare: nonNegative.max(1).default(0.05).describe('length of cross lines over length of main lines, at least'),
      minLengthM: nonNegative.default(5).describe('a shorter stretch is not a line'),
      speedMps: positive.default(1.5).describe('survey speed'),
      keepoutM: nonNegative.nullable().default(null).describe('lines stop this far from keep-outs and land; null: as far as ways keep off them (sortie.clearanceM), so that the boat has the same room at a line\'s end as on its way'),
      insetM: nonNegative.default(0).describe('lines keep this far inside the area and away from keep-outs'),
    })
    .prefault({}),
  boat: z
    .strictObject({
      name: z.string().max(80).default('').describe('of the boat, on its card'),
      lengthM: positive.default(1.2).describe('of the hull'),
      massKg: positive.default(18).describe('ready to run'),
      hand: z
        .record(z.string(), z.strictObject({ value: z.number().finite(), uncertainty95: nonNegative.nullable().default(null) }))
        .default({})
        .describe('figures of the boat card entered by hand, by name, until trials replace them; docs/formats.md lists the names'),
      trialLogs: z
        .union([z.literal('auto'), z.array(z.string().min(1).max(255)).max(200)])
        .default('auto')
        .describe('logs that hold sea trials, by file name; auto: those that carry thruster commands'),
      defaults: z.boolean().default(true).describe('fill what is missing with figures usual for a small twin-thruster boat, marked as such'),
    })
    .prefault({}),
  sortie: z
    .strictObject({
      launch: placeOnChart.nullable().default(null).describe('where the boat goes in and comes back to; null: no sorties are planned'),
      base: placeOnChart.nullable().default(null).describe('where the link\'s shore end stands; null: at the launch point'),
      startUtc: z.string().max(40).nullable().default(null).describe('when the first sortie leaves, ISO 8601 UTC; null: not decided'),
      transitMps: positive.nullable().default(null).describe('speed between lines and to them; null: survey speed'),
      clearanceM: nonNegative.default(8).describe('ways keep this far from keep-outs and land where they can; 8: what a boat of the class needs to come round, less makes rehearsals end in keep-outs'),
      reserveShare: nonNegative.max(0.9).default(0.2).describe('share of the battery kept for coming home'),
      batteryShare: positive.max(1).default(1).describe('of the card\'s battery energy that there is on the day: charge, cold, age'),
      swapS: nonNegative.default(600).describe('to change the battery at the launch point'),
      chance: z.number().min(0.5).max(0.9999).default(0.95).describe('that a sortie comes home without touching the reserve'),
    })
    .prefault({})
    .describe('trips on one charge'),
  rehearse: z
    .strictObject({
      turning: z.enum(['stop-and-turn', 'on-the-go']).default('on-the-go').describe('stops at sharp corners and turns on the spot, or turns under way'),
      acceptanceM: positive.default(2).describe('a waypoint counts as reached within this distance'),
      lookAheadM: positive.default(7).describe('the autopilot heads for the line this far ahead'),
      turnSpeedMps: positive.nullable().default(null).describe('speed it slows to in turns; null: it does not'),
      wind: z.strictObject({ speedMps: nonNegative, fromDeg: z.number() }).nullable().default(null).describe('wind to reckon with, and where it comes from'),
      leewayShare: nonNegative.lt(1).default(0).describe('share of the wind\'s speed that the boat drifts with; from trials'),
      draftM: nonNegative.default(0.25).describe('deepest part of the boat below the water'),
      leastWaterM: nonNegative.default(0.5).describe('least water wanted under it'),
      bottom: z
        .discriminatedUnion('kind', [
          z.strictObject({ kind: z.literal('none') }),
          z.strictObject({ kind: z.literal('constant'), depthM: metres }),
          z.strictObject({ kind: z.literal('raster'), file: z.string().min(1) }),
        ])
        .default({ kind: 'none' })
        .describe('depth below the datum to expect: not known, one depth, or a GeoTIFF of an earlier survey inside the survey folder'),
      leastSunDeg: z.number().min(-18).max(90).default(-0.833).describe('least height of the sun while the boat is out; -0.833: sunrise to sunset, -6: civil twilight'),
      lostLink: z.enum(['carry-on', 'hold', 'straight-home', 'back-along-track', 'safe-lane']).default('straight-home').describe('what the boat is set to do when the link drops'),
      lostLinkAfterS: nonNegative.default(10).describe('how long the link has been gone when the boat does it'),
      linkLostIsNoGo: z.boolean().default(false).describe('no-go where the link is expected to be lost for longer than that; else it goes with conditions where what the boat does then ends well'),
      toleranceM: positive.default(2).describe('a line counts as run where the boat is within this of it'),
    })
    .prefault({})
    .describe('how a sortie is rehearsed and what stops it'),
  link: z
    .strictObject({
      frequencyMhz: z.number().min(100).max(10_000).default(2400).describe('of the radio'),
      ratedRangeM: positive.default(250).describe('range that is known to work low over water between the heights below, or that the maker states'),
      ratedOver: z.enum(['water', 'free space']).default('water').describe('what that range is stated for'),
      baseHeightM: positive.default(2).describe('antenna at the base above the water'),
      boatHeightM: positive.default(0.4).describe('antenna on the boat above the water'),
      shoreHeightM: nonNegative.default(0).describe('height of the land in plan/shore.geojson where it stands in the way; 0: it does not'),
    })
    .prefault({})
    .describe('the radio link between base and boat'),
  brief: z
    .strictObject({
      contacts: z.array(z.string().max(160)).max(7).default([]).describe('whom to tell, one line each, on the field sheet'),
      emergency: z.array(z.string().max(160)).max(7).default([]).describe('what to do in an emergency, one line each, on the field sheet'),
      utcOffsetH: z.number().min(-14).max(14).default(0).describe('local time less UTC, shown beside it'),
      template: z.string().max(255).nullable().default(null).describe('text template for routes, a file inside the survey folder; docs/formats.md says how it is written'),
    })
    .prefault({})
    .describe('the field sheet'),
  sonar: z
    .strictObject({
      mount: leverArm.prefault({}).describe('where the side-scan sonar sits; towed: where the cable leaves the boat'),
      draftM: nonNegative.default(0.2).describe('sonar below the water surface, at rest'),
      clockOffsetS: metres.nullable().default(null).describe('added to the sonar\'s times to get UTC; null: found from what the logs say'),
      soundSpeedMps: positive.nullable().default(null).describe('for slant ranges; null: from the water'),
      swapSides: z.boolean().default(false).describe('port and starboard change places'),
      channels: z
        .strictObject({ port: z.number().int().nullable(), starboard: z.number().int().nullable() })
        .nullable()
        .default(null)
        .describe('channel numbers of SEG-Y records that are the sides; null: the lowest is port, the next starboard'),
      millisecondByte: z.number().int().min(1).max(239).nullable().default(null).describe('byte of a SEG-Y trace header, from 1, where a sonar that departs from the standard puts milliseconds of the second'),
      sampleIntervalUs: positive.nullable().default(null).describe('time between samples, where that in the records is not to be trusted'),
      layouts: z.array(layoutSetting).max(20).default([]).describe('layouts of records of your own, each as it stands or the name of a file inside the survey folder; docs/formats.md says how one is written'),
      layback: z
        .strictObject({ cableOutM: nonNegative, pointDownM: metres.default(0), pointAftM: metres.default(0) })
        .nullable()
        .default(null)
        .describe('a towed sonar: cable out from the point where it leaves the boat, how far that point is below the water surface (negative above) and behind the mount; null: not towed'),
    })
    .prefault({})
    .describe('the side-scan sonar and its records'),
  imagery: z
    .strictObject({
      cellM: positive.nullable().default(null).describe('side of a cell of the mosaic; null: chosen from the pings'),
      blend: z.enum(['best', 'mean', 'brightest', 'latest']).default('best').describe('where lines overlap: the look with the smallest footprint, the mean, the brightest, or the latest'),
      perLine: z.boolean().default(false).describe('also write every line as a picture of its own'),
      turns: z.boolean().default(false).describe('use pings from turns and ways between lines'),
      minRangeShare: nonNegative.max(1).default(0).describe('ground nearer than this share of the range is left out'),
      maxRangeShare: positive.max(1).default(1).describe('ground further than this share of the range is left out'),
      beamDeg: positive.max(20).default(1).describe('horizontal width of the side-scan\'s beam'),
      headingSmoothS: nonNegative.max(60).default(1).describe('headings are smoothed over this time to either side'),
      positionSmoothS: nonNegative.max(60).default(2).describe('positions are smoothed over this time to either side'),
      spreadingDb: nonNegative.max(60).default(30).describe('spreading put back, in dB a decade of range; 30 for the floor'),
      absorptionDbPerKm: nonNegative.nullable().default(null).describe('absorption of sound, one way; null: from the water and the sonar\'s frequency'),
      temperatureC: z.number().min(-2).max(40).default(10).describe('of the water, for its absorption'),
      salinity: nonNegative.max(42).default(35).describe('of the water, for its absorption'),
      scales: z.enum(['by-form', 'by-log', 'one']).default('by-form').describe('which side-scan logs have levels on one scale: those of one form of record, each log alone (another gain was set on the sonar), or all; scales are shifted to the same median'),
      destripe: z.boolean().default(true).describe('take out what single pings are louder than their neighbours'),
      bottom: z
        .strictObject({
          blankM: nonNegative.default(0.4).describe('nothing nearer to the sonar is taken for the floor'),
          mostM: positive.nullable().default(null).describe('nor anything further; null: no limit'),
          grassM: nonNegative.max(10).default(1.2).describe('how tall grass on the floor may be'),
          bridgeS: nonNegative.max(600).default(20).describe('a floor that is not heard is carried on for so long'),
        })
        .prefault({})
        .describe('how the floor under the sonar is found'),
    })
    .prefault({})
    .describe('side-scan pictures of the floor'),
  finds: z
    .strictObject({
      objectM: positive.max(100).default(0.6).describe('size on the floor of what is looked for'),
      objectHeightM: positive.max(50).nullable().default(null).describe('how far it stands up from the floor; null: half its size'),
      propose: z.boolean().default(true).describe('look the pictures over for candidates; off: only what is marked by hand'),
      falsePerHa: positive.max(1000).default(0.5).describe('candidates that the floor alone may give in a hectare'),
      sharedShare: nonNegative.max(1).default(0.5).describe('share of the positioning error that all looks of a day have in common, and that more looks do not average out'),
      priorPerHa: positive.max(10_000).default(1).describe('objects of that size expected in a hectare before the search'),
      looks: z.enum(LOOK_RULES).default('by-aspect').describe('how looks add up: independent (misses multiply), by-aspect (of looks from one eighth of the compass only the best counts), best (only the best look counts)'),
      curve: z
        .strictObject({ rangeByHeight: z.array(nonNegative).min(2).max(200), chance: z.array(z.number().min(0).max(1)).min(2).max(200), source: z.string().min(1).max(200) })
        .nullable()
        .default(null)
        .describe('chance of seeing the object in one pass by ground range over the sonar\'s height, as measured on objects you planted; null: as measured on the proving ground\'s plain ground for that size'),
      cellM: positive.nullable().default(null).describe('side of a cell of the search map; null: 1 m, or the finest that keeps it under a million cells'),
      nextLines: z.number().int().min(0).max(100).default(12).describe('at most so many lines to run next are proposed'),
      nextBatteryShare: positive.max(1).nullable().default(null).describe('share of the battery there is for them; null: sortie.batteryShare'),
    })
    .prefault({})
    .describe('things located on the bottom, and the chance of having missed one'),
  products: z
    .strictObject({
      write: z.array(z.enum(PRODUCT_KINDS)).max(PRODUCT_KINDS.length).default([...PRODUCT_KINDS]).describe('what is written beside the report; docs/formats.md says what each is'),
      authority: z.string().max(150).default('').describe('who answers for the survey, in S-102 and on the chart'),
      verticalDatumCode: z.number().int().min(1).max(46).nullable().default(null).describe('code of the datum in the IHO registry, for S-102; null: by the datum\'s name, else 24, local datum'),
      chart: z
        .strictObject({
          paper: z.enum(['auto', 'A4', 'A3', 'A2']).default('auto').describe('of the chart; auto: the smallest that holds the area at the scale'),
          scale: z.number().min(10).max(1_000_000).nullable().default(null).describe('of the chart, e.g. 1000 for 1:1000; null: the largest usual one at which the area fits one sheet'),
        })
        .prefault({}),
    })
    .prefault({})
    .describe('what is handed over'),
  columns: z
    .record(z.string(), z.unknown())
    .default({})
    .describe('remembered CSV column mappings, by header'),
});

export type Settings = z.infer<typeof settingsSchema>;
export type SettingsInput = z.input<typeof settingsSchema>;
