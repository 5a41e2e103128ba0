import type { Soundings } from '../depths/soundings.js';
import type { ReportLine } from './report-input.js';

/** How a planned line was run. */
export interface LineRun {
  readonly number: number;
  readonly kind: ReportLine['kind'];
  readonly plannedM: number;
  /** Length of the planned line that good soundings cover [m]. */
  readonly coveredM: number;
  readonly soundings: number;
  readonly good: number;
  /** 95 % of its good soundings lie nearer to the planned line than this [m]; NaN where there is none. */
  readonly offsetP95M: number;
}

const BINS = 500;

/**
 * Lines as planned against lines as run, in order of their numbers. A stretch between two good soundings of a line counts
 * as covered where they are at most `maxGapS` apart.
 */
export function lineRuns(lines: readonly ReportLine[], soundings: Soundings | null, maxGapS: number): LineRun[] {
  const plans = new Map<number, Plan>();
  for (const line of lines) if (!plans.has(line.number)) plans.set(line.number, new Plan(line));
  if (soundings !== null) {
    const { n, line, reason, timeS, xM, yM } = soundings;
    for (let i = 0; i < n; i++) {
      const plan = plans.get(line[i] as number);
      if (plan === undefined) continue;
      plan.soundings += 1;
      if (reason[i] === 0) plan.add(xM[i] as number, yM[i] as number, timeS[i] as number, maxGapS);
    }
  }
  return [...plans.values()].sort((a, b) => a.line.number - b.line.number).map((plan) => plan.run());
}

class Plan {
  soundings = 0;
  private readonly bins = new Uint8Array(BINS);
  private readonly offsets: number[] = [];
  private readonly lengthM: number;
  private lastBin = -1;
  private lastS = NaN;

  constructor(readonly line: ReportLine) {
    let sum = 0;
    for (let i = 2; i + 1 < line.line.length; i += 2) sum += this.segmentM(i);
    this.lengthM = sum;
  }

  add(xM: number, yM: number, timeS: number, maxGapS: number): void {
    const points = this.line.line;
    let [best2, bestAlong, along] = [Infinity, 0, 0];
    for (let i = 2; i + 1 < points.length; i += 2) {
      const [ax, ay] = [points[i - 2] as number, points[i - 1] as number];
      const [dx, dy] = [(points[i] as number) - ax, (points[i + 1] as number) - ay];
      const length2 = dx * dx + dy * dy;
      const share = length2 > 0 ? Math.max(0, Math.min(1, ((xM - ax) * dx + (yM - ay) * dy) / length2)) : 0;
      const distance2 = (xM - ax - share * dx) ** 2 + (yM - ay - share * dy) ** 2;
      if (distance2 < best2) [best2, bestAlong] = [distance2, along + share * Math.sqrt(length2)];
      along += Math.sqrt(length2);
    }
    if (best2 === Infinity || !(this.lengthM > 0)) return;
    this.offsets.push(Math.sqrt(best2));
    const bin = Math.min(BINS - 1, Math.floor((bestAlong / this.lengthM) * BINS));
    const joined = this.lastBin >= 0 && Math.abs(timeS - this.lastS) <= maxGapS;
    const from = joined ? Math.min(bin, this.lastBin) : bin;
    const to = joined ? Math.max(bin, this.lastBin) : bin;
    this.bins.fill(1, from, to + 1);
    this.lastBin = bin;
    this.lastS = timeS;
  }

  run(): LineRun {
    const sorted = Float64Array.from(this.offsets).sort();
    return {
      number: this.line.number,
      kind: this.line.kind,
      plannedM: this.lengthM,
      coveredM: (this.bins.reduce((sum, bin) => sum + bin, 0) / BINS) * this.lengthM,
      soundings: this.soundings,
      good: sorted.length,
      offsetP95M: sorted.length === 0 ? NaN : (sorted[Math.min(sorted.length - 1, Math.ceil(0.95 * sorted.length) - 1)] as number),
    };
  }

  private segmentM(i: number): number {
    const points = this.line.line;
    return Math.hypot((points[i] as number) - (points[i - 2] as number), (points[i + 1] as number) - (points[i - 1] as number));
  }
}
