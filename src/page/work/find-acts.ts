import type { Side } from '../../base/sonar.js';

/** Something drawn by hand on the picture, in the sonar's own coordinates. */
export interface FindMark {
  /** First 16 hex digits of the log's sha-256. */
  readonly log: string;
  readonly side: Side;
  /** Pings [recordStart, recordEnd). */
  readonly recordStart: number;
  readonly recordEnd: number;
  /** Start and end of its echo and end of its shadow; null where none is seen [m]. */
  readonly slantStartM: number;
  readonly slantEndM: number;
  readonly shadowEndM: number | null;
}

/** What a user can decide of finds. `find` is the id of any of its sightings. */
export type FindAct =
  | { readonly action: 'mark'; readonly mark: FindMark; readonly name?: string; readonly description?: string }
  | { readonly action: 'confirm' | 'reject' | 'propose'; readonly find: string; readonly note?: string }
  | { readonly action: 'describe'; readonly find: string; readonly name?: string; readonly description?: string }
  | { readonly action: 'join'; readonly finds: readonly string[]; readonly note?: string }
  | { readonly action: 'part'; readonly find: string; readonly sightings: readonly string[]; readonly note?: string };
