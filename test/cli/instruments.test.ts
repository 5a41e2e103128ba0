import { mkdir, readFile, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import type { InstrumentCheck } from '../../src/survey/instrument-checks.js';
import { BAR_CSV, FRAME, X0, Y0, morning } from '../survey/morning-log.js';
import { temporaryFolder } from '../survey/temporary-folder.js';
import { complaint, tallow } from './run-tallow.js';

describe('instruments', () => {
  it('a morning of checks from the log: mark, heading, latency and bar are found, applied, refused and undone', async () => {
    const parent = await temporaryFolder();
    const folder = path.join(parent, 'survey');
    await tallow(['new', folder]);
    const log = path.join(parent, 'morning.nmea');
    await writeFile(log, morning());
    expect((await tallow(['take-in', folder, log])).code).toBe(0);
    const bar = path.join(parent, 'bar.csv');
    await writeFile(bar, BAR_CSV);
    const [latDeg, lonDeg] = FRAME.toGeographic(X0, Y0);
    const run = await tallow(['instruments', folder, '--bar', bar, '--mark', `${latDeg},${lonDeg}=2026-06-17T08:00:00Z/2026-06-17T08:04:59Z`, '--json']);
    expect(run.code, run.err).toBe(1);
    const of = (checks: readonly InstrumentCheck[], name: string): InstrumentCheck => checks.find(({ check }) => check === name)!;
    const { checks } = run.json<{ checks: InstrumentCheck[] }>();
    const latency = of(checks, 'latency');
    expect(latency.state).toBe('differs');
    expect(Math.abs(latency.values[0]!.value - 0.3)).toBeLessThan(Math.max(0.02, latency.values[0]!.half95));
    const heading = of(checks, 'heading');
    expect(heading.state).toBe('differs');
    expect(Math.abs(heading.values[0]!.value - 5)).toBeLessThan(Math.max(0.3, heading.values[0]!.half95));
    const mark = of(checks, 'static');
    expect(Math.abs(mark.values[1]!.value - 0.4)).toBeLessThan(mark.values[1]!.half95 + 0.02);
    expect(Math.abs(mark.values[0]!.value - 0.1)).toBeLessThan(0.03);
    const found = of(checks, 'bar');
    expect(found.state).toBe('differs');
    expect(Math.abs(found.values[0]!.value - 0.25)).toBeLessThan(found.values[0]!.half95);

    const before = await readFile(path.join(folder, 'survey.json'), 'utf8');
    const journal = async (): Promise<{ kind: string; what?: string }[]> => (await readFile(path.join(folder, 'journal.jsonl'), 'utf8')).trim().split('\n').map((line) => JSON.parse(line) as { kind: string; what?: string });
    const entries = (await journal()).length;
    const applied = await tallow(['instruments', folder, '--apply', 'bar', '--apply', 'latency', '--apply', 'heading', '--json']);
    const after = applied.json<{ checks: InstrumentCheck[] }>().checks;
    for (const name of ['bar', 'latency', 'heading']) expect(of(after, name).state, of(after, name).words).toBe('agrees');
    // One decision for each check, whatever it sets; one undo each, and the settings are as they were.
    expect((await journal()).slice(entries).map(({ kind, what }) => `${kind}: ${what}`)).toEqual(['settings-together: Bar check applied', 'settings-together: Latency run applied', 'settings-together: Heading check applied']);
    const applies = await readFile(path.join(folder, 'survey.json'), 'utf8');
    for (let k = 0; k < 3; k++) await tallow(['journal', folder, '--undo']);
    expect(await readFile(path.join(folder, 'survey.json'), 'utf8')).toBe(before);
    for (let k = 0; k < 3; k++) await tallow(['journal', folder, '--redo']);
    expect(await readFile(path.join(folder, 'survey.json'), 'utf8')).toBe(applies);
    const settings = JSON.parse(await readFile(path.join(folder, 'survey.json'), 'utf8')) as { gnss: { latencyS: number }; sounder: { draftM: number }; heading: { offsetDeg: number } };
    expect(settings.gnss.latencyS).toBeCloseTo(latency.values[0]!.value, 2);
    expect(settings.sounder.draftM).toBeCloseTo(found.values[0]!.value, 3);
    const refused = await tallow(['instruments', folder, '--refuse', 'bar=the plate swung']);
    expect(refused.out).toMatch(/Bar check: not used\n.*Not used: the plate swung/);
    expect((await tallow(['instruments', folder, '--apply', 'bar'])).code).toBe(2);
    expect((await tallow(['instruments', folder, '--reopen', 'bar'])).out).toMatch(/Bar check: agrees/);
    await tallow(['journal', folder, '--undo']);
    expect((await tallow(['instruments', folder])).out).toMatch(/Bar check: not used/);
  });

  it('a sheet to fill in can be had before there is any log', async () => {
    const folder = path.join(await temporaryFolder(), 'survey');
    await tallow(['new', folder]);
    const run = await tallow(['instruments', folder, '--sheet']);
    expect(run.code, run.err).toBe(0);
    expect((await readFile(path.join(folder, 'products/instrument-checks.pdf'))).subarray(0, 5).toString()).toBe('%PDF-');
  });

  it('bad input is named by line, with what to do', async () => {
    const parent = await temporaryFolder();
    const folder = path.join(parent, 'survey');
    await tallow(['new', folder]);
    await mkdir(parent, { recursive: true });
    const bar = path.join(parent, 'bar.csv');
    const said = async (text: string): Promise<string> => {
      await writeFile(bar, text);
      return complaint(await tallow(['instruments', folder, '--bar', bar]));
    };
    expect(await said('depth,reading\n2,1.7\n')).toContain('bar.csv line 1: expected a column barM (or barFt), found depth, reading');
    expect(await said('bar,read\n2,1.7\n')).toContain('the unit in the name of the column');
    expect(await said('barM,readM\n2,1.7\n4,four\n')).toContain('bar.csv line 3: expected a depth above 0 in readM, found four');
    expect(await said('barM,readM\n')).toContain('at least one reading');
    expect(await said('')).toContain('found nothing');
    expect(complaint(await tallow(['instruments', folder, '--mark', '46,-30']))).toContain('expected LAT,LON=START/END');
    expect(complaint(await tallow(['instruments', folder, '--apply', 'draft']))).toContain('expected bar, static, heading, latency');
    expect(complaint(await tallow(['instruments', folder, '--bar', path.join(parent, 'none.csv')]))).toContain('none.csv');
  });
});
