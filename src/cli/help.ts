import type { Command } from './command.js';

const WIDTH = 26;

function optionLines(command: Command): string[] {
  const all = [
    ...Object.entries(command.options).map(([name, spec]) => [`--${name}${spec.type === 'boolean' ? '' : ` ${spec.value ?? 'TEXT'}`}`, `${spec.help}${spec.type === 'strings' ? ' (may be given more than once)' : ''}`] as const),
    ['--json', 'one JSON object on stdout, progress on stderr'] as const,
    ['--help', 'this text'] as const,
  ];
  return all.map(([left, right]) => `  ${left.length > WIDTH - 2 ? `${left}\n  ${' '.repeat(WIDTH)}` : left.padEnd(WIDTH)}${right}`);
}

/** The help of one verb. */
export function commandHelp(command: Command): string {
  return [
    `tallow ${command.verb} ${command.usage} [options]`,
    '',
    command.summary,
    '',
    'Options:',
    ...optionLines(command),
    '',
    command.example.includes('\n') ? 'Examples:' : 'Example:',
    ...command.example.split('\n').map((line) => `  ${line}`),
  ].join('\n');
}

/** The help of the whole program. */
export function generalHelp(commands: readonly Command[]): string {
  const width = Math.max(...commands.map(({ verb }) => verb.length)) + 2;
  return [
    'tallow <verb> <survey folder> [options]',
    '',
    'From a small survey boat\'s raw logs to a chart its crew can defend. Not for navigation.',
    '',
    'Verbs, in the order of a day:',
    ...commands.map((command) => `  ${command.verb.padEnd(width)}${command.summary}`),
    '',
    'tallow <verb> --help shows the options of a verb with an example.',
    'Exit codes: 0 done, 1 done but the verdict is no, 2 bad use or bad input.',
  ].join('\n');
}
