import { UseError } from '../base/errors.js';
import type { Frame } from '../geo/frame.js';
import { convergenceDeg } from '../geo/bearing.js';
import type { Place } from '../rehearse/rehearsal.js';
import { constantCurrent, type CurrentField } from '../water/current-field.js';
import { velocityFromSet } from '../water/current-vector.js';
import type { WaterLevel } from '../water/level.js';
import type { Settings } from './settings.js';

/** The current of a survey as its settings say; still water where they say none. @throws UseError, FormatError naming file and line */
export async function currentOf(_folder: string, settings: Settings, frame: Frame, near: Place, level: WaterLevel | null): Promise<CurrentField> {
  const { current } = settings.water;
  if (current.kind === 'none') return constantCurrent(0, 0, 0, 'no current is reckoned with');
  const convergence = convergenceDeg(frame, near.xM, near.yM);
  if (current.kind === 'constant') {
    const [xMps, yMps] = velocityFromSet(current.speedMps, current.setDeg, convergence);
    return constantCurrent(xMps, yMps, current.sigmaMps, `${current.speedMps} m/s towards ${current.setDeg} degrees, as set`);
  }
  throw new UseError(`water.current: ${current.file}${level === null ? '' : ''}: files of currents are not read yet`, { path: 'water.current' });
}
