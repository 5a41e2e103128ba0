import { UseError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import type { SonarReader } from '../base/sonar.js';
import { isSonarKind, type SonarKind } from '../formats/log-kind.js';
import type { RecordLayout } from '../formats/record-layout.js';
import { openSegySonar } from '../formats/segy-read.js';
import type { OpenSonar } from '../formats/sonar-summary.js';
import { openFileSource, type FileSource } from './file-source.js';
import { placeIn } from './folder.js';
import type { Settings } from './settings.js';
import { navigationBeside } from './sonar-kind.js';
import { layoutFor, sonarLayouts } from './sonar-layouts.js';
import type { LogEntry } from './summary.js';

/** Settings that decide what the pings of a side-scan log are. */
export const SONAR_SETTINGS = ['sonar.channels', 'sonar.millisecondByte', 'sonar.sampleIntervalUs', 'sonar.swapSides', 'sonar.layouts'] as const;

/** The settings by which a side-scan log is read, in one value: another value, another reading. */
export function sonarReading({ sonar }: Settings, layouts: readonly RecordLayout[]): unknown {
  return [sonar.channels, sonar.millisecondByte, sonar.sampleIntervalUs, sonar.swapSides, layouts];
}

/** Opens a side-scan log as the settings say, sides swapped where they say so. @throws FormatError where it is no such log */
export async function openSonarSource(kind: SonarKind, source: FileSource, settings: Settings, layouts: readonly RecordLayout[], context: WorkContext): Promise<OpenSonar> {
  const { channels, millisecondByte, sampleIntervalUs, swapSides } = settings.sonar;
  const sonar = await open();
  return swapSides ? swapped(sonar) : sonar;

  async function open(): Promise<OpenSonar> {
    if (kind === 'segy') return openSegySonar(source, { channels, millisecondByte, sampleIntervalUs, context });
    // The libraries that these kinds need are read only where such a log is.
    if (kind === 'sonar-netcdf') {
      const [{ openSonarNetcdf }, { openHdf5File }] = await Promise.all([import('../formats/sonar-netcdf-read.js'), import('./hdf5-file.js')]);
      return openSonarNetcdf(source, { sampleIntervalUs, open: (filledTo) => openHdf5File(source.path, filledTo), context });
    }
    if (kind === 'sonar-layout') {
      const layout = layoutFor(source.path, layouts);
      if (layout === null) throw new UseError(`${source.name}: there is no layout any more for files of this name; put it back among sonar.layouts`, { path: source.name });
      const { openRecordLayout } = await import('../formats/record-layout-read.js');
      return openRecordLayout(source, layout, { sampleIntervalUs, context });
    }
    const { openImageStrip } = await import('../formats/image-strip.js');
    const navigation = await openFileSource(navigationBeside(source.path));
    try {
      return await openImageStrip(source, navigation, { sampleIntervalUs, context });
    } finally {
      await navigation.close();
    }
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
    const sonar = await openSonarSource(kind, source, settings, await sonarLayouts(folder, settings.sonar.layouts), context);
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
