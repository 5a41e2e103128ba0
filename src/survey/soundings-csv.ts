import type { ByteSink } from '../base/byte-source.js';
import { formatUtc } from '../base/time.js';
import { REASONS } from '../depths/soundings.js';
import type { PlacedSoundings } from './soundings-file.js';

/** Header of products/soundings.csv; docs/formats.md gives the units. */
export const SOUNDINGS_CSV_HEADER = 'timeUtc,latDeg,lonDeg,depthM,tvuM,thuM,flag,reason,line,log,record';

/** Few enough that a piece of text is gone before the memory is swept. */
const ROWS_A_PIECE = 1000;

function fixed(value: number, decimals: number): string {
  return Number.isNaN(value) ? '' : value.toFixed(decimals);
}

/**
 * Writes soundings as CSV: one row a sounding, those set aside with their reason; an empty field is no value.
 * Latitude and longitude to 1e-8 degree (1 mm), depths to the millimetre.
 */
export async function writeSoundingsCsv(sink: ByteSink, soundings: PlacedSoundings, logNames: readonly string[]): Promise<void> {
  const encoder = new TextEncoder();
  const names = REASONS.map((reason) => reason.name);
  const quoted = logNames.map((name) => (/[",\r\n]/.test(name) ? `"${name.replaceAll('"', '""')}"` : name));
  await sink.write(encoder.encode(`${SOUNDINGS_CSV_HEADER}\r\n`));
  for (let rowStart = 0; rowStart < soundings.n; rowStart += ROWS_A_PIECE) {
    const rowEnd = Math.min(soundings.n, rowStart + ROWS_A_PIECE);
    let text = '';
    for (let i = rowStart; i < rowEnd; i++) {
      const reason = soundings.reason[i] as number;
      const line = soundings.line[i] as number;
      text +=
        `${formatUtc(soundings.timeS[i] as number, 3)},${fixed(soundings.latDeg[i] as number, 8)},${fixed(soundings.lonDeg[i] as number, 8)},` +
        `${fixed(soundings.depthM[i] as number, 3)},${fixed(soundings.tvuM[i] as number, 3)},${fixed(soundings.thuM[i] as number, 3)},` +
        `${reason === 0 ? 'good' : 'set-aside'},${reason === 0 ? '' : names[reason]},${line < 0 ? '' : line},` +
        `${quoted[soundings.log[i] as number] ?? ''},${soundings.record[i] as number}\r\n`;
    }
    await sink.write(encoder.encode(text));
  }
}
