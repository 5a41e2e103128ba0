/** The colours of paper and ink that every figure of the report is drawn in. No other colour is used. */
export const INK = {
  paper: '#fbf9f2',
  ink: '#1b2733',
  quiet: '#55636f',
  hairline: '#ded8c6',
  land: '#e7d6a6',
  drying: '#c9d8b4',
  /** Depth tints, shallow to deep. */
  tints: ['#9ccbe2', '#c3e1ef', '#e3f1f8', '#fbfdfe'],
  /** Where nothing was measured: darker than the deepest tint, so that it is not taken for deep water. */
  unsurveyed: '#e9ecec',
  contour: '#5a7f97',
  track: '#8496a3',
  accent: '#9a1b6b',
} as const;
