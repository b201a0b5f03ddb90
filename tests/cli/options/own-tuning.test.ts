import { copyFile, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run } from '../../../src/cli/run.ts';
import { playableNotes } from '../../../src/harp/playable.ts';
import { openEdits } from '../../../src/take/edits/edits.ts';
import { formatTake } from '../../../src/take/format.ts';
import { parseTake } from '../../../src/take/parse.ts';
import type { Take } from '../../../src/take/schema.ts';
import { harpKeyPressed, openHarp } from '../../../src/ui/commands/harp.ts';
import { reduce } from '../../../src/ui/commands/reduce.ts';
import { openState } from '../../../src/ui/state/state.ts';
import { captureIo } from '../captured-io.ts';

/** Richter (OEIS A291810) with 9 draw raised, which the bending exercise doesn't use, and a name that nothing else has. */
const MINE = {
  name: 'my tuning',
  blow: ['C4', 'E4', 'G4', 'C5', 'E5', 'G5', 'C6', 'E6', 'G6', 'C7'],
  draw: ['D4', 'G4', 'B4', 'D5', 'F5', 'A5', 'B5', 'D6', 'F#6', 'A6'],
};
/** 3 draw is 12 cents flat of equal. */
const MY_CENTS = { blow: [0, 0, 0, 0, 0, 0, 0, 0, 0, 0], draw: [0, 0, -12, 0, 0, 0, 0, 0, 0, 0] };

let folder: string;
const path = (name: string): string => join(folder, name);
const sample = (name: string) => fileURLToPath(new URL(`../../../samples/${name}`, import.meta.url));

async function reedtrace(...argv: string[]) {
  const { io, texts } = captureIo({ reportDir: folder });
  return { code: await run(argv, io), ...texts };
}
const readTakeText = async () => parseTake(await readFile(path('mine.take.json'), 'utf8'), 'mine');

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'reedtrace-own-'));
  await copyFile(sample('bending-exercise.wav'), path('mine.wav'));
  await writeFile(path('mine.json'), JSON.stringify(MINE));
  await writeFile(path('cents.json'), JSON.stringify(MY_CENTS));
  const made = await reedtrace(
    'transcribe',
    path('mine.wav'),
    ...['--harp', 'C', '--tuning', path('mine.json'), '--temperament', path('cents.json')],
  );
  expect({ code: made.code, stderr: made.stderr }).toMatchObject({ code: 0 });
  // Only the take is left to show which harp was played.
  await rm(path('mine.json'));
  await rm(path('cents.json'));
}, 60_000);
afterAll(() => rm(folder, { recursive: true }));

/** The take with each of its tunings cut out, as an older program wrote it. */
function withoutOwn({ harp: { custom: _, ...harp }, ...take }: Take): Take {
  return { ...take, harp } as Take;
}

