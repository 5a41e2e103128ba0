import { mkdtemp, rm } from 'node:fs/promises';
import os from 'node:os';
import path from 'node:path';
import type { WorkContext } from '../base/progress.js';
import { compareWithTruth, type ProvingFigures } from '../proving/compare.js';
import type { ProvingSize } from '../proving/proving-survey.js';
import { writeTruthText } from '../proving/truth-text.js';
import { provingVerdict, type ProvingPromise } from '../proving/verdict.js';
import { makeAtomic } from './atomic-file.js';
import { placeIn } from './folder.js';
import { makeProof } from './make-demo.js';
import { stepWork } from './open-desk.js';
import { soundingsOf } from './step-soundings.js';
import { surfaceOf } from './step-surface.js';

/** Where the truth is written in a proving folder that is kept. */
export const TRUTH_PLACE = 'proving/truth.json';

/** What one proving survey came to. */
export interface Proof {
  readonly seed: number;
  readonly size: ProvingSize;
  /** Null where the folder was not kept. */
  readonly folder: string | null;
  readonly figures: ProvingFigures;
  readonly promises: readonly ProvingPromise[];
  readonly seconds: { readonly made: number; readonly built: number };
}

/**
 * Runs the whole chain on an invented survey, from raw logs to the surface, and compares it with the truth.
 *
 * @param folder where to keep the survey; null: it is removed when done
 */
export async function prove(folder: string | null, seed: number, size: ProvingSize, now: () => number, context: WorkContext): Promise<Proof> {
  const temporary = folder === null ? await mkdtemp(path.join(os.tmpdir(), 'tallow-prove-')) : null;
  const target = folder ?? path.join(temporary as string, 'survey');
  try {
    const began = now();
    const { desk, truth } = await makeProof(target, seed, size, context);
    const made = now();
    await desk.build(context, 'contours');
    const built = now();
    if (folder !== null) {
      const encoder = new TextEncoder();
      await makeAtomic(placeIn(target, TRUTH_PLACE), async (sink) => {
        const parts: string[] = [];
        writeTruthText(truth, (text) => parts.push(text));
        for (const part of parts) await sink.write(encoder.encode(part));
      });
    }
    const work = await stepWork(target, context);
    const soundings = await soundingsOf(work);
    const surface = await surfaceOf(work);
    context.progress?.('comparing with the truth', 0.95);
    const figures = compareWithTruth(
      truth,
      work.logs.map((log) => log.file),
      soundings,
      surface === null ? null : { depth: { grid: surface.grid, values: surface.depthM }, uncertaintyM: surface.uncertaintyM, count: surface.count },
    );
    return { seed, size, folder, figures, promises: provingVerdict(figures), seconds: { made: (made - began) / 1000, built: (built - made) / 1000 } };
  } finally {
    if (temporary !== null) await rm(temporary, { recursive: true, force: true });
  }
}
