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
      'Depth below datum = (measured below the transducer, corrected for sound speed) + draft at rest + squat - heave - water level above datum. Where a value is marked "default", nobody has entered one for this boat: it is the program\'s.',
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

function corrections(input: ReportInput): string[][] {
  const { settings, soundings } = input.summary;
  const defaults = settingsDefaults();
  const { gnss, sounder, heading: head, time, water } = settings;
  const from = (value: unknown, standard: unknown): string => (JSON.stringify(value) === JSON.stringify(standard) ? 'default' : 'survey.json');
  const arm = ({ forwardM, starboardM, downM }: Settings['gnss']['antenna']): string => `${formatDifference(forwardM)} forward, ${formatDifference(starboardM)} to starboard, ${formatDifference(downM)} down`;
  const level = water.level;
  const levelRow =
    level.kind === 'none'
      ? ['none', 'no water level is taken off']
      : level.kind === 'constant'
        ? [formatDifference(level.levelM), 'above datum, the same all the time; survey.json']
        : [soundings === null ? 'from files' : `${formatMetres(soundings.waterLevelMinM)} to ${formatMetres(soundings.waterLevelMaxM)}`, `above datum; ${levelWords(level)}`];
  const sound = water.soundSpeed;
  const soundRow = [
    sound.kind === 'as-set' ? 'as set' : sound.kind === 'constant' ? `${formatNumber(sound.soundSpeedMps, 1)} m/s` : sound.kind === 'profile' ? 'a profile' : sound.casts.length === 1 ? 'one cast' : `${sound.casts.length} casts`,
    `${soundWords(water, sounder)}${sound.kind === 'profile' || sound.kind === 'casts' ? '; each depth is corrected by the travel time through it' : ''}`,
  ];
  const variation = input.variation;
  const headingText = { auto: 'from the best source each log has', true: 'true heading of the logs', magnetic: 'magnetic heading of the logs and the variation', course: 'course over ground stands for it' }[head.source];
  return [
    ['Clock of the logger', `${formatNumber(time.loggerOffsetS, 3)} s`, `added to logged times; ${from(time.loggerOffsetS, defaults.time.loggerOffsetS)}`],
    ['Age of positions', `${formatNumber(gnss.latencyS, 3)} s`, `taken off the time of each position; ${from(gnss.latencyS, defaults.gnss.latencyS)}`],
    ['Age of depths', `${formatNumber(sounder.latencyS, 3)} s`, `taken off the time of each depth; ${from(sounder.latencyS, defaults.sounder.latencyS)}`],
    ['Antenna', arm(gnss.antenna), `from the boat's reference point; ${from(gnss.antenna, defaults.gnss.antenna)}`],
    ['Transducer', arm(sounder.transducer), `from the boat's reference point; ${from(sounder.transducer, defaults.sounder.transducer)}`],
    ['Heading', headingText, `turns the lever arms; ${from(head.source, defaults.heading.source)}`],
    ['Magnetic variation', variation === null ? 'not used' : formatVariation(variation.variationDeg), variation === null ? '' : `${variation.source}, ${variation.date}`],
    ['Draft at rest', formatMetres(sounder.draftM), `added; ${from(sounder.draftM, defaults.sounder.draftM)}`],
    ['Squat', formatMetres(sounder.squatM), `added; ${from(sounder.squatM, defaults.sounder.squatM)}`],
    ['Heave', 'as logged', 'taken off where the logs record it, otherwise nothing'],
    ['Sound speed set', `${formatNumber(sounder.soundSpeedSetMps, 1)} m/s`, `what the instrument assumed; ${from(sounder.soundSpeedSetMps, defaults.sounder.soundSpeedSetMps)}`],
    ['Sound speed used', ...soundRow],
    ['Water level', ...levelRow],
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
