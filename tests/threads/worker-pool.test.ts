import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it, vi } from 'vitest';
import type { Samples } from '../../src/audio/samples.ts';
import type { Part } from '../../src/parallel-stage.ts';
import type { Transcription } from '../../src/pipeline.ts';
import { noPause } from '../analysis/tones.ts';

/** The built modules, as threads can't be started from TypeScript. */
const built = async <Module>(path: string): Promise<Module> =>
  import(new URL(`../../dist/${path}.js`, import.meta.url).href);
const { ThreadCrew } = await built<typeof import('../../src/threads/worker-pool.ts')>('threads/worker-pool');
const { transcribe } = await built<typeof import('../../src/pipeline.ts')>('pipeline');
const { readRecording } = await built<typeof import('../../src/audio/read.ts')>('audio/read');

const TAKE = fileURLToPath(new URL('../../samples/homework-kitchen.wav', import.meta.url));
const SQUARES = Array.from({ length: 80 }, (_, i) => i ** 2);

let samples: Samples;
let alone: Transcription;
beforeAll(async () => {
  ({ samples } = await readRecording(TAKE));
  alone = await transcribe(samples);
});

/** Squares under the name of a part that other threads know as something else, in pieces of the same size. */
const squares = (name: string): Part<unknown, number[]> => ({
  name,
  pieceSize: 20,
  begin: () => (from, to) => SQUARES.slice(from, to),
});

describe('several threads at one take', () => {
  it.each([2, 3])('%d find the same as one, to the bit', async (threads) => {
    const crew = new ThreadCrew(threads - 1);
    try {
      expect(await transcribe(samples, { crew })).toStrictEqual(alone);
      // By now the others have surely begun.
      expect(await transcribe(samples, { crew })).toStrictEqual(alone);
      expect(crew.helpers).toBe(threads - 1);
    } finally {
      await crew.close();
    }
  });

  it('what threads that die have left is done here', async () => {
    const crew = new ThreadCrew(2);
    // They take pieces and break on what they were given, before the first is done here.
    const given = { events: SQUARES.map(() => null), readings: [], notes: [] };
    const untilDead = () => vi.waitFor(() => expect(crew.helpers).toBe(0), 10_000);
    const work = async (name: string, pause: () => Promise<void>): Promise<number[]> =>
      (await crew.work(squares(name), samples, given, SQUARES.length, pause)).flat();
    expect(await work('look at notes', untilDead)).toEqual(SQUARES);
    expect(await work('squares', noPause)).toEqual(SQUARES);
  });

  it('tells how much is done, from nothing on and never less than before', async () => {
    const crew = new ThreadCrew(1);
    const told = new Map<string, number[]>();
    await transcribe(samples, {
      crew,
      onProgress: (stage, fraction) => told.set(stage, [...(told.get(stage) ?? []), fraction]),
    });
    await crew.close();
    for (const fractions of told.values()) {
      expect(fractions[0]).toBe(0);
      expect(fractions).toEqual(fractions.toSorted((a, b) => a - b));
    }
  });

  it('Ctrl-C ends the work and the threads', async () => {
    const controller = new AbortController();
    const crew = new ThreadCrew(1, controller.signal);
    const stopped = transcribe(samples, {
      crew,
      signal: controller.signal,
      onProgress: (stage) => {
        if (stage === 'measuring') controller.abort();
      },
    });
    await expect(stopped).rejects.toMatchObject({ code: 'E_INTERRUPTED' });
    await crew.close();
    expect(crew.helpers).toBe(0);
  });

  it('a fault of ours is told as it is with one thread', async () => {
    const crew = new ThreadCrew(1);
    const broken: Part<unknown, never> = {
      name: 'unknown',
      pieceSize: 1,
      begin: () => () => {
        throw new Error('broken');
      },
    };
    await expect(crew.work(broken, samples, null, 3, noPause)).rejects.toThrow('broken');
    await crew.close();
  });
});
