import type { SurveySummary } from '../../survey/summary.js';
import { setPlace, typedPlace } from '../state/rehearsal.js';
import { screen } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { NumberField } from './parts.js';

type Which = 'launch' | 'base';

const TITLES: Readonly<Record<Which, string>> = { launch: 'Launch point', base: 'Base of the link' };

/** Where the boat goes in and comes back to, and where the link's shore end stands: by a click on the chart or typed. */
export function LinesPlaces({ summary }: { readonly summary: SurveySummary }) {
  const tool = useStore(screen, (now) => now.tool);
  const { launch, base } = summary.settings.sortie;
  const arm = (which: Which) => screen.update((now) => ({ ...now, tool: now.tool === which ? 'look' : which }));
  const row = (which: Which, at: { readonly latDeg: number; readonly lonDeg: number } | null) => (
    <section className="place-fields" aria-label={TITLES[which]}>
      <div className="place-head">
        <h3>{TITLES[which]}</h3>
        <div className="small-actions">
          <button type="button" aria-pressed={tool === which} onClick={() => arm(which)}>
            {tool === which ? 'Stop' : 'Set on the chart'}
          </button>
          {which === 'base' && base !== null && (
            <button type="button" onClick={() => void setPlace('base', null)}>
              At the launch
            </button>
          )}
        </div>
      </div>
      {tool === which && <p className="hint">Click the chart where it is to be. Escape stops.</p>}
      {at === null ? (
        <p className="hint">{which === 'launch' ? 'None yet: no sorties are planned.' : 'Stands at the launch point.'}</p>
      ) : (
        <div className="fields two">
          <NumberField key={`lat ${at.latDeg}`} label={`${which === 'launch' ? 'Launch' : 'Base'} latitude`} unit="° N" value={at.latDeg} min={-80} max={84} step={0.0001} decimals={7} settled onValue={(latDeg) => latDeg !== null && void typedPlace(which, at, { latDeg })} />
          <NumberField key={`lon ${at.lonDeg}`} label={`${which === 'launch' ? 'Launch' : 'Base'} longitude`} unit="° E" value={at.lonDeg} min={-180} max={180} step={0.0001} decimals={7} settled onValue={(lonDeg) => lonDeg !== null && void typedPlace(which, at, { lonDeg })} />
        </div>
      )}
    </section>
  );
  return (
    <>
      {row('launch', launch)}
      {row('base', base)}
    </>
  );
}
