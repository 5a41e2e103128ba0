import { ORDERS, ORDER_LIMITS, thuLimitM, tvuLimitM } from '../depths/orders.js';
import { crossingBlocks } from './crossing-tables.js';
import type { Block, Fact } from './document.js';
import { figures, heading, paragraph, table, words } from './document.js';
import { formatCount, formatDepth, formatDifference, formatMetres, formatNumber, formatOrder, formatShare, formatUncertainty } from './figures.js';
import type { HistogramMark } from './plot-histogram.js';
import { histogramSvg } from './plot-histogram.js';
import type { ReportInput } from './report-input.js';
import { settingsDefaults } from './settings-defaults.js';

/** How good the survey is: uncertainty, orders, crossings, the budget behind it, and what it does not show. */
export function goodSection(input: ReportInput): Block[] {
  const { soundings } = input.summary;
  if (soundings === null || soundings.good === 0) return [heading(1, 'How good it is'), paragraph('There is no good sounding, so there is nothing to judge.'), heading(2, 'Known limits'), limits(input)];
  return [
    heading(1, 'How good it is'),
    { kind: 'facts', rows: goodFacts(input) },
    ...histograms(input),
    table(
      'Share of good soundings within each order of IHO S-44, edition 6.1.0, table 1',
      [words('Order', 0), figures('a, m'), figures('b'), figures(`TVU at ${formatDepth(soundings.depthMeanM, 1)}`), words('THU allowed', 0), figures(`at ${formatDepth(soundings.depthMeanM, 1)}`), figures('Within both'), words('')],
      ORDERS.map((order) => ({ order, ...ORDER_LIMITS[order] })).map((row) => [
        formatOrder(row.order),
        formatNumber(row.tvuAM, 2),
        formatNumber(row.tvuB, 4),
        formatUncertainty(tvuLimitM(row.order, soundings.depthMeanM)),
        `${row.thuM} m${row.thuShare > 0 ? ` + ${formatShare(row.thuShare, 0)} of depth` : ''}`,
        formatUncertainty(thuLimitM(row.order, soundings.depthMeanM), 1),
        formatShare(soundings.orderShare[row.order] ?? NaN),
        [row.order === soundings.orderMet ? 'met' : '', row.order === input.summary.settings.order ? 'aimed at' : ''].filter((part) => part !== '').join(', '),
      ]),
      '',
    ),
    paragraph('TVU, vertical, at 95 %: square root of a² + (b × depth)². THU, horizontal, at 95 %. An order is met here when at least 95 % of the good soundings are within its allowed uncertainty. S-44 also asks for coverage, search and detection of objects: those are for the surveyor to judge, with the gaps and the limits below.', 'quiet'),
    ...crossingBlocks(input),
    table('Where the uncertainty comes from: one sigma of each term (IHO C-13, figure 3.33)', [words('Term', 0), figures('One sigma'), words('From')], budget(input), ''),
    heading(2, 'Known limits'),
    limits(input),
  ];
}

function goodFacts(input: ReportInput): Fact[] {
  const { soundings, surface } = input.summary;
  if (soundings === null) return [];
  const { crossings } = soundings;
  return [
    { label: 'Depth, 95 %', value: `${formatUncertainty(soundings.tvuMedianM)}`, note: `median; nine in ten within ${formatUncertainty(soundings.tvuP90M)}` },
    { label: 'Position, 95 %', value: `${formatUncertainty(soundings.thuMedianM)}`, note: `median; nine in ten within ${formatUncertainty(soundings.thuP90M)}` },
    { label: 'Crossings', value: crossings === null ? 'none' : formatCount(crossings.count), note: crossings === null ? 'no lines cross' : `mean ${formatDifference(crossings.meanM)}, 95 % within ${formatMetres(crossings.p95M)}` },
    ...(surface === null ? [] : [{ label: 'Surface, 95 %', value: formatUncertainty(surface.uncertaintyMedianM), note: 'median of its cells' }]),
    ...(surface?.leftOut ? [{ label: 'Lines left out', value: formatMetres(surface.leftOut.rmsM), note: `RMS where ${formatCount(surface.leftOut.lines)} lines were left out in turn and told by the others; 95 % within ${formatMetres(surface.leftOut.p95M)}, mean ${formatDifference(surface.leftOut.biasM)}, ${formatShare(surface.leftOut.withinShare)} inside what is claimed` }] : []),
  ];
}

function histograms(input: ReportInput): Block[] {
  const { soundings, crossings, summary } = input;
  const drawn: { svg: string; widthMm: number; heightMm: number; alt: string }[] = [];
  const [widthMm, heightMm] = [88, 56];
  if (soundings !== null && summary.soundings !== null) {
    const { tvuM, reason } = soundings;
    const { settings } = summary;
    const { tvuMedianM, tvuP90M, depthMeanM } = summary.soundings;
    const marks: HistogramMark[] = [
      { value: tvuMedianM, text: `median ${formatMetres(tvuMedianM)}` },
      { value: tvuP90M, text: `nine in ten ${formatMetres(tvuP90M)}` },
      /* Orders far above what was measured would squeeze the bars: the one aimed at is always shown. */
      ...ORDERS.filter((order) => order !== '1b' && (order === settings.order || tvuLimitM(order, depthMeanM) < 2 * tvuP90M)).map((order) => ({ value: tvuLimitM(order, depthMeanM), text: order === '1a' ? 'Orders 1a, 1b' : formatOrder(order) })),
    ];
    const svg = histogramSvg(tvuM.filter((_, i) => reason[i] === 0), 'vertical uncertainty, 95 % [m]', marks, widthMm, heightMm);
    if (svg !== '') drawn.push({ svg, widthMm, heightMm, alt: 'Histogram of the vertical uncertainty of good soundings, 95 %' });
  }
  if (crossings !== null) {
    const differences = crossings.points.map((point) => point.differenceM);
    const marks = summary.soundings?.crossings ? [{ value: summary.soundings.crossings.meanM, text: `mean ${formatDifference(summary.soundings.crossings.meanM)}` }] : [];
    const svg = differences.length < 5 ? '' : histogramSvg(differences, 'difference of depth where lines cross [m]', marks, widthMm, heightMm);
    if (svg !== '') drawn.push({ svg, widthMm, heightMm, alt: 'Histogram of depth differences where lines cross' });
  }
  if (drawn.length === 0) return [];
  const caption = `Vertical uncertainty of the good soundings${summary.soundings === null ? '' : `, with what the orders allow at ${formatDepth(summary.soundings.depthMeanM, 1)}`}${drawn.length > 1 ? '; depth on the line run second less depth on the line run first, where lines cross' : ''}.`;
  return [{ kind: 'figures', figures: drawn, caption }];
}

