import { existsSync, readFileSync } from 'node:fs';

/** Recorded data and published checks; absent on a machine without them. */
export const SHARED = new URL('../../../shared/data/', import.meta.url);
export const HAVE_SHARED = existsSync(new URL('checks/check-values.json', SHARED));
export const SHARED_NOTE = HAVE_SHARED ? '' : ' (SKIPPED: ../shared/data is not here)';

export const sharedText = (path: string): string => readFileSync(new URL(path, SHARED), 'utf8');
export const sharedRows = (path: string, separator: string): string[][] =>
  sharedText(path)
    .trim()
    .split(/\r?\n/)
    .slice(1)
    .map((line) => line.split(separator));

/** Tables made by the scripts in test/reference. */
export const reference = (path: string): unknown => JSON.parse(readFileSync(new URL(`../reference/${path}`, import.meta.url), 'utf8'));
