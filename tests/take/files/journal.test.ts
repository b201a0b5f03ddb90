import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { once } from 'node:events';
import {
  appendFileSync,
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { Edit } from '../../../src/take/edits/edit.ts';
import { type EditedTake, edit, openEdits, replay } from '../../../src/take/edits/edits.ts';
import {
  hashTake,
  Journal,
  type JournalState,
  journalPath,
  setJournalAside,
} from '../../../src/take/files/journal.ts';
import { lockTake } from '../../../src/take/files/lock.ts';
import { readJournal } from '../../../src/take/files/recovery.ts';
import { formatTake } from '../../../src/take/format.ts';
import { buildTake } from '../../../src/take/take.ts';
import { EXAMPLE_SOURCE, exampleFindings } from '../example.ts';

const TAKE = buildTake(EXAMPLE_SOURCE, exampleFindings(['4 -4 5 -5', '-2 -3 4 -4']));
const HASH = hashTake(formatTake(TAKE));
let dir: string;
let path: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'reedtrace-journal-'));
  path = join(dir, 'a.take.json');
  writeFileSync(path, formatTake(TAKE));
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

function accepted(count: number): { state: EditedTake; edits: Edit[] } {
  let state = openEdits(TAKE);
  const edits: Edit[] = [];
  for (let i = 1; i <= count; i++) {
    const done = edit(state, { kind: 'accept', ids: [`n${i}`] }, { at: '2026-11-25T12:00:00.000Z' });
    if (done === null) throw new Error('not accepted');
    state = done.state;
    edits.push(done.edit);
  }
  return { state, edits };
}

const formatLine = (value: unknown) => {
  const json = JSON.stringify(value);
  return `${createHash('sha256').update(json).digest('hex').slice(0, 8)} ${json}\n`;
};

async function written(edits: readonly Edit[], resumeAt: number | null = null): Promise<string> {
  const journal = new Journal(journalPath(path), HASH, resumeAt, () => {});
  for (const each of edits) journal.append(each);
  expect((await journal.settled()).kind).toBe('safe');
  await journal.close();
  return readFileSync(journalPath(path), 'utf8');
}

