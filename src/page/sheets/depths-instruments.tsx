import { useId, useState } from 'react';
import type { InstrumentCheck } from '../../survey/instrument-checks.js';
import type { SurveySummary } from '../../survey/summary.js';
import { instrumentPlot } from '../plots/instrument-plots.js';
import { runningJob } from '../state/actions.js';
import { addStay, applyCheck, makeSheet, refuseCheck, takeBar } from '../state/instruments.js';
import { typedPlace, typedUtc } from '../state/instruments-typed.js';
import { session } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { checkSet, checkState, checkValue, notThere } from '../words/instruments.js';
import { staleSteps } from '../words/stages.js';
import { Choice } from './choice.js';
import { FileButton, NumberField, UndoRow } from './parts.js';
import { PlotView } from './plot-view.js';

const SHEET = 'products/instrument-checks.pdf';

/** Checks of the instruments: what each found against the settings, and whether the survey goes by it. */
export function DepthsInstruments({ summary }: { readonly summary: SurveySummary }) {
  const checks = summary.instruments ?? notThere(summary);
  const stale = summary.logs.length > 0 && staleSteps(summary).includes('instruments');
  return (
    <>
      <p className="hint">Draft, sound speed, latency, heading and positions, each measured on the day and held against the settings. What a check found is used when you say so.</p>
      {stale && <p className="note">The checks are older than the settings or the logs; a build looks at them again.</p>}
      {checks.map((check) => (
        <CheckPart key={check.check} check={check} />
      ))}
      <TakeBar />
      <AddStay />
      <SheetToPrint summary={summary} />
      <UndoRow />
    </>
  );
}

