import type { LogSummary } from '../base/observations.js';
import type { Side } from '../base/sonar.js';
import type { CorrectionFigures } from '../depths/corrections.js';
import type { LeftOut } from '../depths/left-out.js';
import type { FillMethod } from '../depths/surface.js';
import type { FindAct } from '../finds/decide-finds.js';
import type { TrialKind } from '../boat/trial-log.js';
import type { InstrumentCheck } from './instrument-checks.js';
import type { Settings } from './settings.js';

/**
 * What a survey folder holds and how good it is: one object that the command line prints, the page shows and the
 * report sets in type. A part is null where its step has not run.
 */
export interface SurveySummary {
  readonly folder: string;
  readonly settings: Settings;
  /** UTM frame, e.g. `UTM 26 N` and its EPSG code; null while neither area nor position is known. */
  readonly frame: { readonly label: string; readonly epsg: number; readonly zone: number; readonly hemisphere: 'north' | 'south' } | null;
  readonly area: { readonly areaM2: number; readonly polygons: number } | null;
  readonly lines: LinesSummary | null;
  readonly logs: readonly LogEntry[];
  readonly soundings: SoundingsSummary | null;
  /** Instrument checks; null where the step has not run. */
  readonly instruments: readonly InstrumentCheck[] | null;
  readonly surface: SurfaceSummary | null;
  readonly contours: { readonly count: number; readonly lengthM: number; readonly intervalM: number } | null;
  readonly gaps: GapsSummary | null;
  /** Null where there are no side-scan pings. */
  readonly imagery: ImagerySummary | null;
  /** Things located on the bottom, and how well it was searched; null where there is no side-scan log or their steps have not run. */
  readonly finds?: FindsSummary | null;
  readonly search?: SearchSummary | null;
  /** The boat card as it stands; boat/card.json holds the rest. Null while there is none. */
  readonly boat: BoatSummary | null;
  /** Null where the step has not run. */
  readonly sorties: SortiesSummary | null;
  readonly rehearsal: RehearsalSummary | null;
  /** The chart for paper; null where none is wanted or made. Not in summaries of earlier versions. */
  readonly chart?: ChartSummary | null;
  readonly products: readonly { readonly path: string; readonly bytes: number; readonly sha256: string }[];
  readonly steps: readonly StepState[];
  readonly decisions: { readonly count: number; readonly last: string | null };
  /** Things the crew should know, in plain words with the cause; the most pressing first. */
  readonly notes: readonly string[];
}

export interface LogEntry extends LogSummary {
  /** File name under logs/. */
  readonly file: string;
  readonly sha256: string;
  readonly bytes: number;
  readonly takenInAt: string;
}

export interface LinesSummary {
  readonly main: number;
  readonly cross: number;
  readonly mainLengthM: number;
  readonly crossLengthM: number;
  readonly transitLengthM: number;
  readonly headingDeg: number;
  readonly spacingM: number;
  /** All lines run in one go, ways between and turns counted [s]. */
  readonly timeS: number;
  /** What that time was reckoned with, in words; left out in surveys of earlier versions. */
  readonly reckoned?: string;
  /** The spacing follows the depth; spacingM is the narrowest. */
  readonly byDepth?: boolean;
}

export interface SoundingsSummary {
  readonly total: number;
  readonly good: number;
  /** Count by reason name, good excluded. */
  readonly setAside: Readonly<Record<string, number>>;
  readonly timeStartS: number;
  readonly timeEndS: number;
  readonly trackLengthM: number;
  readonly depthMinM: number;
  readonly depthMaxM: number;
  readonly depthMeanM: number;
  /** 95 %: median and worst tenth [m]. */
  readonly tvuMedianM: number;
  readonly tvuP90M: number;
  readonly thuMedianM: number;
  readonly thuP90M: number;
  /** Share of good soundings within each S-44 order's TVU and THU, and the strictest order at least 95 % meet. */
  readonly orderShare: Readonly<Record<string, number>>;
  readonly orderMet: string | null;
  /** Differences where lines cross, and what stands behind them in words, the strongest first. */
  readonly crossings: { readonly count: number; readonly meanM: number; readonly p95M: number; readonly causes?: readonly string[] } | null;
  readonly waterLevelMinM: number;
  readonly waterLevelMaxM: number;
  /** What each correction adds, and whether it is applied. */
  readonly corrections: readonly CorrectionFigures[];
  /** What was found odd in logs and water files, in plain words. */
  readonly notes: readonly string[];
}