describe('the journal', () => {
  it('returns what was written', async () => {
    const { state, edits } = accepted(5);
    const found = readJournal(await written(edits), TAKE, HASH);
    expect(found).toMatchObject({ kind: 'edits', edits, damaged: false });
    expect(replay(openEdits(TAKE), edits)).toEqual(state);
  });

  it('cut off anywhere returns its complete edits, and never fails', async () => {
    const { edits } = accepted(3);
    const text = await written(edits);
    const ends = [...text.matchAll(/\n/g)].map(({ index }) => index + 1);
    for (let cut = 0; cut <= text.length; cut++) {
      const whole = ends.filter((end) => end <= cut).length - 1;
      const found = readJournal(text.slice(0, cut), TAKE, HASH);
      expect(found.kind === 'edits' ? found.edits.length : 0, `cut at ${cut}`).toBe(Math.max(0, whole));
    }
  });

  it('ends where it is damaged', async () => {
    const { edits } = accepted(3);
    const text = await written(edits);
    const at = text.lastIndexOf('accept');
    const found = readJournal(`${text.slice(0, at)}\0\0\0${text.slice(at + 3)}`, TAKE, HASH);
    expect(found).toMatchObject({ kind: 'edits', edits: edits.slice(0, 2), damaged: true });
  });

  it('continues after a torn end', async () => {
    const { edits } = accepted(4);
    await written(edits.slice(0, 2));
    appendFileSync(journalPath(path), 'deadbeef {"seq":3,"wh');
    const torn = readJournal(readFileSync(journalPath(path), 'utf8'), TAKE, HASH);
    if (torn.kind !== 'edits') throw new Error(torn.kind);
    expect(torn.damaged).toBe(true);
    const text = await written(edits.slice(2), torn.bytes);
    expect(readJournal(text, TAKE, HASH)).toMatchObject({ kind: 'edits', edits, damaged: false });
  });

  it('offers nothing for a take that has its edits', async () => {
    const { state, edits } = accepted(3);
    const text = await written(edits);
    const saved = formatTake(state.take);
    expect(readJournal(text, JSON.parse(saved), hashTake(saved)).kind).toBe('nothing');
  });

  it('offers only what came after the save', async () => {
    const saved = formatTake(accepted(2).state.take);
    const { edits } = accepted(4);
    const found = readJournal(await written(edits), JSON.parse(saved), hashTake(saved));
    expect(found).toMatchObject({ kind: 'edits', edits: edits.slice(2) });
  });

  it('is not applied to another take', async () => {
    const text = await written(accepted(2).edits);
    const other = { ...TAKE, notes: TAKE.notes.slice(2) };
    expect(readJournal(text, { ...other, phrases: [] }, hashTake('other'))).toEqual({
      kind: 'foreign',
      count: 2,
    });
  });

  it.each(['hello\n', 'hello', '{"format":"reedtrace-journal"}\n', '\0\0hello\n', 'null\n'])(
    'recognises that %j is not a journal, so that nothing overwrites it',
    (text) => {
      expect(readJournal(text, TAKE, HASH)).toMatchObject({ kind: 'unreadable' });
    },
  );

  it.each(['', '\0\0\0', '0a', '0a1b2c3d', '0a1b2c3d {"format":"reedtrace-jour'])(
    'offers nothing if it was never begun: %j',
    (text) => {
      expect(readJournal(text, TAKE, HASH)).toEqual({ kind: 'nothing' });
    },
  );

  it("is read whole with another system's line ends, and continued", async () => {
    const { edits } = accepted(4);
    const text = `\uFEFF${(await written(edits.slice(0, 3))).replaceAll('\n', '\r\n')}`;
    const found = readJournal(text, TAKE, HASH);
    expect(found).toMatchObject({ kind: 'edits', edits: edits.slice(0, 3), damaged: false });
    writeFileSync(journalPath(path), text);
    if (found.kind !== 'edits') throw new Error(found.kind);
    const longer = await written(edits.slice(3), found.bytes);
    expect(readJournal(longer, TAKE, HASH)).toMatchObject({ kind: 'edits', edits, damaged: false });
  });

  it('with any byte altered keeps all lines before it, or is set aside: nothing is silently skipped', async () => {
    const { edits } = accepted(3);
    const bytes = Buffer.from(await written(edits));
    const ends = [...bytes.entries()].filter(([, byte]) => byte === 10).map(([at]) => at);
    for (let at = 0; at < bytes.length; at++) {
      const altered = Buffer.from(bytes);
      altered[at] ^= 1;
      const found = readJournal(altered.toString('utf8'), TAKE, HASH);
      const line = ends.findIndex((end) => at <= end);
      // Without its first line the edits are offered as far as they fit the take.
      const whole = line === 0 ? (altered[ends[0]] === 10 ? 3 : null) : line - 1;
      if (found.kind === 'edits') {
        expect(found.damaged, `byte ${at}`).toBe(true);
        expect(found.edits).toEqual(edits.slice(0, whole ?? 0));
      } else {
        expect(found.kind, `byte ${at}`).toMatch(/^(unreadable|foreign)$/);
        expect(whole ?? 0, `byte ${at}`).toBe(0);
      }
    }
  });

  it('of another version offers nothing, even if its lines would fit', async () => {
    const { edits } = accepted(2);
    const head = { format: 'reedtrace-journal', version: 9, take: HASH };
    const text = [head, ...edits].map(formatLine).join('');
    expect(readJournal(text, TAKE, HASH)).toEqual({ kind: 'unreadable', why: 'it is of version 9' });
  });

  it.each([null, 1, 'text', [], {}, { seq: 2 }, { seq: 2, at: '\u001b[2J', what: 'undo', of: 1 }])(
    'ends before a line of %j',
    (value) => {
      const head = { format: 'reedtrace-journal', version: 1, take: HASH };
      const { edits } = accepted(2);
      const text = [head, edits[0], value, edits[1]].map(formatLine).join('');
      expect(readJournal(text, TAKE, HASH)).toEqual({
        kind: 'edits',
        edits: [edits[0]],
        damaged: true,
        bytes: null,
      });
      expect(readJournal([head, value].map(formatLine).join(''), TAKE, HASH).kind).toBe('unreadable');
    },
  );

  it('is set aside without being lost', async () => {
    const text = await written(accepted(1).edits);
    const aside = setJournalAside(path, new Date('2026-11-25T12:00:00Z'));
    expect(readFileSync(aside, 'utf8')).toBe(text);
    expect(existsSync(journalPath(path))).toBe(false);
  });

  it('starts again after a save', async () => {
    const { edits } = accepted(3);
    const journal = new Journal(journalPath(path), HASH, null, () => {});
    journal.append(edits[0]);
    journal.restart('x', false);
    expect(existsSync(journalPath(path))).toBe(false);
    journal.append(edits[1]);
    await journal.close();
    expect(readFileSync(journalPath(path), 'utf8')).toMatch(
      /^\w{8} \{.*"take":"x"\}\n\w{8} \{"seq":2,.*\}\n$/,
    );
  });

  it('keeps changes made while the take is saved', async () => {
    const { edits } = accepted(5);
    const saved = formatTake(accepted(3).state.take);
    const journal = new Journal(journalPath(path), HASH, null, () => {});
    for (const each of edits.slice(0, 4)) journal.append(each);
    journal.restart(hashTake(saved), true);
    journal.append(edits[4]);
    await journal.close();
    const text = readFileSync(journalPath(path), 'utf8');
    expect(readJournal(text, JSON.parse(saved), hashTake(saved))).toMatchObject({ edits: edits.slice(3) });
    expect(readdirSync(dir).sort()).toEqual(['a.take.json', 'a.take.json.journal']);
  });

  it('has an edit before the program does anything else', () => {
    const { edits } = accepted(2);
    const journal = new Journal(journalPath(path), HASH, null, () => {});
    edits.forEach((each, i) => {
      journal.append(each);
      const found = readJournal(readFileSync(journalPath(path), 'utf8'), TAKE, HASH);
      expect(found).toMatchObject({ edits: edits.slice(0, i + 1), damaged: false });
    });
    journal.restart('x', false);
    expect(existsSync(journalPath(path))).toBe(false);
  });

  it.skipIf(process.platform !== 'linux')('keeps edits in memory while the disk is full', async () => {
    const states: JournalState[] = [];
    const journal = new Journal('/dev/full', HASH, null, (state) => states.push(state));
    for (const each of accepted(2).edits) journal.append(each);
    await vi.waitFor(() =>
      expect(states.at(-1)).toEqual({ kind: 'failed', code: expect.any(String), waiting: 2 }),
    );
    await journal.close();
  });

  it('writes waiting edits once the disk has room', async () => {
    const folder = join(dir, 'later');
    const states: JournalState[] = [];
    const late = join(folder, 'a.take.json');
    const journal = new Journal(journalPath(late), HASH, null, (state) => states.push(state));
    const { edits } = accepted(2);
    for (const each of edits) journal.append(each);
    await vi.waitFor(() => expect(states.at(-1)).toMatchObject({ kind: 'failed', code: 'ENOENT' }));
    const { mkdirSync } = await import('node:fs');
    mkdirSync(folder);
    await vi.waitFor(() => expect(states.at(-1)?.kind).toBe('safe'), { timeout: 5000 });
    expect(readJournal(readFileSync(journalPath(late), 'utf8'), TAKE, HASH)).toMatchObject({ edits });
    await journal.close();
  });
});

