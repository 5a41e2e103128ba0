import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { legLines } from '../../src/boat/leg-lines.js';
import type { TrialLog } from '../../src/boat/trial-log.js';
import { trialWindow } from '../../src/boat/find-window.js';
import { provingTrials, trialsNmea, type ProvingTrials } from '../../src/proving/index.js';
import { createFolder, placeIn } from '../../src/survey/folder.js';
import { openDesk } from '../../src/survey/open-desk.js';
import { decideTrials } from '../../src/survey/trial-decisions.js';
import { readTrials } from '../../src/survey/step-boat.js';
import type { JournalEntry, TrialDecision } from '../../src/survey/summary.js';
import { readParquet } from '../../src/formats/parquet-columns.js';
import { openFileSource } from '../../src/survey/file-source.js';
import { trialLog } from '../boat/trial-log-of.js';

/** Straight at 2 m/s eastwards along y = offset, 10 Hz, for a minute. */
function straight(offsetM: number): TrialLog {
  const timeS = Float64Array.from({ length: 600 }, (_, i) => i / 10);
  return trialLog({ timeS, xM: timeS.map((t) => 2 * t), yM: timeS.map(() => offsetM) });
}

describe('legLines', () => {
  const line = { fromXM: 0, fromYM: 0, toXM: 110, toYM: 0 };
  const leg = (log: TrialLog) => trialWindow(log, 'straight-leg', 0, 60, 'hand');

  it('finds the line a leg lies beside, in the direction it was run', () => {
    const log = straight(1.5);
    expect(legLines(log, [leg(log)], [{ fromXM: 0, fromYM: 40, toXM: 110, toYM: 40 }, line])).toEqual({ [leg(log).id]: line });
    const back = { fromXM: 110, fromYM: 0, toXM: 0, toYM: 0 };
    expect(legLines(log, [leg(log)], [back])).toEqual({ [leg(log).id]: line });
  });

  it('takes none that is too far off, crosses it, or is much longer than what was run', () => {
    expect(legLines(straight(6), [leg(straight(6))], [line])).toEqual({});
    const log = straight(0);
    expect(legLines(log, [leg(log)], [{ fromXM: 0, fromYM: -30, toXM: 110, toYM: 30 }])).toEqual({});
    expect(legLines(log, [leg(log)], [{ fromXM: -200, fromYM: 0, toXM: 400, toYM: 0 }])).toEqual({});
  });
});

describe('decideTrials', () => {
  const log = straight(0);
  const found = [trialWindow(log, 'steady-run', 5, 30, 'found'), trialWindow(log, 'steady-run', 31, 55, 'found')];
  let number = 0;
  const decide = (decision: Omit<TrialDecision, 'kind'>): JournalEntry => ({ number: ++number, at: '2026-06-17T00:00:00Z', kind: 'trial', ...decision });

  it('a moved trial keeps its id through moves, a drop takes it out, a later move brings it back', () => {
    const id = found[0]!.id;
    const move = decide({ change: 'move', trial: id, trialKind: 'steady-run', startS: 8, endS: 28 });
    const again = decide({ change: 'move', trial: id, trialKind: 'straight-leg', startS: 9, endS: 27 });
    const drop = decide({ change: 'drop', trial: id, trialKind: 'steady-run', startS: 8, endS: 28 });
    const moved = decideTrials(log, found, [move, again]);
    expect(moved.trials.find((trial) => trial.id === id)).toMatchObject({ kind: 'straight-leg', startS: 9, endS: 27, by: 'hand' });
    const dropped = decideTrials(log, found, [move, again, drop]);
    expect(dropped.trials.map((trial) => trial.id)).toEqual([found[1]!.id]);
    expect(dropped.dropped.map((trial) => trial.id)).toEqual([id]);
    expect(decideTrials(log, found, [drop, move]).dropped).toEqual([]);
  });

  it('a window that holds nothing of the log leaves the trial as it was found, and says so', () => {
    const out = decideTrials(log, found, [decide({ change: 'move', trial: found[0]!.id, trialKind: 'steady-run', startS: 900, endS: 950 })]);
    expect(out.trials).toHaveLength(2);
    expect(out.notes[0]).toMatch(/left as it was found/);
  });

  it('a move of a trial that is no longer found stands as one by hand; a drop of it does nothing', () => {
    const gone = 'spin@77';
    expect(decideTrials(log, found, [decide({ change: 'move', trial: gone, trialKind: 'spin', startS: 40, endS: 50 })]).trials).toHaveLength(3);
    expect(decideTrials(log, found, [decide({ change: 'drop', trial: gone, trialKind: 'spin', startS: 40, endS: 50 })])).toMatchObject({ dropped: [] });
  });
});

describe('a log of trials on one time base', () => {
  let top: string;
  let run: ProvingTrials;
  beforeAll(async () => {
    top = await mkdtemp(path.join(os.tmpdir(), 'tallow-trial-log-'));
    run = provingTrials(12, { fixHz: 5, slowM: 0, quickM: 0, whiteM: 0, compassConstantDeg: 0, compassNoiseDeg: 0, gapsPerHour: 0, lostShare: 0 });
  });
  afterAll(() => rm(top, { recursive: true, force: true }));

  it('takes latency and the antenna\'s arm out: places agree with the true track to the centimetre or two', async () => {
    const folder = path.join(top, 'survey');
    await createFolder(folder, { name: 'Trials', gnss: { latencyS: 0.12, antenna: { forwardM: -0.4, starboardM: 0, downM: 0 } } } as never);
    const file = path.join(top, 'log.nmea');
    await writeFile(file, trialsNmea(run, { antennaForwardM: -0.4, latencyS: 0.12 }));
    const desk = await openDesk(folder);
    await desk.takeIn([file]);
    await desk.build({}, 'boat');
    expect((await readTrials(folder))!.faults).toEqual([]);
    const source = await openFileSource(placeIn(folder, 'derived/trial-log.parquet'));
    const columns = await readParquet(source, { columns: ['timeS', 'latDeg', 'lonDeg', 'thrusterPortPct', 'headingDeg'] });
    await source.close();
    const timeS = columns['timeS'] as Float64Array;
    expect(timeS.length).toBeGreaterThan(0.99 * run.readings.n);
    const { readings, track, boat } = run;
    let worst = 0;
    const off: number[] = [];
    const first = readings.timeS.findIndex((t) => Math.abs(t - timeS[0]!) < 1e-6);
    for (let i = 0; i < timeS.length; i++) {
      const row = first + i;
      expect(Math.abs(readings.timeS[row]! - timeS[i]!)).toBeLessThan(1e-3);
      // Northward in metres from the place's latitude: the reference point is the antenna less its arm along the bow.
      const bow = (track.headingDeg[readings.trackRow[row]!]! * Math.PI) / 180;
      const north = readings.northM[row]! - boat.antennaAheadM * Math.cos(bow);
      const lat = (columns['latDeg'] as Float64Array)[i]!;
      off.push(lat * 111_151.5 - north);
    }
    const middle = off.slice().sort((a, b) => a - b)[off.length >> 1]!;
    for (const one of off) worst = Math.max(worst, Math.abs(one - middle));
    // A ten-millionth of a minute in the log is 0.2 mm; the cubic and the heading's tenth of a degree leave centimetres in the sharpest turns.
    expect(worst).toBeLessThan(0.12);
    expect(Math.sqrt(off.reduce((sum, one) => sum + (one - middle) ** 2, 0) / off.length)).toBeLessThan(0.02);
  });
});