export interface SurfaceSummary {
  readonly cellM: number;
  readonly cols: number;
  readonly rows: number;
  readonly cellsMeasured: number;
  readonly cellsFilled: number;
  readonly depthMinM: number;
  readonly depthMaxM: number;
  readonly uncertaintyMedianM: number;
  /** With the statistic `hypotheses`: cells with several depths, those of them in doubt (another depth has at least half as many soundings), chosen by hand, and choices by hand that fit no depth any more. */
  readonly hypotheses?: { readonly several: number; readonly doubtful: number; readonly byHand: number; readonly lost: number };
  /** How cells between soundings were filled. */
  readonly fill?: FillMethod;
  /** The error from leaving whole lines out; null where there are too few lines. Not in figures of earlier versions. */
  readonly leftOut?: LeftOut | null;
}

export interface GapsSummary {
  readonly count: number;
  readonly areaM2: number;
  readonly coveredShare: number;
  readonly largestM2: number;
  /** Of these, places that are sounded but not to the order aimed at. */
  readonly weakCount?: number;
  readonly weakM2?: number;
  readonly reachM: number;
  /** Lines that would fill them, and how long they are with run-ins and transit. */
  readonly fillLines: number;
  readonly fillLengthM: number;
  /** Transit and turns included [s]. */
  readonly fillTimeS: number;
}

/** How the floor under the sonar was found: pings by where their height comes from. */
export interface BottomSummary {
  readonly pings: number;
  readonly tracked: number;
  readonly bridged: number;
  readonly byHand: number;
  readonly depthSurface: number;
  readonly none: number;
  /** Null where no height is known [m]. */
  readonly heightMinM: number | null;
  readonly heightMedianM: number | null;
  readonly heightMaxM: number | null;
  readonly soundSpeedMps: number;
  readonly soundSpeedFrom: string;
}

/** The sonar's clock against the positions'. */
export interface ClockSummary {
  /** Applied: added to the sonar's times [s]. */
  readonly offsetS: number;
  /** 95 % [s]; null where the offset was set by hand or is not known. */
  readonly uncertainty95S: number | null;
  readonly known: boolean;
  /** In words: how it was found, or why it is not known. */
  readonly how: string;
  /** Heights less depths of the surface, median: draft or water level that is off [m]; null where not compared. */
  readonly biasM: number | null;
  /** Heights over depths of the surface, median; null or left out where not compared. */
  readonly heightShare?: number | null;
  /** Where the clock was set back on the way: how many parts there are, each with an offset of its own; `offsetS` is the first's. */
  readonly parts?: number;
}

/** The side-scan picture of the floor. */
export interface MosaicSummary {
  readonly cellM: number;
  readonly cellWhy: string;
  readonly cols: number;
  readonly rows: number;
  /** Pings laid onto it, of all. */
  readonly pingsUsed: number;
  readonly pings: number;
  /** Of those laid onto it, lost on both sides: far fainter or louder than their neighbours, and left out. */
  readonly pingsLost?: number;
  /** Numbers of the lines on it. */
  readonly lines: readonly number[];
  /** Ground with a level [m2], and what share of the survey area that is; null without an area. */
  readonly filledM2: number;
  readonly areaShare: number | null;
  readonly rangeM: number;
  readonly blend: string;
  readonly gain: { readonly spreadingDb: number; readonly absorptionDbPerKm: number; readonly pings: number; readonly starboardLouderDb: number | null; readonly stripesDb: number };
  /** Sides without an echo of the floor; not in figures of earlier versions. */
  readonly silent?: readonly Side[];
  readonly notes: readonly string[];
}

