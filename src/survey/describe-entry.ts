import { formatUtc } from '../base/time.js';
import { actWords } from '../finds/decide-finds.js';
import type { JournalEntry } from './summary.js';

/** A decision in plain words. */
export function describeEntry(entry: JournalEntry): string {
  switch (entry.kind) {
    case 'set-aside':
    case 'restore': {
      const count = entry.soundings.reduce((sum, { recordStart, recordEnd }) => sum + recordEnd - recordStart, 0);
      const what = `the soundings in ${entry.soundings.length} ${entry.soundings.length === 1 ? 'stretch' : 'stretches'} of the logs (${count} ${count === 1 ? 'line' : 'lines'} of them)`;
      return `${entry.kind === 'set-aside' ? 'set aside' : 'restored'} ${what}${entry.note === undefined || entry.note === '' ? '' : `: ${entry.note}`}`;
    }
    case 'trial': {
      const span = `${formatUtc(entry.startS).slice(11, 19)} to ${formatUtc(entry.endS).slice(11, 19)}`;
      const what = entry.change === 'drop' ? `trial ${entry.trial} dropped` : entry.change === 'add' ? `${entry.trialKind} ${span} added as a trial` : `trial ${entry.trial} set to ${entry.trialKind} ${span}`;
      return `${what}${entry.note === undefined || entry.note === '' ? '' : `: ${entry.note}`}`;
    }
    case 'find':
      return entry.action === 'mark' ? 'a find marked by hand' : `find: ${actWords(entry)}`;
    case 'bottom':
      return `the bottom of a side-scan log drawn by hand, ${entry.points.length === 1 ? 'one ping' : `${entry.points.length} points`}`;
    case 'hypothesis':
      return `depth ${entry.depthM.toFixed(2)} m chosen at ${entry.latDeg.toFixed(6)}, ${entry.lonDeg.toFixed(6)}${entry.note === undefined || entry.note === '' ? '' : `: ${entry.note}`}`;
    case 'settings':
      return entry.path === 'columns' ? columnsText(entry.from, entry.to) : `${entry.path}: ${short(entry.from)} to ${short(entry.to)}`;
    case 'settings-together':
      return togetherText(entry);
    case 'file':
      return `${entry.path} ${entry.fromSha256 === null ? 'made' : entry.toSha256 === null ? 'removed' : 'replaced'}`;
    case 'undo':
      return `undid decision ${entry.entry}`;
    case 'redo':
      return `brought back decision ${entry.entry}`;
  }
}

/** What was changed together: in words, with the figures that are short enough to be read. */
function togetherText({ what, changes }: Extract<JournalEntry, { readonly kind: 'settings-together' }>): string {
  const plain = changes.filter(({ from, to }) => [from, to].every((value) => value === null || typeof value !== 'object'));
  return plain.length === 0 ? what : `${what} (${plain.map(({ path, from, to }) => `${path}: ${short(from)} to ${short(to)}`).join('; ')})`;
}

const LONGEST = 80;

/** A value as JSON, cut where it is long. */
function short(value: unknown): string {
  const text = JSON.stringify(value) ?? 'nothing';
  return text.length <= LONGEST ? text : `${text.slice(0, LONGEST - 3)}...`;
}

/** Which CSV headers are read in another way than before. */
function columnsText(from: unknown, to: unknown): string {
  const before = (from ?? {}) as Record<string, unknown>;
  const after = (to ?? {}) as Record<string, unknown>;
  const changed = [...new Set([...Object.keys(before), ...Object.keys(after)])].filter((header) => JSON.stringify(before[header]) !== JSON.stringify(after[header]));
  return `how the columns of CSV files are read: ${changed.map((header) => short(header)).join(', ')}`;
}
