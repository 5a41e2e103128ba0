import { ESLint } from 'eslint';
import { describe, expect, it } from 'vitest';
import { ALLOWED, importFault } from '../../lint/import-rule.js';
import { PROJECT } from '../cli/run-tallow.js';

describe('import rule', () => {
  it('importFault: base knows nothing, formats and depths do not know each other', () => {
    expect(importFault('base', '../geo/frame.js', 'geo', false)).toBe('base may not import geo');
    expect(importFault('formats', '../depths/soundings.js', 'depths', false)).toBe('formats may not import depths');
    expect(importFault('depths', '../formats/x.js', 'formats', true)).toBe('depths may not import formats');
    expect(importFault('depths', '../water/tide.js', 'water', false)).toBeNull();
    expect(importFault('proving', '../depths/reduce.js', 'depths', false)).toBe('proving may not import depths');
    expect(importFault('survey', '../server/server.js', 'server', false)).toBe('survey may not import server');
  });

  it('importFault: pure rooms may not import node modules', () => {
    expect(importFault('depths', 'node:fs', null, false)).toMatch(/pure room/);
    expect(importFault('survey', 'node:fs', null, false)).toBeNull();
  });

  it('importFault: the page takes types of the server, nothing more', () => {
    expect(importFault('page', '../server/api.js', 'server', true)).toBeNull();
    expect(importFault('page', '../server/api.js', 'server', false)).toBe('page may not import server');
  });

  it('ALLOWED: there is no circle', () => {
    const visit = (room: string, path: readonly string[]): void => {
      expect(path, `${[...path, room].join(' <- ')}`).not.toContain(room);
      const next = (ALLOWED as Record<string, string | string[]>)[room];
      if (Array.isArray(next)) for (const one of next) visit(one, [...path, room]);
    };
    for (const room of Object.keys(ALLOWED)) visit(room, []);
  });

  it('lint: a bad import in a file is named', async () => {
    const eslint = new ESLint({ cwd: PROJECT });
    const [result] = await eslint.lintText("import { readFile } from 'node:fs';\nimport { writeGeoJson } from '../formats/geojson-write.js';\nexport const x = [readFile, writeGeoJson, Math.random()];\n", { filePath: `${PROJECT}/src/depths/bad.ts` });
    const messages = result!.messages.map((message) => message.message).join('\n');
    expect(messages).toContain('depths is a pure room: it may not import node:fs');
    expect(messages).toContain('depths may not import formats');
    expect(messages).toContain('pass a seeded generator in');
  });
});
