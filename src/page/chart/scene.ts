import { NO_ROWS } from '../select/rows.js';
import { runEnds } from '../../lines/line-plan.js';
import type { ScreenState, SessionState, SurveyState } from '../state/stores.js';
import { dangerDepths } from './danger-depths.js';
import { crossingMarks } from './crossing-marks.js';
import { placesOf } from './fit-view.js';
import { LabelBook } from './label-book.js';
import { LineBook } from './line-book.js';
import type { TrialsState } from '../state/trials.js';
import type { InkScene } from './paint-ink.js';
import { TrialMarkBook } from './trial-marks.js';

/** Remembers what was made from which inputs, so that a hover or a zoom makes nothing anew. */
function remembered<A extends readonly unknown[], R>(make: (...inputs: A) => R): (...inputs: A) => R {
  let last: { readonly inputs: A; readonly result: R } | null = null;
  return (...inputs) => {
    if (last === null || last.inputs.some((input, i) => !Object.is(input, inputs[i]))) last = { inputs, result: make(...inputs) };
    return last.result;
  };
}

type Inputs = Pick<SurveyState, 'soundings' | 'index' | 'reasonVersion' | 'shapes' | 'surface' | 'summary' | 'track' | 'crossings'>;

/** Makes the scene of the chart from the state; each part only when what it is made from changed. */
export function sceneMaker(): (survey: Inputs, session: Pick<SessionState, 'plan' | 'selection'>, screen: ScreenState, trials: TrialsState, hovered: string | null) => InkScene {
  const markBook = remembered((loaded: TrialsState['loaded']) => (loaded === null ? null : new TrialMarkBook(loaded)));
  const trialMarks = remembered((loaded: TrialsState['loaded'], shown: TrialsState['shown']) => markBook(loaded)?.marks(shown) ?? []);
  const trialTrack = remembered((loaded: TrialsState['loaded']) => (loaded === null ? null : new LineBook(loaded.track)));
  const plan = remembered((shapes: TrialsState['plan']) => shapes.flatMap(({ parts, properties }) => parts.map((line) => ({ line, label: String(properties['label'] ?? properties['number'] ?? '') }))));
  const trialScene = remembered((loaded: TrialsState['loaded'], shown: TrialsState['shown'], selected: string | null, hovered: string | null, lit: readonly string[], shapes: TrialsState['plan'], planPoints: TrialsState['planPoints']) => ({ marks: trialMarks(loaded, shown), selected, hovered, lit, plan: plan(shapes), planPoints }));
  const labels = remembered((soundings: Inputs['soundings'], index: Inputs['index'], version: number) => (soundings === null || version < 0 ? null : new LabelBook(soundings, index)));
  const track = remembered((lines: Inputs['track']) => (lines === null ? null : new LineBook(lines)));
  const crossings = remembered((found: Inputs['crossings'], soundings: Inputs['soundings'], index: Inputs['index'], version: number) => (found === null || version < 0 ? null : crossingMarks(found, soundings, index)));
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
  const scene = (survey: Inputs, session: Pick<SessionState, 'plan' | 'selection'>, screen: ScreenState): InkScene => ({
    soundings: survey.soundings,
    labels: labels(survey.soundings, survey.index, survey.reasonVersion),
    track: track(survey.track),
    trials: null,
    crossings: screen.showCrossings && screen.stage !== 'lines' && screen.stage !== 'boat' ? crossings(survey.crossings, survey.soundings, survey.index, survey.reasonVersion) : null,
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
  return (survey, session, screen, trials, hovered) => {
    const whole = scene(survey, session, screen);
    if (screen.stage !== 'boat' || (trials.loaded === null && trials.plan.length + trials.planPoints.length === 0)) return whole;
    const drawn = trialScene(trials.loaded, trials.shown, trials.selected, hovered, trials.lit, trials.plan, trials.planPoints);
    if (trials.loaded === null) return { ...whole, trials: drawn };
    // Where trials are looked at, soundings and plans stand back; the shore, the keep-outs and the tints stay.
    return { ...whole, trials: drawn, labels: null, contours: null, track: trialTrack(trials.loaded), gaps: [], fillIn: [], planLines: [], selection: NO_ROWS, show: { ...whole.show, setAside: false, lines: false, areaLimit: false, planning: true } };
  };
}

/** Places of all there is to see, for a view that holds it: the survey where there is one, else the track as run. */
export function placesOfAll(survey: Inputs, plan: SessionState['plan'], trials: TrialsState | null = null): Float64Array {
  // At the Boat stage the trials are what there is to see.
  if (trials !== null && trials.loaded !== null) return placesOf(trials.loaded.track, [], [], () => false);
  const parts: Float64Array[] = [];
  for (const shape of [...survey.shapes.area, ...survey.shapes.gaps, ...survey.shapes.lines]) parts.push(...shape.parts);
  for (const rings of plan?.area ?? []) parts.push(...rings);
  const { soundings } = survey;
  if (soundings === null || soundings.n === 0) parts.push(...(survey.track ?? []));
  return placesOf(parts, soundings?.xM ?? [], soundings?.yM ?? [], (row) => soundings?.reason[row] === 0);
}
