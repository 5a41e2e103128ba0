import { isSonarKind } from '../formats/log-kind.js';
import type { Settings } from '../survey/settings.js';
import type { Block } from './document.js';
import { figures, heading, paragraph, table, words } from './document.js';
import { formatCount, formatDifference, formatMetres, formatNumber, formatUtcSpan, formatVariation } from './figures.js';
import { waterLevelSvg } from './plot-time.js';
import type { ReportInput } from './report-input.js';
import { instrumentBlocks } from './instrument-blocks.js';
import { levelWords, soundWords } from './water-words.js';
import { settingsDefaults } from './settings-defaults.js';

/** How it was surveyed: instruments, every correction with its value and source, water level, rules of cleaning, surface. */
export function howSection(input: ReportInput): Block[] {
  const { summary } = input;
  const level = waterLevelSvg(input.waterLevel, input.soundings);
  return [
    heading(1, 'How it was surveyed'),
    table(
      'What the logs hold',
      [words('Log', 3), words('Kind', 0), words('Time', 3), figures('Positions'), figures('Depths'), words('Sentences or records', 4)],
      summary.logs.map((log) => [
        log.file,
        log.kind,
        formatUtcSpan(log.timeStartS, log.timeEndS),
        formatCount(log.fixes),
        isSonarKind(log.kind) ? '' : formatCount(log.pings),
        Object.entries(log.counts).map(([type, count]) => `${type} ${formatCount(count)}`).join(', '),
      ]),
      'No log has been taken in.',
    ),
    table('Corrections', [words('Correction', 0), words('Value', 4), words('What it does, and where it is from', 5)], corrections(input), ''),
    paragraph(
      `${fromHeights(input) ? 'Depth below datum = (measured below the transducer, corrected for sound speed) + transducer below the antenna - height of the antenna above datum; draft, squat and heave are in that height.' : 'Depth below datum = (measured below the transducer, corrected for sound speed) + draft at rest + squat - heave - water level above datum.'} A correction that is switched off is left out of the depths and counted at its full size in the uncertainty. Where a value is marked "default", nobody has entered one for this boat: it is the program's.`,
      'quiet',
    ),
    ...instrumentBlocks(input),
    heading(2, 'Water level'),
    ...(level === ''
      ? [paragraph('No water level was taken off: depths are below the water surface of the moment.')]
      : [{ kind: 'figures' as const, figures: [{ svg: level, widthMm: 180, heightMm: 44, alt: 'Water level above datum against time' }], caption: `Water level above ${summary.settings.datum}, metres${input.waterLevel === null ? '' : `: ${input.waterLevel.label}`}.` }]),
    heading(2, 'Cleaning and surface'),
    table('Rules that set soundings aside, and how the surface is made', [words('Rule', 0), words('Value', 2), words('What it does', 5)], rules(input), ''),
  ];
}

/** Whether depths hang on the height of the antenna. */
function fromHeights({ summary: { settings } }: ReportInput): boolean {
  return settings.water.level.kind === 'gnss-height' && settings.corrections.waterLevel;
}

const OFF = 'SWITCHED OFF, not applied';

/** Extra draft under way, as entered. */
function squatValue({ squatM, squatCurve }: Settings['sounder']): string {
  if (squatCurve === null) return formatMetres(squatM);
  return squatCurve.kind === 'speed-square' ? `${formatNumber(squatCurve.metresPerMps2, 4)} m times the speed in m/s squared` : `by speed: ${squatCurve.points.map(({ speedMps, squatM: at }) => `${formatMetres(at, 3)} at ${formatNumber(speedMps, 1)} m/s`).join(', ')}`;
}

