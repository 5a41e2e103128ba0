import { applyDecisions } from '../../depths/decisions.js';
import { reasonCode, type Soundings } from '../../depths/soundings.js';

/** A decision as it stands on the screen, ahead of the build that makes it so. */
export interface ShownDecision {
  readonly kind: 'set-aside' | 'restore';
  readonly rows: Int32Array;
  /** Reasons the rows had before it. */
  before: Uint8Array;
  /** Its number in the journal; null until the server has written it. */
  entry: number | null;
  undone: boolean;
  /** Whether the soundings as loaded hold it. */
  inFile: boolean;
}

const BY_HAND = reasonCode('by-hand');

/**
 * Decisions of this session over the soundings on the screen: shown at once, taken back when undone or refused, and put
 * on again where older soundings are loaded meanwhile. They are taken back in the reverse of the order they were made.
 */
export class ShownDecisions {
  #made: ShownDecision[] = [];
  #n = -1;

  /** Shows a decision. */
  show(soundings: Soundings, kind: ShownDecision['kind'], rows: Int32Array): ShownDecision {
    if (soundings.n !== this.#n) this.#made = [];
    this.#n = soundings.n;
    // What was undone and not done again is gone for good.
    this.#made = this.#made.filter(({ undone }) => !undone);
    const decision: ShownDecision = { kind, rows, before: reasonsOf(soundings, rows), entry: null, undone: false, inFile: false };
    this.#made.push(decision);
    put(soundings, decision);
    return decision;
  }

  /** Takes back a decision that the server refused. */
  refuse(soundings: Soundings, decision: ShownDecision): void {
    const at = this.#made.indexOf(decision);
    if (at < 0) return;
    const after = this.#made.slice(at + 1).filter(({ undone }) => !undone);
    for (const later of [...after].reverse()) takeBack(soundings, later);
    if (!decision.undone) takeBack(soundings, decision);
    this.#made.splice(at, 1);
    for (const later of after) {
      later.before = reasonsOf(soundings, later.rows);
      put(soundings, later);
    }
  }

  /** The decision of this session that an undo would take back, or null where the screen cannot know it. */
  last(entry: number | null): ShownDecision | null {
    const last = this.#made.findLast(({ undone }) => !undone) ?? null;
    return last === null || (last.entry !== null && last.entry !== entry) ? null : last;
  }

  /** The decision of this session that a redo would bring back, or null. */
  firstUndone(entry: number | null): ShownDecision | null {
    const first = this.#made.find(({ undone }) => undone) ?? null;
    return first === null || first.entry !== entry ? null : first;
  }

  undo(soundings: Soundings, decision: ShownDecision): void {
    if (decision.undone) return;
    decision.undone = true;
    takeBack(soundings, decision);
  }

  redo(soundings: Soundings, decision: ShownDecision): void {
    if (!decision.undone) return;
    decision.undone = false;
    decision.before = reasonsOf(soundings, decision.rows);
    put(soundings, decision);
  }

  /**
   * Soundings were loaded: where they are older than the last decision, what they lack is shown over them.
   * @param fresh whether they hold every decision of the journal
   */
  loaded(soundings: Soundings, fresh: boolean): void {
    if (soundings.n !== this.#n) {
      this.#made = [];
      this.#n = soundings.n;
      return;
    }
    for (const decision of this.#made) {
      // What the server has not written yet no file can hold.
      if (fresh && decision.entry !== null) {
        decision.inFile = !decision.undone;
        continue;
      }
      if (decision.undone) {
        if (decision.inFile) takeBack(soundings, decision);
      } else if (!decision.inFile) {
        decision.before = reasonsOf(soundings, decision.rows);
        put(soundings, decision);
      }
    }
  }
}

function reasonsOf(soundings: Soundings, rows: Int32Array): Uint8Array {
  return Uint8Array.from(rows, (row) => soundings.reason[row] as number);
}

function takeBack(soundings: Soundings, { rows, before }: ShownDecision): void {
  for (let k = 0; k < rows.length; k++) soundings.reason[rows[k] as number] = before[k] as number;
}

/** What a restored sounding becomes: good, or what the rules say where no decision can bring it back. */
function restored(soundings: Soundings, rows: Int32Array): Uint8Array {
  const n = rows.length;
  const ruleReason = Uint8Array.from(rows, (row) => soundings.ruleReason[row] as number);
  return applyDecisions({ n, log: new Uint16Array(n), record: Uint32Array.from({ length: n }, (_, k) => k), ruleReason }, [{ log: 0, recordStart: 0, recordEnd: n, outcome: 'restore' }]);
}

function put(soundings: Soundings, { kind, rows }: ShownDecision): void {
  const becomes = kind === 'restore' ? restored(soundings, rows) : null;
  for (let k = 0; k < rows.length; k++) soundings.reason[rows[k] as number] = becomes === null ? BY_HAND : (becomes[k] as number);
}
