import type { BoatModel } from '../boat/boat-model.js';
import type { KeepOut } from '../geo/keep-out.js';
import type { Polygon, Polyline } from '../geo/shapes.js';
import type { LegKind, Sortie } from '../lines/sortie.js';
import type { CurrentField } from '../water/current-field.js';
import type { WaterLevel } from '../water/level.js';

/** A place in the survey frame [m]. */
export interface Place {
  readonly xM: number;
  readonly yM: number;
}

/** Wind: its speed and the direction it comes from, true. */
export interface Wind {
  readonly speedMps: number;
  readonly fromDeg: number;
}

/** How the boat is steered and what the crew asks of the day. */
export interface RehearsalOptions {
  /** `stop-and-turn`: it stops at corners over `stopTurnDeg` and turns on the spot. `on-the-go`: it turns under way. */
  readonly turning: 'stop-and-turn' | 'on-the-go';
  /** Corners sharper than this are stopped at [deg]. */
  readonly stopTurnDeg: number;
  /** A waypoint counts as reached within this distance [m]. */
  readonly acceptanceM: number;
  /** The autopilot heads for the leg this far ahead [m]. */
  readonly lookAheadM: number;
  /** Turned further than `slowTurnDeg` from its course the boat slows to this speed through the water [m/s]; null: it does not. */
  readonly turnSpeedMps: number | null;
  readonly slowTurnDeg: number;
  /** Share of the wind's speed that the boat drifts with [1]. */
  readonly leewayShare: number;
  /** Share of the battery kept for what nobody thought of, 0 up to but not including 1. */
  readonly reserveShare: number;
  /** Share of the card's battery energy there is on the day: charge, cold, age [1]. */
  readonly batteryShare: number;
  /** Least chance of getting home on the battery for a go [1]. */
  readonly leastChance: number;
  /** Draft of the boat, and least water wanted under it [m]. */
  readonly draftM: number;
  readonly leastWaterM: number;
  /** Least altitude of the sun while the boat is out [deg]; -6 is the end of civil twilight. */
  readonly leastSunDeg: number;
  /** Link margin below which the link counts as lost [dB], and whether that is a no-go. */
  readonly leastLinkDb: number;
  readonly linkLostIsNoGo: boolean;
  /** What the boat is set to do on a lost link, and after how long without one it does it [s]. */
  readonly lostLink: LostLinkBehaviour;
  readonly lostLinkAfterS: number;
  /** A line counts as painted where the boat is within this of it [m], with the chance `paintedChance`. */
  readonly toleranceM: number;
  readonly paintedChance: number;
  /** Time taken in turns is known to this share, one sigma [1] (common practice; no source); twice it where no turning circle was made. */
  readonly turnSigmaShare: number;
  /** Between rows of the result [s]. */
  readonly rowS: number;
}

export const REHEARSAL_DEFAULTS: RehearsalOptions = {
  turning: 'on-the-go',
  stopTurnDeg: 30,
  acceptanceM: 2,
  lookAheadM: 7,
  turnSpeedMps: null,
  slowTurnDeg: 45,
  leewayShare: 0,
  reserveShare: 0.2,
  batteryShare: 1,
  leastChance: 0.99,
  draftM: 0.2,
  leastWaterM: 0.5,
  leastSunDeg: -0.833,
  leastLinkDb: 0,
  linkLostIsNoGo: false,
  lostLink: 'straight-home',
  lostLinkAfterS: 10,
  toleranceM: 2,
  paintedChance: 0.95,
  turnSigmaShare: 0.15,
  rowS: 1,
};

