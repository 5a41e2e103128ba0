import { REASONS, type Soundings } from '../../depths/soundings.js';
import { clock, fixed } from './figures.js';

/** What a sounding is, in one line: time, depth and its uncertainty, line; and why it is set aside, if it is. */
export function readout(soundings: Soundings, row: number): { readonly text: string; readonly why: string } {
  const depthM = soundings.depthM[row] as number;
  const tvuM = soundings.tvuM[row] as number;
  const line = soundings.line[row] as number;
  const depth = Number.isFinite(depthM) ? `${fixed(depthM, 2)} m${Number.isFinite(tvuM) ? ` ± ${fixed(tvuM, 2)}` : ''}` : 'no depth';
  const text = [clock(soundings.timeS[row] as number), depth, line >= 0 ? `line ${line}` : 'off line'].join(' · ');
  const code = soundings.reason[row] as number;
  return { text, why: code === 0 ? '' : `set aside: ${REASONS[code]?.label ?? `reason ${code}`}` };
}

/** Short words for the reasons, for a caption. */
export function reasonLabel(name: string): string {
  return REASONS.find((reason) => reason.name === name)?.label ?? name;
}
