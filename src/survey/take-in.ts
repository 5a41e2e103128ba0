import { rm } from 'node:fs/promises';
import path from 'node:path';
import { throwIfCancelled, type WorkContext } from '../base/progress.js';
import { formatUtc } from '../base/time.js';
import { FormatError, isExpectedError } from '../base/errors.js';
import { isImage } from '../formats/file-magic.js';
import { logKindOf } from '../formats/log-kind.js';
import { readLog } from '../formats/log-reader.js';
import { openAtomic } from './atomic-file.js';
import type { TakeInResult } from './desk.js';
import { hashFile, openFileSource, type FileSource } from './file-source.js';
import { placeIn } from './folder.js';
import { freeName } from './free-name.js';
import { readManifest, writeManifest } from './manifest.js';
import { senselessLog } from './log-sense.js';
import { forgetLog, parseLog } from './parse-log.js';
import { readPlanLonLat } from './plan-files.js';
import type { Settings } from './settings.js';
import { navigationBeside, sonarKindOf } from './sonar-kind.js';
import { sonarLayouts } from './sonar-layouts.js';
import { openSonarSource } from './sonar-source.js';
import type { LogEntry } from './summary.js';
import { plainSystemError } from './system-errors.js';

const PIECE = 1 << 20;
/** Of side-scan logs larger than this the heads are read before the whole is hashed. */
const LARGE_BYTES = 256 << 20;

/** Copies the raw log byte for byte under its name in logs/; gives the sha-256 of what was copied. */
async function keepRaw(source: FileSource, target: string, context: WorkContext): Promise<string> {
  const file = await openAtomic(target);
  try {
    for (let at = 0; at < source.byteLength; at += PIECE) {
      throwIfCancelled(context.signal);
      await file.write(await source.read(at, at + PIECE, context.signal));
      context.progress?.('take-in', 0.3 + (0.3 * at) / source.byteLength, `keeping ${source.name}`);
    }
    return await file.commit();
  } catch (error) {
    await file.abandon();
    throw error;
  }
}

/** How to correct the reading of a CSV's columns, where that is what is wrong. */
function howToName(error: Error): string {
  const columns = error instanceof FormatError && ['missing-column', 'wrong-unit', 'swapped-lat-lon', 'bad-mapping'].includes(error.code);
  return columns ? ' (--columns shows how they are read; --column "NAME=QUANTITY UNIT" corrects one, e.g. --column "Tiefe=depth ft")' : '';
}

/**
 * Takes in one file: recognises it, reads it whole, keeps its raw bytes, enters it in the manifest.
 * When this returns `taken-in`, the log survives a power cut. A file that is refused leaves nothing behind.
 *
 * @param at UTC seconds now, noted in the manifest
 */
