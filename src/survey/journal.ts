import { open, readFile } from 'node:fs/promises';
import { UseError } from '../base/errors.js';
import type { Decision, JournalEntry } from './summary.js';
import { plainSystemError } from './system-errors.js';

/** The journal as read: its whole lines, and how many bytes at the end are a line that a crash cut short. */
export interface JournalContent {
  readonly entries: readonly JournalEntry[];
  /** Length of the whole lines [bytes]; anything after it was never acknowledged. */
  readonly wholeBytes: number;
  readonly tornBytes: number;
}

/**
 * Reads a journal: one JSON object a line. A last line without its end was never acknowledged and is passed over.
 * @throws UseError naming the line, where a whole line is not a journal entry
 */
export async function readJournal(file: string): Promise<JournalContent> {
  let bytes: Buffer;
  try {
    bytes = await readFile(file);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return { entries: [], wholeBytes: 0, tornBytes: 0 };
    throw plainSystemError(error, file);
  }
  const wholeBytes = bytes.lastIndexOf(0x0a) + 1;
  const entries: JournalEntry[] = [];
  const lines = bytes.subarray(0, wholeBytes).toString('utf8').split('\n');
  lines.forEach((line, index) => {
    if (line.trim() === '') return;
    entries.push(parseEntry(line, `${file} line ${index + 1}`, entries.length + 1));
  });
  return { entries, wholeBytes, tornBytes: bytes.byteLength - wholeBytes };
}

function parseEntry(line: string, where: string, expectedNumber: number): JournalEntry {
  let value: unknown;
  try {
    value = JSON.parse(line);
  } catch {
    throw new UseError(`${where}: expected one JSON object, found ${JSON.stringify(line.slice(0, 40))}; mend or remove that line (the journal is plain text)`, { path: where });
  }
  const entry = value as Partial<JournalEntry>;
  const kinds = ['set-aside', 'restore', 'trial', 'hypothesis', 'bottom', 'find', 'settings', 'settings-together', 'file', 'undo', 'redo'];
  if (typeof entry !== 'object' || entry === null || !kinds.includes(String(entry.kind))) {
    throw new UseError(`${where}: kind: expected ${kinds.join(' or ')}, found ${JSON.stringify(entry?.kind)}`, { path: where });
  }
  if (entry.number !== expectedNumber) {
    throw new UseError(`${where}: number: expected ${expectedNumber}, found ${JSON.stringify(entry.number)}; a line is missing or stands twice`, { path: where });
  }
  return value as JournalEntry;
}

/**
 * Appends one decision and fsyncs it: when this returns, the decision survives a power cut.
 * A line that an earlier crash cut short is cut off first.
 */
export async function appendDecision(file: string, decision: Decision, at: string): Promise<JournalEntry> {
  const { entries, wholeBytes, tornBytes } = await readJournal(file);
  const entry: JournalEntry = { number: entries.length + 1, at, ...decision };
  try {
    const handle = await open(file, 'a+');
    try {
      if (tornBytes > 0) await handle.truncate(wholeBytes);
      await handle.appendFile(`${JSON.stringify(entry)}\n`);
      await handle.sync();
    } catch (error) {
      await handle.truncate(wholeBytes).catch(() => undefined);
      throw error;
    } finally {
      await handle.close();
    }
  } catch (error) {
    throw plainSystemError(error, file);
  }
  return entry;
}

/** Which decisions stand: undo takes one out, redo brings it back. In the order they were made. */
export function standingDecisions(entries: readonly JournalEntry[]): JournalEntry[] {
  const undone = new Set<number>();
  for (const entry of entries) {
    if (entry.kind === 'undo') undone.add(entry.entry);
    else if (entry.kind === 'redo') undone.delete(entry.entry);
  }
  return entries.filter((entry) => entry.kind !== 'undo' && entry.kind !== 'redo' && !undone.has(entry.number));
}

/** The decision that an undo would take back now, or null. */
export function nextToUndo(entries: readonly JournalEntry[]): JournalEntry | null {
  const standing = standingDecisions(entries);
  return standing[standing.length - 1] ?? null;
}

/**
 * The decision that a redo would bring back now, or null: the latest undone one, as long as nothing new was decided since.
 */
export function nextToRedo(entries: readonly JournalEntry[]): JournalEntry | null {
  const undone: number[] = [];
  for (const entry of entries) {
    if (entry.kind === 'undo') undone.push(entry.entry);
    else if (entry.kind === 'redo') undone.splice(undone.lastIndexOf(entry.entry), 1);
    else undone.length = 0;
  }
  const number = undone[undone.length - 1];
  return number === undefined ? null : (entries[number - 1] ?? null);
}