/** What `rehearseSortie` is given. Functions give NaN where they do not know. */
export interface RehearsalRequest {
  readonly sortie: Sortie;
  readonly boat: BoatModel;
  /** Start, UTC [s]. */
  readonly startS: number;
  readonly current: CurrentField;
  /** What to add to a bearing in the frame to get a true one [deg]. Default 0. */
  readonly convergenceDeg?: number;
  readonly wind?: ((timeS: number) => Wind) | Wind | null;
  /** Where the boat must not go, and land. */
  readonly keepouts?: readonly KeepOut[];
  readonly land?: readonly Polygon[];
  /** Water level above the survey datum. */
  readonly level?: WaterLevel | null;
  /** Depth of the bottom below the survey datum at a place, positive down [m]. */
  readonly bottomDepthM?: ((xM: number, yM: number) => number) | null;
  /** Altitude of the sun's centre [deg]. */
  readonly sunAltitudeDeg?: ((timeS: number) => number) | null;
  /** Margin of the link at a place [dB]. */
  readonly linkMarginDb?: ((xM: number, yM: number) => number) | null;
  /** Margin that keeps the link 95 times of 100 [dB]; below it the link may be lost. Default 8.2: 1.645 times 5 dB. */
  readonly linkAllowanceDb?: number;
  readonly options?: Partial<RehearsalOptions>;
  /** `quick`: legs at their ground speeds with the time turns take; some hundred times faster. `full` (default): the boat's motion. */
  readonly effort?: 'quick' | 'full';
}

/** The sortie against time. Shape of every column: [n]; NaN where what it rests on was not given or is not known. */
export interface RehearsalColumns {
  readonly n: number;
  readonly timeS: Float64Array;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** Bow, true, 0 <= heading < 360 [deg]. */
  readonly headingDeg: Float32Array;
  readonly speedOverGroundMps: Float32Array;
  readonly speedThroughWaterMps: Float32Array;
  readonly legIndex: Int32Array;
  /** Drawn since the start, and its 95 % [Wh]. */
  readonly energyWh: Float64Array;
  readonly energy95Wh: Float64Array;
  /** Water under the keel [m]. */
  readonly waterUnderM: Float32Array;
  /** Current without leeway, and the true direction it sets towards [deg]. */
  readonly currentMps: Float32Array;
  readonly currentSetDeg: Float32Array;
  /** Off the leg, to starboard positive, without what chop and steering add by chance [m]. */
  readonly crossTrackM: Float32Array;
  readonly linkMarginDb: Float32Array;
  readonly sunAltitudeDeg: Float32Array;
}

/** How one leg goes. */
export interface LegRun {
  readonly index: number;
  /** As it is told: `line 12`, `the turn to line 7 (leg 5)`. */
  readonly name: string;
  readonly kind: LegKind;
  readonly line: number | null;
  readonly startS: number;
  readonly endS: number;
  readonly lengthM: number;
  /** Length over time taken, turns into it included [m/s]. */
  readonly meanGroundMps: number;
  /** Mean angle of the bow from the course while settled, to starboard positive [deg]; NaN where it never settles. */
  readonly crabDeg: number;
  readonly energyWh: number;
  readonly energy95Wh: number;
  /** Least water under the boat on it [m]; NaN where not known. */
  readonly leastWaterM: number;
  /** Strongest current met on it, and the true direction that sets towards [deg]; NaN where it was not run. */
  readonly currentMps: number;
  readonly currentSetDeg: number;
  /** The current is stronger than the boat on it at the time it would be run. */
  readonly isBeaten: boolean;
  /** From when the boat makes way on a leg that it is beaten on, UTC [s]; NaN for others, and where it does not in the next 24 h. */
  readonly possibleS: number;
}

/** When there is water enough at one place of the sortie, about the time the boat is there. */
export interface PlaceWindow {
  /** Depth of the bottom below datum there [m], and the level above datum that the boat needs [m]. */
  readonly depthM: number;
  readonly neededLevelM: number;
  /** When the boat is there, UTC [s], and whether there is water enough then. */
  readonly timeS: number;
  readonly isOpen: boolean;
  /** The window it is in, or the next [UTC s]; NaN where there is none within 12.5 h. */
  readonly fromS: number;
  readonly toS: number;
  /** Whether the tide opens and closes it; false: the span looked at, or what is known of the level, does. */
  readonly startsWithTide: boolean;
  readonly endsWithTide: boolean;
}

