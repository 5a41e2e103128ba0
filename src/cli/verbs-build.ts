import { compareSurfacesOf } from '../survey/compare-surfaces.js';
import { openDesk } from '../survey/open-desk.js';
import { planFillIn, type FillInTrip } from '../survey/plan-fill-in.js';
import { formatDuration, formatLength } from '../report/figures.js';
import { formatUtc } from '../base/time.js';
import { userTime } from '../survey/user-time.js';
import { placeOption } from './places.js';
import type { Command, CommandResult, CommandArguments, Terminal } from './command.js';
import { PRODUCT_KINDS, type ProductKind } from '../survey/product-kinds.js';
import { UseError } from '../base/errors.js';
import { SET_OPTION, applySettings, numberOption, textOption } from './settings-options.js';
import { buildText, depthsText, gapsText, notesText, productsText, summaryText, surfacesText } from './text.js';

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
  options: { 'compare-surfaces': { type: 'boolean', help: 'also hold every way of filling against lines left out, and say which errs least' }, set: SET_OPTION },
  example: 'tallow depths inlet --set sounder.draftM=0.22 --set surface.cellM=0.5',
  async run(given, terminal): Promise<CommandResult> {
    const { folder, summary, ran, fresh } = await build(given, terminal, 'contours');
    const surfaces = given.options['compare-surfaces'] === true ? await compareSurfacesOf(folder, terminal.context) : null;
    return {
      text: [...depthsText(summary), ...(surfaces === null ? [] : surfacesText(surfaces)), ...notesText(summary), ...buildText({ summary, ran, fresh }), `Next: tallow gaps ${folder}, or look: tallow open ${folder}`],
      json: { verb: 'depths', folder, soundings: summary.soundings, surface: summary.surface, contours: summary.contours, ...(surfaces === null ? {} : { surfaces }), notes: summary.notes, ran, fresh },
    };
  },
};

function fillInText({ sorties, plan }: FillInTrip): string[] {
  return [
    ...(plan.verdict.go ? [] : [`NO-GO: ${plan.verdict.reason}`]),
    ...sorties.map(({ number, lines, lengthM, timeS, time95S, energyWh, energy95Wh, verdict }) => `  Sortie ${number}        ${verdict === null ? 'not rehearsed: give --start' : verdict.go ? `GO: ${verdict.reason}` : `NO-GO: ${verdict.reason}`}  (lines ${lines.join(', ')}; ${formatLength(lengthM)}, ${formatDuration(timeS)} ± ${formatDuration(time95S)}, ${energyWh.toFixed(1)} ± ${energy95Wh.toFixed(1)} Wh; ways out and back with them)`),
    ...plan.leftOut.map(({ line, why }) => `  ! line ${line} is left out: ${why}`),
    ...plan.notes.map((note) => `  - ${note}`),
  ];
}

export const verbGaps: Command = {
  verb: 'gaps',
  summary: 'Find unsurveyed holes in the area and the lines that fill them; exit code 1 while there are any.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    'min-area': { type: 'string', value: 'M2', help: 'a smaller hole is not a gap' },
    reach: { type: 'string', value: 'METRES', help: 'a place further than this from a sounding is a hole' },
    plan: { type: 'boolean', help: 'plan the fill-in lines as sorties from the launch point, rehearsed where a start is set' },
    launch: { type: 'string', value: 'LAT,LON', help: 'where the boat goes in and comes back to, from now on' },
    start: { type: 'string', value: 'TIME', help: 'when the first sortie leaves, with its zone: 2026-06-17T13:00Z; kept in survey.json' },
    set: SET_OPTION,
  },
  example: 'tallow gaps inlet --min-area 50\ntallow gaps inlet --plan --start 2026-06-17T13:00Z',
  async run(given, terminal): Promise<CommandResult> {
    const start = textOption(given, 'start');
    if (start !== undefined) {
      const desk = await openDesk(given.positionals[0] as string);
      await desk.set('sortie.startUtc', formatUtc(userTime(start, '--start', (await desk.summary()).settings.brief.utcOffsetH).timeS));
    }
    const { folder, summary, ran, fresh } = await build(given, terminal, 'gaps', (one) => ({ 'gaps.minAreaM2': numberOption(one, 'min-area'), 'gaps.reachM': numberOption(one, 'reach'), 'sortie.launch': placeOption(textOption(one, 'launch'), 'launch') }));
    const { gaps } = summary;
    if (given.options['plan'] === true && gaps !== null && gaps.count > 0) {
      await (await openDesk(folder)).build(terminal.context, 'boat');
      const trip = await planFillIn(folder, summary.settings, terminal.context);
      const stopped = !trip.plan.verdict.go || trip.sorties.some(({ verdict }) => verdict?.go === false);
      return {
        text: [...gapsText(summary), ...fillInText(trip), ...notesText(summary), `Written: derived/gaps.geojson, derived/fill-in.geojson, ${trip.files[0]}, plan/routes/fill-in-sortie-*`],
        json: { verb: 'gaps', folder, gaps, fillIn: trip, notes: summary.notes, ran, fresh, stopped },
        exitCode: 1,
      };
    }
    return {
      text: [...gapsText(summary), ...notesText(summary), ...(gaps !== null && gaps.count > 0 ? ['Written: derived/gaps.geojson, derived/fill-in.geojson'] : [])],
      json: { verb: 'gaps', folder, gaps, notes: summary.notes, ran, fresh },
      exitCode: gaps !== null && gaps.count > 0 ? 1 : 0,
    };
  },
};

/** The kinds that `--products` names, in their usual order. @throws UseError for one there is not */
function productKinds(given: CommandArguments): ProductKind[] | undefined {
  const text = textOption(given, 'products');
  if (text === undefined) return undefined;
  const named = text.split(',').map((name) => name.trim().toLowerCase()).filter((name) => name !== '');
  if (named.length === 1 && named[0] === 'all') return [...PRODUCT_KINDS];
  if (named.length === 1 && named[0] === 'none') return [];
  const unknown = named.find((name) => !PRODUCT_KINDS.some((kind) => kind === name));
  if (unknown !== undefined || named.length === 0) {
    throw new UseError(`--products: expected names parted by commas out of ${PRODUCT_KINDS.join(', ')}, or all, or none; found ${JSON.stringify(unknown ?? text)}`, { path: '--products', found: unknown ?? text });
  }
  return PRODUCT_KINDS.filter((kind) => named.includes(kind));
}

export const verbReport: Command = {
  verb: 'report',
  summary: 'Write the products and the report (HTML and PDF).',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    products: { type: 'string', value: 'LIST', help: `what to write, parted by commas: ${PRODUCT_KINDS.join(', ')}; or all, or none` },
    paper: { type: 'string', value: 'SIZE', help: 'of the chart: auto, A4, A3 or A2' },
    scale: { type: 'string', value: 'NUMBER', help: 'of the chart, e.g. 1000 for 1:1000' },
    set: SET_OPTION,
  },
  example: 'tallow report inlet --products s102,geopackage,chart --scale 1000',
  async run(given, terminal): Promise<CommandResult> {
    const { folder, summary, ran, fresh } = await build(given, terminal, 'report', (one) => ({
      'products.write': productKinds(one),
      'products.chart.paper': textOption(one, 'paper'),
      'products.chart.scale': numberOption(one, 'scale'),
    }));
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
