import { spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { UseError } from '../base/errors.js';
import type { Command } from './command.js';
import { numberOption } from './settings-options.js';

/** Asks the desktop to show an address; where there is no desktop nothing happens, and the address is printed anyway. */
function showInBrowser(url: string): void {
  const [command, ...args] = process.platform === 'darwin' ? ['open', url] : process.platform === 'win32' ? ['cmd', '/c', 'start', '', url] : ['xdg-open', url];
  const child = spawn(command as string, args, { stdio: 'ignore', detached: true });
  child.on('error', () => undefined);
  child.unref();
}

export const verbOpen: Command = {
  verb: 'open',
  summary: 'Serve the chart table to this machine\'s browser.',
  usage: '<survey folder>',
  minPositionals: 1,
  maxPositionals: 1,
  options: {
    'no-open': { type: 'boolean', help: 'print the address only; do not start a browser' },
    port: { type: 'string', value: 'NUMBER', help: 'the port to listen on; a free one when left out' },
  },
  example: 'tallow open inlet',
  async run(given, terminal) {
    const folder = given.positionals[0] as string;
    const port = numberOption(given, 'port') ?? 0;
    if (!Number.isInteger(port) || port < 0 || port > 65535) throw new UseError(`--port: expected a whole number from 0 to 65535, found ${port}`);
    const [{ startServer }, { openBackgroundDesk }] = await Promise.all([import('../server/server.js'), import('../survey/background-desk.js')]);
    const desk = await openBackgroundDesk(folder);
    const server = await startServer({ desk, port, host: '127.0.0.1', pageDir: fileURLToPath(new URL('../page/', import.meta.url)) });
    if (given.options['no-open'] !== true) showInBrowser(server.url);
    const until = new Promise<void>((resolve) => {
      const { signal } = terminal.context;
      const stop = (): void => void server.close().then(resolve);
      if (signal?.aborted) stop();
      else signal?.addEventListener('abort', stop, { once: true });
    });
    return { text: [`Chart table: ${server.url}`, 'Stop it with Ctrl+C.'], json: { verb: 'open', folder, url: server.url }, until };
  },
};
