import { describe, expect, it } from 'vitest';
import { DecoderThread } from '../../../src/audio/codecs/decoder-thread.ts';

/** A thread that answers `open` and does this to everything else. */
function thread(body: string, mostSec: number, mostBytes: number): DecoderThread {
  const source = `import { parentPort } from 'node:worker_threads';
    parentPort.on('message', ({ kind }) => {
      if (kind === 'open') parentPort.postMessage({ kind: 'sound', channelData: [], sampleRate: 0 });
      else { ${body} }
    });`;
  const module = new URL(`data:text/javascript,${encodeURIComponent(source)}`);
  const made = new DecoderThread(module, mostSec, mostBytes);
  made.begin(undefined);
  return made;
}

const GB = 2 ** 30;

describe('a decoder that does not end', () => {
  it('is stopped when its time is up', async () => {
    const caught = thread('for (;;);', 0.5, GB);
    await caught.ask({ kind: 'open', decoder: 'mp3' });
    await expect(caught.ask({ kind: 'end' })).rejects.toThrow('could not be decoded within 0.5 s');
    expect(caught.isAlive).toBe(false);
  });

  it('is stopped when it takes too much memory', async () => {
    const greedy = thread('const kept = []; for (;;) kept.push(new Float32Array(1e6).fill(1));', 60, GB / 4);
    await greedy.ask({ kind: 'open', decoder: 'mp3' });
    await expect(greedy.ask({ kind: 'end' })).rejects.toThrow('took more than 256 MB');
  });

  it('whose objects fill its own memory takes nothing else with it', async () => {
    const greedy = thread('const kept = []; for (;;) kept.push({ kept: [kept.length] });', 60, 16 * GB);
    await greedy.ask({ kind: 'open', decoder: 'mp3' });
    await expect(greedy.ask({ kind: 'end' })).rejects.toMatchObject({ code: 'ERR_WORKER_OUT_OF_MEMORY' });
  });

  it('is stopped by Ctrl-C at once', async () => {
    const controller = new AbortController();
    const caught = thread('for (;;);', 60, GB);
    caught.begin(controller.signal);
    await caught.ask({ kind: 'open', decoder: 'mp3' });
    const asked = caught.ask({ kind: 'end' });
    controller.abort();
    await expect(asked).rejects.toMatchObject({ code: 'E_INTERRUPTED' });
  });
});
