import type { InstrumentCheck } from '../../survey/instrument-checks.js';
import type { SurveySummary } from '../../survey/summary.js';

const STATE: Readonly<Record<InstrumentCheck['state'], string>> = { 'not-done': 'not done', unusable: 'cannot be used', refused: 'not used', agrees: 'agrees', differs: 'differs' };

/** How a check stands, in a word or two. */
export function checkState(state: InstrumentCheck['state']): string {
  return STATE[state];
}

const DIGITS: Readonly<Record<string, number>> = { m: 3, 'm/s': 1, deg: 1, s: 2 };
const UNIT: Readonly<Record<string, string>> = { deg: '°' };

type Value = InstrumentCheck['values'][number];

/** `0.250 ± 0.012 m`. */
export function checkValue({ value, half95, unit }: Value): string {
  const digits = DIGITS[unit] ?? 2;
  const worth = half95 !== null && Number.isFinite(half95) ? ` ± ${half95.toFixed(digits)}` : '';
  return `${value.toFixed(digits)}${worth}${unit === 'deg' ? '' : '\u00a0'}${UNIT[unit] ?? unit}`;
}

/** What the settings hold against a value; empty where they hold nothing. */
export function checkSet({ check }: Pick<InstrumentCheck, 'check'>, { name, set, unit }: Value): string {
  if (set === undefined || (check === 'static' && name.startsWith('offset'))) return '';
  return `${name === 'sound speed' ? 'in use' : 'set'}: ${set.toFixed(DIGITS[unit] ?? 2)}${unit === 'deg' ? '' : '\u00a0'}${UNIT[unit] ?? unit}`;
}

const TITLES: readonly (readonly [InstrumentCheck['check'], string])[] = [
  ['bar', 'Bar check'],
  ['static', 'Static check on a known mark'],
  ['heading', 'Heading check'],
  ['latency', 'Latency run'],
];

/** The checks of a survey that has not been built: each with what it waits for. */
export function notThere({ logs, settings }: SurveySummary): readonly InstrumentCheck[] {
  const { bar, marks } = settings.instruments;
  const waits = logs.length === 0 ? 'It is looked at when a log is taken in.' : 'A build looks at it.';
  const words: Readonly<Record<InstrumentCheck['check'], string>> = {
    bar: bar.length > 0 ? `${bar.reduce((sum, { readings }) => sum + readings.length, 0)} readings are taken in. ${waits}` : 'No readings of a plate yet: hang it at three depths or more and write down what the sounder reads.',
    static: marks.length > 0 ? `A stay on a mark is noted. ${waits}` : 'No time on a known mark yet: leave the antenna on one for five minutes or more, and give its position and the time.',
    heading: `From lines run both ways, with a compass in the log. ${waits}`,
    latency: `From a line over a slope, run both ways on one track. ${waits}`,
  };
  return TITLES.map(([check, title]) => ({ check, title, state: 'not-done', words: words[check], values: [], evidence: null, proposals: [], notes: [] }));
}
