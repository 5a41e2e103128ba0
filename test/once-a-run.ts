import { constants, existsSync } from 'node:fs';
import { cp, mkdir, mkdtemp, readFile, rename, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { build } from 'vite';
import { PROJECT, tallow } from './cli/run-tallow.js';

/**
 * A folder that many test files want alike: made once a run of the tests, by the first that asks, whichever process it is in; the
 * others wait for it. Only to be read, or copied.
 *
 * @param name what is made, a name of its own in the whole run
 * @param make fills the folder, which is not there yet
 * @throws what `make` threw, in whichever process it did
 */
export async function onceARun(name: string, make: (folder: string) => Promise<void>): Promise<string> {
  // test/run-folder.ts makes it before the first test and takes it away after the last.
  const done = path.join(process.env['TALLOW_TEST_RUN'] as string, name);
  const [making, failed] = [`${done}.making`, `${done}.failed`];
  for (;;) {
    if (existsSync(done)) return done;
    if (existsSync(failed)) throw new Error(`${name} could not be made: ${await readFile(failed, 'utf8')}`);
    try {
      await mkdir(making);
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
      await new Promise((resolve) => setTimeout(resolve, 50));
      continue;
    }
    try {
      await make(path.join(making, 'made'));
      await rename(path.join(making, 'made'), done);
      return done;
    } catch (error) {
      await writeFile(failed, String(error));
      throw error;
    }
  }
}

/** The page as it is shipped: the one just built for these tests, or else built now. */
export async function shippedPage(): Promise<string> {
  return process.env['TALLOW_TEST_PAGE'] ?? onceARun('page', async (outDir) => void (await build({ configFile: path.join(PROJECT, 'vite.config.ts'), logLevel: 'error', root: path.join(PROJECT, 'src/page'), build: { outDir, emptyOutDir: true } })));
}

/** The demo survey with everything built, as `tallow demo` leaves it; its answer to --json lies beside it. */
export async function builtDemo(): Promise<{ readonly folder: string; readonly reply: string }> {
  const made = await onceARun('demo', async (folder) => {
    await mkdir(folder);
    const run = await tallow(['demo', path.join(folder, 'demo'), '--json']);
    if (run.code !== 0) throw new Error(run.err);
    await writeFile(path.join(folder, 'reply.json'), run.out);
  });
  return { folder: path.join(made, 'demo'), reply: await readFile(path.join(made, 'reply.json'), 'utf8') };
}

/** Copies a survey folder to work in, with the times of its files. */
export async function copySurvey(from: string, to: string): Promise<void> {
  await cp(from, to, { recursive: true, preserveTimestamps: true, mode: constants.COPYFILE_FICLONE, filter: (place) => !place.endsWith('.lock') });
}

/** A copy in a new folder, for `removeCopy`. */
export async function copyOfSurvey(folder: string): Promise<string> {
  const copy = path.join(await mkdtemp(path.join(tmpdir(), 'tallow-copy-')), 'survey');
  await copySurvey(folder, copy);
  return copy;
}

/** Removes a copy and the folder it is in. */
export async function removeCopy(folder: string): Promise<void> {
  await rm(path.dirname(folder), { recursive: true, force: true });
}
