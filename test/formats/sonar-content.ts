import type { SonarHeads, SonarSamples } from '../../src/base/sonar.js';
import { emptyHeads, emptyStretch, type SonarContent } from '../../src/formats/sonar-summary.js';

/** Pings over an invented line: a gentle course, ramps of samples that tell ping, side and place apart. */
export function madeContent(n: number, samples: number, change: (heads: SonarHeads) => void = () => undefined): SonarContent {
  const heads = emptyHeads(n);
  for (let i = 0; i < n; i++) {
    heads.timeS[i] = 1_778_750_042.25 + i * 0.0731;
    heads.portSamples[i] = samples;
    heads.starboardSamples[i] = samples;
    heads.intervalS[i] = 130.21e-6;
    heads.latDeg[i] = 46.0123456 + i * 1e-6;
    heads.lonDeg[i] = -30.0456789 - i * 2e-6;
    heads.headingDeg[i] = 123.5;
    heads.heightM[i] = 4.5;
    heads.depthM[i] = 0.75;
    heads.frequencyHz[i] = 450_000;
  }
  change(heads);
  return { heads, read: (start, end) => madeStretch(heads, start, end) };
}

export function madeStretch(heads: SonarHeads, start: number, end: number): SonarSamples {
  const stretch = emptyStretch(heads, start, end);
  for (let i = start; i < end; i++) {
    for (let k = 0; k < (heads.portSamples[i] as number); k++) stretch.port[(i - start) * stretch.width + k] = (i * 31 + k * 7) % 1000;
    for (let k = 0; k < (heads.starboardSamples[i] as number); k++) stretch.starboard[(i - start) * stretch.width + k] = 1000 + ((i * 17 + k * 3) % 1000);
  }
  return stretch;
}

/** The columns of heads as plain arrays, for comparing. */
export function columnsOf(heads: SonarHeads): Record<string, number[]> {
  return Object.fromEntries(Object.entries(heads).filter(([key]) => key !== 'n').map(([key, column]) => [key, [...(column as Float64Array)]]));
}
