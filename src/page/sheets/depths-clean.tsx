import { useMemo } from 'react';
import { REASONS } from '../../depths/soundings.js';
import type { ChartTool } from '../chart/chart-tool.js';
import { rowsOfLine, type Run } from '../select/runs.js';
import { depths, goToFlagged, lookAt, runsNow, stretchesNow } from '../state/depths.js';
import { select } from '../state/decide-soundings.js';
import { screen, session, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { clock, count, percent, plural } from '../words/figures.js';
import { UndoRow } from './parts.js';

const TOOLS: readonly (readonly [ChartTool, string, string])[] = [
  ['look', 'Look', 'Move, turn and point'],
  ['select', 'Box', 'Drag a box in any view'],
  ['brush', 'Brush', 'Paint over soundings in any view'],
  ['line', 'Line', 'Click a sounding: all of its line is selected'],
];

/** Cleaning with eyes: tools, what is set aside and why, and the way through it. */
export function DepthsClean() {
  const tool = useStore(screen, (now) => now.tool);
  const brushPx = useStore(depths, (now) => now.brushPx);
  const points = useStore(depths, (now) => now.points);
  const selection = useStore(session, (now) => now.selection);
  return (
    <>
      <div className="tool-row" role="group" aria-label="What the pointer does">
        {TOOLS.map(([one, name, title]) => (
          <button key={one} type="button" title={title} aria-pressed={tool === one} onClick={() => screen.update((now) => ({ ...now, tool: one }))}>
            {name}
          </button>
        ))}
      </div>
      {tool === 'brush' && (
        <label className="slider">
          Brush
          <input type="range" min={4} max={60} step={2} value={brushPx} onChange={(event) => depths.update((now) => ({ ...now, brushPx: Number(event.target.value) }))} />
          <output>{2 * brushPx} px</output>
        </label>
      )}
      <div className="small-actions">
        <button type="button" aria-pressed={points} onClick={() => depths.update((now) => ({ ...now, points: !now.points }))}>
          Points in space
        </button>
        <button type="button" aria-pressed={false} onClick={() => depths.update((now) => ({ ...now, strip: now.strip === 'profile' ? 'time' : 'profile' }))}>
          <StripWord />
        </button>
      </div>
      {selection.length > 0 && <p className="hint">What is selected shows in every view; name the reason above the chart, then set it aside or restore it.</p>}
      <UndoRow />
      <Reasons />
      <Lines />
    </>
  );
}

function StripWord() {
  const strip = useStore(depths, (now) => now.strip);
  return <>{strip === 'profile' ? 'Time strip' : 'Profile'}</>;
}

/** What is set aside, by reason; each can be gone through. */
function Reasons() {
  const soundings = useStore(survey, (now) => now.soundings);
  const version = useStore(survey, (now) => now.reasonVersion);
  const onlyReason = useStore(depths, (now) => now.onlyReason);
  const look = useStore(depths, (now) => now.look);
  const counts = useMemo(() => {
    const many = new Uint32Array(REASONS.length);
    if (soundings !== null && version >= 0) for (let i = 0; i < soundings.n; i++) many[soundings.reason[i] as number] = (many[soundings.reason[i] as number] as number) + 1;
    return many;
  }, [soundings, version]);
  if (soundings === null) return null;
  const aside = soundings.n - (counts[0] as number);
  const stretches = stretchesNow();
  const at = look === null ? -1 : stretches.findIndex(({ rowStart }) => rowStart === look.stretch.rowStart);
  const choose = (code: number | null) => {
    depths.update((now) => ({ ...now, onlyReason: code, look: null }));
    goToFlagged(1);
  };
  return (
    <section className="reasons" aria-label="Set aside, and why">
      <h3>Set aside</h3>
      {aside === 0 ? (
        <p className="hint">Every sounding is good.</p>
      ) : (
        <>
          <div className="stretch-walk" role="group" aria-label="Go through what is set aside">
            <button type="button" title="Stretch before (p in a view, or Shift+F8)" onClick={() => goToFlagged(-1)}>
              ‹ Before
            </button>
            <span>
              {at >= 0 ? `${count(at + 1)} of ` : ''}
              {plural(stretches.length, 'stretch', 'stretches')}
              {onlyReason === null ? '' : `: ${REASONS[onlyReason]?.label ?? ''}`}
            </span>
            <button type="button" title="Next stretch (n in a view, or F8)" onClick={() => goToFlagged(1)}>
              Next ›
            </button>
          </div>
          {at >= 0 && <StretchFacts rowStart={(look as { stretch: { rowStart: number } }).stretch.rowStart} />}
          <table className="list">
            <caption>
              {plural(aside, 'sounding')}, {percent(aside / soundings.n)} of all
            </caption>
            <tbody>
              {REASONS.filter(({ code }) => code !== 0 && (counts[code] as number) > 0)
                .sort((a, b) => (counts[b.code] as number) - (counts[a.code] as number))
                .map(({ code, label }) => (
                  <tr key={code} className={onlyReason === code ? 'chosen' : ''}>
                    <th scope="row">
                      <button type="button" className="link" aria-pressed={onlyReason === code} onClick={() => choose(onlyReason === code ? null : code)}>
                        {label}
                      </button>
                    </th>
                    <td>{count(counts[code] as number)}</td>
                  </tr>
                ))}
            </tbody>
          </table>
        </>
      )}
    </section>
  );
}

/** The stretch one has come to, and what can be done with all of it. */
function StretchFacts({ rowStart }: { readonly rowStart: number }) {
  const soundings = useStore(survey, (now) => now.soundings);
  const stretch = stretchesNow().find((one) => one.rowStart === rowStart);
  if (soundings === null || stretch === undefined) return null;
  const flagged = Array.from({ length: stretch.rowEnd - stretch.rowStart }, (_, k) => stretch.rowStart + k).filter((row) => soundings.reason[row] !== 0);
  return (
    <p className="stretch-facts">
      {plural(stretch.count, 'sounding')} at {clock(soundings.timeS[stretch.rowStart] as number)}: {REASONS[stretch.reason]?.label}.{' '}
      <button type="button" className="link" onClick={() => select(flagged, 'replace')}>
        Select them
      </button>
    </p>
  );
}

const LINES_LISTED = 400;

/** Lines as they were run, with how much of each is set aside. */
function Lines() {
  const soundings = useStore(survey, (now) => now.soundings);
  const version = useStore(survey, (now) => now.reasonVersion);
  const shown = useStore(depths, (now) => now.run);
  const lines = useMemo(() => {
    if (soundings === null || version < 0) return [];
    const byLine = new Map<number, { readonly run: Run; total: number; aside: number }>();
    for (const run of runsNow()) {
      if (run.line < 0) continue;
      const line = byLine.get(run.line) ?? { run, total: 0, aside: 0 };
      for (let i = run.rowStart; i < run.rowEnd; i++) {
        line.total++;
        if (soundings.reason[i] !== 0) line.aside++;
      }
      byLine.set(run.line, line);
    }
    return [...byLine.values()].sort((a, b) => a.run.line - b.run.line).slice(0, LINES_LISTED);
  }, [soundings, version]);
  if (lines.length === 0 || soundings === null) return null;
  return (
    <details>
      <summary>{plural(lines.length, 'line')}</summary>
      <table className="list">
        <thead>
          <tr>
            <th scope="col">Line</th>
            <th scope="col">Soundings</th>
            <th scope="col">Set aside</th>
            <th scope="col">
              <span className="unseen">Select</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {lines.map(({ run, total, aside }) => (
            <tr key={run.line} className={shown?.line === run.line ? 'chosen' : ''}>
              <th scope="row">
                <button type="button" className="link" onClick={() => lookAt(run.rowStart, run.rowEnd)}>
                  {run.line}
                </button>
              </th>
              <td>{count(total)}</td>
              <td>{aside === 0 ? '–' : percent(aside / total)}</td>
              <td>
                <button type="button" className="link" aria-label={`Select line ${run.line}`} onClick={() => select(rowsOfLine(soundings, runsNow(), run.rowStart), 'replace')}>
                  select
                </button>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}
