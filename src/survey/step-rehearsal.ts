import { rehearsalSetting } from '../rehearse/ground.js';
import { UseError } from '../base/errors.js';
import { throwIfCancelled } from '../base/progress.js';
import { boatModel, type BoatModel } from '../boat/boat-model.js';
import type { Frame } from '../geo/frame.js';
import { writeGeoJson } from '../formats/geojson-write.js';
import { writeParquet, type Column } from '../formats/parquet-columns.js';
import type { Sortie } from '../lines/sortie.js';
import { MISHAP_CLAUSES, verdictWord } from '../rehearse/moment-words.js';
import { worstInWords } from './rehearsal-words.js';
import { rehearseFully } from '../rehearse/rehearse-fully.js';
import { OUTCOMES, type Mishap, type MomentOutcomes, type Rehearsal, type RehearsalColumns, type RehearsalRequest, type WorstMoment } from '../rehearse/rehearsal.js';
import { makeAtomic, writeMade } from './atomic-file.js';
import { CARD_PLACE } from './boat-places.js';
import { PLACES, placeIn, readTextIfThere } from './folder.js';
import { paintedBy, type Painted } from './painted.js';
import type { Settings } from './settings.js';
import { groundFiles, sortieGround, startOf, type SortieGround } from './sortie-ground.js';
import { MOMENTS_PLACE, REHEARSAL_COLUMNS_PLACE, REHEARSAL_PLACE, REHEARSED_HOLES_PLACE } from './sortie-places.js';
import { readCard } from './step-boat.js';
import type { Made, Step, StepWork } from './step-graph.js';
import { readSorties } from './step-sorties.js';
import type { RehearsalSummary } from './summary.js';

/** One sortie rehearsed. */
export interface RehearsedSortie {
  readonly sortie: Sortie;
  readonly rehearsal: Rehearsal;
  readonly moments: MomentOutcomes;
}

/** All sorties, one after the other with the battery changed between them. */
export function rehearseAll(sorties: readonly Sortie[], ground: SortieGround, settings: Settings, boat: RehearsalRequest['boat'], startS: number, progress?: (done: number) => void): RehearsedSortie[] {
  const common = rehearsalSetting(ground, settings);
  let leavesS = startS;
  return sorties.map((sortie, i) => {
    progress?.(i / sorties.length);
    const { rehearsal, moments } = rehearseFully({ ...common, sortie, boat, startS: Math.max(leavesS, sortie.notBeforeS ?? leavesS) }, { clearanceM: settings.sortie.clearanceM });
    leavesS = (Number.isFinite(rehearsal.totals.endS) ? rehearsal.totals.endS : leavesS) + settings.sortie.swapS;
    return { sortie, rehearsal, moments };
  });
}

/** derived/rehearsal.json. Places in the survey frame [m]; NaN is null. */
export interface RehearsalFile {
  readonly format: 'tallow-rehearsal';
  readonly version: 1;
  readonly summary: RehearsalSummary;
  readonly lostLink: string;
  readonly current: string;
  readonly link: { readonly why: string; readonly allowanceDb: number; readonly breakDistanceM: number };
  readonly base: { readonly xM: number; readonly yM: number };
  readonly launch: { readonly xM: number; readonly yM: number };
  readonly standIns: readonly string[];
  /** How the area will be covered; words where it cannot be told; null without an area. */
  readonly painted: Painted | string | null;
  readonly sorties: readonly (Omit<Rehearsal, 'columns'> & {
    readonly number: number;
    /** Rows of derived/rehearsal.parquet and of derived/moments.parquet. */
    readonly rowStart: number;
    readonly rowEnd: number;
    readonly momentStart: number;
    readonly momentEnd: number;
    readonly worstOf: Readonly<Record<Mishap, WorstMoment>>;
    readonly worst: WorstMoment | null;
    readonly ranking: MomentOutcomes['ranking'];
    readonly turnBackByS: number;
    readonly turnBack: MomentOutcomes['turnBack'];
    readonly notes: readonly string[];
  })[];
}

/** The rehearsal as it stands in the folder; null where there is none. */
export async function readRehearsal(folder: string): Promise<RehearsalFile | null> {
  const text = await readTextIfThere(placeIn(folder, REHEARSAL_PLACE));
  return text === null ? null : (JSON.parse(text, (key, value: unknown) => (value === null && /(S|M|Mps|Deg|Db|Wh|Home|Share)$/.test(key) ? NaN : value)) as RehearsalFile | null);
}

