/**
 * Where a text stops being JSON: the offset of the first character that cannot stand where it does; the text's length
 * where it ends too early; -1 for valid JSON. For messages: the platform's parser does not always say.
 * Source: RFC 8259 grammar. Nesting costs stack: check the depth first.
 */
export function jsonFaultAt(text: string): number {
  let at = 0;
  const space = (): void => {
    while (at < text.length && ' \t\n\r'.includes(text[at]!)) at++;
  };
  const number = /-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?/y;
  const plainString = /[^"\\\u0000-\u001f]*/y;
  const escape = /\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4})/y;
  /** Moves past a match at the place; false where there is none. */
  const past = (pattern: RegExp): boolean => {
    pattern.lastIndex = at;
    const match = pattern.exec(text);
    if (match === null) return false;
    at += match[0].length;
    return true;
  };
  const string = (): boolean => {
    if (text[at] !== '"') return false;
    at++;
    for (;;) {
      past(plainString);
      if (text[at] === '"') {
        at++;
        return true;
      }
      if (!past(escape)) return false;
    }
  };
  const value = (): boolean => {
    space();
    const first = text[at];
    if (first === '"') return string();
    if (first === '{' || first === '[') {
      const close = first === '{' ? '}' : ']';
      at++;
      space();
      if (text[at] === close) {
        at++;
        return true;
      }
      for (;;) {
        if (first === '{') {
          space();
          if (!string()) return false;
          space();
          if (text[at] !== ':') return false;
          at++;
        }
        if (!value()) return false;
        space();
        if (text[at] === close) {
          at++;
          return true;
        }
        if (text[at] !== ',') return false;
        at++;
      }
    }
    for (const word of ['true', 'false', 'null']) {
      if (text.startsWith(word, at)) {
        at += word.length;
        return true;
      }
    }
    return past(number);
  };
  if (!value()) return at;
  space();
  return at < text.length ? at : -1;
}
