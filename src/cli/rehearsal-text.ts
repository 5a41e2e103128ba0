import { formatUtc } from '../base/time.js';
import { formatArea, formatCounted, formatDuration, formatLength, formatShare } from '../report/figures.js';
import { clockOf, linkInWords, rankingInWords, turnBackInWords, verdictInWords, windowInWords, worstInWords } from '../survey/rehearsal-words.js';
import type { RehearsalFile } from '../survey/step-rehearsal.js';
import type { SurveySummary } from '../survey/summary.js';

/** The sorties the lines are cut into. */
export function sortiesText(summary: SurveySummary): string[] {
  const { sorties } = summary;
  if (sorties === null) return [];
  if (sorties.fault !== null) return [`  ! no sorties: ${sorties.fault.message}`];
  const stopped = sorties.go === false ? [`NO-GO: ${sorties.reason}`] : [];
  if (sorties.count === 0) return [...stopped, ...sorties.notes.filter((note) => note !== sorties.reason).map((note) => `  - ${note}`)];
  return [
    ...stopped,
    `  Sorties         ${sorties.count}  (${formatLength(sorties.lengthM)}, ${formatDuration(sorties.timeS)} ± ${formatDuration(sorties.time95S)}, ${sorties.energyWh.toFixed(0)} ± ${sorties.energy95Wh.toFixed(0)} Wh; ways out and back with them)`,
    ...sorties.why.map((why) => `  - ${why}`),
    ...sorties.notes.filter((note) => note !== sorties.reason).map((note) => `  ! ${note}`),
  ];
}

const WEIGHT = { 'no-go': 'NO-GO', condition: 'only if', caution: 'caution', note: 'note' } as const;
/** More lines that the current bars are counted, not listed. */
const LINES_LISTED = 12;

type FileSortie = RehearsalFile['sorties'][number];

const figure = (label: string, text: string): string => `  ${label.padEnd(16)}${text}`;

/** Verdict per sortie, with what stands against it; `legs`: leg by leg too. */
export function rehearsalText(file: RehearsalFile, legs = false): string[] {
  const { summary } = file;
  return shortTimes(summary.startS, [
    `${summary.word}: ${summary.reason}`,
    ...file.sorties.flatMap((sortie): string[] => {
      const { verdict, totals } = sortie;
      return [
        `Sortie ${sortie.number}: ${verdictInWords(verdict)}, ${clockOf(totals.startS)} to ${clockOf(totals.endS)} UTC (${formatDuration(totals.timeS)} ± ${formatDuration(totals.time95S)}), ${formatLength(totals.lengthM)}`,
        figure('Energy', `${totals.energyWh.toFixed(0)} ± ${totals.energy95Wh.toFixed(0)} Wh, ${totals.energyLeftWh.toFixed(0)} ± ${totals.energyLeft95Wh.toFixed(0)} Wh left; home with the chance ${chance(verdict.chanceHome)}`),
        ...waterText(sortie),
        ...(sortie.link === null ? [] : [figure('Link', linkInWords(sortie.link, file.link.allowanceDb))]),
        ...currentText(sortie),
        ...(Number.isFinite(totals.leastSunDeg) ? [figure('Sun', `lowest at ${totals.leastSunDeg.toFixed(0)} degrees`)] : []),
        ...paintedText(sortie),
        ...(sortie.turnBack === null ? [] : [figure('Turn back by', turnBackInWords(sortie.turnBack, totals.startS))]),
        ...(sortie.worst === null ? [] : [figure('Worst moment', worstInWords(sortie.worst))]),
        figure('Lost link', rankingInWords(sortie.ranking, file.lostLink)),
        ...verdict.concerns.map((concern) => `  ${concern.weight === 'no-go' || concern.weight === 'condition' ? '!' : '-'} ${WEIGHT[concern.weight]}: ${concern.text}`),
        ...sortie.notes.map((note) => `  - ${note}`),
        ...(legs ? legsText(sortie) : []),
      ];
    }),
    ...coveredText(file),
    `  Reckoned with: ${file.current}; ${file.link.why}`,
    ...(file.standIns.length > 0 ? [`  ! not measured on this boat: ${file.standIns.join('; ')}`] : []),
    'Not for navigation. Collision regulations and harbour rules apply to uncrewed craft.',
  ]);
}

/** Times of the day they are about without their date: `2026-06-17T08:27:03Z` is `08:27 UTC`. */
export function shortTimes(dayS: number, lines: readonly string[]): string[] {
  const day = Number.isFinite(dayS) ? formatUtc(dayS).slice(0, 10) : '';
  return lines.map((line) => line.replace(/(\d{4}-\d\d-\d\d)T(\d\d:\d\d):\d\d(?:\.\d+)?Z/g, (_, date: string, time: string) => `${date === day ? '' : `${date} `}${time} UTC`));
}

/** Least water with its place, and when the boat can be launched and recovered. */
function waterText({ legs, totals, launch, recovery }: FileSortie): string[] {
  const shoalest = legs.reduce<FileSortie['legs'][number] | null>((least, leg) => (Number.isFinite(leg.leastWaterM) && (least === null || leg.leastWaterM < least.leastWaterM) ? leg : least), null);
  return [
    ...(launch === null ? [] : [figure('Launch', windowInWords(launch))]),
    ...(recovery === null ? [] : [figure('Recovery', windowInWords(recovery))]),
    ...(shoalest === null ? [figure('Least water', 'not known: no depths were given (rehearse.bottom)')] : [figure('Least water', `${totals.leastWaterM.toFixed(2)} m under the boat, on ${shoalest.name}`)]),
  ];
}

