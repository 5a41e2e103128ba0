import { useId } from 'react';
import type { BoatAnswer, BoatQuestion } from '../../boat/ask-card.js';
import type { BoatCard } from '../../boat/boat-card.js';
import { ask, boat } from '../state/boat.js';
import { useStore } from '../state/store.js';
import { SOURCE_WORDS, worthText } from '../words/boat.js';
import { fixed, speed } from '../words/figures.js';
import { Figures, NumberField, type FigureRow } from './parts.js';

/** What the boat is asked, by sliders and figures, and what its card answers. */
export function BoatAsk({ card }: { readonly card: BoatCard }) {
  const question = useStore(boat, (now) => now.question);
  const asked = useStore(boat, (now) => now.asked);
  const top = card.figures.topSpeed?.value ?? 3;
  return (
    <section className="ask" aria-labelledby="ask-title">
      <h3 id="ask-title">Ask it</h3>
      <AskRow label="Speed in water" unit="m/s" value={question.speedMps} min={0.05} max={Number(top.toFixed(2))} step={0.05} decimals={2} onValue={(speedMps) => ask({ speedMps })} />
      <AskRow label="Course, true" unit="°" value={question.courseDeg} min={0} max={359} step={1} decimals={0} onValue={(courseDeg) => ask({ courseDeg })} />
      <AskRow label="Current" unit="m/s" value={question.currentMps} min={0} max={3} step={0.05} decimals={2} onValue={(currentMps) => ask({ currentMps })} />
      <AskRow label="Current sets to" unit="°" value={question.currentSetDeg} min={0} max={359} step={1} decimals={0} onValue={(currentSetDeg) => ask({ currentSetDeg })} />
      <AskRow label="Battery kept" unit="%" value={question.reserveShare * 100} min={0} max={90} step={5} decimals={0} onValue={(percent) => ask({ reserveShare: percent / 100 })} />
      {asked !== null && !asked.reply.can && (
        <p className="note" role="status">
          {sentence(asked.reply.why)}
        </p>
      )}
      {asked?.reply.can === true && (
        <>
          <Figures label="What the boat answers" rows={answerRows(asked.reply.answers, question)} />
          {asked.reply.notes.length > 0 && <p className="note">{sentence(defaultsNote(asked.reply.answers.endurance))}</p>}
        </>
      )}
    </section>
  );
}

function sentence(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}${/[.!?]$/.test(text) ? '' : '.'}`;
}

function defaultsNote(endurance: BoatAnswer): string {
  return endurance.source === 'default' ? 'time and range rest on figures usual for the class, not measured on this boat: keep more in hand than they say' : 'some of these rest on figures usual for the class, not measured on this boat';
}

function AskRow({ label, unit, value, min, max, step, decimals, onValue }: { readonly label: string; readonly unit: string; readonly value: number; readonly min: number; readonly max: number; readonly step: number; readonly decimals: number; readonly onValue: (value: number) => void }) {
  const id = useId();
  return (
    <div className="ask-row">
      <input id={id} type="range" aria-label={`${label}, slider`} aria-valuetext={`${fixed(value, decimals)} ${unit}`} min={min} max={max} step={step} value={value} onChange={(event) => onValue(Number(event.target.value))} />
      <NumberField label={label} unit={unit} value={value} min={min} max={max} step={step} decimals={decimals} onValue={(number) => number !== null && onValue(number)} />
    </div>
  );
}

type Answers = Extract<NonNullable<ReturnType<typeof boat.get>['asked']>['reply'], { can: true }>['answers'];

function marked(answer: BoatAnswer): string {
  return answer.source === 'trials' ? '' : ` · ${SOURCE_WORDS[answer.source]}`;
}

function worth(answer: BoatAnswer): string {
  return worthText(answer.value, answer.uncertainty95, answer.unit);
}

function answerRows(answers: Answers, question: BoatQuestion): FigureRow[] {
  const { groundSpeed, crabDeg, endurance, range, power, energyPerKm, bestSpeed, rangeAtBest, stopAstern, coastTo10, tightestTurn } = answers;
  const steer = Math.abs(crabDeg) < 0.5 ? 'steer the course itself' : `steer ${fixed(Math.abs(crabDeg), 0)}° to ${crabDeg > 0 ? 'starboard' : 'port'} of it`;
  return [
    { label: 'Over the ground', value: speed(groundSpeed.value), worth: steer },
    { label: 'Time', value: worth(endurance), worth: `${question.reserveShare === 0 ? 'to an empty battery' : `${fixed(question.reserveShare * 100, 0)} % of the battery kept`}${marked(endurance)}` },
    { label: 'Range', value: worth(range), worth: `over the ground${marked(range)}` },
    { label: 'Energy', value: worth(energyPerKm), worth: `${worth(power)}${marked(power)}` },
    { label: 'Goes furthest at', value: worth(bestSpeed), worth: `${worth(rangeAtBest)} then${marked(bestSpeed)}` },
    { label: 'Stops in', value: worth(stopAstern), worth: `full astern; coasting to a tenth ${worth(coastTo10)}${marked(stopAstern)}` },
    tightestTurn === null
      ? { label: 'Tightest turn', value: 'not known', worth: 'no turning circle has been measured' }
      : { label: 'Tightest turn', value: worth(tightestTurn), worth: `tactical diameter to ${tightestTurn.side}${tightestTurn.note === '' ? '' : `; ${tightestTurn.note}`}${marked(tightestTurn)}` },
  ];
}
