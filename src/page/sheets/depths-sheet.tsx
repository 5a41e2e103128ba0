import type { LogEntry, SurveySummary } from '../../survey/summary.js';
import { build, runningJob } from '../state/actions.js';
import { depths, type DepthsPart } from '../state/depths.js';
import { screen, session, survey } from '../state/stores.js';
import { DepthsCheck } from './depths-check.js';
import { CorrectionSwitches } from './depths-correct.js';
import { DepthsClean } from './depths-clean.js';
import { DepthsInstruments } from './depths-instruments.js';
import { DepthsRestOn } from './depths-rest-on.js';
import { GapList } from './depths-gaps.js';
import { DepthsSurface } from './depths-surface.js';
import { LogFacts, TakenIn } from './taken-in.js';
import { DepthsTabs } from './depths-tabs.js';
import { useStore } from '../state/store.js';
import { pickLogs } from '../drop-zone.js';
import { areaText, clock, count, fixed, lengthText, metres, percent, plural, signed } from '../words/figures.js';
import { orderName } from '../words/names.js';
import { nextThing, staleSteps } from '../words/stages.js';
import { Figures, NextButton, Sheet, TakeInButton, UndoRow, WorkState, type FigureRow } from './parts.js';
import { depthsBelow } from '../../water/depth-datum.js';

/** What the sheet has before there are soundings. */
const BEFORE_SOUNDINGS: readonly DepthsPart[] = ['overview', 'instruments', 'correct'];

/** Depths: from logs to soundings, how good they are, and what is still to do. */
export function DepthsSheet() {
  const summary = useStore(survey, (now) => now.summary);
  const next = nextThing(summary);
  const wanted = useStore(depths, (now) => now.part);
  const part = summary?.soundings == null && !BEFORE_SOUNDINGS.includes(wanted) ? 'overview' : wanted;
  const building = useStore(session, (now) => runningJob(now.jobs)?.verb === 'build');
  if (summary === null) {
    return (
      <Sheet title="Depths" lead="Reading the survey…">
        <WorkState />
      </Sheet>
    );
  }
  const rows = figureRows(summary);
  const [note, ...more] = summary.notes;
  return (
    <Sheet title="Depths" lead={leadOf(summary)}>
      <WorkState />
      <DepthsTabs {...(summary.soundings === null ? { parts: BEFORE_SOUNDINGS } : {})} />
      <div id="depths-part" role="tabpanel" aria-labelledby={`depths-tab-${part}`}>
        {part === 'instruments' && <DepthsInstruments summary={summary} />}
        {part === 'clean' && <DepthsClean />}
        {part === 'correct' && (
          <>
            <CorrectionSwitches summary={summary} />
            <DepthsRestOn summary={summary} />
          </>
        )}
        {part === 'check' && <DepthsCheck />}
        {part === 'surface' && <DepthsSurface summary={summary} />}
        {part === 'overview' && (
          <>
          {rows.length > 0 && <Figures rows={rows} label="Figures of the soundings" />}
          {note !== undefined && <p className="note">{note}</p>}
          {more.length > 0 && (
            <details>
              <summary>{plural(more.length, 'more note')}</summary>
              {more.map((one) => (
                <p className="note" key={one}>
                  {one}
                </p>
              ))}
            </details>
          )}
          <NextButton title={next.title} detail={next.detail} disabled={next.action === 'build' && building} onClick={() => act(next.action)} />
          <div className="small-actions">
            {next.action !== 'take-in' && <TakeInButton />}
            {next.action !== 'build' && summary.logs.length > 0 && (
              <button type="button" onClick={() => void build()}>
                Build
              </button>
            )}
            {summary.soundings !== null && (
              <button type="button" onClick={() => depths.update((now) => ({ ...now, part: 'clean', strip: 'profile' }))}>
                Set aside…
              </button>
            )}
          </div>
          <UndoRow />
          <TakenIn />
          <GapList />
          <Logs logs={summary.logs} />
          {staleSteps(summary).length > 0 && summary.logs.length > 0 && (
            <details>
              <summary>Steps out of date</summary>
              <table className="list">
                <tbody>
                  {summary.steps
                    .filter((step) => step.state !== 'fresh')
                    .map((step) => (
                      <tr key={step.step}>
                        <th scope="row">{step.step}</th>
                        <td>{step.because}</td>
                      </tr>
                    ))}
                </tbody>
              </table>
            </details>
          )}
          </>
        )}
      </div>
    </Sheet>
  );
}

