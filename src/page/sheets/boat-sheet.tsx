import { useEffect, useState } from 'react';
import type { BoatCard, CardFigureName } from '../../boat/boat-card.js';
import { download } from '../download.js';
import { boat, makeCardFile, readCard, setBoat } from '../state/boat.js';
import { screen, session, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { lightTrials, readTrialFiles, showPlots, showTab, trials } from '../state/trials.js';
import { cardCsv, cardLead, figureName, trialsWanted } from '../words/boat.js';
import { plural } from '../words/figures.js';
import { withNames } from '../words/trials.js';
import { BoatAsk } from './boat-ask.js';
import { BoatCardTable } from './boat-card-table.js';
import { CardChanges } from './card-changes.js';
import { NextButton, NumberField, Sheet, UndoRow, WorkState } from './parts.js';
import { PlotView } from './plot-view.js';
import { TrialList } from './trial-list.js';
import { AddTrial, TrialSheet } from './trial-sheet.js';
import { CurrentTable, TurningTable } from './turning-table.js';

/** Boat: the card with the worth of each figure, the trials it comes from, what it answers, and the trials that would make it better. */
export function BoatSheet() {
  const summary = useStore(survey, (now) => now.summary);
  const { card: held, error } = useStore(boat);
  const { card: corrected, loaded, edits, error: trialsError } = useStore(trials);
  const [open, setOpen] = useState<CardFigureName | null>(null);
  useEffect(() => {
    void readCard();
    void readTrialFiles();
  }, [summary]);
  const card = corrected ?? held;
  if (summary === null) {
    return (
      <Sheet title="Boat" lead="Reading the survey…">
        <WorkState />
      </Sheet>
    );
  }
  if (summary.boat === null || card === null) return <NoCard reading={summary.boat !== null && error === null} error={error} />;
  const stale = edits.length > 0 ? undefined : summary.steps.find((step) => step.step === 'boat' && step.state !== 'fresh');
  const faults = loaded?.file.faults ?? [];
  return (
    <Sheet title="Boat" lead={cardLead(card)}>
      <WorkState />
      {[error, trialsError].map(
        (fault) =>
          fault !== null && (
            <p key={fault} className="note bad" role="alert">
              {fault}
            </p>
          ),
      )}
      {faults.map(({ code, text }) => (
        <p key={code} className="note fault-of-log">
          <strong>The log:</strong> {text}.
        </p>
      ))}
      {loaded?.file.notes.map((note) => (
        <p key={note} className="note">
          {note}
        </p>
      ))}
      {stale !== undefined && (
        <div className="note">
          <p>The card is out of date: {stale.because}.</p>
          <button type="button" onClick={() => void makeCardFile()}>
            Make it again
          </button>
        </div>
      )}
      <CardChanges card={card} />
      {loaded === null ? <WithoutTrials card={card} open={open} onOpen={setOpen} /> : <WithTrials card={card} open={open} onOpen={setOpen} />}
      <UndoRow />
      <TrialsWanted card={card} />
      <Refused card={card} />
      <Hull card={card} />
    </Sheet>
  );
}

interface CardPart {
  readonly card: BoatCard;
  readonly open: CardFigureName | null;
  readonly onOpen: (name: CardFigureName | null) => void;
}

function WithoutTrials({ card, open, onOpen }: CardPart) {
  const byDefault = card.figures.topSpeed === null || card.figures.topSpeed.source === 'default';
  return (
    <>
      <BoatAsk card={card} />
      <BoatCardTable card={card} before={null} open={open} onOpen={onOpen} />
      <SaveCard card={card} />
      {byDefault ? (
        <NextButton title="Enter your top speed" detail="the figure that everything else leans on most" onClick={() => onOpen('topSpeed')} />
      ) : (
        <NextButton title="Plan the lines" detail="with the speed this boat can keep" onClick={() => screen.update((now) => ({ ...now, stage: 'lines' }))} />
      )}
    </>
  );
}

const TABS = [
  { tab: 'card', title: 'Card' },
  { tab: 'trials', title: 'Trials' },
  { tab: 'ask', title: 'Ask it' },
] as const;

const CARD_PLOTS = [
  { kind: 'velocity', title: 'Velocity circle' },
  { kind: 'command', title: 'Command to speed' },
  { kind: 'power', title: 'Speed to power' },
] as const;

/** Card, trials and questions share the sheet; what is at hand on the strip brings up its own part. */
function WithTrials({ card, open, onOpen }: CardPart) {
  const { tab, shown, selected, span, before, plots, plotsOf } = useStore(trials);
  const trial = shown.find(({ id }) => id === selected);
  const refused = new Set(shown.filter(({ id, refused: why }) => why !== '' || card.refused.some(({ what }) => what === id)).map(({ id }) => id));
  const openFigure = (name: CardFigureName | null) => {
    onOpen(name);
    lightTrials(name === null ? [] : (card.figures[name]?.trials ?? []));
  };
  return (
    <div className="with-trials">
      <div className="tabs" role="group" aria-label="Parts of the Boat sheet">
        {TABS.map((one) => (
          <button key={one.tab} type="button" aria-pressed={tab === one.tab} onClick={() => showTab(one.tab)}>
            {one.title}
            {one.tab === 'trials' && <small>{shown.length}</small>}
          </button>
        ))}
      </div>
      {tab === 'card' && (
        <>
          <p className="source-key" aria-hidden="true">
            <span className="source source-trials">measured in trials</span>
            <span className="source source-hand">by hand</span>
            <span className="source source-default">usual for the class</span>
          </p>
          <BoatCardTable card={card} before={before} open={open} onOpen={openFigure} />
          <TurningTable card={card} />
          <div className="small-actions" role="group" aria-label="Plots of the card">
            {CARD_PLOTS.map(({ kind, title }) => {
              const on = plotsOf.some((one) => one.kind === kind);
              return (
                <button key={kind} type="button" aria-pressed={on} onClick={() => showPlots(on ? plotsOf.filter((one) => one.kind !== kind) : [...plotsOf.filter((one) => one.kind !== 'trial'), { kind }])}>
                  {title}
                </button>
              );
            })}
          </div>
          {plots.map((plot) => (
            <PlotView key={plot.name} plot={plot} />
          ))}
          <CurrentTable card={card} />
          <SaveCard card={card} />
        </>
      )}
      {tab === 'trials' && (
        <>
          {span !== null && <AddTrial span={span} />}
          {trial !== undefined && <TrialSheet card={card} trial={trial} />}
          <TrialList refused={refused} />
        </>
      )}
      {tab === 'ask' && <BoatAsk card={card} />}
      <NextButton title="Plan the lines" detail="with the speed this boat can keep" onClick={() => screen.update((now) => ({ ...now, stage: 'lines' }))} />
    </div>
  );
}

function SaveCard({ card }: { readonly card: BoatCard }) {
  return (
    <div className="small-actions">
      <button type="button" onClick={() => copyCard(card)}>
        Copy
      </button>
      <button type="button" onClick={() => download(new Blob([cardCsv(card)], { type: 'text/csv' }), 'boat-card.csv')}>
        CSV
      </button>
      <a className="small-link" href="/files/boat/card.json" download="boat-card.json">
        JSON
      </a>
    </div>
  );
}

function Refused({ card }: { readonly card: BoatCard }) {
  const { shown, loaded } = useStore(trials);
  // The faults of the log stand at the top already.
  const refused = card.refused.filter(({ what }) => what !== 'the log' || loaded === null);
  if (refused.length === 0) return null;
  return (
    <details open>
      <summary>{plural(refused.length, 'figure')} refused</summary>
      <dl className="refused">
        {refused.map(({ what, why }, i) => (
          <div key={i}>
            <dt>{withNames(what, shown)}</dt>
            <dd>{withNames(why, shown)}</dd>
          </div>
        ))}
      </dl>
    </details>
  );
}

function Hull({ card }: { readonly card: BoatCard }) {
  const summary = useStore(survey, (now) => now.summary);
  if (summary === null) return null;
  const { boat: settings } = summary.settings;
  const chosen = settings.trialLogs;
  const files = summary.logs.map(({ file }) => file);
  const toggle = (file: string, on: boolean) => {
    const now = chosen === 'auto' ? (summary.boat?.trials?.logs ?? []) : chosen;
    void setBoat('trialLogs', files.filter((one) => (one === file ? on : now.includes(one))));
  };
  return (
    <details>
      <summary>Hull, logs and defaults</summary>
      <div className="fields two">
        <NumberField label="Length" unit="m" value={card.lengthM} min={0.1} max={20} step={0.1} decimals={2} settled onValue={(value) => value !== null && void setBoat('lengthM', value)} />
        <NumberField label="Mass, ready to run" unit="kg" value={card.massKg} min={0.1} max={5000} step={1} decimals={1} settled onValue={(value) => value !== null && void setBoat('massKg', value)} />
      </div>
      <label className="tick">
        <input type="checkbox" checked={settings.defaults} onChange={(event) => void setBoat('defaults', event.target.checked)} />
        Fill what is missing with figures usual for a small twin-thruster boat, marked as defaults
      </label>
      {files.length > 0 && (
        <fieldset className="trial-logs">
          <legend>Logs that hold trials</legend>
          <label className="tick">
            <input type="checkbox" checked={chosen === 'auto'} onChange={(event) => void setBoat('trialLogs', event.target.checked ? 'auto' : [...(summary.boat?.trials?.logs ?? [])])} />
            Those with thruster commands
          </label>
          {chosen !== 'auto' &&
            files.map((file) => (
              <label key={file} className="tick">
                <input type="checkbox" checked={chosen.includes(file)} onChange={(event) => toggle(file, event.target.checked)} />
                {file}
              </label>
            ))}
        </fieldset>
      )}
    </details>
  );
}

function NoCard({ reading, error }: { readonly reading: boolean; readonly error: string | null }) {
  const running = useStore(session, (now) => now.jobs.some((job) => job.state === 'running' || job.state === 'queued'));
  return (
    <Sheet title="Boat" lead={reading ? 'Reading the boat card…' : 'No boat card yet.'}>
      <WorkState />
      {error !== null && (
        <p className="note bad" role="alert">
          {error}
        </p>
      )}
      {!reading && (
        <>
          <p>How long and how far at a speed in a current, how soon it stops: that rests on knowing the boat. Begin with figures usual for a small twin-thruster boat; each is marked as a default until you replace it with one of your own.</p>
          <NextButton title="Begin with defaults" detail="and replace them by what you have measured" disabled={running} onClick={() => void makeCardFile()} />
        </>
      )}
    </Sheet>
  );
}

function TrialsWanted({ card }: { readonly card: BoatCard }) {
  const planPaper = useStore(trials, (now) => now.planPaper);
  const wanted = trialsWanted(card);
  if (wanted.length === 0) return null;
  return (
    <details>
      <summary>{plural(wanted.length, 'trial')} would measure the rest</summary>
      <p>Run these with position and time logged, and heading, thruster commands and battery where the boat has them; take in the log, and the trials are found in it.</p>
      {planPaper && (
        <a className="small-link" href="/files/products/trial-plan.pdf" target="_blank" rel="noreferrer">
          Print the trial plan
        </a>
      )}
      <ol className="trials-wanted">
        {wanted.map(({ trial, figures }) => (
          <li key={trial}>
            {trial}
            <small>gives {figures.map(figureName).join(', ')}</small>
          </li>
        ))}
      </ol>
    </details>
  );
}

function copyCard(card: BoatCard): void {
  navigator.clipboard.writeText(cardCsv(card, '\t')).then(
    () => session.update((now) => ({ ...now, said: 'boat card copied', trouble: null })),
    () => session.update((now) => ({ ...now, trouble: 'this browser does not let the page copy; save the card as CSV instead' })),
  );
}
