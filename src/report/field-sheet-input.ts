import type { BoatModel } from '../boat/boat-model.js';
import type { Frame } from '../geo/frame.js';
import type { Polygon } from '../geo/shapes.js';
import type { SurveyLine } from '../lines/line-plan.js';
import type { Sortie } from '../lines/sortie.js';
import type { LostLinkBehaviour, MomentOutcomes, Place, Rehearsal, RehearsalOptions } from '../rehearse/rehearsal.js';
import type { StartWindow } from '../rehearse/start-search.js';
import type { CurrentField } from '../water/current-field.js';
import type { WaterLevel } from '../water/level.js';

/**
 * Everything the field sheet is made of, in memory. Nothing is read, and no clock is asked: two sheets of equal input are
 * equal bytes. Positions in the survey frame [m], times UTC seconds. A part that does not exist is null or empty, and the
 * sheet says so.
 */
export interface FieldSheetInput {
  /** Of the survey, and where it is; `invented` as in the settings. */
  readonly name: string;
  readonly place: string;
  readonly invented: boolean;
  /** What depths are below and levels above, in words. */
  readonly datum: string;
  readonly frame: Frame;
  readonly area: readonly Polygon[];
  readonly keepouts: readonly Polygon[];
  /** Polygons of land. */
  readonly shore: readonly Polygon[];
  /** Lines of the plan; those that no sortie runs are drawn thin and are not in the table. */
  readonly lines: readonly SurveyLine[];
  readonly launch: Place;
  /** Shore end of the link; null: not known. */
  readonly base: Place | null;
  /** One or more, in the order they are run. */
  readonly sorties: readonly FieldSheetSortie[];
  readonly boat: BoatModel;
  /** As on its card; may be empty. */
  readonly boatName: string;
  /** What the rehearsal went by; what is left out has the rehearsal's default. */
  readonly options?: Partial<RehearsalOptions>;
  /** What the boat is set to do on a lost link. */
  readonly lostLink: LostLinkBehaviour;
  readonly level: WaterLevel | null;
  readonly current: CurrentField;
  /** `createLink` gives it; null: the link was not reckoned. */
  readonly link: FieldSheetLink | null;
  /** Who to tell, a line each, as the user wrote them; none: ruled blanks to fill in. */
  readonly contacts: readonly string[];
  /** What the user wants done in an emergency, a line each; none: ruled blanks. */
  readonly emergency: readonly string[];
  /** Local time less UTC [h], -12 to 14. */
  readonly utcOffsetH: number;
  /** Files with the lines for the autopilot, for the note under the table; may be empty. */
  readonly routeFiles?: readonly string[];
}

export interface FieldSheetLink {
  /** Margin at a place [dB]; below 0 the link does not hold. */
  marginDb(xM: number, yM: number): number;
  /** Margin that keeps the link 95 times of 100 [dB]. */
  readonly allowanceDb: number;
}

/** One trip with what its rehearsal found. */
export interface FieldSheetSortie {
  readonly sortie: Sortie;
  readonly rehearsal: Rehearsal;
  /** What happens where something goes wrong; null: not worked out. */
  readonly moments: MomentOutcomes | null;
  /** Starts alike in verdict, from the search for the best start; empty: only the planned start was rehearsed. */
  readonly windows: readonly StartWindow[];
}
