import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { DecoderProcess } from '../../../src/audio/codecs/decoder-process.ts';

const GUARD = new URL('../../../dist/audio/codecs/memory-guard.js', import.meta.url);
const folder = mkdtempSync(join(tmpdir(), 'reedtrace-decoder-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
let made = 0;

/** A process that answers `open` and does this to everything else. */
function child(body: string, mostSec: number, mostBytes: number): DecoderProcess {
  const path = join(folder, `${made++}.mjs`);
  writeFileSync(
    path,
    `import { guardMemory } from ${JSON.stringify(GUARD.href)};
    const begin = guardMemory(Number(process.argv[2]));
    process.on('message', ({ kind }) => {
      begin();
      if (kind === 'open') process.send({ kind: 'sound', channelData: [], sampleRate: 0 });
      else { ${body} }
    });`,
  );
  const decoder = new DecoderProcess(pathToFileURL(path), mostSec, mostBytes);
  decoder.begin(undefined);
  return decoder;
}

const GB = 2 ** 30;

describe('a decoder that does not end', () => {
  it('is stopped when its time is up', async () => {
    const caught = child('for (;;);', 4, GB);
    await caught.ask({ kind: 'open', decoder: 'mp3' });
    await expect(caught.ask({ kind: 'end' })).rejects.toThrow('could not be decoded within 4 s');
    expect(caught.isAlive).toBe(false);
  });

  it('is stopped when it takes too much memory', async () => {
    const greedy = child('const kept = []; for (;;) kept.push(new Float32Array(1e6).fill(1));', 60, GB / 4);
    await greedy.ask({ kind: 'open', decoder: 'mp3' });
    await expect(greedy.ask({ kind: 'end' })).rejects.toThrow('took more than 256 MB');
  });

  it.each([
    ['one list', 'const kept = []; for (;;) kept.push(1.5);'],
    ['lists', 'const kept = []; for (;;) kept.push(new Array(3e7).fill(1));'],
  ])(
    'may fill its memory with %s, which would end all threads of a process',
    async (_, body) => {
      const greedy = child(body, 60, 16 * GB);
      await greedy.ask({ kind: 'open', decoder: 'mp3' });
      await expect(greedy.ask({ kind: 'end' })).rejects.toThrow('its decoder crashed (');
      expect(greedy.isAlive).toBe(false);
    },
    120_000,
  );

  it('is stopped by Ctrl-C at once', async () => {
    const controller = new AbortController();
    const caught = child('for (;;);', 60, GB);
    caught.begin(controller.signal);
    await caught.ask({ kind: 'open', decoder: 'mp3' });
    const asked = caught.ask({ kind: 'end' });
    controller.abort();
    await expect(asked).rejects.toMatchObject({ code: 'E_INTERRUPTED' });
  });
});
