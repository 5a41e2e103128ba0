import type { Frame } from '../geo/frame.js';
import type { Polygon, Polyline } from '../geo/shapes.js';
import type { BoatCard, CardFigureName } from './boat-card.js';

/** What accuracy can be wanted of: the single figures, and the turning circles together. */
export type TrialAim = CardFigureName | 'turning';

/** What a plan of trials is made for. Places are in the survey frame [m]. */
export interface TrialPlanRequest {
  /** What is known of the boat: what is missing, a default or too uncertain is planned for. */
  readonly card: BoatCard;
  /** Water the boat may use; holes are land. Polygons must not overlap: a run stays in one. */
  readonly water: readonly Polygon[];
  /** Keep-outs, and land where the water does not leave it out. */
  readonly keepouts: readonly Polygon[];
  readonly frame: Frame;
  /** Where the boat is put in; trials are laid near it. */
  readonly launch?: { readonly xM: number; readonly yM: number } | null;
  /** Where the link's base stands and how far it carries. */
  readonly base?: { readonly xM: number; readonly yM: number; readonly rangeM: number } | null;
  /** Current as far as it is known: the direction it sets towards, true [deg]. */
  readonly current?: { readonly speedMps: number; readonly setDeg: number; /** Where it is known from, for the notes. */ readonly from?: string } | null;
  /** One sigma of a position in one dimension; default 0.5 m, a receiver without corrections over some minutes (from memory). */
  readonly positionSigmaM?: number;
  /** Where that is known from, for the notes. */
  readonly positionFrom?: string;
  /** Speed through the water that surveys are run at; default 1.5 m/s, not over top speed. */
  readonly surveySpeedMps?: number;
  /** Least water between any run and the shore, a keep-out or the edge of the water; default 10 m. */
  readonly clearanceM?: number;
  /** Wanted accuracy: half width that holds the truth with 95 %, as a share of the figure; see `WANTED_95`. */
  readonly accuracy?: Partial<Record<TrialAim, number>>;
  /** Plans every trial, also where the card is good enough. */
  readonly everything?: boolean;
}

export type PlannedKind = 'rest' | 'double-run' | 'start-coast' | 'stop-astern' | 'turning-circle' | 'spin' | 'zig-zag' | 'straight-leg' | 'discharge';

/** One manoeuvre of a plan, with its repeats. */
export interface PlannedTrial {
  /** 1-based, in the order to run them. */
  readonly number: number;
  readonly kind: PlannedKind;
  readonly title: string;
  /** What the thrusters are told, in words. */
  readonly command: string;
  /** Mean command [%]. */
  readonly commandPct: number;
  /** Speed through the water to expect [m/s]; 0 on the spot. */
  readonly speedMps: number;
  /** True heading of the first pass [deg]; NaN where it has none. */
  readonly headingDeg: number;
  /** Whether every second pass is run the other way. */
  readonly reciprocal: boolean;
  readonly side: 'port' | 'starboard' | null;
  /** How often it is run; 1 for a discharge, which lasts as long as it lasts. */
  readonly passes: number;
  /** Way to steady speed, way that counts, way to stop in; of one pass, over the ground [m]. */
  readonly runUpM: number;
  readonly lengthM: number;
  readonly runOutM: number;
  /** The first pass as run, in the survey frame; circles: the approach and one turn. Empty where it needs no place. */
  readonly path: Polyline;
  /** Turning circles and spins: middle and radius [m]; else NaN. */
  readonly centreXM: number;
  readonly centreYM: number;
  readonly radiusM: number;
  /** Water kept free on every side of the path; of the middle for circles and spins [m]. */
  readonly roomM: number;
  /** Wanted and expected 95 % half width, as a share of the figure; NaN where it cannot be foretold. */
  readonly wanted95: number;
  readonly expected95: number;
  /** All passes with the turns between them [s], [Wh]. */
  readonly durationS: number;
  readonly energyWh: number;
  /** How it is run, what must be in the log, why it is here (the figures it gives, and what is wrong with them now). */
  readonly how: string;
  readonly log: string;
  readonly why: string;
}

/** Trials laid out on the water, in order. */
export interface TrialPlan {
  readonly trials: readonly PlannedTrial[];
  /** The longest free straight that was found, whatever its heading [m]; heading true, folded to 0..180 [deg]. */
  readonly longestStraightM: number;
  readonly longestHeadingDeg: number;
  readonly clearanceM: number;
  /** All but the discharge, with ways between the trials [s], [Wh]. */
  readonly timeS: number;
  readonly energyWh: number;
  /** The discharge alone [s]; 0 without one. */
  readonly dischargeS: number;
  /** Energy over the battery's; NaN where that is not known. */
  readonly batteryShare: number;
  /** What does not fit in the water or reach the wanted accuracy, and what to do about it. */
  readonly shortfalls: readonly { readonly what: string; readonly why: string; readonly remedy: string }[];
  /** What the plan rests on, in plain words. */
  readonly notes: readonly string[];
}
