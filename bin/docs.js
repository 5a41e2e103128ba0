// Writes the parts of docs/ that are made from the code: the settings table and the command line's help.
import { readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { ROOT, ensureBuilt, ensureInstalled, requireNode } from './prepare.js';

requireNode();
ensureInstalled();
ensureBuilt();
const { generatedParts } = await import('../dist/cli/generated-docs.js');
for (const { file, marker, text } of generatedParts()) {
  const full = path.join(ROOT, file);
  const before = readFileSync(full, 'utf8');
  const pattern = new RegExp(`(<!-- ${marker}: made by npm run docs -->\n)[\\s\\S]*?(<!-- end ${marker} -->)`);
  if (!pattern.test(before)) throw new Error(`${file}: no place for ${marker}`);
  writeFileSync(full, before.replace(pattern, (_all, start, end) => `${start}${text}\n${end}`));
}
