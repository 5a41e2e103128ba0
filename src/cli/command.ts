import type { WorkContext } from '../base/progress.js';

/** An option of a verb. */
export interface OptionSpec {
  readonly type: 'string' | 'boolean' | 'strings';
  /** How the value is called in the help, e.g. `METRES`. */
  readonly value?: string;
  readonly help: string;
}

/** Where a verb writes: stdout for what was asked for, stderr for progress. */
export interface Terminal {
  out(line: string): void;
  note(line: string): void;
  readonly context: WorkContext;
  readonly json: boolean;
}

export interface CommandArguments {
  readonly positionals: readonly string[];
  readonly options: Readonly<Record<string, string | boolean | readonly string[] | undefined>>;
}

/** What a verb gives: the text for people, the object for --json, and whether the verdict is yes. */
export interface CommandResult {
  readonly text: readonly string[];
  readonly json: Readonly<Record<string, unknown>>;
  /** 0 done; 1 done but the verdict is no. */
  readonly exitCode?: 0 | 1;
  /** Resolves when the verb, e.g. a server, has ended; the text is printed before. */
  readonly until?: Promise<void>;
}

/** One verb of the command line. */
export interface Command {
  readonly verb: string;
  readonly summary: string;
  /** Arguments after the verb, e.g. `<survey folder> <file> ...`. */
  readonly usage: string;
  readonly minPositionals: number;
  readonly maxPositionals: number;
  readonly options: Readonly<Record<string, OptionSpec>>;
  readonly example: string;
  run(given: CommandArguments, terminal: Terminal): Promise<CommandResult>;
}