/** One stretch of the sortie without a link: margin below `leastLinkDb`. */
export interface LostStretch {
  readonly fromS: number;
  readonly toS: number;
  /** Where it begins [m], and on which leg. */
  readonly xM: number;
  readonly yM: number;
  readonly legIndex: number;
  /** Margin at its weakest [dB]. */
  readonly leastDb: number;
}

/** What is to be expected of the link. */
export interface LinkOutlook {
  readonly leastDb: number;
  /** Time and share of the sortie that the link is expected to be lost: margin below `leastLinkDb`. */
  readonly lostS: number;
  readonly lostShare: number;
  /** The same with what is less sure than 95 of 100. */
  readonly unsureS: number;
  readonly unsureShare: number;
  readonly stretches: readonly LostStretch[];
  /** The longest of them; null where there is none. */
  readonly longest: LostStretch | null;
  /** When the boat first does what it is set to: lost for `lostLinkAfterS`; NaN where it is not foreseen. */
  readonly actsS: number;
  /** Share of the length of the lines run by then [1]; 1 where it is not foreseen. */
  readonly linesBefore: number;
  readonly behaviour: LostLinkBehaviour;
  /** Worst that comes of it from anywhere the link may be lost; null where it is not worked out, or nowhere. */
  readonly outcome: Outcome | null;
  /** Moments looked at there, and how many of them end adrift, in a keep-out or aground. */
  readonly moments: number;
  readonly bad: number;
}

/** How one line is painted. */
export interface LineRun {
  readonly line: number;
  readonly lengthM: number;
  /** Share of its length expected within tolerance [1], chance included. */
  readonly paintedShare: number;
  /** Stretches not painted with the chance wanted, from the line's start as run [m]: [start, end, ...]. */
  readonly gaps: readonly number[];
}

export type ConcernKind = 'launch' | 'data' | 'current' | 'keep-out' | 'water' | 'battery' | 'daylight' | 'link' | 'painting' | 'speed' | 'boat';

/** One thing to know before going. */
export interface Concern {
  readonly kind: ConcernKind;
  /** `no-go` stops the sortie; with a `condition` it goes only where that is met; `caution` is for the crew to weigh; `note` is for information. */
  readonly weight: 'no-go' | 'condition' | 'caution' | 'note';
  readonly text: string;
  /** UTC [s] and place; NaN where it has none. */
  readonly timeS: number;
  readonly xM: number;
  readonly yM: number;
  /** Leg it is on; -1 for none. */
  readonly legIndex: number;
}

export interface Verdict {
  /** With conditions where a concern has that weight. */
  readonly go: boolean;
  /** The limiting reason, in plain words; for a go its first condition, else what it is nearest to failing on. */
  readonly reason: string;
  /** All there is, the limiting one first. */
  readonly concerns: readonly Concern[];
  /** Chance that the energy needed is less than the battery holds [1]. */
  readonly chanceHome: number;
}

export interface RehearsalTotals {
  readonly startS: number;
  readonly endS: number;
  /** Each with the half width that holds the truth with 95 %. */
  readonly timeS: number;
  readonly time95S: number;
  readonly energyWh: number;
  readonly energy95Wh: number;
  /** On the battery at the end, as thought [Wh]; below 0: short of so much. */
  readonly energyLeftWh: number;
  readonly energyLeft95Wh: number;
  readonly lengthM: number;
  readonly turnS: number;
  /** Least of what was met; NaN where not known. */
  readonly leastWaterM: number;
  readonly leastLinkDb: number;
  readonly leastSunDeg: number;
  readonly strongestCurrentMps: number;
}

export interface Rehearsal {
  readonly columns: RehearsalColumns;
  readonly legs: readonly LegRun[];
  readonly lines: readonly LineRun[];
  readonly totals: RehearsalTotals;
  /** Cross-track error that chance adds to the column: 95 %, from the card [m]. */
  readonly track95M: number;
  /** Water at the launch point and where it comes back to; null where depth or level are not known there, and in a quick rehearsal. */
  readonly launch: PlaceWindow | null;
  readonly recovery: PlaceWindow | null;
  /** Null where the link was not reckoned. */
  readonly link: LinkOutlook | null;
  /** Why it ended before its end; null where it got home. */
  readonly stopped: RehearsalStop | null;
  readonly verdict: Verdict;
}

