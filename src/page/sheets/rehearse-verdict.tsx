import { verdictWord } from '../../rehearse/moment-words.js';
import { rehearsal } from '../state/rehearsal.js';
import { useStore } from '../state/store.js';
import { clock, fixed, percent } from '../words/figures.js';
import { batteryOf, sentence, withHalf } from '../words/rehearse.js';
import type { ShownRehearsal } from '../work/rehearse-messages.js';

/** Go or no-go, large, with the limiting reason; then each sortie. */
export function RehearseVerdict({ shown }: { readonly shown: ShownRehearsal }) {
  const selected = useStore(rehearsal, (now) => now.selected);
  const stopped = shown.sorties.find(({ verdict }) => !verdict.go);
  const nearest = [...shown.sorties].sort((a, b) => a.verdict.chanceHome - b.verdict.chanceHome)[0];
  // Sorties may all be a go while the plan is none: lines are left out of it.
  const plan = useStore(rehearsal, (now) => now.sorties?.verdict ?? null);
  const planStops = plan !== null && !plan.go;
  const go = stopped === undefined && !planStops;
  const word = verdictWord(shown.sorties.map(({ verdict }) => verdict));
  const reason = (stopped ?? shown.sorties.find(({ verdict }) => verdict.concerns[0]?.weight === 'condition') ?? nearest)?.verdict.reason ?? 'there are no sorties';
  return (
    <section className={go ? 'verdict go' : 'verdict no-go'} aria-label="Verdict">
      <p className="verdict-word" role="status">
        {go ? 'GO' : 'NO-GO'}
        {go && word === 'GO WITH CONDITIONS' && <small className="conditions">with conditions</small>}
        {shown.from !== 'saved' && <small>quick, not saved</small>}
      </p>
      {planStops && <p className="verdict-reason">{sentence(`the plan: ${plan.reason}`)}</p>}
      <p className="verdict-reason">{sentence(stopped !== undefined && shown.sorties.length > 1 ? `sortie ${stopped.number}: ${reason}` : reason)}</p>
      <table className="sortie-list" aria-label="Sorties">
        <thead>
          <tr>
            <th scope="col">Sortie</th>
            <th scope="col">UTC</th>
            <th scope="col">Time</th>
            <th scope="col">Energy</th>
          </tr>
        </thead>
        <tbody>
          {shown.sorties.map((one) => {
            const { verdict, totals } = one;
            const chosen = selected === one.number && shown.sorties.length > 1;
            return (
              <tr key={one.number} className={chosen ? 'chosen' : undefined}>
                <th scope="row">
                  <button type="button" aria-pressed={chosen} aria-label={`Sortie ${one.number}, ${verdict.go ? 'go' : 'no-go'}: show it alone`} onClick={() => rehearsal.update((now) => ({ ...now, selected: now.selected === one.number ? null : one.number }))}>
                    {one.number} <b className={verdict.go ? 'is-go' : 'is-no-go'}>{!verdict.go ? 'no-go' : verdict.concerns[0]?.weight === 'condition' ? 'go, if' : 'go'}</b>
                  </button>
                </th>
                <td>
                  {clock(totals.startS, false)}–{clock(totals.endS, false)}
                </td>
                <td>{withHalf(totals.timeS, totals.time95S)}</td>
                <td>
                  {fixed(totals.energyWh, 0)} ± {fixed(totals.energy95Wh, 0)} Wh
                  <small>
                    of {fixed(batteryOf(one).holdsWh, 0)}; home with {percent(verdict.chanceHome)}
                  </small>
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </section>
  );
}
