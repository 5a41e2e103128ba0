import { openDesk } from '../survey/open-desk.js';
import { describeEntry } from '../survey/describe-entry.js';
import { standingDecisions } from '../survey/journal.js';
import type { Command } from './command.js';

export const verbJournal: Command = {
  verb: 'journal',
  summary: 'Show the decisions of this survey, undo or redo one.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    undo: { type: 'boolean', help: 'take back the latest decision that stands' },
    redo: { type: 'boolean', help: 'bring back the decision undone last' },
  },
  example: 'tallow journal inlet --undo',
  async run(given) {
    const folder = given.positionals[0] as string;
    const desk = await openDesk(folder);
    const acted: string[] = [];
    if (given.options['undo'] === true) {
      const entry = await desk.undo();
      acted.push(entry === null ? 'There is nothing to undo.' : `Undone: ${describeEntry(entry)}`);
    }
    if (given.options['redo'] === true) {
      const entry = await desk.redo();
      acted.push(entry === null ? 'There is nothing to redo.' : `Brought back: ${describeEntry(entry)}`);
    }
    const entries = await desk.journal();
    const standing = new Set(standingDecisions(entries).map((entry) => entry.number));
    const shown = entries.filter((entry) => entry.kind !== 'undo' && entry.kind !== 'redo');
    return {
      text: [
        ...acted,
        ...shown.map((entry) => `  ${String(entry.number).padStart(4)}  ${entry.at}  ${standing.has(entry.number) ? '' : '(undone) '}${describeEntry(entry)}`),
        ...(shown.length === 0 ? ['No decisions yet.'] : []),
        ...(acted.length > 0 ? [`Next: tallow build ${folder}`] : []),
      ],
      json: { verb: 'journal', folder, entries, standing: [...standing] },
    };
  },
};
