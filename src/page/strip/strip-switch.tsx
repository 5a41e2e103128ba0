import { trials } from '../state/trials.js';
import { useStore } from '../state/store.js';

/** What the strip of the Boat stage shows: the log of trials, or the curves of the card; where there are no trials there is nothing to choose. */
export function StripSwitch() {
  const { strip, loaded } = useStore(trials);
  if (loaded === null) return null;
  return (
    <button type="button" onClick={() => trials.update((now) => ({ ...now, strip: strip === 'log' ? 'curves' : 'log' }))}>
      {strip === 'log' ? 'Curves of the boat' : 'Log of trials'}
    </button>
  );
}
