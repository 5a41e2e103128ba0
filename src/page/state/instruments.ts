import { isExpectedError } from '../../base/errors.js';
import { parseUtc } from '../../base/time.js';
import { barChecksOf, withBarChecks, type HeldBarCheck } from '../../depths/bar-readings.js';
import { readBarCsv } from '../../formats/bar-csv.js';
import type { CheckName, InstrumentCheck } from '../../survey/instrument-checks.js';
import { plural } from '../words/figures.js';
import { buildSoon, refresh, say, server, trouble } from './actions.js';
import { survey } from './stores.js';

/** Changes a setting, says what was done, and builds where there is something to build. */
export async function settle(change: () => Promise<void>, said: string): Promise<boolean> {
  try {
    await change();
    await refresh();
    say(said);
    // Without a log there is nothing to build.
    if ((survey.get().summary?.logs.length ?? 0) > 0) buildSoon();
    return true;
  } catch (error) {
    trouble(error);
    return false;
  }
}

/** One setting as a decision that is told in words, not as its value. */
function decide(path: string, value: unknown, what: string): Promise<boolean> {
  // What the journal holds of it is cut, the reason itself is not.
  return settle(() => server.setTogether([{ path, value }], what.slice(0, 200)), what);
}

/** Goes by what a check found: one decision, whatever it sets. */
export function applyCheck({ title, proposals }: InstrumentCheck): Promise<boolean> {
  return settle(() => server.setTogether(proposals.map(({ path, value }) => ({ path, value })), `${title} applied`), `${title}: applied; the survey is built by it`);
}

/** Does not go by it, and says why; null takes the refusal back. */
export function refuseCheck({ check, title }: InstrumentCheck, because: string | null): Promise<boolean> {
  const held = survey.get().summary?.settings.instruments.refused ?? {};
  const others = Object.fromEntries(Object.entries(held).filter(([name]) => name !== check)) as Partial<Record<CheckName, string>>;
  return decide('instruments.refused', because === null ? others : { ...others, [check]: because }, because === null ? `${title}: looked at again` : `${title}: not used: ${because}`);
}

/** Takes in the readings of a bar check from a CSV file. */
export async function takeBar(file: File, from: HeldBarCheck['from'], sigmaM: number): Promise<boolean> {
  const held = survey.get().summary?.settings.instruments.bar ?? [];
  try {
    const rows = readBarCsv(file.name, await file.text());
    return await decide('instruments.bar', withBarChecks(held, barChecksOf(rows, from, sigmaM)), `bar check: ${plural(rows.length, 'reading')} taken in from ${file.name}`);
  } catch (error) {
    trouble(isExpectedError(error) ? error : new Error(`${file.name} cannot be read: expected a CSV with the columns barM and readM`));
    return false;
  }
}

/** Notes that the antenna stood on a known mark; a stay given again, by its beginning, takes the place of the earlier one. */
export function addStay(place: { readonly latDeg: number; readonly lonDeg: number }, startUtc: string, endUtc: string): Promise<boolean> {
  const held = survey.get().summary?.settings.instruments.marks ?? [];
  const marks = [...held.filter((one) => one.startUtc !== startUtc), { ...place, sigmaM: 0.02, startUtc, endUtc }].sort((a, b) => parseUtc(a.startUtc) - parseUtc(b.startUtc));
  return decide('instruments.marks', marks, `stay on a known mark from ${startUtc}`);
}

/** Sets the sheet to fill in on paper; it is among the products when the job has ended. */
export async function makeSheet(): Promise<void> {
  try {
    await server.startJob('instrument-sheet');
  } catch (error) {
    trouble(error);
  }
}
