import { useEffect, useState } from 'react';
import { ellipseOf, SIGMA_TO_95_2D } from '../../finds/place.js';
import { build, runningJob } from '../state/actions.js';
import { decideFind, findHover, finds, FINDS_PARTS, listed, selectFind, stepFind, type FindsPart } from '../state/finds.js';
import { imagery } from '../state/imagery.js';
import { forgetMeasured, markMeasured, measuredNow, measuring } from '../state/measuring.js';
import { session, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { clock, metres, percent, plural } from '../words/figures.js';
import { confidenceText, findName, linesText, measureText, sizeText, STATE_WORDS } from '../words/finds.js';
import { nextFindsThing } from '../words/finds-stage.js';
import { placeText } from '../words/imagery.js';
import type { FindShown } from '../work/finds-messages.js';
import { FindsSearch } from './finds-search.js';
import { PartTabs } from './part-tabs.js';
import { Figures, NextButton, Sheet, UndoRow, WorkState } from './parts.js';

const PART_NAMES: Readonly<Record<FindsPart, string>> = { finds: 'Finds', search: 'What was searched' };

/** Finds: what was located on the floor, how sure it is, and where something may still lie. */
export function FindsSheet() {
  const summary = useStore(survey, (now) => now.summary);
  const { part, finds: all, selected } = useStore(finds);
  const building = useStore(session, (now) => runningJob(now.jobs)?.verb === 'build');
  if (summary === null) {
    return (
      <Sheet title="Finds" lead="Reading the survey…">
        <WorkState />
      </Sheet>
    );
  }
  const next = nextFindsThing(summary, all);
  const find = all.find(({ id }) => id === selected);
  return (
    <Sheet title="Finds" lead={leadOf(all)}>
      <WorkState />
      <PartTabs label="Parts of the finds" of="finds" parts={FINDS_PARTS} names={PART_NAMES} part={part} onPart={(to) => finds.update((now) => ({ ...now, part: to }))} />
      <div id="finds-part" role="tabpanel" aria-labelledby={`finds-tab-${part}`}>
        {part === 'search' ? (
          <FindsSearch />
        ) : (
          <>
            <MeasuredPanel />
            {find !== undefined && <FindCard key={find.id} find={find} />}
            <NextButton
              title={next.title}
              detail={next.detail}
              disabled={next.action === 'build' && building}
              onClick={() => {
                if (next.action === 'build') void build();
                else if (next.action === 'next') stepFind(1, true);
                else if (next.action === 'measure') imagery.update((now) => ({ ...now, tool: 'measure' }));
                else finds.update((now) => ({ ...now, part: 'search' }));
              }}
            />
            <UndoRow />
            <FindList />
            <p className="note caution">What lies on the floor may be dangerous, or protected. Lifting or disturbing it is for licensed people and by local rules: mark it, report it, leave it.</p>
          </>
        )}
      </div>
    </Sheet>
  );
}

function leadOf(all: readonly FindShown[]): string {
  if (all.length === 0) return 'Nothing located yet. Candidates come with a build; anything you see in the waterfall can be measured and marked.';
  const of = (state: FindShown['state']): number => all.filter((one) => one.state === state).length;
  return `${of('proposed')} proposed, ${of('confirmed')} confirmed, ${of('rejected')} rejected. A candidate is a find once you have confirmed it.`;
}

/** What is being measured in the waterfall, as it is drawn. */
function MeasuredPanel() {
  const { shape } = useStore(measuring);
  const tool = useStore(imagery, (now) => now.tool);
  const frame = useStore(survey, (now) => now.frame);
  const [name, setName] = useState('');
  if (shape === null) return tool === 'measure' ? <p className="hint">Measure in the waterfall: drag along the object, then from it to the end of its shadow. Length, width and height follow as you drag.</p> : null;
  const now = measuredNow();
  return (
    <section className="measured" aria-label="Measured">
      {now === null ? (
        <p className="note bad">The sonar’s height above the floor is not known here: draw the bottom first, then measure.</p>
      ) : (
        <Figures
          label="Measured by hand"
          rows={[
            { label: 'Length', value: measureText(now.measured.length), worth: 'along the track, the beam’s width taken off; 95 %' },
            { label: 'Width', value: measureText(now.measured.width), worth: 'across the track' },
            { label: 'Height', value: measureText(now.measured.height), worth: Number.isFinite(now.measured.height.value) ? 'from its shadow' : 'drag along its shadow to have it' },
            ...(frame === null || !Number.isFinite(now.place.xM) ? [] : [{ label: 'Place', value: `± ${metres(now.place95M)}`, worth: placeText(frame, now.place.xM, now.place.yM) }]),
          ]}
        />
      )}
      <label className="text-field">
        <span>Name, if it has one</span>
        <input type="text" maxLength={80} value={name} onChange={(event) => setName(event.target.value)} />
      </label>
      <div className="small-actions">
        <button type="button" className="main" disabled={now === null} onClick={() => void markMeasured(name).then(() => setName(''))}>
          Mark as a find
        </button>
        <button type="button" onClick={forgetMeasured}>
          Leave it
        </button>
      </div>
    </section>
  );
}

function Chip({ find, large = false }: { readonly find: FindShown; readonly large?: boolean }) {
  const { sightings } = useStore(finds);
  const chips = find.sightings.flatMap((id) => sightings.get(id) ?? []).filter(({ chip }) => chip != null);
  const first = chips[0];
  if (first === undefined) return large ? null : <span className="chip none" aria-hidden="true" />;
  if (!large) return <img className="chip" src={`/files/${first.chip}`} alt="" loading="lazy" />;
  return (
    <div className="chips">
      {chips.map((sighting) => (
        <button key={sighting.id} type="button" onClick={() => selectFind(find.id, sighting.id)} title="Show this look in the waterfall">
          <img src={`/files/${sighting.chip}`} alt={`Seen from ${sighting.line >= 0 ? `line ${sighting.line}` : 'a turn'}, ${sighting.side}, at ${clock(sighting.timeS)}`} />
          <span>
            {sighting.line >= 0 ? `line ${sighting.line}` : 'turn'} · {sighting.side}
          </span>
        </button>
      ))}
    </div>
  );
}

/** One find: what it is, how sure, and what you say of it. */
function FindCard({ find }: { readonly find: FindShown }) {
  const state = useStore(finds);
  const frame = useStore(survey, (now) => now.frame);
  const [name, setName] = useState(find.name);
  const [description, setDescription] = useState(find.description);
  useEffect(() => setName(find.name), [find.name]);
  useEffect(() => setDescription(find.description), [find.description]);
  const describe = (): void => {
    const changed = { ...(name.trim() === find.name ? {} : { name: name.trim() }), ...(description.trim() === find.description ? {} : { description: description.trim() }) };
    if (Object.keys(changed).length > 0) void decideFind({ action: 'describe', find: find.id, ...changed });
  };
  const others = state.ticked.filter((id) => id !== find.id);
  return (
    <section className="find-card" aria-label={findName(find)}>
      <header>
        <h3>
          {find.name === '' ? '' : `${find.number}. `}
          {findName(find)}
        </h3>
        <span className={`state ${find.state}`}>{STATE_WORDS[find.state]}</span>
        <button type="button" aria-label="Find before" title="Find before (p)" onClick={() => stepFind(-1)}>
          ‹
        </button>
        <button type="button" aria-label="Find after" title="Find after (n)" onClick={() => stepFind(1)}>
          ›
        </button>
      </header>
      <Chip find={find} large />
      <Figures
        label="Figures of the find"
        rows={[
          { label: 'Size', value: `${measureText(find.length, 1)} × ${measureText(find.width, 1)}`, worth: 'longer and shorter side; 95 %' },
          { label: 'Height', value: measureText(find.height), worth: find.height.value === null ? 'no shadow seen' : 'from its shadow' },
          { label: 'Place', value: `± ${metres(SIGMA_TO_95_2D * ellipseOf(find.place).majorM)}`, worth: frame === null ? undefined : placeText(frame, find.place.xM, find.place.yM) },
          { label: 'Seen', value: linesText(find), worth: find.byHand ? 'marked by hand' : `${confidenceText(find)}: ${find.why}` },
        ]}
      />
      <div className="find-decide">
        {find.state !== 'confirmed' && (
          <button type="button" className="main" onClick={() => void decideFind({ action: 'confirm', find: find.id })}>
            Confirm
          </button>
        )}
        {find.state !== 'rejected' && (
          <button type="button" onClick={() => void decideFind({ action: 'reject', find: find.id })}>
            Reject
          </button>
        )}
        {find.state !== 'proposed' && (
          <button type="button" onClick={() => void decideFind({ action: 'propose', find: find.id })}>
            Undecided
          </button>
        )}
        {others.length > 0 && (
          <button type="button" onClick={() => void decideFind({ action: 'join', finds: [find.id, ...others] })}>
            Join with {others.length === 1 ? 'the one ticked' : `the ${others.length} ticked`}
          </button>
        )}
      </div>
      <label className="text-field">
        <span>Name</span>
        <input type="text" maxLength={80} value={name} onChange={(event) => setName(event.target.value)} onBlur={describe} onKeyDown={(event) => event.key === 'Enter' && describe()} />
      </label>
      <label className="text-field">
        <span>What it is</span>
        <textarea rows={2} maxLength={2000} value={description} onChange={(event) => setDescription(event.target.value)} onBlur={describe} />
      </label>
      {find.sightings.length > 1 && <PartLooks find={find} />}
      {find.history.length > 0 && (
        <details>
          <summary>History</summary>
          <ul className="history">
            {find.history.map(({ number, at, words }) => (
              <li key={number}>
                {at.slice(0, 16).replace('T', ' ')} UTC: {words}
              </li>
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}

/** Looks that are of something else are parted from the find. */
function PartLooks({ find }: { readonly find: FindShown }) {
  const { sightings } = useStore(finds);
  const [out, setOut] = useState<readonly string[]>([]);
  return (
    <details>
      <summary>{plural(find.sightings.length, 'look')}</summary>
      {find.sightings.map((id) => {
        const sighting = sightings.get(id);
        return (
          <div className="look" key={id}>
            <label className="tick">
              <input type="checkbox" checked={out.includes(id)} onChange={(event) => setOut((now) => (event.target.checked ? [...now, id] : now.filter((one) => one !== id)))} />
              {sighting === undefined ? id : `${sighting.line >= 0 ? `line ${sighting.line}` : 'turn'}, ${sighting.side}, ${clock(sighting.timeS)}`}
            </label>
            {sighting !== undefined && (
              <button type="button" className="link" onClick={() => selectFind(find.id, id)}>
                Show
              </button>
            )}
          </div>
        );
      })}
      <button type="button" disabled={out.length === 0 || out.length === find.sightings.length} onClick={() => void decideFind({ action: 'part', find: find.id, sightings: out })}>
        Part the ticked from it: another thing
      </button>
    </details>
  );
}

const LISTED = 300;

function FindList() {
  const state = useStore(finds);
  const hovered = useStore(findHover);
  const all = listed(state);
  const rejected = state.finds.length - state.finds.filter((one) => one.state !== 'rejected').length;
  if (state.finds.length === 0) return null;
  return (
    <section className="find-list" aria-label="Finds, the surest first">
      {rejected > 0 && (
        <label className="tick">
          <input type="checkbox" checked={state.showRejected} onChange={(event) => finds.update((now) => ({ ...now, showRejected: event.target.checked }))} />
          Show the {rejected} rejected too
        </label>
      )}
      <ol
        onKeyDown={(event) => {
          if (event.ctrlKey || event.metaKey || event.altKey) return;
          if (event.key === 'n' || event.key === 'p') stepFind(event.key === 'n' ? 1 : -1);
          else if ((event.key === 'c' || event.key === 'r') && state.selected !== null) void decideFind({ action: event.key === 'c' ? 'confirm' : 'reject', find: state.selected });
          else return;
          event.preventDefault();
        }}
      >
        {all.slice(0, LISTED).map((find) => (
          <li key={find.id} className={find.id === hovered ? 'pointed' : undefined} aria-current={find.id === state.selected ? 'true' : undefined}>
            <label className="tick" title="Tick finds that are one thing, then join them">
              <input type="checkbox" aria-label={`Tick ${findName(find)}`} checked={state.ticked.includes(find.id)} onChange={(event) => finds.update((now) => ({ ...now, ticked: event.target.checked ? [...now.ticked, find.id] : now.ticked.filter((id) => id !== find.id) }))} />
            </label>
            <button type="button" onClick={() => selectFind(find.id)} onPointerEnter={() => findHover.set(find.id)} onPointerLeave={() => findHover.set(null)}>
              <Chip find={find} />
              <span>
                <strong>
                  {find.name === '' ? '' : `${find.number}. `}
                  {findName(find)}
                </strong>
                <small>{sizeText(find)}</small>
                <small>
                  {linesText(find)} · {find.state === 'proposed' ? percentSure(find) : STATE_WORDS[find.state]}
                </small>
              </span>
            </button>
          </li>
        ))}
      </ol>
      {all.length > LISTED && <p className="hint">The {LISTED} surest of {all.length}. Reject those you have gone through, or raise the smallest size looked for.</p>}
      {state.lost.map((words) => (
        <p key={words} className="hint">
          {words}
        </p>
      ))}
    </section>
  );
}

function percentSure({ confidence }: FindShown): string {
  return `${percent(confidence, 0)} sure`;
}
