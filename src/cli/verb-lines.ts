import { UseError } from '../base/errors.js';
import { openDesk } from '../survey/open-desk.js';
import { derivePurpose, type DerivedPurpose } from '../survey/derive-purpose.js';
import { PLACES } from '../survey/folder.js';
import { readAreaInto } from '../survey/plan-files.js';
import type { Command } from './command.js';
import { SET_OPTION, applySettings, numberOption, textOption } from './settings-options.js';
import { placeOption } from './places.js';
import { sortiesText } from './rehearsal-text.js';
import { linesText } from './text.js';

function headingSetting(text: string | undefined): number | null | undefined {
  if (text === undefined) return undefined;
  if (text === 'best') return null;
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw new UseError(`--heading: expected degrees true, or "best", found ${JSON.stringify(text)}`);
  return ((value % 360) + 360) % 360;
}

const NUMBERS = { 'depths-scale': 'scale', imagery: 'rangeM', objects: 'sizeM', vegetation: 'patchM' } as const;

/** `objects:0.6`: what the survey is for, and its one figure; the schema checks the rest. */
function purposeOption(text: string | undefined): unknown {
  if (text === undefined) return undefined;
  const at = text.indexOf(':');
  const kind = at < 0 ? text : text.slice(0, at);
  const value = at < 0 ? '' : text.slice(at + 1);
  if (kind === 'own') return { kind };
  if (kind === 'depths-order') return { kind, order: value === '' ? '1a' : value };
  const name = NUMBERS[kind as keyof typeof NUMBERS];
  if (name === undefined) throw new UseError(`--for: expected own, depths-order:ORDER, depths-scale:SCALE, imagery or imagery:RANGE, objects:SIZE or vegetation:PATCH, found ${JSON.stringify(text)}`);
  if (value === '' && kind === 'imagery') return { kind };
  const number = Number(value);
  if (value.trim() === '' || !(number > 0)) throw new UseError(`--for ${kind}: expected a number after the colon, found ${JSON.stringify(value)}; for example --for ${kind}:${kind === 'depths-scale' ? '5000' : '1'}`);
  return { kind, [name]: number };
}

const LOCKS: Readonly<Record<string, string>> = { spacing: 'spacingM', speed: 'speedMps', heading: 'headingDeg', 'cross-share': 'crossShare', 'run-in': 'runInM', 'run-out': 'runOutM' };

function lockOption(text: string | undefined): string[] | undefined {
  if (text === undefined) return undefined;
  if (text === 'none' || text === '') return [];
  return text.split(',').map((word) => {
    const name = LOCKS[word.trim()];
    if (name === undefined) throw new UseError(`--lock: expected ${Object.keys(LOCKS).join(', ')} or none, found ${JSON.stringify(word)}`);
    return name;
  });
}

/** Values with their reasons; what the objective asks nothing of is null. */
function plainDerived(derived: DerivedPurpose['derived']): Record<string, unknown> {
  const { spacingAtM, ...rest } = derived;
  return { ...rest, variable: spacingAtM !== null };
}

