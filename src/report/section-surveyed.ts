import { drawLinesSheet } from './chart-sheet.js';
import type { Block, Fact } from './document.js';
import { figures, heading, paragraph, table, words } from './document.js';
import {
  formatArea, formatCount, formatCounted, formatDepthRange, formatDirection, formatDuration, formatLength, formatMetres, formatNumber, formatScale, formatShare,
  formatSpeed, formatUtcSpan,
} from './figures.js';
import type { LineRun } from './line-coverage.js';
import type { ReportInput } from './report-input.js';
import { depthsBelow } from '../water/depth-datum.js';

/** What was surveyed, in figures: area, lines planned against run, track, time, depths, coverage. */
export function surveyedSection(input: ReportInput, runs: readonly LineRun[]): Block[] {
  return [heading(1, 'What was surveyed'), { kind: 'facts', rows: surveyedFacts(input, runs) }];
}

/** The lines sheet, and each line as planned against as run. */
export function linesSection(input: ReportInput, runs: readonly LineRun[]): Block[] {
  const blocks: Block[] = [heading(1, 'Lines')];
  if (input.planLines.length > 0 || input.track !== null) {
    const [widthMm, heightMm] = [180, 128];
    const { svg, scale } = drawLinesSheet(input, { widthMm, heightMm });
    const caption = Number.isFinite(scale) ? `Lines as planned and as run, ${formatScale(scale)} printed ${widthMm} mm wide. Frame north up.` : 'Lines as planned and as run.';
    blocks.push({ kind: 'figures', figures: [{ svg, widthMm, heightMm, alt: caption }], caption });
  }
  blocks.push(
    table(
      'Lines: planned, and covered by good soundings',
      [figures('Line'), words('Kind', 0), figures('Planned, m'), figures('Covered, m'), figures('Share'), figures('Off the line, 95 %, m'), figures('Soundings'), figures('Set aside'), words('')],
      runs.map((run) => [
        String(run.number),
        run.kind,
        formatNumber(run.plannedM, 0),
        formatNumber(run.coveredM, 0),
        formatShare(run.plannedM > 0 ? run.coveredM / run.plannedM : NaN, 0),
        formatNumber(run.offsetP95M, 1),
        formatCount(run.soundings),
        formatCount(run.soundings - run.good),
        '',
      ]),
      'No lines were planned.',
    ),
  );
  return blocks;
}

function surveyedFacts(input: ReportInput, runs: readonly LineRun[]): Fact[] {
  const { summary } = input;
  const { area, lines, soundings, surface, contours, gaps, settings } = summary;
  const facts: Fact[] = [];
  facts.push(area === null ? { label: 'Area', value: 'none drawn' } : { label: 'Area', value: formatArea(area.areaM2), note: formatCounted(area.polygons, 'polygon') });
  if (lines !== null) {
    facts.push({
      label: 'Lines planned',
      value: `${formatCount(lines.main)} main, ${formatCount(lines.cross)} cross`,
      note: `${formatLength(lines.mainLengthM)} and ${formatLength(lines.crossLengthM)}; ${formatMetres(lines.spacingM, 1)} apart, heading ${formatDirection(lines.headingDeg)}; ${formatDuration(lines.timeS)} at ${formatSpeed(settings.lines.speedMps)}`,
    });
  }
  if (runs.length > 0) {
    const plannedM = runs.reduce((sum, run) => sum + run.plannedM, 0);
    const coveredM = runs.reduce((sum, run) => sum + run.coveredM, 0);
    const missed = runs.filter((run) => run.coveredM < 0.05 * run.plannedM).map((run) => run.number);
    const named = `${missed.slice(0, 12).join(', ')}${missed.length > 12 ? ' ...' : ''}`;
    facts.push({
      label: 'Lines run',
      value: `${formatCount(runs.length - missed.length)} of ${formatCount(runs.length)}`,
      note: `${formatShare(plannedM > 0 ? coveredM / plannedM : NaN)} of their length covered by good soundings${missed.length === 0 ? '' : `; not run: ${named}`}`,
    });
  }
  if (soundings !== null) {
    facts.push(
      { label: 'Time', value: formatDuration(soundings.timeEndS - soundings.timeStartS), note: `first to last sounding, ${formatUtcSpan(soundings.timeStartS, soundings.timeEndS)}` },
      { label: 'Track', value: formatLength(soundings.trackLengthM) },
      { label: 'Soundings', value: formatCount(soundings.total), note: `${formatCount(soundings.good)} good, ${formatShare((soundings.total - soundings.good) / Math.max(1, soundings.total))} set aside` },
    );
    if (soundings.good > 0) facts.push({ label: 'Depth', value: formatDepthRange(soundings.depthMinM, soundings.depthMaxM), note: `below ${depthsBelow(settings)}` });
  }
  facts.push(
    surface === null
      ? { label: 'Surface', value: 'none made' }
      : {
          label: 'Surface',
          value: `cells of ${formatMetres(surface.cellM, surface.cellM < 1 ? 2 : 1)}`,
          note: `${formatCount(surface.cellsMeasured)} measured, ${formatCount(surface.cellsFilled)} filled between soundings; depth ${formatDepthRange(surface.depthMinM, surface.depthMaxM)}`,
        },
  );
  if (contours !== null) facts.push({ label: 'Contours', value: `every ${formatMetres(contours.intervalM, contours.intervalM < 1 ? 2 : 0)}`, note: `${formatCounted(contours.count, 'line')}, ${formatLength(contours.lengthM)}` });
  facts.push(
    gaps === null
      ? { label: 'Covered', value: 'not looked at' }
      : { label: 'Covered', value: formatShare(gaps.coveredShare), note: `within ${formatMetres(gaps.reachM, 1)} of a good sounding; ${gaps.count === 0 ? 'no gap' : `${formatCounted(gaps.count, 'gap')}, ${formatArea(gaps.areaM2)}`}` },
  );
  return facts;
}

/** What stands in place of the chart where there is nothing to draw. */
export function noChart(): Block[] {
  return [heading(1, 'Chart'), paragraph('There is no chart: no area was drawn and nothing was measured.')];
}
