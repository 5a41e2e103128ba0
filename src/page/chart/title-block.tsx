import { depths } from '../state/depths.js';
import { screen, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { date } from '../words/figures.js';
import { orderName, surveyTitle } from '../words/names.js';
import { dangerDepths } from './danger-depths.js';
import { depthsBelow } from '../../water/depth-datum.js';

/** The chart's title: what it is of, below which datum, in which frame, when, how good, and what it is not for. */
export function TitleBlock() {
  const stage = useStore(screen, (now) => now.stage);
  const summary = useStore(survey, (now) => now.summary);
  const frame = useStore(survey, (now) => now.frame);
  const surface = useStore(survey, (now) => now.surface);
  const points = useStore(depths, (now) => now.points) && stage === 'depths';
  const narrow = points || stage === 'imagery' || stage === 'finds';
  const folded = useStore(screen, (now) => now.titleFolded) || narrow;
  if (summary === null || frame === null) return null;
  const { settings, soundings } = summary;
  const order = soundings?.orderMet;
  const days = soundings === null ? '' : date(soundings.timeStartS) === date(soundings.timeEndS) ? date(soundings.timeStartS) : `${date(soundings.timeStartS)} to ${date(soundings.timeEndS)}`;
  const fold = () => screen.update((now) => ({ ...now, titleFolded: !now.titleFolded }));
  const title = surveyTitle(settings.name, settings.place);
  if (folded) {
    return (
      <button type="button" className="title-block folded" aria-expanded={false} title="Show the whole title" onClick={fold}>
        <strong>{title}</strong> <b>not for navigation</b>
      </button>
    );
  }
  return (
    <button type="button" className="title-block" aria-expanded={true} title="Fold the title to one line" onClick={fold}>
      <strong>{title}</strong>
      <span>
        <i>Depths in metres below {depthsBelow(settings)}</i> · <i>frame {frame.label}</i>
      </span>
      <span>
        <i>{soundings === null ? 'Not surveyed yet' : `Surveyed ${days}`}</i> · <i>{soundings === null ? `order aimed at: ${orderName(settings.order)}` : order == null ? 'no S-44 order met' : `meets order ${orderName(order)}`}</i> ·{' '}
        {settings.invented && !/invented/i.test(settings.place) && 'invented · '}
        <b>not for navigation</b>
      </span>
      {surface !== null && <span>Tints change at {dangerDepths(surface.depthMaxM).join(', ')} m{summary.contours === null ? '' : `; contours every ${summary.contours.intervalM} m`}</span>}
    </button>
  );
}
