import type { Decision } from '../../server/api.js';
import { recordRanges } from '../select/record-ranges.js';
import { NO_ROWS, selectRows, type SelectMode } from '../select/rows.js';
import { plural } from '../words/figures.js';
import { buildSoon, reasonsChanged, say, server, shownDecisions, stopBuilds, trouble } from './actions.js';
import { session, survey } from './stores.js';

/** More ranges than this do not fit one decision. */
const RANGES_MAX = 100_000;

/**
 * Sets soundings aside by hand, or restores them: shown at once, written as one line of the journal, undone as one.
 * @param note why, in the user's words; may be empty
 */
export async function decide(kind: 'set-aside' | 'restore', rows: ArrayLike<number>, note = session.get().note.trim()): Promise<void> {
  const { soundings, summary } = survey.get();
  if (soundings === null || summary === null) return;
  const fitting = Int32Array.from(rows).filter((row) => (kind === 'set-aside' ? soundings.reason[row] === 0 : soundings.reason[row] !== 0));
  if (fitting.length === 0) {
    say(kind === 'set-aside' ? 'none of these is a good sounding' : 'none of these is set aside');
    return;
  }
  const ranges = recordRanges(soundings, fitting, summary.logs.map((log) => log.sha256.slice(0, 16)));
  if (ranges.length > RANGES_MAX) {
    trouble(new Error(`${plural(fitting.length, 'sounding')} in ${plural(ranges.length, 'stretch', 'stretches')} are more than one decision can hold; select a part of them at a time`));
    return;
  }
  const shown = shownDecisions.show(soundings, kind, fitting);
  reasonsChanged();
  session.update((now) => ({ ...now, selection: NO_ROWS, note: '' }));
  say(`${plural(fitting.length, 'sounding')} ${kind === 'set-aside' ? 'set aside' : 'restored'}${note === '' ? '' : `: ${note}`}`);
  try {
    await stopBuilds();
    const decision: Decision = { kind, soundings: ranges, ...(note === '' ? {} : { note }) };
    const entry = await server.decide(decision);
    shown.entry = entry.number;
    buildSoon();
  } catch (error) {
    const now = survey.get().soundings;
    if (now !== null) shownDecisions.refuse(now, shown);
    reasonsChanged();
    session.update((state) => ({ ...state, selection: fitting, note }));
    trouble(error);
  }
}

/** Changes the selection by rows just pointed at. */
export function select(rows: ArrayLike<number>, mode: SelectMode): void {
  const n = survey.get().soundings?.n ?? 0;
  session.update((now) => {
    const selection = selectRows(n, now.selection, rows, mode);
    return selection === now.selection ? now : { ...now, selection };
  });
}
