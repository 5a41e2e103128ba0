import type { InstrumentCheck } from '../survey/instrument-checks.js';
import type { Block } from './document.js';
import { heading, paragraph, table, words } from './document.js';
import type { ReportInput } from './report-input.js';

const STATE: Readonly<Record<InstrumentCheck['state'], string>> = {
  'not-done': 'not done',
  unusable: 'done, cannot be used',
  refused: 'done, not used',
  agrees: 'agrees with what was used',
  differs: 'DIFFERS from what was used',
};

/** Checks of the instruments before and after the day: what was found, and whether the survey goes by it. */
export function instrumentBlocks({ summary }: ReportInput): Block[] {
  const checks = summary.instruments ?? [];
  if (checks.length === 0) return [];
  const done = checks.filter(({ state }) => state !== 'not-done');
  return [
    heading(2, 'Instrument checks'),
    ...(done.length === 0 ? [paragraph('No instrument was checked: draft, sound speed, latency, heading and positions are as entered, without a measurement behind them in this folder.')] : []),
    ...(done.length === 0 ? [] : [table('Checks of the instruments; uncertainties 95 %', [words('Check', 1), words('Outcome', 2), words('What was found', 6)], checks.map(({ title, state, words: text, notes }) => [title, STATE[state], [text, ...notes].join(' ')]), '')]),
  ];
}
