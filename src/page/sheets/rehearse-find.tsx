import { useId, useState } from 'react';
import type { StartWindow } from '../../rehearse/start-search.js';
import type { SurveySummary } from '../../survey/summary.js';
import { findStart, holdStart, rehearsal, stopFinding } from '../state/rehearsal.js';
import { useStore } from '../state/store.js';
import { clock, date } from '../words/figures.js';
import { sentence } from '../words/rehearse.js';
import { TimeField } from './time-field.js';
import type { FoundStarts } from '../work/rehearse-messages.js';

const DAY_S = 86_400;

/** Looks for a good start in a span of days, and shows when it would be a go and why not otherwise. */
export function RehearseFind({ summary, startS }: { readonly summary: SurveySummary; readonly startS: number | null }) {
  const finding = useStore(rehearsal, (now) => now.finding);
  const found = useStore(rehearsal, (now) => now.found);
  const fault = useStore(rehearsal, (now) => now.findFault);
  const id = useId();
  const day = Math.floor((startS ?? Date.now() / 1000) / DAY_S) * DAY_S;
  const [span, setSpan] = useState<readonly [number, number] | null>(null);
  const [fromS, toS] = span ?? [day, day + 2 * DAY_S];
  const good = toS > fromS && toS - fromS <= 31 * DAY_S;
  return (
    <details className="find" open={finding !== null || found !== null || undefined}>
      <summary>Find a good start</summary>
      <div className="start-fields">
        <TimeField label="From, UTC" timeS={fromS} onTime={(timeS) => setSpan([timeS, toS])} />
        <TimeField label="To, UTC" timeS={toS} onTime={(timeS) => setSpan([fromS, timeS])} />
      </div>
      <small className="fault" role="status">
        {good ? '' : 'expected an end after the start, at most 31 days on'}
      </small>
      {finding === null ? (
        <div className="small-actions">
          <button type="button" disabled={!good} onClick={() => void findStart(fromS, toS)}>
            Look for it
          </button>
        </div>
      ) : (
        <div className="bar">
          <div>
            <strong id={id}>Looking</strong>
            <small>{finding.detail}</small>
            <progress aria-labelledby={id} max={1} value={finding.done} />
          </div>
          <button type="button" onClick={stopFinding}>
            Stop
          </button>
        </div>
      )}
      {fault !== null && (
        <p className="note bad" role="alert">
          {sentence(fault)}
        </p>
      )}
      {found !== null && <Windows found={found} summary={summary} startS={startS} />}
    </details>
  );
}

function Windows({ found, startS }: { readonly found: FoundStarts; readonly summary: SurveySummary; readonly startS: number | null }) {
  const [over, setOver] = useState<number | null>(null);
  const { windows, stepS } = found;
  const first = windows[0]?.fromS ?? 0;
  const last = (windows[windows.length - 1]?.toS ?? 1) + stepS;
  const share = (timeS: number) => `${(100 * (timeS - first)) / (last - first)}%`;
  const shown = over === null ? null : (windows[over] ?? null);
  const days: number[] = [];
  for (let t = Math.ceil(first / DAY_S) * DAY_S; t < last; t += DAY_S) days.push(t);
  return (
    <div className="windows">
      <p className="windows-best" role="status">
        {found.startS === null ? (
          <>
            <b>No start found.</b> {sentence(found.why)}
          </>
        ) : (
          <>
            <b>
              Best: {date(found.startS)}, {clock(found.startS, false)} UTC.
            </b>{' '}
            {sentence(found.why.replace(/^\S+Z: /, ''))}
          </>
        )}
      </p>
      {found.startS === null && found.limits.length > 0 && (
        <ul className="find-limits">
          {found.limits.map(({ kind, allows, text }) => (
            <li key={kind}>
              <b>{LIMIT_WORDS[kind]}</b> {allows.length === 0 ? `at every start: ${sentence(text)}` : `by itself would allow ${allows.slice(0, 4).map(({ fromS, toS }) => windowSpan(fromS, toS)).join(', ')}${allows.length > 4 ? ', ...' : ''}.`}
            </li>
          ))}
        </ul>
      )}
      {Number.isFinite(found.nextS) && (
        <p className="hint">
          The first start after the span that looks like a go: {date(found.nextS)}, {clock(found.nextS, false)} UTC.
        </p>
      )}
      {found.startS !== null && found.startS !== startS && (
        <button type="button" className="take-start" onClick={() => holdStart(found.startS as number, false)}>
          Leave at {clock(found.startS, false)}
        </button>
      )}
      <div className="windows-bar" role="img" aria-label={`Windows of starts: ${windows.filter(({ go }) => go).length} with a go of ${windows.length}; listed below`} onPointerLeave={() => setOver(null)}>
        {windows.map((window, k) => (
          <span key={window.fromS} className={window.go ? 'go' : 'no-go'} style={{ left: share(window.fromS), width: `calc(${share(window.toS + stepS)} - ${share(window.fromS)})` }} title={windowText(window)} onPointerEnter={() => setOver(k)} />
        ))}
        {days.map((t) => (
          <i key={t} style={{ left: share(t) }} />
        ))}
        {startS !== null && startS >= first && startS <= last && <b style={{ left: share(startS) }} />}
      </div>
      <div className="windows-scale" aria-hidden="true">
        <span>
          {date(first).replace(/ \d{4}$/, '')} {clock(first, false)}
        </span>
        <span>
          {date(last - stepS).replace(/ \d{4}$/, '')} {clock(last - stepS, false)}
        </span>
      </div>
      <p className="hint window-over">{shown === null ? 'Hatched: no-go. Point at the bar for the reason.' : windowText(shown)}</p>
      <details>
        <summary>All windows</summary>
        <ol className="window-list">
          {windows.map((window) => (
            <li key={window.fromS}>
              {window.go ? (
                <button type="button" onClick={() => holdStart(window.fromS + Math.round((window.toS - window.fromS) / 2 / 60) * 60, false)}>
                  {windowText(window)}
                </button>
              ) : (
                windowText(window)
              )}
            </li>
          ))}
        </ol>
      </details>
    </div>
  );
}

const LIMIT_WORDS: Readonly<Record<FoundStarts['limits'][number]['kind'], string>> = { launch: 'Launch point', data: 'What is known', current: 'Current', 'keep-out': 'Keep-outs', water: 'Water', battery: 'Battery', daylight: 'Daylight', link: 'Link', painting: 'Lines', speed: 'Speed', boat: 'Boat' };

function windowSpan(fromS: number, toS: number): string {
  const day = (timeS: number) => date(timeS).replace(/ \d{4}$/, '');
  return fromS === toS ? `${day(fromS)} ${clock(fromS, false)}` : `${day(fromS)} ${clock(fromS, false)} to ${day(fromS) === day(toS) ? '' : `${day(toS)} `}${clock(toS, false)}`;
}

function windowText({ fromS, toS, go, reason }: StartWindow): string {
  return `${windowSpan(fromS, toS)}: ${go ? 'go' : `no-go, ${sentence(reason).replace(/^./, (first) => first.toLowerCase())}`}`;
}
