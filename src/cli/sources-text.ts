import { formatCount, formatDifference, formatMetres, formatShare } from '../report/figures.js';
import type { SourceProof } from '../survey/prove-sources.js';

const VERDICT = { held: 'yes', cautious: 'yes, but claims are larger than needed', short: 'NO' } as const;

/** What every source of error came to, a few lines each. */
export function sourcesText(proofs: readonly SourceProof[]): string[] {
  return proofs.flatMap(({ words, surveys, soundings, measured, filled, corrected, spikesMissed, goodFlagged, verdict, notes }) => [
    `${words} (${surveys} ${surveys === 1 ? 'survey' : 'surveys'}, ${formatCount(soundings.n)} soundings)`,
    `  Soundings: mean error ${formatDifference(soundings.biasM, 3)}, RMS ${formatMetres(soundings.rmsM, 3)}; 95 % holds ${formatShare(soundings.within.share)} of depths, ${formatShare(soundings.thu.share)} of positions`,
    `  Surface: measured cells RMS ${formatMetres(measured.rmsM, 3)}, 95 % holds ${formatShare(measured.within.share)}; filled cells RMS ${formatMetres(filled.rmsM, 3)}, 95 % holds ${formatShare(filled.within.share)}`,
    ...(corrected === null ? [] : [`  Correction: RMS ${formatMetres(corrected.offM, 3)} without, ${formatMetres(corrected.onM, 3)} with it`]),
    ...(spikesMissed + goodFlagged.count === 0 ? [] : [`  Spikes over 1 m missed: ${formatCount(spikesMissed)}; good soundings set aside: ${formatShare(goodFlagged.share, 2)}`]),
    `  Claims hold: ${VERDICT[verdict]}${notes.length === 0 ? '' : ` (${notes.join('; ')})`}`,
  ]);
}

/** The same as a table in Markdown. */
export function sourcesTable(proofs: readonly SourceProof[]): string[] {
  const millimetres = (metres: number): string => `${Math.round(1000 * metres)}`;
  const percent = ({ share }: { readonly share: number }): string => (100 * share).toFixed(1);
  return [
    '| source | surveys | soundings: mean, RMS [mm] | depths held [%] | places held [%] | correction off, on: RMS [mm] | measured cells: RMS [mm], held [%] | filled cells: RMS [mm], held [%] |',
    '|---|---|---|---|---|---|---|---|',
    ...proofs.map(
      ({ words, surveys, soundings, corrected, measured, filled }) =>
        `| ${words} | ${surveys} | ${millimetres(soundings.biasM)}, ${millimetres(soundings.rmsM)} | ${percent(soundings.within)} | ${percent(soundings.thu)} | ${corrected === null ? '' : `${millimetres(corrected.offM)}, ${millimetres(corrected.onM)}`} | ${millimetres(measured.rmsM)}, ${percent(measured.within)} | ${millimetres(filled.rmsM)}, ${percent(filled.within)} |`,
    ),
  ];
}
