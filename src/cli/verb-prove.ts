import { UseError } from '../base/errors.js';
import { formatCount, formatDifference, formatMetres, formatShare } from '../report/figures.js';
import type { Proof } from '../survey/prove.js';
import type { Command, CommandResult, Terminal } from './command.js';
import { sourcesTable, sourcesText } from './sources-text.js';
import { foundCurvesText, imageryProofs, imageryProofText } from './imagery-proof.js';
import { numberOption, textOption } from './settings-options.js';

function promiseText(found: number, unit: 'm' | 'share' | 'count' | 'perHa'): string {
  return unit === 'm' ? formatMetres(found, 3) : unit === 'share' ? formatShare(found, 2) : unit === 'perHa' ? found.toFixed(2) : formatCount(found);
}

function proofText(proof: Proof): string[] {
  const { figures, promises } = proof;
  const { good } = figures;
  const lines = [
    `Seed ${proof.seed}, size ${proof.size}: ${formatCount(figures.pings.written)} pings written, ${formatCount(figures.pings.joined)} came through, ${formatCount(figures.pings.lost)} lost, ${formatCount(figures.pings.strangers)} made up`,
    `  Soundings at the place reported: bias ${formatDifference(good.atReported.biasM, 3)}, RMS ${formatMetres(good.atReported.rmsM, 3)}, 95 % ${formatMetres(good.atReported.p95M, 3)}`,
    `  Soundings at the place they were: bias ${formatDifference(good.atTrue.biasM, 3)}, RMS ${formatMetres(good.atTrue.rmsM, 3)}, 95 % ${formatMetres(good.atTrue.p95M, 3)}`,
    `  Positions: RMS ${formatMetres(good.position.rmsM, 3)}, 95 % ${formatMetres(good.position.p95M, 3)}; claimed THU holds the truth for ${formatShare(good.thu.share)}`,
    ...figures.spikes.map(({ fromM, toM, injected, flagged }) => `  Spikes of ${fromM} m${Number.isFinite(toM) ? ` to ${toM} m` : ' and more'}: ${formatCount(flagged)} of ${formatCount(injected)} flagged`),
  ];
  if (figures.surface !== null) {
    const { all, gentle } = figures.surface;
    lines.push(
      `  Surface, all: bias ${formatDifference(all.biasM, 3)}, RMS ${formatMetres(all.rmsM, 3)}, 95 % ${formatMetres(all.p95M, 3)}; claimed holds the truth for ${formatShare(all.within.share)}`,
      `  Surface, slope under 5 deg: bias ${formatDifference(gentle.biasM, 3)}, RMS ${formatMetres(gentle.rmsM, 3)}, 95 % ${formatMetres(gentle.p95M, 3)}; claimed holds the truth for ${formatShare(gentle.within.share)}`,
    );
  }
  return [...lines, ...promises.map(({ what, limit, found, unit, met }) => `  ${met ? 'yes' : 'NO '}  ${what}: ${promiseText(found, unit)} (wanted ${limit})`)];
}

async function provedSources(seed: number, surveys: number, keys: readonly string[] | undefined, table: boolean, terminal: Terminal): Promise<CommandResult> {
  const { proveSources, sourceKeys } = await import('../survey/prove-sources.js');
  const unknown = keys?.find((key) => !sourceKeys().includes(key));
  if (unknown !== undefined) throw new UseError(`--source: expected one of ${sourceKeys().join(', ')}, found ${JSON.stringify(unknown)}`);
  const proofs = await proveSources(seed, surveys, terminal.context, keys);
  const met = proofs.every(({ verdict }) => verdict !== 'short');
  return {
    text: table ? sourcesTable(proofs) : [...sourcesText(proofs), met ? 'No claim is smaller than it should be.' : 'NOT every claim is large enough.'],
    json: { verb: 'prove', met, sources: proofs },
    exitCode: met ? 0 : 1,
  };
}

export const verbProve: Command = {
  verb: 'prove',
  summary: 'Run the whole chain on an invented survey and compare it with the truth; exit code 1 where a promise is not met.',
  usage: '[<new survey folder>]',
  minPositionals: 0,
  maxPositionals: 1,
  options: {
    seed: { type: 'string', value: 'NUMBER', help: 'seed of the floor, the errors and the faults; 1 when left out' },
    seeds: { type: 'string', value: 'NUMBER', help: 'that many surveys, from the seed on' },
    sources: { type: 'boolean', help: 'every source of error by itself, then all together, over --seeds surveys each (20 when left out; some 3 s a survey): do the claims hold 93 to 97 % of the truth' },
    source: { type: 'strings', value: 'NAME', help: 'with --sources: only these, such as draft or heave; the names stand in the --json' },
    table: { type: 'boolean', help: 'with --sources: as a table in Markdown' },
    size: { type: 'string', value: 'SIZE', help: 'short, bank, demo (the default) or day (300 000 pings)' },
    imagery: { type: 'string', value: 'GROUND', help: 'a side-scan survey instead, over plain, rippled, gravel, mud, rocky, grass or mixed ground, or over all in turn' },
  },
  example: 'tallow prove --seed 7 --size short',
  async run(given, terminal) {
    const folder = given.positionals[0] ?? null;
    const seed = numberOption(given, 'seed') ?? 1;
    const sources = given.options['sources'] === true;
    const count = numberOption(given, 'seeds') ?? (sources ? 20 : 1);
    const size = textOption(given, 'size') ?? 'demo';
    if (!Number.isInteger(seed) || seed < 0) throw new UseError(`--seed: expected a whole number, 0 or more, found ${seed}`);
    if (!Number.isInteger(count) || count < 1) throw new UseError(`--seeds: expected a whole number, 1 or more, found ${count}`);
    if (size !== 'short' && size !== 'bank' && size !== 'demo' && size !== 'day') throw new UseError(`--size: expected short, bank, demo or day, found ${JSON.stringify(size)}`);
    if (sources) {
      if (folder !== null) throw new UseError('--sources: makes many surveys and keeps none; leave the folder out');
      return provedSources(seed, count, given.options['source'] as readonly string[] | undefined, given.options['table'] === true, terminal);
    }
    if (folder !== null && count > 1) throw new UseError('--seeds: a folder holds one survey; leave the folder out, or --seeds');
    const ground = textOption(given, 'imagery');
    if (ground !== undefined) {
      const sideScans = await imageryProofs(ground, folder, seed, count, terminal.context);
      const met = sideScans.every(({ promises }) => promises.every((promise) => promise.met));
      return { text: [...sideScans.flatMap(imageryProofText), ...foundCurvesText(sideScans), met ? 'Every promise is met.' : 'NOT every promise is met.'], json: { verb: 'prove', met, proofs: sideScans }, exitCode: met ? 0 : 1 };
    }
    const { prove } = await import('../survey/prove.js');
    const proofs: Proof[] = [];
    for (let i = 0; i < count; i++) proofs.push(await prove(folder, seed + i, size, Date.now, terminal.context));
    const met = proofs.every(({ promises }) => promises.every((promise) => promise.met));
    return {
      text: [...proofs.flatMap(proofText), met ? 'Every promise is met.' : 'NOT every promise is met.'],
      json: { verb: 'prove', met, proofs },
      exitCode: met ? 0 : 1,
    };
  },
};
