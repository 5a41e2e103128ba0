import { useId, useRef, useState, type ReactNode } from 'react';
import type { JobState } from '../../server/api.js';
import { cancel, cancelUpload, entryWords, runningJob, standing, undo } from '../state/actions.js';
import { session, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { LOG_FILES, takeFiles } from '../drop-zone.js';

export function Sheet({ title, lead, children }: { readonly title: string; readonly lead: ReactNode; readonly children: ReactNode }) {
  return (
    <aside className="sheet" aria-label={title}>
      <h2>{title}</h2>
      <p className="lead">{lead}</p>
      {children}
    </aside>
  );
}

/** One figure with its worth: the value, then what qualifies it. */
export interface FigureRow {
  readonly label: string;
  readonly value: ReactNode;
  readonly worth?: ReactNode;
}

export function Figures({ rows, label }: { readonly rows: readonly FigureRow[]; readonly label: string }) {
  return (
    <table className="figures" aria-label={label}>
      <tbody>
        {rows.map((row) => (
          <tr key={row.label}>
            <th scope="row">{row.label}</th>
            <td>
              <strong>{row.value}</strong>
              {row.worth !== undefined && <small>{row.worth}</small>}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** The one thing to do next. */
export function NextButton({ title, detail, onClick, disabled = false }: { readonly title: string; readonly detail: string; readonly onClick: () => void; readonly disabled?: boolean }) {
  return (
    <button type="button" className="next" onClick={onClick} disabled={disabled}>
      <strong>{title}</strong>
      <span>{detail}</span>
    </button>
  );
}

/** A button that opens the file picker. */
export function FileButton({ children, accept, onFiles, className, multiple = true }: { readonly children: ReactNode; readonly accept: string; readonly onFiles: (files: readonly File[]) => void; readonly className?: string; readonly multiple?: boolean }) {
  const input = useRef<HTMLInputElement>(null);
  return (
    <>
      <button type="button" className={className} onClick={() => input.current?.click()}>
        {children}
      </button>
      <input
        ref={input}
        type="file"
        hidden
        multiple={multiple}
        accept={accept}
        onChange={(event) => {
          onFiles([...(event.target.files ?? [])]);
          event.target.value = '';
        }}
      />
    </>
  );
}

export function TakeInButton({ className }: { readonly className?: string }) {
  return (
    <FileButton accept={LOG_FILES} onFiles={takeFiles} {...(className === undefined ? {} : { className })}>
      Take in a log…
    </FileButton>
  );
}

const VERB_WORDS: Readonly<Record<JobState['verb'], string>> = { build: 'Building', lines: 'Planning lines', 'take-in': 'Taking in', 'instrument-sheet': 'Setting the sheet' };

/** Work under way with its progress and a way to stop it, and what went wrong last. */
export function WorkState() {
  const upload = useStore(session, (now) => now.upload);
  const jobs = useStore(session, (now) => now.jobs);
  const trouble = useStore(session, (now) => now.trouble);
  const linkUp = useStore(survey, (now) => now.linkUp);
  const job = runningJob(jobs);
  return (
    <div className="work-state">
      {upload !== null && <Bar title={`Sending ${upload.name}`} detail="" done={upload.done} onStop={cancelUpload} />}
      {upload === null && job !== null && (
        <Bar title={job.state === 'queued' ? `${VERB_WORDS[job.verb]}: waiting` : `${VERB_WORDS[job.verb]}${job.step === '' || job.step === job.verb ? '' : `: ${job.step}`}`} detail={job.detail} done={job.done} onStop={() => void cancel(job)} />
      )}
      {!linkUp && (
        <p className="note bad" role="alert">
          The survey server does not answer. What you see is what was read last; the page tries again by itself.
        </p>
      )}
      {trouble !== null && (
        <div className="note bad" role="alert">
          <p>{trouble}</p>
          <button type="button" onClick={() => session.update((now) => ({ ...now, trouble: null }))}>
            Understood
          </button>
        </div>
      )}
    </div>
  );
}

function Bar({ title, detail, done, onStop }: { readonly title: string; readonly detail: string; readonly done: number | null; readonly onStop: () => void }) {
  const id = useId();
  return (
    <div className="bar">
      <div>
        <strong id={id}>{title}</strong>
        <small>{detail}</small>
        <progress aria-labelledby={id} max={1} {...(done === null ? {} : { value: done })} />
      </div>
      <button type="button" onClick={onStop}>
        Stop
      </button>
    </div>
  );
}

/** Undo and redo, beside what was done. */
export function UndoRow() {
  const journal = useStore(survey, (now) => now.journal);
  const { last, redoable } = standing(journal);
  if (last === null && redoable === null) return null;
  return (
    <div className="undo" role="group" aria-label="Last decision">
      <span>{last === null ? 'Nothing decided' : `Last: ${entryWords(last)}`}</span>
      <button type="button" disabled={last === null} title="Undo (Ctrl+Z)" onClick={() => void undo()}>
        Undo
      </button>
      <button type="button" disabled={redoable === null} title="Redo (Ctrl+Shift+Z)" onClick={() => void undo(true)}>
        Redo
      </button>
    </div>
  );
}

/** A number with its unit, sent on Enter or when it is left; a wrong one says what is allowed. */
export function NumberField({ label, unit, value, min, max, step, decimals, placeholder, allowEmpty = false, settled = false, onValue }: { readonly label: string; readonly unit: string; readonly value: number | null; readonly min: number; readonly max: number; readonly step: number; readonly decimals: number; readonly placeholder?: string; readonly allowEmpty?: boolean; /** Told only on Enter or when the field is left. */ readonly settled?: boolean; readonly onValue: (value: number | null) => void }) {
  const id = useId();
  const shown = value === null ? '' : String(Number(value.toFixed(decimals)));
  const [text, setText] = useState<string | null>(null);
  const [fault, setFault] = useState('');
  const read = (raw: string, settle: boolean) => {
    const trimmed = raw.trim().replace(',', '.');
    if (trimmed === '' && allowEmpty) {
      setFault('');
      onValue(null);
      return;
    }
    const number = Number(trimmed);
    if (trimmed === '' || !Number.isFinite(number) || number < min || number > max) {
      if (settle) setFault(`${min} to ${max} ${unit}`);
      return;
    }
    setFault('');
    if (number !== value) onValue(number);
  };
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      <span>
        <input
          id={id}
          inputMode="decimal"
          type="number"
          step={step}
          min={min}
          max={max}
          placeholder={placeholder}
          value={text ?? shown}
          aria-invalid={fault !== ''}
          aria-describedby={`${id}-fault`}
          onChange={(event) => {
            setText(event.target.value);
            if (!settled) read(event.target.value, false);
          }}
          onBlur={(event) => {
            read(event.target.value, true);
            setText(null);
          }}
          onKeyDown={(event) => {
            if (event.key === 'Enter') read(event.currentTarget.value, true);
          }}
        />
        <i>{unit}</i>
      </span>
      <small id={`${id}-fault`} className="fault">
        {fault === '' ? '' : `expected ${fault}`}
      </small>
    </div>
  );
}
