/**
 * Text as a cell of CSV (RFC 4180): quoted where it must be; what a spreadsheet would take for a formula is prefixed
 * with an apostrophe.
 * @param separator the character between cells
 */
export function csvCell(text: string, separator: ',' | ';' = ','): string {
  const safe = /^[=+\-@\t\r]/.test(text) ? `'${text}` : text;
  const asks = safe.includes(separator) || /["\r\n]/.test(safe);
  return asks ? `"${safe.replaceAll('"', '""')}"` : safe;
}
