import { UseError } from '../base/errors.js';
import { openDesk } from '../survey/open-desk.js';
import type { Command } from './command.js';
import { isSonarKind } from '../survey/sonar-kind.js';
import { SET_OPTION, applySettings, textOption } from './settings-options.js';
import { takeInText } from './text.js';

export const verbTakeIn: Command = {
  verb: 'take-in',
  summary: 'Take in raw logs: NMEA 0183, CSV, GPX, or side-scan records (SEG-Y, SONAR-netCDF4, a layout of your own, image strips with a CSV); the raw files are kept byte for byte.',
  usage: '<survey folder> <file> ...',
  minPositionals: 2,
  maxPositionals: Infinity,
  options: {
    'no-date': { type: 'string', value: 'YYYY-MM-DD', help: 'UTC date of the first record, for logs that carry none' },
    column: { type: 'strings', value: 'NAME=QUANTITY', help: 'what a CSV column holds where the guess is wrong, e.g. "Tiefe=depth ft"; a log taken in before is read anew' },
    columns: { type: 'boolean', help: 'show how the columns of the CSV files would be read, and take nothing in' },
    set: SET_OPTION,
  },
  example: 'tallow take-in inlet /media/card/day1.log /media/card/day2.log\ntallow take-in inlet /media/card/scan.segy --set sonar.swapSides=true',
  async run(given, terminal) {
    const [folder, ...files] = given.positionals as [string, ...string[]];
    const desk = await openDesk(folder);
    await applySettings(desk, given, { 'time.noDate': textOption(given, 'no-date') });
    const corrections = (given.options['column'] as readonly string[] | undefined) ?? [];
    if (given.options['columns'] === true) {
      const shown = await desk.showColumns(files, corrections);
      return { text: shown.flatMap(({ name, text }) => [`${name}:`, ...text.map((line) => `  ${line}`)]), json: { verb: 'take-in', folder, columns: shown.map(({ name, mapping }) => ({ name, mapping })) } };
    }
    const results = await desk.takeInWith(files, corrections, terminal.context);
    const refused = results.filter(({ outcome }) => outcome === 'refused');
    const pictures = results.some(({ log }) => log !== null) && results.every(({ log }) => log === null || isSonarKind(log.kind));
    const takenIn = results.filter(({ outcome }) => outcome === 'taken-in' || outcome === 'read-anew').length;
    if (results.length === refused.length) {
      for (const line of takeInText(refused.slice(1))) terminal.note(line);
      throw new UseError(refused[0]?.because ?? 'nothing was taken in', { path: refused[0]?.name ?? '' });
    }
    return {
      text: [...takeInText(results), ...(takenIn > 0 ? [`Next: tallow ${pictures ? 'imagery' : 'depths'} ${folder}${!pictures && results.some(({ log }) => log !== null && isSonarKind(log.kind)) ? `, then tallow imagery ${folder}` : ''}`] : [])],
      json: { verb: 'take-in', folder, results },
    };
  },
};
