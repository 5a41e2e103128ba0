import { appendFile, readFile, truncate, writeFile } from 'node:fs/promises';
import path from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { appendDecision, nextToRedo, nextToUndo, readJournal, standingDecisions } from '../../src/survey/journal.js';
import type { Decision, JournalEntry } from '../../src/survey/summary.js';
import { temporaryFolder } from './temporary-folder.js';

const AT = '2026-05-13T10:00:00Z';
const aside = (recordStart: number): Decision => ({ kind: 'set-aside', soundings: [{ log: '0123456789abcdef', recordStart, recordEnd: recordStart + 1 }] });

describe('journal', () => {
  it('appendDecision: numbers entries from 1 and keeps what was there', async () => {
    const file = path.join(await temporaryFolder(), 'journal.jsonl');
    expect((await appendDecision(file, aside(1), AT)).number).toBe(1);
    const before = await readFile(file, 'utf8');
    expect((await appendDecision(file, aside(2), AT)).number).toBe(2);
    expect((await readFile(file, 'utf8')).startsWith(before)).toBe(true);
    expect((await readJournal(file)).entries).toHaveLength(2);
  });

  it('readJournal: keeps every whole line when the file is cut at any byte', async () => {
    const file = path.join(await temporaryFolder(), 'journal.jsonl');
    for (let i = 0; i < 3; i++) await appendDecision(file, aside(i), AT);
    const whole = await readFile(file);
    for (let length = whole.length; length >= 0; length--) {
      await writeFile(file, whole.subarray(0, length));
      const wholeLines = whole.subarray(0, length).toString().split('\n').length - 1;
      const content = await readJournal(file);
      expect(content.entries).toHaveLength(wholeLines);
      expect(content.wholeBytes + content.tornBytes).toBe(length);
    }
  });

  it('appendDecision: cuts off a line torn by a crash and goes on with the next number', async () => {
    const file = path.join(await temporaryFolder(), 'journal.jsonl');
    await appendDecision(file, aside(1), AT);
    await appendDecision(file, aside(2), AT);
    const { length } = await readFile(file);
    await truncate(file, length - 5);
    const entry = await appendDecision(file, aside(3), AT);
    expect(entry.number).toBe(2);
    const { entries, tornBytes } = await readJournal(file);
    expect(tornBytes).toBe(0);
    expect(entries.map((one) => one.number)).toEqual([1, 2]);
    expect(entries[1]).toMatchObject(aside(3));
  });

  it('readJournal: names the line that is not an entry', async () => {
    const file = path.join(await temporaryFolder(), 'journal.jsonl');
    await appendDecision(file, aside(1), AT);
    await appendFile(file, 'not json\n');
    await expect(readJournal(file)).rejects.toThrow(/journal\.jsonl line 2: expected one JSON object, found "not json"/);
  });

  it('standingDecisions: agrees with a stack of undo and redo for any sequence', () => {
    fc.assert(
      fc.property(fc.array(fc.constantFrom('decide', 'undo', 'redo'), { maxLength: 40 }), (acts) => {
        const entries: JournalEntry[] = [];
        const done: number[] = [];
        let undone: number[] = [];
        const push = (decision: Decision): number => {
          entries.push({ number: entries.length + 1, at: AT, ...decision });
          return entries.length;
        };
        for (const act of acts) {
          if (act === 'decide') {
            done.push(push(aside(entries.length)));
            undone = [];
          } else if (act === 'undo') {
            const next = nextToUndo(entries);
            expect(next?.number ?? null).toBe(done[done.length - 1] ?? null);
            if (next === null) continue;
            push({ kind: 'undo', entry: next.number });
            undone.push(done.pop() as number);
          } else {
            const next = nextToRedo(entries);
            expect(next?.number ?? null).toBe(undone[undone.length - 1] ?? null);
            if (next === null) continue;
            push({ kind: 'redo', entry: next.number });
            done.push(undone.pop() as number);
          }
        }
        expect(standingDecisions(entries).map((entry) => entry.number)).toEqual([...done].sort((a, b) => a - b));
      }),
      { seed: 20260513, numRuns: 500 },
    );
  });
});
