import type { BoatCard } from '../boat/boat-card.js';
import type { TrialPlan } from '../boat/trial-plan-shape.js';
import type { Frame } from '../geo/frame.js';
import type { Polygon } from '../geo/shapes.js';
import type { ReportInput } from './report-input.js';

/** What a trial sheet shows. Places are in the survey frame [m]. */
export interface TrialSheetInput {
  readonly plan: TrialPlan;
  readonly card: BoatCard;
  readonly frame: Frame;
  /** The survey's name and place, and whether both are invented. */
  readonly name: string;
  readonly place: string;
  readonly invented: boolean;
  /** As the plan was made with. */
  readonly water: readonly Polygon[];
  readonly keepouts: readonly Polygon[];
  /** Land, drawn as land; may also stand among the keep-outs, where it is then drawn once. */
  readonly shore: readonly Polygon[];
  readonly launch: { readonly xM: number; readonly yM: number } | null;
  readonly base: { readonly xM: number; readonly yM: number; readonly rangeM: number } | null;
  readonly variation: ReportInput['variation'];
  /** UTC day the sheet is for, [year, month 1..12, day]; null: left to be written in. */
  readonly date: readonly [number, number, number] | null;
}
