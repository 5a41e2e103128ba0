import { REASONS, type Soundings } from '../../depths/soundings.js';

/**
 * Soundings as CSV with units in the header, in pieces so that a long strip needs no single huge string.
 * @param rowStart, rowEnd half-open range of rows
 */
export function* soundingsCsv(soundings: Soundings, rowStart: number, rowEnd: number): Generator<string> {
  yield 'time_utc,east_m,north_m,depth_m,tvu95_m,thu95_m,water_level_m,measured_m,reason,line,log,record\n';
  const number = (value: number, decimals: number) => (Number.isFinite(value) ? value.toFixed(decimals) : '');
  let piece = '';
  for (let i = rowStart; i < rowEnd; i++) {
    const line = soundings.line[i] as number;
    piece += `${new Date((soundings.timeS[i] as number) * 1000).toISOString()},${number(soundings.xM[i] as number, 3)},${number(soundings.yM[i] as number, 3)},`;
    piece += `${number(soundings.depthM[i] as number, 3)},${number(soundings.tvuM[i] as number, 3)},${number(soundings.thuM[i] as number, 3)},`;
    piece += `${number(soundings.waterLevelM[i] as number, 3)},${number(soundings.measuredM[i] as number, 3)},`;
    piece += `${REASONS[soundings.reason[i] as number]?.name ?? soundings.reason[i]},${line >= 0 ? line : ''},${soundings.log[i]},${soundings.record[i]}\n`;
    if (piece.length > 65_536) {
      yield piece;
      piece = '';
    }
  }
  if (piece !== '') yield piece;
}
