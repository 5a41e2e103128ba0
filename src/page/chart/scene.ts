import { runEnds } from '../../lines/line-plan.js';
import type { ScreenState, SessionState, SurveyState } from '../state/stores.js';
import { dangerDepths } from './danger-depths.js';
import { LabelBook, boxOfGood } from './label-book.js';
import { LineBook } from './line-book.js';
import type { InkScene } from './paint-ink.js';
import { trackLines } from './simplify.js';
import { boxOf } from './viewport.js';

/** A longer silence breaks the track [s]. */
const TRACK_GAP_S = 10;

/** Remembers what was made from which inputs, so that a hover or a zoom makes nothing anew. */
function remembered<A extends readonly unknown[], R>(make: (...inputs: A) => R): (...inputs: A) => R {
  let last: { readonly inputs: A; readonly result: R } | null = null;
  return (...inputs) => {
    if (last === null || last.inputs.some((input, i) => !Object.is(input, inputs[i]))) last = { inputs, result: make(...inputs) };
    return last.result;
  };
}

type Inputs = Pick<SurveyState, 'soundings' | 'index' | 'reasonVersion' | 'shapes' | 'surface' | 'summary'>;

/** Makes the scene of the chart from the state; each part only when what it is made from changed. */
export function sceneMaker(): (survey: Inputs, session: Pick<SessionState, 'plan' | 'selection'>, screen: ScreenState) => InkScene {
  const labels = remembered((soundings: Inputs['soundings'], index: Inputs['index'], version: number) => (soundings === null || version < 0 ? null : new LabelBook(soundings, index)));
  const track = remembered((soundings: Inputs['soundings']) =>
    soundings === null ? null : new LineBook(trackLines(soundings.timeS, soundings.xM, soundings.yM, (row) => soundings.ruleReason[row] !== 1 && soundings.ruleReason[row] !== 2, TRACK_GAP_S)),
  );
  const setAside = remembered((soundings: Inputs['soundings'], version: number) => {
    const rows: number[] = [];
    if (soundings !== null && version >= 0) for (let i = 0; i < soundings.n; i++) if (soundings.reason[i] !== 0 && Number.isFinite(soundings.xM[i])) rows.push(i);
    return Int32Array.from(rows);
  });
  const contours = remembered((shapes: SurveyState['shapes']['contours']) =>
    shapes.length === 0 ? null : { book: new LineBook(shapes.flatMap((shape) => shape.parts)), depthM: shapes.flatMap((shape) => shape.parts.map(() => Number(shape.properties['depthM']))) },
  );
  const savedLines = remembered((shapes: SurveyState['shapes']['lines']) => shapes.flatMap((shape) => shape.parts.map((vertices) => ({ vertices, kind: String(shape.properties['kind'] ?? 'main'), number: Number(shape.properties['number'] ?? 0) }))));
  const draftLines = remembered((plan: SessionState['plan']) =>
    (plan?.planned === null || plan === null ? [] : [...plan.planned.plan.main, ...plan.planned.plan.cross]).map((line) => {
      const { fromXM, fromYM, toXM, toYM } = runEnds(line);
      return { vertices: Float64Array.of(fromXM, fromYM, toXM, toYM), kind: line.kind as string, number: line.number };
    }),
  );
  const savedArea = remembered((shapes: SurveyState['shapes']['area']) => shapes.filter((shape) => shape.kind === 'polygon').map((shape) => shape.parts));
  const fillIn = remembered((shapes: SurveyState['shapes']['fillIn']) => shapes.flatMap((shape) => shape.parts));
  const danger = remembered((deepest: number) => dangerDepths(deepest));
  return (survey, session, screen) => ({
    soundings: survey.soundings,
    labels: labels(survey.soundings, survey.index, survey.reasonVersion),
    track: track(survey.soundings),
    contours: contours(survey.shapes.contours),
    dangerM: danger(survey.surface?.depthMaxM ?? survey.summary?.soundings?.depthMaxM ?? 10),
    shore: survey.shapes.shore,
    area: session.plan?.changed === true ? session.plan.area : savedArea(survey.shapes.area),
    keepouts: survey.shapes.keepouts,
    gaps: survey.shapes.gaps,
    planLines: session.plan?.changed === true ? draftLines(session.plan) : savedLines(survey.shapes.lines),
    fillIn: fillIn(survey.shapes.fillIn),
    setAside: setAside(survey.soundings, survey.reasonVersion),
    selection: session.selection,
    reserved: [],
    show: { setAside: screen.showSetAside && screen.stage !== 'lines', planning: screen.stage === 'lines', track: screen.showTrack, lines: screen.showLines || screen.stage === 'lines', fillIn: screen.stage === 'depths' || screen.stage === 'lines', areaLimit: true },
  });
}

/** The box of all there is to see; null for nothing. */
export function boxOfAll(survey: Inputs, plan: SessionState['plan']): ReturnType<typeof boxOf> {
  const parts: Float64Array[] = [];
  for (const shape of [...survey.shapes.area, ...survey.shapes.gaps, ...survey.shapes.lines]) parts.push(...shape.parts);
  for (const rings of plan?.area ?? []) parts.push(...rings);
  const good = survey.soundings === null ? null : boxOfGood(survey.soundings);
  if (good !== null) parts.push(Float64Array.of(good.westM, good.southM, good.eastM, good.northM));
  return boxOf(parts);
}
