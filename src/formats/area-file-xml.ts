import { SaxesParser } from 'saxes';
import { FormatError } from '../base/errors.js';

/** What a walk through an XML text is told. Names come without their prefix. */
export interface XmlVisitor {
  open(name: string, attributes: Readonly<Record<string, string>>, line: number): void;
  /** All text directly inside the element, joined. */
  close(name: string, text: string, line: number): void;
}

/** Deeper nesting than this is no drawing. */
const MOST_DEPTH = 128;

/**
 * Walks through an XML text from start to end.
 *
 * Document type declarations are refused, and with them entities of the file's own making: no text can grow as it is
 * read, nor call for another file.
 *
 * @throws FormatError with the line, where the text is not well-formed, nested too deep or declares a document type
 */
export function walkXml(text: string, name: string, visitor: XmlVisitor): void {
  const parser = new SaxesParser({ xmlns: false, position: true });
  const texts: string[] = [];
  const names: string[] = [];
  const fail = (code: string, what: string, expected: string, todo: string): never => {
    throw new FormatError(code, name, `${name} line ${parser.line}: ${what}: expected ${expected}; ${todo}`, { line: parser.line, expected });
  };
  parser.on('error', (error) => {
    const what = error.message.replace(/^\d+:\d+: /, '').replace(/\.$/, '');
    fail('xml', `not well-formed XML (${what})`, 'every tag closed and every sign escaped', 'save the file again or mend it there');
  });
  parser.on('doctype', () => {
    fail('doctype', 'declares a document type', 'none: its entities could grow without limit', 'take the <!DOCTYPE ...> out');
  });
  parser.on('opentag', (tag) => {
    if (names.length >= MOST_DEPTH) fail('too-deep', 'nested too deep', `at most ${MOST_DEPTH} levels`, 'save the area alone');
    const local = localName(tag.name);
    names.push(local);
    texts.push('');
    visitor.open(local, tag.attributes, parser.line);
  });
  const addText = (more: string): void => {
    if (texts.length > 0) texts[texts.length - 1] += more;
  };
  parser.on('text', addText);
  parser.on('cdata', addText);
  parser.on('closetag', () => {
    const local = names.pop() ?? '';
    visitor.close(local, texts.pop() ?? '', parser.line);
  });
  parser.write(text).close();
}

function localName(name: string): string {
  const colon = name.indexOf(':');
  return colon < 0 ? name : name.slice(colon + 1);
}
