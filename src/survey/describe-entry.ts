import { formatUtc } from '../base/time.js';
import type { JournalEntry } from './summary.js';

/** A decision in plain words. */
export function describeEntry(entry: JournalEntry): string {
  switch (entry.kind) {
    case 'set-aside':
    case 'restore': {
      const count = entry.soundings.reduce((sum, { recordStart, recordEnd }) => sum + recordEnd - recordStart, 0);
      const what = `${entry.soundings.length} ${entry.soundings.length === 1 ? 'stretch' : 'stretches'} of the logs (${count} ${count === 1 ? 'record' : 'records'})`;
      return `${entry.kind === 'set-aside' ? 'set aside' : 'restored'} ${what}${entry.note === undefined || entry.note === '' ? '' : `: ${entry.note}`}`;
    }
    case 'settings':
      return `${entry.path}: ${JSON.stringify(entry.from)} to ${JSON.stringify(entry.to)}`;
    case 'file':
      return `${entry.path} ${entry.fromSha256 === null ? 'made' : entry.toSha256 === null ? 'removed' : 'replaced'}`;
    case 'trial':
      return `${entry.change === 'add' ? 'added a' : entry.change === 'move' ? 'moved the window of a' : 'dropped a'} ${entry.trialKind.replaceAll('-', ' ')}${entry.change === 'drop' ? '' : ` (${formatUtc(entry.startS)} to ${formatUtc(entry.endS)})`}`;
    case 'undo':
      return `undid decision ${entry.entry}`;
    case 'redo':
      return `brought back decision ${entry.entry}`;
  }
}
