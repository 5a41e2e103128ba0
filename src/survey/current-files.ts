import { currentOfSetting, readCurrentFile, type CurrentSpan } from '../formats/current-file.js';
import { convergenceDeg } from '../geo/bearing.js';
import type { Frame } from '../geo/frame.js';
import type { Place } from '../rehearse/rehearsal.js';
import type { CurrentField } from '../water/current-field.js';
import type { WaterLevel } from '../water/level.js';
import type { Settings } from './settings.js';
import { withSurveyFile } from './water-files.js';

/**
 * The current of a survey as its settings say; still water where they say none.
 * @param level the survey's tide, for a stream table without high waters of its own
 * @throws UseError, FormatError naming file and line
 */
export async function currentOf(folder: string, settings: Settings, frame: Frame, near: Place, level: WaterLevel | null, span: CurrentSpan): Promise<CurrentField> {
  const { current } = settings.water;
  const file = current.kind === 'file' ? await withSurveyFile(folder, current.file, 'water.current.file', readCurrentFile) : null;
  return currentOfSetting(current, file, { convergenceDeg: convergenceDeg(frame, near.xM, near.yM), epsg: frame.epsg, level, span });
}
