import '../style/rehearse.css';
import { useEffect } from 'react';
import { buildTo, readRehearsal, rehearsal, shownOf, startNow } from '../state/rehearsal.js';
import { screen, session, survey } from '../state/stores.js';
import { runningJob } from '../state/actions.js';
import { useStore } from '../state/store.js';
import { duration } from '../words/figures.js';
import { sentence, sortieWords } from '../words/rehearse.js';
import { NextButton, Sheet, UndoRow, WorkState } from './parts.js';
import { RehearseConcerns } from './rehearse-concerns.js';
import { RehearseFind } from './rehearse-find.js';
import { RehearseMishaps } from './rehearse-mishaps.js';
import { RehearseSettings } from './rehearse-settings.js';
import { RehearseStart } from './rehearse-start.js';
import { RehearseVerdict } from './rehearse-verdict.js';

/** Rehearse: go or no-go and why, when to leave, what could come of a mishap. */
export function RehearseSheet() {
  const summary = useStore(survey, (now) => now.summary);
  const loading = useStore(survey, (now) => now.loading);
  const state = useStore(rehearsal);
  const job = useStore(session, (now) => runningJob(now.jobs));
  useEffect(() => void readRehearsal(), [summary, loading]);
  const shown = shownOf(state);
  const sortiesFault = summary?.sorties?.fault ?? null;
  const hasLaunch = summary != null && summary.settings.sortie.launch !== null;
  const step = summary?.steps.find((one) => one.step === 'rehearsal');
  const start = startNow(state, summary);
  const stale = step !== undefined && step.state !== 'fresh' && start !== null && state.sorties !== null;
  const fieldSheet = summary?.products.find(({ path }) => /field-sheet[^/]*\.pdf$/.test(path));
  return (
    <Sheet title="Rehearse" lead={leadText(state.sorties?.sorties.length ?? 0, shown, hasLaunch)}>
      <WorkState />
      {summary?.lines === null && <p className="note">There are no lines yet: draw the area and save the plan at Lines.</p>}
      {summary?.lines != null && !hasLaunch && <p className="note">There is no launch point: say at Lines where the boat goes in and comes back to.</p>}
      {sortiesFault !== null && (
        <p className="note bad" role="alert">
          {sentence(sortiesFault.message)}
        </p>
      )}
      {summary !== null && (summary.lines === null || !hasLaunch || sortiesFault !== null) && (
        <NextButton title="Go to Lines" detail={summary.lines === null ? 'area and lines' : 'launch point and sorties'} onClick={() => screen.update((now) => ({ ...now, stage: 'lines', tool: 'look' }))} />
      )}
      {state.fault !== null && summary?.lines != null && hasLaunch && <p className="note bad">{sentence(state.fault)}</p>}
      {shown !== null && <RehearseVerdict shown={shown} />}
      {state.sorties !== null && summary !== null && (
        <>
          <RehearseStart summary={summary} startS={start} />
          {(stale || (shown === null && start !== null)) && job === null && <NextButton title="Rehearse" detail={stale && shown !== null ? 'what is shown is older than the plan or the settings' : 'every sortie in fast time, with mishaps at every ten seconds'} onClick={() => void buildTo('rehearsal')} />}
          <RehearseFind summary={summary} startS={start} />
        </>
      )}
      {shown !== null && <RehearseConcerns shown={shown} />}
      {shown !== null && <RehearseMishaps shown={shown} saved={state.saved} />}
      {state.sorties !== null && summary !== null && <RehearseSettings summary={summary} />}
      {fieldSheet === undefined && shown !== null && <p className="hint">For the beach: tallow brief makes the field sheet and the routes of every sortie.</p>}
      {fieldSheet !== undefined && (
        <section className="files" aria-label="For the beach">
          <h3>For the beach</h3>
          <div className="files-row">
            <span>Field sheet</span>
            <a href={`/files/${fieldSheet.path}`} target="_blank" rel="noreferrer">
              PDF
            </a>
          </div>
        </section>
      )}
      {summary !== null && <UndoRow />}
    </Sheet>
  );
}

function leadText(count: number, shown: ReturnType<typeof shownOf>, hasLaunch: boolean): string {
  if (shown === null || shown.sorties.length === 0) return count > 0 ? `${sortieWords(count)} planned. Say when the boat leaves.` : hasLaunch ? 'No sorties yet.' : 'A sortie in fast time before anyone gets wet: go or no-go, and why.';
  const first = shown.sorties[0]?.totals.startS ?? NaN;
  const last = shown.sorties[shown.sorties.length - 1]?.totals.endS ?? NaN;
  return `${sortieWords(shown.sorties.length)} in ${duration(last - first)}, against current, tide, sun, battery and link.`;
}
