import { unzlibSync } from 'fflate';
import { FormatError } from '../base/errors.js';

interface Table {
  readonly tag: string;
  readonly bytes: Uint8Array;
}

/**
 * A WOFF 1.0 font unpacked to the sfnt (TrueType) it holds, under another family name.
 *
 * The typesetter takes sfnt only. Two subsets of one face need two family names, or it takes the first for both.
 * Source: W3C, WOFF File Format 1.0, sections 3 to 5; OpenType 1.9, `name` and `head` tables.
 *
 * @throws FormatError where the bytes are not WOFF 1.0
 */
export function unpackWoff(bytes: Uint8Array, name: string, family: string): Uint8Array {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytes.byteLength < 44 || view.getUint32(0) !== 0x774f4646) {
    throw new FormatError('woff-signature', name, `${name}: not a WOFF font: expected the signature wOFF; reinstall the package`);
  }
  const tables: Table[] = [];
  for (let i = 0; i < view.getUint16(12); i++) {
    const at = 44 + 20 * i;
    const tag = String.fromCharCode(...bytes.subarray(at, at + 4));
    const offset = view.getUint32(at + 4);
    const packedLength = view.getUint32(at + 8);
    const length = view.getUint32(at + 12);
    const packed = bytes.subarray(offset, offset + packedLength);
    tables.push({ tag, bytes: packedLength < length ? unzlibSync(packed) : packed.slice() });
  }
  const renamed = tables.map((table) => (table.tag === 'name' ? { tag: 'name', bytes: withFamily(table.bytes, family) } : table));
  return sfnt(view.getUint32(4), renamed);
}

/** A `name` table with family names replaced (identifiers 1, 4, 16, 21) and everything else, licence and author too, kept. */
function withFamily(table: Uint8Array, family: string): Uint8Array {
  const view = new DataView(table.buffer, table.byteOffset, table.byteLength);
  const count = view.getUint16(2);
  const strings = view.getUint16(4);
  const records: { head: readonly number[]; text: Uint8Array }[] = [];
  for (let i = 0; i < count; i++) {
    const at = 6 + 12 * i;
    const head = [0, 2, 4, 6].map((k) => view.getUint16(at + k));
    const start = strings + view.getUint16(at + 10);
    const wide = head[0] !== 1;
    const text = [1, 4, 16, 21].includes(head[3] ?? -1) ? encode(family, wide) : table.slice(start, start + view.getUint16(at + 8));
    records.push({ head, text });
  }
  const length = records.reduce((sum, record) => sum + record.text.length, 6 + 12 * count);
  const out = new Uint8Array(length);
  const outView = new DataView(out.buffer);
  outView.setUint16(2, count);
  outView.setUint16(4, 6 + 12 * count);
  let at = 6 + 12 * count;
  records.forEach((record, i) => {
    record.head.forEach((value, k) => outView.setUint16(6 + 12 * i + 2 * k, value));
    outView.setUint16(6 + 12 * i + 8, record.text.length);
    outView.setUint16(6 + 12 * i + 10, at - 6 - 12 * count);
    out.set(record.text, at);
    at += record.text.length;
  });
  return out;
}

function encode(text: string, wide: boolean): Uint8Array {
  const codes = [...text].map((character) => character.charCodeAt(0));
  return Uint8Array.from(wide ? codes.flatMap((code) => [code >> 8, code & 255]) : codes);
}

function sfnt(flavour: number, tables: readonly Table[]): Uint8Array {
  const padded = (length: number): number => (length + 3) & ~3;
  const headLength = 12 + 16 * tables.length;
  const out = new Uint8Array(tables.reduce((sum, table) => sum + padded(table.bytes.length), headLength));
  const view = new DataView(out.buffer);
  const power = Math.floor(Math.log2(tables.length));
  view.setUint32(0, flavour);
  view.setUint16(4, tables.length);
  view.setUint16(6, 16 << power);
  view.setUint16(8, power);
  view.setUint16(10, 16 * tables.length - (16 << power));
  let at = headLength;
  let adjustAt = -1;
  tables.forEach((table, i) => {
    out.set(table.bytes, at);
    if (table.tag === 'head') {
      adjustAt = at + 8;
      view.setUint32(adjustAt, 0);
    }
    const entry = 12 + 16 * i;
    [...table.tag].forEach((character, k) => view.setUint8(entry + k, character.charCodeAt(0)));
    view.setUint32(entry + 4, checksum(view, at, padded(table.bytes.length)));
    view.setUint32(entry + 8, at);
    view.setUint32(entry + 12, table.bytes.length);
    at += padded(table.bytes.length);
  });
  if (adjustAt >= 0) view.setUint32(adjustAt, (0xb1b0afba - checksum(view, 0, out.length)) >>> 0);
  return out;
}

function checksum(view: DataView, start: number, length: number): number {
  let sum = 0;
  for (let at = start; at < start + length; at += 4) sum = (sum + view.getUint32(at)) >>> 0;
  return sum;
}
