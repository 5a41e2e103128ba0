/**
 * What the server and the page say to each other: types alone, so that the page can import them without the server.
 *
 * | request | body | answer |
 * |---|---|---|
 * | `GET /api/state` | | ServerState |
 * | `GET /files/<path>` | | a file of the survey folder, read-only, with Range and ETag |
 * | `POST /api/jobs` | StartJob | JobStarted |
 * | `GET /api/jobs/:id` | | JobState |
 * | `DELETE /api/jobs/:id` | | JobState |
 * | `POST /api/take-in?name=<file>` | the file's bytes | JobStarted |
 * | `POST /api/water?use=<level or sound-speed>&name=<file>` | the file's bytes | WaterTaken |
 * | `POST /api/decisions` | Decision | JournalEntry |
 * | `POST /api/undo`, `POST /api/redo` | | UndoResult |
 * | `PUT /api/plan/area`, `/keepouts`, `/shore` | GeoJSON text | Done |
 * | `PUT /api/settings` | ChangeSetting or ChangeSettings | Done |
 * | `GET /api/sonar` | | SonarAbout |
 * | `GET /api/sonar/picture?from=&to=&step=&width=&range=&axis=&levels=` | | a stretch of pings as a picture: Int16 little-endian, 0.01 dB, -32768 none; port [rows * width], then starboard |
 * | `GET /api/events` | | Server-Sent Events: `job` (JobState), `state` (StateChanged) |
 *
 * Every request that changes something carries the header TOKEN_HEADER with the token of ServerState.
 * An answer with status 400 or more is an ApiError. Numbers that are not finite are null in JSON.
 */
import type { BuildResult, TakeInResult } from '../survey/desk.js';
import type { Decision, JournalEntry, SurveySummary } from '../survey/summary.js';

export type { BuildResult, Decision, JournalEntry, SurveySummary, TakeInResult };

/** Name of the header that carries the token. */
export const TOKEN_HEADER = 'x-tallow-token';

/** All that the page starts from. */
export interface ServerState {
  readonly summary: SurveySummary;
  /** The last 50 entries, oldest first. */
  readonly journal: readonly JournalEntry[];
  /** Jobs that wait or run, and the last few that have ended; oldest first. */
  readonly jobs: readonly JobState[];
  /** GeoJSON files of the plan that are there, e.g. `plan/shore.geojson`; the others need not be asked for. */
  readonly planFiles: readonly string[];
  readonly serverVersion: string;
  /** To be sent back in TOKEN_HEADER with every request that changes something. */
  readonly token: string;
}

export type JobVerb = 'build' | 'lines' | 'take-in' | 'instrument-sheet';

/** A job asked for by the page. `upTo` names the last step wanted of a build; all when left out. */
export interface StartJob {
  readonly verb: 'build' | 'lines' | 'instrument-sheet';
  readonly upTo?: string;
}

export interface JobStarted {
  readonly id: string;
}

/** A job as it stands. Jobs run one at a time in the order they were asked for. */
export type JobState = {
  readonly id: string;
  readonly verb: JobVerb;
  /** What is being done, in plain words; empty before it starts. */
  readonly step: string;
  /** How far the step is [0..1]; null where that is unknown. */
  readonly done: number | null;
  readonly detail: string;
} & (
  | { readonly state: 'queued' | 'running' | 'cancelled' }
  | { readonly state: 'failed'; readonly error: ErrorBody }
  | { readonly state: 'done'; readonly result: JobResult }
);

/** What a job gave, by its verb. */
export type JobResult =
  | { readonly verb: 'build'; readonly build: BuildResult }
  | { readonly verb: 'lines'; readonly summary: SurveySummary }
  | { readonly verb: 'instrument-sheet'; readonly file: string }
  | { readonly verb: 'take-in'; readonly takenIn: readonly TakeInResult[] };

/** Body of PUT /api/settings: one setting by its dotted path. */
export interface ChangeSetting {
  readonly path: string;
  readonly value: unknown;
}

/** Body of PUT /api/settings too: several settings as one decision, told in plain words; one line of the journal, one undo. */
export interface ChangeSettings {
  readonly what: string;
  readonly changes: readonly ChangeSetting[];
}

export interface UndoResult {
  /** The decision that was undone or done again; null where there was none. */
  readonly entry: JournalEntry | null;
}

/** A file of the water that the survey goes by from now on: what was done, in words. */
export interface WaterTaken {
  readonly said: string;
}

export interface Done {
  readonly ok: true;
}

/** What the waterfall needs to know of the side-scan pings beside their files. */
export interface SonarAbout {
  /** Slant ranges are made with it [m/s]. */
  readonly soundSpeedMps: number;
  readonly pings: number;
  /** Usual level of the echoes as recorded [dB of the instrument's amplitude]; null where there are none. */
  readonly middleDb: number | null;
}

/** Event `state`: something in the folder changed; fetch /api/state again. */
export interface StateChanged {
  /** What changed it: `job`, `decision`, `settings`, `plan`, or `outside` for another program. */
  readonly because: string;
}

export interface ErrorBody {
  readonly message: string;
  readonly expected?: string;
  readonly found?: string;
  readonly fix?: string;
}

export interface ApiError {
  readonly error: ErrorBody;
}
