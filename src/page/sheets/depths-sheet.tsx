import type { LogEntry, SurveySummary } from '../../survey/summary.js';
import { build, runningJob, server } from '../state/actions.js';
import { depths } from '../state/depths.js';
import { screen, session, survey } from '../state/stores.js';
import { DepthsCheck } from './depths-check.js';
import { CorrectionSwitches } from './depths-correct.js';
import { DepthsClean } from './depths-clean.js';
import { DepthsInstruments } from './depths-instruments.js';
import { GapList } from './depths-gaps.js';
import { DepthsSurface } from './depths-surface.js';
import { LogFacts, TakenIn } from './taken-in.js';
import { DepthsTabs } from './depths-tabs.js';
import { useStore } from '../state/store.js';
import { pickLogs } from '../drop-zone.js';
import { areaText, clock, count, fixed, lengthText, metres, percent, plural, signed } from '../words/figures.js';
import { orderName } from '../words/names.js';
import { nextThing, staleSteps } from '../words/stages.js';
import { Figures, NextButton, NumberField, Sheet, TakeInButton, UndoRow, WorkState, type FigureRow } from './parts.js';

/** What the sheet has before there are soundings. */
const BEFORE_SOUNDINGS = ['overview', 'instruments'] as const;

/** Depths: from logs to soundings, how good they are, and what is still to do. */
export function DepthsSheet() {
  const summary = useStore(survey, (now) => now.summary);
  const next = nextThing(summary);
  const wanted = useStore(depths, (now) => now.part);
  const part = summary?.soundings == null && wanted !== 'instruments' ? 'overview' : wanted;
  const building = useStore(session, (now) => runningJob(now.jobs)?.verb === 'build');
  if (summary === null) {
    return (
      <Sheet title="Depths" lead="Reading the survey…">
        <WorkState />
      </Sheet>
    );
  }
  const rows = figureRows(summary);
  const note = summary.notes[0];
  return (
    <Sheet title="Depths" lead={leadOf(summary)}>
      <WorkState />
      <DepthsTabs {...(summary.soundings === null ? { parts: BEFORE_SOUNDINGS } : {})} />
      <div id="depths-part" role="tabpanel" aria-labelledby={`depths-tab-${part}`}>
        {part === 'instruments' && <DepthsInstruments summary={summary} />}
        {part === 'clean' && <DepthsClean />}
        {part === 'correct' && <Corrections summary={summary} />}
        {part === 'check' && <DepthsCheck />}
        {part === 'surface' && <DepthsSurface summary={summary} />}
        {part === 'overview' && (
          <>
          {rows.length > 0 && <Figures rows={rows} label="Figures of the soundings" />}
          {note !== undefined && (
            <p className="note">
              {note}
              {summary.notes.length > 1 && <small>{plural(summary.notes.length - 1, 'more note')} in the report.</small>}
            </p>
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
  const rows: FigureRow[] = [
    { label: 'Soundings', value: count(soundings.good), worth: aside === 0 ? 'none set aside' : `${percent(aside / soundings.total)} set aside` },
    { label: 'Depth', value: `${fixed(soundings.depthMinM, 1)} – ${fixed(soundings.depthMaxM, 1)} m`, worth: `below ${settings.datum}; mean ${metres(soundings.depthMeanM)}` },
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

function Corrections({ summary }: { readonly summary: SurveySummary }) {
  const { sounder, water } = summary.settings;
  const set = (path: string) => (value: number | null) => {
    if (value === null) return;
    server
      .set(path, value)
      .then(() => session.update((now) => ({ ...now, said: `${path} is now ${value}; build to use it`, trouble: null })))
      .catch((error: unknown) => session.update((now) => ({ ...now, trouble: error instanceof Error ? error.message : String(error) })));
  };
  const speed = water.soundSpeed;
  const level = water.level;
  const levelRange = summary.soundings === null ? undefined : `${signed(summary.soundings.waterLevelMinM, 2)} to ${signed(summary.soundings.waterLevelMaxM, 2)} m above ${summary.settings.datum}`;
  return (
    <>
      <CorrectionSwitches summary={summary} />
      <h3 className="apart">What they rest on</h3>
      <div className="fields">
        <NumberField label="Draft" unit="m" value={sounder.draftM} min={0} max={20} step={0.01} decimals={3} onValue={set('sounder.draftM')} />
        <NumberField label="Sound speed set" unit="m/s" value={sounder.soundSpeedSetMps} min={1300} max={1700} step={1} decimals={1} onValue={set('sounder.soundSpeedSetMps')} />
      </div>
      <Figures
        label="Corrections"
        rows={[
          { label: 'Draft', value: metres(sounder.draftM, 2), worth: sounder.squatM === 0 ? 'no squat' : `squat ${metres(sounder.squatM, 2)}` },
          {
            label: 'Sound speed',
            value: speed.kind === 'as-set' ? `as set, ${fixed(sounder.soundSpeedSetMps, 0)} m/s` : speed.kind === 'constant' ? `${fixed(speed.soundSpeedMps, 1)} m/s` : 'profile',
            worth: speed.kind === 'as-set' ? 'nothing measured: no correction made' : speed.kind === 'constant' ? `instrument set to ${fixed(sounder.soundSpeedSetMps, 0)} m/s` : speed.kind === 'profile' ? speed.file : `${speed.casts.length} casts, ${speed.rule.replaceAll('-', ' ')}`,
          },
          {
            label: 'Water level',
            value: level.kind === 'none' ? 'not reduced' : level.kind === 'constant' ? `${signed(level.levelM, 2)} m` : level.kind === 'series' ? 'gauge series' : level.kind === 'constituents' ? 'tide constituents' : level.kind === 'gauges' ? 'gauges elsewhere' : 'GNSS heights',
            worth: level.kind === 'none' ? 'depths are below the water of the moment' : level.kind === 'constant' || level.kind === 'gnss-height' ? levelRange : `${level.kind === 'gauges' ? level.gauges.map(({ file }) => file).join(', ') : level.file}${levelRange === undefined ? '' : `; ${levelRange}`}`,
          },
        ]}
      />
    </>
  );
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
