import { concernMarks, worstOf } from '../chart/rehearse-marks.js';
import { MISHAP_CLAUSES } from '../../rehearse/moment-words.js';
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
          <div className="concern worst" onPointerEnter={() => rehearseHover.set({ timeS: worst.moment.timeS, from: 'sheet' })} onPointerLeave={leave}>
            <button type="button" aria-label="Show the worst moment on the chart" onClick={() => showConcern(worst.moment)}>
              <svg className="mark" viewBox="0 0 24 24" aria-hidden="true">
                <circle cx="12" cy="12" r="7" />
                <path d="M12 1v6M12 17v6M1 12h6M17 12h6" />
              </svg>
            </button>
            <p>{sentence(`${clock(worst.moment.timeS, false)} UTC${several ? `, sortie ${worst.sortie}` : ''}: if ${MISHAP_CLAUSES[worst.moment.mishap]}, ${worst.moment.reason}`)}</p>
          </div>
        </>
      )}
      {concerns.length > 0 && <h3>To know before going</h3>}
      <ol>
        {concerns.map(({ concern, number, sortie }) => {
          const placed = Number.isFinite(concern.timeS);
          const mark = (
            <span className={`mark weight-${concern.weight}`} aria-hidden="true">
              {number}
            </span>
          );
          return (
            <li key={number} className="concern" onPointerEnter={() => placed && rehearseHover.set({ timeS: concern.timeS, from: 'sheet' })} onPointerLeave={leave}>
              {placed ? (
                <button type="button" aria-label={`Show ${number} on the chart`} onClick={() => showConcern(concern)}>
                  {mark}
                </button>
              ) : (
                mark
              )}
              <p>
                <b>{WEIGHT_WORDS[concern.weight]}</b> {sentence(several && sortie > 0 ? `sortie ${sortie}: ${concern.text}` : concern.text)}
              </p>
            </li>
          );
        })}
      </ol>
    </section>
  );
}
