import { memo } from 'react';
import type { Trial } from '../../boat/trial-log.js';
import { restoreTrial, selectTrial, trialHover, trials } from '../state/trials.js';
import { useStore } from '../state/store.js';
import { clock, fixed, plural } from '../words/figures.js';
import { KIND_ORDER, KIND_WORDS, trialFacts, trialLabel } from '../words/trials.js';

/** All trials by kind, linked with chart and strip; those dropped, with a way back. */
export function TrialList({ refused }: { readonly refused: ReadonlySet<string> }) {
  const { shown, selected, lit, loaded, edits } = useStore(trials);
  const back = new Set(edits.filter(({ change }) => change !== 'drop').map(({ trial }) => trial));
  const dropping = edits.filter(({ change, trial }) => change === 'drop' && !back.has(trial)).map(({ trial }) => loaded?.file.trials.find(({ id }) => id === trial)).filter((trial): trial is Trial => trial !== undefined);
  const dropped = [...(loaded?.file.dropped ?? []).filter(({ id }) => !shown.some((trial) => trial.id === id)), ...dropping.filter(({ id }) => !shown.some((trial) => trial.id === id))];
  return (
    <section className="trial-list" aria-label="Trials">
      {KIND_ORDER.map((kind) => {
        const of = shown.filter((trial) => trial.kind === kind);
        if (of.length === 0) return null;
        const { long, many } = KIND_WORDS[kind];
        return (
          <details key={kind} open={kind !== 'straight-leg' || of.some(({ id }) => id === selected)}>
            <summary>
              <KindSign kind={kind} />
              {plural(of.length, long, many)}
            </summary>
            <ul>
              {of.map((trial) => (
                <TrialRow key={trial.id} trial={trial} label={trialLabel(trial, shown)} chosen={trial.id === selected} lit={lit.includes(trial.id)} refused={refused.has(trial.id)} />
              ))}
            </ul>
          </details>
        );
      })}
      {dropped.length > 0 && (
        <details open>
          <summary>{plural(dropped.length, 'trial')} dropped</summary>
          <ul>
            {dropped.map((trial) => (
              <li key={trial.id} className="dropped">
                <span>
                  <b>{KIND_WORDS[trial.kind].long}</b>
                  <small>
                    {clock(trial.startS)} · {fixed(trial.endS - trial.startS, 0)} s
                  </small>
                </span>
                <button type="button" onClick={() => void restoreTrial(trial)}>
                  Restore
                </button>
              </li>
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}

/** One trial of the list; made anew only when it changes itself. */
const TrialRow = memo(function TrialRow({ trial, label, chosen, lit, refused }: { readonly trial: Trial; readonly label: string; readonly chosen: boolean; readonly lit: boolean; readonly refused: boolean }) {
  return (
    <li>
      <button
        type="button"
        className={lit ? 'lit' : ''}
        aria-pressed={chosen}
        onClick={() => selectTrial(chosen ? null : trial.id, 'sheet')}
        onPointerEnter={() => trialHover.set({ id: trial.id, timeS: NaN, from: 'sheet' })}
        onPointerLeave={() => trialHover.set({ id: null, timeS: NaN, from: 'sheet' })}
      >
        <span>
          <b>{label}</b>
          <small>
            {clock(trial.startS)} · {fixed(trial.endS - trial.startS, 0)} s{trial.by === 'hand' ? ' · by hand' : ''}
          </small>
        </span>
        <span>
          {trialFacts(trial)}
          {refused && <em>refused</em>}
        </span>
      </button>
    </li>
  );
});

const SIGN: Readonly<Record<Trial['kind'], React.ReactNode>> = {
  'steady-run': <path d="M2 10h22M18 6l6 4-6 4" strokeWidth="2.2" />,
  'standing-start': (
    <>
      <circle cx="5" cy="10" r="3" />
      <path d="M9 10h15M19 7l5 3-5 3" strokeDasharray="2 2" />
    </>
  ),
  'coast-down': <path d="M2 10h22M24 6v8" strokeDasharray="1.5 4" />,
  'stop-astern': <path d="M2 10h20M20 5v10M24 5v10" strokeDasharray="6 3" />,
  'turning-circle': <path d="M4 17c0-18 18-18 18-7 0 8-9 8-10 2M9 14l3-3 3 3" />,
  spin: <path d="M13 3a7 7 0 1 0 6 3M19 2v5h-5" strokeDasharray="3 2" />,
  'zig-zag': <path d="M2 14l5-8 6 8 6-8 5 8" strokeDasharray="8 3" />,
  'straight-leg': <path d="M3 10h20M3 7v6M23 7v6" strokeDasharray="9 3 2 3" />,
};

/** How a kind of trial is drawn on the chart. */
export function KindSign({ kind }: { readonly kind: Trial['kind'] }) {
  return (
    <svg className="kind-sign" viewBox="0 0 27 20" aria-hidden="true">
      {SIGN[kind]}
    </svg>
  );
}
