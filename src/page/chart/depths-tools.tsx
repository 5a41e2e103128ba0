import { depths } from '../state/depths.js';
import { screen } from '../state/stores.js';
import { useStore } from '../state/store.js';
import type { ChartTool } from './chart-tool.js';
import { Icon } from './icon.js';

/** Tools of the Depths stage beside the chart: brush, line, and the view of the points in space. */
export function DepthsTools() {
  const tool = useStore(screen, (now) => now.tool);
  const points = useStore(depths, (now) => now.points);
  const toggle = (one: ChartTool) => screen.update((now) => ({ ...now, tool: now.tool === one ? 'look' : one }));
  return (
    <>
      <button type="button" aria-label="Select by brush" title="Select by brush: paint over soundings on the chart, in the profile or among the points" aria-pressed={tool === 'brush'} onClick={() => toggle('brush')}>
        <Icon d="M16.500 3.500l-7 7M7.500 11.500c-2 0-2.500 1.500-2.700 3-.1.8-.8 1.400-1.800 1.700 3.800.9 6.700-.5 6.700-2.900 0-1-.9-1.800-2.200-1.800z" />
      </button>
      <button type="button" aria-label="Select by line" title="Select by line: click one sounding and all of its line is selected" aria-pressed={tool === 'line'} onClick={() => toggle('line')}>
        <Icon d="M3 15L17 5M3 15h0M6 10.500l.01 0M10 10l.01 0M14 7l.01 0M3.500 13a2 2 0 1 0 .01 0zM16.500 3a2 2 0 1 0 .01 0z" />
      </button>
      <button type="button" aria-label="Points in space" title="Points in space: a view of the soundings that can be turned" aria-pressed={points} onClick={() => depths.update((now) => ({ ...now, points: !now.points }))}>
        <Icon d="M10 2.500l6.500 3.750v7.500L10 17.500l-6.500-3.750v-7.500zM3.500 6.250L10 10l6.500-3.750M10 10v7.500" />
      </button>
    </>
  );
}
