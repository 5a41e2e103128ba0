import type { Block } from './document.js';
import { figures, heading, paragraph, table, words } from './document.js';
import { formatCount, formatDifference, formatMetres, formatPosition } from './figures.js';
import type { ReportInput } from './report-input.js';

const LARGEST = 12;

/** Crossings by cross line, and the largest differences with their places: where to look when the survey disagrees with itself. */
export function crossingBlocks(input: ReportInput): Block[] {
  const { crossings, frame } = input;
  const points = crossings?.points.filter((point) => Number.isFinite(point.differenceM)) ?? [];
  if (points.length === 0) {
    return [heading(2, 'Crossings'), paragraph('No lines cross. Cross lines are the check that the uncertainty above is right; without them it is a calculation only.')];
  }
  const groups = byLine(input);
  const largest = [...points].sort((a, b) => Math.abs(b.differenceM) - Math.abs(a.differenceM) || a.lineA - b.lineA || a.lineB - b.lineB || a.xM - b.xM).slice(0, LARGEST);
  return [
    heading(2, 'Crossings'),
    table(
      'Lines against the lines they cross',
      [figures('Line'), figures('Crossings'), figures('Mean difference'), figures('95 % within'), figures('Largest'), words('')],
      groups.map(({ line, differences }) => {
        const sizes = differences.map(Math.abs).sort((a, b) => a - b);
        const mean = differences.reduce((sum, each) => sum + each, 0) / differences.length;
        return [String(line), formatCount(sizes.length), formatDifference(mean), formatMetres(sizes[Math.ceil(0.95 * sizes.length) - 1] ?? NaN), formatMetres(sizes[sizes.length - 1] ?? NaN), ''];
      }),
      '',
    ),
    paragraph('Depth on the line less depth on the lines it crosses: positive where the line is the deeper.', 'quiet'),
    table(
      points.length > LARGEST ? `The ${LARGEST} largest differences` : 'Differences, the largest first',
      [figures('Line'), figures('then line'), figures('Second less first'), words('Place, WGS 84')],
      largest.map(({ lineA, lineB, differenceM, xM, yM }) => {
        const [latDeg, lonDeg] = frame === null ? [NaN, NaN] : frame.toGeographic(xM, yM);
        return [String(lineA), String(lineB), formatDifference(differenceM), formatPosition(latDeg, lonDeg)];
      }),
      '',
    ),
  ];
}

/** Differences of each cross line; of the line run second where neither or both are cross lines. In order of line number. */
function byLine(input: ReportInput): { readonly line: number; readonly differences: number[] }[] {
  const cross = new Set(input.planLines.filter(({ kind }) => kind === 'cross').map(({ number }) => number));
  const groups = new Map<number, number[]>();
  for (const { lineA, lineB, differenceM } of input.crossings?.points ?? []) {
    if (!Number.isFinite(differenceM)) continue;
    const isA = cross.has(lineA) && !cross.has(lineB);
    const line = isA ? lineA : lineB;
    const held = groups.get(line) ?? [];
    held.push(isA ? -differenceM : differenceM);
    groups.set(line, held);
  }
  return [...groups].sort(([a], [b]) => a - b).map(([line, differences]) => ({ line, differences }));
}