describe('a take on a harp with a custom tuning', () => {
  it('has the reeds in the file', async () => {
    const { harp } = await readTakeText();
    expect(harp).toMatchObject({ tuning: 'custom', temperament: 'custom' });
    const notes = playableNotes(harp);
    // F#6 is MIDI 90 (common practice: C4 = 60).
    expect(
      notes.find(({ hole, breath, bend, over }) => hole === 9 && breath === 'draw' && !bend && !over)?.midi,
    ).toBe(90);
    expect(harp.custom).toMatchObject({
      layout: { name: 'my tuning' },
      temperament: { draw: MY_CENTS.draw },
    });
  });

  it.each([
    ['check', ['check', 'mine.take.json', '--against', 'mine.take.json'], '100 of 100'],
    [
      'check against tab',
      ['check', 'mine.take.json', '--against', 'tune.txt', '--json'],
      '"reedtrace-check"',
    ],
    [
      'check by a tuner',
      ['check', 'mine.take.json', '--against', 'tune.txt', '--judge-by', 'equal', '--json'],
      '"reedtrace-check"',
    ],
    ['bends', ['bends', 'mine.take.json', '--judge-by', 'equal', '--json'], '"reedtrace-bends"'],
    ['arrange', ['arrange', 'mine.take.json', '--json'], '"tuning": "custom"'],
    ['play', ['play', 'mine.take.json', '--sound', 'tab', '--out', 'tab.wav'], ''],
    ['export', ['export', 'mine.take.json', '--as', 'tab,musicxml,midi,abc,csv,json,svg,bends'], 'mine.mid'],
    [
      'a page',
      ['export', 'mine.take.json', '--as', 'html', '--no-audio', '--against', 'tune.txt'],
      'mine.html',
    ],
  ])('is all that `%s` needs', async (_, argv, says) => {
    await writeFile(path('tune.txt'), "2 -2'' -2 -3''' -3 9 -9");
    const files = argv.map((word) => (/\.(json|txt|wav)$/.test(word) ? path(word) : word));
    const held = await reedtrace(...files);
    expect({ code: held.code, stderr: held.stderr.match(/error.*/)?.[0] }).toEqual({
      code: 0,
      stderr: undefined,
    });
    expect(held.stdout).toContain(says);
  });

  it('gives tab the pitches of its own reeds', async () => {
    // A tab file names no harp, so `-9` is on that of the student: F#6 here, F6 on a Richter harp.
    await writeFile(path('nine.txt'), '-9 -9 -9');
    const held = await reedtrace('check', path('mine.take.json'), '--against', path('nine.txt'), '--json');
    const messages = JSON.stringify(JSON.parse(held.stdout).findings);
    expect(messages).toContain('F#6');
    const named = await reedtrace(
      ...['check', path('mine.take.json'), '--against', path('nine.txt'), '--tuning', 'richter', '--json'],
    );
    expect(JSON.stringify(JSON.parse(named.stdout).findings)).not.toContain('F#6');
  });

  it('opens on the correction screen, where the tuning can be switched to a usual one and back', async () => {
    const { state } = openHarp(openState('mine', await readTakeText(), {}, false));
    expect(
      state.playable.some(({ midi, hole, breath }) => midi === 90 && hole === 9 && breath === 'draw'),
    ).toBe(true);
    const press = (now: typeof state, command: string, key: string) =>
      harpKeyPressed({ state: now, key, at: '2026-11-25T12:00:00.000Z' } as never, command).state;
    const onTuning = press(state, 'field', 'down');
    const turned = press(onTuning, 'value', 'right');
    expect(turned.mode).toMatchObject({ draft: { tuning: 'richter' } });
    expect(press(turned, 'value', 'left').mode).toMatchObject({ draft: { tuning: 'custom' } });
    const done = press(turned, 'harp-done', 'enter');
    const { edited } = reduce(done, { kind: 'read-notes', at: '2026-11-25T12:00:01.000Z' }).state;
    expect(edited.take.harp.custom?.layout).toBeUndefined();
    expect(edited.take.harp.custom?.temperament).toBeDefined();
    expect(openEdits(edited.take).done).toHaveLength(1);
  });

  it('is not transcribed again for the same tuning, but is for another', async () => {
    await writeFile(path('same.json'), JSON.stringify(MINE));
    await writeFile(path('cents.json'), JSON.stringify(MY_CENTS));
    const again = (file: string) =>
      reedtrace(
        ...['transcribe', path('mine.wav'), path('no-such.wav'), '--harp', 'C', '--tuning', path(file)],
        ...['--temperament', path('cents.json'), '--quiet'],
      );
    expect((await again('same.json')).stderr).not.toContain('mine.take.json');
    await writeFile(path('other.json'), JSON.stringify({ ...MINE, draw: MINE.draw.with(8, 'F6') }));
    expect((await again('other.json')).stderr).toContain("mine.take.json' already exists");
  });

  it('from an older program can be exported with `--tuning`', async () => {
    await writeFile(path('mine.json'), JSON.stringify(MINE));
    await writeFile(path('old.take.json'), formatTake(withoutOwn(await readTakeText())));
    const argv = ['check', path('old.take.json'), '--against', path('tune.txt')];
    const refused = await reedtrace(...argv);
    expect(refused.code).toBe(2);
    expect(refused.stderr).toContain("no tuning is called 'custom'");
    expect((await reedtrace(...argv, '--tuning', path('mine.json'))).code).toBe(0);
  });
});
