import type { WorkContext } from '../base/progress.js';
import type { Decision, JournalEntry, LogEntry, SurveySummary } from './summary.js';

/** What a take-in did with one file. */
export interface TakeInResult {
  readonly name: string;
  /** `read-anew`: it was there already, and its columns are now read as corrected. */
  readonly outcome: 'taken-in' | 'already-there' | 'read-anew' | 'refused';
  readonly log: LogEntry | null;
  /** Why it was refused, or which log it equals. */
  readonly because: string;
}

/** What a build did. */
export interface BuildResult {
  readonly ran: readonly { readonly step: string; readonly seconds: number }[];
  readonly fresh: readonly string[];
  readonly summary: SurveySummary;
}

/** What a file of the water is for: the level above the datum, or the speed of sound. */
export type WaterUse = 'level' | 'sound-speed';

/** A setting by its dotted path, and what it is to be. */
export interface SettingChange {
  readonly path: string;
  readonly value: unknown;
}

/**
 * A survey folder open for work: all that the command line and the server may do to it.
 * Work on one folder is done one after the other; a second caller waits.
 */
export interface Desk {
  readonly folder: string;
  summary(): Promise<SurveySummary>;
  /** Takes in files already on this disk. */
  takeIn(paths: readonly string[], context?: WorkContext): Promise<readonly TakeInResult[]>;
  /** Runs every stale step up to the named one (all when left out). */
  build(context?: WorkContext, upTo?: string): Promise<BuildResult>;
  /** Appends a decision to the journal and fsyncs it. Derived files are stale until the next build. */
  decide(decision: Decision): Promise<JournalEntry>;
  /** Undoes the latest decision not yet undone; null where there is none. */
  undo(): Promise<JournalEntry | null>;
  redo(): Promise<JournalEntry | null>;
  journal(): Promise<readonly JournalEntry[]>;
  /** Changes one setting by its dotted path, checked against the schema; journalled. */
  set(path: string, value: unknown): Promise<void>;
  /** Changes several settings as one decision, told in plain words: checked before any is changed, one line of the journal, one undo. */
  setTogether(changes: readonly SettingChange[], what: string): Promise<void>;
  /** Keeps a file of the water under water/ and goes by it from now on; journalled. @returns what was done, in words */
  takeWater(use: WaterUse, name: string, bytes: Uint8Array): Promise<string>;
  /** Replaces plan/area.geojson, plan/keepouts.geojson or plan/shore.geojson; checked; journalled with the old content kept. */
  writePlan(file: 'area' | 'keepouts' | 'shore', geojson: string): Promise<void>;
  /** Makes plan/lines.geojson from the area and the settings. */
  planLines(context?: WorkContext): Promise<SurveySummary>;
  /** Sets the sheet of the instrument checks on paper; returns its place in the folder. */
  instrumentSheet(context?: WorkContext): Promise<string>;
}
