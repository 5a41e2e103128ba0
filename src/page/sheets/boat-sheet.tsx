import { useEffect, useState } from 'react';
import { download } from '../download.js';
import { boat, makeCardFile, readCard, setBoat } from '../state/boat.js';
import { screen, session, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import type { BoatCard } from '../../boat/boat-card.js';
import { cardCsv, cardLead, figureName, trialsWanted } from '../words/boat.js';
import { plural } from '../words/figures.js';
import { BoatAsk } from './boat-ask.js';
import { BoatCardTable } from './boat-card-table.js';
import { NextButton, NumberField, Sheet, UndoRow, WorkState } from './parts.js';

/** Boat: the card with the worth of each figure, what it answers, and the trials that would make it better. */
export function BoatSheet() {
  const summary = useStore(survey, (now) => now.summary);
  const { card, error } = useStore(boat);
  const [open, setOpen] = useState<string | null>(null);
  useEffect(() => void readCard(), [summary]);
  if (summary === null) {
    return (
      <Sheet title="Boat" lead="Reading the survey…">
        <WorkState />
      </Sheet>
    );
  }
  if (summary.boat === null || card === null) return <NoCard reading={summary.boat !== null && error === null} error={error} />;
  const stale = summary.steps.find((step) => step.step === 'boat' && step.state !== 'fresh');
  const byDefault = card.figures.topSpeed === null || card.figures.topSpeed.source === 'default';
  return (
    <Sheet title="Boat" lead={cardLead(card)}>
      <WorkState />
      {error !== null && (
        <p className="note bad" role="alert">
          {error}
        </p>
      )}
      {stale !== undefined && (
        <div className="note">
          <p>The card is out of date: {stale.because}.</p>
          <button type="button" onClick={() => void makeCardFile()}>
            Make it again
          </button>
        </div>
      )}
      <BoatAsk card={card} />
      <BoatCardTable card={card} open={open} onOpen={setOpen} />
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
      {byDefault ? (
        <NextButton title="Enter your top speed" detail="the figure that everything else leans on most" onClick={() => setOpen('topSpeed')} />
      ) : (
        <NextButton title="Plan the lines" detail="with the speed this boat can keep" onClick={() => screen.update((now) => ({ ...now, stage: 'lines' }))} />
      )}
      <UndoRow />
      <TrialsWanted card={card} />
      {card.refused.length > 0 && (
        <details open>
          <summary>{plural(card.refused.length, 'figure')} refused</summary>
          <dl className="refused">
            {card.refused.map(({ what, why }, i) => (
              <div key={i}>
                <dt>{what}</dt>
                <dd>{why}</dd>
              </div>
            ))}
          </dl>
        </details>
      )}
      <details>
        <summary>Hull and defaults</summary>
        <div className="fields two">
          <NumberField label="Length" unit="m" value={card.lengthM} min={0.1} max={20} step={0.1} decimals={2} settled onValue={(value) => value !== null && void setBoat('lengthM', value)} />
          <NumberField label="Mass, ready to run" unit="kg" value={card.massKg} min={0.1} max={5000} step={1} decimals={1} settled onValue={(value) => value !== null && void setBoat('massKg', value)} />
        </div>
        <label className="tick">
          <input type="checkbox" checked={summary.settings.boat.defaults} onChange={(event) => void setBoat('defaults', event.target.checked)} />
          Fill what is missing with figures usual for a small twin-thruster boat, marked as defaults
        </label>
      </details>
    </Sheet>
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
  const wanted = trialsWanted(card);
  if (wanted.length === 0) return null;
  return (
    <details>
      <summary>{plural(wanted.length, 'trial')} would measure the rest</summary>
      <p>Logs of trials are not read here yet: run these, work the figures out, and enter them by hand in the card above.</p>
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
