/** Text with only what XML 1.0 (section 2.2) allows: control characters are left out, lone surrogates replaced. */
export function xmlCharacters(text: string): string {
  return (
    text
      .replace(/\p{Cs}/gu, '\ufffd')
      // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is removed
      .replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/g, '')
  );
}

/** Text escaped for elements and quoted attributes of XML. */
export function escapeXml(text: string): string {
  return xmlCharacters(text)
    .replace(/&/g, '&amp;')
    .replace(/</g, '&lt;')
    .replace(/>/g, '&gt;')
    .replace(/"/g, '&quot;');
}
