import { rm } from 'node:fs/promises';
import type { LogSummary } from '../base/observations.js';
import type { WorkContext } from '../base/progress.js';
import type { SonarKind } from '../formats/log-kind.js';
import type { RecordLayout } from '../formats/record-layout.js';
import { readLog } from '../formats/log-reader.js';
import { lookAtSamples } from '../formats/sonar-look.js';
import { writeAtomic } from './atomic-file.js';
import { columnMappingFor } from './csv-columns.js';
import { hashBytes, type FileSource } from './file-source.js';
import { placeIn, readTextIfThere } from './folder.js';
import { observationsPlace, openObservationWriter, type ObservationWriter } from './observation-store.js';
import type { Settings } from './settings.js';
import { sonarFixes } from './sonar-fixes.js';
import { sonarLayouts } from './sonar-layouts.js';
import { sonarKindOf } from './sonar-kind.js';
import { openSonarSource, sonarReading } from './sonar-source.js';
import type { Made } from './step-graph.js';

/** Raised whenever a log would be read into other observations. */
export const PARSE_VERSION = 1;
/** The same of side-scan logs. */
const SONAR_VERSION = 4;

/** derived/observations/<log>/read.json: how a log was read, and into what. */
interface ReadRecord {
  readonly version: number;
  readonly key: string;
  readonly outputs: Made;
  readonly summary: LogSummary;
}

function recordPlace(logSha256: string): string {
  return `${observationsPlace(logSha256)}/read.json`;
}

async function parseKey(folder: string, settings: Settings, source: FileSource): Promise<{ key: string; mapping: unknown; sonar: SonarKind | null; layouts: readonly RecordLayout[] }> {
  const layouts = await sonarLayouts(folder, settings.sonar.layouts);
  const sonar = await sonarKindOf(source, layouts);
  if (sonar !== null) return { key: hashBytes(JSON.stringify([PARSE_VERSION, SONAR_VERSION, sonar, sonarReading(settings, layouts)])), mapping: null, sonar, layouts };
  const mapping = await columnMappingFor(settings, source);
  return { key: hashBytes(JSON.stringify([PARSE_VERSION, settings.time.noDate, mapping])), mapping, sonar, layouts };
}

/** How a side-scan log was understood; its pings are read by the step `pings`, of observations it gives its positions. */
async function sonarSummary(kind: SonarKind, source: FileSource, settings: Settings, layouts: readonly RecordLayout[], writer: ObservationWriter, context: WorkContext): Promise<LogSummary> {
  const sonar = await openSonarSource(kind, source, settings, layouts, context);
  try {
    await writer.add({ fixes: sonarFixes(sonar.heads) });
    return { ...sonar.summary, notes: [...sonar.summary.notes, ...(await lookAtSamples(sonar, context))] };
  } finally {
    await sonar.close();
  }
}

/** Reads a log whole into derived/observations and gives how it was understood. @throws FormatError where it is no log */
export async function parseLog(folder: string, settings: Settings, source: FileSource, sha256: string, context: WorkContext): Promise<LogSummary> {
  const { key, mapping, sonar, layouts } = await parseKey(folder, settings, source);
  const writer = await openObservationWriter(folder, sha256);
  try {
    const summary =
      sonar !== null
        ? await sonarSummary(sonar, source, settings, layouts, writer, context)
        : await readLog(source, {
            noDate: settings.time.noDate,
            ...(mapping === null ? {} : { csvMapping: mapping as never }),
            onChunk: (chunk) => writer.add(chunk),
            context,
          });
    const outputs = await writer.commit();
    const record: ReadRecord = { version: PARSE_VERSION, key, outputs, summary };
    await writeAtomic(placeIn(folder, recordPlace(sha256)), `${JSON.stringify(record, null, 2)}\n`);
    return summary;
  } catch (error) {
    await writer.abandon();
    await forgetLog(folder, sha256);
    throw error;
  }
}

/** Removes what a log was read into. */
export async function forgetLog(folder: string, sha256: string): Promise<void> {
  await rm(placeIn(folder, observationsPlace(sha256)), { recursive: true, force: true });
}

/** A log's record where it was read with these settings, else null. */
export async function freshRecord(folder: string, settings: Settings, source: FileSource, sha256: string): Promise<ReadRecord | null> {
  const text = await readTextIfThere(placeIn(folder, recordPlace(sha256)));
  if (text === null) return null;
  try {
    const record = JSON.parse(text) as ReadRecord;
    const { key } = await parseKey(folder, settings, source);
    return record.key === key ? record : null;
  } catch {
    return null;
  }
}

/** What a log's record file holds, for the observations step. */
export async function readRecordOutputs(folder: string, sha256: string): Promise<Made> {
  const place = recordPlace(sha256);
  const text = (await readTextIfThere(placeIn(folder, place))) ?? '';
  const record = JSON.parse(text) as ReadRecord;
  return { ...record.outputs, [place]: { sha256: hashBytes(text), bytes: Buffer.byteLength(text) } };
}