/** The strongest current with its place, and every leg that it bars. */
function currentText({ legs, totals }: FileSortie): string[] {
  const strongest = legs.reduce<FileSortie['legs'][number] | null>((most, leg) => (Number.isFinite(leg.currentMps) && (most === null || leg.currentMps > most.currentMps) ? leg : most), null);
  const beaten = legs.filter(({ isBeaten }) => isBeaten);
  // Lines by the time they become possible; the legs between them are counted.
  const byTime = new Map<string, number[]>();
  for (const { kind, line, possibleS } of beaten) {
    if (kind !== 'line' || line === null) continue;
    const when = Number.isFinite(possibleS) ? `from ${clockOf(possibleS, totals.startS)} UTC` : 'not in the next 24 h';
    byTime.set(when, [...(byTime.get(when) ?? []), line]);
  }
  const lines = [...byTime].map(([when, numbers]) => `${numbers.length === 1 ? 'line' : 'lines'} ${numbers.slice(0, LINES_LISTED).join(', ')}${numbers.length > LINES_LISTED ? ` and ${numbers.length - LINES_LISTED} more` : ''} ${when}`);
  return [
    ...(totals.strongestCurrentMps > 0 && strongest !== null ? [figure('Current', `up to ${totals.strongestCurrentMps.toFixed(2)} m/s towards ${direction(strongest.currentSetDeg)}, on ${strongest.name}`)] : []),
    ...(beaten.length === 0 ? [] : [figure('Not possible', `${formatCounted(beaten.length, 'leg')} against the current then; possible: ${[...lines, ...(lines.length === 0 ? [`${beaten[0]!.name} ${Number.isFinite(beaten[0]!.possibleS) ? `from ${clockOf(beaten[0]!.possibleS, totals.startS)} UTC` : 'not in the next 24 h'}`] : [])].join('; ')} (all with --legs)`)]),
  ];
}

function paintedText({ lines }: FileSortie): string[] {
  const gaps = lines.filter((line) => line.gaps.length > 0);
  if (gaps.length === 0) return [];
  return [figure('Lines', `${gaps.length} of ${lines.length} not all within tolerance: ${gaps.slice(0, 8).map(({ line }) => line).join(', ')}${gaps.length > 8 ? ', ...' : ''}`)];
}

/** How the area will be covered by all sorties. */
function coveredText({ painted }: RehearsalFile): string[] {
  if (painted === null) return [];
  if (typeof painted === 'string') return [figure('Covered', `not told: ${painted}`)];
  const { uncoveredShare, unseenShare, expectedShare, holeCount, holes, sensor } = painted;
  return [
    figure('Covered', `${formatShare(1 - uncoveredShare, 1)} of the area with a chance of 95 %, ${formatShare(expectedShare, 1)} to be expected${unseenShare > 0.0005 ? `; no line comes near ${formatShare(unseenShare, 1)}` : ''} (${sensor})`),
    ...(holeCount === 0 ? [] : [`  - ${formatCounted(holeCount, 'hole')} will be left, the largest ${holes.slice(0, 3).map(({ areaM2, latDeg, lonDeg }) => `${formatArea(areaM2)} at ${latDeg.toFixed(5)},${lonDeg.toFixed(5)}`).join(', ')}`]),
  ];
}

/** One row a leg: when, how fast over the ground, the water and the current met on it. */
function legsText({ legs, totals }: FileSortie): string[] {
  const cell = (value: number, decimals: number): string => (Number.isFinite(value) ? value.toFixed(decimals) : '-');
  const rows = legs.map((leg) => [
    leg.name.replace(/ \(leg \d+\)$/, ''),
    `${clockOf(leg.startS, totals.startS)}-${clockOf(leg.endS, totals.startS)}`,
    cell(leg.lengthM, 0),
    cell(leg.meanGroundMps, 2),
    cell(leg.leastWaterM, 1),
    cell(leg.currentMps, 2),
    direction(leg.currentSetDeg),
    cell(leg.crabDeg, 0).replace(/^-0$/, '0'),
    leg.isBeaten ? (Number.isFinite(leg.possibleS) ? `not possible before ${clockOf(leg.possibleS, totals.startS)}` : 'not possible in the next 24 h') : '',
  ]);
  const head = ['leg', 'UTC', 'm', 'm/s', 'water m', 'current', 'sets', 'crab', ''];
  const widths = head.map((name, k) => Math.max(name.length, ...rows.map((row) => row[k]!.length)));
  return [head, ...rows].map((row) => `    ${row.map((text, k) => (k < 2 || k === 8 ? text.padEnd(widths[k]!) : text.padStart(widths[k]!))).join('  ')}`.trimEnd());
}

function direction(degrees: number): string {
  return Number.isFinite(degrees) ? `${String(Math.round(degrees) % 360).padStart(3, '0')}°` : '-';
}

function chance(value: number): string {
  if (Number.isNaN(value)) return 'not known';
  return value > 0.9995 ? '> 99.9 %' : `${(100 * value).toFixed(1)} %`;
}
