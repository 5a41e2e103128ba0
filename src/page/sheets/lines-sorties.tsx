import { useEffect } from 'react';
import type { SortiePlan } from '../../lines/sortie.js';
import type { SurveySummary } from '../../survey/summary.js';
import { rehearsal, readRehearsal } from '../state/rehearsal.js';
import { screen, survey, type PlanDraft } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { count, fixed, lengthText } from '../words/figures.js';
import { sentence, sortiesTotals, withHalf } from '../words/rehearse.js';
import type { FigureRow } from './parts.js';

/** Sorties as they are to be shown: of the draft while it is dragged, else of the folder. */
export interface SortiesShown {
  readonly plan: SortiePlan | null;
  /** Why there are none. */
  readonly fault: string | null;
  readonly hint: string;
  readonly changed: boolean;
}

/** Null where there is no launch point. */
export function useSorties(plan: PlanDraft | null): SortiesShown | null {
  const summary = useStore(survey, (now) => now.summary);
  const loading = useStore(survey, (now) => now.loading);
  const saved = useStore(rehearsal, (now) => now.sorties);
  const noGround = useStore(rehearsal, (now) => now.fault);
  useEffect(() => void readRehearsal(), [summary, loading]);
  if (summary === null || summary.settings.sortie.launch === null) return null;
  const changed = plan?.changed === true;
  const draft = changed ? (plan.planned?.sorties ?? null) : null;
  return {
    plan: changed ? (draft?.plan ?? null) : saved,
    fault: changed ? (draft?.fault ?? null) : (summary.sorties?.fault?.message ?? null),
    hint: noGround !== null ? sentence(noGround) : changed && plan.planned === null ? '' : 'No sorties yet: save the plan.',
    changed,
  };
}

/** What is wrong with the sorties, and each of them where there are several. */
export function LinesSorties({ shown: { plan, fault, hint, changed } }: { readonly shown: SortiesShown }) {
  const several = (plan?.sorties.length ?? 0) > 1;
  return (
    <section className="sorties" aria-label="Sorties">
      {fault !== null && (
        <p className="note bad" role="alert">
          {sentence(fault)}
        </p>
      )}
      {plan !== null && plan.verdict.go === false && (
        <p className="note bad" role="alert">
          No-go: {plan.verdict.reason}
        </p>
      )}
      {plan?.leftOut.map(({ line, why }, index) => (
        <p key={index} className="note">
          Line {line} is left out: {why}
        </p>
      ))}
      {fault === null && plan === null && hint !== '' && <p className="hint">{hint}</p>}
      {plan !== null && several && <SortieTable plan={plan} />}
      {plan !== null && plan.notes[0] !== undefined && <p className="hint">{sentence(plan.notes[0])}</p>}
      {plan !== null && <p className="leg-key">Solid: lines and turns · dashes: run-in and run-out · dots: transit{several ? ' · numbers: sorties, out and home' : ''}</p>}
      {plan !== null && !changed && (
        <div className="small-actions">
          <button type="button" onClick={() => screen.update((now) => ({ ...now, stage: 'rehearse', tool: 'look' }))}>
            Rehearse {several ? 'them' : 'it'}
          </button>
        </div>
      )}
    </section>
  );
}

/** Sorties, time and energy with their 95 %, for the figures of the plan. */
export function sortieRows(shown: SortiesShown | null, summary: SurveySummary | null): FigureRow[] {
  if (shown === null || summary === null || shown.plan === null || shown.plan.sorties.length === 0) return [];
  return totalRows(shown.plan, summary.settings.sortie.startUtc !== null, summary.settings.sortie.reserveShare);
}

function totalRows(plan: SortiePlan, hasStart: boolean, reserveShare: number): FigureRow[] {
  const totals = sortiesTotals(plan);
  return [
    { label: 'Sorties', value: count(plan.sorties.length), worth: `${lengthText(totals.lengthM)}, ${count(totals.turns)} turns; ${fixed(100 * reserveShare, 0)} % of each battery kept` },
    { label: 'Under way', value: withHalf(totals.timeS, totals.time95S), worth: `95 %; ${hasStart ? 'in the current of the start' : 'in still water: no start is decided'}` },
    { label: 'Energy', value: `${fixed(totals.energyWh, 0)} ± ${fixed(totals.energy95Wh, 0)} Wh`, worth: '95 %, from the boat card' },
  ];
}

function SortieTable({ plan }: { readonly plan: SortiePlan }) {
  return (
    <table className="sortie-list" aria-label="Each sortie">
      <thead>
        <tr>
          <th scope="col">Sortie</th>
          <th scope="col">Lines</th>
          <th scope="col">Time</th>
          <th scope="col">Energy</th>
        </tr>
      </thead>
      <tbody>
        {plan.sorties.map((one) => (
          <tr key={one.number}>
            <th scope="row">{one.number}</th>
            <td>{count(one.lines.length)}</td>
            <td>{withHalf(one.timeS, one.time95S)}</td>
            <td>
              {fixed(one.energyWh, 0)} ± {fixed(one.energy95Wh, 0)} Wh
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
