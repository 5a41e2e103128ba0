const LABEL = 16;

/** One figure: its name, its value, and what qualifies it. */
export function figure(label: string, value: string, qualifier = ''): string {
  return `  ${label.padEnd(LABEL)}${value}${qualifier === '' ? '' : `  (${qualifier})`}`;
}
