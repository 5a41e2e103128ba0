import { watch } from 'node:fs';
import type { FSWatcher } from 'node:fs';
import path from 'node:path';

const PLACES = ['.', 'plan', 'logs', 'derived', 'derived/surface', 'products'];
/** Changes come in flocks: one report after they have settled [ms]. */
const SETTLE_MS = 400;
/** A watch that could not be set, e.g. on a folder that is not there yet, is tried again this often [ms]. */
const RETRY_MS = 5000;

/**
 * Tells when another program changes the survey folder. A hint, not a promise: some network disks report nothing.
 *
 * @param quiet whether changes at this moment are our own doing
 * @returns how to stop
 */
export function watchFolder(folder: string, changed: () => void, quiet: () => boolean): () => void {
  const watchers = new Map<string, FSWatcher>();
  let settle: NodeJS.Timeout | null = null;

  function onChange(_: string, name: string | Buffer | null): void {
    if (name !== null && String(name).startsWith('.')) return;
    if (quiet()) return;
    settle ??= setTimeout(() => {
      settle = null;
      if (!quiet()) changed();
    }, SETTLE_MS).unref();
  }

  function watchAll(): void {
    for (const place of PLACES) {
      if (watchers.has(place)) continue;
      try {
        const watcher = watch(path.join(folder, place), { persistent: false }, onChange);
        watchers.set(place, watcher);
        watcher.on('error', () => {
          watcher.close();
          watchers.delete(place);
        });
      } catch {
        // Not there yet, or no watches left: tried again later.
      }
    }
  }

  watchAll();
  const retry = setInterval(watchAll, RETRY_MS);
  retry.unref();
  return () => {
    clearInterval(retry);
    if (settle) clearTimeout(settle);
    for (const watcher of watchers.values()) watcher.close();
  };
}
