import type { Block, Fact } from './document.js';
import { heading, paragraph } from './document.js';
import {
  formatArea, formatCount, formatCounted, formatDays, formatDepth, formatDifference, formatLength, formatMetres, formatOrder, formatShare, formatUncertainty,
  formatUtcDate, formatUtcSpan, formatUtcTime,
} from './figures.js';
import type { ReportInput } from './report-input.js';
import { depthsBelow } from '../water/depth-datum.js';

/** The figures of the title block. */
export function titleFacts(input: ReportInput): Fact[] {
  const { summary } = input;
  const { settings, frame, soundings } = summary;
  return [
    { label: 'Surveyed', value: soundings === null ? 'not yet' : formatDays(soundings.timeStartS, soundings.timeEndS), note: soundings === null ? '' : formatUtcSpan(soundings.timeStartS, soundings.timeEndS) },
    { label: 'Depths below', value: depthsBelow(settings), note: 'metres, positive down' },
    { label: 'Frame', value: frame === null ? 'not known yet' : frame.label, note: frame === null ? '' : `EPSG:${frame.epsg}; positions WGS 84` },
    { label: 'Order aimed at', value: formatOrder(settings.order), note: 'IHO S-44, edition 6.1.0' },
    { label: 'Order met', value: orderMetText(input), note: soundings === null ? '' : 'as to uncertainty alone; see How good' },
  ];
}

function orderMetText(input: ReportInput): string {
  const { soundings } = input.summary;
  if (soundings === null || soundings.good === 0) return 'nothing to judge';
  return soundings.orderMet === null ? 'none' : formatOrder(soundings.orderMet);
}

/** The survey in a few sentences, and what its crew should look at. */
export function summarySection(input: ReportInput): Block[] {
  const { summary } = input;
  const sentences = [...measuredSentences(input), ...coverageSentences(input)];
  return [
    heading(1, 'Summary'),
    ...sentences.map((text) => paragraph(text)),
    ...(summary.settings.invented ? [paragraph('The place and the data of this survey are invented.', 'quiet')] : []),
    ...summary.notes.map((note) => paragraph(note, 'warning')),
  ];
}

function measuredSentences(input: ReportInput): string[] {
  const { summary } = input;
  const { settings, soundings, logs } = summary;
  if (soundings === null) {
    return [
      logs.length === 0
        ? `${settings.name} has not been surveyed yet: no log has been taken in.`
        : `${formatCounted(logs.length, 'log')} ${logs.length === 1 ? 'has' : 'have'} been taken in for ${settings.name}, but no soundings have been made from ${logs.length === 1 ? 'it' : 'them'} yet.`,
    ];
  }
  const aside = soundings.total - soundings.good;
  const taken = `${settings.name} was surveyed on ${surveyedWhen(soundings.timeStartS, soundings.timeEndS)}. The boat ran ${formatLength(soundings.trackLengthM)} and took ${formatCounted(soundings.total, 'sounding')}; ${
    aside === 0 ? 'none was set aside' : `${formatCount(aside)} (${formatShare(aside / Math.max(1, soundings.total))}) were set aside, each with its reason`
  }.`;
  if (soundings.good === 0) return [taken, 'No sounding is left to make depths from. The table of what was set aside says why.'];
  const met =
    soundings.orderMet === null
      ? `Fewer than 95 % of them are within the uncertainty of any order of IHO S-44; ${formatOrder(settings.order)} was aimed at.`
      : `That is within what ${formatOrder(soundings.orderMet)} of IHO S-44 allows${soundings.orderMet === settings.order ? ', the order aimed at' : `; ${formatOrder(settings.order)} was aimed at`}.`;
  const share = soundings.orderShare[settings.order];
  const aimed = share === undefined || soundings.orderMet === null ? '' : ` ${formatShare(share)} of the soundings are within the uncertainty of ${formatOrder(settings.order)}.`;
  const crossings =
    soundings.crossings === null || soundings.crossings.count === 0
      ? 'No lines cross, so nothing in this survey checks that uncertainty.'
      : `At ${formatCounted(soundings.crossings.count, 'crossing')} of lines the depths differ by ${formatDifference(soundings.crossings.meanM)} on the average, and 95 % of them by at most ${formatMetres(soundings.crossings.p95M)}.`;
  return [
    taken,
    `Depths run from ${formatDepth(soundings.depthMinM)} to ${formatDepth(soundings.depthMaxM)} below ${depthsBelow(settings)}. Half of the soundings are good to ${formatUncertainty(soundings.tvuMedianM)} or better and nine in ten to ${formatUncertainty(soundings.tvuP90M)} (95 % confidence). ${met}${aimed}`,
    crossings,
  ];
}

/** `13 May 2026, 09:14 to 10:39 UTC`; over more days the days alone, which the title block has to the minute. */
function surveyedWhen(startS: number, endS: number): string {
  const days = formatDays(startS, endS);
  return formatUtcDate(startS) === formatUtcDate(endS) ? `${days}, ${formatUtcTime(startS)} to ${formatUtcTime(endS)} UTC` : days;
}

function coverageSentences(input: ReportInput): string[] {
  const { area, gaps, soundings } = input.summary;
  if (soundings === null) return [];
  if (area === null) return ['No area was drawn, so nothing can be said about what was missed.'];
  if (gaps === null) return [`The area is ${formatArea(area.areaM2)}. Gaps have not been looked for yet.`];
  const near = `${formatShare(gaps.coveredShare)} of the area of ${formatArea(area.areaM2)} lies within ${formatMetres(gaps.reachM, 1)} of a good sounding`;
  if (gaps.count === 0) return [`${near}. No gap is left.`];
  const fill = gaps.fillLines === 0 ? '' : ` ${formatCounted(gaps.fillLines, 'line')}, ${formatLength(gaps.fillLengthM)} in all, would fill ${gaps.count === 1 ? 'it' : 'them'}.`;
  const left =
    gaps.count === 1 ? `One gap of ${formatArea(gaps.areaM2)} is left.` : `${formatCount(gaps.count)} gaps are left, ${formatArea(gaps.areaM2)} in all, the largest ${formatArea(gaps.largestM2)}${(gaps.weakCount ?? 0) > 0 ? `; ${formatCount(gaps.weakCount ?? 0)} of them sounded, but not to ${formatOrder(input.summary.settings.order)}` : ''}.`;
  return [`${near}. ${left}${fill}`];
}
