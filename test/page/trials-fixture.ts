import { mkdir, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { checkLog } from '../../src/boat/check-log.js';
import type { BoatCard } from '../../src/boat/boat-card.js';
import { findTrials } from '../../src/boat/find-trials.js';
import { makeCard } from '../../src/boat/make-card.js';
import type { Trial, TrialLog } from '../../src/boat/trial-log.js';
import { writeParquet } from '../../src/formats/parquet-columns.js';
import { createFrame } from '../../src/geo/frame.js';
import { provingTrials, trialLogOf } from '../../src/proving/trials.js';
import type { TrialsChanges } from '../../src/proving/trials-options.js';
import { makeAtomic } from '../../src/survey/atomic-file.js';
import type { Settings } from '../../src/survey/settings.js';
import type { BoatSummary, JournalEntry, SurveySummary } from '../../src/survey/summary.js';
import { decideTrials } from '../../src/survey/trial-decisions.js';
import { fixtureBoatSummary } from './fixture.js';

const FRAME = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });

/** Trials of the proving ground as the survey's own step leaves them in a folder, with the user's decisions on them. */
export interface TrialsFixture {
  readonly log: TrialLog;
  readonly found: readonly Trial[];
  /** Writes trials, log and card; gives the boat's part of the summary. */
  write(folder: string, settings: Settings, decisions: readonly JournalEntry[]): Promise<BoatSummary>;
}

export function makeTrialsFixture(seed: number, changes: TrialsChanges = {}): TrialsFixture {
  const log = atSurvey(trialLogOf(provingTrials(seed, changes)));
  const found = findTrials(log);
  return {
    log,
    found,
    write: async (folder, settings, decisions) => {
      const { trials, dropped, notes } = decideTrials(log, found, decisions);
      const card = makeCard(log, trials, { ...settings.boat, lines: {} });
      await writeTrials(folder, log, { trials, dropped, notes }, card);
      return boatOf(card, log, trials, dropped);
    },
  };
}

/** The log moved into the water south of the survey of the fixture. */
function atSurvey(log: TrialLog): TrialLog {
  const [x0, y0] = FRAME.toFrame(46.0355, -29.9688);
  const middle = (values: Float64Array) => (values.reduce((low, value) => Math.min(low, value), Infinity) + values.reduce((high, value) => Math.max(high, value), -Infinity)) / 2;
  const [dx, dy] = [x0 + 320 - middle(log.xM), y0 + 60 - middle(log.yM)];
  return { ...log, xM: log.xM.map((x) => x + dx), yM: log.yM.map((y) => y + dy) };
}

async function writeTrials(folder: string, log: TrialLog, decided: { trials: readonly Trial[]; dropped: readonly Trial[]; notes: readonly string[] }, card: BoatCard): Promise<void> {
  for (const sub of ['derived', 'boat']) await mkdir(path.join(folder, sub), { recursive: true });
  const places = Array.from(log.xM, (x, i) => FRAME.toGeographic(x, log.yM[i] as number));
  const columns = [
    { name: 'timeS', data: log.timeS },
    { name: 'xM', data: log.xM },
    { name: 'yM', data: log.yM },
    { name: 'latDeg', data: Float64Array.from(places, ([lat]) => lat) },
    { name: 'lonDeg', data: Float64Array.from(places, ([, lon]) => lon) },
    ...(['sigmaM', 'headingDeg', 'speedThroughWaterMps', 'thrusterPortPct', 'thrusterStarboardPct', 'batteryVoltageV', 'batteryCurrentA'] as const).map((name) => ({ name, data: log[name] })),
  ];
  await makeAtomic(path.join(folder, 'derived/trial-log.parquet'), (sink) => writeParquet(sink, columns));
  await writeFile(path.join(folder, 'derived/trials.json'), JSON.stringify({ format: 'tallow-trials', version: 1, logs: ['trials-01.nmea'], convergenceDeg: log.convergenceDeg, trials: decided.trials, dropped: decided.dropped, faults: checkLog(log), lines: {}, notes: decided.notes }));
  await writeFile(path.join(folder, 'boat/card.json'), JSON.stringify(card));
}

function boatOf(card: BoatCard, log: TrialLog, trials: readonly Trial[], dropped: readonly Trial[]): BoatSummary {
  const kinds: Partial<Record<Trial['kind'], number>> = {};
  for (const { kind } of trials) kinds[kind] = (kinds[kind] ?? 0) + 1;
  return { ...fixtureBoatSummary(card), trials: { logs: ['trials-01.nmea'], count: trials.length, byHand: trials.filter(({ by }) => by === 'hand').length, dropped: dropped.length, seconds: (log.timeS[log.n - 1] as number) - (log.timeS[0] as number), kinds } };
}

/** The summary of a survey that has trials in its folder. */
export function withTrials(summary: SurveySummary, boat: BoatSummary): SurveySummary {
  return { ...summary, boat };
}
