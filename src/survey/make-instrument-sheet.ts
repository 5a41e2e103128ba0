import type { WorkContext } from '../base/progress.js';
import { writeAtomic } from './atomic-file.js';
import { placeIn } from './folder.js';
import type { Settings } from './settings.js';

/** The sheet to fill in. */
export const INSTRUMENT_SHEET = 'products/instrument-checks.pdf';

/** Sets the sheet of the instrument checks on paper, with what the settings say now beside each blank. */
export async function makeInstrumentSheet(folder: string, settings: Settings, context: WorkContext): Promise<string> {
  context.progress?.('instrument sheet', 0.3, 'setting it in type');
  const { instrumentSheetPdf } = await import('../report/instrument-sheet.js');
  const pdf = await instrumentSheetPdf({
    name: settings.name,
    place: settings.place,
    draftM: settings.sounder.draftM,
    soundSpeedSetMps: settings.sounder.soundSpeedSetMps,
    latencyS: settings.gnss.latencyS,
    headingOffsetDeg: settings.heading.offsetDeg,
    sigmaM: settings.gnss.sigmaM,
  });
  await writeAtomic(placeIn(folder, INSTRUMENT_SHEET), pdf);
  return INSTRUMENT_SHEET;
}
