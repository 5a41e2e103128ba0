import type { FrameSetting } from '../../geo/frame.js';
import type { DrawnKeepOut } from '../../geo/keep-out-properties.js';
import type { Polygon } from '../../geo/shapes.js';
import type { SortiePlan } from '../../lines/sortie.js';
import type { LegRun, LineRun, MomentOutcomes, RehearsalColumns, RehearsalStop, RehearsalTotals, Verdict } from '../../rehearse/rehearsal.js';
import type { BestStart } from '../../rehearse/start-search.js';
import type { Settings } from '../../survey/settings.js';

/** What the page asks of a worker about sorties and their rehearsal, and what comes back. */
export interface RehearseMessages {
  /** Reads plan/sorties.json. Null where there is none. */
  readonly loadSorties: { readonly request: { readonly url: string }; readonly response: SortiePlan | null };
  /** Reads what the folder's own rehearsal found. Null where there is none. */
  readonly loadRehearsal: { readonly request: { readonly rehearsalUrl: string; readonly columnsUrl: string; readonly momentsUrl: string }; readonly response: ShownRehearsal | null };
  /** Keeps the place, the boat and the files of water and bottom for the three below. */
  readonly keepGround: { readonly request: GroundRequest; readonly response: KeptGround };
  /** Rehearses sorties one after the other with the battery changed between them. */
  readonly rehearse: { readonly request: LiveRequest; readonly response: LiveAnswer };
  /** Looks for the best start in a span. */
  readonly findStart: { readonly request: FindRequest; readonly response: FoundStarts };
  /** Where the link's margin comes to nothing. */
  readonly linkMap: { readonly request: LinkMapRequest; readonly response: LinkMap };
}

/** The settings that sorties and rehearsals are made with. */
export type GroundSettings = Pick<Settings, 'sortie' | 'rehearse' | 'link' | 'water' | 'lines'>;

export interface GroundRequest {
  readonly frame: FrameSetting;
  readonly keepouts: readonly DrawnKeepOut[];
  readonly land: readonly Polygon[];
  readonly settings: GroundSettings;
  /** The raster of depths is read too; planning does without. */
  readonly depths: boolean;
}

export interface KeptGround {
  /** Why nothing can be rehearsed on this page, in plain words; null where it can. */
  readonly fault: string | null;
  /** Figures that stand in for what was not measured on the boat. */
  readonly standIns: readonly string[];
}

export interface LiveRequest {
  readonly settings: GroundSettings;
  readonly sorties: SortiePlan['sorties'];
  readonly startS: number;
  readonly effort: 'quick' | 'full';
  /** What would come of mishaps is worked out too; only with full effort. */
  readonly moments: boolean;
}

export type LiveAnswer = { readonly shown: ShownRehearsal; readonly tookMs: number } | { readonly fault: string };

/** One sortie rehearsed, as the page shows it. */
export interface ShownSortie {
  readonly number: number;
  readonly verdict: Verdict;
  readonly totals: RehearsalTotals;
  readonly legs: readonly LegRun[];
  readonly lines: readonly LineRun[];
  readonly track95M: number;
  readonly stopped: RehearsalStop | null;
  readonly columns: RehearsalColumns;
  /** Null where mishaps were not worked out. */
  readonly moments: MomentOutcomes | null;
}

export interface ShownRehearsal {
  /** `saved`: what the folder has; else made on this page, not kept. */
  readonly from: 'saved' | 'quick' | 'full';
  readonly sorties: readonly ShownSortie[];
  /** Figures that stand in for what was not measured on the boat. */
  readonly standIns: readonly string[];
  readonly current: string;
  readonly lostLink: string;
  readonly linkWhy: string;
  readonly linkAllowanceDb: number;
}

export interface FindRequest {
  readonly settings: GroundSettings;
  readonly sorties: SortiePlan['sorties'];
  readonly fromS: number;
  readonly toS: number;
  readonly stepS: number;
}

export interface FoundStarts extends Pick<BestStart, 'startS' | 'windows' | 'why' | 'limits' | 'margin' | 'nextS'> {
  readonly stepS: number;
}

export interface LinkMapRequest {
  readonly settings: GroundSettings;
  readonly westM: number;
  readonly southM: number;
  readonly eastM: number;
  readonly northM: number;
}

export interface LinkMap {
  /** Where the margin is 0 dB, and where it is what keeps the link 95 times of 100: [x0, y0, x1, y1, ...] each [m]. */
  readonly none: readonly Float64Array[];
  readonly sure: readonly Float64Array[];
  readonly allowanceDb: number;
  readonly why: string;
}

/** Sorties of lines that are being planned. */
export interface DraftSorties {
  readonly plan: SortiePlan | null;
  /** What keeps them from being planned, and where to draw it. */
  readonly fault: string | null;
  readonly where: readonly Float64Array[];
  readonly tookMs: number;
}

/** An area that no lines can be laid over as asked, and what shows why. */
export interface LinesFault {
  readonly fault: string;
  readonly where: readonly Float64Array[];
}
