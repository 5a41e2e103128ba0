#!/usr/bin/env node
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const main = new URL('../dist/cli/main.js', import.meta.url);
if (!existsSync(fileURLToPath(main))) {
  console.error('tallow: not built yet; run `npm start` or `npm run build` in the project folder first');
  process.exit(2);
}
const { main: runTallow } = await import(main.href);
process.exitCode = await runTallow(process.argv.slice(2));
