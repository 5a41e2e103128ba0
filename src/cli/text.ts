import {
  formatArea, formatBytes, formatCount, formatCounted, formatDepthRange, formatDifference, formatDirection, formatDuration, formatLength, formatMetres,
  formatOrder, formatShare, formatUtcSpan, shortHash,
} from '../report/figures.js';
import type { BuildResult, TakeInResult } from '../survey/desk.js';
import type { SurfaceComparison } from '../survey/compare-surfaces.js';
import { isSonarKind } from '../survey/sonar-kind.js';
import { depthsBelow, reasonLabel } from '../survey/soundings-figures.js';
import type { SurveySummary } from '../survey/summary.js';
import { figure } from './figure.js';
import { sideScanText } from './imagery-text.js';

/** Reasons for setting aside are longer than the names of figures. */
const REASON = 40;

/** The line plan in figures. */
export function linesText(summary: SurveySummary): string[] {
  const { lines, area } = summary;
  const text = area === null ? [] : [figure('Area', formatArea(area.areaM2))];
  if (lines === null) return [...text, figure('Lines', 'none planned yet', `tallow lines ${summary.folder}`)];
  return [
    ...text,
    figure('Main lines', formatCount(lines.main), `${formatLength(lines.mainLengthM)}, ${formatMetres(lines.spacingM, 1)} apart${lines.byDepth === true ? ' or more, by the depth' : ''}, heading ${formatDirection(lines.headingDeg)}`),
    figure('Cross lines', formatCount(lines.cross), formatLength(lines.crossLengthM)),
    figure('Time', formatDuration(lines.timeS), `all lines in one go, ${formatLength(lines.transitLengthM)} of ways and run-ins with them${lines.reckoned === undefined ? '' : `; ${lines.reckoned}`}`),
  ];
}

/** Soundings in figures. */
export function depthsText(summary: SurveySummary): string[] {
  const { soundings, surface } = summary;
  if (soundings === null) return [figure('Soundings', 'none yet', `tallow take-in ${summary.folder} <log>`)];
  const aside = Object.entries(soundings.setAside).filter(([, count]) => count > 0);
  const text = [
    figure('Soundings', formatCount(soundings.total), `${formatShare((soundings.total - soundings.good) / Math.max(1, soundings.total))} set aside, ${formatUtcSpan(soundings.timeStartS, soundings.timeEndS)}`),
  ];
  for (const [reason, count] of aside) text.push(`    ${reasonLabel(reason).padEnd(REASON)}${formatCount(count).padStart(7)}`);
  if (soundings.good === 0) return text;
  text.push(
    figure('Depth', formatDepthRange(soundings.depthMinM, soundings.depthMaxM), `below ${depthsBelow(summary.settings)}`),
    figure('Uncertainty', `${formatMetres(soundings.tvuMedianM)} vertical, ${formatMetres(soundings.thuMedianM)} horizontal`, `95 %, median; worst tenth ${formatMetres(soundings.tvuP90M)} and ${formatMetres(soundings.thuP90M)}`),
    figure('Order met', soundings.orderMet === null ? 'none' : formatOrder(soundings.orderMet), `IHO S-44 ed. 6.1.0, uncertainty alone; aimed at ${formatOrder(summary.settings.order)}`),
  );
  text.push(...correctionsText(soundings.corrections));
  if (soundings.crossings !== null) {
    text.push(figure('Crossings', formatCount(soundings.crossings.count), `mean ${formatDifference(soundings.crossings.meanM)}, 95 % within ${formatMetres(soundings.crossings.p95M)}`));
  }
  if (surface !== null) {
    text.push(figure('Surface', `${formatCount(surface.cellsMeasured + surface.cellsFilled)} cells of ${formatMetres(surface.cellM, 1)}`, `${formatCount(surface.cellsMeasured)} measured, ${formatCount(surface.cellsFilled)} filled between`));
    const { leftOut, hypotheses } = surface;
    if (hypotheses) text.push(figure('Several depths', `in ${formatCounted(hypotheses.several, 'cell')}`, `${formatCount(hypotheses.doubtful)} of them in doubt, ${formatCount(hypotheses.byHand)} chosen by hand; all are in derived/hypotheses.parquet`));
    if (leftOut) text.push(figure('Lines left out', `RMS ${formatMetres(leftOut.rmsM)}`, `${formatCount(leftOut.lines)} lines in turn, told by the others at ${formatCount(leftOut.count)} soundings: mean ${formatDifference(leftOut.biasM)}, 95 % within ${formatMetres(leftOut.p95M)}, ${formatShare(leftOut.withinShare)} inside what is claimed`));
  }
  return text;
}