function budget(input: ReportInput): string[][] {
  const { settings, soundings } = input.summary;
  const { uncertainty } = settings;
  const heights = settings.water.level.kind === 'gnss-height' && settings.corrections.waterLevel;
  const moves = (column: string): boolean => soundings?.corrections.some((one) => one.column === column && Math.max(Math.abs(one.leastM), Math.abs(one.mostM)) > 0) === true;
  const attitude = moves('beamTiltM');
  const defaults = settingsDefaults();
  const source = (key: keyof typeof uncertainty): string => (uncertainty[key] === defaults.uncertainty[key] ? 'default' : 'survey.json');
  return [
    ['Sounder, at any depth', formatMetres(uncertainty.sounderM, 3), source('sounderM')],
    ['Sounder, share of depth', formatShare(uncertainty.sounderShare, 2), source('sounderShare')],
    ...(heights
      ? [
          ['Height of the antenna', formatMetres(uncertainty.gnssHeightM, 3), source('gnssHeightM')],
          ['Datum above the ellipsoid', formatMetres(uncertainty.separationM, 3), source('separationM')],
        ]
      : [
          ['Draft', formatMetres(uncertainty.draftM, 3), source('draftM')],
          ['Squat', formatMetres(uncertainty.squatM, 3), source('squatM')],
          ...(moves('heaveM') ? [['Heave, where it is measured', formatMetres(uncertainty.heaveMeasuredM, 3), source('heaveMeasuredM')]] : []),
          ['Heave that is not measured', formatMetres(uncertainty.heaveM, 3), source('heaveM')],
          ['Water level at its station', formatMetres(uncertainty.waterLevelM, 3), source('waterLevelM')],
          ['Water level carried to the boat', formatMetres(uncertainty.zoningM, 3), source('zoningM')],
        ]),
    ...(attitude ? [['Roll and pitch, where they are measured', `${formatNumber(uncertainty.attitudeMeasuredDeg, 1)}°`, source('attitudeMeasuredDeg')]] : []),
    ['Roll and pitch that are not measured', `${formatNumber(uncertainty.attitudeDeg, 1)}°`, source('attitudeDeg')],
    ['Sound speed', `${formatNumber(uncertainty.soundSpeedMps, 1)} m/s`, source('soundSpeedMps')],
    ['Time', `${formatNumber(uncertainty.timeS, 3)} s`, source('timeS')],
    ['Position, where the log gives none', formatMetres(settings.gnss.sigmaM), settings.gnss.sigmaM === defaults.gnss.sigmaM ? 'default' : 'survey.json'],
    ['Heading', `${formatNumber(settings.heading.sigmaDeg, 1)}°`, settings.heading.sigmaDeg === defaults.heading.sigmaDeg ? 'default' : 'survey.json'],
  ];
}

/** What the survey does not show, from how it was made. */
function limits(input: ReportInput): Block {
  const { settings, soundings, surface, gaps, lines } = input.summary;
  const items = ['The uncertainties are worked out from the budget above, not measured; crossings are the check on them.'];
  if (surface !== null) {
    items.push(
      `Between lines the bottom is interpolated from soundings up to ${formatMetres(settings.surface.fillDistanceM, 1)} away${lines === null ? '' : ` (lines are ${formatMetres(lines.spacingM, 1)} apart)`}: a rock or a wreck that no sounding touched is not on the chart.`,
    );
  }
  items.push(`A beam of ${formatNumber(settings.sounder.beamWidthDeg, 1)}° sees the shoalest thing within it: on steep ground depths are too shoal, and narrow holes are hidden.`);
  if (settings.water.level.kind === 'none') items.push('No water level was taken off: depths are below the water of the moment, and tide or flow between lines shows as a step.');
  if (settings.water.level.kind === 'constant') items.push('One water level was used for the whole survey.');
  if (settings.water.soundSpeed.kind === 'as-set') items.push('Sound speed was not measured: depths are off by the same share as the sound speed that was set.');
  if (settings.sounder.draftM === 0 && settings.sounder.transducer.downM === 0) items.push('Draft is given as 0 m: unless the instrument was set to add it, every depth is too shoal by the draft.');
  if (soundings === null || soundings.crossings === null || soundings.crossings.count === 0) items.push('There are no crossings, so a mistake that is the same all day (draft, datum, clock) would not show.');
  else items.push('Crossings of one boat on one day do not show a mistake that is the same all day (draft, datum).');
  if (gaps === null) items.push('Gaps were not looked for.');
  return { kind: 'list', items };
}
