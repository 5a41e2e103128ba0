import type { FrameSetting } from '../../geo/frame.js';
import type { DerivedName, DerivedValue, Objective, Sensor } from '../../lines/objective.js';
import type { Lockable } from '../../lines/purpose-values.js';
import type { Settings } from '../../survey/settings.js';

/** What the page asks of a worker about what the lines are for. */
export interface PurposeMessages {
  readonly derivePurpose: { readonly request: PurposeRequest; readonly response: DerivedForPage | { readonly fault: string } };
}

export interface PurposeRequest {
  readonly purpose: Objective;
  readonly sensor: Sensor | null;
  readonly sounder: Pick<Settings['sounder'], 'beamWidthDeg' | 'draftM' | 'soundSpeedSetMps'>;
  /** Null: as `bottom` has it. */
  readonly depthM: number | null;
  readonly bottom: Settings['rehearse']['bottom'];
  readonly lines: Readonly<Record<Lockable, number | null>>;
  readonly locked: readonly Lockable[];
  /** The middle of the area in the frame; null without one. */
  readonly at: { readonly xM: number; readonly yM: number } | null;
  readonly frame: FrameSetting;
}

/** Every derived value with its reason, and what it is set to in the lines. */
export interface DerivedForPage {
  readonly values: Readonly<Record<DerivedName, DerivedValue>>;
  readonly toSet: readonly { readonly name: Lockable; readonly value: number | null }[];
  readonly sensor: Sensor;
  /** What the depth was taken from, in words. */
  readonly depth: string;
  /** The spacing follows the depth; that of `values` is the narrowest. */
  readonly byDepth: boolean;
  readonly notes: readonly string[];
}
