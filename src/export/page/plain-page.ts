import { escapeHtml } from '../../text/html.ts';
import { printed } from '../sheet/system-block.ts';

const STYLE =
  'body{font:16px/1.5 system-ui,sans-serif;max-width:54rem;margin:2rem auto;padding:0 1rem;color:#222;background:#fff}table{border-collapse:collapse;width:100%}th,td{text-align:left;padding:.3rem .6rem;border-bottom:1px solid #ccc;vertical-align:top}th.n,td.n{text-align:right}.soft{color:#555}.wide{overflow-x:auto}.wide svg{max-width:100%;height:auto}button{font:inherit;min-height:2.75rem;border:1px solid #999;border-radius:.6rem;background:#f5f5f8;color:#222;padding:0 .8rem;margin:.2rem .3rem .2rem 0;cursor:pointer}button:focus-visible{outline:3px solid #0b57d0;outline-offset:2px}h2{margin-top:2rem}@media print{button{display:none}h2{break-after:avoid}}';

/** The page loads nothing. */
const POLICY =
  "default-src 'none'; media-src data:; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:";

/** A page to read and to print. @param script  script for its buttons; empty for none */
export function plainPage(title: string, body: string, script = ''): string {
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="${POLICY}"><meta name="viewport" content="width=device-width,initial-scale=1"><title>${escapeHtml(title)}</title><style>${STYLE}</style></head><body><main>
${body}
</main>${script === '' ? '' : `<script>${script}</script>`}</body></html>
`;
}

/** Text as HTML, with a capital, and with a full stop unless it already has an ending. */
export function sentence(text: string): string {
  const capital = `${text.charAt(0).toUpperCase()}${text.slice(1)}`;
  return escapeHtml(printed(/[.?!]$/.test(text) ? capital : `${capital}.`));
}
