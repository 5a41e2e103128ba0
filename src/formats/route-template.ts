import { FormatError } from '../base/errors.js';
import { routeLegs, type Route } from './route.js';
import { fieldText, FIELD_NAMES, fieldSpec, isKnown, type FieldPlace, type FieldSpec } from './route-template-fields.js';

/**
 * A template read from text, ready to be filled. Its marks:
 *
 * - `@(lat)`, `@(lat dm 5)`, `@(speed kn 1)`, `@(time else -)`: a field of the waypoint or the route, with unit, decimals and
 *   what stands for it where it is not known; see route-template-fields.
 * - `@(each)` ... `@(end)`: once for every waypoint; `@(each line)`: for those whose kind is `line`.
 * - `@(if last)`, `@(if not first)`, `@(if known time)`, `@(if kind line)` ... `@(else)` ... `@(end)`.
 * - `@(note ...)`: nothing. `@@(`: the signs `@(` themselves.
 *
 * A line that holds one each, if, else, end or note and otherwise only blanks leaves no line behind. All other text, line
 * ends too, is copied as it stands.
 */
export interface RouteTemplate {
  /** Fills it. @throws FormatError naming line, field and waypoint where something is not known */
  fill(route: Route): string;
}

type Node =
  | { readonly kind: 'text'; readonly text: string }
  | { readonly kind: 'field'; readonly line: number; readonly spec: FieldSpec }
  | { readonly kind: 'each'; readonly line: number; readonly only: string | null; readonly body: readonly Node[] }
  | { readonly kind: 'if'; readonly line: number; readonly test: Test; readonly then: readonly Node[]; readonly otherwise: readonly Node[] };

interface Test {
  readonly not: boolean;
  readonly what: 'first' | 'last' | 'known' | 'kind';
  readonly word: string;
}

interface Mark {
  readonly line: number;
  readonly words: readonly string[];
  readonly start: number;
  readonly end: number;
}

/**
 * Reads a template.
 * @param text the template; @param name its file, for messages
 * @throws FormatError naming the line and what is wrong in it
 */
export function readRouteTemplate(text: string, name: string): RouteTemplate {
  const parser = new Parser(text, name);
  const nodes = parser.parse();
  return {
    fill(route) {
      const out: string[] = [];
      const legs = routeLegs(route);
      write(nodes, { route, legs, index: -1, at: -1, count: 0 }, out, name);
      return out.join('');
    },
  };
}

function write(nodes: readonly Node[], place: FieldPlace, out: string[], name: string): void {
  for (const node of nodes) {
    if (node.kind === 'text') out.push(node.text);
    else if (node.kind === 'field') {
      const text = fieldText(node.spec, place);
      if (text === null) {
        const where = place.index < 0 ? 'of the route' : `at waypoint ${place.index + 1}`;
        throw new FormatError('not-known', name, `${name} line ${node.line}: ${node.spec.name}: expected a value, found none ${where}; write e.g. @(${node.spec.name} else -)`, { line: node.line });
      }
      out.push(text);
    } else if (node.kind === 'each') {
      const indices = place.route.waypoints.flatMap((one, i) => (node.only === null || one.kind === node.only ? [i] : []));
      indices.forEach((index, at) => write(node.body, { ...place, index, at, count: indices.length }, out, name));
    } else write(holds(node.test, place) ? node.then : node.otherwise, place, out, name);
  }
}

function holds({ not, what, word }: Test, place: FieldPlace): boolean {
  const plain =
    what === 'first'
      ? place.at === 0
      : what === 'last'
        ? place.at === place.count - 1
        : what === 'kind'
          ? place.route.waypoints[place.index]!.kind === word
          : isKnown(word, place);
  return plain !== not;
}

class Parser {
  private readonly marks: readonly Mark[];
  private next = 0;
  /** Up to where the text is taken. */
  private upTo = 0;

  constructor(
    private readonly text: string,
    private readonly name: string,
  ) {
    this.marks = this.findMarks();
  }

  parse(): Node[] {
    const { nodes, closing } = this.block(false, null);
    if (closing !== null) throw this.fault(closing.line, `a mark to close, found @(${closing.words.join(' ')}) with none open; take it out`);
    return nodes;
  }

