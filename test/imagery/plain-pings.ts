import type { Random } from '../../src/base/random.js';
import type { SonarHeads, SonarSamples } from '../../src/base/sonar.js';
import { emptyHeads } from '../../src/formats/sonar-summary.js';

/**
 * Pings over an invented floor, for tests of the imagery room: a flat floor under each ping at its own height, speckled
 * (Rayleigh), its amplitude falling with range and angle; with what disturbs a bottom track where asked for.
 */
export interface PlainOptions {
  readonly random: Random;
  readonly n: number;
  readonly samples: number;
  readonly rangeM: number;
  readonly pingS: number;
  readonly soundSpeedMps: number;
  /** Sonar above the floor by ping [m]. */
  readonly heightM: (ping: number) => number;
  /** Noise of the receiver, as a share of the floor's first echo. */
  readonly noise?: number;
  /** Height of grass and how loud it is against the floor below it [m, 1]. */
  readonly grass?: (ping: number) => { readonly tallM: number; readonly share: number };
  /** Slant range of the water surface's echo and how loud it is against the floor's first echo. */
  readonly surface?: (ping: number) => { readonly slantM: number; readonly share: number };
  readonly dropped?: (ping: number) => boolean;
  /** Gain of a ping [dB], e.g. stripes. */
  readonly pingDb?: (ping: number) => number;
  /** What a side is louder by [dB]. */
  readonly starboardDb?: number;
  /** Further amplitude factor at a ground range (starboard positive), e.g. an object. */
  readonly spot?: (ping: number, groundM: number) => number;
  /** Rise of the floor to starboard, per metre; to port it falls. */
  readonly slope?: number;
}

export function plainPings(options: PlainOptions): { heads: SonarHeads; samples: SonarSamples } {
  const { random, n, samples: width, rangeM, pingS, soundSpeedMps, noise = 0.01, slope = 0 } = options;
  const intervalS = (2 * rangeM) / soundSpeedMps / width;
  const stepM = rangeM / width;
  const heads: SonarHeads = {
    ...emptyHeads(n),
    timeS: Float64Array.from({ length: n }, (_, ping) => 1_780_000_000 + ping * pingS),
    portSamples: new Uint32Array(n).fill(width),
    starboardSamples: new Uint32Array(n).fill(width),
    intervalS: new Float64Array(n).fill(intervalS),
  };
  const port = new Float32Array(n * width);
  const starboard = new Float32Array(n * width);
  const rayleigh = (): number => Math.sqrt(-2 * Math.log(1 - random.uniform())) * 0.7979;
  for (let ping = 0; ping < n; ping++) {
    const heightM = options.heightM(ping);
    const grass = options.grass?.(ping) ?? { tallM: 0, share: 0 };
    const surface = options.surface?.(ping);
    const dropped = options.dropped?.(ping) ?? false;
    const gain = 10 ** ((options.pingDb?.(ping) ?? 0) / 20);
    for (const [values, sign] of [[port, -1], [starboard, 1]] as const) {
      const rise = sign * slope;
      const sideGain = gain * (sign > 0 ? 10 ** ((options.starboardDb ?? 0) / 20) : 1);
      const planeM = heightM / Math.hypot(1, rise);
      const floorAt = (slantM: number): number => 1000 * (slantM / 5) ** -1.5 * (planeM / slantM) ** 0.8;
      for (let i = 0; i < width; i++) {
        const slantM = i * stepM;
        let level = 0;
        if (slantM >= planeM) {
          const square = 1 + rise * rise;
          const groundM = (heightM * rise + Math.sqrt(square * slantM * slantM - heightM * heightM)) / square;
          level = floorAt(slantM) * (options.spot?.(ping, sign * groundM) ?? 1);
        } else if (slantM >= planeM - grass.tallM) level = 1000 * grass.share;
        if (surface !== undefined && Math.abs(slantM - surface.slantM) < 0.06) level += 1000 * surface.share;
        if (slantM < 0.3) level += 3000;
        values[ping * width + i] = dropped ? 1000 * noise * 0.3 * rayleigh() : sideGain * (level * rayleigh() + 1000 * noise * rayleigh());
      }
    }
  }
  return { heads, samples: { n, width, port, starboard } };
}

/** A reader's `read` over samples in memory. */
export function readFrom({ width, port, starboard }: SonarSamples): (start: number, end: number) => Promise<SonarSamples> {
  return async (start, end) => ({ n: end - start, width, port: port.subarray(start * width, end * width), starboard: starboard.subarray(start * width, end * width) });
}