/** Each correction that adds anything: what, over the good soundings, and whether it is applied. */
function correctionsText(corrections: NonNullable<SurveySummary['soundings']>['corrections']): string[] {
  const some = corrections.filter(({ leastM, mostM, on }) => !on || Math.max(Math.abs(leastM), Math.abs(mostM)) >= 0.0005);
  if (some.length === 0) return [];
  const range = (leastM: number, mostM: number): string =>
    Number.isNaN(leastM) ? 'nothing known' : Math.abs(mostM - leastM) < 0.0005 ? formatDifference(mostM, 3) : `${formatDifference(leastM, 3)} to ${formatDifference(mostM, 3)}`;
  return [
    figure('Corrections', 'added to each depth, least to most'),
    ...some.map(({ label, leastM, mostM, on, horizontal }) => `    ${label.padEnd(44)}${range(leastM, mostM)}${on ? '' : '  (off: not applied; in the uncertainty)'}${horizontal && on ? '  (place)' : ''}`),
  ];
}

const FILL_WORDS: Readonly<Record<string, string>> = { triangulation: 'triangulation', 'natural-neighbour': 'natural neighbours', spline: 'spline in tension', kriging: 'kriging' };

/** The ways of filling beside each other. */
export function surfacesText({ methods, best }: SurfaceComparison): string[] {
  if (best === null) return ['  No line can be left out: there are fewer than two lines, or none that the others reach. Raise surface.fillDistanceM to the line spacing, or set surface.fill.'];
  return [
    `  ${'Filled by'.padEnd(22)}${'RMS'.padStart(9)}${'mean'.padStart(10)}${'95 %'.padStart(9)}${'inside'.padStart(9)}${'soundings'.padStart(12)}`,
    ...methods.map(({ fill, leftOut }) => `  ${(FILL_WORDS[fill] ?? fill).padEnd(22)}${formatMetres(leftOut.rmsM, 3).padStart(9)}${formatDifference(leftOut.biasM).padStart(10)}${formatMetres(leftOut.p95M, 3).padStart(9)}${formatShare(leftOut.withinShare).padStart(9)}${formatCount(leftOut.count).padStart(12)}`),
    `  Least error at the lines left out: ${FILL_WORDS[best] ?? best}. To use it: --set surface.fill=${best}`,
  ];
}

/** Gaps in figures. */
export function gapsText(summary: SurveySummary): string[] {
  const { gaps } = summary;
  if (gaps === null) return [figure('Gaps', 'not looked for yet', summary.area === null ? 'there is no area to cover' : `tallow gaps ${summary.folder}`)];
  const covered = figure('Covered', formatShare(gaps.coveredShare), `within ${formatMetres(gaps.reachM, 1)} of a sounding`);
  if (gaps.count === 0) return [covered, figure('Gaps', 'none')];
  return [
    covered,
    figure('Gaps', formatCounted(gaps.count, 'gap'), `${formatArea(gaps.areaM2)} in all, the largest ${formatArea(gaps.largestM2)}${(gaps.weakCount ?? 0) > 0 ? `; ${gaps.weakCount} of them sounded, but not to ${formatOrder(summary.settings.order)}` : ''}`),
    figure('Fill-in lines', formatCount(gaps.fillLines), formatLength(gaps.fillLengthM)),
  ];
}

/** Products with their sizes and hashes. */
export function productsText(summary: SurveySummary): string[] {
  if (summary.products.length === 0) return [figure('Products', 'none yet', `tallow build ${summary.folder}`)];
  return ['  Products', ...summary.products.map(({ path, bytes, sha256 }) => `    ${path.padEnd(30)}${formatBytes(bytes).padStart(9)}  ${shortHash(sha256)}`)];
}

/** What should be looked at. */
export function notesText(summary: SurveySummary): string[] {
  return summary.notes.map((note) => `  ! ${note}`);
}

