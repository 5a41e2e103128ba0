import type { SonarHeads } from '../base/sonar.js';
import { isSonarKind } from '../formats/log-kind.js';
import { writeParquet, type Column } from '../formats/parquet-columns.js';
import { emptyHeads } from '../formats/sonar-summary.js';
import { makeAtomic } from './atomic-file.js';
import { readColumnsFile } from './columns-file.js';
import { isThere, placeIn } from './folder.js';
import { openSonarLog, SONAR_SETTINGS } from './sonar-source.js';
import type { Made, Step, StepWork } from './step-graph.js';

export const PINGS_PLACE = 'derived/imagery/pings.parquet';

/** The pings of all side-scan logs, by log and then as recorded. `log` is the index in the manifest. Shape of every column: [n]. */
export type SurveyPings = SonarHeads & { readonly log: Uint16Array };

/** Columns of derived/imagery/pings.parquet in their order. */
export const PING_COLUMNS = ['timeS', 'log', 'record', 'portSamples', 'starboardSamples', 'intervalS', 'delayS', 'latDeg', 'lonDeg', 'headingDeg', 'heightM', 'depthM', 'frequencyHz'] as const;

/** The pings of the survey: from this run's memory, or from their file; none where there is no side-scan log. */
export async function pingsOf(work: StepWork): Promise<SurveyPings> {
  const held = work.memory.get('pings') as SurveyPings | undefined;
  if (held !== undefined) return held;
  const place = placeIn(work.folder, PINGS_PLACE);
  let pings: SurveyPings = { ...emptyHeads(0), log: new Uint16Array(0) };
  if (await isThere(place)) {
    const columns = await readColumnsFile(place, PING_COLUMNS);
    pings = { n: columns['timeS']!.length, ...columns } as unknown as SurveyPings;
  }
  work.memory.set('pings', pings);
  return pings;
}

/** Heads of one log after another. */
function joinHeads(parts: readonly { readonly log: number; readonly heads: SonarHeads }[]): SurveyPings {
  const n = parts.reduce((sum, { heads }) => sum + heads.n, 0);
  const pings: SurveyPings = { ...emptyHeads(n), log: new Uint16Array(n) };
  let at = 0;
  for (const { log, heads } of parts) {
    pings.log.fill(log, at, at + heads.n);
    for (const name of PING_COLUMNS) if (name !== 'log') (pings[name] as Float64Array).set(heads[name] as Float64Array, at);
    at += heads.n;
  }
  return pings;
}

/** The heads of every side-scan log in one table; samples stay in the raw logs. Writes nothing where there is no such log. */
export const stepPings: Step = {
  name: 'pings',
  version: 2,
  after: ['observations'],
  settings: SONAR_SETTINGS,
  files: (work) => work.settings.sonar.layouts.filter((layout) => typeof layout === 'string'),
  extra: (work) => JSON.stringify(work.logs.map(({ sha256, kind }) => [sha256, isSonarKind(kind)])),
  async run(work): Promise<Made> {
    const sonar = work.logs.flatMap((entry, log) => (isSonarKind(entry.kind) ? [{ entry, log }] : []));
    const parts: { log: number; heads: SonarHeads }[] = [];
    for (const [index, { entry, log }] of sonar.entries()) {
      const reader = await openSonarLog(work.folder, work.settings, entry, {
        ...work.context,
        progress: (_step, done) => work.context.progress?.('pings', (index + (Number.isFinite(done) ? done : 0)) / sonar.length, entry.file),
      });
      parts.push({ log, heads: reader.heads });
      await reader.close();
    }
    const pings = joinHeads(parts);
    work.memory.set('pings', pings);
    if (sonar.length === 0) return {};
    const columns: Column[] = PING_COLUMNS.map((name) => ({ name, data: pings[name] }));
    return { [PINGS_PLACE]: await makeAtomic(placeIn(work.folder, PINGS_PLACE), (sink) => writeParquet(sink, columns)) };
  },
};
