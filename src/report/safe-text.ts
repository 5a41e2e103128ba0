/** Names come from users and from files: what they hold is shown, never obeyed. */

/**
 * Text with nothing unseen in it: controls, marks that turn the direction of writing, private and broken characters stand as
 * `[U+202E]`; line ends and tabs as a space. Everything else is kept, in any script.
 */
export function visibleText(text: string): string {
  return text
    .replace(/[\t\n\r\u2028\u2029]+/g, ' ')
    .replace(UNSEEN, (character) => `[U+${(character.codePointAt(0) ?? 0).toString(16).toUpperCase().padStart(4, '0')}]`);
}

/* Cc, Cf (without the soft hyphen and joiners that scripts need), Co, Cs, Cn. */
const UNSEEN = /(?![\u00ad\u200c\u200d])[\p{Cc}\p{Cf}\p{Co}\p{Cs}\p{Cn}]/gu;

/** Text for XML and HTML, content or quoted attribute: visible and escaped. */
export function escapeXml(text: string): string {
  return visibleText(text).replace(/[&<>"']/g, (character) => ENTITIES[character] ?? '');
}

const ENTITIES: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };

/** Figures of one number, and a number and its unit, held on one line by no-break spaces. */
export function holdFigures(text: string): string {
  return text
    .replace(/(\d) (?=\d{3}(?!\d))/g, '$1\u00a0')
    .replace(/(\d) (?=(?:m|m²|ha|km|km²|%|s|min|h|d|m\/s|kn|UTC|kB|MB|GB|B|soundings?)(?![\p{L}\d]))/gu, '$1\u00a0');
}

/** Text whose unbroken runs of over 24 characters may be broken every 8, by zero-width spaces. */
export function breakLongRuns(text: string): string {
  return text.replace(/[^\s\u200b]{25,}/gu, (run) => [...run].map((character, i) => (i > 0 && i % 8 === 0 ? `\u200b${character}` : character)).join(''));
}

/** Characters that neither the sheet's own fonts nor those inside the typesetter can draw, as `[U+65E5]`. */
export function onlyDrawable(text: string): string {
  return text.replace(
    /[^\u0020-\u052f\u1e00-\u1fff\u200b-\u200d\u2010-\u2027\u2030-\u205e\u20a0-\u20bf\u2100-\u22ff]/gu,
    (character) => `[U+${(character.codePointAt(0) ?? 0).toString(16).toUpperCase().padStart(4, '0')}]`,
  );
}
