import { openDesk } from '../survey/open-desk.js';
import type { Command, CommandResult, CommandArguments, Terminal } from './command.js';
import { SET_OPTION, applySettings, numberOption } from './settings-options.js';
import { buildText, depthsText, gapsText, notesText, productsText, summaryText } from './text.js';

type Own = (given: CommandArguments) => Readonly<Record<string, unknown>>;

async function build(given: CommandArguments, terminal: Terminal, upTo: string | undefined, own: Own = () => ({})) {
  const folder = given.positionals[0] as string;
  const desk = await openDesk(folder);
  await applySettings(desk, given, own(given));
  const result = await desk.build(terminal.context, upTo);
  return { folder, ...result };
}

export const verbDepths: Command = {
  verb: 'depths',
  summary: 'Reduce the soundings, clean them, and make surface and contours.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: { set: SET_OPTION },
  example: 'tallow depths inlet --set sounder.draftM=0.22 --set surface.cellM=0.5',
  async run(given, terminal): Promise<CommandResult> {
    const { folder, summary, ran, fresh } = await build(given, terminal, 'contours');
    return {
      text: [...depthsText(summary), ...notesText(summary), ...buildText({ summary, ran, fresh }), `Next: tallow gaps ${folder}, or look: tallow open ${folder}`],
      json: { verb: 'depths', folder, soundings: summary.soundings, surface: summary.surface, contours: summary.contours, notes: summary.notes, ran, fresh },
    };
  },
};

export const verbGaps: Command = {
  verb: 'gaps',
  summary: 'Find unsurveyed holes in the area and the lines that fill them; exit code 1 while there are any.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    'min-area': { type: 'string', value: 'M2', help: 'a smaller hole is not a gap' },
    reach: { type: 'string', value: 'METRES', help: 'a place further than this from a sounding is a hole' },
    set: SET_OPTION,
  },
  example: 'tallow gaps inlet --min-area 50',
  async run(given, terminal): Promise<CommandResult> {
    const { folder, summary, ran, fresh } = await build(given, terminal, 'gaps', (one) => ({ 'gaps.minAreaM2': numberOption(one, 'min-area'), 'gaps.reachM': numberOption(one, 'reach') }));
    const { gaps } = summary;
    return {
      text: [...gapsText(summary), ...notesText(summary), ...(gaps !== null && gaps.count > 0 ? ['Written: derived/gaps.geojson, derived/fill-in.geojson'] : [])],
      json: { verb: 'gaps', folder, gaps, notes: summary.notes, ran, fresh },
      exitCode: gaps !== null && gaps.count > 0 ? 1 : 0,
    };
  },
};

export const verbReport: Command = {
  verb: 'report',
  summary: 'Write the products and the report (HTML and PDF).',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: { set: SET_OPTION },
  example: 'tallow report inlet',
  async run(given, terminal): Promise<CommandResult> {
    const { folder, summary, ran, fresh } = await build(given, terminal, 'report');
    return { text: [...productsText(summary), ...notesText(summary), ...buildText({ summary, ran, fresh })], json: { verb: 'report', folder, products: summary.products, notes: summary.notes, ran, fresh } };
  },
};

export const verbBuild: Command = {
  verb: 'build',
  summary: 'Run every step whose inputs have changed.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: { set: SET_OPTION },
  example: 'tallow build inlet',
  async run(given, terminal): Promise<CommandResult> {
    const { folder, summary, ran, fresh } = await build(given, terminal, undefined);
    return { text: [...summaryText(summary), ...buildText({ summary, ran, fresh })], json: { verb: 'build', folder, summary, ran, fresh } };
  },
};
