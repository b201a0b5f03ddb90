/**
 * Kills the correction screen with SIGKILL at random moments of a scripted session and checks what is left: `npx tsx
 * tests/ui/kill.ts 200` after `npm run build`. The test suite does the same with fewer moments.
 */
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type EditedTake, edit, openEdits, replay } from '../../src/take/edits/edits.ts';
import { hashTake } from '../../src/take/files/journal.ts';
import { readJournal } from '../../src/take/files/recovery.ts';
import { formatTake } from '../../src/take/format.ts';
import { parseTake } from '../../src/take/parse.ts';
import type { Take } from '../../src/take/schema.ts';
import { notesOf, writeExample } from './example-take.ts';
import { Terminal } from './tmux.ts';

/** No edit older than this may be lost. */
const PROMISE_MS = 1000;
const LINES = ['4 -4 5 6 6 -6 6 5', '4 -4 5 5 -4 4 -4 4', '-5 -5 -6 -6 -6 6 6 5'];
/** Keys of the script: each changes the take once, and some save it. */
const SCRIPT = [
  '1',
  'Right',
  '2',
  'Right',
  '3',
  'u',
  'r',
  'Right',
  '5',
  'C-s',
  'Right',
  '6',
  'x',
  'u',
  'C-s',
  'Right',
  's',
  'm',
];

export interface KillResult {
  /** Edits, or letters of words, that the program was given time for, one second at least, and that are gone. */
  readonly lost: number;
  /** Those that were there after the kill. */
  readonly kept: number;
}

/** A line of words for each phrase, typed letter by letter. */
const LINE = 'ab cd ef gh ij kl mn op';
/** One or more letters have a note: there are eight in each phrase. */
const LETTERS = LINE.replaceAll(' ', '').length;

/** What a session does, and how much of it is seen on the screen. */
interface Script {
  /** The key to be pressed after `i` others. */
  key(i: number): string;
  /** Of a screen, how much has been done by then; null when it doesn't tell. */
  done(screen: string): number | null;
  /** Of a take, how much of it is there. */
  kept(take: Take): number;
}

function notesScript(): Script {
  let edits = 0;
  let saved = 0;
  return {
    key: (i) => SCRIPT[i % SCRIPT.length],
    done(screen) {
      const [title] = screen.split('\n');
      const unsaved = Number(/(\d+) not saved/.exec(title)?.[1] ?? 0);
      // Also what was undone to what is saved is saved: then nothing can be told.
      if (/ saved$/.test(title) && !/not saved$/.test(title)) saved = edits;
      edits = Math.max(edits, saved + unsaved);
      return edits;
    },
    kept: (take) => take.edits.length,
  };
}

function wordsScript(): Script {
  let phrase = 0;
  const keys = ['w', ...LINES.flatMap(() => [...LINE, 'Down']).slice(0, -1)];
  return {
    key: (i) => (keys[i] === ' ' ? 'Space' : (keys[i] ?? 'Left')),
    done(screen) {
      const line = /^> (.*)$/m.exec(screen)?.[1];
      const at = /note (\d+) of 24/.exec(screen)?.[1];
      if (line === undefined || at === undefined) return null;
      phrase = Math.floor((Number(at) - 1) / 8);
      return phrase * LETTERS + line.replaceAll(' ', '').length;
    },
    kept: (take) => take.words.reduce((sum, { text }) => sum + text.length, 0),
  };
}

/** One session that is killed after `delayMs`; keys go in every 40 ms. */
export async function killOnce(delayMs: number, what: 'notes' | 'words'): Promise<KillResult> {
  const dir = mkdtempSync(join(tmpdir(), 'reedtrace-kill-'));
  const { path } = writeExample(dir, notesOf(LINES), null);
  const terminal = new Terminal(['correct', 'tune.take.json'], { columns: 80, rows: 24 }, { cwd: dir });
  const script = what === 'notes' ? notesScript() : wordsScript();
  try {
    await terminal.until('note 1 of 24');
    const pid = terminal.pid();
    const end = Date.now() + delayMs;
    // What the screen says of how much was done, and when it first said so.
    const seen: { done: number; at: number }[] = [];
    for (let i = 0; Date.now() < end; i++) {
      terminal.keys(script.key(i));
      const done = script.done(terminal.screen());
      if (done !== null && done > (seen.at(-1)?.done ?? 0)) seen.push({ done, at: Date.now() });
      await new Promise((resolve) => setTimeout(resolve, Math.min(40, Math.max(0, end - Date.now()))));
    }
    const killedAt = Date.now();
    process.kill(pid, 'SIGKILL');
    await terminal.until('ended 137');
    const due = seen.filter(({ at }) => killedAt - at > PROMISE_MS).at(-1)?.done ?? 0;
    const kept = script.kept(takeAfter(path));
    if (kept < due) {
      const times = seen.map(({ done, at }) => `${done} at ${killedAt - at} ms`).join(', ');
      process.stderr.write(`${what}: kept ${kept} of ${due}; seen before the kill: ${times}\n`);
    }
    return { lost: Math.max(0, due - kept), kept };
  } finally {
    terminal.close();
    rmSync(dir, { recursive: true, force: true });
  }
}

/** The take with what its journal holds. @throws when either can't be read */
function takeAfter(path: string): Take {
  const text = readFileSync(path, 'utf8');
  const take = parseTake(text, path);
  let journal = '';
  try {
    journal = readFileSync(`${path}.journal`, 'utf8');
  } catch {
    // Killed before the first edit, or between saving and the next.
  }
  const recovery = readJournal(journal, take, hashTake(text));
  if (recovery.kind === 'foreign') throw new Error('the journal does not fit the take');
  const state: EditedTake =
    recovery.kind === 'edits' ? replay(openEdits(take), recovery.edits) : openEdits(take);
  // It must be possible to go on: one more edit, written and read.
  const more = edit(
    state,
    { kind: 'accept', ids: [state.take.notes[0].id] },
    { at: '2026-11-25T12:00:00.000Z' },
  );
  parseTake(formatTake(more?.state.take ?? state.take), path);
  return state.take;
}

/** Many sessions, a few at a time. */
export async function killMany(moments: number, longestMs: number): Promise<KillResult[]> {
  const results: KillResult[] = [];
  let next = 0;
  const worker = async () => {
    while (next < moments) {
      next++;
      results.push(await killOnce(Math.random() * longestMs, next % 2 === 0 ? 'words' : 'notes'));
    }
  };
  await Promise.all([worker(), worker(), worker()]);
  return results;
}

if (process.argv[1]?.endsWith('kill.ts')) {
  const moments = Number(process.argv[2] ?? 200);
  const results = await killMany(moments, 4000);
  const lost = results.reduce((sum, each) => sum + each.lost, 0);
  const kept = results.reduce((sum, each) => sum + each.kept, 0);
  process.stdout.write(
    `${moments} kills: ${kept} edits and letters kept, ${lost} older than a second lost, no take unreadable\n`,
  );
  process.exitCode = lost === 0 ? 0 : 1;
}