describe('the lock', () => {
  const holderIs = (pid: number, host?: string) => {
    const lock = lockTake(path);
    const held = JSON.parse(readFileSync(lock.path, 'utf8'));
    writeFileSync(lock.path, JSON.stringify({ pid, host: host ?? held.host, start: null }));
    return lock.path;
  };
  const lockAgain = () => lockTake(path);

  it('tells the second program who has the take', () => {
    const lock = lockTake(path);
    expect(lockAgain).toThrow(expect.objectContaining({ code: 'E_TAKE_IN_USE' }));
    expect(lockAgain).toThrow(`process ${process.pid}`);
    expect(lockAgain).toThrow(
      expect.objectContaining({ fix: expect.stringContaining(`delete '${lock.path}'`) }),
    );
    lock.release();
    expect(readdirSync(dir)).toEqual(['a.take.json']);
    lockAgain().release();
  });

  it('is taken over from a program that was killed', async () => {
    const child = spawn(process.execPath, ['-e', 'setInterval(() => {}, 1000)']);
    holderIs(child.pid as number);
    expect(lockAgain).toThrow(expect.objectContaining({ code: 'E_TAKE_IN_USE' }));
    child.kill('SIGKILL');
    await once(child, 'exit');
    lockAgain().release();
  });

  it.skipIf(process.platform === 'win32')(
    'is taken over if its process number belongs to another process',
    () => {
      const lock = lockTake(path);
      const held = JSON.parse(readFileSync(lock.path, 'utf8'));
      expect(held.start).toMatch(/\d/);
      // This process runs, but was not started then.
      writeFileSync(lock.path, JSON.stringify({ ...held, start: '1' }));
      const mine = lockAgain();
      expect(JSON.parse(readFileSync(mine.path, 'utf8'))).toEqual(held);
      mine.release();
      // Where an older program did not say it, the number alone counts.
      writeFileSync(lock.path, JSON.stringify({ pid: held.pid, host: held.host }));
      expect(lockAgain).toThrow(expect.objectContaining({ code: 'E_TAKE_IN_USE' }));
    },
  );

  it('goes to only one of many that find a leftover', async () => {
    writeFileSync(`${path}.lock`, 'null');
    const script = `import('${new URL('../../../dist/take/files/lock.js', import.meta.url).href}').then(({ lockTake }) => {
      try { lockTake('${path}'); console.log('mine'); setTimeout(() => {}, 3000); } catch { console.log('not'); } });`;
    const said = await Promise.all(
      Array.from({ length: 4 }, async () => {
        const child = spawn(process.execPath, ['--input-type=module', '-e', script]);
        const text = once(child.stdout, 'data').then(String);
        const ended = once(child, 'exit').then(([code]) => `ended with ${code} and said nothing`);
        return (await Promise.race([text, ended])).trim();
      }),
    );
    expect(said.sort()).toEqual(['mine', 'not', 'not', 'not']);
  });

  it('is taken over when it is older than the running system', () => {
    const lock = holderIs(process.pid);
    utimesSync(lock, 1, 1);
    lockAgain().release();
  });

  it('from another computer is valid while it is refreshed', () => {
    const lock = holderIs(1, 'elsewhere');
    expect(lockAgain).toThrow('on elsewhere');
    utimesSync(lock, 1, 1);
    lockAgain().release();
  });

  it('is not released by the one that lost it', () => {
    const first = lockTake(path);
    writeFileSync(first.path, '{"pid":1,"host":"elsewhere"}');
    first.release();
    expect(existsSync(first.path)).toBe(true);
  });

  it.each(['null', '[]', '7', '{"pid":"1"}', 'x', ''])('with %j in it belongs to nobody', (text) => {
    writeFileSync(`${path}.lock`, text);
    lockAgain().release();
    expect(readdirSync(dir)).toEqual(['a.take.json']);
  });

  it('is refreshed', () => {
    const lock = lockTake(path);
    utimesSync(lock.path, 1, 1);
    lock.refresh();
    expect(statSync(lock.path).mtimeMs).toBeGreaterThan(1_000_000);
    lock.release();
  });
});
