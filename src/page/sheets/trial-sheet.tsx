import { useEffect, useId, useRef } from 'react';
import type { BoatCard } from '../../boat/boat-card.js';
import type { Trial, TrialKind } from '../../boat/trial-log.js';
import { addTrial, dropTrial, lookCloser, moveTrial, selectTrial, settle, stripWanted, trials } from '../state/trials.js';
import { useStore } from '../state/store.js';
import { figuresOfTrial, worthText } from '../words/boat.js';
import { fixed, percent, speed } from '../words/figures.js';
import { KIND_ORDER, KIND_WORDS, trialName, windowText, withNames } from '../words/trials.js';
import { Figures, type FigureRow } from './parts.js';
import { PlotView } from './plot-view.js';
import { TimeField } from './trial-fields.js';

/** The trial at hand: its window and kind to be corrected, what it gives, its plots. */
export function TrialSheet({ card, trial }: { readonly card: BoatCard; readonly trial: Trial }) {
  const { shown, plots, loaded, held } = useStore(trials);
  const at = shown.findIndex(({ id }) => id === trial.id);
  const name = trialName(trial, shown);
  const log = loaded?.log;
  const [firstS, lastS] = [log?.timeS[0] ?? trial.startS, log?.timeS[log.n - 1] ?? trial.endS];
  const given = figuresOfTrial(card, trial.id);
  const refusals = [...(trial.refused === '' ? [] : [trial.refused]), ...card.refused.filter(({ what }) => what.includes(trial.id)).map(({ what, why }) => (what === trial.id ? why : `${what.replace(`, ${trial.id}`, '')}: ${why}`))];
  const kindId = useId();
  const place = useRef<HTMLElement>(null);
  useEffect(() => {
    place.current?.scrollIntoView({ block: 'start' });
  }, [trial.id]);
  const step = (by: number) => selectTrial(shown[at + by]?.id ?? trial.id, 'sheet');
  return (
    <section className="trial-sheet" aria-label={name} ref={place}>
      <div className="trial-head">
        <h3>{name}</h3>
        <div className="small-actions" role="group" aria-label="Other trials">
          <button type="button" aria-label="Trial before" disabled={at <= 0} onClick={() => step(-1)}>
            ‹
          </button>
          <button type="button" aria-label="Trial after" disabled={at >= shown.length - 1} onClick={() => step(1)}>
            ›
          </button>
          <button type="button" aria-label="Close the trial" onClick={() => selectTrial(null, 'sheet')}>
            ×
          </button>
        </div>
      </div>
      <p className="quiet">{trial.by === 'hand' ? 'Window drawn by hand' : 'Found in the log'}: drag its edges on the strip, or type them.</p>
      <div className="fields two">
        <TimeField key={`${trial.id} start`} label="Start" valueS={trial.startS} lowS={firstS} highS={trial.endS - 1} onValue={(startS) => void settle(moveTrial(trial, { startS }))} />
        <TimeField key={`${trial.id} end`} label="End" valueS={trial.endS} lowS={trial.startS + 1} highS={lastS} onValue={(endS) => void settle(moveTrial(trial, { endS }))} />
      </div>
      <div className="kind-field">
        <label htmlFor={kindId}>Kind</label>
        <select id={kindId} value={trial.kind} onChange={(event) => void settle(moveTrial(trial, { kind: event.target.value as TrialKind }))}>
          {KIND_ORDER.map((kind) => (
            <option key={kind} value={kind}>
              {KIND_WORDS[kind].long}
            </option>
          ))}
        </select>
      </div>
      <Figures label={`What ${name} was`} rows={factRows(trial)} />
      {refusals.map((why) => (
        <p key={why} className="note" role="status">
          Refused: {withNames(why, shown)}
        </p>
      ))}
      {held === null && given.length === 0 && refusals.length === 0 && <p className="hint">No figure of the card rests on it.</p>}
      {plots.map((plot) => (
        <PlotView key={plot.name} plot={plot} />
      ))}
      {given.length > 0 && (
        <table className="list gives">
          <caption>Has a part in</caption>
          <tbody>
            {given.map(({ label, figure }) => (
              <tr key={label}>
                <th scope="row">{label}</th>
                <td>
                  {worthText(figure.value, figure.uncertainty95, figure.unit)}
                  <small>of {figure.trials.length === 1 ? 'this trial' : `${figure.trials.length} trials`}</small>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <div className="small-actions">
        <button type="button" onClick={() => lookCloser(trial)}>
          Look closer
        </button>
        <button type="button" onClick={() => void dropTrial(trial)}>
          Drop this trial
        </button>
      </div>
    </section>
  );
}

function factRows(trial: Trial): FigureRow[] {
  const rows: FigureRow[] = [{ label: 'Lasts', value: `${fixed(trial.endS - trial.startS, 1)} s`, ...(Number.isFinite(trial.commandPct) ? { worth: `mean command ${fixed(trial.commandPct, 0)} %` } : {}) }];
  if (trial.kind !== 'spin') rows.push({ label: 'Over the ground', value: speed(trial.speedMps), worth: [Number.isFinite(trial.courseDeg) ? `course ${fixed(trial.courseDeg, 0)}°` : '', trial.kind === 'steady-run' ? `steadiness ${percent(trial.steadiness, 0)}` : ''].filter((part) => part !== '').join(' · ') });
  return rows;
}

/** A span of the strip that may become a trial. */
export function AddTrial({ span }: { readonly span: { readonly startS: number; readonly endS: number } }) {
  return (
    <section className="trial-sheet" aria-label="Add a trial">
      <h3>Add a trial</h3>
      <p className="quiet">{windowText(span)} UTC. What was it?</p>
      <div className="kind-choice" role="group" aria-label="Kind of trial">
        {KIND_ORDER.map((kind) => (
          <button key={kind} type="button" onClick={() => void addTrial(kind, span)}>
            {KIND_WORDS[kind].long}
          </button>
        ))}
      </div>
      <div className="small-actions">
        <button type="button" onClick={() => stripWanted.set({ ...span, always: true })}>
          Zoom to it
        </button>
        <button type="button" onClick={() => trials.update((now) => ({ ...now, span: null }))}>
          Never mind
        </button>
      </div>
    </section>
  );
}
