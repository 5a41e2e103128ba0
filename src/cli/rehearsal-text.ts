import { formatUtc } from '../base/time.js';
import { formatDuration, formatLength } from '../report/figures.js';
import type { RehearsalFile } from '../survey/step-rehearsal.js';
import { worstInWords } from '../survey/step-rehearsal.js';
import type { SurveySummary } from '../survey/summary.js';

const clock = (timeS: number): string => (Number.isFinite(timeS) ? formatUtc(timeS).slice(11, 16) : '--:--');

/** The sorties the lines are cut into. */
export function sortiesText(summary: SurveySummary): string[] {
  const { sorties } = summary;
  if (sorties === null) return [];
  if (sorties.fault !== null) return [`  ! no sorties: ${sorties.fault.message}`];
  if (sorties.count === 0) return sorties.notes.map((note) => `  - ${note}`);
  return [
    `  Sorties         ${sorties.count}  (${formatLength(sorties.lengthM)}, ${formatDuration(sorties.timeS)} ± ${formatDuration(sorties.time95S)}, ${sorties.energyWh.toFixed(0)} ± ${sorties.energy95Wh.toFixed(0)} Wh)`,
    ...sorties.why.map((why) => `  - ${why}`),
    ...sorties.notes.map((note) => `  ! ${note}`),
  ];
}

const WEIGHT = { 'no-go': 'NO-GO', caution: 'caution', note: 'note' } as const;

/** Verdict per sortie, with what stands against it. */
export function rehearsalText(file: RehearsalFile): string[] {
  const { summary } = file;
  return [
    `${summary.go ? 'GO' : 'NO-GO'}: ${summary.reason}`,
    ...file.sorties.flatMap((sortie): string[] => {
      const { verdict, totals, lines } = sortie;
      const gaps = lines.filter((line) => line.gaps.length > 0);
      return [
        `Sortie ${sortie.number}: ${verdict.go ? 'go' : 'NO-GO'}, ${clock(totals.startS)} to ${clock(totals.endS)} UTC (${formatDuration(totals.timeS)} ± ${formatDuration(totals.time95S)}), ${formatLength(totals.lengthM)}`,
        `  Energy          ${totals.energyWh.toFixed(0)} ± ${totals.energy95Wh.toFixed(0)} Wh, ${totals.energyLeftWh.toFixed(0)} ± ${totals.energyLeft95Wh.toFixed(0)} Wh left; home with the chance ${chance(verdict.chanceHome)}`,
        ...(Number.isFinite(totals.leastWaterM) ? [`  Least water     ${totals.leastWaterM.toFixed(2)} m under the boat`] : []),
        ...(Number.isFinite(totals.leastLinkDb) ? [`  Link            ${totals.leastLinkDb.toFixed(0)} dB at the weakest; ${file.link.allowanceDb.toFixed(0)} dB wanted for 95 of 100`] : []),
        ...(totals.strongestCurrentMps > 0 ? [`  Current         up to ${totals.strongestCurrentMps.toFixed(2)} m/s`] : []),
        ...(Number.isFinite(totals.leastSunDeg) ? [`  Sun             lowest at ${totals.leastSunDeg.toFixed(0)} degrees`] : []),
        ...(gaps.length > 0 ? [`  Lines           ${gaps.length} of ${lines.length} not all within tolerance: ${gaps.slice(0, 8).map(({ line }) => line).join(', ')}${gaps.length > 8 ? ', ...' : ''}`] : []),
        ...(Number.isFinite(sortie.turnBackByS) ? [`  Turn back by    ${clock(sortie.turnBackByS)} UTC to be home on four fifths of the battery`] : []),
        ...(sortie.worst === null ? ['  Worst moment    none: every mishap looked at ends well'] : [`  Worst moment    ${worstInWords(sortie.worst)}`]),
        ...verdict.concerns.map((concern) => `  ${concern.weight === 'no-go' ? '!' : '-'} ${WEIGHT[concern.weight]}: ${concern.text}`),
        `  Lost link       best to worst: ${sortie.ranking.map(({ behaviour, bad }) => `${behaviour} (${bad === 0 ? 'always ends well' : `${bad} bad moments`})`).join(', ')}; set to ${file.lostLink}`,
        ...sortie.notes.map((note) => `  - ${note}`),
      ];
    }),
    `  Reckoned with: ${file.current}; ${file.link.why}`,
    ...(file.standIns.length > 0 ? [`  ! not measured on this boat: ${file.standIns.join('; ')}`] : []),
    'Not for navigation. Collision regulations and harbour rules apply to uncrewed craft.',
  ];
}

function chance(value: number): string {
  if (Number.isNaN(value)) return 'not known';
  return value > 0.9995 ? '> 99.9 %' : `${(100 * value).toFixed(1)} %`;
}
