import type { Command } from './command.js';

export const verbCheck: Command = {
  verb: 'check',
  summary: 'Check that logs, journal and derived files are whole and what they should be; exit code 1 where they are not.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: { sweep: { type: 'boolean', help: 'remove temporary files that a crash left behind' } },
  example: 'tallow check inlet',
  async run(given, terminal) {
    const folder = given.positionals[0] as string;
    const { checkFolder } = await import('../survey/check-folder.js');
    const { faults, notes, checked } = await checkFolder(folder, given.options['sweep'] === true, terminal.context);
    return {
      text: [...faults.map((fault) => `  x ${fault}`), ...notes.map((note) => `  ! ${note}`), faults.length === 0 ? `${checked} files checked, all whole.` : `${checked} files checked, ${faults.length} ${faults.length === 1 ? 'fault' : 'faults'}.`],
      json: { verb: 'check', folder, checked, faults, notes },
      exitCode: faults.length === 0 ? 0 : 1,
    };
  },
};
