import type { LogEntry } from '../../survey/summary.js';
import { session } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { bytes, clock, count, plural } from '../words/figures.js';

/** What became of the files that were taken in last. */
export function TakenIn() {
  const takenIn = useStore(session, (now) => now.takenIn);
  if (takenIn.length === 0) return null;
  return (
    <section className="taken-in" aria-label="Taken in">
      {takenIn.map((one) => (
        <div key={one.name}>
          <strong>
            {one.name}: {one.outcome === 'taken-in' ? 'taken in' : one.outcome === 'read-anew' ? 'read anew' : one.outcome === 'already-there' ? 'already there' : 'refused'}
          </strong>
          {one.because !== '' && <p>{one.because}</p>}
          {one.log !== null && <LogFacts log={one.log} />}
        </div>
      ))}
      <button type="button" onClick={() => session.update((now) => ({ ...now, takenIn: [] }))}>
        Close
      </button>
    </section>
  );
}

/** What a log holds, and what of it is not used. */
export function LogFacts({ log }: { readonly log: LogEntry }) {
  const rejected = log.rejects.reduce((sum, reject) => sum + reject.count, 0);
  const timed = Number.isFinite(log.timeStartS) && log.timeStartS !== null;
  return (
    <>
      <p>
        {bytes(log.bytes)} · {log.kind} · {timed ? `${clock(log.timeStartS)} to ${clock(log.timeEndS)}` : 'no time'} · {plural(log.fixes, 'fix', 'fixes')}, {plural(log.pings, 'ping')}
        {rejected === 0 ? ' · nothing refused' : ''}
      </p>
      {rejected > 0 && (
        <table className="list rejects">
          <caption>
            Not used: {count(rejected)} of {plural(log.lines, 'line')}
          </caption>
          <thead>
            <tr>
              <th scope="col">Why</th>
              <th scope="col">How many</th>
              <th scope="col">First at line</th>
            </tr>
          </thead>
          <tbody>
            {log.rejects.map((reject) => (
              <tr key={reject.code}>
                <th scope="row">{reject.reason}</th>
                <td>{count(reject.count)}</td>
                <td>{reject.firstLines.slice(0, 3).join(', ')}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {log.notes.map((note) => (
        <p key={note}>{note}</p>
      ))}
    </>
  );
}
