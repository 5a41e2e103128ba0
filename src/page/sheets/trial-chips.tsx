import { selectTrial, trialHover, trials } from '../state/trials.js';
import { useStore } from '../state/store.js';
import { trialLabel } from '../words/trials.js';

/** The trials a figure comes from, by name; a press brings one up. */
export function TrialChips({ ids }: { readonly ids: readonly string[] }) {
  const shown = useStore(trials, (now) => now.shown);
  const found = shown.filter(({ id }) => ids.includes(id));
  if (found.length === 0) return ids.length === 0 ? null : <p>From {ids.join(', ')}.</p>;
  return (
    <div className="trial-chips" role="group" aria-label="Trials it comes from">
      {found.map((trial) => (
        <button key={trial.id} type="button" onClick={() => selectTrial(trial.id, 'sheet')} onPointerEnter={() => trialHover.set({ id: trial.id, timeS: NaN, from: 'sheet' })} onPointerLeave={() => trialHover.set({ id: null, timeS: NaN, from: 'sheet' })}>
          {trialLabel(trial, shown)}
        </button>
      ))}
    </div>
  );
}
