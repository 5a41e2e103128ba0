/**
 * Text made fit to stand in XML, between tags or in an attribute with double quotes. Signs XML 1.0 does not allow at all
 * (most control characters, lone surrogates) become U+FFFD.
 * Source: W3C XML 1.0 (fifth edition), productions 2 (Char) and 10 (AttValue).
 */
export function escapeXml(text: string): string {
  return text
    .replace(/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g, '\ufffd')
    .replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/g, '\ufffd')
    .replace(/&/g, '&amp;')
    .replace(/</g, '&lt;')
    .replace(/>/g, '&gt;')
    .replace(/"/g, '&quot;')
    .replace(/[\t\n\r]/g, (sign) => `&#${sign.charCodeAt(0)};`);
}
