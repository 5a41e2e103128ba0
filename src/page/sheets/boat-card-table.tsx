import { useEffect, useRef, useState } from 'react';
import { CARD_FIGURES, type BoatCard, type CardFigure, type CardFigureName } from '../../boat/boat-card.js';
import { setHand } from '../state/boat.js';
import { SOURCE_WORDS, figureName, placeOf, unitText, worthText } from '../words/boat.js';
import { NumberField } from './parts.js';

const NAMES = Object.keys(CARD_FIGURES) as CardFigureName[];

/** The card: every figure with its 95 % and its source; a row opens to how it was found, and takes a figure by hand. */
export function BoatCardTable({ card, open, onOpen }: { readonly card: BoatCard; readonly open: string | null; readonly onOpen: (name: string | null) => void }) {
  return (
    <table className="boat-card">
      <caption>The card</caption>
      <thead>
        <tr>
          <th scope="col">Figure</th>
          <th scope="col">Value, 95 %</th>
          <th scope="col">From</th>
        </tr>
      </thead>
      {NAMES.map((name) => (
        <tbody key={name}>
          <tr>
            <th scope="row">
              <button type="button" aria-expanded={open === name} onClick={() => onOpen(open === name ? null : name)}>
                {figureName(name)}
              </button>
            </th>
            <td>{valueOf(card.figures[name])}</td>
            <td>
              <Source figure={card.figures[name]} />
            </td>
          </tr>
          {open === name && (
            <tr className="boat-detail">
              <td colSpan={3}>
                <FigureDetail card={card} name={name} />
              </td>
            </tr>
          )}
        </tbody>
      ))}
    </table>
  );
}

function valueOf(figure: CardFigure | null): string {
  return figure === null ? '–' : worthText(figure.value, figure.uncertainty95, figure.unit);
}

function Source({ figure }: { readonly figure: CardFigure | null }) {
  const source = figure?.source ?? 'missing';
  return <span className={`source source-${source}`}>{figure === null ? 'missing' : SOURCE_WORDS[figure.source]}</span>;
}

/** Limits of what is typed; a wrong unit shows up as out of range for a boat of any size. */
const MAX: Partial<Record<CardFigureName, number>> = { topSpeed: 20, powerExponent: 6, spinRate: 720, overshootFirst: 180, nomotoK: 50 };

function FigureDetail({ card, name }: { readonly card: BoatCard; readonly name: CardFigureName }) {
  const figure = card.figures[name];
  const trial = card.missing.find((one) => one.figure === name)?.trial;
  const [value, setValue] = useState<number | null>(figure?.source === 'hand' ? figure.value : null);
  const [worth, setWorth] = useState<number | null>(figure?.source === 'hand' && Number.isFinite(figure.uncertainty95) ? figure.uncertainty95 : null);
  const place = useRef<HTMLDivElement>(null);
  useEffect(() => {
    place.current?.querySelector('input')?.focus({ preventScroll: true });
    place.current?.scrollIntoView({ block: 'nearest' });
  }, []);
  const { unit, label } = CARD_FIGURES[name];
  const decimals = figure === null ? 4 : Math.max(0, -placeOf(figure.value, figure.uncertainty95));
  return (
    <div ref={place} className="boat-detail-body">
      <p>
        {label}
        {figure !== null && `: ${figure.method}${figure.note === '' ? '' : `; ${figure.note}`}`}
      </p>
      {figure !== null && figure.trials.length > 0 && <p>From {figure.trials.join(', ')}.</p>}
      {trial !== undefined && <p>Measured by: {trial}.</p>}
      {figure?.source !== 'trials' && (
        <>
          <div className="fields two">
            <NumberField label="By hand" unit={unitText(unit)} value={value} min={name === 'trackMean' ? -100 : 0} max={MAX[name] ?? 1e6} step={10 ** -decimals} decimals={6} allowEmpty placeholder={figure === null ? '' : String(Number(figure.value.toFixed(decimals)))} onValue={setValue} />
            <NumberField label="95 %, plus or minus" unit={unitText(unit)} value={worth} min={0} max={MAX[name] ?? 1e6} step={10 ** -decimals} decimals={6} allowEmpty placeholder="not stated" onValue={setWorth} />
          </div>
          <div className="small-actions">
            <button type="button" disabled={value === null} onClick={() => value !== null && void setHand(name, { value, uncertainty95: worth })}>
              Enter
            </button>
            {figure?.source === 'hand' && (
              <button type="button" onClick={() => void setHand(name, null)}>
                Take back
              </button>
            )}
          </div>
        </>
      )}
    </div>
  );
}