/** What a build did. */
export function buildText(result: BuildResult): string[] {
  const seconds = result.ran.reduce((sum, { seconds: one }) => sum + one, 0);
  return result.ran.length === 0
    ? ['Nothing to do: everything is fresh.']
    : [`Built ${result.ran.map(({ step }) => step).join(', ')} in ${seconds.toFixed(1)} s${result.fresh.length > 0 ? `; ${result.fresh.join(', ')} ${result.fresh.length === 1 ? 'was' : 'were'} fresh` : ''}.`];
}

/** What a take-in did with each file. */
export function takeInText(results: readonly TakeInResult[]): string[] {
  const text: string[] = [];
  for (const { name, outcome, log, because } of results) {
    if ((outcome !== 'taken-in' && outcome !== 'read-anew') || log === null) {
      text.push(`${name}: ${outcome === 'already-there' ? 'already there' : 'refused'}: ${because}`);
      continue;
    }
    const kinds = Object.entries(log.counts).map(([kind, count]) => `${kind} ${formatCount(count)}`);
    text.push(
      `${name}: ${outcome === 'read-anew' ? because : `taken in as logs/${log.file}`} (${log.kind}, ${formatBytes(log.bytes)}, ${formatCount(log.lines)} ${isSonarKind(log.kind) ? 'records' : 'lines'})`,
      figure('Time', Number.isNaN(log.timeStartS) ? 'none found' : formatUtcSpan(log.timeStartS, log.timeEndS)),
      figure('Positions', formatCount(log.fixes)),
      isSonarKind(log.kind) ? figure('Pings', formatCount(log.pings), 'of a side-scan sonar') : figure('Depths', formatCount(log.pings), log.pings > 0 ? `${formatDepthRange(log.depthMinM, log.depthMaxM)} as logged` : ''),
      ...(kinds.length > 0 ? [figure('Read', kinds.slice(0, 12).join(', ') + (kinds.length > 12 ? ', ...' : ''))] : []),
      ...log.rejects.map(({ count, reason, firstLines }) => figure('Rejected', formatCount(count), `${reason}; first at ${isSonarKind(log.kind) ? 'record' : 'line'} ${firstLines.slice(0, 3).map(formatCount).join(', ')}`)),
      ...log.notes.map((note) => `  ! ${note}`),
    );
  }
  return text;
}

/** The boat card in a line, where trials or figures by hand are in it. */
function boatText({ boat }: SurveySummary): string[] {
  if (boat === null || boat.figures.trials + boat.figures.hand === 0) return [];
  const top = boat.topSpeed === null ? '' : `top speed ${boat.topSpeed.value.toFixed(2)} ± ${boat.topSpeed.uncertainty95.toFixed(2)} m/s, `;
  const from = [...(boat.figures.trials > 0 ? [`${boat.figures.trials} figures from ${boat.trials?.count ?? 0} trials`] : []), ...(boat.figures.hand > 0 ? [`${boat.figures.hand} by hand`] : []), ...(boat.figures.default > 0 ? [`${boat.figures.default} usual for the class`] : [])];
  return [figure('Boat', boat.name === '' ? 'boat card' : boat.name, `${top}${from.join(', ')}`)];
}

/** Sorties and what their rehearsal says. */
function outText({ sorties, rehearsal }: SurveySummary): string[] {
  if (sorties === null || (sorties.count === 0 && sorties.fault === null)) return [];
  if (sorties.fault !== null) return [figure('Sorties', 'none', sorties.fault.message)];
  return [
    figure('Sorties', String(sorties.count), `${formatLength(sorties.lengthM)}, ${formatDuration(sorties.timeS)}, ${sorties.energyWh.toFixed(0)} ± ${sorties.energy95Wh.toFixed(0)} Wh`),
    ...(rehearsal === null ? [] : [figure('Rehearsal', rehearsal.word, rehearsal.reason)]),
  ];
}

/** Everything, for `build`. */
export function summaryText(summary: SurveySummary): string[] {
  const { name, place, invented } = summary.settings;
  const told = place === '' || place.startsWith(name) ? place.slice(name.length) : `, ${place}`;
  return [
    `${name}${told}${invented && !told.includes('invented') ? ' (invented)' : ''}${summary.frame === null ? '' : `, frame ${summary.frame.label}`}`,
    ...boatText(summary),
    ...linesText(summary),
    ...outText(summary),
    ...depthsText(summary),
    ...gapsText(summary),
    ...sideScanText(summary),
    ...productsText(summary),
    ...notesText(summary),
    'Not for navigation.',
  ];
}