function corrections(input: ReportInput): string[][] {
  const { settings, soundings } = input.summary;
  const defaults = settingsDefaults();
  const { gnss, sounder, heading: head, time, water, corrections: on, motion } = settings;
  const from = (value: unknown, standard: unknown): string => (JSON.stringify(value) === JSON.stringify(standard) ? 'default' : 'survey.json');
  const arm = ({ forwardM, starboardM, downM }: Settings['gnss']['antenna']): string => `${formatDifference(forwardM)} forward, ${formatDifference(starboardM)} to starboard, ${formatDifference(downM)} down`;
  const level = water.level;
  const levelRow =
    level.kind === 'none'
      ? ['none', 'no water level is taken off']
      : level.kind === 'constant'
        ? [formatDifference(level.levelM), 'above datum, the same all the time; survey.json']
        : [soundings === null || !on.waterLevel ? 'from files' : `${formatMetres(soundings.waterLevelMinM)} to ${formatMetres(soundings.waterLevelMaxM)}`, `above datum; ${levelWords(level)}`];
  const sound = water.soundSpeed;
  const soundRow = [
    sound.kind === 'as-set' ? 'as set' : sound.kind === 'constant' ? `${formatNumber(sound.soundSpeedMps, 1)} m/s` : sound.kind === 'profile' ? 'a profile' : sound.casts.length === 1 ? 'one cast' : `${sound.casts.length} casts`,
    `${soundWords(water, sounder)}${sound.kind === 'profile' || sound.kind === 'casts' ? '; each depth is corrected by the travel time through it' : ''}`,
  ];
  const variation = input.variation;
  const headingText = { auto: 'from the best source each log has', true: 'true heading of the logs', magnetic: 'magnetic heading of the logs and the variation', course: 'course over ground stands for it' }[head.source];
  // What is said of a correction holds only where it is applied.
  const applied = (switchedOn: boolean, text: string): string => (switchedOn ? text : `${OFF}; ${text.replace(/^(added|taken off)(?=[;,])/, 'would be $1')}`);
  const heights = fromHeights(input);
  const figure = (column: string) => soundings?.corrections.find((one) => one.column === column);
  const heave = figure('heaveM');
  const heaveLogged = heave !== undefined && Math.max(Math.abs(heave.leastM), Math.abs(heave.mostM)) > 0;
  const tilt = figure('beamTiltM');
  const slope = figure('slopeM');
  const range = (one: { readonly leastM: number; readonly mostM: number } | undefined): string => (one === undefined || Number.isNaN(one.leastM) ? 'not known' : `${formatDifference(one.leastM)} to ${formatDifference(one.mostM)}`);
  return [
    ['Clock of the logger', `${formatNumber(time.loggerOffsetS, 3)} s`, applied(on.clock, `added to logged times; ${from(time.loggerOffsetS, defaults.time.loggerOffsetS)}`)],
    ['Age of positions', `${formatNumber(gnss.latencyS, 3)} s`, applied(on.latency, `taken off the time of each position; ${from(gnss.latencyS, defaults.gnss.latencyS)}`)],
    ['Age of depths', `${formatNumber(sounder.latencyS, 3)} s`, applied(on.latency, `taken off the time of each depth; ${from(sounder.latencyS, defaults.sounder.latencyS)}`)],
    ['Antenna', arm(gnss.antenna), applied(on.leverArms, `from the boat's reference point; ${from(gnss.antenna, defaults.gnss.antenna)}`)],
    ['Transducer', arm(sounder.transducer), applied(on.leverArms, `from the boat's reference point; ${from(sounder.transducer, defaults.sounder.transducer)}`)],
    ['Heading', headingText, `turns the lever arms; ${from(head.source, defaults.heading.source)}`],
    ['Magnetic variation', variation === null ? 'not used' : formatVariation(variation.variationDeg), variation === null ? '' : `${variation.source}, ${variation.date}`],
    ...(head.offsetDeg === 0 ? [] : [['Compass against the bow', `${formatNumber(head.offsetDeg, 1)}°`, 'taken off the heading; survey.json']]),
    ...(heights
      ? []
      : [
          ['Draft at rest', formatMetres(sounder.draftM), applied(on.draft, `added; ${from(sounder.draftM, defaults.sounder.draftM)}`)],
          ['Squat', squatValue(sounder), applied(on.squat, `added; ${from([sounder.squatM, sounder.squatCurve], [defaults.sounder.squatM, defaults.sounder.squatCurve])}`)],
          ['Heave', heaveLogged ? range(heave) : 'none logged', heaveLogged ? applied(on.heave, `added, as logged, ${motion.heavePositive} positive`) : 'not corrected; in the uncertainty'],
        ]),
    ...(tilt !== undefined && Math.max(Math.abs(tilt.leastM), Math.abs(tilt.mostM)) >= 0.0005 ? [['Beam off the vertical', range(tilt), applied(on.beamTilt, 'added, by roll and pitch as logged')]] : []),
    ...(slope !== undefined && Math.max(Math.abs(slope.leastM), Math.abs(slope.mostM)) >= 0.0005 ? [['Slope under the beam', range(slope), applied(sounder.slopeCorrection, `added, for a beam of ${formatNumber(sounder.beamWidthDeg, 1)}° over the slope of neighbouring soundings`)]] : []),
    ['Sound speed set', `${formatNumber(sounder.soundSpeedSetMps, 1)} m/s`, `what the instrument assumed; ${from(sounder.soundSpeedSetMps, defaults.sounder.soundSpeedSetMps)}`],
    ['Sound speed used', soundRow[0]!, sound.kind === 'as-set' ? soundRow[1]! : applied(on.soundSpeed, soundRow[1]!)],
    ['Water level', levelRow[0]!, level.kind === 'none' ? levelRow[1]! : applied(on.waterLevel, levelRow[1]!)],
  ];
}

function rules(input: ReportInput): string[][] {
  const { summary } = input;
  const { sounder, cleaning, gnss, surface, contours, gaps } = summary.settings;
  const cellM = surface.cellM ?? summary.surface?.cellM ?? NaN;
  const reachM = gaps.reachM ?? summary.gaps?.reachM ?? NaN;
  return [
    ['Position', `${formatNumber(gnss.maxGapS, 1)} s; ${formatNumber(gnss.maxSpeedMps, 1)} m/s`, 'no position is interpolated across a longer gap; one that needs more speed is a jump'],
    ['Depth gate', `${formatNumber(sounder.minDepthM, 2)} to ${formatNumber(sounder.maxDepthM, 1)} m`, 'a measured depth outside it is set aside'],
    ['Slope gate', `${formatNumber(cleaning.slopeDeg, 0)}°`, 'steeper than this between neighbours is not bottom'],
    ['Outliers', `${formatNumber(cleaning.outlierSigmas, 1)} sigmas in ${formatNumber(cleaning.windowS, 1)} s`, `from the running median, never for less than ${formatMetres(cleaning.outlierFloorM)}`],
    ['Repeated values', formatCount(cleaning.repeatCount), 'as many equal depths in a row: the instrument had stopped'],
    ['Surface', `${surface.statistic} in cells of ${formatMetres(cellM)}`, `cells without soundings are filled between them, none further than ${formatMetres(surface.fillDistanceM, 1)} from one`],
    ['Contours', `every ${formatMetres(contours.intervalM)}`, contours.smooth ? 'smoothed' : 'not smoothed'],
    ['Gaps', `from ${formatNumber(gaps.minAreaM2, 0)} m²`, Number.isFinite(reachM) ? `holes further than ${formatMetres(reachM, 1)} from a good sounding${gaps.reachM === null ? ', taken from the line spacing' : ''}` : 'holes in the area; a smaller one is not a gap'],
  ];
}
