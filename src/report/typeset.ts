import path from 'node:path';
import { NodeCompiler } from '@myriaddreamin/typst-ts-node-compiler';
import { SHEET_FAMILY, SHEET_FAMILY_EXT, sheetFonts } from './fonts.js';
import { breakLongRuns, holdFigures, onlyDrawable, visibleText } from './safe-text.js';

/** The families a typesetter's program is to name, in their order. */
export const TYPESET_FAMILIES: readonly string[] = [SHEET_FAMILY, SHEET_FAMILY_EXT, 'Libertinus Serif', 'DejaVu Sans Mono'];

/** What a program is given while it is made ready. */
export interface TypesetDesk {
  /** Puts a file beside the program. */
  give(name: string, content: string): void;
  /** A text of the user's as it may be drawn; `letters` alone where it has been fitted already. */
  asText(text: string): string;
  letters(text: string): string;
}

/** Something to be set. */
export interface TypesetWork {
  /** In the message where it cannot be set, and of its folder, which is only named. */
  readonly what: string;
  readonly workspace: string;
  /** The typesetter's program, which reads what `ready` gives. */
  readonly program: string;
  /** PDF/A-2a, which wants a date; else plain PDF 1.7. */
  readonly archival: boolean;
  ready(desk: TypesetDesk): void;
}

/**
 * Sets a program as PDF, fonts inside; equal work gives equal bytes. No text becomes part of the program: it reads them as data.
 * @throws Error where the typesetter cannot set it; its message is the typesetter's
 */
export function typesetPdf(work: TypesetWork): Promise<Uint8Array> {
  return Promise.resolve().then(() => {
    try {
      return typeset(work, (text) => text);
    } catch (error) {
      /* PDF/A wants a glyph for every character. Letters that no font here has stand as their code points. */
      if (!String(error).includes('could not be displayed')) throw error;
      return typeset(work, onlyDrawable);
    }
  });
}

function typeset({ what, workspace: name, program, archival, ready }: TypesetWork, letters: (text: string) => string): Uint8Array {
  const workspace = path.resolve(`/${name}`);
  const compiler = NodeCompiler.create({ workspace, fontArgs: [{ fontBlobs: sheetFonts().map((font) => Buffer.from(font.sfnt)) }] });
  try {
    ready({
      give: (file, content) => void compiler.mapShadow(path.join(workspace, file), Buffer.from(content)),
      asText: (text) => letters(breakLongRuns(holdFigures(visibleText(text)))),
      letters,
    });
    const result = compiler.compile({ mainFileContent: program });
    const made = result.result;
    if (made === null || result.hasError()) {
      const diagnostics = result.takeDiagnostics();
      throw new Error(`${what} could not be typeset: ${diagnostics === null ? 'no reason given' : JSON.stringify(compiler.fetchDiagnostics(diagnostics))}`);
    }
    const pdf = compiler.pdf(made, { pdfStandard: archival ? 'a-2a' : '1.7' });
    return new Uint8Array(pdf.buffer, pdf.byteOffset, pdf.byteLength).slice();
  } finally {
    compiler.resetShadow();
    compiler.evictCache(0);
  }
}

/** A copy of plain data with every text passed through a function, with the key it stands under (of its list, for a list). */
export function mapTexts(value: unknown, map: (text: string, key: string) => string, key = ''): unknown {
  if (typeof value === 'string') return map(value, key);
  if (Array.isArray(value)) return value.map((each) => mapTexts(each, map, key));
  if (value !== null && typeof value === 'object') return Object.fromEntries(Object.entries(value).map(([name, inner]) => [name, mapTexts(inner, map, name)]));
  return value;
}
