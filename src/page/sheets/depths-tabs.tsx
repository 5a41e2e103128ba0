import { depths, DEPTHS_PARTS, type DepthsPart, type DepthsStrip } from '../state/depths.js';
import { screen } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { PartTabs } from './part-tabs.js';

const NAMES: Readonly<Record<DepthsPart, string>> = { overview: 'Overview', instruments: 'Instruments', clean: 'Clean', correct: 'Correct', check: 'Check', surface: 'Surface' };
/** What the strip shows when a part is gone to; where nothing is named it stays as it is. */
const STRIPS: Readonly<Partial<Record<DepthsPart, DepthsStrip>>> = { clean: 'profile', correct: 'corrections' };

/** The parts of the Depths sheet. @param parts those there is something in */
export function DepthsTabs({ parts = DEPTHS_PARTS }: { readonly parts?: readonly DepthsPart[] }) {
  const part = useStore(depths, (now) => now.part);
  const go = (to: DepthsPart) => {
    // The check is read on the chart: its marks come with it.
    if (to === 'check') screen.update((now) => ({ ...now, showCrossings: true }));
    depths.update((now) => ({ ...now, part: to, strip: STRIPS[to] ?? (to === 'overview' ? 'time' : now.strip) }));
  };
  return <PartTabs label="Parts of the depths" of="depths" parts={parts} names={NAMES} part={part} onPart={go} />;
}
