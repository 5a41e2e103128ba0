import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { base64 } from './base64.js';
import { visibleText } from './safe-text.js';
import { unpackWoff } from './woff.js';

/** Family name of the report's type, in HTML, SVG and PDF alike. It is Barlow Semi Condensed (SIL Open Font Licence). */
export const SHEET_FAMILY = 'Tallow Sheet';
/** The same type's letters beyond Western Europe. */
export const SHEET_FAMILY_EXT = 'Tallow Sheet Ext';

export type SheetWeight = 400 | 500 | 600;

/** One face of the report's type. */
export interface SheetFont {
  readonly family: string;
  readonly weight: SheetWeight;
  readonly italic: boolean;
  /** As shipped, for HTML. */
  readonly woff: Uint8Array;
  /** Unpacked, for the typesetter. */
  readonly sfnt: Uint8Array;
}

const FACES = [
  ['latin', 400, false],
  ['latin', 500, false],
  ['latin', 600, false],
  ['latin', 400, true],
  ['latin', 500, true],
  ['latin-ext', 400, false],
  ['latin-ext', 600, false],
  ['latin-ext', 400, true],
] as const;

let loaded: readonly SheetFont[] | null = null;

/** The faces the report is set in, read once from the installed font package. */
export function sheetFonts(): readonly SheetFont[] {
  if (loaded === null) {
    const folder = path.dirname(createRequire(import.meta.url).resolve('@fontsource/barlow-semi-condensed/package.json'));
    loaded = FACES.map(([subset, weight, italic]) => {
      const file = `barlow-semi-condensed-${subset}-${weight}-${italic ? 'italic' : 'normal'}.woff`;
      const family = subset === 'latin' ? SHEET_FAMILY : SHEET_FAMILY_EXT;
      const woff = new Uint8Array(readFileSync(path.join(folder, 'files', file)));
      return { family, weight, italic, woff, sfnt: unpackWoff(woff, file, family) };
    });
  }
  return loaded;
}

/** `@font-face` rules with the fonts inside, for a file that stands alone. */
export function fontFaceCss(): string {
  return sheetFonts()
    .map(
      ({ family, weight, italic, woff }) =>
        `@font-face{font-family:"${family}";font-weight:${weight};font-style:${italic ? 'italic' : 'normal'};src:url(data:font/woff;base64,${base64(woff)}) format("woff")}`,
    )
    .join('\n');
}

interface Widths {
  readonly unitsPerEm: number;
  /** Advance by character code, below 0x2300; 0 where the face has no such character. */
  readonly advance: Uint16Array;
}

const measured = new Map<string, Widths>();

/**
 * The width of a line of text in the report's type, kerning left out, in the unit of the size. A character that the face lacks
 * is taken to be wide: what stands for it may be another face's letter, or its code point spelled out.
 */
export function textWidth(text: string, size: number, weight: SheetWeight = 400, italic = false): number {
  const key = `${weight}${italic ? 'i' : ''}`;
  let widths = measured.get(key);
  if (widths === undefined) {
    const font = sheetFonts().find((face) => face.family === SHEET_FAMILY && face.weight === weight && face.italic === italic) ?? sheetFonts()[0];
    if (font === undefined) throw new RangeError(`weight ${weight}: no such face`);
    widths = readWidths(font.sfnt);
    measured.set(key, widths);
  }
  let sum = 0;
  for (const character of text) {
    const code = character.codePointAt(0) ?? 0;
    sum += (code < widths.advance.length ? widths.advance[code] : 0) || widths.unitsPerEm * (code < 0x530 ? 0.9 : 4.4);
  }
  return (sum / widths.unitsPerEm) * size;
}

/** Text made visible and cut to a width, ending in an ellipsis where it was cut. */
export function fitText(content: string, width: number, size: number, weight: SheetWeight = 400, italic = false): string {
  const text = visibleText(content);
  if (textWidth(text, size, weight, italic) <= width) return text;
  const characters = [...text];
  while (characters.length > 0 && textWidth(`${characters.join('')}…`, size, weight, italic) > width) characters.pop();
  return `${characters.join('').trimEnd()}…`;
}

/** Advance widths through `cmap` (format 4) and `hmtx`. Source: OpenType 1.9. */
function readWidths(sfnt: Uint8Array): Widths {
  const view = new DataView(sfnt.buffer, sfnt.byteOffset, sfnt.byteLength);
  const offsets = new Map<string, number>();
  for (let i = 0; i < view.getUint16(4); i++) {
    const at = 12 + 16 * i;
    offsets.set(String.fromCharCode(...sfnt.subarray(at, at + 4)), view.getUint32(at + 8));
  }
  const table = (tag: string): number => {
    const at = offsets.get(tag);
    if (at === undefined) throw new RangeError(`font without a ${tag} table`);
    return at;
  };
  const hmtx = table('hmtx');
  const wideCount = view.getUint16(table('hhea') + 34);
  const cmap = table('cmap');
  const advance = new Uint16Array(0x2300);
  for (let k = 0; k < view.getUint16(cmap + 2); k++) {
    const at = cmap + view.getUint32(cmap + 4 + 8 * k + 4);
    if (view.getUint16(at) !== 4) continue;
    const segments = view.getUint16(at + 6) / 2;
    for (let s = 0; s < segments; s++) {
      const end = view.getUint16(at + 14 + 2 * s);
      const start = view.getUint16(at + 16 + 2 * segments + 2 * s);
      const delta = view.getUint16(at + 16 + 4 * segments + 2 * s);
      const rangeAt = at + 16 + 6 * segments + 2 * s;
      const range = view.getUint16(rangeAt);
      for (let code = start; code <= end && code < advance.length; code++) {
        const glyph = range === 0 ? (code + delta) & 0xffff : view.getUint16(rangeAt + range + 2 * (code - start));
        if (glyph !== 0) advance[code] = view.getUint16(hmtx + 4 * Math.min(glyph, wideCount - 1));
      }
    }
    break;
  }
  return { unitsPerEm: view.getUint16(table('head') + 18), advance };
}
