import { concernMarks, worstOf } from '../chart/rehearse-marks.js';
import { rehearseHover, showConcern } from '../state/rehearsal.js';
import { clock } from '../words/figures.js';
import { sentence, WEIGHT_WORDS } from '../words/rehearse.js';
import type { ShownRehearsal } from '../work/rehearse-messages.js';

/** All there is to know before going, as numbered on the chart, and the worst moment explained. */
export function RehearseConcerns({ shown }: { readonly shown: ShownRehearsal }) {
  const concerns = concernMarks(shown);
  const worst = worstOf(shown);
  const several = shown.sorties.length > 1;
  const leave = () => rehearseHover.set({ timeS: NaN, from: 'sheet' });
  return (
    <section className="concerns" aria-label="Before going">
      {worst !== null && (
        <>
          <h3>Worst moment</h3>
          <button type="button" className="concern worst" onClick={() => showConcern(worst.moment)} onPointerEnter={() => rehearseHover.set({ timeS: worst.moment.timeS, from: 'sheet' })} onPointerLeave={leave}>
            <svg className="mark" viewBox="0 0 24 24" aria-hidden="true">
              <circle cx="12" cy="12" r="7" />
              <path d="M12 1v6M12 17v6M1 12h6M17 12h6" />
            </svg>
            <span>
              {sentence(`${clock(worst.moment.timeS, false)} UTC${several ? `, sortie ${worst.sortie}` : ''}: ${worst.moment.reason.replace(/^\S+Z: /, '')}`)}
            </span>
          </button>
        </>
      )}
      {concerns.length > 0 && <h3>To know before going</h3>}
      <ol>
        {concerns.map(({ concern, number, sortie }) => {
          const placed = Number.isFinite(concern.timeS);
          const text = sentence(several ? `sortie ${sortie}: ${concern.text}` : concern.text);
          const inside = (
            <>
              <span className={`mark weight-${concern.weight}`} aria-hidden="true">
                {number}
              </span>
              <span>
                <b>{WEIGHT_WORDS[concern.weight]}</b> {text}
              </span>
            </>
          );
          return (
            <li key={number}>
              {placed ? (
                <button type="button" className="concern" onClick={() => showConcern(concern)} onPointerEnter={() => rehearseHover.set({ timeS: concern.timeS, from: 'sheet' })} onPointerLeave={leave}>
                  {inside}
                </button>
              ) : (
                <div className="concern">{inside}</div>
              )}
            </li>
          );
        })}
      </ol>
    </section>
  );
}
