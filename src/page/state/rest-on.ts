import { refresh, say, buildSoon, server, trouble } from './actions.js';
import { settle } from './instruments.js';
import { survey } from './stores.js';

/** Changes what depths rest on as one decision, told in plain words, and builds where there is something to build. */
export function setRestOn(path: string, value: unknown, what: string): Promise<boolean> {
  return settle(() => server.setTogether([{ path, value }], what), what);
}

/** A file of the water that the survey goes by from now on. */
export async function takeWater(use: 'level' | 'sound-speed', file: File): Promise<void> {
  try {
    const said = await server.takeWater(use, file);
    await refresh();
    say(said);
    if ((survey.get().summary?.logs.length ?? 0) > 0) buildSoon();
  } catch (error) {
    trouble(error);
  }
}