function act(action: ReturnType<typeof nextThing>['action']): void {
  switch (action) {
    case 'take-in':
      pickLogs();
      break;
    case 'build':
      void build();
      break;
    case 'report':
      screen.update((now) => ({ ...now, stage: 'report' }));
      break;
    default:
      screen.update((now) => ({ ...now, stage: 'lines' }));
  }
}

function leadOf(summary: SurveySummary): string {
  if (summary.logs.length === 0) return 'No logs yet. A log is kept byte for byte, and everything below rebuilds from it.';
  if (summary.soundings === null) return `${plural(summary.logs.length, 'log')} taken in. Build to reduce ${summary.logs.length === 1 ? 'it' : 'them'} to soundings.`;
  const { timeStartS, timeEndS } = summary.soundings;
  return `From ${plural(summary.logs.length, 'log')}, ${clock(timeStartS, false)} to ${clock(timeEndS, false)} UTC. Everything below rebuilds from ${summary.logs.length === 1 ? 'it' : 'them'}.`;
}

const ORDERS = ['exclusive', 'special', '1a', '1b', '2'];

function figureRows(summary: SurveySummary): FigureRow[] {
  const { soundings, gaps, settings } = summary;
  if (soundings === null) return [];
  const aside = soundings.total - soundings.good;
  const met = soundings.orderMet;
  const share = soundings.orderShare[settings.order];
  const reaches = met !== null && ORDERS.indexOf(met) <= ORDERS.indexOf(settings.order);
  if (soundings.good === 0) return [{ label: 'Soundings', value: 'none good', worth: `all ${count(soundings.total)} are set aside` }];
  const rows: FigureRow[] = [
    { label: 'Soundings', value: count(soundings.good), worth: aside === 0 ? 'none set aside' : `${percent(aside / soundings.total)} set aside` },
    { label: 'Depth', value: `${fixed(soundings.depthMinM, 1)} – ${fixed(soundings.depthMaxM, 1)} m`, worth: `below ${depthsBelow(settings)}; mean ${metres(soundings.depthMeanM)}` },
    { label: 'Uncertainty, 95 %', value: metres(soundings.tvuMedianM, 2), worth: `median; ${metres(soundings.tvuP90M, 2)} worst tenth` },
    {
      label: 'Order met',
      value: met === null ? 'none' : orderName(met),
      worth: `THU ${metres(soundings.thuMedianM)} median${share === undefined || !Number.isFinite(share) ? '' : `; ${percent(share)} within ${orderName(settings.order)}${reaches ? '' : ', aimed at'}`}`,
    },
  ];
  if (soundings.crossings !== null && soundings.crossings.count > 0) {
    rows.push({ label: 'Cross lines', value: plural(soundings.crossings.count, 'crossing'), worth: `mean ${signed(soundings.crossings.meanM, 2)} m, 95 % ${metres(soundings.crossings.p95M, 2)}` });
  } else {
    rows.push({ label: 'Cross lines', value: 'no crossings', worth: 'nothing checks the lines against each other' });
  }
  if (gaps !== null) {
    rows.push({ label: 'Covered', value: percent(gaps.coveredShare), worth: gaps.count === 0 ? 'no gaps' : `${plural(gaps.count, 'gap')}, ${areaText(gaps.areaM2)}${(gaps.weakCount ?? 0) > 0 ? `; ${count(gaps.weakCount ?? 0)} sounded, but not to order ${orderName(settings.order)}` : ''}` });
  }
  rows.push({ label: 'Track', value: lengthText(soundings.trackLengthM), worth: summary.surface === null ? undefined : `surface of ${fixed(summary.surface.cellM, summary.surface.cellM < 1 ? 2 : 1)} m cells` });
  return rows;
}

function Logs({ logs }: { readonly logs: readonly LogEntry[] }) {
  if (logs.length === 0) return null;
  return (
    <details open={logs.length <= 2}>
      <summary>{plural(logs.length, 'log')}</summary>
      {logs.map((log) => (
        <div className="log" key={log.sha256}>
          <strong>{log.file}</strong>
          <LogFacts log={log} />
        </div>
      ))}
    </details>
  );
}