/** The boat could not go on. */
export interface RehearsalStop {
  readonly why: 'current' | 'no-current-known' | 'too-long' | 'no-legs';
  readonly legIndex: number;
  readonly timeS: number;
  readonly xM: number;
  readonly yM: number;
}

/** What the boat does when the link is lost. */
export type LostLinkBehaviour = 'carry-on' | 'hold' | 'straight-home' | 'back-along-track' | 'safe-lane';

/** What comes of it, from best to worst. */
export const OUTCOMES = ['home', 'holds', 'drifts', 'keep-out', 'aground'] as const;
export type Outcome = (typeof OUTCOMES)[number];

/** One thing that goes wrong, at every moment asked. Shape of every column: [n]. */
export interface OutcomeColumns {
  /** Index into OUTCOMES. */
  readonly outcome: Uint8Array;
  /** When and where it ends: home, aground, inside a keep-out, where it begins to drift, or where it still holds. */
  readonly timeS: Float64Array;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  /** Left on the battery then [Wh]. */
  readonly energyLeftWh: Float64Array;
}

export type Mishap = LostLinkBehaviour | 'one-thruster' | 'battery-less';

export interface WorstMoment {
  readonly mishap: Mishap;
  /** Row of `moments`. */
  readonly moment: number;
  readonly timeS: number;
  readonly xM: number;
  readonly yM: number;
  readonly outcome: Outcome;
  /** What comes of it: `it is in a keep-out 40 s later, 304 m from home`. */
  readonly reason: string;
}

/** The last time from which the boat gets home with its reserve, and what sets it. */
export interface TurnBack {
  /** UTC [s]; NaN where not even from the start. May lie after the planned end: so long could it stay out. */
  readonly timeS: number;
  readonly limit: 'battery' | 'daylight' | 'tide' | 'tide table' | 'current table' | 'way home';
  /** The longest way home, its 95 % with it [s]. */
  readonly wayHomeS: number;
}

export interface MomentOutcomes {
  readonly n: number;
  /** Moments, UTC [s], and where the boat is then [m]. */
  readonly timeS: Float64Array;
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  readonly outcomes: Readonly<Record<Mishap, OutcomeColumns>>;
  /** The worst of each, and of all that the crew chose or cannot choose. */
  readonly worstOf: Readonly<Record<Mishap, WorstMoment>>;
  readonly worst: WorstMoment | null;
  /** Behaviours on a lost link from best to worst, each with the number of moments it ends other than home or holding. */
  readonly ranking: readonly { readonly behaviour: LostLinkBehaviour; readonly bad: number }[];
  /** The time of `turnBack`; NaN where there is none. */
  readonly turnBackByS: number;
  readonly turnBack: TurnBack | null;
  readonly notes: readonly string[];
}

export interface WorstMomentOptions {
  /** Between moments [s]. Default 10. */
  readonly everyS?: number;
  /** What the boat is set to do; the worst moment is marked for it. Default straight-home. */
  readonly lostLink?: LostLinkBehaviour;
  /** Where home is; default the end of the sortie. */
  readonly home?: Place;
  /** A lane known to be safe, its end at home; null: the shortest way that keeps clear of everything. */
  readonly safeLane?: Polyline | null;
  /** Clear of keep-outs and land on that way [m]. Default 5. */
  readonly clearanceM?: number;
  /** Speed through the water on the way home [m/s]. Default: that of the leg it is on. */
  readonly homeSpeedMps?: number | null;
  /** How long holding and drifting are followed [s]. Default 7200. */
  readonly followS?: number;
  /** Share of the battery that is missing. Default 0.2. */
  readonly batteryLess?: number;
}
