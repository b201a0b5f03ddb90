import { createInterface } from 'node:readline';
import type { Ending, Session } from './effects/session.ts';
import type { Terminal } from './effects/terminal.ts';
import { SAVING } from './state/state.ts';
import { printLines, type TerminalCapabilities } from './view/line.ts';
import { plainLines } from './view/plain.ts';

/** Words for keys, where they differ from the names in the table of keys. */
const WORDS: Readonly<Record<string, string>> = {
  space: ' ',
  esc: 'escape',
  save: 'ctrl-s',
  quit: 'q',
  undo: 'u',
  redo: 'r',
  help: '?',
  back: 'shift-tab',
};
/** Keys that are words already. */
const NAMED: ReadonlySet<string> = new Set([
  ...['left', 'right', 'up', 'down', 'home', 'end', 'tab', 'enter', 'escape', 'pageup', 'pagedown'],
  ...['backspace', 'delete', 'shift-left', 'shift-right', 'ctrl-g', 'ctrl-s', 'ctrl-n', 'ctrl-r'],
]);
const INTRODUCTION =
  'Keys are typed as a line and Enter: tab, right, 5, space, save, quit, help. An empty line is the key Enter.';

/** The keys in a line: words for keys that have one, otherwise single characters. */
function keysOfLine(line: string): string[] {
  const words = line.split(/\s+/).filter((word) => word !== '');
  if (words.length === 0) return ['enter'];
  return words.flatMap((word) => WORDS[word] ?? (NAMED.has(word) ? word : [...word]));
}

/** A session on a terminal that can only print lines: after each line of keys the phrase is printed again. */
export async function runPlain(
  { stdin, stdout }: Terminal,
  session: Session,
  capabilities: TerminalCapabilities,
  signal: AbortSignal,
): Promise<Ending> {
  const lines = createInterface({ input: stdin, output: stdout, terminal: false });
  const show = () => stdout.write(`${printLines(plainLines(session.state), capabilities)}\n> `);
  // Effects finish within this time; only saving may take longer on a busy disk.
  const answer = (untilMs: number): void => {
    if (session.state.message?.text === SAVING && Date.now() < untilMs)
      setTimeout(answer, ANSWER_MS, untilMs);
    else show();
  };
  const stop = () => void session.abandon();
  signal.addEventListener('abort', stop);
  stdout.write(`${INTRODUCTION}\n`);
  lines.on('line', (line) => {
    // Words and names are typed as they are, and the end of the line is Enter.
    const isText = ['words', 'prompt'].includes(session.state.mode.kind);
    const keys = isText && !NAMED.has(line) && line !== 'esc' ? [...line, 'enter'] : keysOfLine(line);
    for (const key of keys) session.press(key);
    setTimeout(answer, ANSWER_MS, Date.now() + LONGEST_ANSWER_MS);
  });
  lines.on('close', stop);
  void session.listen();
  show();
  try {
    return await session.ended;
  } finally {
    lines.close();
    signal.removeEventListener('abort', stop);
  }
}

const ANSWER_MS = 150;
const LONGEST_ANSWER_MS = 10_000;
