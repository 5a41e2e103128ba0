/** How long is looked [ms]. */
const LOOK_MS = 150;

/** Share of a core that a program gets just now, up to 1: the time it ran of the time that passed while it had work all along. */
export function shareOfCore(): number {
  const began = performance.now();
  const before = process.cpuUsage();
  while (performance.now() - began < LOOK_MS);
  const { user, system } = process.cpuUsage(before);
  return Math.min(1, (user + system) / 1000 / (performance.now() - began));
}

/** A limit for a machine that has nothing else to do, as it is for this one now: a program that gets half a core may take twice as long. */
export function limitNow(limitMs: number): number {
  return limitMs / shareOfCore();
}

/**
 * Measures until the limit is kept, at most so many times: the other times tell how busy the machine is, not how heavy the page.
 *
 * @returns the least time over what it may be [1]: 1 and less is quick enough
 */
export async function leastOverLimit(limitMs: number, measureMs: () => Promise<number>, times = 6): Promise<number> {
  let least = Infinity;
  for (let k = 0; k < times && least > 1; k++) {
    const before = shareOfCore();
    const tookMs = await measureMs();
    least = Math.min(least, (tookMs / limitMs) * Math.min(before, shareOfCore()));
  }
  return least;
}
