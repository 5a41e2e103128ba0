import type { ProvingFigures } from './compare.js';

/** One thing that was promised, and what came of it. */
export interface ProvingPromise {
  readonly what: string;
  readonly limit: string;
  readonly found: number;
  /** `m`, or `share` of 1, or `count`, or `perHa`, so many a hectare. */
  readonly unit: 'm' | 'share' | 'count' | 'perHa';
  readonly met: boolean;
}

/** What the whole chain must do on the proving ground, held against the figures. Parts without a figure are left out. */
export function provingVerdict(figures: ProvingFigures): ProvingPromise[] {
  const missed = figures.spikes.filter(({ fromM }) => fromM >= 1).reduce((sum, bin) => sum + bin.missed, 0);
  const list: ProvingPromise[] = [
    { what: 'soundings: mean error', limit: 'under 0.02 m', found: figures.good.atReported.biasM, unit: 'm', met: Math.abs(figures.good.atReported.biasM) < 0.02 },
    { what: 'spikes over 1 m not flagged', limit: '0', found: missed, unit: 'count', met: missed === 0 },
    { what: 'good soundings flagged', limit: 'under 0.5 %', found: figures.goodFlagged.share, unit: 'share', met: figures.goodFlagged.share < 0.005 },
    {
      what: 'claimed 95 % TVU contains the truth',
      limit: '93 to 97 %',
      found: figures.good.tvuAtReported.share,
      unit: 'share',
      met: figures.good.tvuAtReported.share >= 0.93 && figures.good.tvuAtReported.share <= 0.97,
    },
  ];
  if (figures.surface !== null) {
    const { gentle } = figures.surface;
    list.unshift(
      { what: 'surface, slope under 5 deg: root mean square error', limit: 'at most 0.10 m', found: gentle.rmsM, unit: 'm', met: gentle.rmsM <= 0.1 },
      { what: 'surface, slope under 5 deg: mean error', limit: 'under 0.02 m', found: gentle.biasM, unit: 'm', met: Math.abs(gentle.biasM) < 0.02 },
    );
  }
  return list;
}
