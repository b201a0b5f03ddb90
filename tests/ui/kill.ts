/**
 * Kills the correction screen with SIGKILL at random moments of a scripted session and looks at what is left:
 * `npx tsx tests/ui/kill.ts 200` after `npm run build`. The test suite does the same with fewer moments.
 */
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type EditedTake, edit, openEdits, replay } from '../../src/take/edits.ts';
import { formatTake } from '../../src/take/format.ts';
import { hashTake } from '../../src/take/journal.ts';
import { parseTake } from '../../src/take/parse.ts';
import { readJournal } from '../../src/take/recovery.ts';
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
  /** Edits that the program was given time for, one second at least, and that are gone. */
  readonly lost: number;
  /** Edits that were there after the kill. */
  readonly kept: number;
}

/** One session that is killed after `delayMs`; keys go in every 40 ms. */
export async function killOnce(delayMs: number): Promise<KillResult> {
  const dir = mkdtempSync(join(tmpdir(), 'reedtrace-kill-'));
  const { path } = writeExample(dir, notesOf(LINES), null);
  const terminal = new Terminal(['correct', 'tune.take.json'], { columns: 80, rows: 24 }, { cwd: dir });
  try {
    await terminal.until('note 1 of 24');
    const pid = terminal.pid();
    const end = Date.now() + delayMs;
    // What the title says of how many edits there are, and when it first said so.
    const seen: { edits: number; at: number }[] = [];
    let saved = 0;
    const look = () => {
      const title = terminal.screen().split('\n')[0];
      const unsaved = Number(/(\d+) not saved/.exec(title)?.[1] ?? 0);
      if (/ saved$/.test(title) && !/not saved$/.test(title)) saved = seen.at(-1)?.edits ?? 0;
      const edits = saved + unsaved;
      if (edits > (seen.at(-1)?.edits ?? 0)) seen.push({ edits, at: Date.now() });
    };
    for (let i = 0; Date.now() < end; i++) {
      terminal.keys(SCRIPT[i % SCRIPT.length]);
      look();
      await new Promise((resolve) => setTimeout(resolve, Math.min(40, Math.max(0, end - Date.now()))));
    }
    const killedAt = Date.now();
    process.kill(pid, 'SIGKILL');
    await terminal.until('ended 137');
    const due = seen.filter(({ at }) => killedAt - at > PROMISE_MS).at(-1)?.edits ?? 0;
    const kept = editsAfter(path);
    if (kept < due) {
      const times = seen.map(({ edits, at }) => `${edits} at ${killedAt - at} ms`).join(', ');
      process.stderr.write(`kept ${kept} of ${due}; seen before the kill: ${times}\n`);
    }
    return { lost: Math.max(0, due - kept), kept };
  } finally {
    terminal.close();
    rmSync(dir, { recursive: true, force: true });
  }
}

/** Edits in the take and its journal together. @throws when either can't be read */
function editsAfter(path: string): number {
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
  return state.take.edits.length;
}

/** Many sessions, a few at a time. */
export async function killMany(moments: number, longestMs: number): Promise<KillResult[]> {
  const results: KillResult[] = [];
  let next = 0;
  const worker = async () => {
    while (next < moments) {
      next++;
      results.push(await killOnce(Math.random() * longestMs));
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
    `${moments} kills: ${kept} edits kept, ${lost} older than a second lost, no take unreadable\n`,
  );
  process.exitCode = lost === 0 ? 0 : 1;
}
