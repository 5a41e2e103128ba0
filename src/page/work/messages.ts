import type { DrawnKeepOut } from '../../geo/keep-out-properties.js';
import type { BoatCard } from '../../boat/boat-card.js';
import type { BoatQuestion, BoatReply } from '../../boat/ask-card.js';
import type { Polygon } from '../../geo/shapes.js';
import type { LineOptions, LinePlan } from '../../lines/line-plan.js';
import type { FrameSetting } from '../../geo/frame.js';
import type { TintColours } from '../chart/tint.js';
import type { DraftSorties, GroundSettings, LinesFault, RehearseMessages } from './rehearse-messages.js';
import type { CrossingStanding, LineAgreement } from '../../depths/line-offsets.js';
import type { DepthsMessages } from './depths-messages.js';
import type { ImageryMessages } from './imagery-messages.js';
import type { PurposeMessages } from './purpose-messages.js';
import type { Soundings } from '../../depths/soundings.js';
import type { CardOptions } from '../../boat/make-card.js';
import type { IntendedLine } from '../../boat/track-keeping.js';
import type { Trial, TrialKind } from '../../boat/trial-log.js';
import type { Plot, PlotWanted } from '../plots/plot.js';
import type { LoadedTrials } from './read-trials.js';

/** Every message the page may send to a worker: what it asks, and what comes back. */
export interface WorkMessages extends RehearseMessages, DepthsMessages, ImageryMessages, PurposeMessages {
  /** Reads derived/soundings.parquet and indexes it by place. Null where there is none. */
  readonly loadSoundings: { readonly request: { readonly url: string }; readonly response: LoadedSoundings | null };
  /** Reads the depth band of a surface and keeps it for `tint`. Null where there is none. */
  readonly loadSurface: { readonly request: { readonly url: string }; readonly response: SurfaceInfo | null };
  /** Paints a window of the surface kept by `loadSurface`. Null where none is kept. */
  readonly tint: { readonly request: TintRequest; readonly response: { readonly image: ImageBitmap } | null };
  /** Reads a GeoJSON file into the survey frame. Null where there is none. */
  readonly loadShapes: { readonly request: { readonly url: string; readonly frame: FrameSetting }; readonly response: LoadedShapes | null };
  /** Reads derived/tracks.parquet as lines, broken by silence and by jumps. Null where there is none. */
  readonly loadTrack: { readonly request: { readonly url: string }; readonly response: LoadedTrack | null };
  /** Reads derived/crossings.json. Null where there is none. */
  readonly loadCrossings: { readonly request: { readonly url: string }; readonly response: LoadedCrossings | null };
  /** What the boat can do by its card. */
  readonly askBoat: { readonly request: AskRequest; readonly response: AskedBoat };
  /** Reads the trials and their log, and keeps the log for `measureTrials`. Null where there are none. */
  readonly loadTrials: { readonly request: { readonly trialsUrl: string; readonly logUrl: string }; readonly response: LoadedTrials | null };
  /** The card and the plots that windows of the log give. Null where no log is kept. */
  readonly measureTrials: { readonly request: MeasureRequest; readonly response: MeasuredWindows | null };
  /** Main and cross lines of an area, with the code the survey steps use. */
  readonly planLines: { readonly request: PlanRequest; readonly response: PlannedLines | LinesFault };
}

export type WorkKind = keyof WorkMessages;

export interface LoadedSoundings {
  readonly soundings: Soundings;
  /** The bytes of a kdbush index over place; soundings without a place are far outside. */
  readonly index: ArrayBuffer;
  readonly bytes: number;
}

export interface LoadedTrack {
  /** [x0, y0, x1, y1, ...] each, in the survey frame [m]. */
  readonly lines: readonly Float64Array[];
}

/** Where lines cross. Columns, one row a crossing. Shape [n]. */
export interface LoadedCrossings {
  readonly n: number;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** Depth of the later run less that of the earlier [m]. */
  readonly differenceM: Float64Array;
  readonly lineA: Int32Array;
  readonly lineB: Int32Array;
  /** Depths of the earlier and the later run there [m], and when each was there, UTC [s]; NaN where an older file does not say. */
  readonly depthAM: Float64Array;
  readonly depthBM: Float64Array;
  readonly timeAS: Float64Array;
  readonly timeBS: Float64Array;
  readonly pairs: readonly { readonly lineA: number; readonly lineB: number; readonly count: number; readonly meanM: number; readonly p95M: number }[];
  readonly lines: readonly LineAgreement[];
  readonly standing: CrossingStanding | null;
  /** What may lie behind the differences, the likeliest first. */
  readonly causes: readonly { readonly kind: string; readonly words: string; /** UTC [s]; NaN for none. */ readonly timeS: number; /** -1 for none. */ readonly line: number; /** Of the differences' squares [0..1]; NaN unknown. */ readonly share: number }[];
}

