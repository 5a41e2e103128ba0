import { existsSync } from 'node:fs';
import { cpus } from 'node:os';
import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';
import { CancelledError } from '../base/errors.js';
import { s102Bytes, shadedFiles, writeContoursDxf, writeSoundingsXyz, writeSurfaceXyz, xyzReadme, type HandOver } from './hand-over.js';
import { productWriter } from './product-writer.js';
import type { Made, StepWork } from './step-graph.js';
import { failureError, type ThreadFailure } from './thread-failure.js';

/** What of a survey's state a thread is given; the memory with soundings, surface, contours and finds saves it reading them. */
export type DrawingOrder = Pick<StepWork, 'folder' | 'settings' | 'logs' | 'decisions' | 'memory'>;

/** What it says at its end. */
export type DrawingReport = { readonly kind: 'done'; readonly made: Made } | ThreadFailure;

/** Products that are drawings here. */
const DRAWINGS = ['s102', 'dxf', 'xyz', 'png'] as const;
const SHARED: readonly string[] = ['soundings', 'surface', 'contours', 'finds'];
/** Fewer soundings and cells than this are written sooner than a thread is started. */
const LEAST_FOR_THREAD = 200_000;

/** S-102, DXF, plain text and the shaded picture, as far as they are asked for. */
export async function writeDrawings(over: HandOver): Promise<Made> {
  const { work, surface } = over;
  const { made, put, stream } = productWriter(work.folder);
  const wanted = (kind: (typeof DRAWINGS)[number]): boolean => work.settings.products.write.includes(kind);
  const s102 = wanted('s102') ? await s102Bytes(over) : null;
  if (s102 !== null) await put('surface-s102.h5', s102);
  if (wanted('dxf')) await stream('contours.dxf', (sink) => writeContoursDxf(over, sink));
  if (wanted('xyz')) {
    await stream('soundings.xyz', (sink) => writeSoundingsXyz(over, sink));
    if (surface !== null) await stream('surface.xyz', (sink) => writeSurfaceXyz(surface, sink));
    await put('xyz-readme.txt', xyzReadme(over));
  }
  if (wanted('png') && surface !== null) for (const [name, content] of Object.entries(shadedFiles(over, surface))) await put(name, content);
  return made;
}

/**
 * `writeDrawings` in a thread of its own where the survey is large enough to be worth it, so that the other products are
 * written meanwhile; the same bytes either way.
 *
 * @throws CancelledError when the work's signal is aborted; what writing throws
 */
export async function drawingsMeanwhile(over: HandOver): Promise<Made> {
  const { folder, settings, logs, decisions, memory, context } = over.work;
  const script = new URL('./product-worker.js', import.meta.url);
  if (!DRAWINGS.some((kind) => settings.products.write.includes(kind))) return {};
  if (over.soundings.n + (over.surface?.depthM.length ?? 0) < LEAST_FOR_THREAD || cpus().length < 2 || !existsSync(fileURLToPath(script))) return writeDrawings(over);
  const shared = new Map([...memory].filter(([name]) => SHARED.includes(name)));
  const worker = new Worker(script, { workerData: { folder, settings, logs, decisions, memory: shared } satisfies DrawingOrder, resourceLimits: { maxYoungGenerationSizeMb: 16 } });
  let onAbort = (): void => {};
  try {
    return await new Promise<Made>((resolve, reject) => {
      // Files appear whole or not at all, so the thread may be stopped anywhere.
      onAbort = () => reject(new CancelledError('cancelled; nothing that was finished before is lost'));
      if (context.signal?.aborted) onAbort();
      context.signal?.addEventListener('abort', onAbort, { once: true });
      worker.on('message', (report: DrawingReport) => {
        if (report.kind === 'done') resolve(report.made);
        else reject(failureError(report));
      });
      worker.on('error', reject);
      worker.on('exit', () => reject(new Error('a thread stopped before its products were written')));
    });
  } finally {
    context.signal?.removeEventListener('abort', onAbort);
    await worker.terminate();
  }
}
