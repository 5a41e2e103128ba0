import { settingsTable } from '../survey/settings-doc.js';
import { COMMANDS } from './commands.js';
import { commandHelp, generalHelp } from './help.js';

/** A part of docs/ that is made from the code, and the marker it stands between. */
export interface GeneratedPart {
  readonly file: string;
  readonly marker: string;
  readonly text: string;
}

/** Every generated part; a test holds the pages against it. */
export function generatedParts(): GeneratedPart[] {
  const block = (text: string): string => `\`\`\`\n${text}\n\`\`\``;
  return [
    { file: 'docs/formats.md', marker: 'settings', text: settingsTable() },
    { file: 'docs/command-line.md', marker: 'help', text: [block(generalHelp(COMMANDS)), ...COMMANDS.map((command) => `\n## ${command.verb}\n\n${block(commandHelp(command))}`)].join('\n') },
  ];
}