export const verbLines: Command = {
  verb: 'lines',
  summary: 'Plan main and cross lines over the area, in the order to run them.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    area: { type: 'string', value: 'FILE', help: 'replace the area first: GeoJSON, KML or GPX' },
    keepouts: { type: 'string', value: 'FILE', help: 'replace the keep-outs first: GeoJSON, KML or GPX; GeoJSON may say clearanceM, dryingHeightM, depthM or byTide of each' },
    clearance: { type: 'string', value: 'METRES', help: 'with --keepouts: kept off those that say no clearance of their own' },
    shore: { type: 'string', value: 'FILE', help: 'replace the shore first: land as polygons, GeoJSON, KML or GPX' },
    for: { type: 'string', value: 'WHAT', help: 'derive spacing, speed and the rest from what the survey is for: own, depths-order:1a, depths-scale:5000, imagery or imagery:RANGE, objects:SIZE, vegetation:PATCH' },
    depth: { type: 'string', value: 'METRES', help: 'depth to plan for' },
    lock: { type: 'string', value: 'NAMES', help: 'values that stay as set whatever it is for: spacing, speed, heading, cross-share, run-in, run-out; or none' },
    spacing: { type: 'string', value: 'METRES', help: 'between main lines' },
    heading: { type: 'string', value: 'DEG', help: 'of the main lines, degrees true, or "best" for the least time' },
    'cross-share': { type: 'string', value: 'SHARE', help: 'length of cross lines over main lines, e.g. 0.05' },
    'run-in': { type: 'string', value: 'METRES', help: 'straight run before a line' },
    'run-out': { type: 'string', value: 'METRES', help: 'straight run after a line' },
    inset: { type: 'string', value: 'METRES', help: 'lines keep this far inside the area and off keep-outs' },
    launch: { type: 'string', value: 'LAT,LON', help: 'where the boat goes in and comes back to; sorties are then planned' },
    base: { type: 'string', value: 'LAT,LON', help: 'where the shore end of the radio link stands' },
    speed: { type: 'string', value: 'MPS', help: 'survey speed [m/s]' },
    set: SET_OPTION,
  },
  example: 'tallow lines inlet --area area.kml --spacing 10 --heading 85',
  async run(given, terminal) {
    const folder = given.positionals[0] as string;
    const desk = await openDesk(folder);
    const notes: string[] = [];
    const clearanceM = numberOption(given, 'clearance');
    if (clearanceM !== undefined && !(clearanceM >= 0)) throw new UseError(`--clearance: expected metres, 0 or more, found ${clearanceM}`);
    if (clearanceM !== undefined && textOption(given, 'keepouts') === undefined) throw new UseError('--clearance: says how far to keep off the keep-outs of --keepouts FILE: expected that as well; for all keep-outs set lines.keepoutM and sortie.clearanceM');
    for (const file of ['area', 'keepouts', 'shore'] as const) {
      const from = textOption(given, file);
      if (from !== undefined) notes.push(...(await readAreaInto(desk, file, from, file === 'keepouts' ? clearanceM : undefined)));
    }
    await applySettings(desk, given, {
      'lines.purpose': purposeOption(textOption(given, 'for')),
      'lines.depthM': numberOption(given, 'depth'),
      'lines.locked': lockOption(textOption(given, 'lock')),
      'lines.spacingM': numberOption(given, 'spacing'),
      'lines.headingDeg': headingSetting(textOption(given, 'heading')),
      'lines.crossShare': numberOption(given, 'cross-share'),
      'lines.runInM': numberOption(given, 'run-in'),
      'lines.runOutM': numberOption(given, 'run-out'),
      'lines.insetM': numberOption(given, 'inset'),
      'lines.speedMps': numberOption(given, 'speed'),
      'sortie.launch': placeOption(textOption(given, 'launch'), 'launch'),
      'sortie.base': placeOption(textOption(given, 'base'), 'base'),
    });
    await desk.build(terminal.context, 'boat');
    const purpose = await derivePurpose(desk, Object.entries(LOCKS).flatMap(([option, name]) => (given.options[option] === undefined ? [] : [name])));
    const { why, notes: planNotes } = await desk.planLinesWithReasons(terminal.context);
    const { summary } = await desk.build(terminal.context, 'sorties');
    const files = [PLACES.lines, PLACES.linesGpx, PLACES.linesCsv];
    return {
      text: [...(purpose?.text ?? []), ...linesText(summary), ...why.map((reason) => `  - ${reason}`), ...(summary.settings.sortie.launch === null ? [] : sortiesText(summary)), ...[...notes, ...planNotes].map((note) => `  ! ${note}`), `Written: ${files.join(', ')}`],
      json: { verb: 'lines', folder, lines: summary.lines, derived: purpose === null ? null : plainDerived(purpose.derived), sorties: summary.sorties, area: summary.area, why, notes: [...notes, ...planNotes], files },
      exitCode: summary.sorties?.go === false ? 1 : 0,
    };
  },
};
