/** Sentence types that are decoded; the number is the type's place in the counts. */
export const TYPE = {
  GGA: 0, RMC: 1, VTG: 2, GLL: 3, GNS: 4, GSA: 5, GST: 6, ZDA: 7, HDT: 8, THS: 9, HDG: 10, HDM: 11,
  DBT: 12, DPT: 13, DBS: 14, DBK: 15, MTW: 16, VHW: 17, MWV: 18, XDR: 19,
} as const;

const DECODED = Object.keys(TYPE).length;
const SLOTS = 1024;
const MAX_TYPES = 256;

/**
 * Numbers for sentence types, found by the three letters in the bytes; types not met before get the next number.
 * At most 256; past that -1, so that noise cannot fill memory.
 */
export class SentenceTypes {
  readonly names: string[] = [];
  readonly counts = new Int32Array(MAX_TYPES);
  /** The talkers seen with a right checksum: the last one, and all. */
  private readonly lastChecked = new Int32Array(MAX_TYPES).fill(-1);
  private readonly checked: Set<number>[] = [];
  private readonly keys = new Int32Array(SLOTS).fill(-1);
  private readonly numbers = new Int32Array(SLOTS);

  constructor() {
    for (const name of Object.keys(TYPE)) this.number((name.charCodeAt(0) << 16) | (name.charCodeAt(1) << 8) | name.charCodeAt(2));
    if (this.names.length !== DECODED) throw new Error('sentence types are not unique');
  }

  /** The number of a type met before, or of those decoded; -1 where it is neither. */
  find(code: number): number {
    let slot = (code ^ (code >> 5) ^ (code >> 11)) & (SLOTS - 1);
    for (;;) {
      const key = this.keys[slot] as number;
      if (key === code) return this.numbers[slot] as number;
      if (key === -1) return -1;
      slot = (slot + 1) & (SLOTS - 1);
    }
  }

  /** The number of a type; `code` holds its three letters, the first in the highest byte. */
  number(code: number): number {
    let slot = (code ^ (code >> 5) ^ (code >> 11)) & (SLOTS - 1);
    for (;;) {
      const key = this.keys[slot] as number;
      if (key === code) return this.numbers[slot] as number;
      if (key === -1) break;
      slot = (slot + 1) & (SLOTS - 1);
    }
    if (this.names.length === MAX_TYPES) return -1;
    const number = this.names.length;
    this.names.push(String.fromCharCode(code >> 16, (code >> 8) & 255, code & 255));
    this.checked.push(new Set());
    this.keys[slot] = code;
    this.numbers[slot] = number;
    return number;
  }

  markChecked(type: number, talker: number): void {
    if (this.lastChecked[type] === talker) return;
    this.lastChecked[type] = talker;
    (this.checked[type] as Set<number>).add(talker);
  }

  /** Whether this talker has sent this type with a right checksum before. */
  wasChecked(type: number, talker: number): boolean {
    return this.checked[type]?.has(talker) ?? false;
  }
}
