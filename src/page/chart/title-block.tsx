import { survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { date } from '../words/figures.js';
import { dangerDepths } from './danger-depths.js';

const ORDER_NAME: Readonly<Record<string, string>> = { exclusive: 'Exclusive', special: 'Special', '1a': '1a', '1b': '1b', '2': '2' };

/** The chart's title: what it is of, below which datum, in which frame, when, how good, and what it is not for. */
export function TitleBlock() {
  const summary = useStore(survey, (now) => now.summary);
  const frame = useStore(survey, (now) => now.frame);
  const surface = useStore(survey, (now) => now.surface);
  if (summary === null || frame === null) return null;
  const { settings, soundings } = summary;
  const order = soundings?.orderMet;
  const days = soundings === null ? '' : date(soundings.timeStartS) === date(soundings.timeEndS) ? date(soundings.timeStartS) : `${date(soundings.timeStartS)} to ${date(soundings.timeEndS)}`;
  return (
    <div className="title-block">
      <strong>
        {settings.name}
        {settings.place === '' ? '' : `, ${settings.place}`}
      </strong>
      <span>
        Depths in metres below {settings.datum} · frame {frame.label}
      </span>
      <span>
        {soundings === null ? 'Not surveyed yet' : `Surveyed ${days}`} · {soundings === null ? `order aimed at ${ORDER_NAME[settings.order]}` : order == null ? 'no S-44 order met' : `order ${ORDER_NAME[order] ?? order}`} ·{' '}
        {settings.invented && 'invented · '}
        <b>not for navigation</b>
      </span>
      {surface !== null && <span>Tints change at {dangerDepths(surface.depthMaxM).join(', ')} m{summary.contours === null ? '' : `; contours every ${summary.contours.intervalM} m`}</span>}
    </div>
  );
}
