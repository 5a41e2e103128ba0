import { Fragment, useEffect, useRef, useState } from 'react';
import { CARD_FIGURES, type BoatCard, type CardFigure, type CardFigureName } from '../../boat/boat-card.js';
import { setHand } from '../state/boat.js';
import { FIGURE_GROUPS, SOURCE_WORDS, figureName, placeOf, unitText, worthText } from '../words/boat.js';
import { NumberField } from './parts.js';
import { TrialChips } from './trial-chips.js';

/** The card: every figure with its 95 % and its source; a row opens to how it was found, lights its trials, and takes a figure by hand. */
export function BoatCardTable({ card, before, open, onOpen }: { readonly card: BoatCard; /** What it was before the last correction; null where nothing is to be told. */ readonly before: BoatCard | null; readonly open: string | null; readonly onOpen: (name: CardFigureName | null) => void }) {
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
      {FIGURE_GROUPS.map(({ title, names }) => (
        <Fragment key={title}>
          <tbody className="boat-group">
            <tr>
              <th scope="rowgroup" colSpan={3}>
                {title}
              </th>
            </tr>
          </tbody>
          {names.map((name) => (
            <FigureRows key={name} card={card} before={before} name={name} open={open === name} onOpen={onOpen} />
          ))}
        </Fragment>
      ))}
    </table>
  );
}

function FigureRows({ card, before, name, open, onOpen }: { readonly card: BoatCard; readonly before: BoatCard | null; readonly name: CardFigureName; readonly open: boolean; readonly onOpen: (name: CardFigureName | null) => void }) {
  const value = valueOf(card.figures[name]);
  const was = before === null ? value : valueOf(before.figures[name]);
  return (
    <tbody className={was === value ? '' : 'changed'}>
      <tr>
        <th scope="row">
          <button type="button" aria-expanded={open} onClick={() => onOpen(open ? null : name)}>
            {figureName(name)}
          </button>
        </th>
        <td>
          {value}
          {was !== value && <small>was {was}</small>}
        </td>
        <td>
          <Source figure={card.figures[name]} />
        </td>
      </tr>
      {open && (
        <tr className="boat-detail">
          <td colSpan={3}>
            <FigureDetail card={card} name={name} />
          </td>
        </tr>
      )}
    </tbody>
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
      {figure !== null && <TrialChips ids={figure.trials} />}
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