export async function takeInFile(folder: string, settings: Settings, file: string, at: number, context: WorkContext): Promise<TakeInResult> {
  const name = path.basename(file);
  let source: FileSource;
  try {
    source = await openFileSource(file);
  } catch (error) {
    if (!isExpectedError(error)) throw error;
    return { name, outcome: 'refused', log: null, because: error.message };
  }
  let logName: string | null = null;
  let entered = false;
  try {
    context.progress?.('take-in', 0, `reading ${name}`);
    // What does not begin like a log is read for its faults first: no need to hash two gigabytes of zeros.
    const sonar = await sonarKindOf(source, await sonarLayouts(folder, settings.sonar.layouts));
    if (sonar === 'sonar-image') {
      // Its navigation comes with it, as a log of positions of its own.
      const navigation = await takeInFile(folder, settings, navigationBeside(file), at, context);
      if (navigation.outcome === 'refused') return { name, outcome: 'refused', log: null, because: `the navigation beside ${name} cannot be used: ${navigation.because}` };
    }
    if (sonar === null && isImage(await source.read(0, 32, context.signal))) {
      throw new FormatError('not-a-log', file, `${name}: an image, and no ${path.basename(navigationBeside(file))} beside it: if it is a strip of side-scan pings, put a CSV of that name there with a row for each row of the image (time, range_m, and lat and lon where the boat's own log has none), and take it in again`);
    }
    if (sonar === null && logKindOf(await source.read(0, 65_536, context.signal)) === null) await readLog(source, { onChunk: () => undefined, context: { ...context, progress: () => undefined } });
    // Nor of five gigabytes that only begin like records: heads are soon read, and tell.
    if (sonar !== null && source.byteLength > LARGE_BYTES) await (await openSonarSource(sonar, source, settings, await sonarLayouts(folder, settings.sonar.layouts), context)).close();
    const sha256 = await hashFile(file, context.signal);
    const manifest = await readManifest(folder);
    const same = manifest.logs.find((log) => log.sha256 === sha256);
    if (same !== undefined) {
      return { name, outcome: 'already-there', log: same, because: alreadyThere(name, same, manifest.logs) };
    }
    const inner: WorkContext = {
      ...context,
      progress: (_step, done, detail) => context.progress?.('take-in', Number.isFinite(done) ? done * 0.3 : NaN, detail ?? `reading ${name}`),
    };
    // Read before it is kept: what turns out not to be a log never reaches the folder.
    const parsed = await parseLog(folder, settings, source, sha256, inner);
    const nonsense = senselessLog(name, parsed, await readPlanLonLat(folder, 'area'));
    if (nonsense !== null) {
      await forgetLog(folder, sha256);
      throw new FormatError('senseless', file, nonsense);
    }
    logName = await freeName(folder, 'logs', name, sha256);
    const kept = await keepRaw(source, placeIn(folder, `logs/${logName}`), context);
    if (kept !== sha256) {
      await rm(placeIn(folder, `logs/${logName}`), { force: true });
      return { name, outcome: 'refused', log: null, because: `${name} changed while it was being read; take it in again when nothing writes to it` };
    }
    const log: LogEntry = { file: logName, sha256, bytes: source.byteLength, takenInAt: formatUtc(at), ...parsed };
    await writeManifest(folder, [...manifest.logs, log]);
    entered = true;
    return { name, outcome: 'taken-in', log, because: '' };
  } catch (error) {
    const plain = plainSystemError(error, file);
    if (!entered && logName !== null) await rm(placeIn(folder, `logs/${logName}`), { force: true });
    if (!isExpectedError(plain) || plain.name === 'CancelledError' || plain.name === 'UseError') throw plain;
    return { name, outcome: 'refused', log: null, because: `${plain.message}${howToName(plain)}` };
  } finally {
    await source.close();
  }
}

/** Why a file is there already: taken in before, or just now with the picture whose navigation it is. */
function alreadyThere(name: string, same: LogEntry, logs: readonly LogEntry[]): string {
  const bare = (file: string): string => path.basename(file, path.extname(file));
  const picture = logs.find(({ kind, file, takenInAt }) => kind === 'sonar-image' && takenInAt === same.takenInAt && bare(file) === bare(same.file));
  return picture === undefined ? `${name} is the same file, byte for byte, as logs/${same.file}, taken in ${same.takenInAt}` : `${name} came in with ${picture.file}, whose navigation it is`;
}

/**
 * Reads a log that is in the folder already with its columns as corrected: what it was read into is made anew, the raw log stays
 * byte for byte. One that cannot be read so is left as it was.
 *
 * @param settings with the corrections in them
 * @param there the take-in's answer that the log is there already
 */
export async function readColumnsAnew(folder: string, settings: Settings, there: TakeInResult, context: WorkContext): Promise<TakeInResult> {
  if (there.log === null) return there;
  const { file, sha256 } = there.log;
  const kept = placeIn(folder, `logs/${file}`);
  const source = await openFileSource(kept);
  try {
    const parsed = await parseLog(folder, settings, source, sha256, context);
    const nonsense = senselessLog(file, parsed, await readPlanLonLat(folder, 'area'));
    if (nonsense !== null) {
      // Read so it would be no log; it is read as before when it is asked for next.
      await forgetLog(folder, sha256);
      throw new FormatError('senseless', kept, nonsense);
    }
    const { logs } = await readManifest(folder);
    await writeManifest(folder, logs.map((log) => (log.sha256 === sha256 ? { ...log, ...parsed } : log)));
    return { name: there.name, outcome: 'read-anew', log: { ...there.log, ...parsed }, because: `logs/${file} is read anew with its columns as you say; the raw log is as it was` };
  } catch (error) {
    const plain = plainSystemError(error, kept);
    if (!isExpectedError(plain) || plain.name === 'CancelledError' || plain.name === 'UseError') throw plain;
    return { name: there.name, outcome: 'refused', log: null, because: `${plain.message}${howToName(plain)}; its columns are left as they were` };
  } finally {
    await source.close();
  }
}
