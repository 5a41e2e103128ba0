import { compareSurfacesOf } from '../survey/compare-surfaces.js';
import { choiceAt, hypothesisCellsOf, placeText, type HypothesisCell } from '../survey/doubtful-cells.js';
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
import { WATER_OPTIONS, takeWaterFiles, waterSettings } from './water-options.js';
import { buildText, depthsText, gapsText, notesText, productsText, summaryText, surfacesText } from './text.js';

type Own = (given: CommandArguments) => Readonly<Record<string, unknown>>;

async function build(given: CommandArguments, terminal: Terminal, upTo: string | undefined, own: Own = () => ({})) {
  const folder = given.positionals[0] as string;
  const desk = await openDesk(folder);
  await applySettings(desk, given, own(given));
  const said = await takeWaterFiles(desk, given);
  const result = await desk.build(terminal.context, upTo);
  return { folder, said, ...result };
}

/** `46.0432,-29.9591=5.21`: a depth chosen at a place. @throws UseError naming the option */
function chosenDepths(given: CommandArguments): { readonly latDeg: number; readonly lonDeg: number; readonly depthM: number }[] {
  const texts = given.options['choose'];
  return (Array.isArray(texts) ? (texts as string[]) : []).map((text) => {
    const [place, depth = ''] = text.split('=');
    const depthM = depth.trim() === '' ? NaN : Number(depth);
    if (!Number.isFinite(depthM)) throw new UseError(`--choose: expected LAT,LON=DEPTH, found ${JSON.stringify(text)}; for example --choose=46.0432,-29.9591=5.21`, { path: '--choose' });
    return { ...placeOption(place, 'choose')!, depthM };
  });
}

export const verbDepths: Command = {
  verb: 'depths',
  summary: 'Reduce the soundings, clean them, and make surface and contours.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    ...WATER_OPTIONS,
    'compare-surfaces': { type: 'boolean', help: 'also hold every way of filling against lines left out, and say which errs least' },
    doubtful: { type: 'boolean', help: 'list the cells with several depths of like weight; needs surface.statistic=hypotheses' },
    choose: { type: 'strings', value: 'LAT,LON=DEPTH', help: 'of the depths of the cell there the one that is drawn from now on; undone with tallow journal --undo' },
    set: SET_OPTION,
  },
  example: 'tallow depths inlet --water-level gauge.csv --sound-speed cast.csv --datum "chart datum" --set sounder.draftM=0.22\ntallow depths inlet --set surface.statistic=hypotheses --doubtful\ntallow depths inlet --choose=46.0432,-29.9591=5.21',
  async run(given, terminal): Promise<CommandResult> {
    const choices = chosenDepths(given);
    let built = await build(given, terminal, 'contours', waterSettings);
    const chosen: string[] = [...built.said];
    if (choices.length > 0) {
      const cellM = built.summary.surface?.cellM ?? 1;
      // All are looked up before one is written, so that a slip in one leaves none behind.
      const decisions = [];
      for (const choice of choices) decisions.push(await choiceAt(built.folder, choice, choice.depthM, cellM));
      const desk = await openDesk(built.folder);
      for (const decision of decisions) {
        await desk.decide(decision);
        chosen.push(`Chosen by hand: ${decision.depthM.toFixed(2)} m at ${placeText(decision)}; undo with: tallow journal ${built.folder} --undo`);
      }
      built = { ...built, ...(await desk.build(terminal.context, 'contours')) };
    }
    const { folder, summary, ran, fresh } = built;
    const surfaces = given.options['compare-surfaces'] === true ? await compareSurfacesOf(folder, terminal.context) : null;
    const doubtful = given.options['doubtful'] === true ? (await hypothesisCellsOf(folder)).filter((cell) => cell.doubtful) : null;
    return {
      text: [
        ...chosen,
        ...depthsText(summary),
        ...(surfaces === null ? [] : surfacesText(surfaces)),
        ...(doubtful === null ? [] : doubtfulText(doubtful, folder)),
        ...notesText(summary),
        ...buildText({ summary, ran, fresh }),
        `Next: tallow gaps ${folder}, or look: tallow open ${folder}`,
      ],
      json: {
        verb: 'depths', folder, soundings: summary.soundings, surface: summary.surface, contours: summary.contours,
        ...(surfaces === null ? {} : { surfaces }), ...(doubtful === null ? {} : { doubtful }), notes: summary.notes, ran, fresh,
      },
    };
  },
};

/** Cells in doubt listed at most. */
const LISTED = 40;

function doubtfulText(cells: readonly HypothesisCell[], folder: string): string[] {
  if (cells.length === 0) return ['No cell is in doubt: where there are several depths, one has more than twice the soundings of any other.'];
  const shown = cells.slice(0, LISTED);
  const first = shown[0]!;
  const other = first.depths.find((one) => !one.stands) ?? first.depths[0]!;
  return [
    `Cells in doubt, the weakest first (depth ± 95 %, soundings; * is drawn):`,
    ...shown.map((cell) => `  ${placeText(cell)}  ${cell.depths.map((one) => `${one.stands ? '*' : ''}${one.depthM.toFixed(2)} ± ${one.uncertaintyM.toFixed(2)} m (${one.soundings})`).join('   ')}   strength ${cell.strength.toFixed(2)}`),
    ...(cells.length > LISTED ? [`  and ${cells.length - LISTED} more: all are in derived/hypotheses.parquet, and in --json`] : []),
    `Choose another with: tallow depths ${folder} --choose=${placeText(first)}=${other.depthM.toFixed(2)}`,
  ];
}

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
