import type { Random } from '../base/random.js';
import { formatUtc } from '../base/time.js';
import { checksumText } from './nmea-sentences.js';
import type { LogSink } from './proving-survey.js';
import { LINE_DAMAGE } from './truth.js';
import type { DamageCounts, LineDamage } from './truth.js';

const CODE = Object.fromEntries(LINE_DAMAGE.map((name, code) => [name, code])) as Record<LineDamage, number>;
const PIECE_BYTES = 65_536;

/** A log being written: text lines, damaged now and then, counted as a reader counts them. */
export interface LogWriter {
  /** 0-based line the last sentence or row went to. */
  readonly record: number;
  /** Code of LINE_DAMAGE of the last sentence. */
  readonly damage: number;
  /**
   * Writes one sentence.
   * @param timeS logger's clock [s]
   * @param body what stands between `$` and `*`
   * @param alone true: no other sentence with `alone` may share its line, so that its record is its own
   */
  sentence(timeS: number, body: string, alone: boolean): void;
  /** Writes one line of other text as it stands. */
  row(text: string): void;
  /** Gives the sink what is left and the counts. */
  end(): DamageCounts;
}

/** Share of lines that end in LF alone. */
const BARE_LF_SHARE = 0.03;
/** How often each kind of damage is chosen, of all damage. */
const KINDS: readonly (readonly [LineDamage, number])[] = [
  ['checksum', 0.3],
  ['truncated', 0.25],
  ['merged', 0.15],
  ['cut-merged', 0.1],
  ['noise-prefix', 0.08],
  ['noise-line', 0.07],
  ['blank-line', 0.05],
];

/**
 * A writer of one log file.
 *
 * Damage, each to one line: `checksum` a character changed; `truncated` the sentence cut short; `merged` the line end lost
 * (both sentences whole); `cut-merged` cut short and the line end lost (the next whole); `noise-prefix` bytes of noise
 * before it on its line (whole); `noise-line` a line of noise before it (whole); `blank-line` an empty line before it.
 * Noise has none of CR LF $ ! \ *, so that lines and sentences can be counted without doubt.
 */