/** The rehearsal in figures. */
export function rehearsalSummary(done: readonly RehearsedSortie[]): RehearsalSummary {
  const sorties = done.map(({ sortie, rehearsal: { verdict, totals } }) => ({
    number: sortie.number,
    go: verdict.go,
    reason: verdict.reason,
    conditions: verdict.concerns.filter(({ weight }) => weight === 'condition').map(({ text }) => text),
    startS: totals.startS,
    endS: totals.endS,
    energyWh: totals.energyWh,
    energy95Wh: totals.energy95Wh,
    energyLeftWh: totals.energyLeftWh,
    chanceHome: verdict.chanceHome,
  }));
  const stopped = sorties.find(({ go }) => !go);
  const nearest = sorties.find(({ conditions }) => conditions.length > 0) ?? [...sorties].sort((a, b) => a.chanceHome - b.chanceHome)[0];
  const named = ({ number, reason }: { readonly number: number; readonly reason: string }): string => (sorties.length === 1 ? reason : `sortie ${number}: ${reason}`);
  const worst = done
    .flatMap(({ sortie, moments }) => (moments.worst === null || OUTCOMES.indexOf(moments.worst.outcome) < OUTCOMES.indexOf('drifts') ? [] : [{ number: sortie.number, moment: moments.worst }]))
    .sort((a, b) => OUTCOMES.indexOf(b.moment.outcome) - OUTCOMES.indexOf(a.moment.outcome))[0];
  const last = sorties[sorties.length - 1];
  return {
    go: stopped === undefined,
    word: verdictWord(done.map(({ rehearsal }) => rehearsal.verdict)),
    reason: stopped !== undefined ? named(stopped) : nearest === undefined ? 'there are no sorties' : named(nearest),
    startS: sorties[0]?.startS ?? NaN,
    endS: last?.endS ?? NaN,
    sorties,
    worst: worst === undefined ? null : { sortie: worst.number, timeS: worst.moment.timeS, xM: worst.moment.xM, yM: worst.moment.yM, text: worstInWords(worst.moment) },
  };
}

const COLUMNS = ['timeS', 'xM', 'yM', 'headingDeg', 'speedOverGroundMps', 'speedThroughWaterMps', 'legIndex', 'energyWh', 'energy95Wh', 'waterUnderM', 'currentMps', 'currentSetDeg', 'crossTrackM', 'linkMarginDb', 'sunAltitudeDeg'] as const satisfies readonly (keyof RehearsalColumns)[];

function joined<Kind extends Float64Array | Float32Array | Int32Array | Uint8Array>(parts: readonly Kind[]): Kind {
  const first = parts[0]!;
  const all = new (first.constructor as new (n: number) => Kind)(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part as never, at);
    at += part.length;
  }
  return all;
}

function columnsOf(done: readonly RehearsedSortie[], frame: Frame): Column[] {
  const number = joined(done.map(({ sortie, rehearsal }) => new Int32Array(rehearsal.columns.n).fill(sortie.number)));
  const columns = COLUMNS.map((name): Column => ({ name, data: joined(done.map(({ rehearsal }) => rehearsal.columns[name].subarray(0, rehearsal.columns.n) as Float64Array)) }));
  return [{ name: 'sortie', data: number }, ...columns, ...lonLat(columns[1]!.data as Float64Array, columns[2]!.data as Float64Array, frame)];
}

function momentColumns(done: readonly RehearsedSortie[], frame: Frame): Column[] {
  const number = joined(done.map(({ sortie, moments }) => new Int32Array(moments.n).fill(sortie.number)));
  const of = (pick: (moments: MomentOutcomes) => Float64Array): Float64Array => joined(done.map(({ moments }) => pick(moments)));
  const xM = of((moments) => moments.xM);
  const yM = of((moments) => moments.yM);
  const mishaps = Object.keys(MISHAP_CLAUSES) as Mishap[];
  return [
    { name: 'sortie', data: number },
    { name: 'timeS', data: of((moments) => moments.timeS) },
    { name: 'xM', data: xM },
    { name: 'yM', data: yM },
    ...lonLat(xM, yM, frame),
    ...mishaps.flatMap((name): Column[] => [
      { name: `${name}:outcome`, data: joined(done.map(({ moments }) => moments.outcomes[name].outcome)) },
      { name: `${name}:timeS`, data: of((moments) => moments.outcomes[name].timeS) },
      { name: `${name}:xM`, data: of((moments) => moments.outcomes[name].xM) },
      { name: `${name}:yM`, data: of((moments) => moments.outcomes[name].yM) },
      { name: `${name}:energyLeftWh`, data: of((moments) => moments.outcomes[name].energyLeftWh) },
    ]),
  ];
}