/** The side-scan part of a survey. */
export interface ImagerySummary {
  readonly bottom: BottomSummary | null;
  readonly clock: ClockSummary | null;
  readonly mosaic: MosaicSummary | null;
}

/** derived/finds/figures.json. */
export interface FindsSummary {
  readonly proposed: number;
  readonly confirmed: number;
  readonly rejected: number;
  readonly sightings: number;
  /** Size looked for, and candidates the floor may give by itself. */
  readonly objectM: number;
  readonly objectHeightM: number;
  readonly falsePerHa: number;
  /** Floor looked over, each side of each line for itself [m2]. */
  readonly lookedM2: number;
  readonly notes: readonly string[];
}

/** derived/finds/search.json. */
export interface SearchSummary {
  readonly objectM: number;
  /** The area, and what of it was looked at once or more [m2]. */
  readonly areaM2: number;
  readonly searchedM2: number;
  readonly cellM: number;
  /** Mean chance over the area that an object there was found, and the least over nine tenths of what was searched. */
  readonly chanceMean: number;
  readonly chanceTenth: number;
  /** Objects expected to be there before the search and left after it, and the chance that at least one is left. */
  readonly expectedBefore: number;
  readonly expectedLeft: number;
  readonly chanceLeft: number;
  readonly sweepWidthM: number;
  readonly coverage: number;
  readonly curveSource: string;
  readonly looks: string;
  readonly next: {
    readonly lines: number;
    readonly lengthM: number;
    readonly timeS: number;
    readonly energyWh: number;
    readonly budgetWh: number;
    readonly chanceAfter: number;
    readonly expectedAfter: number;
  } | null;
  readonly notes: readonly string[];
}

export interface BoatSummary {
  readonly name: string;
  /** Figures of the card by where they come from. */
  readonly figures: { readonly trials: number; readonly hand: number; readonly default: number };
  readonly missing: number;
  readonly refused: number;
  /** Top speed through the water [m/s], its 95 % and source; null where unknown. */
  readonly topSpeed: { readonly value: number; readonly uncertainty95: number; readonly source: string } | null;
  /** Trials in the logs; null where no log of trials is there. */
  readonly trials: {
    readonly logs: readonly string[];
    readonly count: number;
    /** Windows drawn or moved by hand, and trials found but dropped. */
    readonly byHand: number;
    readonly dropped: number;
    readonly seconds: number;
    readonly kinds: Readonly<Partial<Record<TrialKind, number>>>;
  } | null;
}

/** The sorties the lines are cut into. */
export interface SortiesSummary {
  readonly count: number;
  readonly lengthM: number;
  /** Under way, without battery swaps [s]; each with its 95 %. */
  readonly timeS: number;
  readonly time95S: number;
  readonly energyWh: number;
  readonly energy95Wh: number;
  /** No-go where a line is left out or the first sortie cannot leave when asked; left out in surveys of earlier versions. */
  readonly go?: boolean;
  readonly reason?: string;
  /** Lines no sortie runs: why, and the part to draw, [x0, y0, x1, y1] in the frame [m]. */
  readonly leftOut?: readonly { readonly line: number; readonly kind: string; readonly why: string; readonly path: readonly number[]; readonly boatMps: number | null; readonly currentMps: number | null }[];
  readonly why: readonly string[];
  readonly notes: readonly string[];
  /** What keeps sorties from being planned, and shapes [x0, y0, ...] in the frame that show it [m]; null where nothing does. */
  readonly fault: { readonly message: string; readonly where: readonly (readonly number[])[] } | null;
}

