import { UseError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import type { SonarReader } from '../base/sonar.js';
import { isSonarKind, type SonarKind } from '../formats/log-kind.js';
import { openSegySonar } from '../formats/segy-read.js';
import { openSonarNetcdf } from '../formats/sonar-netcdf-read.js';
import type { OpenSonar } from '../formats/sonar-summary.js';
import { openFileSource, type FileSource } from './file-source.js';
import { placeIn } from './folder.js';
import { openHdf5File } from './hdf5-file.js';
import type { Settings } from './settings.js';
import type { LogEntry } from './summary.js';

/** Settings that decide what the pings of a side-scan log are. */
export const SONAR_SETTINGS = ['sonar.channels', 'sonar.millisecondByte', 'sonar.sampleIntervalUs', 'sonar.swapSides'] as const;

/** The settings by which a side-scan log is read, in one value: another value, another reading. */
export function sonarReading({ sonar }: Settings): unknown {
  return [sonar.channels, sonar.millisecondByte, sonar.sampleIntervalUs, sonar.swapSides];
}

/** Opens a side-scan log as the settings say, sides swapped where they say so. @throws FormatError where it is no such log */
export async function openSonarSource(kind: SonarKind, source: FileSource, settings: Settings, context: WorkContext): Promise<OpenSonar> {
  const { channels, millisecondByte, sampleIntervalUs, swapSides } = settings.sonar;
  const sonar = await open();
  return swapSides ? swapped(sonar) : sonar;

  function open(): Promise<OpenSonar> {
    if (kind === 'segy') return openSegySonar(source, { channels, millisecondByte, sampleIntervalUs, context });
    if (kind === 'sonar-netcdf') return openSonarNetcdf(source, { sampleIntervalUs, open: () => openHdf5File(source.path), context });
    throw new UseError(`${source.name}: side-scan records of the kind ${kind} cannot be read yet`, { path: source.name });
  }
}

function swapped(sonar: OpenSonar): OpenSonar {
  const { heads } = sonar;
  return {
    ...sonar,
    heads: { ...heads, portSamples: heads.starboardSamples, starboardSamples: heads.portSamples },
    read: async (start, end, signal) => {
      const { port, starboard, ...rest } = await sonar.read(start, end, signal);
      return { ...rest, port: starboard, starboard: port };
    },
  };
}

/**
 * Opens a side-scan log of the survey.
 * @param entry its entry in the manifest
 * @throws UseError where the file is missing or the entry is no side-scan log, FormatError where it is damaged
 */
export async function openSonarLog(folder: string, settings: Settings, entry: LogEntry, context: WorkContext = {}): Promise<SonarReader> {
  const { kind, file } = entry;
  if (!isSonarKind(kind)) throw new UseError(`logs/${file}: expected a side-scan log, found one of kind ${kind}`, { path: file });
  const source = await openFileSource(placeIn(folder, `logs/${file}`), `logs/${file}`);
  try {
    const sonar = await openSonarSource(kind, source, settings, context);
    return {
      heads: sonar.heads,
      read: (start, end, signal) => sonar.read(start, end, signal),
      close: async () => {
        await sonar.close();
        await source.close();
      },
    };
  } catch (error) {
    await source.close();
    throw error;
  }
}