function lonLat(xM: Float64Array, yM: Float64Array, frame: Frame): Column[] {
  const latDeg = new Float64Array(xM.length);
  const lonDeg = new Float64Array(xM.length);
  for (let i = 0; i < xM.length; i++) [latDeg[i], lonDeg[i]] = frame.toGeographic(xM[i]!, yM[i]!);
  return [{ name: 'latDeg', data: latDeg }, { name: 'lonDeg', data: lonDeg }];
}

/** What the rehearsal of a folder is made from, for the field sheet and the command line. @throws UseError saying what is missing */
export async function rehearsalOf(work: Pick<StepWork, 'folder' | 'settings' | 'context'>): Promise<{ readonly ground: SortieGround; readonly done: readonly RehearsedSortie[]; readonly boat: BoatModel } | null> {
  const { folder, settings } = work;
  const startS = startOf(settings);
  const plan = settings.sortie.launch === null ? null : await readSorties(folder);
  if (startS === null || plan === null || plan.sorties.length === 0) return null;
  const ground = await sortieGround(folder, settings);
  const boat = boatModel(await readCard(folder));
  const done = rehearseAll(plan.sorties, ground, settings, boat, startS, (share) => {
    throwIfCancelled(work.context.signal);
    work.context.progress?.('rehearsal', share);
  });
  return { ground, done, boat };
}

/** The rehearsal, where sorties are planned and the start is decided. */
export const stepRehearsal: Step = {
  name: 'rehearsal',
  version: 4,
  after: ['sorties'],
  settings: ['sortie', 'rehearse', 'link', 'water.current', 'water.level', 'frame', 'lines', 'gaps', 'sounder'],
  files: (work) => [PLACES.area, PLACES.keepouts, PLACES.shore, CARD_PLACE, ...groundFiles(work.settings)],
  async run(work): Promise<Made> {
    const { folder, settings } = work;
    const put = async (place: string, text: string): Promise<Made> => ({ [place]: await writeMade(placeIn(folder, place), text) });
    let made: Awaited<ReturnType<typeof rehearsalOf>>;
    try {
      made = await rehearsalOf(work);
    } catch (error) {
      if (error instanceof UseError) return put(REHEARSAL_PLACE, 'null\n');
      throw error;
    }
    if (made === null) return put(REHEARSAL_PLACE, 'null\n');
    const { ground, done, boat } = made;
    const painted = await paintedBy(folder, settings, done, ground, boat);
    let row = 0;
    let moment = 0;
    const file: RehearsalFile = {
      format: 'tallow-rehearsal',
      version: 1,
      summary: rehearsalSummary(done),
      lostLink: settings.rehearse.lostLink,
      current: ground.current.source,
      link: { why: ground.link.why, allowanceDb: ground.link.allowanceDb, breakDistanceM: ground.link.breakDistanceM },
      base: ground.base,
      launch: ground.launch,
      standIns: boat.standIns,
      painted: painted.told,
      sorties: done.map(({ sortie, rehearsal: { columns, ...rest }, moments }) => {
        const rowStart = row;
        const momentStart = moment;
        row += columns.n;
        moment += moments.n;
        const { worstOf, worst, ranking, turnBackByS, turnBack, notes } = moments;
        return { number: sortie.number, rowStart, rowEnd: row, momentStart, momentEnd: moment, ...rest, worstOf, worst, ranking, turnBackByS, turnBack, notes };
      }),
    };
    return {
      ...(await put(REHEARSAL_PLACE, `${JSON.stringify(file, null, 1)}\n`)),
      ...(await put(REHEARSED_HOLES_PLACE, writeGeoJson(painted.outlines))),
      [REHEARSAL_COLUMNS_PLACE]: await makeAtomic(placeIn(folder, REHEARSAL_COLUMNS_PLACE), (sink) => writeParquet(sink, columnsOf(done, ground.frame))),
      [MOMENTS_PLACE]: await makeAtomic(placeIn(folder, MOMENTS_PLACE), (sink) => writeParquet(sink, momentColumns(done, ground.frame))),
    };
  },
};