  private findMarks(): Mark[] {
    const marks: Mark[] = [];
    const pattern = /@?@\(/g;
    let line = 1;
    let counted = 0;
    for (let found = pattern.exec(this.text); found !== null; found = pattern.exec(this.text)) {
      for (; counted < found.index; counted++) if (this.text[counted] === '\n') line++;
      if (found[0] === '@@(') continue;
      const close = this.text.indexOf(')', found.index);
      const inside = close < 0 ? '' : this.text.slice(found.index + 2, close);
      if (close < 0 || inside.includes('\n')) throw this.fault(line, `a ) on the same line after @(, found none; close the mark, or write @@( for the signs themselves`);
      const words = inside.trim().split(/\s+/).filter((word) => word !== '');
      if (words.length === 0) throw this.fault(line, `a field or a word in @(), found nothing; fields: ${FIELD_NAMES.join(', ')}`);
      marks.push({ line, words, ...this.span(found.index, close + 1, words[0]!) });
      pattern.lastIndex = close + 1;
    }
    return marks;
  }

  /** A block mark alone on its line takes the line with it. */
  private span(start: number, end: number, word: string): { start: number; end: number } {
    if (!['each', 'if', 'else', 'end', 'note'].includes(word)) return { start, end };
    const lineStart = this.text.lastIndexOf('\n', start - 1) + 1;
    const lineEnd = this.text.indexOf('\n', end);
    const after = this.text.slice(end, lineEnd < 0 ? this.text.length : lineEnd);
    if (/^[ \t]*$/.test(this.text.slice(lineStart, start)) && /^[ \t\r]*$/.test(after)) return { start: lineStart, end: lineEnd < 0 ? this.text.length : lineEnd + 1 };
    return { start, end };
  }

  private block(inEach: boolean, opened: Mark | null): { nodes: Node[]; closing: Mark | null } {
    const nodes: Node[] = [];
    for (;;) {
      const mark = this.marks[this.next];
      const text = this.text.slice(this.upTo, mark === undefined ? this.text.length : Math.max(this.upTo, mark.start)).replaceAll('@@(', '@(');
      if (text !== '') nodes.push({ kind: 'text', text });
      if (mark === undefined) {
        this.upTo = this.text.length;
        if (opened !== null) throw this.fault(opened.line, `an @(end) for @(${opened.words.join(' ')}), found the end of the file; close it`);
        return { nodes, closing: null };
      }
      this.upTo = mark.end;
      this.next++;
      const [word, ...rest] = mark.words as [string, ...string[]];
      if (word === 'note') continue;
      if (word === 'end' || word === 'else') return { nodes, closing: mark };
      if (word === 'each') {
        if (inEach) throw this.fault(mark.line, 'no @(each) inside another, found one; close the first');
        const { nodes: body, closing } = this.block(true, mark);
        if (closing!.words[0] === 'else') throw this.fault(closing!.line, `an @(end) for @(each) of line ${mark.line}, found @(else); else belongs to if`);
        nodes.push({ kind: 'each', line: mark.line, only: rest.length === 0 ? null : rest.join(' '), body });
      } else if (word === 'if') {
        const test = this.test(mark, rest, inEach);
        const first = this.block(inEach, mark);
        let otherwise: Node[] = [];
        if (first.closing!.words[0] === 'else') {
          const second = this.block(inEach, mark);
          if (second.closing!.words[0] === 'else') throw this.fault(second.closing!.line, `an @(end) for @(if) of line ${mark.line}, found a second @(else); take one out`);
          otherwise = second.nodes;
        }
        nodes.push({ kind: 'if', line: mark.line, test, then: first.nodes, otherwise });
      } else {
        const spec = fieldSpec(mark.words, inEach);
        if (typeof spec === 'string') throw this.fault(mark.line, spec);
        nodes.push({ kind: 'field', line: mark.line, spec });
      }
    }
  }

  private test(mark: Mark, words: readonly string[], inEach: boolean): Test {
    const not = words[0] === 'not';
    const [what, word = '', ...more] = not ? words.slice(1) : words;
    const said = `@(${mark.words.join(' ')})`;
    if (more.length > 0 || (what !== 'known' && what !== 'kind' && what !== 'first' && what !== 'last')) throw this.fault(mark.line, `first, last, known FIELD or kind WORD after if, found ${said}; e.g. @(if not last)`);
    if (!inEach) throw this.fault(mark.line, `@(if) inside @(each), found ${said} outside; move it`);
    if ((what === 'known' || what === 'kind') === (word === '')) throw this.fault(mark.line, `first, last, known FIELD or kind WORD after if, found ${said}; e.g. @(if known time)`);
    if (what === 'known' && !FIELD_NAMES.includes(word)) throw this.fault(mark.line, `a field after known, found ${word}; fields: ${FIELD_NAMES.join(', ')}`);
    return { not, what, word };
  }

  private fault(line: number, message: string): FormatError {
    return new FormatError('bad-template', this.name, `${this.name} line ${line}: expected ${message}`, { line });
  }
}
