import { readFileSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import type { LogEntry, SoundingsSummary, SurfaceSummary } from '../../src/survey/summary.js';
import { readSoundingsFile } from '../../src/survey/soundings-file.js';
import { temporaryFolder } from '../survey/temporary-folder.js';
import { HAS_SHARED_DATA, PROJECT, SHARED_DATA, tallow } from './run-tallow.js';

/**
 * Recorded logs of real receivers and sounders (see the MANIFEST beside them for who recorded them), read independently by
 * test/reference/nmea_recorded.py: plain text splitting, no code of ours.
 */
interface Independent {
  readonly lines: number;
  readonly counts: Readonly<Record<string, number>>;
  readonly epochs: number;
  readonly first: readonly [number, number];
  readonly last: readonly [number, number];
  readonly trackM: number;
  readonly depths: Readonly<Record<string, { readonly n: number; readonly min: number; readonly max: number; readonly sum: number; readonly keptWhileClockRuns: number }>>;
}
const RECORDED = JSON.parse(readFileSync(path.join(PROJECT, 'test/reference/nmea-recorded.json'), 'utf8')) as Record<string, Independent>;

describe.skipIf(!HAS_SHARED_DATA)('recorded logs (skipped where ../shared/data is absent)', () => {
  for (const [name, sentence] of [['gulf-4h.log', 'DBT'], ['lake-mixed-rates.log', 'DPT'], ['no-date.log', 'DBT'], ['river-clock-backwards.log', 'DPT']] as const) {
    it(`${name}: goes through take-in and depths to a surface, with the counts an independent reading gives`, async () => {
      const expected = RECORDED[name]!;
      const folder = path.join(await temporaryFolder(), 'survey');
      expect((await tallow(['new', folder])).code).toBe(0);
      const taken = await tallow(['take-in', folder, path.join(SHARED_DATA, 'nmea', name), '--no-date', '2021-07-09', '--json']);
      expect(taken.code, taken.err).toBe(0);
      const log = taken.json<{ results: { log: LogEntry }[] }>().results[0]!.log;
      const depths = expected.depths[sentence]!;
      expect(log.lines).toBe(expected.lines);
      for (const [type, count] of Object.entries(expected.counts)) expect([type, log.counts[type]]).toEqual([type, count]);
      expect(log.pings).toBe(depths.keptWhileClockRuns);
      if (name !== 'river-clock-backwards.log') {
        expect(log.depthMinM).toBeCloseTo(depths.min, 2);
        expect(log.depthMaxM).toBeCloseTo(depths.max, 2);
        expect(log.fixes).toBe(expected.epochs);
      }

      const built = await tallow(['depths', folder, '--json']);
      expect(built.code, built.err).toBe(0);
      const { soundings, surface } = built.json<{ soundings: SoundingsSummary; surface: SurfaceSummary }>();
      expect(soundings.total).toBe(log.pings);
      expect(soundings.good).toBeGreaterThan(0.9 * soundings.total);
      expect(surface.cellsMeasured).toBeGreaterThan(0);
      expect(surface.depthMinM).toBeGreaterThanOrEqual(depths.min - 0.11);
      expect(surface.depthMaxM).toBeLessThanOrEqual(depths.max + 1.5);

      const columns = await readSoundingsFile(path.join(folder, 'derived/soundings.parquet'));
      if (name === 'gulf-4h.log') {
        // Every sounding as logged, and no draft, profile or water level: the sum is that of the sentences.
        expect(columns.measuredM.reduce((sum, one) => sum + one, 0)).toBeCloseTo(depths.sum, 1);
        expect(soundings.timeStartS).toBeGreaterThanOrEqual(Date.UTC(2021, 6, 9) / 1000 + 35_759 - 2);
        // Positions within a boat's length at the start and end; MANIFEST gives 35.1 km of track.
        expect([columns.latDeg[0], columns.lonDeg[0]]).toEqual([expect.closeTo(expected.first[0], 4), expect.closeTo(expected.first[1], 4)]);
        expect([columns.latDeg[columns.n - 1], columns.lonDeg[columns.n - 1]]).toEqual([expect.closeTo(expected.last[0], 4), expect.closeTo(expected.last[1], 4)]);
        expect(soundings.trackLengthM).toBeGreaterThan(0.97 * expected.trackM);
        expect(soundings.trackLengthM).toBeLessThan(1.03 * expected.trackM);
      }
    });
  }

  it('take-in: the same file twice is recognised, under another name too', async () => {
    const folder = path.join(await temporaryFolder(), 'survey');
    await tallow(['new', folder]);
    const file = path.join(SHARED_DATA, 'nmea/no-date.log');
    await tallow(['take-in', folder, file]);
    const again = await tallow(['take-in', folder, file, '--json']);
    expect(again.code).toBe(0);
    expect(again.json<{ results: { outcome: string; because: string }[] }>().results[0]).toMatchObject({ outcome: 'already-there', because: expect.stringContaining('the same file, byte for byte, as logs/no-date.log') });
  });
});
