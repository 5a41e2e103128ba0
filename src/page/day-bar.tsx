import { runningJob } from './state/actions.js';
import { screen, session, survey } from './state/stores.js';
import { useStore } from './state/store.js';
import { date } from './words/figures.js';
import { placeBeside } from './words/names.js';
import { STAGES, STAGE_TITLE, stageLines } from './words/stages.js';

/** The survey's name and the stages of the day, each with one line of state. */
export function DayBar() {
  const summary = useStore(survey, (now) => now.summary);
  const stage = useStore(screen, (now) => now.stage);
  const running = useStore(session, (now) => runningJob(now.jobs)?.verb ?? null);
  const lines = stageLines(summary, running);
  const settings = summary?.settings;
  const place = settings === undefined ? '' : placeBeside(settings.name, settings.place);
  const under = [place, settings?.invented === true && !/invented/i.test(place) ? 'invented' : '', summary?.soundings == null ? '' : date(summary.soundings.timeStartS).replace(/ \d{4}$/, '')].filter((part) => part !== '');
  return (
    <header className="day">
      <div className="day-name">
        <strong title={settings?.name}>{settings?.name ?? 'Chart table'}</strong>
        <span title={under.join(' · ')}>{under.join(' · ') || ' '}</span>
      </div>
      <nav aria-label="Stages of the day">
        {STAGES.map((one) => {
          const line = lines[one];
          return (
            <button
              key={one}
              type="button"
              className={['stage', line.done ? 'done' : '', line.press ? 'press' : ''].join(' ')}
              aria-current={one === stage ? 'page' : undefined}
              onClick={() => screen.update((now) => ({ ...now, stage: one, tool: 'look' }))}
            >
              <strong>{STAGE_TITLE[one]}</strong>
              <span>{line.text}</span>
            </button>
          );
        })}
      </nav>
    </header>
  );
}
