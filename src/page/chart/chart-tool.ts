/** What the pointer does on the chart; box, brush and line do the same in the profile and among the points. */
export type ChartTool = 'look' | 'select' | 'brush' | 'line' | 'draw' | 'edit' | 'launch' | 'base' | 'ask-line' | 'ask-area' | 'draw-keepouts' | 'draw-shore';

/** The tools that select soundings. */
export const SELECT_TOOLS: ReadonlySet<ChartTool> = new Set<ChartTool>(['select', 'brush', 'line']);
