import { existsSync, readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { generatedParts } from '../../src/cli/generated-docs.js';
import { COMMANDS } from '../../src/cli/commands.js';
import { REASONS } from '../../src/depths/soundings.js';
import { settingRows } from '../../src/survey/settings-doc.js';
import { SOUNDING_COLUMNS } from '../../src/survey/soundings-file.js';
import { SOUNDINGS_CSV_HEADER } from '../../src/survey/soundings-csv.js';
import { TRACK_COLUMNS } from '../../src/survey/step-tracks.js';
import { PLACES, SURVEY_FOLDERS } from '../../src/survey/folder.js';
import { PROJECT } from '../cli/run-tallow.js';

const page = (name: string): string => readFileSync(path.join(PROJECT, name), 'utf8');
const FORMATS = page('docs/formats.md');

function markdownFiles(folder: string): string[] {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    const full = path.join(folder, entry.name);
    return entry.isDirectory() ? markdownFiles(full) : entry.name.endsWith('.md') ? [full] : [];
  });
}

describe('docs', () => {
  for (const { file, marker, text } of generatedParts()) {
    it(`${file}: ${marker} is what the code says (npm run docs)`, () => {
      const between = page(file).split(`<!-- ${marker}: made by npm run docs -->\n`)[1]?.split(`\n<!-- end ${marker} -->`)[0];
      expect(between).toBe(text);
    });
  }

  it('docs/formats.md: every setting has a meaning', () => {
    expect(settingRows().filter(({ meaning }) => meaning === '')).toEqual([]);
  });

  it('docs/formats.md: names every column of soundings and tracks, and the CSV header in order', () => {
    const section = (start: string): string => FORMATS.slice(FORMATS.indexOf(start)).split('\n')[0]!;
    for (const column of SOUNDING_COLUMNS) expect(section('`soundings.parquet`: `timeS`')).toContain(`\`${column}\``);
    for (const column of TRACK_COLUMNS) expect(section('`tracks.parquet`: `timeS`')).toContain(`\`${column}\``);
    const named = [...section('`soundings.csv`').matchAll(/`(\w+)`/g)].map((match) => match[1]).filter((name) => SOUNDINGS_CSV_HEADER.split(',').includes(name!));
    expect([...new Set(named)].join(',')).toBe(SOUNDINGS_CSV_HEADER);
  });

  it('docs/formats.md: the table of reasons is that of the code', () => {
    for (const { code, name, label } of REASONS) expect(FORMATS).toContain(`| ${code} | \`${name}\` | ${label} |`);
  });

  it('docs/formats.md: names every place and every verb', () => {
    for (const place of Object.values(PLACES)) expect(FORMATS).toContain(path.basename(place));
    for (const name of SURVEY_FOLDERS.filter((one) => one !== 'boat')) expect(FORMATS).toContain(`${name}/`);
    for (const { verb } of COMMANDS) expect(FORMATS).toContain(`| \`${verb}\` |`);
  });

  it('links: every local link of every page leads somewhere', () => {
    for (const file of [path.join(PROJECT, 'README.md'), ...markdownFiles(path.join(PROJECT, 'docs')), ...markdownFiles(path.join(PROJECT, 'bench'))]) {
      for (const [, target] of readFileSync(file, 'utf8').matchAll(/\]\(([^)\s]+)\)/g)) {
        if (/^https?:/.test(target!) || target!.startsWith('#')) continue;
        expect(existsSync(path.resolve(path.dirname(file), target!.split('#')[0]!)), `${path.relative(PROJECT, file)}: ${target}`).toBe(true);
      }
    }
  });
});
