import { NO_ROWS } from '../select/rows.js';
import { decide } from '../state/decide-soundings.js';
import { screen, session, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { count, plural } from '../words/figures.js';
import { SELECT_TOOLS } from './chart-tool.js';

const HOW: Readonly<Record<string, string>> = {
  select: 'Drag a box in any view; Shift adds, Alt takes out',
  brush: 'Paint over soundings in any view; Alt takes out',
  line: 'Click a sounding: its whole line is selected; Shift adds',
};

/** What is selected, why, and what can be done with it. */
export function SelectionBar() {
  const selection = useStore(session, (now) => now.selection);
  const note = useStore(session, (now) => now.note);
  const soundings = useStore(survey, (now) => now.soundings);
  useStore(survey, (now) => now.reasonVersion);
  const tool = useStore(screen, (now) => now.tool);
  if (soundings === null || (selection.length === 0 && !SELECT_TOOLS.has(tool))) return null;
  let good = 0;
  for (let k = 0; k < selection.length; k++) if (soundings.reason[selection[k] as number] === 0) good++;
  const aside = selection.length - good;
  return (
    <div className="selection-bar" role="group" aria-label="Selected soundings">
      {selection.length === 0 ? (
        <span>{HOW[tool]}</span>
      ) : (
        <>
          <span>
            {plural(selection.length, 'sounding')}
            {aside > 0 && good > 0 ? `, ${count(aside)} set aside` : ''}
          </span>
          <input
            type="text"
            aria-label="Why"
            placeholder="why (may be left empty)"
            maxLength={200}
            value={note}
            onChange={(event) => session.update((now) => ({ ...now, note: event.target.value }))}
            onKeyDown={(event) => {
              if (event.key === 'Enter') void decide(good > 0 ? 'set-aside' : 'restore', selection);
            }}
          />
          {good > 0 && (
            <button type="button" className="main" title="Set aside (Delete)" onClick={() => void decide('set-aside', selection)}>
              Set aside
            </button>
          )}
          {aside > 0 && (
            <button type="button" className={good > 0 ? '' : 'main'} onClick={() => void decide('restore', selection)}>
              Restore
            </button>
          )}
          <button type="button" title="Clear (Esc)" onClick={() => session.update((now) => ({ ...now, selection: NO_ROWS }))}>
            Clear
          </button>
        </>
      )}
    </div>
  );
}
