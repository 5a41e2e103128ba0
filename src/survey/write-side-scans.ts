import path from 'node:path';
import { breathe } from '../base/breathe.js';
import type { WorkContext } from '../base/progress.js';
import type { SonarReader } from '../base/sonar.js';
import { writeSegySonar } from '../formats/segy-write.js';
import { makeAtomic, TEMPORARY_PREFIX } from './atomic-file.js';

/** Pings made at a time, so that a job can be cancelled. */
const PIECE = 256;

/** A side-scan log to be written. */
export interface SideScanToWrite {
  readonly file: string;
  readonly reader: SonarReader;
}

/**
 * Writes side-scan logs into a folder: SONAR-netCDF4 where the name ends in .nc, else SEG-Y, revision 1 with 16-bit samples
 * where the time between samples is a whole number of microseconds, else revision 2, which holds it exactly.
 *
 * @returns the files' places
 */
export async function writeSideScans(folder: string, logs: readonly SideScanToWrite[], context: WorkContext): Promise<string[]> {
  const places: string[] = [];
  for (const { file, reader } of logs) {
    const { heads } = reader;
    const whole = heads.intervalS.every((intervalS) => Math.abs(intervalS * 1e6 - Math.round(intervalS * 1e6)) < 1e-6);
    const place = path.join(folder, file);
    const read: SonarReader['read'] = async (start, end, signal) => {
      for (let at = start; at < end; at += PIECE) {
        await breathe(context);
        await reader.read(at, Math.min(end, at + PIECE), signal);
      }
      return reader.read(start, end, signal);
    };
    const progress = { ...context, progress: (_step: string, done: number) => context.progress?.('running the side-scan', done, file) };
    await makeAtomic(place, async (sink) => {
      if (file.endsWith('.nc')) {
        const [{ writeSonarNetcdf }, { openHdf5Scratch }] = await Promise.all([import('../formats/sonar-netcdf-write.js'), import('./hdf5-file.js')]);
        await writeSonarNetcdf(sink, { heads, read }, { scratch: () => openHdf5Scratch(path.join(folder, `${TEMPORARY_PREFIX}${file}`)), context: progress });
      } else await writeSegySonar(sink, { heads, read }, { revision: whole ? 1 : 2, text: ['SIDE-SCAN SONAR OF AN INVENTED BOAT', 'NOT FOR NAVIGATION'], context: progress });
    });
    await reader.close();
    places.push(place);
  }
  return places;
}
