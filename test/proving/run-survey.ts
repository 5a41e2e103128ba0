import { createHash } from 'node:crypto';
import type { ProvingSurvey, RunLine } from '../../src/proving/index.js';
import type { Truth } from '../../src/proving/index.js';

/** A proving survey run in memory. */
export interface RunSurvey {
  readonly truth: Truth;
  /** Bytes by log file. */
  readonly logs: ReadonlyMap<string, Buffer>;
  readonly sha256: string;
}

export function runSurvey(survey: ProvingSurvey, lines: readonly RunLine[] | null = null): RunSurvey {
  const parts = new Map<string, Uint8Array[]>();
  const truth = survey.writeLogs(lines, (file, bytes) => {
    const list = parts.get(file) ?? [];
    list.push(bytes);
    parts.set(file, list);
  });
  const logs = new Map([...parts].map(([file, list]) => [file, Buffer.concat(list)]));
  const hash = createHash('sha256');
  for (const [file, bytes] of logs) hash.update(file).update(bytes);
  return { truth, logs, sha256: hash.digest('hex') };
}

/** One whole sentence found by plain text search: the line it is on and what stands between `$` and `*`. */
export interface FoundSentence {
  readonly line: number;
  readonly body: string;
}

/** Every sentence with a right checksum, found independently of any reader of ours: lines end at LF. */
export function findSentences(bytes: Buffer): FoundSentence[] {
  const found: FoundSentence[] = [];
  for (const [line, text] of bytes.toString('latin1').split('\n').entries()) {
    for (const match of text.matchAll(/\$([^$*]*)\*([0-9A-F]{2})/g)) {
      let sum = 0;
      for (const character of match[1]!) sum ^= character.charCodeAt(0);
      if (sum === parseInt(match[2]!, 16)) found.push({ line, body: match[1]! });
    }
  }
  return found;
}
