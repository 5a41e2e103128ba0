import { UseError } from '../base/errors.js';
import type { Command } from './command.js';
import { numberOption } from './settings-options.js';
import { buildText, summaryText } from './text.js';

export const verbDemo: Command = {
  verb: 'demo',
  summary: 'Make the demo survey of Hollin Sound (invented) and run the main job on it.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    seed: { type: 'string', value: 'NUMBER', help: 'another seed: other errors and faults over the same floor' },
    'no-build': { type: 'boolean', help: 'stop when the logs are taken in' },
  },
  example: 'tallow demo demo',
  async run(given, terminal) {
    const folder = given.positionals[0] as string;
    const seed = numberOption(given, 'seed');
    if (seed !== undefined && (!Number.isInteger(seed) || seed < 0)) throw new UseError(`--seed: expected a whole number, 0 or more, found ${seed}`);
    const { makeDemo } = await import('../survey/make-demo.js');
    const { desk } = await makeDemo(folder, seed, terminal.context);
    if (given.options['no-build'] === true) {
      const summary = await desk.summary();
      return { text: [`Made ${folder}. Next: tallow build ${folder}`], json: { verb: 'demo', folder, summary } };
    }
    const result = await desk.build(terminal.context);
    return {
      text: [...summaryText(result.summary), ...buildText(result), `Next: tallow open ${folder}`],
      json: { verb: 'demo', folder, summary: result.summary, ran: result.ran },
    };
  },
};