/** What the rehearsal found; derived/rehearsal.json holds the rest. */
export interface RehearsalSummary {
  readonly go: boolean;
  /** The verdict in capitals; with conditions it is a go only where they are met. */
  readonly word: 'GO' | 'GO WITH CONDITIONS' | 'NO-GO';
  /** The limiting reason of the first sortie that is a no-go, else the first condition, else that of the sortie nearest to one. */
  readonly reason: string;
  readonly startS: number;
  readonly endS: number;
  readonly sorties: readonly {
    readonly number: number;
    readonly go: boolean;
    readonly reason: string;
    readonly conditions: readonly string[];
    readonly startS: number;
    readonly endS: number;
    readonly energyWh: number;
    readonly energy95Wh: number;
    readonly energyLeftWh: number;
    readonly chanceHome: number;
  }[];
  /** The worst that could come of it, and when; null where every mishap ends well. */
  readonly worst: { readonly sortie: number; readonly timeS: number; readonly xM: number; readonly yM: number; readonly text: string } | null;
}

/** How the chart for paper is laid out. */
export interface ChartSummary {
  readonly paper: string;
  /** 1:scale. */
  readonly scale: number;
  /** 0 where it could not be made. */
  readonly sheets: number;
  /** Why it could not be made, with what to do; empty where it was, or where there is nothing to draw. */
  readonly refused: string;
}

export interface StepState {
  readonly step: string;
  readonly state: 'fresh' | 'stale' | 'missing';
  /** Why it is stale, in plain words. */
  readonly because: string;
}

/** One decision of the user's, as it stands in journal.jsonl. */
export type Decision =
  | { readonly kind: 'set-aside'; readonly soundings: readonly SoundingRef[]; readonly note?: string }
  | { readonly kind: 'restore'; readonly soundings: readonly SoundingRef[]; readonly note?: string }
  | TrialDecision
  | HypothesisChoice
  | BottomDecision
  | FindDecision
  | { readonly kind: 'settings'; readonly path: string; readonly from: unknown; readonly to: unknown }
  | SettingsTogether
  | { readonly kind: 'file'; readonly path: string; readonly fromSha256: string | null; readonly toSha256: string | null }
  | { readonly kind: 'undo'; readonly entry: number }
  | { readonly kind: 'redo'; readonly entry: number };

/** Settings changed as one decision: an undo takes all of them back. */
export interface SettingsTogether {
  readonly kind: 'settings-together';
  /** What was decided, in plain words. */
  readonly what: string;
  readonly changes: readonly { readonly path: string; readonly from: unknown; readonly to: unknown }[];
}

/** The window of a trial, as the user wants it: moved (or its kind changed), added where none was found, or dropped. */
export interface TrialDecision {
  readonly kind: 'trial';
  readonly change: 'move' | 'add' | 'drop';
  /** Id of the trial; of an added one, its kind and start second. */
  readonly trial: string;
  readonly trialKind: TrialKind;
  /** UTC [s]. */
  readonly startS: number;
  readonly endS: number;
  readonly note?: string;
}

/** A choice by hand between several depths of a cell of the surface: the one nearest to this depth stands. */
export interface HypothesisChoice {
  readonly kind: 'hypothesis';
  readonly latDeg: number;
  readonly lonDeg: number;
  /** Below the datum, positive down [m]. */
  readonly depthM: number;
  readonly note?: string;
}

/** A decision on things located on the bottom: marked, confirmed, rejected, described, joined, parted. */
export type FindDecision = { readonly kind: 'find' } & FindAct;

/** The bottom of a side-scan log drawn by hand: slant ranges of the first echo at records that rise, straight between them; one alone holds for its own ping. */
export interface BottomDecision {
  readonly kind: 'bottom';
  /** sha-256 of the log, first 16 hex digits. */
  readonly log: string;
  readonly points: readonly { readonly record: number; readonly slantM: number }[];
  readonly note?: string;
}

/** A range of records in one log: survives a rebuild, unlike a row number. */
export interface SoundingRef {
  /** sha-256 of the log, first 16 hex digits. */
  readonly log: string;
  readonly recordStart: number;
  readonly recordEnd: number;
}

export type JournalEntry = Decision & { readonly number: number; readonly at: string };
