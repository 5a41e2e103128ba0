// npm start: install, build, make the demo survey when there is none, run the main job on it, open the page.
import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import path from 'node:path';
import { ROOT, ensureBuilt, ensureInstalled, requireNode, run } from './prepare.js';

requireNode();
const options = process.argv.slice(2);
const unknown = options.filter((option) => !/^--(no-open|no-serve|port=\d+|folder=.+)$/.test(option));
if (unknown.length > 0) {
  console.error(`npm start: unknown option ${unknown[0]}; known: --no-open (do not open a browser), --no-serve (stop when the products are made), --port=N, --folder=PATH`);
  process.exit(2);
}
const given = options.find((option) => option.startsWith('--folder='));
const demo = given === undefined ? path.join(ROOT, 'demo') : path.resolve(process.env.INIT_CWD ?? process.cwd(), given.slice('--folder='.length));
ensureInstalled();
ensureBuilt();

const tallow = path.join(ROOT, 'bin', 'tallow.js');
if (!existsSync(path.join(demo, 'survey.json'))) run(process.execPath, [tallow, 'demo', demo]);
else run(process.execPath, [tallow, 'build', demo]);

if (!options.includes('--no-serve')) {
  const args = [tallow, 'open', demo, ...options.filter((option) => option === '--no-open' || option.startsWith('--port='))];
  const child = spawn(process.execPath, args, { stdio: 'inherit' });
  for (const signal of ['SIGINT', 'SIGTERM']) process.on(signal, () => child.kill(signal));
  child.on('exit', (code) => process.exit(code ?? 0));
}
