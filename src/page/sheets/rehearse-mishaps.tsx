import { OUTCOMES, type LostLinkBehaviour, type Mishap, type MomentOutcomes, type Outcome } from '../../rehearse/rehearsal.js';
import { TURN_BACK_WORDS } from '../../rehearse/moment-words.js';
import { rehearsal } from '../state/rehearsal.js';
import { useStore } from '../state/store.js';
import { clock, plural } from '../words/figures.js';
import { badMoments, MISHAP_WORDS, OUTCOME_WORDS, sentence } from '../words/rehearse.js';
import type { ShownRehearsal } from '../work/rehearse-messages.js';

/** What would come of each mishap: behaviours on a lost link from best to worst, then one thruster and a weak battery; the one chosen is drawn along the track. */
export function RehearseMishaps({ shown, saved }: { readonly shown: ShownRehearsal; readonly saved: ShownRehearsal | null }) {
  const mishap = useStore(rehearsal, (now) => now.mishap);
  const selected = useStore(rehearsal, (now) => now.selected);
  const worked = shown.sorties.some(({ moments }) => moments !== null);
  if (!worked) return saved === null ? null : <p className="hint">What comes of mishaps is worked out when the start is let go.</p>;
  const all = shown.sorties.filter(({ number, moments }) => moments !== null && (selected === null || selected === number)).map(({ moments }) => moments as MomentOutcomes);
  const total = all.reduce((sum, moments) => sum + moments.n, 0);
  const rows = (names: readonly Mishap[]) =>
    names.map((name) => {
      const each = all.map((moments) => badMoments(moments, name));
      const counts = OUTCOMES.map((_, k) => each.reduce((sum, one) => sum + (one.counts[k] as number), 0));
      const bad = counts.slice(2).reduce((sum, n) => sum + n, 0);
      const worst = OUTCOMES[Math.max(0, ...counts.flatMap((n, k) => (n > 0 ? [k] : [])))] as Outcome;
      return { name, bad, worst, counts, severe: counts.reduce((sum, n, k) => sum + n * k, 0) };
    });
  const link = rows(['carry-on', 'hold', 'straight-home', 'back-along-track', 'safe-lane']).sort((a, b) => a.bad - b.bad || a.severe - b.severe);
  const others = rows(['one-thruster', 'battery-less']);
  const back = all.map((moments) => moments.turnBack).find((each) => each !== null && Number.isFinite(each.timeS));
  const notes = [...new Set(all.flatMap((moments) => moments.notes))];
  const show = (name: Mishap) => rehearsal.update((now) => ({ ...now, mishap: now.mishap === name ? null : name }));
  const row = ({ name, bad, worst, counts }: ReturnType<typeof rows>[number]) => (
    <tr key={name} className={mishap === name ? 'chosen' : undefined}>
      <th scope="row">
        <button type="button" aria-pressed={mishap === name} onClick={() => show(name)}>
          {MISHAP_WORDS[name]}
          {name === (shown.lostLink as LostLinkBehaviour) && <small>as set</small>}
        </button>
      </th>
      <td className={bad > 0 ? 'bad' : undefined}>{bad === 0 ? 'none' : `${bad} of ${total}`}</td>
      <td title={counts.map((n, k) => (n > 0 ? `${n} ${OUTCOME_WORDS[OUTCOMES[k] as Outcome]}` : '')).filter(Boolean).join(', ')}>
        <i className={`outcome ${worst}`} aria-hidden="true" />
        {OUTCOME_WORDS[worst]}
      </td>
    </tr>
  );
  return (
    <section className="mishaps" aria-label="If something goes wrong">
      <h3>If something goes wrong</h3>
      <p className="hint">Choose one to see what comes of it at every ten seconds along the track.</p>
      <table className="mishap-list" aria-label="Mishaps, behaviours on a lost link from best to worst">
        <thead>
          <tr>
            <th scope="col">What</th>
            <th scope="col">Ends badly</th>
            <th scope="col">At worst</th>
          </tr>
        </thead>
        <tbody>
          {link.map(row)}
          {others.map(row)}
        </tbody>
      </table>
      <ul className="outcome-key" aria-label="Symbols">
        {OUTCOMES.map((outcome) => (
          <li key={outcome}>
            <i className={`outcome ${outcome}`} aria-hidden="true" /> {OUTCOME_WORDS[outcome]}
          </li>
        ))}
      </ul>
      {back != null && <p className="hint">Turned for home by {clock(back.timeS, false)} UTC it gets there with its reserve, whatever it has done by then; what sets it: {TURN_BACK_WORDS[back.limit]}.</p>}
      {notes.length > 0 && (
        <details>
          <summary>{plural(notes.length, 'note')} on this</summary>
          {notes.map((note) => (
            <p className="hint" key={note}>
              {sentence(note)}
            </p>
          ))}
        </details>
      )}
    </section>
  );
}
