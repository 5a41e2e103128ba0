import { UseError } from '../base/errors.js';
import { openDesk } from '../survey/open-desk.js';
import type { Command, CommandResult } from './command.js';
import { imageryText } from './imagery-text.js';
import { SET_OPTION, applySettings, numberOption, textOption } from './settings-options.js';
import { buildText, notesText } from './text.js';

const BLENDS = ['best', 'mean', 'brightest', 'latest'] as const;

export const verbImagery: Command = {
  verb: 'imagery',
  summary: 'Find the floor under the side-scan, even out its pings and make a mosaic of them.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    cell: { type: 'string', value: 'METRES', help: 'side of a cell of the mosaic; left out, it is chosen from the pings' },
    blend: { type: 'string', value: 'RULE', help: `where lines overlap: ${BLENDS.join(', ')}` },
    'per-line': { type: 'boolean', help: 'also write every line as a picture of its own' },
    set: SET_OPTION,
  },
  example: 'tallow imagery inlet --cell 0.1 --blend best --per-line',
  async run(given, terminal): Promise<CommandResult> {
    const folder = given.positionals[0] as string;
    const blend = textOption(given, 'blend');
    if (blend !== undefined && !BLENDS.some((each) => each === blend)) throw new UseError(`--blend: expected ${BLENDS.join(', ')}, found ${JSON.stringify(blend)}`, { path: '--blend', found: blend });
    const desk = await openDesk(folder);
    await applySettings(desk, given, { 'imagery.cellM': numberOption(given, 'cell'), 'imagery.blend': blend, 'imagery.perLine': given.options['per-line'] === true ? true : undefined });
    const { summary, ran, fresh } = await desk.build(terminal.context, 'mosaic');
    const written = summary.imagery?.mosaic ? ['Written: derived/imagery/mosaic.tif'] : [];
    return {
      text: [...imageryText(summary), ...notesText(summary), ...written, ...buildText({ summary, ran, fresh })],
      json: { verb: 'imagery', folder, imagery: summary.imagery, notes: summary.notes, ran, fresh },
    };
  },
};
