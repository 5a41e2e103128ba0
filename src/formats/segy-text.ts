/**
 * The text header of SEG-Y: 40 lines of 80 characters, in EBCDIC or ASCII.
 *
 * Code page 37 in the characters that such headers use, both ways; anything else reads as a blank. Source: IBM code page 00037, common
 * practice; held against Python's `cp037` in the tests.
 */

const LINE = 80;
const LINES = 40;

const FROM_EBCDIC = new Uint8Array(256).fill(32);
const TO_EBCDIC = new Uint8Array(128).fill(0x40);
const RUNS: readonly (readonly [number, string])[] = [
  [0x4b, '.<(+|'], [0x50, '&'], [0x5a, '!$*);'], [0x60, '-/'], [0x6b, ',%_>?'], [0x79, '`:#@\'="'], [0x81, 'abcdefghi'], [0x91, 'jklmnopqr'],
  [0xa1, '~stuvwxyz'], [0xb0, '^'], [0xba, '[]'], [0xc0, '{ABCDEFGHI'], [0xd0, '}JKLMNOPQR'], [0xe0, '\\'], [0xe2, 'STUVWXYZ'], [0xf0, '0123456789'],
];
for (const [start, letters] of RUNS) {
  for (let i = 0; i < letters.length; i++) {
    FROM_EBCDIC[start + i] = letters.charCodeAt(i);
    TO_EBCDIC[letters.charCodeAt(i)] = start + i;
  }
}

/** Whether the header is EBCDIC rather than ASCII: by the code of its blanks, or of `C` at the beginning. */
export function isEbcdic(bytes: Uint8Array): boolean {
  let [ebcdic, ascii] = [0, 0];
  for (const byte of bytes) {
    if (byte === 0x40) ebcdic++;
    else if (byte === 0x20) ascii++;
  }
  return ebcdic > ascii || bytes[0] === 0xc3;
}

/** The lines of a text header, without the blanks at their ends. */
export function readSegyText(bytes: Uint8Array): string[] {
  const ebcdic = isEbcdic(bytes);
  const lines: string[] = [];
  for (let at = 0; at < bytes.length; at += LINE) {
    let line = '';
    for (const byte of bytes.subarray(at, at + LINE)) line += String.fromCharCode(ebcdic ? (FROM_EBCDIC[byte] as number) : byte >= 32 && byte < 127 ? byte : 32);
    lines.push(line.trimEnd());
  }
  return lines;
}

/** The name of a trace header, of 8 letters in ASCII or EBCDIC (SEG-Y revision 2.0, bytes 233 to 240); blank where there is none. */
export function readTraceHeadName(bytes: Uint8Array): string {
  const ebcdic = (bytes[0] as number) >= 0x80;
  let name = '';
  for (const byte of bytes) name += String.fromCharCode(ebcdic ? (FROM_EBCDIC[byte] as number) : byte);
  return name;
}

/** A text header of 3200 bytes: up to 39 lines, each headed by its number as the standard has it, the last `END TEXTUAL HEADER`. @throws RangeError for more */
export function writeSegyText(lines: readonly string[], ebcdic: boolean): Uint8Array {
  if (lines.length > LINES - 1) throw new RangeError(`text header of ${lines.length} lines: there is room for ${LINES - 1}`);
  const bytes = new Uint8Array(LINE * LINES).fill(ebcdic ? 0x40 : 0x20);
  for (let row = 0; row < LINES; row++) {
    const text = `C${String(row + 1).padStart(2, ' ')} ${row === LINES - 1 ? 'END TEXTUAL HEADER' : (lines[row] ?? '')}`.slice(0, LINE);
    for (let i = 0; i < text.length; i++) {
      const code = text.charCodeAt(i) < 127 ? text.charCodeAt(i) : 63;
      bytes[row * LINE + i] = ebcdic ? (TO_EBCDIC[code] as number) : code;
    }
  }
  return bytes;
}
