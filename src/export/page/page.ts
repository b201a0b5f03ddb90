import { legend } from '../../tab/text.ts';
import { escapeHtml } from '../../text/html.ts';
import { sizeInWords } from '../../text/size.ts';
import type { Score } from '../score.ts';
import { printed } from '../sheet/system-block.ts';
import { controlsHtml } from './controls.ts';
import type { PageOptions, PagePiece } from './options.ts';
import { pieceHtml } from './piece.ts';
import { PAGE_SCRIPT } from './script/script.ts';
import { glyphsHtml } from './staff.ts';
import { PAGE_STYLE } from './style.ts';

/** The page contains all it needs and loads nothing. */
const POLICY =
  "default-src 'none'; media-src data: blob:; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:";

/** A take as a page to practise with, which works without a network: line by line, with sound. */
export function writeHtml(score: Score, options: PageOptions): string {
  return writePage(score.title, [{ score, ...options }]);
}

/** One or several pieces as one page. */
export function writePage(title: string, pieces: readonly PagePiece[]): string {
  const several = pieces.length > 1;
  const sections = pieces.map((piece, place) =>
    pieceHtml(piece, place, { several, title, before: pieces.slice(0, place) }),
  );
  const contents = pieces.map(
    ({ score }, place) =>
      `<li><a href="#piece${place}">${escapeHtml(shortTitle(score.title, title))}</a></li>`,
  );
  const signs = escapeHtml(printed(legend(pieces[0]?.style ?? 'signs')));
  const controls = controlsHtml({
    recording: pieces.some(({ sound }) => sound !== null),
    teacher: pieces.some(({ teacher }) => teacher),
    staff: pieces.some(({ staff }) => staff !== null),
  });
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${escapeHtml(title)}</title>
<style>${PAGE_STYLE}</style>
</head>
<body>
<header>
<h1>${escapeHtml(title)}</h1>
${several ? `<nav class="screen" aria-label="Contents"><ol>${contents.join('')}</ol></nav>` : ''}
<details class="screen"><summary>How to read and use this page</summary>
<p>${signs}</p>
<p>Tap a line to hear it, a note to hear it alone. Loop repeats the line, Slow slows it down at the same pitch, Play along counts you in and goes on until you stop it. Record me counts you in, and plays the line and then you; what you record stays in this page and is gone when you close it.</p>
<p>On headphones keep the level moderate; rest when you run out of breath.</p>${soundHtml(pieces)}</details>
</header>
${glyphsHtml(pieces.map(({ staff }) => staff))}
<main>
${sections.join('\n')}
<p class="soft paper">${signs}</p>
</main>
${controls}<script>${PAGE_SCRIPT}</script>
</body>
</html>
`;
}

/** `Amazing Grace, slowly` becomes `Slowly` on a page with the title `Amazing Grace`. */
function shortTitle(title: string, above: string): string {
  const rest = title.startsWith(`${above}, `) ? title.slice(above.length + 2) : title;
  return rest.replace(/^\p{Ll}/u, (letter) => letter.toUpperCase());
}

/** Says that the page holds the recording: whoever passes it on passes on that too. */
function soundHtml(pieces: readonly PagePiece[]): string {
  const bytes = pieces.reduce((sum, { sound }) => sum + (sound?.bytes.length ?? 0), 0);
  if (bytes === 0) return '';
  const what = pieces.filter(({ sound }) => sound !== null).length > 1 ? 'recordings are' : 'recording is';
  return `<p>The ${what} in this page as MP3 (${sizeInWords(bytes)}).</p>`;
}