export interface SurfaceInfo {
  readonly westM: number;
  readonly northM: number;
  readonly cellM: number;
  readonly cols: number;
  readonly rows: number;
  readonly depthMinM: number;
  readonly depthMaxM: number;
}

export interface TintRequest {
  readonly westM: number;
  readonly northM: number;
  readonly metresPerPixel: number;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly dangerM: readonly [number, number, number];
  readonly colours: TintColours;
}

/** Shapes of a GeoJSON file in the survey frame: rings and lines as flat vertices. */
export interface LoadedShapes {
  readonly shapes: readonly {
    readonly kind: 'line' | 'polygon';
    /** For a polygon its rings, the outer one first. */
    readonly parts: readonly Float64Array[];
    readonly properties: Readonly<Record<string, unknown>>;
  }[];
}

export interface PlanRequest {
  readonly frame: FrameSetting;
  readonly area: readonly Polygon[];
  readonly keepouts: readonly DrawnKeepOut[];
  readonly options: LineOptions;
  /** By what keep-outs by tide open: when the first sortie leaves (UTC [s], null: not decided) and the water the boat needs [m]; the level is that of `keepGround`. */
  readonly tide: { readonly startS: number | null; readonly needM: number };
  /** The spacing follows the depth as `derivePurpose` last had it, where it stands as derived. */
  readonly byDepth: boolean;
  /** Sorties are planned too, on the ground kept by `keepGround`; null: lines only. */
  readonly settings: GroundSettings | null;
}

export interface AskRequest {
  readonly card: BoatCard;
  readonly question: BoatQuestion;
}

/** Curves against speed through the water. Shape of each column: [n]; NaN where the boat makes no way or the card does not tell. */
export interface BoatCurves {
  readonly speedMps: Float64Array;
  readonly powerW: Float64Array;
  readonly power95W: Float64Array;
  readonly enduranceH: Float64Array;
  readonly endurance95H: Float64Array;
  readonly rangeKm: Float64Array;
  readonly range95Km: Float64Array;
}

export interface AskedBoat {
  readonly reply: BoatReply;
  readonly curves: BoatCurves;
}

/** What the user wants of one trial, as it is posted. */
export interface TrialEdit {
  readonly change: 'move' | 'add' | 'drop';
  /** Id of the trial; of an added one its kind and start second. */
  readonly trial: string;
  readonly trialKind: TrialKind;
  readonly startS: number;
  readonly endS: number;
}

export interface MeasureRequest {
  readonly boat: CardOptions;
  readonly lines: Readonly<Record<string, IntendedLine>>;
  readonly trials: readonly Trial[];
  /** In the order they were made. */
  readonly edits: readonly TrialEdit[];
  readonly plots: readonly PlotWanted[];
}

export interface MeasuredWindows {
  readonly card: BoatCard;
  /** The trials with the edits done. */
  readonly trials: readonly Trial[];
  readonly plots: readonly Plot[];
  /** How long the card took [ms]. */
  readonly tookMs: number;
}

export interface PlannedLines {
  readonly plan: LinePlan;
  /** Null where none were asked for. */
  readonly sorties: DraftSorties | null;
  /** How long the planning took, and how much of it the lines [ms]. */
  readonly tookMs: number;
  readonly linesMs: number;
}

/** What goes over the wire to a worker. */
export type ToWorker =
  | { readonly id: number; readonly kind: WorkKind; readonly request: unknown }
  | { readonly id: number; readonly kind: 'abort' };

/** What comes back: any number of progress notes, then one answer. */
export type FromWorker =
  | { readonly id: number; readonly progress: number; readonly detail: string }
  | { readonly id: number; readonly done: unknown }
  | { readonly id: number; readonly failed: string; readonly cancelled: boolean };