export function createLogWriter(file: string, stamp: 'iso' | 'epoch' | 'tag' | 'none', damageShare: number, random: Random, sink: LogSink, clockAheadS = 0): LogWriter {
  let piece = new Uint8Array(PIECE_BYTES);
  let used = 0;
  let line = 0;
  let lineEmpty = true;
  let record = 0;
  let damage = 0;
  let joinNext: 'no' | 'merged' | 'cut-merged' = 'no';
  let lineHasAlone = false;
  let bareLineFeeds = 0;
  const whole: Record<string, number> = {};
  const spoilt: Record<string, number> = {};
  const damaged: Record<string, number> = {};
  const stampText = stampWriter(stamp);

  const put = (text: string): void => {
    if (used + text.length > piece.length) {
      if (used > 0) sink(file, piece.slice(0, used));
      used = 0;
      if (text.length > piece.length) piece = new Uint8Array(text.length);
    }
    for (let i = 0; i < text.length; i++) piece[used + i] = text.charCodeAt(i);
    used += text.length;
    if (text.length > 0) lineEmpty = false;
  };
  const endLine = (): void => {
    if (random.uniform() < BARE_LF_SHARE) {
      put('\n');
      bareLineFeeds++;
    } else put('\r\n');
    line++;
    lineEmpty = true;
    lineHasAlone = false;
  };
  const count = (counts: Record<string, number>, key: string): void => {
    counts[key] = (counts[key] ?? 0) + 1;
  };
  const noise = (length: number): string => {
    let text = '';
    while (text.length < length) {
      const byte = random.integer(256);
      if (byte !== 10 && byte !== 13 && byte !== 33 && byte !== 36 && byte !== 42 && byte !== 92) text += String.fromCharCode(byte);
    }
    return text;
  };

  return {
    get record() {
      return record;
    },
    get damage() {
      return damage;
    },
    sentence(timeS, body, alone) {
      if (joinNext !== 'no') {
        if (alone && lineHasAlone) {
          endLine();
          if (joinNext === 'cut-merged') count(damaged, 'truncated');
        } else count(damaged, joinNext);
        joinNext = 'no';
      }
      let kind: LineDamage = 'none';
      if (damageShare > 0 && random.uniform() < damageShare) {
        let chance = random.uniform();
        for (const [name, share] of KINDS) {
          kind = name;
          if ((chance -= share) < 0) break;
        }
      }
      // Damage that puts something before the sentence needs a line of its own.
      if (!lineEmpty && (kind === 'noise-prefix' || kind === 'noise-line' || kind === 'blank-line')) kind = 'none';
      if (kind === 'noise-line') {
        put(noise(4 + random.integer(60)));
        endLine();
      } else if (kind === 'blank-line') endLine();
      if (kind === 'noise-prefix') put(noise(2 + random.integer(24)));
      record = line;
      damage = CODE[kind];
      const type = body.slice(2, 5);
      let text = `$${body}*${checksumText(body)}`;
      if (kind === 'checksum') text = changeOne(text, body.length, random);
      if (kind === 'truncated' || kind === 'cut-merged') text = text.slice(0, 4 + random.integer(text.length - 4));
      put(stampText(timeS + clockAheadS));
      put(text);
      count(kind === 'checksum' || kind === 'truncated' || kind === 'cut-merged' ? spoilt : whole, type);
      if (alone) lineHasAlone = true;
      if (kind === 'merged' || kind === 'cut-merged') joinNext = kind;
      else {
        endLine();
        if (kind !== 'none') count(damaged, kind);
      }
    },
    row(text) {
      record = line;
      damage = CODE.none;
      put(text);
      put('\n');
      bareLineFeeds++;
      line++;
      lineEmpty = true;
    },
    end() {
      if (joinNext === 'cut-merged') count(damaged, 'truncated');
      const lines = lineEmpty ? line : line + 1;
      if (used > 0) sink(file, piece.slice(0, used));
      used = 0;
      return { lines, whole, spoilt, damaged, bareLineFeeds };
    },
  };
}

/** Changes one character of the body to another letter or digit, so that the checksum is surely wrong. */
function changeOne(text: string, bodyLength: number, random: Random): string {
  const at = 1 + random.integer(bodyLength);
  const old = text[at]!;
  const digit = String(random.integer(10));
  return text.slice(0, at) + (digit === old ? 'x' : digit) + text.slice(at + 1);
}

function stampWriter(stamp: 'iso' | 'epoch' | 'tag' | 'none'): (timeS: number) => string {
  if (stamp === 'none') return () => '';
  const thousandths = (timeS: number): number => Math.round(timeS * 1000);
  if (stamp === 'tag') {
    return (timeS) => {
      const block = `c:${thousandths(timeS)}`;
      return `\\${block}*${checksumText(block)}\\`;
    };
  }
  if (stamp === 'epoch') {
    return (timeS) => {
      const ms = thousandths(timeS);
      return `${Math.floor(ms / 1000)}.${String(ms % 1000).padStart(3, '0')} `;
    };
  }
  // The date and hour change seldom: kept as text.
  let hour = NaN;
  let text = '';
  return (timeS) => {
    const ms = thousandths(timeS);
    const thisHour = Math.floor(ms / 3_600_000);
    if (thisHour !== hour) {
      hour = thisHour;
      text = formatUtc(hour * 3600).slice(0, 14);
    }
    const rest = ms - hour * 3_600_000;
    const s = Math.floor(rest / 1000);
    return `${text}${two(Math.floor(s / 60))}:${two(s % 60)}.${String(rest % 1000).padStart(3, '0')}Z `;
  };
}

function two(value: number): string {
  return value < 10 ? `0${value}` : String(value);
}
