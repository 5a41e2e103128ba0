import type { JobState, JournalEntry, ServerState, SurveySummary, TakeInResult } from '../../server/api.js';
import type { Soundings } from '../../depths/soundings.js';
import type { Frame } from '../../geo/frame.js';
import type KDBush from 'kdbush';
import type { ChartTool } from '../chart/chart-tool.js';
import type { LoadedCrossings, LoadedShapes, SurfaceInfo, PlannedLines } from '../work/messages.js';
import type { Lockable } from '../../lines/purpose-values.js';
import type { Settings } from '../../survey/settings.js';
import type { DerivedForPage } from '../work/purpose-messages.js';
import { NO_ROWS } from '../select/rows.js';
import type { Stage } from '../words/stages.js';
import { createStore } from './store.js';

/** State of the survey: what is in the folder, as last fetched. */
export interface SurveyState {
  readonly server: ServerState | null;
  readonly summary: SurveySummary | null;
  readonly journal: readonly JournalEntry[];
  readonly frame: Frame | null;
  readonly soundings: Soundings | null;
  readonly index: KDBush | null;
  /** Counts up whenever `soundings.reason` is changed in place. */
  readonly reasonVersion: number;
  readonly surface: SurfaceInfo | null;
  /** The track as run, as lines [m]. */
  readonly track: readonly Float64Array[] | null;
  readonly crossings: LoadedCrossings | null;
  readonly shapes: Readonly<Record<ShapeFile, LoadedShapes['shapes']>>;
  readonly loading: string | null;
  readonly error: string | null;
  readonly linkUp: boolean;
  /** Where a survey without a place is to begin. */
  readonly startPlace: { readonly latDeg: number; readonly lonDeg: number } | null;
}

export const SHAPE_FILES = {
  area: 'plan/area.geojson',
  keepouts: 'plan/keepouts.geojson',
  shore: 'plan/shore.geojson',
  lines: 'plan/lines.geojson',
  contours: 'derived/contours.geojson',
  gaps: 'derived/gaps.geojson',
  fillIn: 'derived/fill-in.geojson',
  rehearsedHoles: 'derived/rehearsed-holes.geojson',
} as const;
export type ShapeFile = keyof typeof SHAPE_FILES;

export const survey = createStore<SurveyState>({
  server: null,
  summary: null,
  journal: [],
  frame: null,
  soundings: null,
  index: null,
  reasonVersion: 0,
  surface: null,
  track: null,
  crossings: null,
  shapes: { area: [], keepouts: [], shore: [], lines: [], contours: [], gaps: [], fillIn: [], rehearsedHoles: [] },
  loading: 'the survey',
  error: null,
  linkUp: true,
  startPlace: null,
});

/** State of the session: what this page is in the middle of; gone on reload. */
export interface SessionState {
  readonly jobs: readonly JobState[];
  readonly upload: { readonly name: string; readonly done: number } | null;
  readonly takenIn: readonly TakeInResult[];
  /** Something that went wrong with the user's last action, in plain words. */
  readonly trouble: string | null;
  /** Said to screen readers, and shown beside the undo button. */
  readonly said: string;
  /** Rows of soundings, ascending. */
  readonly selection: Int32Array;
  /** Why the selected soundings are to be set aside or restored, as written so far. */
  readonly note: string;
  readonly plan: PlanDraft | null;
}

/** An area and its lines as they stand on the chart, before they are saved. */
export interface PlanDraft {
  /** Rings in the survey frame, per polygon, closed. */
  readonly area: readonly (readonly Float64Array[])[];
  readonly options: PlanOptions;
  readonly purpose: PurposeDraft;
  readonly planned: PlannedLines | null;
  readonly changed: boolean;
  readonly fault: string | null;
  /** Shapes that show the fault on the chart [m]. */
  readonly where: readonly Float64Array[];
}

/** What the lines of the draft are for, and what that makes of them. */
export interface PurposeDraft {
  readonly purpose: Settings['lines']['purpose'];
  readonly sensor: Settings['lines']['sensor'];
  readonly depthM: number | null;
  readonly locked: readonly Lockable[];
  /** Null where the lines are the crew's own, or a figure is missing: `fault` then says which. */
  readonly derived: DerivedForPage | null;
  readonly fault: string | null;
}

export interface PlanOptions {
  readonly spacingM: number;
  readonly headingDeg: number | null;
  readonly crossShare: number;
  readonly runInM: number;
  readonly runOutM: number;
  readonly speedMps: number;
}

export const session = createStore<SessionState>({ jobs: [], upload: null, takenIn: [], trouble: null, said: '', selection: NO_ROWS, note: '', plan: null });

/** State of the screen: how it is looked at; kept in this browser. */
export interface ScreenState {
  readonly stage: Stage;
  readonly dusk: boolean;
  readonly showSetAside: boolean;
  readonly showTrack: boolean;
  readonly showLines: boolean;
  readonly showCrossings: boolean;
  /** The chart's title on one line. */
  readonly titleFolded: boolean;
  readonly tool: ChartTool;
}

export const screen = createStore<ScreenState>({ stage: 'depths', dusk: false, showSetAside: true, showTrack: true, showLines: true, showCrossings: false, titleFolded: false, tool: 'look' });

/** The sounding under the pointer, -1 for none, and who points. */
export const hover = createStore<{ readonly row: number; readonly from: 'chart' | 'strip' | 'keys' | 'profile' | 'points' }>({ row: -1, from: 'chart' });

/** The crossing under the pointer, -1 for none. */
export const crossingHover = createStore<number>(-1);

const KEPT: readonly (keyof ScreenState)[] = ['stage', 'dusk', 'showSetAside', 'showTrack', 'showLines', 'showCrossings', 'titleFolded'];

/** Reads the kept part of the screen's state and keeps it up to date. */
export function keepScreen(storage: Storage): void {
  try {
    const kept = JSON.parse(storage.getItem('tallow-screen') ?? '{}') as Partial<ScreenState>;
    screen.update((now) => ({ ...now, ...Object.fromEntries(KEPT.flatMap((key) => (typeof kept[key] === typeof now[key] ? [[key, kept[key]]] : []))) }));
  } catch {
    // A browser that forbids storage, or another program's text: the defaults stand.
  }
  screen.watch(() => {
    const now = screen.get();
    try {
      storage.setItem('tallow-screen', JSON.stringify(Object.fromEntries(KEPT.map((key) => [key, now[key]]))));
    } catch {
      // Not kept; nothing else depends on it.
    }
  });
}
