import { UseError } from '../base/errors.js';
import { makeBrief } from '../survey/make-brief.js';
import { openDesk } from '../survey/open-desk.js';
import type { Command } from './command.js';
import { SET_OPTION, applySettings, textOption } from './settings-options.js';

export const verbBrief: Command = {
  verb: 'brief',
  summary: 'Write the field sheet for the beach and the route of every sortie: GPX, KML, GeoJSON, RTZ, CSV, NMEA 0183, or your own text.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    template: { type: 'string', value: 'FILE', help: 'text template for routes in a form of your own, a file inside the survey folder; docs/formats.md says how it is written' },
    set: SET_OPTION,
  },
  example: 'tallow brief inlet',
  async run(given, terminal) {
    const folder = given.positionals[0] as string;
    const desk = await openDesk(folder);
    await applySettings(desk, given, { 'brief.template': textOption(given, 'template') });
    const { summary } = await desk.build(terminal.context, 'rehearsal');
    if (summary.sorties?.fault != null) throw new UseError(summary.sorties.fault.message);
    const { files, go } = await makeBrief(folder, summary.settings, terminal.context);
    return {
      text: [`${summary.rehearsal?.word ?? (go ? 'GO' : 'NO-GO')}: ${summary.rehearsal?.reason ?? ''}`, `Written: ${files.join(', ')}`, 'Not for navigation.'],
      json: { verb: 'brief', folder, go, files },
      exitCode: go ? 0 : 1,
    };
  },
};
