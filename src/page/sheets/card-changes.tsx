import type { BoatCard } from '../../boat/boat-card.js';
import { forgetChanges, trials } from '../state/trials.js';
import { useStore } from '../state/store.js';
import { cardChanges } from '../words/boat.js';
import { plural } from '../words/figures.js';

/** What the last correction of a window changes, figure by figure, while it is dragged and after. */
export function CardChanges({ card }: { readonly card: BoatCard }) {
  const { before, lastEdit, held } = useStore(trials);
  if (before === null) return null;
  const changes = cardChanges(before, card);
  return (
    <section className="changes" aria-label="What changes">
      <h3>
        {lastEdit}: {changes.length === 0 ? 'no figure changes' : `${plural(changes.length, 'figure')} ${held === null ? 'changed' : changes.length === 1 ? 'follows' : 'follow'}`}
      </h3>
      {changes.length > 0 && (
        <table>
          <thead className="unseen">
            <tr>
              <th scope="col">Figure</th>
              <th scope="col">Before</th>
              <th scope="col">Now</th>
            </tr>
          </thead>
          <tbody>
            {changes.map((change) => (
              <tr key={change.key}>
                <th scope="row">{change.label}</th>
                <td>
                  <s>{change.before}</s>
                </td>
                <td>{change.after}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {held === null && (
        <button type="button" onClick={forgetChanges}>
          Understood
        </button>
      )}
    </section>
  );
}
