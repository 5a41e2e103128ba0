import { parseArgs } from 'node:util';
import { UseError, isExpectedError } from '../base/errors.js';
import type { Command, CommandArguments, Terminal } from './command.js';
import { commandHelp, generalHelp } from './help.js';
import { progressLine } from './progress-line.js';
import { COMMANDS } from './commands.js';

/**
 * The command line. Exit codes: 0 done, 1 done but the verdict is no, 2 bad use or bad input.
 * Expected errors are one line on stderr; with --json one object {"error": {...}} on stdout as well.
 */
export async function main(args: readonly string[]): Promise<number> {
  const [verb, ...rest] = args;
  if (verb === undefined || verb === '--help' || verb === 'help' || verb === '-h') {
    process.stdout.write(`${generalHelp(COMMANDS)}\n`);
    return verb === undefined ? 2 : 0;
  }
  const command = COMMANDS.find((one) => one.verb === verb);
  if (command === undefined) {
    process.stderr.write(`tallow: unknown verb ${verb}; verbs are: ${COMMANDS.map((one) => one.verb).join(', ')}\n`);
    return 2;
  }
  const json = rest.includes('--json');
  const stop = new AbortController();
  const line = progressLine(process.stderr, Date.now);
  const onSignal = (): void => stop.abort();
  process.once('SIGINT', onSignal);
  process.once('SIGTERM', onSignal);
  try {
    const given = parseCommand(command, rest);
    if (given === 'help') {
      process.stdout.write(`${commandHelp(command)}\n`);
      return 0;
    }
    const terminal: Terminal = {
      out: (text) => process.stdout.write(`${text}\n`),
      note: (text) => process.stderr.write(`${text}\n`),
      context: { progress: line.progress, signal: stop.signal },
      json,
    };
    const result = await command.run(given, terminal);
    line.end();
    process.stdout.write(json ? `${JSON.stringify(result.json)}\n` : result.text.map((text) => `${text}\n`).join(''));
    await result.until;
    return result.exitCode ?? 0;
  } catch (error) {
    line.end();
    return report(error, verb, json);
  } finally {
    process.off('SIGINT', onSignal);
    process.off('SIGTERM', onSignal);
  }
}

function parseCommand(command: Command, rest: readonly string[]): CommandArguments | 'help' {
  const options: Record<string, { type: 'string' | 'boolean'; multiple?: boolean }> = {
    json: { type: 'boolean' },
    help: { type: 'boolean' },
  };
  for (const [name, spec] of Object.entries(command.options)) {
    options[name] = spec.type === 'strings' ? { type: 'string', multiple: true } : { type: spec.type };
  }
  let parsed: { values: Record<string, unknown>; positionals: string[] };
  try {
    parsed = parseArgs({ args: withNegativeValues(rest, options), options, allowPositionals: true, strict: true });
  } catch (error) {
    const message = (error as Error).message.split('. ')[0] as string;
    throw new UseError(`${message}; see: tallow ${command.verb} --help`);
  }
  if (parsed.values['help'] === true) return 'help';
  const count = parsed.positionals.length;
  if (count < command.minPositionals || count > command.maxPositionals) {
    throw new UseError(`expected ${command.usage}, found ${count === 0 ? 'nothing' : parsed.positionals.join(' ')}; for example: ${command.example}`);
  }
  return { positionals: parsed.positionals, options: parsed.values as CommandArguments['options'] };
}

/** `--launch -29.9,46` is a value, not another option: joined to its option, as the parser wants it. */
function withNegativeValues(rest: readonly string[], options: Readonly<Record<string, { readonly type: 'string' | 'boolean' }>>): string[] {
  const out: string[] = [];
  for (let i = 0; i < rest.length; i++) {
    const [word, next] = [rest[i]!, rest[i + 1]];
    if (word === '--') return [...out, ...rest.slice(i)];
    if (word.startsWith('--') && options[word.slice(2)]?.type === 'string' && next !== undefined && /^-\.?\d/.test(next)) {
      out.push(`${word}=${next}`);
      i++;
    } else out.push(word);
  }
  return out;
}

function report(error: unknown, verb: string, json: boolean): number {
  const expected = isExpectedError(error) || error instanceof RangeError;
  const message = error instanceof Error ? error.message : String(error);
  const text = expected ? message : `something went wrong that Tallow did not expect: ${message}; nothing already in the folder was changed by this step. Run with TALLOW_DEBUG=1 for the details and report them`;
  process.stderr.write(`tallow ${verb}: ${text}\n`);
  if (!expected && process.env['TALLOW_DEBUG'] === '1' && error instanceof Error) process.stderr.write(`${error.stack ?? ''}\n`);
  if (json) {
    const what = error instanceof UseError ? error.what : {};
    process.stdout.write(`${JSON.stringify({ error: { message: text, ...what } })}\n`);
  }
  return 2;
}
