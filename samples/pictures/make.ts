import { execFileSync } from 'node:child_process';
import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';

/*
 * Makes the picture of the README from the built program: `npx tsx samples/pictures/make.ts`. The correction screen runs in tmux and
 * the sheet is an SVG; Chromium draws both. Needs tmux and Chromium (CHROMIUM=path).
 */

const at = (path: string): string => fileURLToPath(new URL(`../../${path}`, import.meta.url));
const [COLUMNS, ROWS] = [100, 36];
/** Until the recording has been heard and the marks are there. */
const HEARD_MS = 15_000;
/** What ECMA-48 calls Select Graphic Rendition. */
const CODE = new RegExp(`${String.fromCharCode(27)}\\[([\\d;]*)m`);
const COLOURS: Readonly<Record<string, string>> = { '31': '#ff7b72', '32': '#7ee787' };

const folder = mkdtempSync(join(tmpdir(), 'reedtrace-picture-'));
const reedtrace = (...args: string[]): void => {
  execFileSync(process.execPath, [at('bin/reedtrace.js'), ...args, '--quiet'], {
    cwd: folder,
    stdio: 'ignore',
  });
};
const tmux = (...args: string[]): string =>
  execFileSync('tmux', ['-L', basename(folder), ...args], { encoding: 'utf8' });
const sleep = (ms: number): Promise<void> => new Promise((done) => setTimeout(done, ms));

/** The screen with its colours, as `capture-pane -e` returns it, as HTML. */
function html(screen: string): string {
  let style = { bold: false, dim: false, reverse: false, colour: '' };
  return screen
    .split(CODE)
    .map((part, i) => {
      if (i % 2 === 0) {
        const text = part.replaceAll('&', '&amp;').replaceAll('<', '&lt;');
        const { bold, dim, reverse, colour } = style;
        const classes = [bold && 'bold', dim && 'dim', reverse && 'reverse'].filter(Boolean).join(' ');
        return `<span class="${classes}"${colour === '' ? '' : ` style="color:${colour}"`}>${text}</span>`;
      }
      for (const code of part.split(';')) {
        if (code === '0' || code === '') style = { bold: false, dim: false, reverse: false, colour: '' };
        else if (code === '1') style = { ...style, bold: true };
        else if (code === '2') style = { ...style, dim: true };
        else if (code === '7') style = { ...style, reverse: true };
        else if (code === '39') style = { ...style, colour: '' };
        else if (code in COLOURS) style = { ...style, colour: COLOURS[code] };
      }
      return '';
    })
    .join('');
}

try {
  copyFileSync(at('samples/homework-kitchen.wav'), join(folder, 'homework-kitchen.wav'));
  reedtrace('transcribe', 'homework-kitchen.wav', '--harp', 'C');
  const head = ['--title', 'Red River Valley', '--by', 'traditional', '--paper', 'long'];
  reedtrace('export', 'homework-kitchen.take.json', '--as', 'svg', ...head, '--no-save');
  const program = `cd '${folder}' && '${process.execPath}' '${at('bin/reedtrace.js')}' correct homework-kitchen.take.json`;
  tmux('new-session', '-d', '-x', String(COLUMNS), '-y', String(ROWS), program);
  await sleep(HEARD_MS);
  tmux('send-keys', 'Tab');
  await sleep(1000);
  const screen = html(tmux('capture-pane', '-e', '-p').trimEnd());
  tmux('kill-server');
  const sheet = readFileSync(join(folder, 'homework-kitchen.svg')).toString('base64');
  writeFileSync(
    join(folder, 'picture.html'),
    `<!doctype html><meta charset="utf-8"><style>
body { margin: 16px; display: flex; gap: 16px; align-items: flex-start; background: #fff }
pre { margin: 0; padding: 14px; border-radius: 8px; background: #14171c; color: #e6e6e6; font: 13px/1.26 'DejaVu Sans Mono', monospace }
.bold { font-weight: bold } .dim { color: #8b8f96 } .reverse { background: #e6e6e6; color: #14171c }
img { width: 560px; border: 1px solid #ccc; border-radius: 8px }
</style><pre>${screen}</pre><img src="data:image/svg+xml;base64,${sheet}">`,
  );
  execFileSync(
    process.env.CHROMIUM ?? 'chromium',
    [
      ...['--headless', '--no-sandbox', '--hide-scrollbars', '--window-size=1424,634'],
      `--screenshot=${at('samples/pictures/screen-and-sheet.png')}`,
      `file://${join(folder, 'picture.html')}`,
    ],
    { stdio: 'ignore' },
  );
} finally {
  rmSync(folder, { recursive: true });
}
