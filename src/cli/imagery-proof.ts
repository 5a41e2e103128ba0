import { UseError } from '../base/errors.js';
import type { WorkContext } from '../base/progress.js';
import { formatCount, formatCounted, formatDifference, formatMetres, formatShare } from '../report/figures.js';
import type { ImageryProof } from '../survey/prove-imagery.js';
import { pooledCurve } from '../survey/prove-imagery.js';

/** Side-scan surveys over the ground asked for, `all` for each kind in turn, each held against its truth. @throws UseError for no such ground */
export async function imageryProofs(ground: string, folder: string | null, seed: number, count: number, context: WorkContext): Promise<ImageryProof[]> {
  const { IMAGERY_GROUNDS, proveImagery } = await import('../survey/prove-imagery.js');
  const grounds = IMAGERY_GROUNDS.filter((kind) => ground === 'all' || ground === kind);
  if (grounds.length === 0) throw new UseError(`--imagery: expected ${IMAGERY_GROUNDS.join(', ')} or all, found ${JSON.stringify(ground)}`);
  if (folder !== null && grounds.length > 1) throw new UseError('--imagery all: a folder holds one survey; leave the folder out, or name one ground');
  const proofs: ImageryProof[] = [];
  for (const kind of grounds) for (let i = 0; i < count; i++) proofs.push(await proveImagery(folder, seed + i, kind, Date.now, context));
  return proofs;
}

export function imageryProofText({ seed, ground, figures, mosaic, promises }: ImageryProof): string[] {
  const { bottom, position, headingDeg, found, height, false: beside } = figures;
  const share = (part: { readonly count: number; readonly of: number }): string => `${formatCount(part.count)} of ${formatCount(part.of)}`;
  return [
    `Seed ${seed}, ${ground} ground: ${share(figures.pings)} pings on lines came through`,
    `  Bottom: bias ${formatDifference(bottom.errors.biasM, 3)}, 95 % ${formatMetres(bottom.errors.p95M, 3)}; within 0.25 m over ${bottom.byKind.map(({ kind, within }) => `${kind} ${formatShare(within.share, 1)}`).join(', ')}`,
    `  Sonar's place: RMS ${formatMetres(position.rmsM, 3)}, 95 % ${formatMetres(position.p95M, 3)}; its heading: RMS ${headingDeg.rmsM.toFixed(2)} deg`,
    `  Objects of 0.8 m and larger in the mosaic: ${formatCount(mosaic.n)} show, RMS off by ${formatMetres(mosaic.rmsM, 2)}`,
    ...(found === null || height === null || beside === null
      ? []
      : [
          `  Found of 0.5 m and larger: ${share(found.large)}; of smaller ones: ${share(found.small)}; RMS off by ${formatMetres(found.offM.rmsM, 2)}; their 95 % hold ${share(found.held)}`,
          `  Finds of no object: ${formatCount(beside.count)}; ${beside.perLookedHa.toFixed(2)} a hectare looked over (${beside.lookedHa.toFixed(2)} ha), ${beside.perFloorHa.toFixed(2)} a hectare of floor (${beside.floorHa.toFixed(2)} ha)`,
          `  Heights by shadow: ${share(height.within)} within 15 %`,
        ]),
    ...promises.map((promise) => `  ${promise.met ? 'yes' : 'NO '}  ${promise.what}: ${promise.unit === 'm' ? formatMetres(promise.found, 3) : promise.unit === 'share' ? formatShare(promise.found, 2) : promise.found.toFixed(2)} (wanted ${promise.limit})`),
  ];
}

/** The curve of found against false for each kind of ground, over all its surveys. */
export function foundCurvesText(proofs: readonly ImageryProof[]): string[] {
  return [...new Set(proofs.map(({ ground }) => ground))].flatMap((ground) => {
    const curves = proofs.flatMap(({ ground: each, curve, figures }) => (each === ground && figures.false !== null ? [{ curve, looked: figures.false }] : []));
    if (curves.length === 0) return [];
    const share = ({ share: value, of }: { readonly share: number; readonly of: number }): string => (of === 0 ? 'none' : `${formatShare(value, 1)} of ${formatCount(of)}`).padEnd(16);
    return [
      `Found against false, ${ground} ground, planted objects of 0.5 m and larger, ${formatCounted(curves.length, 'survey')}:`,
      '  asked a hectare  clear looks     all looks       objects         false a hectare looked over',
      ...pooledCurve(curves).map(({ askedPerHa, clearLooks, looks, objects, falseSeen, perLookedHa }) => `  ${String(askedPerHa).padEnd(15)}  ${share(clearLooks)}${share(looks)}${share(objects)}${perLookedHa.toFixed(2)} (${formatCount(falseSeen)})  ${'#'.repeat(Math.round(30 * (clearLooks.share || 0)))}`),
    ];
  });
}
