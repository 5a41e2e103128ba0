import type { SurveySummary } from '../../survey/summary.js';
import { cellLooked, chooseDepth, doubtful, goToDoubtful } from '../state/doubtful.js';
import { setSurface } from '../state/floor.js';
import { useStore } from '../state/store.js';
import { count, fixed, plural } from '../words/figures.js';
import { InlineChoice } from './inline-choice.js';
import { UndoRow } from './parts.js';

const RULES: Readonly<Record<string, string>> = { both: 'both weighed', soundings: 'most soundings', neighbours: 'nearest to those about' };

/** Cells with several depths: which are in doubt, what stands in one of them, and which of its depths is drawn. */
export function DepthsDoubtful({ summary }: { readonly summary: SurveySummary }) {
  const several = summary.surface?.hypotheses;
  if (several === undefined) return null;
  return (
    <section className="apart" aria-label="Several depths in a cell">
      <h3>Several depths in a cell</h3>
      <p className="note">
        {several.several === 0
          ? 'Every cell has one depth.'
          : `${plural(several.several, 'cell has', 'cells have')} several; ${count(several.doubtful)} in doubt, where another has at least half as many soundings as the one drawn${several.byHand > 0 ? `; ${count(several.byHand)} chosen by hand` : ''}.`}
      </p>
      <div className="choices">
        <InlineChoice label="Which is drawn" value={summary.settings.surface.hypothesis} choices={RULES} onValue={(value) => void setSurface('surface.hypothesis', value)} />
      </div>
      {several.doubtful > 0 && (
        <>
          <div className="small-actions">
            <button type="button" onClick={() => goToDoubtful(-1)}>
              Cell before
            </button>
            <button type="button" onClick={() => goToDoubtful(1)}>
              Next cell in doubt
            </button>
          </div>
          <p className="hint">Or click a square on the chart: open, in doubt; full, chosen by hand.</p>
        </>
      )}
      <Cell />
    </section>
  );
}

/** The cell looked at, with all its depths. */
function Cell() {
  const state = useStore(doubtful);
  const cell = cellLooked(state);
  if (state.at !== null && cell === null) return <p className="hint">The cell that was looked at has one depth now.</p>;
  if (cell === null) return null;
  return (
    <div className="answer">
      <table className="list cell-depths" aria-label="Depths of the cell">
        <caption>
          {`At ${fixed(cell.latDeg, 6)}, ${fixed(cell.lonDeg, 6)}: strength ${fixed(cell.strength, 2)}, ${cell.byHand ? 'chosen by hand' : cell.doubtful ? 'in doubt' : 'not in doubt'}. 1 would be one depth alone, 0 another as well sounded.`}
        </caption>
        <thead>
          <tr>
            <th scope="col">Depth</th>
            <th scope="col">± 95{'\u00a0'}%</th>
            <th scope="col">Soundings</th>
            <th scope="col">Drawn</th>
          </tr>
        </thead>
        <tbody>
          {cell.depths.map((one) => (
            <tr key={one.depthM} className={one.stands ? 'chosen' : undefined}>
              <th scope="row">{fixed(one.depthM, 2)} m</th>
              <td>{fixed(one.uncertaintyM, 2)} m</td>
              <td>{count(one.soundings)}</td>
              <td>
                {state.waiting === one.depthM ? (
                  'in a moment'
                ) : one.stands && state.waiting === null ? (
                  'drawn'
                ) : (
                  <button type="button" className="link" disabled={state.waiting !== null} aria-label={`Choose ${fixed(one.depthM, 2)} m`} onClick={() => void chooseDepth(cell, one.depthM)}>
                    choose
                  </button>
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <UndoRow />
    </div>
  );
}