function CheckPart({ check }: { readonly check: InstrumentCheck }) {
  const plot = instrumentPlot(check);
  const [chosen, setChosen] = useState<boolean | null>(null);
  const open = chosen ?? (check.state === 'differs' || check.state === 'unusable');
  const done = check.state !== 'not-done';
  return (
    <section className={`instrument ${check.state}`} aria-label={check.title}>
      <h3>
        {check.title} <span className={`check-verdict ${check.state}`}>{checkState(check.state)}</span>
      </h3>
      {check.values.length > 0 && (
        <table className="figures" aria-label={`${check.title}: values`}>
          <tbody>
            {check.values.map((value) => (
              <tr key={value.name}>
                <th scope="row">{value.name}</th>
                <td>
                  <strong>{checkValue(value)}</strong>
                  {checkSet(check, value) !== '' && <small>{checkSet(check, value)}</small>}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <p>{check.words}</p>
      {check.notes.map((note) => (
        <p className="note" key={note}>
          {note}
        </p>
      ))}
      {check.state === 'differs' && <Decide check={check} />}
      {plot !== null && (
        <details open={open} onToggle={(event) => event.currentTarget.open !== open && setChosen(event.currentTarget.open)}>
          <summary>What it rests on</summary>
          {open && <PlotView plot={plot} />}
        </details>
      )}
      {check.state === 'refused' && (
        <div className="small-actions">
          <button type="button" onClick={() => void refuseCheck(check, null)}>
            Look at it again
          </button>
        </div>
      )}
      {done && (check.state === 'agrees' || check.state === 'unusable') && <Refuse check={check} />}
    </section>
  );
}

function Decide({ check }: { readonly check: InstrumentCheck }) {
  return (
    <>
      <ul className="proposals" aria-label={`What ${check.title} would set`}>
        {check.proposals.map(({ path, words }) => (
          <li key={path}>{words}</li>
        ))}
      </ul>
      <div className="small-actions">
        <button type="button" className="main" onClick={() => void applyCheck(check)}>
          Apply
        </button>
      </div>
      <Refuse check={check} />
    </>
  );
}

/** A refusal wants a reason. */
function Refuse({ check }: { readonly check: InstrumentCheck }) {
  const id = useId();
  const [because, setBecause] = useState('');
  const reason = because.trim();
  const send = () => {
    if (reason !== '') void refuseCheck(check, reason).then((done) => done && setBecause(''));
  };
  return (
    <details>
      <summary>Do not use it…</summary>
      <div className="reason-row">
        <label htmlFor={id}>Why not</label>
        <input id={id} type="text" maxLength={400} value={because} placeholder="the plate swung in the current" onChange={(event) => setBecause(event.target.value)} onKeyDown={(event) => event.key === 'Enter' && send()} />
        <button type="button" disabled={reason === ''} onClick={send}>
          Refuse
        </button>
      </div>
    </details>
  );
}

function TakeBar() {
  const [from, setFrom] = useState<'transducer' | 'surface'>('transducer');
  const [sigmaM, setSigmaM] = useState(0.02);
  return (
    <details>
      <summary>Readings of a bar check…</summary>
      <p className="hint">A CSV with the columns timeUtc, barM (plate below the water) and readM (what the sounder read).</p>
      <Choice label="Readings count from" value={from} options={[['transducer', 'transducer'], ['surface', 'surface']]} onValue={setFrom} />
      <NumberField label="Plate's depth, one sigma" unit="m" value={sigmaM} min={0.001} max={1} step={0.01} decimals={3} onValue={(value) => value !== null && setSigmaM(value)} />
      <div className="small-actions">
        <FileButton accept=".csv,.txt,text/csv,text/plain" multiple={false} onFiles={([file]) => file !== undefined && void takeBar(file, from, sigmaM)}>
          Take in the readings…
        </FileButton>
      </div>
    </details>
  );
}

function AddStay() {
  const id = useId();
  const [place, setPlace] = useState('');
  const [start, setStart] = useState('');
  const [end, setEnd] = useState('');
  const at = typedPlace(place);
  const [startUtc, endUtc] = [typedUtc(start), typedUtc(end)];
  const faults = [
    place !== '' && at === null ? 'the mark: expected latitude and longitude in degrees, for example 46.01, -30.02' : '',
    start !== '' && startUtc === null ? 'from: expected a UTC time, for example 2026-06-17 08:00' : '',
    end !== '' && endUtc === null ? 'to: expected a UTC time, for example 2026-06-17 08:10' : '',
    startUtc !== null && endUtc !== null && endUtc <= startUtc ? 'expected the end after the beginning' : '',
  ].filter((fault) => fault !== '');
  const whole = at !== null && startUtc !== null && endUtc !== null && faults.length === 0;
  const field = (label: string, value: string, placeholder: string, change: (text: string) => void) => (
    <div className="field">
      <label htmlFor={`${id}-${label}`}>{label}</label>
      <input id={`${id}-${label}`} type="text" value={value} placeholder={placeholder} aria-describedby={`${id}-fault`} onChange={(event) => change(event.target.value)} />
    </div>
  );
  return (
    <details>
      <summary>Time on a known mark…</summary>
      <div className="stay-fields">
        {field('Mark, latitude and longitude', place, '46.01, -30.02', setPlace)}
        {field('From, UTC', start, '2026-06-17 08:00', setStart)}
        {field('To, UTC', end, '2026-06-17 08:10', setEnd)}
      </div>
      <small id={`${id}-fault`} className="fault" role="status">
        {faults.join('; ')}
      </small>
      <div className="small-actions">
        <button type="button" disabled={!whole} onClick={() => whole && void addStay(at, startUtc, endUtc)}>
          Note it
        </button>
      </div>
    </details>
  );
}

function SheetToPrint({ summary }: { readonly summary: SurveySummary }) {
  const setting = useStore(session, (now) => runningJob(now.jobs)?.verb === 'instrument-sheet');
  const there = summary.products.some(({ path }) => path === SHEET);
  return (
    <section aria-label="Sheet to fill in">
      <div className="small-actions">
        <button type="button" disabled={setting} onClick={() => void makeSheet()}>
          {there ? 'Set the sheet anew' : 'Sheet to fill in on the day'}
        </button>
        {there && (
          <a className="button" href={`/files/${SHEET}`} target="_blank" rel="noreferrer">
            Open the sheet
          </a>
        )}
      </div>
    </section>
  );
}
