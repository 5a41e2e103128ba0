import { UseError } from '../base/errors.js';
import { openDesk } from '../survey/open-desk.js';
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

export const verbLines: Command = {
  verb: 'lines',
  summary: 'Plan main and cross lines over the area, in the order to run them.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    area: { type: 'string', value: 'FILE', help: 'replace the area first: GeoJSON, KML or GPX' },
    keepouts: { type: 'string', value: 'FILE', help: 'replace the keep-outs first: GeoJSON, KML or GPX' },
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
    for (const file of ['area', 'keepouts'] as const) {
      const from = textOption(given, file);
      if (from !== undefined) notes.push(...(await readAreaInto(desk, file, from)));
    }
    await applySettings(desk, given, {
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
    const { why, notes: planNotes } = await desk.planLinesWithReasons(terminal.context);
    const { summary } = await desk.build(terminal.context, 'sorties');
    const files = [PLACES.lines, PLACES.linesGpx, PLACES.linesCsv];
    return {
      text: [...linesText(summary), ...why.map((reason) => `  - ${reason}`), ...(summary.settings.sortie.launch === null ? [] : sortiesText(summary)), ...[...notes, ...planNotes].map((note) => `  ! ${note}`), `Written: ${files.join(', ')}`],
      json: { verb: 'lines', folder, lines: summary.lines, sorties: summary.sorties, area: summary.area, why, notes: [...notes, ...planNotes], files },
    };
  },
};
