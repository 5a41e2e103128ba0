import type { ByteSource } from '../base/byte-source.js';
import { UseError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import type { SonarReader } from '../base/sonar.js';
import { isSonarKind, type SonarKind } from '../formats/log-kind.js';
import { openSegySonar } from '../formats/segy-read.js';
import type { OpenSonar } from '../formats/sonar-summary.js';
import { openFileSource } from './file-source.js';
import { placeIn } from './folder.js';
import type { Settings } from './settings.js';
import type { LogEntry } from './summary.js';

/** Settings that decide what the pings of a side-scan log are. */
export const SONAR_SETTINGS = ['sonar.channels', 'sonar.millisecondByte', 'sonar.sampleIntervalUs', 'sonar.swapSides'] as const;

/** The settings by which a side-scan log is read, in one value: another value, another reading. */
export function sonarReading({ sonar }: Settings): unknown {
  return [sonar.channels, sonar.millisecondByte, sonar.sampleIntervalUs, sonar.swapSides];
}

/** Opens a side-scan log as the settings say, sides swapped where they say so. @throws FormatError where it is no such log */
export async function openSonarSource(kind: SonarKind, source: ByteSource, settings: Settings, context: WorkContext): Promise<OpenSonar> {
  const { channels, millisecondByte, sampleIntervalUs, swapSides } = settings.sonar;
  if (kind !== 'segy') throw new UseError(`${source.name}: side-scan records of the kind ${kind} cannot be read yet`, { path: source.name });
  const sonar = await openSegySonar(source, { channels, millisecondByte, sampleIntervalUs, context });
  return swapSides ? swapped(sonar) : sonar;
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
