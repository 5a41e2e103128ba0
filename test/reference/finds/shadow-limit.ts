/**
 * How well a height can be had from a shadow whose ends are known without any error, where the floor between the thing and its
 * shadow's end is known only on average: the rays are followed over the proving ground's own floor, ripples and rock included. Boxes half
 * as high as wide, 3 to 37 m off two lines of 150 m, as in measure-curves.ts.
 */
import { createRandom } from '../../../src/base/random.js';
import { createSideScanGround, type SideScanGroundOptions } from '../../../src/proving/index.js';

/** Floor on either side whose mean the crew know [m]: three crests of the ripples. */
const KNOWN_M = 3.3;
const STEP_M = 0.02;
const RANGE_M = 40;

/** Heights by H = h (1 - R / E) over true ones, less one. Shape [boxes whose shadow ends within range]. */
export function limitByRelief(ground: SideScanGroundOptions['ground'], sizeM: number, depthM: number, seed: number, boxes: number): number[] {
  const { bed, lines, options } = createSideScanGround(seed, { ground, lines: 2, lengthM: 150, spacingM: 45, depthM, turns: false, objects: 0 });
  const random = createRandom(seed * 1000 + Math.round(sizeM * 100));
  const topM = sizeM / 2;
  const errors: number[] = [];
  for (let i = 0; i < boxes; i++) {
    const [ax, ay, bx, by] = lines[i % 2]!.path as unknown as [number, number, number, number];
    const lengthM = Math.hypot(bx - ax, by - ay);
    const [ux, uy] = [(bx - ax) / lengthM, (by - ay) / lengthM];
    const along = random.between(0.1, 0.9) * lengthM;
    const side = random.uniform() < 0.5 ? -1 : 1;
    const farM = random.between(3, 37) + sizeM / 2;
    // The sonar hangs 0.6 m under the surface.
    const downM = (groundM: number): number => bed.depthM(ax + along * ux + side * groundM * uy, ay + along * uy - side * groundM * ux) + options.levelM - 0.6;
    const top = downM(farM) - topM;
    let end = farM;
    while (end < RANGE_M + 2 && downM(end) > (top * end) / farM) end += STEP_M;
    if (Math.hypot(end, downM(end)) > RANGE_M) continue;
    let [sum, count] = [0, 0];
    for (let at = farM - KNOWN_M; at <= farM + KNOWN_M; at += 0.1) [sum, count] = [sum + downM(Math.max(0, at)), count + 1];
    errors.push(((sum / count) * (1 - Math.hypot(farM, top) / Math.hypot(end, downM(end)))) / topM - 1);
  }
  return errors;
}
