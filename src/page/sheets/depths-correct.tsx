import { useEffect } from 'react';
import type { SurveySummary } from '../../survey/summary.js';
import { applyCorrection, corrections, isTold, isWanted, loadCorrections } from '../state/corrections.js';
import { depths } from '../state/depths.js';
import { survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { signed } from '../words/figures.js';
import type { CorrectionCurve } from '../work/depths-messages.js';

/** Corrections as curves: which are shown on the strip, which are applied, and what they come to. */
export function CorrectionSwitches({ summary }: { readonly summary: SurveySummary }) {
  const { loaded } = useStore(corrections);
  const soundings = useStore(survey, (now) => now.soundings);
  const hidden = useStore(depths, (now) => now.hiddenCurves);
  const strip = useStore(depths, (now) => now.strip);
  useEffect(() => void loadCorrections(), [soundings]);
  if (loaded === null || loaded.curves.length === 0) return null;
  const show = (column: string, on: boolean) => depths.update((now) => ({ ...now, strip: 'corrections', hiddenCurves: on ? now.hiddenCurves.filter((one) => one !== column) : [...now.hiddenCurves, column] }));
  const table = (curves: readonly CorrectionCurve[], caption: string) =>
    curves.length > 0 && (
      <table className="list switches">
        <caption>{caption}</caption>
        <thead>
          <tr>
            <th scope="col">Correction</th>
            <th scope="col">Show</th>
            <th scope="col">Apply</th>
          </tr>
        </thead>
        <tbody>
          {curves.map((curve) => {
            const wanted = isWanted(summary.settings, curve);
            return (
              <tr key={curve.column}>
                <th scope="row">
                  {curve.label}
                  <small>{isTold(curve) ? (Math.abs(curve.mostM - curve.leastM) < 0.005 ? `${signed(curve.mostM, 2)} m` : `${signed(curve.leastM, 2)} to ${signed(curve.mostM, 2)} m`) : 'nothing to correct by'}</small>
                </th>
                <td>
                  <label className="hit">
                    <input type="checkbox" aria-label={`Show ${curve.label}`} disabled={!isTold(curve)} checked={isTold(curve) && !hidden.includes(curve.column)} onChange={(event) => show(curve.column, event.target.checked)} />
                  </label>
                </td>
                <td>
                  {curve.setting === null ? (
                    <span title="Always applied">always</span>
                  ) : (
                    <label className="hit">
                      <input type="checkbox" role="switch" className="switch" aria-label={`Apply ${curve.label}`} checked={wanted} onChange={(event) => void applyCorrection(curve, event.target.checked)} />
                    </label>
                  )}
                  {wanted !== curve.on && <small>after the build</small>}
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    );
  return (
    <section aria-label="Corrections one by one">
      {strip !== 'corrections' && (
        <div className="small-actions first">
          <button type="button" onClick={() => depths.update((now) => ({ ...now, strip: 'corrections' }))}>
            Show them as curves
          </button>
        </div>
      )}
      {table(loaded.curves.filter(({ horizontal }) => !horizontal), 'What is added to the depth')}
      {table(loaded.curves.filter(({ horizontal }) => horizontal), 'By what the place is moved')}
    </section>
  );
}
