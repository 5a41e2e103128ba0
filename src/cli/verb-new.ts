import path from 'node:path';
import { formatArea } from '../report/figures.js';
import { createFolder } from '../survey/folder.js';
import { openDesk } from '../survey/open-desk.js';
import { readAreaInto } from '../survey/plan-files.js';
import type { Command } from './command.js';
import { SET_OPTION, applySettings, textOption } from './settings-options.js';

export const verbNew: Command = {
  verb: 'new',
  summary: 'Make an empty survey folder.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    name: { type: 'string', value: 'NAME', help: 'what the survey is called; the folder\'s name when left out' },
    area: { type: 'string', value: 'FILE', help: 'the area to survey: GeoJSON, KML or GPX' },
    set: SET_OPTION,
  },
  example: 'tallow new inlet --name "Hollin Sound" --area area.geojson --set sounder.draftM=0.22',
  async run(given) {
    const folder = given.positionals[0] as string;
    await createFolder(folder, { name: textOption(given, 'name') ?? path.basename(path.resolve(folder)) });
    const desk = await openDesk(folder);
    await applySettings(desk, given);
    const area = textOption(given, 'area');
    const notes = area === undefined ? [] : await readAreaInto(desk, 'area', area);
    const summary = await desk.summary();
    return {
      text: [
        `Made ${folder}.`,
        ...(summary.area === null ? [`Next: put the area in with: tallow lines ${folder} --area area.geojson, or draw it on the page: tallow open ${folder}`] : [`Area ${formatArea(summary.area.areaM2)}. Next: tallow lines ${folder}`]),
        ...notes.map((note) => `  ! ${note}`),
      ],
      json: { verb: 'new', folder, summary, notes },
    };
  },
};
