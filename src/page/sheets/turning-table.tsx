import { useState } from 'react';
import type { BoatCard, CardFigure, TurningFigures } from '../../boat/boat-card.js';
import { lightTrials, trials } from '../state/trials.js';
import { useStore } from '../state/store.js';
import { TURN_ROWS, worthText } from '../words/boat.js';
import { clock, fixed } from '../words/figures.js';
import { TrialChips } from './trial-chips.js';

/** Turning circles by side and speed; each opens to all its figures and lights its trials. */
export function TurningTable({ card }: { readonly card: BoatCard }) {
  const [open, setOpen] = useState('');
  if (card.turning.length === 0) return null;
  const press = (key: string, turn: TurningFigures) => {
    setOpen(open === key ? '' : key);
    lightTrials(open === key ? [] : turn.advanceM.trials);
  };
  return (
    <table className="boat-card">
      <caption>Turning circles</caption>
      <thead>
        <tr>
          <th scope="col">Turn</th>
          <th scope="col">Tactical diameter</th>
          <th scope="col">Advance</th>
        </tr>
      </thead>
      {card.turning.map((turn) => {
        const key = `${turn.side} ${turn.atSpeedMps.toFixed(2)}`;
        return (
          <tbody key={key}>
            <tr>
              <th scope="row">
                <button type="button" aria-expanded={open === key} onClick={() => press(key, turn)}>
                  to {turn.side} at {fixed(turn.atSpeedMps, 2)} m/s
                </button>
              </th>
              <td>{text(turn.tacticalDiameterM)}</td>
              <td>{text(turn.advanceM)}</td>
            </tr>
            {open === key && (
              <tr className="boat-detail">
                <td colSpan={3}>
                  <table className="list">
                    <tbody>
                      {TURN_ROWS.map(({ key: row, label }) => (
                        <tr key={row}>
                          <th scope="row">{label}</th>
                          <td>{text(turn[row])}</td>
                        </tr>
                      ))}
                    </tbody>
                  </table>
                  <p>
                    {turn.advanceM.method}
                    {turn.advanceM.note === '' ? '' : `; ${turn.advanceM.note}`}
                  </p>
                  <TrialChips ids={turn.advanceM.trials} />
                </td>
              </tr>
            )}
          </tbody>
        );
      })}
    </table>
  );
}

function text(figure: CardFigure): string {
  return Number.isFinite(figure.value) ? worthText(figure.value, figure.uncertainty95, figure.unit) : '–';
}

/** The current as the trials found it. */
export function CurrentTable({ card }: { readonly card: BoatCard }) {
  const lit = useStore(trials, (now) => now.lit);
  if (card.currents.length === 0) return null;
  return (
    <details>
      <summary>Current during the trials</summary>
      <table className="list currents">
        <thead>
          <tr>
            <th scope="col">UTC</th>
            <th scope="col">Sets to</th>
            <th scope="col">Drift</th>
          </tr>
        </thead>
        <tbody>
          {card.currents.map(({ setDeg, driftMps, startS, endS }, i) => (
            <tr key={i}>
              <th scope="row">
                <button type="button" className="as-text" aria-pressed={setDeg.trials.length > 0 && lit === setDeg.trials} onClick={() => lightTrials(lit === setDeg.trials ? [] : setDeg.trials)}>
                  {clock(startS, false)} – {clock(endS, false)}
                </button>
                <small>
                  {setDeg.method}
                  {setDeg.note === '' ? '' : `; ${setDeg.note}`}
                </small>
              </th>
              <td>{worthText(setDeg.value, setDeg.uncertainty95, setDeg.unit)}</td>
              <td>{worthText(driftMps.value, driftMps.uncertainty95, driftMps.unit)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}
